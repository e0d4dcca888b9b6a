#include "trade/landed.h"

#include <assert.h>

enum { PERCENT_DECIMALS = MICRO_DECIMALS + 2 }; /* micro percent as a part of one */

const struct charge_step *
charge_step_at(const struct charge *charge, int64_t basis)
{
	const struct charge_step *step = NULL;

	for (size_t i = 0; i < charge->steps && charge->step[i].reached <= basis; i++)
		step = &charge->step[i];
	return step;
}

/* top / (bottom x 10^decimals), rounded half away to 10^-scale. */
static bool
round_to(wide top, wide bottom, unsigned decimals, unsigned scale, wide *out)
{
	if (scale > decimals) {
		if (!wide_mul(top, wide_power10(scale - decimals), &top))
			return false;
	} else if (!wide_mul(bottom, wide_power10(decimals - scale), &bottom)) {
		return false;
	}
	*out = wide_div_round(top, bottom, ROUND_HALF_AWAY);
	return true;
}

bool
landed_convert(wide amount, unsigned from, const struct fraction *rate, unsigned to, wide *out)
{
	wide top;

	return wide_mul(amount, rate->top, &top) && round_to(top, rate->bottom, from, to, out);
}

/* A charge of amount + percent of goods, both exact, rounded once. */
static bool
charge_amount(const struct charge_step *step, int64_t goods, unsigned scale, wide *out)
{
	const wide hundred = wide_power10(PERCENT_DECIMALS);
	wide fixed, share;

	if (step->percent == 0)
		return round_to(step->amount.top, step->amount.bottom, MICRO_DECIMALS, scale, out);
	/* Both over the denominator bottom x 10^8, in micro. */
	return wide_mul(step->amount.top, hundred, &fixed) &&
	       wide_mul((wide)step->percent * goods, step->amount.bottom, &share) &&
	       wide_add(fixed, share, &fixed) &&
	       round_to(fixed, step->amount.bottom, MICRO_DECIMALS + PERCENT_DECIMALS, scale, out);
}

/* The tax on an amount of 10^-from, rounded to 10^-scale. */
static bool
tax_on(wide amount, unsigned from, int64_t percent, unsigned scale, wide *out)
{
	wide top;

	return wide_mul(amount, percent, &top) &&
	       round_to(top, 1, from + PERCENT_DECIMALS, scale, out);
}

/* Adds the tax on one line of the invoice, rounded for itself. */
static bool
add_line_tax(const struct terms *terms, wide amount, unsigned from, unsigned scale, wide *sum)
{
	wide tax;

	return tax_on(amount, from, terms->tax, scale, &tax) && wide_add(*sum, tax, sum);
}

static bool
add_charges(const struct terms *terms, const struct order *order, unsigned scale,
            struct landed *out, wide *taxed, wide *each)
{
	for (size_t c = 0; c < terms->charges; c++) {
		const struct charge *charge = &terms->charge[c];
		const struct order_sum *sum = &order->sum[charge->sum];
		const struct charge_step *step = NULL;
		wide amount = 0;

		if (sum->basis[BASIS_PIECES] > 0)
			step = charge_step_at(charge, sum->basis[charge->basis]);
		if (step != NULL) {
			out->refused = out->refused || step->refused;
			if (!charge_amount(step, sum->basis[BASIS_VALUE], scale, &amount) ||
			    !wide_add(out->charges, amount, &out->charges) ||
			    (step->taxed && !wide_add(*taxed, amount, taxed)))
				return false;
			if (step->taxed && order->line != NULL &&
			    !add_line_tax(terms, amount, scale, scale, &out->tax))
				return false;
		}
		if (each != NULL)
			each[c] = amount;
	}
	return true;
}

/* Tax line by line, on the exact goods of each. */
static bool
add_line_taxes(const struct terms *terms, const struct order *order, unsigned scale,
               struct landed *out)
{
	for (size_t i = 0; i < order->lines; i++)
		if (!add_line_tax(terms, order->line[i], MICRO_DECIMALS, scale, &out->tax))
			return false;
	return true;
}

bool
landed_cost(const struct terms *terms, const struct order *order, struct scales scales,
            struct landed *out, wide *each)
{
	const struct order_sum *all = &order->sum[0];
	wide taxed = 0, base;

	assert(all->basis[BASIS_PIECES] > 0);
	*out = (struct landed){.below_minimum = all->basis[BASIS_VALUE] < terms->minimum};
	if (!round_to(all->basis[BASIS_VALUE], 1, MICRO_DECIMALS, scales.order, &out->goods) ||
	    !add_charges(terms, order, scales.order, out, &taxed, each))
		return false;
	if (order->line != NULL) {
		if (!add_line_taxes(terms, order, scales.order, out))
			return false;
	} else if (!wide_add(out->goods, taxed, &base) ||
	           !tax_on(base, scales.order, terms->tax, scales.order, &out->tax)) {
		return false;
	}
	return wide_add(out->goods, out->charges, &out->total) &&
	       wide_add(out->total, out->tax, &out->total) &&
	       landed_convert(out->total, scales.order, &terms->home, scales.home, &out->home);
}
