/*
 * What a spreadsheet would take for a formula, and how it is kept from that: an apostrophe is put
 * before it.
 *
 * Source: OWASP, "CSV Injection" (https://owasp.org/www-community/attacks/CSV_Injection), and
 * CWE-1236: fields that start with = + - @, with tab, CR or LF, or with the full-width forms of the
 * four signs. Beyond it: the small forms and U+2212, controls of any kind, and fields in which
 * blanks, characters that are not seen, or double quotes come before the sign or the control, since
 * some programs take those off. What is a number is none of it: as number.h has it, or a sign
 * before digits with points and commas, as other countries write them.
 */
#ifndef LOTPIPE_SHOW_FORMULA_H
#define LOTPIPE_SHOW_FORMULA_H

#include "base/text.h"

#define FORMULA_GUARD '\''

bool formula_like(const char *field);
/* The field, guarded where it is formula-like; in the arena then. */
const char *formula_guard(struct arena *arena, const char *field);

#endif
