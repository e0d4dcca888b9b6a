/*
 * Spans: what a charge can come to within a cell, as a function of the goods bought, from below
 * and from above. Each side is linear,
 *     fixed + sum over sums of share x goods of the lines of that sum
 * (sum 0: lines without class). Where the cell holds the charge, and those it comes after, at one
 * step each, both sides are the charge itself, exact.
 *
 * Exact fractions as long as 128 bits hold them; past that rounded outward, so that the sides
 * still hold the charge between them. Amounts in micro of the order's currency, shares of one.
 */
#ifndef LOTPIPE_SPAN_H
#define LOTPIPE_SPAN_H

#include "trade/landed.h"

struct linear {
	struct fraction fixed;
	struct fraction *share; /* by sum; owned */
};

struct span {
	struct linear low, high;
	size_t sums;
};

void linear_init(struct linear *linear, size_t sums); /* 0 */
void linear_free(struct linear *linear);
void span_init(struct span *span, size_t sums); /* 0 */
void span_free(struct span *span);

/* The goods of a sum; 0 is all lines. */
void span_goods(struct span *span, size_t sum);
/* An amount, micro. */
void span_fixed(struct span *span, int64_t amount);
void span_add(struct span *span, const struct span *more);
/* What a step charges on a basis; NULL: nothing. */
void span_step(struct span *span, const struct charge_step *step, const struct span *basis);
/* Widens a span so that it holds the other, too; or makes it the other. */
void span_join(struct span *span, const struct span *other, bool first);
/* The lesser of linear and factor x other, part by part, from below; or factor x other itself. The
 * factor is not negative. */
void linear_join(struct linear *linear, const struct linear *other, struct fraction factor,
                 size_t sums, bool first);

/* value x 10^decimals to a whole number, up or down; what is past 10^30 becomes that. */
wide span_whole(struct fraction value, unsigned decimals, bool up);

#endif
