/*
 * Shares: who gets what of the order lines. A share is the pieces of one order line that go to one
 * row of the need, with its model and group; those beyond the need are shares without a lot, model
 * and group. Quantities are whole pieces; amounts are qty x price, exact, micro (10^-6) of the
 * line's currency.
 *
 * Owns the records, in the order of the file.
 */
#ifndef LOTPIPE_SHARES_H
#define LOTPIPE_SHARES_H

#include "trade/orders.h"

struct share {
	const char *model, *group, *lot, *part, *color, *condition, *seller;
	int64_t qty;
	wide amount;
	size_t line; /* in the file read; 0 else */
};

/* Zero-initialise. */
struct shares {
	const char *file;
	struct share *row; /* owned; its texts are borrowed, or the arena's */
	size_t count, room;
	struct arena arena;
};

void shares_add(struct shares *shares, const struct share *share);
/* Is it beyond the need? */
bool share_is_surplus(const struct share *share);
/* Reads a whole file and closes it. Needed columns: model, lot, part, color, qty, seller, amount.
 * Faults exit. */
void shares_read(struct shares *shares, struct table *table);
/* Each seller's part, color and condition must have as many pieces for as much money as in the
 * order lines: what has not is told, EXIT_TROUBLE. */
void shares_check(const struct shares *shares, const struct orders *orders);
void shares_write(struct sheet *sheet, const struct shares *shares);
void shares_free(struct shares *shares);

#endif
