/*
 * A plan in terms that hold for other needs over the same offers, stock and kept lines, so that
 * what was bought for one can be where the search for another starts; plain bytes, to be sent from
 * one process to another that was forked from the same.
 *
 * What is bought is known by its listing, what it is used for by a print of the row (lot, part,
 * color, condition). Where a need has no such row, the pieces are used for any other that they fit.
 */
#ifndef LOTPIPE_TRANSFER_H
#define LOTPIPE_TRANSFER_H

#include "purchase/purchase.h"

struct transfer_use {
	uint64_t listing; /* of offers, stock, kept lines */
	uint64_t row;     /* a print */
	int64_t bought, used;
	size_t chosen; /* which break */
};

struct transfer {
	struct transfer_use *use; /* owned; those of a listing stand together, listings ascending */
	size_t uses, room;
};

/* What the plan buys. Zero-initialise. */
void transfer_take(struct transfer *transfer, const struct purchase *purchase,
                   const struct plan *plan);
void transfer_free(struct transfer *transfer);
/* The plan, as far as it is one for the purchase: not costed, and perhaps not whole. The caller
 * frees it. */
void transfer_put(const struct transfer *transfer, const struct purchase *purchase,
                  struct plan *plan);

#endif
