/*
 * What is kept of an earlier plan (trade/kept.h) in a purchase: the terms of who sold it, the
 * basket that a seller's open lines are, and the kept pieces in a plan and in its order lines.
 *
 * A kept line that fits a row of the need is a listing, free as stock is; purchase.c builds these
 * with the others. Works on what the purchase owns; units as there.
 */
#ifndef LOTPIPE_KEPT_LINES_H
#define LOTPIPE_KEPT_LINES_H

#include "purchase/purchase.h"

/* Before listings are built: checks that terms speak for the sellers of kept lines, and their
 * currencies, and remembers what each line's are. False: something was told. */
bool kept_lines_start(struct purchase *purchase);
/* Has the seller a line that is kept? After kept_lines_start; false where nothing is kept. */
bool kept_lines_have(const struct purchase *purchase, const char *seller);
/* Puts the basket of a seller into the model, whose listings are built. False: something was told.
 */
bool kept_lines_set_basket(struct purchase *purchase, size_t seller);

/* Uses kept pieces before new ones where both fit a row: what is beyond the need is then what is
 * bought beyond it. At the same cost. */
void kept_lines_use(const struct purchase *purchase, struct plan *plan);
/* Pieces of kept lines, and how many of them nothing needs any more, which may be told. */
int64_t kept_lines_pieces(const struct purchase *purchase, const struct plan *plan, int64_t *unused,
                          bool told);
/* A kept line as it is written for a lot, as yet without quantity. */
struct order_line kept_lines_written(const struct purchase *purchase, size_t number,
                                     const char *lot);

#endif
