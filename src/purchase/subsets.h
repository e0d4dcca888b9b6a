/*
 * What swap rules are worth: the need of each of several subsets of them, solved, and the best of
 * all subsets with a bound that none can beat.
 *
 * Solved are the list as it stands, each rule alone, all of them, all but one, then what these let
 * expect; the same list of two subsets is solved once. The bound comes from lists in which rules
 * that are not decided are offered all at once (swaps_relax.h): that of no rule decided at the
 * root, and below it branch and bound over the rules, the node with the least bound first, each
 * node's list searched until its bound reaches the best subset's cost or its plan says that it will
 * not. A rule that gives options alone is never decided against: with it nothing costs more. (Land
 * & Doig, Econometrica 28 (1960) 497-520.)
 *
 * Searches run in processes of their own, in waves: each search starts from plans of earlier waves
 * alone, and what is decided after a wave is decided in the order of its jobs. So results do not
 * depend on how many run at a time. Units: cost nano (10^-9) home, work that of search.h.
 */
#ifndef LOTPIPE_SUBSETS_H
#define LOTPIPE_SUBSETS_H

#include "plan/search.h"
#include "purchase/purchase.h"
#include "purchase/transfer.h"
#include "trade/swaps_relax.h"

#include <assert.h>

/* What a search found for a list. */
struct outcome {
	wide cost, landed, penalties, order_cost, worth, bound; /* stay is in order_cost */
	int64_t unmet, unmet_least, pieces, surplus;
	size_t orders, lots;
	uint64_t work;
	bool proved, stopped, asked_to_stop;
	bool none[5]; /* no gap between fields: one process sends it to another as it is */
};
static_assert(sizeof(struct outcome) == 6 * sizeof(wide) + 8 * sizeof(uint64_t), "a gap");

/* A subset of the rules, by rule of the file. */
struct subset {
	bool *on, *applied; /* picked; picked, and all steps match. Owned by the arena */
	size_t applies;     /* how many are applied */
	size_t solved;      /* number of its list */
};

struct solved {
	bool known;
	struct outcome outcome;
	struct transfer plan;
	struct need *need;   /* until it is known */
	struct subset least; /* the subset with the fewest rules that gives the list */
};

struct subsets_options {
	struct swaps *swaps;
	const bool *picks;           /* by rule: those that count */
	struct purchase_input input; /* of the list as it stands */
	bool weighed;                /* some charge goes by weight */
	uint64_t effort;             /* of the first search; others get parts of it */
	size_t jobs;                 /* searches at the same time */
	/* A few times a second: what is being solved, how many are done of how many, and the first
	 * search's news (cost, bound). NULL: never. */
	void (*tick)(void *data, const char *what, size_t done, size_t jobs,
	             const struct search_news *news);
	void *data;
};

struct subsets {
	const struct subsets_options *options;
	size_t *rule; /* those picked, in file order; owned by the arena */
	size_t rules;
	struct subset as_is, all, best;
	struct subset *alone, *without; /* by picked rule; owned by the arena */
	wide bound;                     /* of the best; no subset that meets as much costs less */
	bool bounded;                   /* else no bound is known */
	bool proved, stopped, asked_to_stop;
	struct solved *solved; /* by number; owned */
	size_t solves, room;
	size_t searches; /* lists solved, nodes too */
	uint64_t work;
	struct names lists; /* as they are written, by number */
	struct arena arena;
};

void subsets_find(struct subsets *subsets, const struct subsets_options *options);
void subsets_free(struct subsets *subsets);
const struct outcome *subsets_outcome(const struct subsets *subsets, const struct subset *subset);

#endif
