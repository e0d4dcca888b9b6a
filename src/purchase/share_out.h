/*
 * Sharing out: which row of the need gets which pieces of the order lines.
 *
 * The lines are taken in their order (orders_sort), and the pieces of each that are no surplus go
 * to the rows of its lot in need order, each filled before the next one gets any. So of rows that
 * were bought for as one lot the last ones stay unmet, as purchase_short has it. The rows of a
 * named lot are alternatives and share group and model: together they are one row here, at the
 * place of the first. Shares come by row of the need, then by line; those of the surplus last, by
 * line.
 */
#ifndef LOTPIPE_SHARE_OUT_H
#define LOTPIPE_SHARE_OUT_H

#include "purchase/purchase.h"
#include "trade/shares.h"

/* The shares of sorted order lines of the purchase; their texts are borrowed from both. */
void share_out(const struct purchase *purchase, const struct orders *orders, struct shares *shares);

#endif
