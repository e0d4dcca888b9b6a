#include "plan/span.h"

#include "base/mem.h"

#include <stdlib.h>

enum { PERCENT_DECIMALS = MICRO_DECIMALS + 2, BOTTOM_DECIMALS = 36, PAST_DECIMALS = 30 };

__extension__ typedef unsigned __int128 unsigned_wide;

static const struct fraction nothing = {0, 1}, one = {1, 1};

/* ---- fractions, rounded up or down where 128 bits do not hold them ---- */

/* As far as numbers go here: no order comes to as much. */
static wide
past(bool negative)
{
	return negative ? -wide_power10(PAST_DECIMALS) : wide_power10(PAST_DECIMALS);
}

/* The whole number of 2^-bits next to value. */
static struct fraction
coarse(struct fraction value, unsigned bits, bool up)
{
	wide whole = wide_div_floor(value.top, value.bottom);
	unsigned_wide rest = (unsigned_wide)(value.top - whole * value.bottom);
	const unsigned_wide bottom = (unsigned_wide)value.bottom;

	for (unsigned i = 0; i < bits; i++) {
		if (!wide_mul(whole, 2, &whole))
			return (struct fraction){past(value.top < 0), 1};
		rest *= 2;
		whole += rest >= bottom;
		rest -= rest >= bottom ? bottom : 0;
	}
	return fraction_reduced(whole + (up && rest > 0), (wide)1 << bits);
}

static struct fraction
kept_small(struct fraction value, bool up)
{
	return value.bottom > wide_power10(BOTTOM_DECIMALS) ? coarse(value, 40, up) : value;
}

static struct fraction
sum(struct fraction a, struct fraction b, bool up)
{
	struct fraction out = {past(!up), 1};

	if (fraction_add(a, b, &out))
		return kept_small(out, up);
	for (unsigned bits = 40;; bits -= 20)
		if (fraction_add(coarse(a, bits, up), coarse(b, bits, up), &out) || bits == 0)
			return out;
}

static struct fraction
product(struct fraction a, struct fraction b, bool up)
{
	struct fraction out = {past(!up), 1};

	if (fraction_multiply(a, b, &out))
		return kept_small(out, up);
	for (unsigned bits = 40;; bits -= 20)
		if (fraction_multiply(coarse(a, bits, up == (b.top >= 0)), b, &out) || bits == 0)
			return out;
}

wide
span_whole(struct fraction value, unsigned decimals, bool up)
{
	wide whole = wide_div_floor(value.top, value.bottom);
	wide rest = value.top - whole * value.bottom;

	for (unsigned i = 0; i < decimals && whole > past(true) && whole < past(false); i++) {
		rest *= 10;
		whole = whole * 10 + rest / value.bottom;
		rest %= value.bottom;
	}
	whole += up && rest > 0;
	return whole < past(true) ? past(true) : whole > past(false) ? past(false) : whole;
}

/* ---- linear functions ---- */

void
linear_init(struct linear *linear, size_t sums)
{
	linear->fixed = nothing;
	linear->share = mem_alloc(sums * sizeof *linear->share);
	for (size_t k = 0; k < sums; k++)
		linear->share[k] = nothing;
}

void
linear_free(struct linear *linear)
{
	free(linear->share);
}

static struct fraction
lesser(struct fraction a, struct fraction b)
{
	return fraction_compare(a, b) <= 0 ? a : b;
}

static struct fraction
greater(struct fraction a, struct fraction b)
{
	return fraction_compare(a, b) >= 0 ? a : b;
}

void
linear_join(struct linear *linear, const struct linear *other, struct fraction factor, size_t sums,
            bool first)
{
	struct fraction fixed = product(other->fixed, factor, false);

	linear->fixed = first ? fixed : lesser(linear->fixed, fixed);
	for (size_t k = 0; k < sums; k++) {
		struct fraction share = product(other->share[k], factor, false);

		linear->share[k] = first ? share : lesser(linear->share[k], share);
	}
}

/* ---- spans ---- */

void
span_init(struct span *span, size_t sums)
{
	linear_init(&span->low, sums);
	linear_init(&span->high, sums);
	span->sums = sums;
}

void
span_free(struct span *span)
{
	linear_free(&span->low);
	linear_free(&span->high);
}

void
span_goods(struct span *span, size_t of)
{
	span->low.fixed = span->high.fixed = nothing;
	for (size_t k = 0; k < span->sums; k++)
		span->low.share[k] = span->high.share[k] = of == 0 || of == k ? one : nothing;
}

void
span_fixed(struct span *span, int64_t amount)
{
	const struct fraction more = {amount, 1};

	span->low.fixed = sum(span->low.fixed, more, false);
	span->high.fixed = sum(span->high.fixed, more, true);
}

void
span_add(struct span *span, const struct span *more)
{
	span->low.fixed = sum(span->low.fixed, more->low.fixed, false);
	span->high.fixed = sum(span->high.fixed, more->high.fixed, true);
	for (size_t k = 0; k < span->sums; k++) {
		span->low.share[k] = sum(span->low.share[k], more->low.share[k], false);
		span->high.share[k] = sum(span->high.share[k], more->high.share[k], true);
	}
}

void
span_step(struct span *span, const struct charge_step *step, const struct span *basis)
{
	const struct fraction percent =
	    fraction_reduced(step != NULL ? step->percent : 0, wide_power10(PERCENT_DECIMALS));
	const struct fraction amount = step != NULL ? step->amount : nothing;
	const struct linear *low = percent.top >= 0 ? &basis->low : &basis->high;
	const struct linear *high = percent.top >= 0 ? &basis->high : &basis->low;

	span->low.fixed = sum(amount, product(low->fixed, percent, false), false);
	span->high.fixed = sum(amount, product(high->fixed, percent, true), true);
	for (size_t k = 0; k < span->sums; k++) {
		span->low.share[k] = product(low->share[k], percent, false);
		span->high.share[k] = product(high->share[k], percent, true);
	}
}

void
span_join(struct span *span, const struct span *other, bool first)
{
	struct linear *low = &span->low, *high = &span->high;

	low->fixed = first ? other->low.fixed : lesser(low->fixed, other->low.fixed);
	high->fixed = first ? other->high.fixed : greater(high->fixed, other->high.fixed);
	for (size_t k = 0; k < span->sums; k++) {
		low->share[k] =
		    first ? other->low.share[k] : lesser(low->share[k], other->low.share[k]);
		high->share[k] =
		    first ? other->high.share[k] : greater(high->share[k], other->high.share[k]);
	}
}
