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

/* What a piece of a row was worth to the search: its lot's multiplier. Steers alone. */
struct transfer_price {
	uint64_t row; /* a print, that of the lot's name aside */
	double price;
};

struct transfer {
	struct transfer_use *use; /* owned; those of a listing stand together, listings ascending */
	size_t uses, room;
	struct transfer_price *price; /* owned; by row */
	size_t prices;
};

/* What the plan buys, and the search's multipliers. Zero-initialise. */
void transfer_take(struct transfer *transfer, const struct purchase *purchase,
                   const struct plan *plan, const double *price);
/* As bytes, and back: false where the bytes are none. */
void transfer_pack(const struct transfer *transfer, struct text *bytes);
bool transfer_unpack(struct transfer *transfer, const char *bytes, size_t length);
void transfer_free(struct transfer *transfer);
/* The plan, as far as it is one for the purchase: not costed, and perhaps not whole. The caller
 * frees it. */
void transfer_put(const struct transfer *transfer, const struct purchase *purchase,
                  struct plan *plan);
/* Multipliers for the purchase's search: of rows that are not known, those of `price` stay. */
void transfer_prices(const struct transfer *transfer, const struct purchase *purchase,
                     double *price);

#endif
