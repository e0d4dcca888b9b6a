#include "plot/axis.h"

#include <assert.h>
#include <string.h>

#define MINUS          "\u2212"
#define NO_BREAK_SPACE "\u00A0"

/* Labels from 10^7 on, and those below 10^-3, are shortened. */
enum { DIGITS_MOST = 7, ZEROS_MOST = 2, GROUP = 3, GROUPED_FROM = 5 };

/* ---- nice numbers ---- */

enum nice { NICE_UP, NICE_NEAREST };

/* 1, 2 or 5 times a power of ten; value > 0. */
static wide
nice_number(wide value, enum nice how)
{
	wide power = 1;

	while (power <= value / 10)
		power *= 10;
	if (how == NICE_UP) {
		if (value <= power)
			return power;
		if (value <= 2 * power)
			return 2 * power;
		return value <= 5 * power ? 5 * power : 10 * power;
	}
	if (2 * value < 3 * power)
		return power;
	if (value < 3 * power)
		return 2 * power;
	return value < 7 * power ? 5 * power : 10 * power;
}

wide
axis_first(const struct axis *axis)
{
	return wide_div_ceil(axis->low, axis->step);
}

wide
axis_last(const struct axis *axis)
{
	return wide_div_floor(axis->high, axis->step);
}

/* ---- labels ---- */

static wide
larger_end(const struct axis *axis)
{
	wide low = axis->low < 0 ? -axis->low : axis->low;
	wide high = axis->high < 0 ? -axis->high : axis->high;

	return low > high ? low : high;
}

static int
digits_of(wide value)
{
	int digits = 0;

	for (; value > 0; value /= 10)
		digits++;
	return digits;
}

static int
floor_to_group(int power)
{
	return power >= 0 ? power / GROUP * GROUP : -((-power + GROUP - 1) / GROUP * GROUP);
}

static void
choose_labels(struct axis *axis)
{
	const int digits = digits_of(larger_end(axis)) + axis->exponent;
	wide step = axis->step;
	int exponent;

	axis->shift = digits > DIGITS_MOST || digits < -ZEROS_MOST ? floor_to_group(digits - 1) : 0;
	exponent = axis->exponent - axis->shift;
	for (; exponent < 0 && step % 10 == 0; exponent++)
		step /= 10;
	axis->decimals = exponent < 0 ? (unsigned)-exponent : 0;
}

/* Digits before the point in groups of three. */
static void
add_grouped(struct text *out, const char *digits, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		if (i > 0 && count >= GROUPED_FROM && (count - i) % GROUP == 0)
			text_adds(out, NO_BREAK_SPACE);
		text_addc(out, digits[i]);
	}
}

void
axis_add_number(struct text *out, wide value, int exponent, unsigned least, char mark)
{
	struct text plain = {0};
	size_t whole;

	if (value < 0)
		text_adds(out, MINUS);
	value = value < 0 ? -value : value;
	for (; exponent < 0 && value % 10 == 0; exponent++)
		value /= 10;
	for (; exponent > 0; exponent--)
		value *= 10;
	if ((int)least > -exponent) {
		value *= wide_power10((unsigned)((int)least + exponent));
		exponent = -(int)least;
	}
	dec_add_text(&plain, value, (unsigned)-exponent, least);
	whole = strcspn(plain.bytes, ".");
	add_grouped(out, plain.bytes, whole);
	if (plain.bytes[whole] == '.') {
		text_addc(out, mark);
		text_adds(out, plain.bytes + whole + 1);
	}
	text_free(&plain);
}

void
axis_add_label(struct text *out, const struct axis *axis, wide value, char mark)
{
	axis_add_number(out, value, axis->exponent - axis->shift, axis->decimals, mark);
}

/* ---- making ---- */

static void
widen(struct axis *axis)
{
	axis->low = wide_div_floor(axis->low, axis->step) * axis->step;
	axis->high = wide_div_ceil(axis->high, axis->step) * axis->step;
}

void
axis_make(struct axis *axis, wide low, wide high, int exponent, unsigned most, wide least,
          bool loose)
{
	wide share;

	assert(low < high && most >= 2);
	share = (high - low) / (most - 1);
	*axis = (struct axis){.low = low, .high = high, .exponent = exponent};
	axis->step = nice_number(share > 0 ? share : 1, NICE_NEAREST);
	if (axis->step < least)
		axis->step = nice_number(least, NICE_UP);
	if (loose)
		widen(axis);
	choose_labels(axis);
}

void
axis_coarser(struct axis *axis, bool loose)
{
	axis->step = nice_number(axis->step + 1, NICE_UP);
	if (loose)
		widen(axis);
	choose_labels(axis);
}
