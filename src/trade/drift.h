/*
 * Drift: what moved the total of standing orders, step by step.
 *
 * Owns the order of the steps, each of which is one total (totals.h, rounded as invoices are) less
 * the one before it, so that they add up exactly:
 *
 *   was      all lines at old prices, sellers, charges and rates
 *   gone     what is left of them, at the same
 *   prices   new prices, classes, weights and currencies, at old sellers, charges and rates
 *   charges  new sellers and charges, at old rates
 *   rates    new rates: what is left of the orders now
 *
 * Amounts are minor units of the home currency, pieces whole.
 */
#ifndef LOTPIPE_DRIFT_H
#define LOTPIPE_DRIFT_H

#include "trade/reprice.h"
#include "trade/totals.h"

/* What an order costs beyond its prices, then or now; borrowed. */
struct conditions {
	const struct sellers *sellers;
	const struct charges *charges;
	const struct rates *rates;
};

/* All borrowed. */
struct drift_input {
	const struct order_line *const *line; /* those that stand, sorted */
	size_t lines;
	const struct repricing *repricing; /* of them */
	const struct offers *offers;
	struct conditions was, now;
	const struct weights *weights; /* NULL: none */
	const char *home, *file;       /* file: of the lines, for messages */
};

/* What orders come to, or the difference of two such. */
struct sum {
	wide amount;
	int64_t orders, pieces;
};

enum drift_step { DRIFT_WAS, DRIFT_GONE, DRIFT_PRICES, DRIFT_CHARGES, DRIFT_RATES, DRIFT_STEPS };

struct drift {
	struct orders all, left, now;  /* the lines; what is left, as it was and as it is */
	struct sum after[DRIFT_STEPS]; /* the total after each step */
	struct totals totals;          /* after the last */
};

/* What does not fit together (no rate, no charges that speak for a seller, ...) is told,
 * EXIT_TROUBLE. */
void drift_make(struct drift *drift, const struct drift_input *input);
void drift_free(struct drift *drift);

/* The totals of some lines. exact: to 10^-9, as lot-split costs a plan. */
void drift_totals(const struct drift_input *input, const struct orders *orders,
                  const struct conditions *terms, bool exact, struct totals *totals);
struct sum sum_of(const struct totals *totals);
struct sum sum_difference(struct sum a, struct sum b);

/* What a row's pieces cost more than they did, in home currency at the old rates; micro, a half
 * rounded away from zero. After drift_make. */
wide drift_change(const struct drift_input *input, const struct repriced *row);
/* The currency of a line as it was: its own, else its seller's, else home. */
const char *drift_currency(const struct drift_input *input, const struct order_line *line);

#endif
