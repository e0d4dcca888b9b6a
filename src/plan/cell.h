/*
 * Cells: an order's cost as a function of its sums is linear between the steps of its charges.
 * A cell of a seller fixes which classes are bought and which step every charge is in, so that
 * within it an order costs
 *     fixed + sum over lines of price x pieces x factor[class]
 * as long as its sums keep the cell's bounds. Where the seller's order holds a basket already,
 * sums, costs and bounds are of what is added to it. Every order of the seller lies in one of its
 * cells.
 *
 * Where the steps multiply to more than CELLS_MOST cells, a cell spans several steps of a charge
 * and takes the least amount and percent among them: still never above the true cost. Such a
 * cell is not exact, and cell_split takes it apart.
 *
 * A charge by landed cost that comes after others goes by goods and by what those come to, which
 * within a cell is linear in the goods by class (span.h): its percent falls on fixed and factors,
 * and its steps bound one sum of goods, or, where classes count differently, a weighted one.
 *
 * Units: fixed pico home (10^-12), order cost included, rounded down, less what the roundings of
 * the exact cost to 10^-9 can take away; factor pico home for one whole unit of the order's
 * currency, rounded down; bounds in the units of order_sum.
 */
#ifndef LOTPIPE_CELL_H
#define LOTPIPE_CELL_H

#include "plan/model.h"

enum { CELLS_MOST = 1024, PICO_DECIMALS = 12 };

struct cell_bound {
	size_t sum;
	enum basis basis;
	int64_t least, most; /* INT64_MAX: no limit */
	/* Of value, of all lines: what a unit of goods counts, by the sum of its line (0: without
	 * class), in 10^-9; least and most then are in 10^-9, too. NULL: 1 each. Owned. */
	int64_t *weight;
};

struct cell {
	size_t seller;
	wide fixed;
	wide *factor;      /* by sum: [0] of lines without class; owned */
	double fixed_home; /* the same in home currency, for the search */
	double *factor_home;
	bool *out;                /* by sum: class not bought; owned */
	struct cell_bound *bound; /* owned */
	size_t bounds;
	short *from, *to; /* steps of each charge, -1: below the first; owned */
	bool exact;       /* from equals to for every charge that counts */
	size_t signature; /* cells of a seller with equal factors share a number */
	double *rho;      /* the search's multipliers of the bounds; owned */
	/* The choices whose mean keeps the priced bounds: for each its share in the mean and the
	 * multipliers at which it is made (1 + 2 x bounds numbers); owned. Those of the last time
	 * that bounds were priced, to start from; true of the last evaluation if priced is. */
	double *support;
	size_t supports;
	bool priced;
};

struct cells {
	struct cell *cell; /* owned */
	size_t count, room;
	size_t *first; /* by seller: its cells are first[s] .. first[s + 1), at first */
	size_t sellers;
	size_t *signatures; /* by seller: how many different factors */
};

void cells_init(struct cells *cells, const struct model *model);
void cells_free(struct cells *cells);
/* Is there an order of the seller in which goods cost less than nothing, since rebates come to more
 * than they do? Of such goods no quantity would be too large: no model for a search has any. */
bool cells_pay_for_goods(const struct model *model, size_t seller);
/* Does what lines of one sum (0: without class) add up to count in the bound? */
bool bound_counts(const struct cell_bound *bound, size_t sum);
/* What a unit of such lines' goods counts: 1 but where the bound has weights. */
double bound_weight(const struct cell_bound *bound, size_t sum);
/* Units of least and most for one whole unit of the order's currency, gram, piece or lot. */
wide bound_units(const struct cell_bound *bound);
/* Does an order keep the bound? sum: as struct order has it, so many. */
bool bound_kept(const struct cell_bound *bound, const struct order_sum *sum, size_t sums);
/* An order in the cell costs nothing at all. */
void cell_forget_costs(struct cell *cell, size_t sums);
/* Splits a cell that is not exact in two, appended at the end; returns the number of the first
 * (the second follows), or of as many as *count says (one may be empty and left out). */
size_t cells_split(struct cells *cells, const struct model *model, size_t number, size_t *count);

/* Pieces worth buying of each listing at the most: what its rows need and what could lift any
 * sum over any step, in whole steps, no more than it has */
void cells_caps(const struct cells *cells, const struct model *model, int64_t *cap);

#endif
