/*
 * The curve: the least cost of at most 1, 2, 3, ... orders, from the fewest that can meet the need
 * (as much of it as the plan meets) to the number from which on more orders save nothing.
 *
 * Each point is a search of its own, with all of the effort, and so what --max-orders gives; from
 * the most orders down. One search helps the others where it can:
 *   - What no plan of at most N + 1 orders can beat, none of at most N can: the bound of N is at
 *     least that of N + 1.
 *   - A plan of at most N orders is one of at most N + 1: where it is better than what was found
 * for those, which a search that proved its plan to half a minor unit may leave, it stands there
 *     too. So cost never rises with more orders, and the plan itself may be found better.
 *   - Fewer orders than it takes at least (fewest.h) are not tried.
 *   - Where the plan that is proved for N has fewer, M, it is the one for M to N - 1 as well.
 *
 * Units: costs and bounds nano (10^-9) home.
 */
#ifndef LOTPIPE_CURVE_H
#define LOTPIPE_CURVE_H

#include "plan/search.h"
#include "table/output.h"

struct curve_point {
	size_t orders; /* at most */
	struct search_result result;
};

struct curve {
	struct curve_point *point; /* ascending by orders; owned, with the plans */
	size_t points, room;
	bool limited;   /* the last point stands at the model's own max_orders */
	bool given_up;  /* fewer orders than the first point's were not tried */
	bool unsettled; /* one order fewer than the first point's: not known whether it can be */
	bool asked_to_stop; /* in the search that left that so */
};

struct curve_options {
	struct search_options search;
	/* Asked before the search of a point, with search.data: false ends the curve there. Before
	 * all of them, with NO_LIMIT, for the fewest orders that it takes. */
	bool (*next)(void *data, size_t orders);
};

/* From the result of search_plan on the model, which gets the better plan where one is found. */
void curve_find(const struct model *model, const struct curve_options *options,
                struct search_result *result, struct curve *curve);
void curve_free(struct curve *curve);
/* orders,cost,landed,bound,saving; saving: what one more order saves, empty where unknown. */
void curve_write(const struct curve *curve, struct sheet *sheet);

#endif
