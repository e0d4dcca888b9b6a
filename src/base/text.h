/*
 * Text: bytes of UTF-8 that end in NUL, and what the programs do with them whatever the locale:
 * blanks, letter case (ASCII alone), edit distance for suggestions, display in a diagnostic, a
 * growing buffer, and the table of names that gives each different text a small number.
 */
#ifndef LOTPIPE_TEXT_H
#define LOTPIPE_TEXT_H

#include "base/mem.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A growing buffer; bytes[length] is always NUL once anything was added. Zero-initialise. */
struct text {
	char *bytes; /* owned */
	size_t length;
	size_t room;
};

/* Makes room for that many bytes to come (and the NUL behind them). */
void text_reserve(struct text *text, size_t length);
void text_add(struct text *text, const char *bytes, size_t length);
void text_adds(struct text *text, const char *string);
void text_addc(struct text *text, char c);
void text_clear(struct text *text);
void text_free(struct text *text);

/* Space, tab, CR, LF, VT, FF. */
static inline bool
text_is_blank_byte(char c)
{
	return c == ' ' || (c >= '\t' && c <= '\r');
}
bool text_equal_fold(const char *a, const char *b); /* ASCII letter case aside */
/* Leading and trailing blanks off, runs of blanks (no-break space too) folded into one space; in
 * place. */
void text_fold_blanks(char *string);
/* No-break and thin spaces become blanks; in place. */
void text_plain_blanks(char *string);
/* Leading and trailing blanks off; returns a pointer into the string, which is cut. */
char *text_trim(char *string);

/* Offset of the first byte that is not valid UTF-8 (RFC 3629), or length if all is. */
size_t text_utf8_bad(const char *bytes, size_t length);

/* Length of the valid UTF-8 sequence at the start of left bytes, 1 or more; 0 if it is none. */
size_t text_utf8_step(const char *bytes, size_t left);

/* The string as a diagnostic shows it: escaped (escape.h), long text cut. Lives in the arena. */
const char *text_show(struct arena *arena, const char *string);
/* The same, not cut: for names of files. */
const char *text_show_all(struct arena *arena, const char *string);

/* The parts of "A,B", as many as *count says; list NULL: none, NULL. In the arena. */
const char **text_list(struct arena *arena, const char *list, size_t *count);

/* Edit distance, ASCII letter case aside, in bytes: to insert, delete or replace one, or to
 * exchange two neighbours, is 1 (Damerau; optimal string alignment). */
size_t text_distance(const char *a, const char *b);
/* The nearest of the choices, or NULL if none is near enough to suggest, or the word is longer than
 * a word of people's. */
const char *text_nearest(const char *word, const char *const *choices, size_t count);

/* Names: each different text gets a number, from 0 in order of first appearance. Zero-initialise.
 */
struct names {
	char **name; /* by number; owned */
	size_t *length;
	size_t count;
	size_t room;
	uint32_t *slot; /* hash table of number + 1; owned */
	size_t slots;
	struct arena arena;
};

size_t names_add(struct names *names, const char *string);
size_t names_add_bytes(struct names *names, const char *bytes, size_t length);
/* The number of a name, or SIZE_MAX if it is none. */
size_t names_find(const struct names *names, const char *string);
void names_free(struct names *names);

/* What number to try next to make a name another: 2 at first. That those below are taken is kept,
 * so that many of one name cost no search each. Zero-initialise. */
struct numbering {
	struct names names;
	size_t *next; /* by name; owned */
	size_t room;
};

/* Where the number for the name is kept: the caller puts there what to try after the one it took.
 * Valid until the next call. */
size_t *numbering_next(struct numbering *numbering, const char *name);
/* Adds "#" and the number to a name; the number after it is next. */
void numbering_add(struct text *name, size_t *number);
void numbering_free(struct numbering *numbering);

#endif
