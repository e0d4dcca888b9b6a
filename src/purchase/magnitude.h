/*
 * How large the amounts of a purchase may be, so that the search's 128 bits hold every sum and
 * product of them: a piece at most PIECE_MOST of home currency, with all that its seller's charges
 * and taxes can add to it in percent, as can its penalty and worth; what is due once in an order
 * at most ORDER_MOST; and the two sides of the exchange rate, in lowest terms, at most RATE_MOST.
 * With 10^9 pieces a lot and 10^7 listings that is 10^37 of the search's 10^-12, below 2^127.
 *
 * Doubles are used here to compare: near a limit, either side of it is safe.
 */
#ifndef LOTPIPE_MAGNITUDE_H
#define LOTPIPE_MAGNITUDE_H

#include "purchase/purchase.h"

/* False, told with the line of the offer or the need, where something is too large. */
bool magnitude_fits(const struct purchase *purchase);

#endif
