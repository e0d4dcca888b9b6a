/*
 * Exact decimals: whole numbers of 10^-6 (micro: prices, money as written, percent, grams,
 * rates) or of 10^-9 (nano: computed money), with 128-bit intermediates and every overflow
 * reported. Binary floating point has no part in it.
 */
#ifndef LOTPIPE_DEC_H
#define LOTPIPE_DEC_H

#include "base/text.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* 128 bits, two's complement; -2^127 is no value of it, so that each has its negative. */
__extension__ typedef __int128 wide;

enum { MICRO_DECIMALS = 6, NANO_DECIMALS = 9 };
#define MICRO INT64_C(1000000)
#define NANO  INT64_C(1000000000)

#define QTY_MOST INT64_C(999999999)

enum dec_fault {
	DEC_OK,
	DEC_EMPTY,
	DEC_NOT_NUMBER,
	DEC_NEGATIVE,
	DEC_FRACTION,
	DEC_DECIMALS,
	DEC_LARGE
};

/* What was wrong and what would be right, to end a diagnostic with. */
const char *dec_fault_text(enum dec_fault why);

/* Canonical decimals, [-]digits[.digits], at most 6 of them, into micro. Digits may miss on
 * one side of the point (".5", "5."). DEC_NEGATIVE where a sign is not allowed. */
enum dec_fault dec_parse_micro(const char *text, bool may_be_negative, int64_t *out);
/* A whole number 0 to QTY_MOST. */
enum dec_fault dec_parse_qty(const char *text, int64_t *out);

/* value x 10^-scale in decimals, trailing zeros after the point off down to least decimals. */
void dec_add_text(struct text *out, wide value, unsigned scale, unsigned least);

enum rounding { ROUND_HALF_AWAY, ROUND_HALF_EVEN };

/* Each returns false, *out untouched, where a wide (64 bits) does not hold the result. */
bool wide_add(wide a, wide b, wide *out);
bool wide_mul(wide a, wide b, wide *out);
bool wide_to_int64(wide a, int64_t *out);
/* numerator / denominator, denominator > 0, to a whole number. */
wide wide_div_round(wide numerator, wide denominator, enum rounding how);
wide wide_div_floor(wide numerator, wide denominator);
wide wide_div_ceil(wide numerator, wide denominator);
/* The greatest common divisor, not negative; of 0 and a number, that number. */
wide wide_common_divisor(wide a, wide b);
/* 10^n for n up to 38. */
wide wide_power10(unsigned n);

#endif
