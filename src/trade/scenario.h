/*
 * Scenarios: what a totals file comes to, in home currency, for lot-compare to put beside others.
 * Amounts are micro (10^-6) of the home currency.
 */
#ifndef LOTPIPE_SCENARIO_H
#define LOTPIPE_SCENARIO_H

#include "base/dec.h"
#include "table/table.h"

struct scenario {
	const char *name;            /* borrowed */
	const char *file, *currency; /* in the arena; currency "": the file names none */
	int64_t orders, lots, pieces;
	/* Of the orders; others: costs that are no order, with their tax; rounding: what the others
	 * lack to total, that of cash included. */
	wide goods, charges, tax, others, rounding, total;
};

/* Reads a totals file and closes it. Faults exit: no TOTAL row or several, home currencies that
 * differ, parts that do not add up to home, sums that TOTAL does not have. */
void scenario_read(struct scenario *scenario, const char *name, struct table *table,
                   struct arena *arena);

#endif
