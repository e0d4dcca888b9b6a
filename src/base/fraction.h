/*
 * Fractions of 128-bit whole numbers, exact: exchange rates, and amounts that were converted by
 * one. In lowest terms where a function made them; bottom > 0.
 */
#ifndef LOTPIPE_FRACTION_H
#define LOTPIPE_FRACTION_H

#include "base/dec.h"

struct fraction {
	wide top, bottom;
};

/* top / bottom in lowest terms, bottom > 0. */
struct fraction fraction_reduced(wide top, wide bottom);

/* Of fractions in lowest terms. Each returns false, *out untouched, where 128 bits do not hold the
 * result, or, over the common denominator of a sum, its top and bottom. */
bool fraction_add(struct fraction a, struct fraction b, struct fraction *out);
bool fraction_multiply(struct fraction a, struct fraction b, struct fraction *out);

/* Less than, equal to or more than 0 as a is to b. Never overflows. */
int fraction_compare(struct fraction a, struct fraction b);

/* The sum of fractions that are not negative, to a whole number, a half rounded up; exact whatever
 * their denominators, which may have no common one in 128 bits. False, *out untouched, where 128
 * bits do not hold the sum. */
bool fraction_sum_round(const struct fraction *term, size_t count, wide *out);

#endif
