#include "plan/plain.h"

#include "base/mem.h"
#include "plan/relax.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* An offer left out is dearer than its lot's multiplier by more than roundings can hide. */
#define DEARER    (1 + 1e-6)
#define DEARER_BY 1e-9 /* home */

enum {
	NEAR_PART = 16, /* of a multiplier: offers that cost so much more are near */
	USES_MOST = 256 /* then they are picked anew: multipliers may have fallen */
};

bool
plain_unit(struct relax *relax, size_t j)
{
	const struct model *model = relax->model;
	const struct model_listing *l = &model->listing[j];
	const struct cell *cell = &relax->cells->cell[relax->cells->first[l->seller]];
	wide goods = wide_div_floor(model->brk[l->brk].price * cell->factor[l->sum], 1000000);
	wide sum = goods + (wide)model->row[model->edge[l->edge]].penalty * 1000000;

	relax->plain.unit[j] = (int64_t)sum;
	return goods >= 0 && sum <= INT64_MAX;
}

void
plain_init(struct relax *relax)
{
	const struct model *model = relax->model;
	struct plain *plain = &relax->plain;

	for (size_t s = 0; s < model->sellers; s++)
		plain->any = plain->any || relax->plain_seller[s];
	if (!plain->any)
		return;
	plain->near = mem_zero(model->listings, sizeof *plain->near);
	plain->from = mem_zero(model->sellers, sizeof *plain->from);
	plain->to = mem_zero(model->sellers, sizeof *plain->to);
	plain->picked = mem_zero(model->sellers, sizeof *plain->picked);
	plain->limit = mem_zero(model->lots, sizeof *plain->limit);
	plain->until = mem_zero(model->lots, sizeof *plain->until);
}

void
plain_free(struct relax *relax)
{
	free(relax->plain.unit);
	free(relax->plain.near);
	free(relax->plain.from);
	free(relax->plain.to);
	free(relax->plain.picked);
	free(relax->plain.limit);
	free(relax->plain.until);
}

/* Whether all multipliers are below what was left out. */
static bool
all_near(const struct relax *relax, const double *price)
{
	const double *until = relax->plain.until;
	bool over = false;

	for (size_t i = 0; i < relax->model->lots; i++)
		over |= price[i] * DEARER + DEARER_BY > until[i];
	return !over;
}

/* What offers may cost to be near: anew for all lots, or more where a multiplier has come up. Then
 * what is left out is dearer, whoever is picked for. */
static void
set_limits(struct relax *relax, const double *price, bool anew)
{
	struct plain *plain = &relax->plain;

	for (size_t i = 0; i < relax->model->lots; i++) {
		double least = price[i] * DEARER + DEARER_BY;

		if (anew || least > plain->limit[i])
			plain->limit[i] = least + least / NEAR_PART;
		plain->until[i] = FAR;
	}
}

static void
pick(struct relax *relax, size_t s)
{
	struct plain *plain = &relax->plain;
	const struct model_seller *seller = &relax->model->seller[s];

	plain->picked[s] = plain->picks;
	plain->from[s] = plain->nears;
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		uint32_t lot = relax->plain_lot[j];
		double cost = relax->plain_cost[j];

		if (cost <= plain->limit[lot])
			plain->near[plain->nears++] =
			    (struct plain_offer){cost, relax->plain_cap[j], lot, (uint32_t)j};
		else if (cost < plain->until[lot])
			plain->until[lot] = cost;
	}
	plain->to[s] = plain->nears;
	relax->work += seller->listings;
}

/* Picks for the sellers that have come back since; false where there is no room. */
static bool
pick_missing(struct relax *relax)
{
	struct plain *plain = &relax->plain;

	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];

		if (!is_plain(relax, s) || plain->picked[s] == plain->picks)
			continue;
		if (plain->nears + relax->model->seller[s].listings > relax->model->listings)
			return false;
		pick(relax, s);
	}
	return true;
}

void
plain_pick(struct relax *relax, const double *price)
{
	struct plain *plain = &relax->plain;
	bool anew;

	if (!plain->any)
		return;
	anew = plain->uses++ % USES_MOST == 0;
	if (!anew && pick_missing(relax) && all_near(relax, price))
		return;
	set_limits(relax, price, anew);
	plain->picks++;
	plain->nears = 0;
	for (size_t i = 0; i < relax->actives; i++)
		if (is_plain(relax, relax->active[i]))
			pick(relax, relax->active[i]);
}

/* The value if so, else 0, without a branch: which of the near offers gain is hard to foretell. */
static double
if_so(bool so, double value)
{
	uint64_t bits;

	memcpy(&bits, &value, sizeof bits);
	bits &= -(uint64_t)so;
	memcpy(&value, &bits, sizeof bits);
	return value;
}

/* Twice what is above 0, without a branch as well. */
static double
twice_above(double gain)
{
	return gain + fabs(gain);
}

double
plain_value(struct relax *relax, size_t s, const double *price)
{
	const struct plain *plain = &relax->plain;
	const struct plain_offer *offer = plain->near + plain->from[s];
	const struct plain_offer *end = plain->near + plain->to[s];
	double gained = 0, other = 0;

	relax->work += plain->to[s] - plain->from[s] + 1;
	for (; offer + 1 < end; offer += 2) {
		gained += twice_above(price[offer[0].lot] - offer[0].cost) * offer[0].pieces;
		other += twice_above(price[offer[1].lot] - offer[1].cost) * offer[1].pieces;
	}
	if (offer < end)
		gained += twice_above(price[offer->lot] - offer->cost) * offer->pieces;
	return relax->cells->cell[relax->cells->first[s]].fixed_home - (gained + other) / 2;
}

wide
plain_value_exact(const struct relax *relax, size_t s)
{
	const struct plain *plain = &relax->plain;
	wide value = relax->cells->cell[relax->cells->first[s]].fixed;

	for (size_t n = plain->from[s]; n < plain->to[s]; n++) {
		const struct plain_offer *offer = &plain->near[n];
		int64_t need = relax->model->lot[offer->lot].need, cap = relax->cap[offer->listing];
		wide gain =
		    (wide)relax->scratch_nano[offer->lot] * 1000 - plain->unit[offer->listing];

		if (gain > 0)
			value -= gain * (cap < need ? cap : need);
	}
	return value;
}

void
plain_fill(struct relax *relax, size_t s, const double *price)
{
	const struct plain *plain = &relax->plain;

	for (size_t n = plain->from[s]; n < plain->to[s]; n++) {
		const struct plain_offer *offer = &plain->near[n];

		relax->filled[offer->lot] += if_so(price[offer->lot] > offer->cost, offer->pieces);
	}
}
