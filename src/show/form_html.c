/*
 * Fields stand in the page as text alone: & < > and both quotes are escaped, hidden points shown
 * (visible.h), formula-like text guarded (formula.h), since a table is often copied from a page
 * into a spreadsheet. The page's policy (page.h) would keep anything else from running.
 */
#include "show/forms.h"
#include "show/formula.h"
#include "show/layout.h"
#include "show/number.h"
#include "show/page.h"
#include "show/visible.h"

#include <string.h>

/* A row of more cells than a phone shows becomes a card there. Blanks between columns count 3. */
enum { PHONE_CELLS = 42, PHONE_GAP = 3 };

struct html {
	struct text *out;
	const struct view *view;
	struct layout layout;
	struct arena arena;
};

static const char *
show(struct arena *arena, const char *field)
{
	return visible(arena, formula_guard(arena, field), BREAKS_KEPT);
}

static void
add_escaped(struct text *out, const char *s)
{
	for (; *s != '\0'; s++)
		switch (*s) {
		case '&':
			text_adds(out, "&amp;");
			break;
		case '<':
			text_adds(out, "&lt;");
			break;
		case '>':
			text_adds(out, "&gt;");
			break;
		case '"':
			text_adds(out, "&quot;");
			break;
		case '\'':
			text_adds(out, "&#39;");
			break;
		default:
			text_addc(out, *s);
		}
}

static void
add_field(struct html *to, const char *field)
{
	add_escaped(to->out, show(&to->arena, field));
}

/* The decimals that a number lacks, as blank space: points stand one below another. */
static void
add_pad(struct html *to, size_t column, const char *field)
{
	size_t rest = strlen(field) - number_whole(field);

	if (!number_is(field) || rest >= to->layout.column[column].rest)
		return;
	text_adds(to->out, " data-pad=\"");
	if (rest == 0) {
		text_addc(to->out, '.');
		rest++;
	}
	for (; rest < to->layout.column[column].rest; rest++)
		text_addc(to->out, '0');
	text_addc(to->out, '"');
}

static void
add_header(struct html *to)
{
	text_adds(to->out, "<thead>\n<tr>");
	for (size_t i = 0; i < to->view->columns; i++) {
		text_adds(to->out, to->view->column[i].number ? "<th class=\"n\"" : "<th");
		text_adds(to->out, " scope=\"col\" aria-sort=\"none\"><button type=\"button\">");
		add_field(to, to->view->column[i].name);
		text_adds(to->out, "</button></th>");
	}
	text_adds(to->out, "</tr>\n</thead>\n");
}

static void
add_row(struct html *to, const struct view_row *row)
{
	text_adds(to->out, row->total ? "<tr class=\"total\">" : "<tr>");
	for (size_t i = 0; i < to->view->columns; i++) {
		text_adds(to->out, "<td data-label=\"");
		add_field(to, to->view->column[i].name);
		text_addc(to->out, '"');
		if (to->view->column[i].number) {
			text_adds(to->out, " class=\"n\"");
			add_pad(to, i, row->field[i]);
		}
		text_addc(to->out, '>');
		add_field(to, row->field[i]);
		text_adds(to->out, "</td>");
	}
	text_adds(to->out, "</tr>\n");
}

static void
add_rows(struct html *to, const char *tag, const struct view_block *block, size_t from, size_t end)
{
	text_addc(to->out, '<');
	text_adds(to->out, tag);
	text_adds(to->out, ">\n");
	for (size_t i = from; i < end; i++)
		add_row(to, block->row[i]);
	text_adds(to->out, "</");
	text_adds(to->out, tag);
	text_adds(to->out, ">\n");
}

static void
add_block(struct html *to, const struct view_block *block)
{
	const char *heading = form_heading(&to->arena, to->view, block);
	bool cards = layout_width(&to->layout, PHONE_GAP) > PHONE_CELLS;
	size_t body = block->count;

	/* Total lines at the end stay there when rows are sorted. */
	while (body > 0 && block->row[body - 1]->total)
		body--;
	text_adds(to->out, "<section>\n");
	if (heading != NULL) {
		text_adds(to->out, "<h2>");
		add_field(to, heading);
		text_adds(to->out, "</h2>\n");
	}
	text_adds(to->out, "<div class=\"frame\">\n<table");
	text_adds(to->out, cards ? " class=\"cards\">\n" : ">\n");
	add_header(to);
	add_rows(to, "tbody", block, 0, body);
	if (body < block->count)
		add_rows(to, "tfoot", block, body, block->count);
	text_adds(to->out, "</table>\n</div>\n</section>\n");
}

void
form_html(struct text *out, const struct view *view, const char *title)
{
	struct html to = {.out = out, .view = view};

	layout_make(&to.layout, view, show, &to.arena);
	page_start(out);
	add_field(&to, title ? title : "Table");
	page_body(out);
	if (title != NULL) {
		text_adds(out, "<h1>");
		add_field(&to, title);
		text_adds(out, "</h1>\n");
	}
	for (size_t i = 0; i < view->blocks; i++)
		add_block(&to, &view->block[i]);
	page_end(out);
	arena_free(&to.arena);
}
