/*
 * Landed cost: goods + charges + tax of one order, and what that is in home currency.
 *
 * The one function that every program asks what an order costs. It sees numbers alone: the terms
 * of a seller, compiled from sellers, charges and rates (terms.h), and the sums of an order.
 *
 * Units: goods, grams, percent, minimum and order_cost in micro (10^-6); pieces and lots whole;
 * results in 10^-scale of the currency, scale being 9 (exact cost) or the currency's minor unit.
 *
 * Rules: steps and minimums go by exact sums. Goods are rounded once, each charge by class and
 * name once (a percent is taken on the exact goods), the tax once, on those rounded amounts, or
 * line by line, on the exact goods of each and then on each rounded charge; total is their sum;
 * home is the total converted by multiplying and dividing with the rates as given, rounded once
 * (Council Regulation (EC) No 1103/97, articles 4 and 5: never by a rounded inverse). Half away
 * from zero throughout.
 */
#ifndef LOTPIPE_LANDED_H
#define LOTPIPE_LANDED_H

#include "base/fraction.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum basis { BASIS_VALUE, BASIS_WEIGHT, BASIS_PIECES, BASIS_LOTS, BASES };

/* What the lines of an order, or those of one class of goods, add up to. */
struct order_sum {
	int64_t basis[BASES]; /* goods micro, grams micro, pieces, lots */
};

struct charge_step {
	int64_t reached;        /* the least basis that reaches this step */
	bool refused;           /* such an order is not shipped */
	struct fraction amount; /* micro, in the order's currency */
	int64_t percent;        /* micro, of the goods of the lines it is about */
	bool taxed;
};

struct charge {
	size_t name; /* for the programs: which charge this is */
	size_t sum;  /* 0: all lines; c + 1: the lines of class c */
	enum basis basis;
	size_t steps;
	const struct charge_step *step; /* ascending by reached; borrowed */
};

struct terms {
	size_t classes; /* an order has classes + 1 sums */
	size_t charges;
	const struct charge *charge; /* borrowed */
	int64_t minimum;             /* least goods of an order */
	int64_t tax;                 /* percent; on goods, and on the charges that are taxed */
	struct fraction home;        /* one of the order's currency is this much home currency */
	int64_t order_cost;          /* home currency; steers, not part of landed cost */
};

struct order {
	const struct order_sum *sum; /* classes + 1: all lines first, then by class */
	/* For tax by line; NULL: tax on the whole order. */
	const int64_t *line; /* goods of each line, micro */
	size_t lines;
};

struct scales {
	unsigned order, home; /* decimals that amounts are rounded to */
};

struct landed {
	wide goods, charges, tax, total; /* 10^-scales.order */
	wide home;                       /* 10^-scales.home */
	bool refused;                    /* a step says such an order is not shipped */
	bool below_minimum;
};

/* The step of a charge that applies at this basis, or NULL: none is reached. */
const struct charge_step *charge_step_at(const struct charge *charge, int64_t basis);

/* The landed cost of an order that has lines. each, if not NULL, gets every charge (as many as
 * terms->charges). Returns false, nothing certain in *out, where 128 bits do not hold a product. */
bool landed_cost(const struct terms *terms, const struct order *order, struct scales scales,
                 struct landed *out, wide *each);

/* amount x 10^-from, converted by the fraction and rounded half away to 10^-to. */
bool landed_convert(wide amount, unsigned from, const struct fraction *rate, unsigned to,
                    wide *out);

#endif
