/*
 * Cells are escaped so that each reads as the field it is: marks of Markdown, of HTML, and the bar
 * between cells get a backslash (CommonMark 0.31, 2.4; GFM, tables). A field that is an address of
 * the web is a link that shows it (CommonMark 0.31, 6.5). Within other text, what GFM would make a
 * link gets a backslash that keeps it from that (GFM, 6.9): the backslashes behind it would be part
 * of the link. A line break is <br>, as there is no other way to have one in a cell. Hidden points
 * are shown, see visible.h.
 */
#include "show/forms.h"
#include "show/layout.h"
#include "show/visible.h"

#include <string.h>

#define MARKS "\\`*_[]<>|~&$"

/* Is all of it one address, of characters that a link in <> takes as they are? (A semicolon may end
 * the name of a character.) */
static bool
is_address(const char *s)
{
	size_t scheme = strncmp(s, "https://", 8) == 0 ? 8 : 7;

	if (strncmp(s, "https://", scheme) != 0 && strncmp(s, "http://", scheme) != 0)
		return false;
	if (s[scheme] == '\0')
		return false;
	for (; *s != '\0'; s++)
		if ((unsigned char)*s <= ' ' || strchr("<>\\|;", *s) != NULL)
			return false;
	return true;
}

/* The bytes of what starts a link in GFM, up to the one that a backslash before it keeps from that;
 * or 0. */
static size_t
starts_link(const char *s)
{
	if (strncmp(s, "://", 3) == 0)
		return 1;
	return strncmp(s, "www.", 4) == 0 ? 4 : 0;
}

static const char *
escaped(struct arena *arena, const char *field)
{
	const char *s = visible(arena, field, BREAKS_KEPT), *kept;
	struct text out = {0};

	if (is_address(s)) {
		text_addc(&out, '<');
		text_adds(&out, s);
		text_addc(&out, '>');
	} else if (strpbrk(s, MARKS "\n") == NULL && strstr(s, "://") == NULL &&
	           strstr(s, "www.") == NULL) {
		return s;
	} else {
		for (; *s != '\0'; s++) {
			size_t link = starts_link(s);

			if (*s == '\n') {
				text_adds(&out, "<br>");
				continue;
			}
			if (link > 0) {
				text_add(&out, s, link - 1);
				s += link - 1;
			}
			if (link > 0 || strchr(MARKS, *s) != NULL)
				text_addc(&out, '\\');
			text_addc(&out, *s);
		}
	}
	kept = arena_copy(arena, out.bytes ? out.bytes : "", out.length);
	text_free(&out);
	return kept;
}

/* The field as it stands in a row; those of total lines are bold, which bears no blanks within. */
static const char *
cell(struct arena *arena, const struct view_row *row, size_t column)
{
	const char *shown = escaped(arena, row->field[column]), *kept;
	struct text out = {0};

	if (!row->total)
		return shown;
	shown = text_trim(arena_copy(arena, shown, strlen(shown)));
	if (*shown == '\0')
		return shown;
	text_adds(&out, "**");
	text_adds(&out, shown);
	text_adds(&out, "**");
	kept = arena_copy(arena, out.bytes, out.length);
	text_free(&out);
	return kept;
}

/* Wide enough for every cell, and for the three marks that a delimiter row needs. */
static void
lay_out(struct layout *layout, const struct view *view, struct arena *arena)
{
	layout->columns = view->columns;
	layout->column = arena_alloc(arena, view->columns * sizeof *layout->column);
	for (size_t i = 0; i < view->columns; i++) {
		struct layout_column *column = &layout->column[i];

		*column = (struct layout_column){.width = 3, .number = view->column[i].number};
		layout_widen(column, escaped(arena, view->column[i].name));
		for (size_t j = 0; j < view->blocks; j++)
			for (size_t k = 0; k < view->block[j].count; k++)
				layout_widen(column, cell(arena, view->block[j].row[k], i));
	}
}

static void
start_cell(struct text *out, size_t column)
{
	text_adds(out, column == 0 ? "| " : " | ");
}

static void
add_header(struct text *out, const struct view *view, const struct layout *layout,
           struct arena *arena)
{
	for (size_t i = 0; i < view->columns; i++) {
		start_cell(out, i);
		layout_add_words(out, &layout->column[i], escaped(arena, view->column[i].name));
	}
	text_adds(out, " |\n");
	for (size_t i = 0; i < view->columns; i++) {
		start_cell(out, i);
		for (size_t j = view->column[i].number; j < layout->column[i].width; j++)
			text_addc(out, '-');
		if (view->column[i].number)
			text_addc(out, ':');
	}
	text_adds(out, " |\n");
}

/* Number signs at the end of a heading would be taken for its closing. */
static void
add_heading(struct text *out, const char *shown)
{
	for (; *shown != '\0'; shown++) {
		if (*shown == '#')
			text_addc(out, '\\');
		text_addc(out, *shown);
	}
}

static void
add_block(struct text *out, const struct view *view, const struct view_block *block,
          const struct layout *layout, struct arena *arena)
{
	const char *heading = form_heading(arena, view, block);

	if (heading != NULL) {
		text_adds(out, "### ");
		add_heading(out, escaped(arena, heading));
		text_adds(out, "\n\n");
	}
	add_header(out, view, layout, arena);
	for (size_t i = 0; i < block->count; i++) {
		for (size_t j = 0; j < view->columns; j++) {
			start_cell(out, j);
			layout_add_words(out, &layout->column[j], cell(arena, block->row[i], j));
		}
		text_adds(out, " |\n");
	}
}

void
form_markdown(struct text *out, const struct view *view)
{
	struct arena arena = {0};
	struct layout layout;

	lay_out(&layout, view, &arena);
	for (size_t i = 0; i < view->blocks; i++) {
		if (i > 0)
			text_addc(out, '\n');
		add_block(out, view, &view->block[i], &layout, &arena);
	}
	arena_free(&arena);
}
