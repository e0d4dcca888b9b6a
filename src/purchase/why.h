/*
 * Why a plan buys what it buys: what each row of the need is bought for and where, the cheapest
 * price on offer, what the choice costs above it, and the reason in a word.
 *
 * Owns the definition of those words, and the table that lot-split writes with --why. A line of it
 * is a row of the need (rows that are one lot: one) with one listing that serves it; then, for a
 * lot that is not filled, a line for the pieces that are missing. In the order of the need, lines
 * of a row by seller, part, color, condition, class and listing.
 *
 * Units: pieces whole. Prices are of a piece, in home currency with the penalty that the piece
 * bears for the row, each rounded half away to 10^-9; what is above is
 *     qty x price + surplus x price without penalty - qty x cheapest,
 * exact in those. Taxes and charges are no part of a price.
 *
 * The cheapest price is that of any offer of the model (sellers left out are not in it) that fits
 * any row of the lot and can be bought at all: a multiple of its step that reaches its least is not
 * more than it has. Of equal ones, the line's own, else the first. Owned stock is no offer.
 *
 * The words, in the order in which they are tried. A cheaper offer is one of those, a price break
 * of its own, that has a lower price; what is left of it is what it has less what the plan buys.
 *   stock       the pieces are owned.
 *   only-offer  no other listing that can be bought fits the lot.
 *   cheapest    no offer is cheaper, and there is no surplus that costs anything.
 * Where an offer is cheaper:
 *   stock       of every cheaper offer less than a step is left: the sellers' stock is used up.
 *   step        of every other cheaper offer more would have to be bought than these pieces, for
 *               its step, or the least of its price; this listing's own breaks that are not
 *               reached are such, too.
 *   bundled     every other cheaper offer is of a seller that the plan has no order with.
 *   minimum     the order without the line, surplus included, is not empty and below its minimum.
 *   threshold   or a charge of that order is at another step, and higher; or it is not shipped.
 *               Where a cheaper break of this listing is reached: the order at that price instead.
 *   bundled     else: landed, the pieces would cost more there, or what the other lots take would.
 * Where none is, or the line is surplus alone, the surplus is what has a reason:
 *   step        no smaller quantity that is sold at this price holds the pieces that are used.
 *   minimum, threshold, bundled
 *               as above, of the order without the pieces beyond that quantity.
 * For the pieces that are missing:
 *   unmet       of a must.
 *   optional    of an optional row: they are not worth it.
 *
 * Whether an order is below its minimum, what is charged and what is shipped is asked of
 * landed_cost. An order too large for 128 bits is none that this explains: the next word is tried.
 */
#ifndef LOTPIPE_WHY_H
#define LOTPIPE_WHY_H

#include "purchase/purchase.h"

/* The plan must keep every rule, as plan_cost says. */
void why_write(const struct purchase *purchase, const struct plan *plan, struct sheet *sheet);

#endif
