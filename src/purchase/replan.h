/*
 * Replanning: what the need behind standing order lines costs now, if it is bought afresh, and if
 * the orders are kept and what they lack is bought again.
 *
 * Owns the rule that turns order lines into a need (replan_need), and the two searches. Pieces are
 * whole; penalties and worth nano (10^-9) home.
 */
#ifndef LOTPIPE_REPLAN_H
#define LOTPIPE_REPLAN_H

#include "plan/search.h"
#include "purchase/purchase.h"

/* A need list of the pieces in order lines, but for those beyond the need: a row for each lot,
 * part, color and condition. The rows of a lot that was met by several kinds become lots of their
 * own, the first one called as the lot was, the others with "#2" and so on behind it. A weight is
 * taken over where all lines of the part agree in it. The caller frees it with need_free. */
struct need *replan_need(const struct orders *orders);

/* One of the two plans. */
struct replan {
	struct orders orders; /* its lines, kept ones too; texts are borrowed from the purchase */
	wide penalties, worth;
	wide cost; /* of what the search was about */
	int64_t unmet;
	struct search_result result;
	struct purchase purchase;
};

/* Searches a plan of the input. Where it keeps lines, kept pieces are used first. */
void replan_search(struct replan *replan, const struct purchase_input *input, uint64_t effort);
void replan_free(struct replan *replan);

#endif
