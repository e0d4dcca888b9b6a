/*
 * Exchange rates: one `from` is `rate` `to`. A pair is used as given, or by dividing where only
 * its reverse is given, or through the one currency that has both; never by a rounded inverse.
 */
#ifndef LOTPIPE_RATES_H
#define LOTPIPE_RATES_H

#include "table/table.h"
#include "trade/landed.h"

struct rate {
	const char *from, *to; /* owned by the arena */
	int64_t rate;          /* micro, more than 0 */
	size_t line;
};

struct rates {
	struct rate *rate; /* owned */
	size_t count, room;
	struct arena arena;
	const char *file;
};

/* Reads a whole file and closes it; faults exit (a code that is none, a rate of 0, a pair twice
 * with different rates). */
void rates_read(struct rates *rates, struct table *table);
/* The exact fraction, in lowest terms, from one currency to another; false, *why (in the arena)
 * set, where there is none or where several ways lead through different currencies. Both codes
 * equal: 1. */
bool rates_find(const struct rates *rates, const char *from, const char *to, struct fraction *out,
                const char **why, struct arena *arena);
void rates_free(struct rates *rates);

/* top / bottom in lowest terms, bottom > 0. */
struct fraction fraction_reduced(wide top, wide bottom);

#endif
