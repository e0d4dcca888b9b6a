/*
 * Numbers in fields of any table, as they are written: digits with "." before decimals, a sign if
 * need be. Digits may miss on one side of the point. 007 is no number but a code: whatever took it
 * for one would lose its zeros.
 */
#ifndef LOTPIPE_SHOW_NUMBER_H
#define LOTPIPE_SHOW_NUMBER_H

#include "base/dec.h"

#include <stdbool.h>
#include <stddef.h>

bool number_is(const char *field);
/* Bytes of a number before its point; those from the point on are the rest. */
size_t number_whole(const char *field);

/* An exact sum, value x 10^-decimals: as many decimals as the number added that has most.
 * Zero-initialise. */
struct number_sum {
	wide value;
	unsigned decimals;
};

/* False, *sum untouched, where 128 bits do not hold it. */
bool number_add(struct number_sum *sum, const char *field);
void number_add_text(struct text *out, const struct number_sum *sum);

#endif
