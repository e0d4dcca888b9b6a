#include "show/forms.h"
#include "show/layout.h"
#include "show/number.h"
#include "show/visible.h"

#include <string.h>

/* Text is not made narrower than this many cells; the sign of columns left out takes two. */
enum { GAP = 2, TEXT_LEAST = 8, MORE_CELLS = GAP + 1 };

#define BOLD  "\033[1m"
#define FAINT "\033[2m"
#define PLAIN "\033[0m"
#define MORE  "\u2026"

struct page {
	struct text *out;
	const struct view *view;
	struct layout layout;
	const struct text_settings *settings;
	size_t shown; /* columns, from the left */
	struct arena arena;
	struct text line;
};

static const char *
show(struct arena *arena, const char *field)
{
	return visible(arena, field, BREAKS_SHOWN);
}

/* ---- making it fit ---- */

/* The least width of a column: numbers stay whole, their header may be cut. */
static size_t
least_width(const struct layout_column *column)
{
	size_t numbers = column->whole + column->rest;

	return numbers > TEXT_LEAST ? numbers : TEXT_LEAST;
}

/* The widest column that can be narrower still, or NULL. */
static struct layout_column *
widest(struct layout *layout)
{
	struct layout_column *found = NULL;

	for (size_t i = 0; i < layout->columns; i++) {
		struct layout_column *column = &layout->column[i];

		if (column->width > least_width(column) &&
		    (found == NULL || column->width > found->width))
			found = column;
	}
	return found;
}

static void
make_fit(struct page *page)
{
	struct layout *layout = &page->layout;
	size_t limit = page->settings->width;
	struct layout_column *column;

	page->shown = layout->columns;
	if (limit == 0)
		return;
	while (layout_width(layout, GAP) > limit && (column = widest(layout)) != NULL)
		column->width--;
	if (layout_width(layout, GAP) <= limit)
		return;
	while (layout->columns > 1 && layout_width(layout, GAP) + MORE_CELLS > limit)
		layout->columns--;
	page->shown = layout->columns;
}

/* ---- lines ---- */

/* Ends the line: blanks at its end off, in a style if there is one. */
static void
end_line(struct page *page, const char *style)
{
	struct text *line = &page->line;

	while (line->length > 0 && line->bytes[line->length - 1] == ' ')
		line->length--;
	if (style != NULL && page->settings->color && line->length > 0) {
		text_adds(page->out, style);
		text_add(page->out, line->bytes, line->length);
		text_adds(page->out, PLAIN);
	} else {
		text_add(page->out, line->bytes ? line->bytes : "", line->length);
	}
	text_addc(page->out, '\n');
	text_clear(line);
}

static void
add_gap(struct page *page, size_t column)
{
	for (size_t i = 0; column > 0 && i < GAP; i++)
		text_addc(&page->line, ' ');
}

static void
add_header(struct page *page)
{
	for (size_t i = 0; i < page->shown; i++) {
		add_gap(page, i);
		layout_add_words(&page->line, &page->layout.column[i],
		                 show(&page->arena, page->view->column[i].name));
	}
	if (page->shown < page->view->columns) {
		add_gap(page, page->shown);
		text_adds(&page->line, MORE);
	}
	end_line(page, BOLD);
}

static void
add_rule(struct page *page, char of)
{
	for (size_t i = 0; i < page->shown; i++) {
		add_gap(page, i);
		for (size_t j = 0; j < page->layout.column[i].width; j++)
			text_addc(&page->line, of);
	}
	end_line(page, FAINT);
}

static void
add_row(struct page *page, const struct view_row *row)
{
	for (size_t i = 0; i < page->shown; i++) {
		add_gap(page, i);
		layout_add(&page->line, &page->layout.column[i], show(&page->arena, row->field[i]));
	}
	end_line(page, row->total ? BOLD : NULL);
}

static void
add_block(struct page *page, const struct view_block *block)
{
	const char *heading = form_heading(&page->arena, page->view, block);
	bool rule = true; /* one stands above */

	if (heading != NULL) {
		heading = show(&page->arena, heading);
		layout_add_cut(&page->line, heading,
		               page->settings->width ? page->settings->width : SIZE_MAX);
		end_line(page, BOLD);
	}
	add_header(page);
	add_rule(page, '-');
	for (size_t i = 0; i < block->count; i++) {
		bool total = block->row[i]->total;

		if (!rule && (total || block->row[i - 1]->total) &&
		    total != block->row[i - 1]->total)
			add_rule(page, total ? '=' : '-');
		add_row(page, block->row[i]);
		rule = false;
	}
}

size_t
form_text(struct text *out, const struct view *view, const struct text_settings *settings)
{
	struct page page = {.out = out, .view = view, .settings = settings};

	layout_make(&page.layout, view, show, &page.arena);
	make_fit(&page);
	for (size_t i = 0; i < view->blocks; i++) {
		if (i > 0)
			end_line(&page, NULL);
		add_block(&page, &view->block[i]);
	}
	text_free(&page.line);
	arena_free(&page.arena);
	return view->columns - page.shown;
}
