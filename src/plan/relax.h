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
 * breaks are priced too, by the cell's multipliers rho, one after another, each to its best by
 * intersecting tangents (Kelley's method in one dimension); every rho >= 0 gives a true bound.
 *
 * Units of the search: home currency in double, pieces in double. What is reported as a bound is
 * relax_bound_exact: multipliers cut to whole 10^-9, everything in integers, rounded down.
 */
#ifndef LOTPIPE_RELAX_H
#define LOTPIPE_RELAX_H

#include "plan/cell.h"

enum status { SELLER_FREE, SELLER_OPEN, SELLER_SHUT };

/* The restrictions of a node, and what every evaluation works on. */
struct relax {
	const struct model *model;
	struct cells *cells;
	/* The node's restrictions. */
	unsigned char *status; /* by seller */
	bool *cell_off;        /* by cell; grows with cells */
	size_t cell_room;
	int64_t *most;      /* by listing: pieces bought */
	bool *row_off;      /* by row */
	double *price_most; /* by lot: what leaving one piece out costs; a cap of its multiplier */
	int64_t *price_most_nano; /* the same, exact; INT64_MAX: none */
	size_t *active;           /* sellers that are not shut */
	size_t actives;
	/* Fixed. */
	int64_t *cap;                   /* by listing: cells_caps */
	double *need;                   /* by lot */
	double *kind_share;             /* by listing: 1 / listings of its kind */
	bool *plain_seller;             /* one cell without bounds, plain listings only */
	uint32_t *plain_lot;            /* by listing */
	double *plain_cost, *plain_cap; /* a piece, home; pieces */
	/* Results of the last evaluation. */
	double *value;     /* by seller: of its best order, whether or not it pays */
	size_t *choice;    /* by seller: the cell of it */
	double *filled;    /* by lot: pieces that the chosen orders fill */
	wide *value_exact; /* by seller, pico home: what relax_bound_exact counted */
	wide *cell_exact;  /* by cell, the same */
	/* Scratch. */
	double *profit, *basis; /* by signature, sum (and basis) */
	struct adjust *adjust;
	size_t scratch; /* room of the three */
	uint64_t work;  /* listings looked at */
	int64_t *scratch_nano;
};

void relax_init(struct relax *relax, const struct model *model, struct cells *cells);
void relax_free(struct relax *relax);
/* After cells_split: room for the new cells, switched off. */
void relax_grow(struct relax *relax);
/* A seller's cells that are not off, one after another: *at starts as SIZE_MAX; false at the end.
 */
bool relax_next_cell(const struct relax *relax, size_t seller, size_t *at);
/* After status changed: makes the list of active sellers anew. */
void relax_activate(struct relax *relax);

/* The bound at these multipliers, fills value, choice and filled. */
double relax_bound(struct relax *relax, const double *price);
/* The same as a number that no rounding has touched upward, in pico home, for multipliers in
 * nano home; uses the rho that relax_bound left; never above ceiling, which is also what comes
 * where a seller that must be open can have no order. */
wide relax_bound_exact(struct relax *relax, const double *price, wide ceiling);

/* One seller's pieces in its chosen order, by listing, and by edge (used), for the heuristics. */
void relax_order(struct relax *relax, const double *price, size_t seller, int64_t *bought,
                 double *used);

#endif
