/*
 * Layout: how many cells of a terminal (width.h) each column of a view takes, and fields set in
 * them. In a column of numbers those are set with their points one below another, and what is no
 * number to the right; in others all is set to the left.
 */
#ifndef LOTPIPE_SHOW_LAYOUT_H
#define LOTPIPE_SHOW_LAYOUT_H

#include "base/text.h"
#include "show/view.h"

/* How a form writes a field, in the arena or as it is. */
typedef const char *layout_show(struct arena *arena, const char *field);

struct layout_column {
	size_t width;
	size_t whole, rest; /* of the numbers in it: before the point, from the point on */
	bool number;
};

struct layout {
	struct layout_column *column; /* in the arena; as many as the view has */
	size_t columns;
};

/* Over all blocks, so that they look alike. Strings live in the arena. */
void layout_make(struct layout *layout, const struct view *view, layout_show *show,
                 struct arena *arena);
/* Makes a column wide enough for a string. */
void layout_widen(struct layout_column *column, const char *shown);
/* Cells of the columns with a gap between each two. */
size_t layout_width(const struct layout *layout, size_t gap);
/* Adds a shown field, blanks to its width included; one too wide is cut, with a sign for it. */
void layout_add(struct text *out, const struct layout_column *column, const char *shown);
/* The same for a header, or a number that is no such thing to the form: to the right in a column of
 * numbers, else to the left. */
void layout_add_words(struct text *out, const struct layout_column *column, const char *shown);
/* The string, cut to so many cells if it is wider. */
void layout_add_cut(struct text *out, const char *shown, size_t cells);

#endif
