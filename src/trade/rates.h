/*
 * Exchange rates: one `from` is `rate` `to`. A pair is used as given, or by dividing where only
 * its reverse is given, or through the one currency that has both; never by a rounded inverse.
 *
 * A file has a row for each pair, or it is wide: a column for each currency, rows of what one unit
 * of the base is in them. Rows may have a date: of the rows of a pair, in either direction, the
 * newest on or before a day are used, the others forgotten.
 */
#ifndef LOTPIPE_RATES_H
#define LOTPIPE_RATES_H

#include "base/date.h"
#include "base/fraction.h"
#include "table/table.h"

struct rate {
	const char *from, *to; /* owned by the arena */
	int64_t rate;          /* micro, more than 0 */
	int64_t fee;           /* micro percent that the bank adds, at least 0 */
	int32_t date;          /* NO_DATE where the file has none */
	size_t line;
	bool used; /* some conversion went by it */
};

struct rates {
	struct rate *rate; /* owned; by from and to; those of the day alone */
	size_t count, room;
	struct arena arena;
	const char *file;
	int32_t on; /* as in the form */
	bool dated; /* the file has dates */
};

/* What the user said of the file. Zero: nothing. */
struct rates_form {
	const char *base; /* a wide file, of one unit of this currency; NULL: a row for each pair */
	int32_t on;       /* the day; NO_DATE: the newest of all */
};

/* Reads a whole file and closes it; faults exit (a code that is none, a rate of 0, a pair twice
 * on a day with different rates or fees, a day asked for where there are no dates). */
void rates_read(struct rates *rates, struct table *table, const struct rates_form *form);

enum rate_use {
	RATE_BARE, /* an amount that is stated in another currency than it is due in */
	RATE_PAID  /* an amount that a bank converts: with its fee */
};

/* The exact fraction, in lowest terms, from one currency to another; false, *why (in the arena)
 * set, where there is none or where several ways lead through different currencies. Both codes
 * equal: 1. Notes which rates were used. */
bool rates_find(const struct rates *rates, const char *from, const char *to, enum rate_use use,
                struct fraction *out, const char **why, struct arena *arena);
/* Tells which dated rates were used. */
void rates_tell(const struct rates *rates);
void rates_free(struct rates *rates);

#endif
