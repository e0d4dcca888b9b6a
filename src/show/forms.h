/*
 * The forms that a view is given: text for a terminal, Markdown, a page of HTML, and CSV for a
 * spreadsheet. Each adds to a buffer; what a field may do there, and is kept from, its file says.
 */
#ifndef LOTPIPE_SHOW_FORMS_H
#define LOTPIPE_SHOW_FORMS_H

#include "base/text.h"
#include "show/locale.h"
#include "show/view.h"

struct text_settings {
	size_t width; /* cells of a line; 0: as many as it takes */
	bool color;
};

/* Text in aligned columns. Columns of text are cut to make lines fit, and whole columns left out
 * from the right where that is not enough; returns how many. */
size_t form_text(struct text *out, const struct view *view, const struct text_settings *settings);
/* Tables of GitHub Flavored Markdown, https://github.github.com/gfm/ */
void form_markdown(struct text *out, const struct view *view);
/* A page for itself, that asks for nothing from outside. */
void form_html(struct text *out, const struct view *view, const char *title);
/* CSV: byte-order mark, CRLF; delimiter and decimal mark are the locale's. */
void form_sheet(struct text *out, const struct view *view, const struct locale *locale);

/* What stands over a block, "seller: Attic"; NULL where the view has no groups. In the arena, not
 * made harmless for any form. */
const char *form_heading(struct arena *arena, const struct view *view,
                         const struct view_block *block);

#endif
