/*
 * The search: finds a plan and proves that no cheaper one exists, or says how far off it may be.
 *
 * Branch and bound, the node with the least bound first, over: rows that go together, which sellers
 * are open, which cell (steps of charges, classes) an open order is in, how many pieces of a
 * listing are bought, and last, in each leaf, all quantities (leaf.h). Bounds come from relax.h,
 * their multipliers from the program over orders (master.h) or, where that is slow, from a
 * subgradient ascent; plans from draft.h and leaf.h. Ends because each of these choices is finite.
 * What to branch on is tried a few steps (reliability branching: Achterberg, Koch & Martin, Oper.
 * Res. Letters 33 (2005) 42-54).
 *
 * Where no plan is known that meets the whole need, a first search in which only unmet pieces count
 * finds how few there must be; the second leaves out no more.
 *
 * Counts work in listings looked at, not in seconds, so that the result is the same on any
 * machine under any load.
 */
#ifndef LOTPIPE_SEARCH_H
#define LOTPIPE_SEARCH_H

#include "plan/model.h"

struct search_news { /* for whoever shows progress; home currency, for display alone */
	double cost, bound;
	size_t sellers_left;
	uint64_t work;
};

struct search_options {
	uint64_t effort; /* work limit; 0: none */
	/* Byte order of what two plans are written as, for plans of equal cost; NULL: the first is
	 * kept. */
	int (*compare)(void *data, const struct plan *a, const struct plan *b);
	bool (*stop)(void *data, const struct search_news *news); /* NULL: never; asked often */
	void *data;
	/* Plans to start from, whole or in part, of whatever worth: what they buy and use, the rest
	 * is filled in. The bound does not rest on them. */
	const struct plan *start;
	size_t starts;
	/* Half of the effort at the most goes into the first bound; else that is found whatever it
	 * takes. */
	bool hurried;
	/* Multipliers (search_multipliers of them) to start from, of whatever worth; those below 0
	 * are not known. NULL: none. */
	const double *price;
	double *price_found; /* gets those that the search began its tree with; NULL: not wanted */
	/* Plans that leave up to so many pieces unmet count too, for the bound: it is then one for
	 * them all. 0: none but those that leave the fewest. */
	int64_t leave;
};

struct search_result {
	struct plan plan;    /* plan_init'ed by the search; the caller frees it */
	wide bound;          /* nano home: no plan that meets as many pieces costs less */
	int64_t unmet_least; /* no plan leaves fewer pieces unmet */
	/* plan.cost - bound is under half a minor unit, and no plan meets more pieces. */
	bool proved;
	bool stopped;       /* by stop, or by effort */
	bool asked_to_stop; /* by stop */
	uint64_t work;
	size_t nodes;
};

/* Does the bound prove the cost, by less than half a minor unit? Both nano home. */
bool search_proves(const struct model *model, wide cost, wide bound);
/* How many multipliers there are: first one by lot, in home currency a piece. */
size_t search_multipliers(const struct model *model);
void search_plan(const struct model *model, const struct search_options *options,
                 struct search_result *result);

#endif
