/*
 * Totals by model: what of the orders' totals each model bears, by who gets what (shares.h).
 *
 * Owns a row a model, in byte order of names, pieces without a model first; then, where anything
 * is bought beyond the need, a row for that. Of each order, goods, charges, tax and rounding are
 * shared out in proportion to the exact goods of its pieces (to the pieces, where all are free) in
 * whole minor units, by largest remainders (apportion.h); total and home are sums of what a row
 * got. So every column of pieces and money adds up to that of the orders. Pieces of owned stock
 * count nothing, but a model of nothing else has a row.
 */
#ifndef LOTPIPE_MODEL_TOTALS_H
#define LOTPIPE_MODEL_TOTALS_H

#include "trade/shares.h"
#include "trade/totals.h"

struct model_totals {
	/* owned; seller is the model's name, route "need" or "surplus". Lots are not counted. */
	struct total_row *row;
	size_t count;
};

/* Shares must be those of the orders that the totals are of (shares_check), their texts must
 * outlive it. A figure too large is told, EXIT_TROUBLE. */
void model_totals_make(struct model_totals *models, const struct totals *totals,
                       const struct shares *shares);
void model_totals_free(struct model_totals *models);

#endif
