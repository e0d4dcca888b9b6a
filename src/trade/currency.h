/*
 * Currencies: ISO 4217 alphabetic codes and their minor units (decimals of an amount).
 * One table in one place.
 */
#ifndef LOTPIPE_CURRENCY_H
#define LOTPIPE_CURRENCY_H

#include "table/table.h"

#include <stdbool.h>
#include <stddef.h>

/* The minor unit of a code (0, 2, 3 or 4); false where it is no code of ISO 4217, or one without
 * a minor unit. */
bool currency_decimals(const char *code, unsigned *decimals);
/* What to say behind a code that is none: ": did you mean EUR?", the nearest by edit distance
 * (current ones before withdrawn ones, then in byte order), or an example where none has a letter
 * in common with it, in its place or nearly. In the arena. */
const char *currency_hint(struct arena *arena, const char *code);
/* Is the field empty, or a code? If not, that is told as a fault of the table. */
bool currency_field(struct table *table, const struct row *row, size_t column);

/* Dies where the value of an option is no code. */
void currency_option(const char *option, const char *code);

#endif
