/*
 * Repricing: standing order lines against new offers: which of their pieces can still be had of the
 * same seller, and at what price.
 *
 * Owns the rule of which offer a line is held against, one part, color and condition of a seller at
 * a time, all its lines together, since they share what the seller has. From the offers of that
 * kind as many pieces are taken as can be: of each a multiple of its step, from its least on, up to
 * its qty, and no more than the lines have. Of the ways to take as many, the one is kept in which
 *
 *   1. most pieces stay at their own offer: that of the line's listing, or, where the line has
 * none, one without a listing at the line's class and price;
 *   2. then most pieces stay in their class of goods;
 *   3. then fewest offers are used;
 *   4. then the goods cost least.
 *
 * So a line whose offer is gone or dearer goes to the cheapest that can deliver its pieces. What
 * still has the price of the line is at that price; else the price is the cheapest break that the
 * pieces taken of a listing reach together. Offers of one kind and
 * seller beyond OFFERS_MOST are left aside, the cheapest in a strange class first to stay.
 *
 * Quantities are whole pieces, prices micro (10^-6).
 */
#ifndef LOTPIPE_REPRICE_H
#define LOTPIPE_REPRICE_H

#include "trade/offers.h"
#include "trade/orders.h"

enum { OFFERS_MOST = 12 }; /* of one kind and seller, all subsets of which are looked at */

/* Pieces of a standing line at one new offer. Those of a line that cannot be had are first those
 * beyond the need. */
struct repriced {
	const struct order_line *line;
	size_t number;             /* of the line, among those given */
	int64_t qty;               /* pieces of the line that the row is about */
	int64_t pieces, surplus;   /* those of them that can be had, and are beyond the need */
	const struct offer *offer; /* NULL: none can */
};

struct repricing {
	struct repriced *row; /* owned; in the order of the lines, those of a line together */
	size_t count, room;
	int64_t *taken; /* by number of listing: pieces of it; owned */
};

/* Reprices lines that have pieces, `count` of them, sorted as orders_sort has it; all borrowed. */
void reprice(struct repricing *out, const struct order_line *const *line, size_t count,
             const struct offers *offers);
void repricing_free(struct repricing *repricing);

/* A row as the order line that it is now: at most `pieces`, at the old price, or at the new one in
 * the seller's currency. */
struct order_line repriced_as_was(const struct repriced *row);
struct order_line repriced_as_is(const struct repriced *row, const struct offers *offers);

#endif
