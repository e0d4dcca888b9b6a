#include "show/layout.h"

#include "base/width.h"
#include "show/number.h"

#include <string.h>

#define CUT_SIGN "\u2026" /* one cell */

static void
make_wider(size_t *width, size_t needed)
{
	if (*width < needed)
		*width = needed;
}

void
layout_widen(struct layout_column *column, const char *shown)
{
	make_wider(&column->width, width_of(shown));
}

static void
fit(struct layout_column *column, const char *shown)
{
	if (column->number && number_is(shown)) {
		size_t whole = number_whole(shown);

		make_wider(&column->whole, whole);
		make_wider(&column->rest, strlen(shown) - whole);
		make_wider(&column->width, column->whole + column->rest);
	} else {
		layout_widen(column, shown);
	}
}

void
layout_make(struct layout *layout, const struct view *view, layout_show *show, struct arena *arena)
{
	layout->columns = view->columns;
	layout->column = arena_alloc(arena, view->columns * sizeof *layout->column);
	for (size_t i = 0; i < view->columns; i++) {
		struct layout_column *column = &layout->column[i];

		*column = (struct layout_column){.number = view->column[i].number};
		layout_widen(column, show(arena, view->column[i].name));
		for (size_t j = 0; j < view->blocks; j++)
			for (size_t k = 0; k < view->block[j].count; k++)
				fit(column, show(arena, view->block[j].row[k]->field[i]));
	}
}

size_t
layout_width(const struct layout *layout, size_t gap)
{
	size_t width = layout->columns > 1 ? (layout->columns - 1) * gap : 0;

	for (size_t i = 0; i < layout->columns; i++)
		width += layout->column[i].width;
	return width;
}

static void
add_blanks(struct text *out, size_t count)
{
	while (count-- > 0)
		text_addc(out, ' ');
}

/* Bytes of the string that fit into so many cells, marks on the last one included. */
static size_t
bytes_that_fit(const char *s, size_t cells, size_t *used)
{
	size_t at = 0, length;

	for (*used = 0; s[at] != '\0'; at += length) {
		size_t width = width_of_point(width_point(s + at, &length));

		if (*used + width > cells)
			break;
		*used += width;
	}
	return at;
}

/* Returns the cells taken. */
static size_t
add_cut(struct text *out, const char *shown, size_t cells)
{
	size_t used, width = width_of(shown);

	if (width <= cells) {
		text_adds(out, shown);
		return width;
	}
	if (cells == 0)
		return 0;
	text_add(out, shown, bytes_that_fit(shown, cells - 1, &used));
	text_adds(out, CUT_SIGN);
	return used + 1;
}

void
layout_add_cut(struct text *out, const char *shown, size_t cells)
{
	add_cut(out, shown, cells);
}

static void
add_left(struct text *out, const struct layout_column *column, const char *shown)
{
	add_blanks(out, column->width - add_cut(out, shown, column->width));
}

static void
add_right(struct text *out, const struct layout_column *column, const char *shown)
{
	size_t width = width_of(shown);

	if (width < column->width)
		add_blanks(out, column->width - width);
	add_left(out,
	         &(struct layout_column){.width = width < column->width ? width : column->width},
	         shown);
}

static void
add_number(struct text *out, const struct layout_column *column, const char *shown)
{
	size_t whole = number_whole(shown), rest = strlen(shown) - whole;

	add_blanks(out, column->width - column->rest - whole);
	text_adds(out, shown);
	add_blanks(out, column->rest - rest);
}

void
layout_add_words(struct text *out, const struct layout_column *column, const char *shown)
{
	if (column->number)
		add_right(out, column, shown);
	else
		add_left(out, column, shown);
}

void
layout_add(struct text *out, const struct layout_column *column, const char *shown)
{
	if (column->number && number_is(shown))
		add_number(out, column, shown);
	else
		layout_add_words(out, column, shown);
}
