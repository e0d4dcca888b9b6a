/*
 * Drafts: plans built by hand, so to speak. A set of sellers is open; every lot takes the
 * cheapest pieces that they have; then orders are lifted over minimums and steps where that pays,
 * by moving pieces from other orders and, last, by buying more than the need. A local search
 * opens, closes and exchanges sellers.
 *
 * Works in double home currency: a draft is a proposal, whose exact cost and feasibility
 * plan_cost decides.
 */
#ifndef LOTPIPE_DRAFT_H
#define LOTPIPE_DRAFT_H

#include "plan/exchange.h"
#include "plan/relax.h"

struct draft_offer { /* a use of a listing for a lot, at what it seems to cost */
	double unit;
	size_t listing, edge, seller;
};

struct draft_cost { /* of an order, as it stands or lifted where that pays */
	double cost;
	bool known; /* its lines have not changed since */
	bool buys;
};

struct draft {
	const struct model *model;
	struct relax *relax;       /* the node's restrictions, borrowed */
	struct draft_offer *offer; /* by lot, cheapest first */
	size_t *first;             /* by lot, lots + 1 */
	size_t *place;             /* by edge: its offer; SIZE_MAX: none */
	size_t *order;             /* lots, those with the fewest uses first */
	double *worth;             /* by lot: of a piece filled; FAR for a must */
	bool *open;                /* by seller */
	int64_t *bought;           /* by listing */
	int64_t *used;             /* by edge */
	int64_t *filled;           /* by lot */
	struct draft_cost *cost;   /* by seller */
	size_t *touched;           /* sellers with lines */
	size_t touches;
	bool *touch;
	double *sums;   /* scratch: of the order last added up, by sum and basis */
	double *amount; /* scratch: what each of its charges comes to, once they are counted */
	unsigned char *seen;
	struct exchange exchange;
	bool plain; /* draft_improve: changes of sellers are judged by exchange_change */
	uint64_t work;
	uint64_t work_most;       /* settling ends once work has passed it */
	bool (*stop)(void *data); /* asked now and then; NULL: never */
	void *data;
};

void draft_init(struct draft *draft, struct relax *relax);
void draft_free(struct draft *draft);
/* Makes the lists of uses anew, for the sellers that are not shut. */
void draft_refresh(struct draft *draft);

/* Fills every lot from the open sellers; returns what it seems to cost (an order short of its
 * minimum is charged as if it were lifted). */
double draft_fill(struct draft *draft);
/* What a piece of a lot left out seems to cost. */
double draft_unit_lost(const struct draft *draft, size_t lot);
/* Fills a lot anew as draft_fill would; all its listings are plain. */
void draft_refill(struct draft *draft, size_t lot);
/* Takes out of touched the one at that place, which has no lines. */
void draft_forget(struct draft *draft, size_t place);
/* Lifts orders over minimums and steps where it pays; returns the cost. */
double draft_lift(struct draft *draft);
/* Takes back the pieces of rows that go together where not all of them are filled in full. */
void draft_drop_partial(struct draft *draft);
/* Closes the sellers whose orders break a rule as they are (short of a minimum, not shipped), and
 * fills their lots from the other open ones; whether there was any. */
bool draft_close_broken(struct draft *draft);
/* Opens, closes and exchanges sellers among the candidates while that lowers what draft_fill
 * says; rounds at the most. Leaves the best set open and filled; returns its cost. */
double draft_improve(struct draft *draft, const size_t *candidate, size_t candidates, int rounds);
/* Fills what lots lack, each piece where it adds least to what orders cost. */
void draft_insert(struct draft *draft);
/* Moves pieces between listings, closes, opens and exchanges sellers, each move judged by what the
 * orders it touches then cost, while that lowers the cost. Sellers to open come from the
 * candidates. Returns the cost. */
double draft_settle(struct draft *draft, const size_t *candidate, size_t candidates, int rounds);
/* Grows a set of sellers from those that are open: opens the candidate that lowers the cost most,
 * again and again, then settles. Returns the cost. */
double draft_grow(struct draft *draft, const size_t *candidate, size_t candidates, int rounds);
/* Takes a seller's pieces as a start: bought and used as given, by listing and edge. */
void draft_take(struct draft *draft, size_t seller, const int64_t *bought, const double *used);
void draft_clear(struct draft *draft);
/* Copies the draft to a plan (not costed). */
void draft_plan(const struct draft *draft, struct plan *plan);

#endif
