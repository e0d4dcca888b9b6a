/*
 * Landed cost: goods + charges + tax of one order, and what that is in home currency.
 *
 * The one function that every program asks what an order costs. It sees numbers alone: the terms
 * of a seller, compiled from sellers, charges and rates (terms.h), and the sums of an order.
 *
 * Units: goods, grams, percent, minimum and order_cost in micro (10^-6); pieces and lots whole;
 * results in 10^-scale of the currency, scale being 9 (exact cost) or the currency's minor unit.
 *
 * Rules. Steps and minimums go by exact sums. Goods are rounded once, or line by line; each charge
 * by class and name once, a percent being taken on the exact goods, or, of a charge whose basis is
 * landed, on the exact goods and the exact charges that it comes after.
 *
 * Taxes that are added to the prices: each is taken on the rounded goods and taxed charges, and
 * rounded once, or taken line by line, on each line and then on each taxed charge. Prices that
 * include the taxes: goods and charges as rounded are the gross, and their sum the total; goods and
 * each taxed charge are then shown net, gross / (1 + taxes), rounded, and the tax is what is left
 * of the gross; of several, each but the last is taken on the net and rounded, the last is what is
 * left. Line by line, each tax in a line or charge is gross x tax / (1 + taxes), rounded, and net
 * is what is left.
 *
 * The total is the sum of goods, charges and tax; home is the total converted by multiplying and
 * dividing with the rates as given, rounded once (Council Regulation (EC) No 1103/97, articles 4
 * and 5: never by a rounded inverse). Half away from zero; what the seller rounds, as the order
 * says.
 */
#ifndef LOTPIPE_LANDED_H
#define LOTPIPE_LANDED_H

#include "base/fraction.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What the steps of a charge go by; the first BASES of them are sums of lines. */
enum basis { BASIS_VALUE, BASIS_WEIGHT, BASIS_PIECES, BASIS_LOTS, BASES, BASIS_LANDED = BASES };

/* Do steps go by money: the goods, or these and what comes on top of them? */
static inline bool
basis_is_money(enum basis basis)
{
	return basis == BASIS_VALUE || basis == BASIS_LANDED;
}

/* What the lines of an order, or those of one class of goods, add up to. */
struct order_sum {
	int64_t basis[BASES]; /* goods micro, grams micro, pieces, lots */
};

struct charge_step {
	int64_t reached;        /* the least basis that reaches this step; not of basis landed: */
	struct fraction place;  /* that is reached at this place (micro, of the order's currency) */
	bool over;              /* or past it */
	bool refused;           /* such an order is not shipped */
	struct fraction amount; /* micro, in the order's currency */
	int64_t percent;        /* micro, of the goods of the lines it is about, or of landed */
	bool taxed;
	bool estimate;
};

struct charge {
	size_t name; /* for the programs: which charge this is */
	size_t sum;  /* 0: all lines; c + 1: the lines of class c */
	enum basis basis;
	size_t steps;
	const struct charge_step *step; /* ascending by reached or place; borrowed */
	/* Of basis landed, which is the goods of the sum and these charges, all of which stand
	 * before this one; borrowed. */
	const size_t *after;
	size_t afters;
};

enum { TAXES_MOST = 4 }; /* more of them on one order are an error where they are read */

/* The taxes of an order, each in micro percent. */
struct taxes {
	size_t count;
	int64_t percent[TAXES_MOST];
};

struct terms {
	size_t classes; /* an order has classes + 1 sums */
	size_t charges;
	const struct charge *charge; /* borrowed */
	int64_t minimum;             /* least goods of an order */
	struct taxes taxes;
	bool included; /* prices and taxed charges include the taxes */
	int64_t tax;   /* percent that comes on top: the sum of the taxes, 0 where included */
	struct fraction home; /* one of the order's currency is this much home currency */
	int64_t order_cost;   /* home currency; steers, not part of landed cost */
};

struct order {
	const struct order_sum *sum; /* classes + 1: all lines first, then by class */
	/* Goods of each line, micro; for what is rounded line by line, else not needed. */
	const int64_t *line;
	size_t lines;
	bool goods_by_line, tax_by_line;
	enum rounding rounding; /* of goods, charges and taxes: the seller's */
};

struct scales {
	unsigned order, home; /* decimals that amounts are rounded to */
};

struct landed {
	wide goods, charges, tax, total; /* 10^-scales.order */
	wide tax_of[TAXES_MOST];         /* by number in terms.taxes; they add up to tax */
	wide estimated; /* of the total: charges that are estimates, tax included */
	wide home;      /* 10^-scales.home */
	bool refused;   /* a step says such an order is not shipped */
	bool below_minimum;
};

/* The step of a charge that applies at this basis, or NULL: none is reached. Not for charges of
 * basis landed. */
const struct charge_step *charge_step_at(const struct charge *charge, int64_t basis);

/* The step of any charge that applies to an order, NULL: none is. Returns false where 128 bits do
 * not hold a product. */
bool landed_step(const struct terms *terms, const struct order *order, size_t charge,
                 const struct charge_step **step);

/* The landed cost of an order that has lines. each, if not NULL, gets every charge (as many as
 * terms->charges). Returns false, nothing certain in *out, where 128 bits do not hold a product. */
bool landed_cost(const struct terms *terms, const struct order *order, struct scales scales,
                 struct landed *out, wide *each);

/* amount x 10^-from, converted by the fraction and rounded half away to 10^-to. */
bool landed_convert(wide amount, unsigned from, const struct fraction *rate, unsigned to,
                    wide *out);

#endif
