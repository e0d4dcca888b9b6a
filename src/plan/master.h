/*
 * The linear program over whole orders: for every seller some orders that the relaxation has come
 * across, each with what it fills and costs; shares of them are chosen so that every lot gets its
 * pieces, at most one order in all (exactly one of a seller that must be open) from each seller.
 * (Dantzig & Wolfe, Operations Research 8 (1960) 101-111.)
 *
 *     min  sum of cost x share + cost of leaving out
 *     for each lot      sum of filled/need x share + left out >= 1
 *     for each seller   sum of shares <= 1, or = 1 (a row is there once shares have come to more)
 *     if limited        sum of all shares <= the most orders
 *     if limited        pieces left out <= the most of them
 *
 * Its multipliers are those of relax.h, which answers each with the orders that would lower the
 * program's cost, until there are none: then the program's value is the relaxation's best bound,
 * and the shares say what is still undecided. Between two answers the multipliers are drawn to the
 * best ones so far (Wentges, Int. Trans. Opl. Res. 4 (1997) 151-162).
 *
 * All in doubles: what is reported is relax_bound_exact at the multipliers found here.
 */
#ifndef LOTPIPE_MASTER_H
#define LOTPIPE_MASTER_H

#include "plan/relax.h"
#include "plan/simplex.h"

struct master_order {
	size_t seller, cell;
	size_t late; /* the last time it had a share */
	size_t *row; /* of labels, that it uses; owned */
	size_t rows;
	struct relax_buy *buy; /* owned */
	size_t buys;
};

struct master {
	struct relax *relax;        /* the node's restrictions, borrowed */
	struct lp lp;               /* columns: leaving out each lot, lacking each (at a price
	                             * above all), then orders */
	struct master_order *order; /* by column, less lots */
	size_t orders, room, entry_room;
	size_t *seller_row; /* by seller: its row; SIZE_MAX: none as yet */
	size_t spare_row;   /* of the orders of sellers without one: it asks for nothing */
	size_t leave_row;   /* of the pieces left out */
	size_t limit_row;   /* of the number of orders; SIZE_MAX: none */
	double *fill;       /* by lot; scratch */
	size_t time;
	struct lp_basis kept; /* as master_keep left it */
	size_t kept_orders;   /* that there were then; SIZE_MAX: they have been moved since */
	/* Results. */
	double *share;          /* by seller: of its orders */
	double *weight;         /* by order */
	double *pieces, *spent; /* by listing: bought, by all orders' shares; order's currency */
	double objective;
	size_t rounds;            /* that the last call took */
	bool (*stop)(void *data); /* asked before each round; NULL: never */
	void *data;
};

/* For the sellers that are active; false, with nothing to free, where there are too many. */
bool master_init(struct master *master, struct relax *relax);
void master_free(struct master *master);
/* Keeps the program's basis, and goes back to it: what is tried from a node starts where the node
 * ended. */
void master_keep(struct master *master);
void master_return(struct master *master);
/* Raises the bound under the node's restrictions: from the multipliers in price, which become the
 * best ones found. Ends early once the bound (home currency, without constant) is enough.
 * big: what leaving out a lot is taken to cost where it cannot be. Returns the bound. */
double master_raise(struct master *master, double *price, double enough, double big, size_t rounds);

#endif
