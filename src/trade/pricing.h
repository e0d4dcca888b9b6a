/*
 * A need list priced by a price list: what each row costs, ranked, in bands, and which rows are
 * dear. Amounts are micro (10^-6) of home currency, exact.
 *
 * Lots. Rows that share a lot name are one lot: the best of them counts, the others are its
 * alternatives. Every other row is a lot of its own; but the pieces to be found are those of all
 * such rows together that agree in part, color, condition and not_color.
 *
 * The price of a row is that of the best lot of the list that fits it. Best, for a row among prices
 * and for a lot among rows: what has all the pieces before what has not; of those that have, the
 * least price, with the row's penalty; of those that have not, the most pieces, then the least
 * price.
 *
 * Bands. Lots by amount, the largest first: those up to which, themselves included, the cumulative
 * share is at most the first limit are A, and the dearest always is; those up to the second B, the
 * others C. 80 and 95 percent: common practice, no source.
 *
 * Dear. By price: the price is more than so many times the median of the part's medians in other
 * colors, of the same condition, each color counted once. Scarce: fewer than so many sellers have
 * all the pieces; by the offers where there are any, else by the list: its sellers, none where it
 * has fewer pieces than are to be found.
 */
#ifndef LOTPIPE_PRICING_H
#define LOTPIPE_PRICING_H

#include "trade/market.h"
#include "trade/need.h"
#include "trade/price_list.h"

struct pricing_options {
	int64_t dear;    /* micro: how many times the median */
	int64_t scarce;  /* sellers */
	int64_t band[2]; /* micro percent: where A and B end */
};

enum band { BAND_NONE, BAND_A, BAND_B, BAND_C };

struct priced_row {
	const struct need_row *row;
	size_t lot;                /* rows with equal ones are alternatives */
	const struct price *price; /* NULL: the list has none */
	int64_t pieces;            /* to be found, of all rows that are bought as one */
	bool counts;               /* the best of its lot */
	/* Of rows that count: */
	wide amount, cumulative;
	enum band band;
	int64_t sellers; /* who have all pieces, or by the list who sell it; NOT_GIVEN */
	bool is_dear, is_scarce;
};

struct pricing {
	struct priced_row *row; /* owned; as they are to be written */
	size_t count;
	wide total;
};

/* Prices the list. market: the offers to count sellers in, ended and not settled, or NULL. */
void pricing_make(struct pricing *pricing, struct need *need, const struct price_list *list,
                  const struct market *market, const struct pricing_options *options);
void pricing_free(struct pricing *pricing);

#endif
