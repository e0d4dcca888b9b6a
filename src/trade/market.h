/*
 * The market: what offers ask for each lot (part, color and condition), summed up in home currency.
 * Amounts are micro (10^-6), exact up to the one rounding of each figure, a half away from zero.
 *
 * What counts. Rows equal in every column count once. Of the price breaks of a listing the one with
 * the lowest least counts, the price without a discount for quantity. An offer of which nothing can
 * be bought, since it has fewer pieces than the least it sells, does not count. Prices are
 * converted as a bank does, its fee included.
 *
 * How. Each piece counts: figures are of the list of all pieces for sale by price. An offer without
 * limit stands in it with as many pieces as the largest limited offer of its lot (1 where there is
 * none). Median: of an even number of pieces the mean of the two in the middle. p90: the
 * nearest rank, the least price such that 90 % of the pieces cost no more. Common practice, no
 * source.
 *
 * Memory: offers packed (packed_offers.h), and two whole numbers an offer.
 */
#ifndef LOTPIPE_MARKET_H
#define LOTPIPE_MARKET_H

#include "base/fraction.h"
#include "trade/packed_offers.h"
#include "trade/terms_files.h"

struct market_seller {
	size_t name, said;  /* numbers of texts: itself, the currency that its offers say or 0 */
	bool unsaid;        /* some of its offers say none */
	size_t first;       /* place of an offer that says it */
	size_t first_place; /* of its offers, as they were read */
	size_t currency;    /* number of market.currency */
	size_t lot;         /* the last one it was counted for, from 1; 0: none */
};

struct market {
	struct packed_offers offers;
	uint32_t *rank;               /* by number of a text: its rank in byte order; owned */
	size_t *place;                /* of the offers, in order; owned */
	size_t count;                 /* of those */
	size_t at;                    /* of those: the next lot's first */
	size_t lots;                  /* so far */
	size_t nothing;               /* offers of which nothing can be bought */
	uint32_t *seller_of;          /* by number of a text; owned */
	struct market_seller *seller; /* in byte order; owned */
	size_t sellers, room;
	size_t selling; /* sellers counted so far */
	struct names currency;
	struct fraction *rate; /* by currency: of one unit in home currency; owned */
	wide *sum;             /* by currency, of the lot in hand; owned */
	const char *home;      /* "": no currency is known; in the arena */
	struct arena arena;
};

struct market_lot {
	const char *part, *color, *condition;
	size_t sellers;
	int64_t pieces; /* or QTY_UNLIMITED */
	wide min, median, mean, p90, max;
};

/* Adds a whole file of offers and closes it; faults exit. */
void market_read(struct market *market, struct table *table);
/* After the last file: what one can see across rows, faults exit; then which rows count. */
void market_end(struct market *market, bool quiet);
/* Between the two: the offers that count, seller by seller; *at goes from 0. False at the end. */
bool market_next_offer(const struct market *market, size_t *at, struct packed_offer *out);
/* Settles home (given: -C, or NULL) and puts the lots in order. What cannot be converted is told,
 * and exits. */
void market_settle(struct market *market, const struct terms_files *terms, const char *given);
/* The next lot, by part, color and condition in byte order; false after the last. */
bool market_next(struct market *market, struct market_lot *out);
void market_free(struct market *market);

#endif
