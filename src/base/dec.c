#include "base/dec.h"

#include <assert.h>

const char *
dec_fault_text(enum dec_fault why)
{
	switch (why) {
	case DEC_OK:
		return "is right";
	case DEC_EMPTY:
		return "is empty: give a number";
	case DEC_NOT_NUMBER:
		return "is no number: use digits with . for decimals, no sign, no grouping";
	case DEC_NEGATIVE:
		return "is negative: it must be 0 or more";
	case DEC_FRACTION:
		return "is no whole number: pieces are whole";
	case DEC_DECIMALS:
		return "has more than 6 decimals: round it to 6";
	case DEC_LARGE:
		return "is too large";
	}
	return "";
}

static bool
is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* Adds a digit to a magnitude; false past 64 bits. */
static bool
push_digit(int64_t *value, char digit)
{
	return !__builtin_mul_overflow(*value, INT64_C(10), value) &&
	       !__builtin_add_overflow(*value, (int64_t)(digit - '0'), value);
}

enum dec_fault
dec_parse_micro(const char *text, bool may_be_negative, int64_t *out)
{
	const char *s = text;
	int64_t value = 0;
	size_t whole = 0, decimals = 0;
	bool negative = *s == '-', large = false;

	if (*text == '\0')
		return DEC_EMPTY;
	s += negative;
	for (; is_digit(*s); s++, whole++)
		large = large || !push_digit(&value, *s);
	if (*s == '.')
		for (s++; is_digit(*s); s++, decimals++)
			if (decimals < MICRO_DECIMALS)
				large = large || !push_digit(&value, *s);
	if (*s != '\0' || whole + decimals == 0)
		return DEC_NOT_NUMBER;
	if (negative && !may_be_negative)
		return DEC_NEGATIVE;
	if (decimals > MICRO_DECIMALS)
		return DEC_DECIMALS;
	for (; decimals < MICRO_DECIMALS; decimals++)
		large = large || !push_digit(&value, '0');
	if (large)
		return DEC_LARGE;
	*out = negative ? -value : value;
	return DEC_OK;
}

enum dec_fault
dec_parse_qty(const char *text, int64_t *out)
{
	const char *s = text;
	int64_t value = 0;
	bool large = false, fraction = false;
	bool negative = *s == '-';

	if (*text == '\0')
		return DEC_EMPTY;
	s += negative;
	if (!is_digit(*s))
		return DEC_NOT_NUMBER;
	for (; is_digit(*s); s++)
		large = large || !push_digit(&value, *s) || value > QTY_MOST;
	if (*s == '.')
		for (s++, fraction = true; is_digit(*s); s++)
			;
	if (*s != '\0')
		return DEC_NOT_NUMBER;
	if (negative)
		return DEC_NEGATIVE;
	if (fraction)
		return DEC_FRACTION;
	if (large)
		return DEC_LARGE;
	*out = value;
	return DEC_OK;
}

void
dec_add_text(struct text *out, wide value, unsigned scale, unsigned least)
{
	char digits[64];
	size_t at = sizeof digits;
	unsigned shown = 0;
	bool negative = value < 0;
	/* The magnitude in unsigned arithmetic, so that the least value has one too. */
	__extension__ unsigned __int128 left =
	    negative ? -(unsigned __int128)value : (unsigned __int128)value;

	for (unsigned place = 0; place < scale; place++) {
		unsigned digit = (unsigned)(left % 10);

		left /= 10;
		if (digit != 0 || shown > 0 || scale - place <= least) {
			digits[--at] = (char)('0' + digit);
			shown++;
		}
	}
	if (shown > 0)
		digits[--at] = '.';
	do {
		digits[--at] = (char)('0' + (unsigned)(left % 10));
		left /= 10;
	} while (left > 0);
	if (negative)
		digits[--at] = '-';
	text_add(out, digits + at, sizeof digits - at);
}

/* The one pattern of bits that has no negative. */
static bool
is_no_value(wide a)
{
	__extension__ typedef unsigned __int128 bits;

	return (bits)a == (bits)1 << 127;
}

bool
wide_add(wide a, wide b, wide *out)
{
	wide sum;

	if (__builtin_add_overflow(a, b, &sum) || is_no_value(sum))
		return false;
	*out = sum;
	return true;
}

bool
wide_mul(wide a, wide b, wide *out)
{
	wide product;

	if (__builtin_mul_overflow(a, b, &product) || is_no_value(product))
		return false;
	*out = product;
	return true;
}

bool
wide_to_int64(wide a, int64_t *out)
{
	if (a < INT64_MIN || a > INT64_MAX)
		return false;
	*out = (int64_t)a;
	return true;
}

wide
wide_div_floor(wide numerator, wide denominator)
{
	wide quotient = numerator / denominator;

	assert(denominator > 0);
	return numerator % denominator < 0 ? quotient - 1 : quotient;
}

wide
wide_common_divisor(wide a, wide b)
{
	while (b != 0 && a != 1) {
		wide rest = a % b;

		a = b;
		b = rest;
	}
	return a < 0 ? -a : a;
}

wide
wide_div_ceil(wide numerator, wide denominator)
{
	wide quotient = numerator / denominator;

	assert(denominator > 0);
	return numerator % denominator > 0 ? quotient + 1 : quotient;
}

wide
wide_div_round(wide numerator, wide denominator, enum rounding how)
{
	wide quotient = numerator / denominator, rest = numerator % denominator;
	wide away = numerator < 0 ? -1 : 1;

	assert(denominator > 0);
	if (rest < 0)
		rest = -rest;
	/* rest against denominator - rest, not 2 x rest, which could overflow. */
	if (rest > denominator - rest)
		return quotient + away;
	if (rest == denominator - rest && (how == ROUND_HALF_AWAY || quotient % 2 != 0))
		return quotient + away;
	return quotient;
}

wide
wide_power10(unsigned n)
{
	wide power = 1;

	assert(n <= 38);
	while (n-- > 0)
		power *= 10;
	return power;
}
