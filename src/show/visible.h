/*
 * Fields of strangers made harmless to eyes and terminals: what a terminal would obey, or what is
 * not seen and may turn round what is (width.h: hidden points), becomes a sign that is seen.
 * Controls become their pictures, U+2400 to U+2421; other hidden points U+FFFD. A mark that
 * combines, at the start of a field, gets U+25CC to stand on, not what is before the field.
 */
#ifndef LOTPIPE_SHOW_VISIBLE_H
#define LOTPIPE_SHOW_VISIBLE_H

#include "base/text.h"

enum visible_breaks {
	BREAKS_SHOWN, /* a line break (LF, CRLF, CR) is U+2424 */
	BREAKS_KEPT   /* it is LF */
};

/* The field, which is UTF-8; in the arena where it is not as it was. */
const char *visible(struct arena *arena, const char *field, enum visible_breaks breaks);

#endif
