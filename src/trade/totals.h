/*
 * Totals: order lines gathered to one order a seller, each with what it costs, in its currency
 * and in home currency, rounded as an invoice would be; then the costs that are no order; then
 * the sum of all.
 *
 * Owns the rows. Amounts are whole minor units of their currency (10^-decimals). Lines of owned
 * stock and lines of no pieces are in no row.
 *
 * Rules: an order's landed cost is landed_cost at the scale of the currency's minor unit. home is
 * the total converted and rounded; home_goods, home_charges and home_tax are converted from the
 * rounded figures and rounded each; rounding is what they lack to home. The sum is that of the
 * rows, but that its home is then rounded to what can be paid in cash, half away from zero; its
 * rounding takes the difference.
 */
#ifndef LOTPIPE_TOTALS_H
#define LOTPIPE_TOTALS_H

#include "trade/extras.h"
#include "trade/orders.h"
#include "trade/terms.h"
#include "trade/weights.h"

struct total_row {
	const char *seller, *route;
	const char *currency; /* "": not known */
	unsigned decimals;
	int64_t lots, pieces;
	int64_t value; /* of the goods, exact: micro */
	wide goods, charges, tax, total;
	wide *each;   /* by number in totals.charge */
	wide *tax_of; /* by number in totals.rate */
	wide home_goods, home_charges, home_tax, rounding, home;
	wide home_estimated; /* of home: charges that are estimates, their tax included */
	const struct seller_row *terms; /* NULL: none, or no order */
	size_t line;                    /* the first of its lines in the file */
	bool below_minimum, refused;
};

struct totals {
	struct total_row *row; /* owned; by route and seller, then extras */
	size_t count, orders;  /* rows, and how many of them are orders */
	struct total_row sum;
	bool mixed;       /* the rows differ in currency: sum is only in home currency */
	const char *home; /* "": not known */
	unsigned home_decimals;
	const char **charge; /* names of the charges that speak for a seller with an order, once
	                      * each, in byte order; owned */
	size_t charges;
	int64_t *rate; /* the different taxes of all rows, micro percent, ascending; owned */
	size_t rates;
	bool several_taxes; /* a row has more than one */
	bool estimates;     /* a charge that speaks for a seller with an order is an estimate */
	int64_t owned;      /* pieces of lines that are stock */
	struct arena arena;
};

/* What the totals are made of; all borrowed, any pointer but orders may be NULL. */
struct totals_input {
	const struct orders *orders;
	const struct sellers *sellers;
	const struct charges *charges;
	const struct rates *rates;
	const struct weights *weights;
	const struct extras *extras;
	const char *currency; /* -C; NULL: not given */
	bool goods_by_line, tax_by_line;
	enum rounding rounding; /* of what the sellers round */
	int64_t cash;           /* what cash can pay, micro of home currency; 0: anything */
	bool exact;             /* as lot-split costs a plan: every amount to 10^-9 */
};

/* What does not fit together (no rate, a cash unit that is no multiple of the minor unit, no grams,
 * a seller that no row speaks for, lines of one seller in two currencies, ...) is told,
 * EXIT_TROUBLE. The texts of the input must outlive it. */
void totals_make(struct totals *totals, const struct totals_input *input);
void totals_free(struct totals *totals);

/* Tells which orders cannot be placed as they are, below their minimum or not shipped, at their
 * first line in the file; true: there are any. */
bool totals_tell_unplaced(const struct totals *totals, const char *file);

#endif
