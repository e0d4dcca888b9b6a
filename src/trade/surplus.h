/*
 * Surplus: what order lines buy beyond the need, as stock that is under way. The place is the
 * seller. Rows of one part, color, condition, seller and grams are one; by these, in byte order.
 */
#ifndef LOTPIPE_SURPLUS_H
#define LOTPIPE_SURPLUS_H

#include "trade/orders.h"

void surplus_write(struct sheet *sheet, const struct orders *orders);

#endif
