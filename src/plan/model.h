/*
 * The purchase problem in numbers and indices: lots to be filled, listings to fill them from,
 * sellers whose orders cost what landed_cost says. The optimiser sees this and nothing else:
 * no file, no name, no CSV.
 *
 * Units: pieces whole; prices, penalties, worth and grams micro (10^-6), prices in the currency
 * of the seller's order, penalties and worth in home currency; computed cost nano (10^-9) home.
 *
 * The problem: buy whole pieces of listings and use them for rows, so that each lot that is a
 * must gets its pieces (unmet pieces first as few as can be), at the least
 *     landed cost in home currency (what it adds to that of the baskets) + penalties of used pieces
 * + order costs - worth of filled pieces of optional lots. It is facility location with capacities
 * and order-dependent fixed charges; as "internet shopping optimization" it is strongly NP-hard
 * (Blazewicz et al., Int. J. Appl. Math. Comput. Sci. 20 (2010) 385-390).
 */
#ifndef LOTPIPE_MODEL_H
#define LOTPIPE_MODEL_H

#include "trade/landed.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define NO_LABEL ((size_t)-1)
#define NO_LIMIT ((size_t)-1)

struct model_lot {
	int64_t need;     /* pieces, at least 1 */
	bool must;        /* else each piece filled is worth: */
	int64_t worth;    /* micro home */
	size_t row, rows; /* its alternatives: model.row[row .. row + rows) */
};

struct model_row {
	size_t lot;
	int64_t penalty; /* micro home, a piece used */
	size_t label;    /* rows of one label fill their lots in full, all or none; or NO_LABEL */
};

struct model_break {
	int64_t least; /* fewest pieces at this price */
	int64_t price; /* of every piece, micro */
};

/* What a seller has of one thing: bought 0 pieces, or a multiple of step, up to most, at one of
 * the breaks whose least it reaches. */
struct model_listing {
	size_t seller;
	size_t sum; /* which sum besides 0 (all lines) it counts in: 0 none, c + 1 class c */
	size_t
	    kind; /* part, color and condition: what the basis `lots` counts; within the seller */
	int64_t most, step;
	int64_t grams; /* of a piece, micro; 0 where no charge weighs it */
	/* Its kind is in the seller's basket already, and in its class there: not one lot more. */
	bool in_basket, in_basket_class;
	size_t brk, breaks; /* model.brk[brk .. brk + breaks), ascending by least */
	size_t edge, edges; /* rows it fits: model.edge[edge .. edge + edges) */
};

struct model_seller {
	const struct terms *terms; /* NULL: owned stock, free, no order */
	/* What the seller's order holds already, whatever the plan: what is bought is added to it,
	 * and costs what it adds. By sum; NULL: there is no such order. */
	const struct order_sum *basket;
	wide basket_cost;         /* nano home: the landed cost of that alone */
	size_t listing, listings; /* model.listing[listing .. listing + listings) */
	size_t kinds;
};

/* Arrays are owned by whoever built the model; the optimiser only reads. */
struct model {
	struct model_lot *lot;
	struct model_row *row;
	struct model_seller *seller;
	struct model_listing *listing;
	struct model_break *brk;
	size_t *edge; /* row numbers */
	size_t lots, rows, sellers, listings, breaks, edges, labels;
	size_t max_orders;      /* or NO_LIMIT */
	unsigned home_decimals; /* minor unit of the home currency */
};

/* How many sums an order of the seller has: all lines, and one for each of its classes. */
size_t model_sums(const struct model *model, size_t seller);

/* Does a piece of the listing add a lot to a sum that it counts in? */
bool model_counts_lot(const struct model_listing *listing, size_t sum);

/* A plan. bought and chosen by listing, used by edge. */
struct plan {
	int64_t *bought;
	size_t *chosen; /* which break, counted from the listing's first */
	int64_t *used;
	/* What plan_cost found. */
	wide cost, landed, penalties, order_cost, worth; /* nano home */
	int64_t unmet, pieces, surplus;                  /* pieces: bought, owned ones too */
	size_t orders;
};

void plan_init(struct plan *plan, const struct model *model); /* an empty plan; owns its arrays */
void plan_free(struct plan *plan);
void plan_copy(struct plan *to, const struct plan *from, const struct model *model);

/* Costs the plan exactly and checks that it keeps every rule. Returns NULL, or what rule it
 * breaks (then the figures are not certain). Overflow of 128 bits counts as a broken rule. */
const char *plan_cost(const struct model *model, struct plan *plan);

/* The sums of what is bought from one seller under the plan, its basket aside: terms->classes + 1
 * of them. */
void plan_sums(const struct model *model, const struct plan *plan, size_t seller,
               struct order_sum *sum);

/* Does the plan buy from the seller? */
bool plan_buys(const struct plan *plan, const struct model *model, size_t seller);
/* Do both buy and use the same? */
bool plan_same(const struct plan *a, const struct plan *b, const struct model *model);

/* Is a better than b: fewer unmet pieces, then less cost, then fewer orders? */
bool plan_better(const struct plan *a, const struct plan *b);

#endif
