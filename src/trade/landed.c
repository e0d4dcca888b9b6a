#include "trade/landed.h"

#include "base/mem.h"

#include <assert.h>
#include <stdlib.h>

enum { PERCENT_DECIMALS = MICRO_DECIMALS + 2 }; /* micro percent as a part of one */

/* ---- rounding ---- */

/* top / (bottom x 10^decimals), rounded to 10^-scale. */
static bool
round_to(wide top, wide bottom, unsigned decimals, unsigned scale, enum rounding how, wide *out)
{
	if (scale > decimals) {
		if (!wide_mul(top, wide_power10(scale - decimals), &top))
			return false;
	} else if (!wide_mul(bottom, wide_power10(decimals - scale), &bottom)) {
		return false;
	}
	*out = wide_div_round(top, bottom, how);
	return true;
}

bool
landed_convert(wide amount, unsigned from, const struct fraction *rate, unsigned to, wide *out)
{
	wide top;

	return wide_mul(amount, rate->top, &top) &&
	       round_to(top, rate->bottom, from, to, ROUND_HALF_AWAY, out);
}

/* ---- steps ---- */

const struct charge_step *
charge_step_at(const struct charge *charge, int64_t basis)
{
	const struct charge_step *step = NULL;

	for (size_t i = 0; i < charge->steps && charge->step[i].reached <= basis; i++)
		step = &charge->step[i];
	return step;
}

static const struct charge_step *
landed_step_at(const struct charge *charge, struct fraction basis)
{
	const struct charge_step *step = NULL;

	for (size_t i = 0; i < charge->steps; i++) {
		int order = fraction_compare(charge->step[i].place, basis);

		if (order > 0 || (order == 0 && charge->step[i].over))
			break;
		step = &charge->step[i];
	}
	return step;
}

/* ---- what charges come after ---- */

/* What a charge comes to before it is rounded, in micro: counted once, however many come after it.
 */
struct exact_charge {
	const struct charge_step *step; /* NULL: none is reached */
	struct fraction amount;
	bool known;
};

/* An order and its charges, as far as they are known. */
struct exact {
	const struct terms *terms;
	const struct order *order;
	struct exact_charge *charge; /* by charge; owned; NULL where none comes after another */
};

static struct exact
start_exact(const struct terms *terms, const struct order *order)
{
	struct exact exact = {.terms = terms, .order = order};

	for (size_t c = 0; exact.charge == NULL && c < terms->charges; c++)
		if (terms->charge[c].basis == BASIS_LANDED)
			exact.charge = mem_zero(terms->charges, sizeof *exact.charge);
	return exact;
}

static bool find_exact(struct exact *exact, size_t c);

/* The goods that a charge is about and the charges it comes after, micro. */
static bool
exact_basis(struct exact *exact, const struct charge *charge, struct fraction *out)
{
	*out = (struct fraction){exact->order->sum[charge->sum].basis[BASIS_VALUE], 1};
	for (size_t i = 0; charge->basis == BASIS_LANDED && i < charge->afters; i++)
		if (!find_exact(exact, charge->after[i]) ||
		    !fraction_add(*out, exact->charge[charge->after[i]].amount, out))
			return false;
	return true;
}

/* A step's amount + percent of a basis, in micro, exact. */
static bool
step_amount(const struct charge_step *step, struct fraction basis, struct fraction *out)
{
	struct fraction percent = fraction_reduced(step->percent, wide_power10(PERCENT_DECIMALS));

	return fraction_multiply(percent, basis, &basis) && fraction_add(step->amount, basis, out);
}

/* Fills in exact->charge[c], where it is not known yet. */
static bool
find_exact(struct exact *exact, size_t c)
{
	const struct charge *charge = &exact->terms->charge[c];
	const struct order_sum *sum = &exact->order->sum[charge->sum];
	struct exact_charge *found = &exact->charge[c];
	struct fraction basis;

	if (found->known)
		return true;
	*found = (struct exact_charge){.amount = {0, 1}, .known = true};
	if (sum->basis[BASIS_PIECES] == 0)
		return true;
	if (!exact_basis(exact, charge, &basis))
		return false;
	found->step = charge->basis == BASIS_LANDED
	                  ? landed_step_at(charge, basis)
	                  : charge_step_at(charge, sum->basis[charge->basis]);
	return found->step == NULL || found->step->refused ||
	       step_amount(found->step, basis, &found->amount);
}

static bool
find_step(struct exact *exact, size_t c, const struct charge_step **step)
{
	const struct charge *charge = &exact->terms->charge[c];
	const struct order_sum *sum = &exact->order->sum[charge->sum];

	*step = NULL;
	if (sum->basis[BASIS_PIECES] == 0)
		return true;
	if (charge->basis != BASIS_LANDED) {
		*step = charge_step_at(charge, sum->basis[charge->basis]);
		return true;
	}
	if (!find_exact(exact, c))
		return false;
	*step = exact->charge[c].step;
	return true;
}

bool
landed_step(const struct terms *terms, const struct order *order, size_t c,
            const struct charge_step **step)
{
	struct exact exact = start_exact(terms, order);
	bool fits = find_step(&exact, c, step);

	free(exact.charge);
	return fits;
}

/* ---- charges ---- */

/* A charge of amount + percent of goods, both exact, rounded once. */
static bool
round_charge(const struct charge_step *step, int64_t goods, unsigned scale, enum rounding how,
             wide *out)
{
	const wide hundred = wide_power10(PERCENT_DECIMALS);
	wide fixed, share;

	if (step->percent == 0)
		return round_to(step->amount.top, step->amount.bottom, MICRO_DECIMALS, scale, how,
		                out);
	/* Both over the denominator bottom x 10^8, in micro. */
	return wide_mul(step->amount.top, hundred, &fixed) &&
	       wide_mul((wide)step->percent * goods, step->amount.bottom, &share) &&
	       wide_add(fixed, share, &fixed) &&
	       round_to(fixed, step->amount.bottom, MICRO_DECIMALS + PERCENT_DECIMALS, scale, how,
	                out);
}

/* ---- an order ---- */

/* What landed_cost works with. */
struct bill {
	const struct terms *terms;
	const struct order *order;
	struct exact exact;
	unsigned scale;
	struct landed *out;
	wide gross;            /* of the goods and the taxed charges, where taxes are included */
	wide taxed;            /* what the taxes are on: net, where they are included */
	wide net_whole, whole; /* 1 and 1 + taxes, in parts of 10^8 */
};

static bool
bill_round(const struct bill *bill, wide top, wide bottom, unsigned decimals, wide *out)
{
	return round_to(top, bottom, decimals, bill->scale, bill->order->rounding, out);
}

/* Adds the taxes on (or in) one line of 10^-from, each rounded for itself; *taken gets their sum.
 */
static bool
add_line_taxes(struct bill *bill, wide amount, unsigned from, wide *taken)
{
	const struct taxes *taxes = &bill->terms->taxes;

	*taken = 0;
	for (size_t i = 0; i < taxes->count; i++) {
		wide top, tax;

		if (!wide_mul(amount, taxes->percent[i], &top) ||
		    !bill_round(bill, top, bill->terms->included ? bill->whole : bill->net_whole,
		                from, &tax) ||
		    !wide_add(bill->out->tax_of[i], tax, &bill->out->tax_of[i]) ||
		    !wide_add(*taken, tax, taken))
			return false;
	}
	return true;
}

/* amount / (1 + taxes), rounded. */
static bool
net_of(const struct bill *bill, wide amount, wide *out)
{
	wide top;

	return wide_mul(amount, bill->net_whole, &top) &&
	       bill_round(bill, top, bill->whole, bill->scale, out);
}

/* Takes goods or a charge, as rounded, that bears the taxes: *amount becomes what is shown. */
static bool
take_taxed(struct bill *bill, wide *amount, bool by_line)
{
	wide taken = 0;

	if (by_line) {
		if (!add_line_taxes(bill, *amount, bill->scale, &taken))
			return false;
		if (bill->terms->included)
			*amount -= taken;
		return true;
	}
	if (bill->terms->included &&
	    (!wide_add(bill->gross, *amount, &bill->gross) || !net_of(bill, *amount, amount)))
		return false;
	return wide_add(bill->taxed, *amount, &bill->taxed);
}

/* The value of a line as it stands on the invoice, micro or 10^-scale. */
static bool
line_amount(const struct bill *bill, size_t i, wide *amount, unsigned *scale)
{
	*amount = bill->order->line[i];
	*scale = MICRO_DECIMALS;
	if (!bill->order->goods_by_line)
		return true;
	*scale = bill->scale;
	return bill_round(bill, *amount, 1, MICRO_DECIMALS, amount);
}

static bool
add_goods(struct bill *bill)
{
	const struct order *order = bill->order;
	wide *goods = &bill->out->goods, amount, taken, all = 0;
	unsigned scale;

	if (!order->goods_by_line &&
	    !bill_round(bill, order->sum[0].basis[BASIS_VALUE], 1, MICRO_DECIMALS, goods))
		return false;
	for (size_t i = 0; order->goods_by_line && i < order->lines; i++)
		if (!line_amount(bill, i, &amount, &scale) || !wide_add(*goods, amount, goods))
			return false;
	if (!order->tax_by_line)
		return take_taxed(bill, goods, false);
	for (size_t i = 0; i < order->lines; i++)
		if (!line_amount(bill, i, &amount, &scale) ||
		    !add_line_taxes(bill, amount, scale, &taken) || !wide_add(all, taken, &all))
			return false;
	if (bill->terms->included)
		*goods -= all;
	return true;
}

/* The part of the total that a charge which is an estimate makes, with the taxes on it. */
static bool
add_estimate(const struct bill *bill, const struct charge_step *step, wide amount)
{
	struct landed aside = {0};
	struct bill other = *bill;
	wide taken = 0;

	other.out = &aside;
	if (step->taxed && !bill->terms->included &&
	    !add_line_taxes(&other, amount, bill->scale, &taken))
		return false;
	return wide_add(bill->out->estimated, amount, &bill->out->estimated) &&
	       wide_add(bill->out->estimated, taken, &bill->out->estimated);
}

/* Charge c; *amount becomes what is shown of it. */
static bool
add_charge(struct bill *bill, size_t c, wide *amount)
{
	const struct charge *charge = &bill->terms->charge[c];
	const struct order *order = bill->order;
	const struct charge_step *step;

	*amount = 0;
	if (!find_step(&bill->exact, c, &step))
		return false;
	if (step == NULL)
		return true;
	bill->out->refused = bill->out->refused || step->refused;
	if (charge->basis == BASIS_LANDED) {
		const struct fraction *exact = &bill->exact.charge[c].amount;

		if (!bill_round(bill, exact->top, exact->bottom, MICRO_DECIMALS, amount))
			return false;
	} else if (!round_charge(step, order->sum[charge->sum].basis[BASIS_VALUE], bill->scale,
	                         order->rounding, amount)) {
		return false;
	}
	if (step->estimate && !add_estimate(bill, step, *amount))
		return false;
	return (!step->taxed || take_taxed(bill, amount, order->tax_by_line)) &&
	       wide_add(bill->out->charges, *amount, &bill->out->charges);
}

/* The taxes on what is taxed, each rounded once; included ones are what is left of the gross. */
static bool
add_order_taxes(struct bill *bill)
{
	const struct taxes *taxes = &bill->terms->taxes;
	wide left = bill->gross - bill->taxed;

	for (size_t i = 0; i < taxes->count; i++) {
		wide top;

		if (bill->terms->included && i + 1 == taxes->count) {
			bill->out->tax_of[i] = left;
			break;
		}
		if (!wide_mul(bill->taxed, taxes->percent[i], &top) ||
		    !bill_round(bill, top, bill->net_whole, bill->scale, &bill->out->tax_of[i]))
			return false;
		left -= bill->out->tax_of[i];
	}
	return true;
}

static bool
add_up(struct bill *bill)
{
	struct landed *out = bill->out;

	for (size_t i = 0; i < bill->terms->taxes.count; i++)
		if (!wide_add(out->tax, out->tax_of[i], &out->tax))
			return false;
	return wide_add(out->goods, out->charges, &out->total) &&
	       wide_add(out->total, out->tax, &out->total);
}

bool
landed_cost(const struct terms *terms, const struct order *order, struct scales scales,
            struct landed *out, wide *each)
{
	struct bill bill = {.terms = terms, .order = order, .scale = scales.order, .out = out};
	const struct order_sum *all = &order->sum[0];
	wide amount;
	bool fits;

	assert(all->basis[BASIS_PIECES] > 0);
	bill.net_whole = bill.whole = wide_power10(PERCENT_DECIMALS);
	for (size_t i = 0; i < terms->taxes.count; i++)
		bill.whole += terms->taxes.percent[i];
	*out = (struct landed){.below_minimum = all->basis[BASIS_VALUE] < terms->minimum};
	bill.exact = start_exact(terms, order);
	fits = add_goods(&bill);
	for (size_t c = 0; fits && c < terms->charges; c++) {
		fits = add_charge(&bill, c, &amount);
		if (each != NULL)
			each[c] = amount;
	}
	free(bill.exact.charge);
	return fits && (order->tax_by_line || add_order_taxes(&bill)) && add_up(&bill) &&
	       landed_convert(out->total, scales.order, &terms->home, scales.home, &out->home);
}
