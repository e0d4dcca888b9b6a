/*
 * The relaxation that bounds every plan from below: "each lot gets its pieces" is priced by a
 * multiplier per lot, and the problem falls apart into one question per seller: at these prices
 * for a filled piece, which order pays best, if any?  (Lagrangian relaxation of facility location,
 * Geoffrion, Math. Programming Study 2 (1974) 82-114; the bound is that of the linear program or
 * better, since steps, least quantities and price breaks are kept whole within a listing.)
 *
 *     bound = sum over lots of multiplier x need + sum over sellers of min(0, value of its best
 * order)
 *
 * A seller's best order is sought cell by cell (cell.h). Bounds of a cell that its free choice
 * breaks are priced too, by the cell's multipliers rho, all together, by cutting planes (Kelley, J.
 * SIAM 8 (1960) 703-712): a small linear program mixes the choices made so far so that their mean
 * keeps the bounds, its multipliers are the next rho. Every rho >= 0 gives a true bound.
 *
 * Units of the search: home currency in double, pieces in double. What is reported as a bound is
 * relax_bound_exact: multipliers cut to whole 10^-9, everything in integers, rounded down.
 */
#ifndef LOTPIPE_RELAX_H
#define LOTPIPE_RELAX_H

#include "plan/cell.h"
#include "plan/plain.h"
#include "plan/simplex.h"

#define FAR      1e300 /* home: the value of a seller that can have no order; no cap of a price */
#define LEAVABLE (INT64_MAX - 1)

enum status { SELLER_FREE, SELLER_OPEN, SELLER_SHUT };

struct margin; /* of a piece used: relax.c */

/* Pieces of a seller's chosen order used for a row. */
struct relax_part {
	size_t lot, row;
	double pieces;
};

/* Pieces bought of a listing in a choice that has this weight in the order. */
struct relax_buy {
	size_t listing;
	double weight, pieces, spent; /* spent: order's currency */
};

/* A lot that a seller can give at the most so many pieces of, and its multiplier when the seller
 * was last looked at. */
struct relax_reach {
	size_t lot;
	double most, price;
};

/* The restrictions of a node, and what every evaluation works on. */
struct relax {
	const struct model *model;
	struct cells *cells;
	/* The node's restrictions. */
	unsigned char *status; /* by seller */
	bool *cell_off;        /* by cell; grows with cells */
	size_t cell_room;
	int64_t *least, *most; /* by listing: pieces bought; a seller with a least must be open */
	uint32_t *bent;        /* by seller: listings whose least or most is not that of the root */
	bool *row_off;         /* by row */
	double *price_most; /* by lot: what leaving one piece out costs; a cap of its multiplier */
	int64_t *price_most_nano; /* the same, exact; INT64_MAX: none; or LEAVABLE: */
	int64_t leave_most; /* so many pieces of such lots may be left out in all, at no cost */
	size_t *active;     /* sellers that are not shut */
	size_t actives;
	/* Fixed. */
	int64_t *cap;        /* by listing: cells_caps */
	double *need;        /* by lot */
	double *kind_share;  /* by listing: 1 / listings of its kind */
	bool *plain_seller;  /* one cell without bounds, plain listings only, in pico 64 bits */
	uint32_t *plain_lot; /* by listing */
	double *plain_cost, *plain_cap; /* a piece, home; pieces */
	struct plain plain;
	/* Results of the last evaluation. */
	double *value;      /* by seller: of its best order, whether or not it pays */
	size_t *choice;     /* by seller: the cell of it */
	double *filled;     /* by lot: pieces that the chosen orders fill */
	double order_price; /* the multiplier of the number of orders, 0 where that is free */
	wide *value_exact;  /* by seller, pico home: what relax_bound_exact counted */
	wide *cell_exact;   /* by cell, the same */
	/* What lets a seller wait (relax.c): the lots that it can give, and its last looking at. */
	struct relax_reach *reach; /* by seller, from reach_first on */
	size_t *reach_first;       /* by seller; one more */
	size_t reaches, reach_room;
	double *kept_value;          /* by seller: its value then */
	double *kept_price;          /* by seller: order_price then */
	uint64_t *changed, *kept_at; /* by seller: changes of its restrictions, in all and then */
	bool rough; /* a value worked out since this was cleared is short of what it could be */
	/* Results of relax_parts. */
	struct relax_part *part;
	size_t parts, part_room;
	struct relax_buy *buy;
	size_t buys, buy_room;
	double part_cost; /* of the order, penalties included, home */
	/* The uses that pay of each listing of the seller looked at, the best first. */
	struct margin *use;
	size_t *use_first; /* by listing of the seller; one more */
	/* Scratch. */
	double *profit, *basis; /* by signature, sum (and basis) */
	struct adjust *adjust;
	struct lp inner; /* program of a cell's priced bounds */
	size_t inner_sides;
	size_t scratch; /* room of the three */
	uint64_t work;  /* listings looked at */
	int64_t *scratch_nano;
};

/* Is it a plain seller, and are its quantities as at the root? */
static inline bool
is_plain(const struct relax *relax, size_t seller)
{
	return relax->plain_seller[seller] && relax->bent[seller] == 0;
}

void relax_init(struct relax *relax, const struct model *model, struct cells *cells);
void relax_free(struct relax *relax);
/* After cells_split: room for the new cells, switched off. */
void relax_grow(struct relax *relax);
/* A seller's cells that are not off, one after another: *at starts as SIZE_MAX; false at the end.
 */
bool relax_next_cell(const struct relax *relax, size_t seller, size_t *at);
/* To be called after a restriction of a seller was changed: its status, which of its cells are off.
 */
void relax_touch(struct relax *relax, size_t seller);
/* To be called after row_off was changed. */
void relax_touch_rows(struct relax *relax);
/* Changes how many pieces of a listing are bought at the least and at the most. */
void relax_set_quantity(struct relax *relax, size_t listing, int64_t least, int64_t most);
/* After status changed: makes the list of active sellers anew. */
void relax_activate(struct relax *relax);

/* How many multipliers there are. */
size_t relax_multipliers(const struct model *model);
/* The most that a lot's multiplier can be, given those that are not of lots. */
double relax_price_most(const struct relax *relax, const double *price, size_t lot);
/* A lot's multiplier cut to what it can be, given the others. */
double relax_clip(const struct relax *relax, const double *price, size_t lot, double value);
/* The bound at these multipliers: by lot, then that of the number of orders, then that of the
 * pieces left out. Fills value, choice and filled. A seller whose order surely does not pay need
 * not be looked at again: its value is then one that it is not below. */
double relax_bound(struct relax *relax, const double *price);
/* The same with the value of every seller. */
double relax_bound_whole(struct relax *relax, const double *price);
/* The same as a number that no rounding has touched upward, in pico home, for multipliers in
 * nano home; uses the rho that relax_bound left; never above ceiling, which is also what comes
 * where a seller that must be open can have no order. */
wide relax_bound_exact(struct relax *relax, const double *price, wide ceiling);

/* What one seller's chosen order gives to which row, and costs: part, buy, part_cost. Where
 * bounds of its cell are priced, the mean of the choices that keeps them, so that part_cost less
 * what the pieces earn is the seller's value, and pieces its slope. */
void relax_parts(struct relax *relax, size_t seller, const double *price);
/* One seller's pieces in its chosen order, by listing, and by edge (used), for the heuristics. */
void relax_order(struct relax *relax, const double *price, size_t seller, int64_t *bought,
                 double *used);

#endif
