/*
 * Locales, for the form of CSV that a spreadsheet of that locale opens right: its decimal mark, and
 * the delimiter that goes with it. A name is a language, or a language and a territory: de, de_AT,
 * de-AT, de_AT.UTF-8; what follows "." or "@" has no part in it.
 *
 * Source: decimal marks as the Unicode Common Locale Data Repository has them; semicolons where the
 * decimal mark is a comma, as a comma could not be both (common practice, no source), and in
 * Switzerland and Liechtenstein (from memory).
 */
#ifndef LOTPIPE_SHOW_LOCALE_H
#define LOTPIPE_SHOW_LOCALE_H

#include "base/text.h"

struct locale {
	const char *language;
	const char *territories; /* "AT BE DE"; "": of the language alone */
	char decimal, delimiter;
};

/* The locale of that name, or NULL: *why, in the arena, is then what would be right. */
const struct locale *locale_find(const char *name, struct arena *arena, const char **why);

#endif
