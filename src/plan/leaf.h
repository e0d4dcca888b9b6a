/*
 * Leaves: every seller is shut or open in one exact cell, so that the cost is linear in the
 * quantities, between bounds. What is left is a small mixed-integer program over quantities, with
 * price breaks, steps and least quantities; solved by branch and bound over simplex.h.
 */
#ifndef LOTPIPE_LEAF_H
#define LOTPIPE_LEAF_H

#include "plan/relax.h"

struct leaf_result {
	wide bound;    /* pico home, exact and safe: no plan of this leaf costs less */
	bool found;    /* a plan better than the limit was offered */
	bool stopped;  /* work_most or stop ended it; bound is of all that is left */
	bool excluded; /* plans at or above the limit were left out without a bound of their own */
};

/* Searches the leaf that relax describes. limit: pico home, plans at or above it are of no use.
 * plan gets each better plan found (feasible and costed; offer is called with it, and returns the
 * new limit). *work counts up; the search ends once it has passed work_most. */
typedef wide (*leaf_offer)(void *data, struct plan *plan);
typedef bool (*leaf_stop)(void *data); /* asked now and then: is it time to stop? */
struct leaf_result leaf_solve(struct relax *relax, wide constant, wide limit, struct plan *plan,
                              leaf_offer offer, leaf_stop stop, void *data, uint64_t *work,
                              uint64_t work_most);

#endif
