#include "plan/draft.h"

#include "base/mem.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define NOT_MET 1e7  /* home currency: what a piece short, or a rule broken, seems to cost */
#define CHEAPER 1e-7 /* home currency: what less is no gain */

void
draft_init(struct draft *draft, struct relax *relax)
{
	const struct model *model = relax->model;
	size_t sums = 1, kinds = 1, charges = 0;

	*draft = (struct draft){.model = model, .relax = relax};
	draft->offer = mem_zero(model->edges, sizeof *draft->offer);
	draft->first = mem_zero(model->lots + 1, sizeof *draft->first);
	draft->place = mem_zero(model->edges, sizeof *draft->place);
	draft->order = mem_zero(model->lots, sizeof *draft->order);
	draft->worth = mem_zero(model->lots, sizeof *draft->worth);
	draft->open = mem_zero(model->sellers, sizeof *draft->open);
	draft->bought = mem_zero(model->listings, sizeof *draft->bought);
	draft->used = mem_zero(model->edges, sizeof *draft->used);
	draft->filled = mem_zero(model->lots, sizeof *draft->filled);
	draft->cost = mem_zero(model->sellers, sizeof *draft->cost);
	draft->touched = mem_zero(model->sellers, sizeof *draft->touched);
	draft->touch = mem_zero(model->sellers, sizeof *draft->touch);
	for (size_t s = 0; s < model->sellers; s++) {
		const struct model_seller *seller = &model->seller[s];

		if (model_sums(model, s) > sums)
			sums = model_sums(model, s);
		if (seller->kinds > kinds)
			kinds = seller->kinds;
		if (seller->terms != NULL && seller->terms->charges > charges)
			charges = seller->terms->charges;
	}
	draft->sums = mem_zero(sums * BASES, sizeof *draft->sums);
	draft->amount = mem_zero(charges, sizeof *draft->amount);
	draft->seen = mem_zero(kinds * sums, 1);
	exchange_init(&draft->exchange, model);
	draft_refresh(draft);
}

void
draft_free(struct draft *draft)
{
	free(draft->offer);
	free(draft->first);
	free(draft->place);
	free(draft->order);
	free(draft->worth);
	free(draft->open);
	free(draft->bought);
	free(draft->used);
	free(draft->filled);
	free(draft->cost);
	free(draft->touched);
	free(draft->touch);
	free(draft->sums);
	free(draft->amount);
	free(draft->seen);
	exchange_free(&draft->exchange);
}

static int
compare_offers(const void *a, const void *b)
{
	const struct draft_offer *x = a, *y = b;

	if (x->unit != y->unit)
		return x->unit < y->unit ? -1 : 1;
	return x->edge < y->edge ? -1 : x->edge > y->edge;
}

/* The cell whose factors stand for a seller: its first that the node allows. */
static const struct cell *
sample_cell(const struct relax *relax, size_t s)
{
	for (size_t i = relax->cells->first[s]; i < relax->cells->first[s + 1]; i++)
		if (!relax->cell_off[i])
			return &relax->cells->cell[i];
	return &relax->cells->cell[relax->cells->first[s]];
}

static double
listing_price(const struct model *model, const struct model_listing *l, int64_t pieces)
{
	double least = FAR;

	for (size_t b = 0; b < l->breaks; b++) {
		const struct model_break *brk = &model->brk[l->brk + b];

		if ((brk->least <= pieces || b == 0) && (double)brk->price < least)
			least = (double)brk->price;
	}
	return least * 1e-6;
}

static void
count_uses(struct draft *draft, bool place, size_t *fill)
{
	const struct model *model = draft->model;
	const struct relax *relax = draft->relax;

	for (size_t i = 0; i < relax->actives; i++) {
		const struct model_seller *seller = &model->seller[relax->active[i]];
		const struct cell *cell = sample_cell(relax, relax->active[i]);

		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];

			if (relax->most[j] == 0)
				continue;
			for (size_t e = l->edge; e < l->edge + l->edges; e++) {
				size_t r = model->edge[e], lot = model->row[r].lot;

				if (relax->row_off[r])
					continue;
				if (!place) {
					draft->first[lot + 1]++;
					continue;
				}
				draft->offer[fill[lot]++] = (struct draft_offer){
				    listing_price(model, l, model->lot[lot].need) *
				            cell->factor_home[l->sum] +
				        (double)model->row[r].penalty * 1e-6,
				    j, e, l->seller};
			}
		}
	}
}

struct lot_size {
	size_t uses, lot;
};

static int
compare_sizes(const void *a, const void *b)
{
	const struct lot_size *x = a, *y = b;

	if (x->uses != y->uses)
		return x->uses < y->uses ? -1 : 1;
	return x->lot < y->lot ? -1 : x->lot > y->lot;
}

void
draft_refresh(struct draft *draft)
{
	size_t lots = draft->model->lots;
	size_t *fill = mem_alloc((lots + 1) * sizeof *fill);
	struct lot_size *size = mem_alloc((lots + 1) * sizeof *size);

	memset(draft->first, 0, (lots + 1) * sizeof *draft->first);
	count_uses(draft, false, NULL);
	for (size_t i = 0; i < lots; i++) {
		size[i] = (struct lot_size){draft->first[i + 1], i};
		draft->first[i + 1] += draft->first[i];
		fill[i] = draft->first[i];
		draft->worth[i] = draft->model->lot[i].must ? FAR : draft->relax->price_most[i];
	}
	count_uses(draft, true, fill);
	for (size_t i = 0; i < lots; i++)
		qsort(draft->offer + draft->first[i], draft->first[i + 1] - draft->first[i],
		      sizeof *draft->offer, compare_offers);
	for (size_t e = 0; e < draft->model->edges; e++)
		draft->place[e] = SIZE_MAX;
	for (size_t i = 0; i < draft->first[lots]; i++)
		draft->place[draft->offer[i].edge] = i;
	qsort(size, lots, sizeof *size, compare_sizes);
	for (size_t i = 0; i < lots; i++)
		draft->order[i] = size[i].lot;
	free(fill);
	free(size);
}

/* All that is bought is set here: what the order costs is known no more. */
static void
buy(struct draft *draft, size_t j, int64_t pieces)
{
	draft->cost[draft->model->listing[j].seller].known =
	    draft->cost[draft->model->listing[j].seller].known && pieces == draft->bought[j];
	draft->bought[j] = pieces;
}

void
draft_clear(struct draft *draft)
{
	const struct model *model = draft->model;

	for (size_t i = 0; i < draft->touches; i++) {
		const struct model_seller *seller = &model->seller[draft->touched[i]];

		draft->touch[draft->touched[i]] = false;
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];

			if (draft->bought[j] == 0)
				continue;
			buy(draft, j, 0);
			memset(draft->used + l->edge, 0, l->edges * sizeof *draft->used);
		}
	}
	draft->touches = 0;
	memset(draft->filled, 0, model->lots * sizeof *draft->filled);
}

static void
touch(struct draft *draft, size_t s)
{
	if (draft->touch[s])
		return;
	draft->touch[s] = true;
	draft->touched[draft->touches++] = s;
}

static int64_t
listing_used(const struct draft *draft, const struct model_listing *l)
{
	int64_t used = 0;

	for (size_t e = l->edge; e < l->edge + l->edges; e++)
		used += draft->used[e];
	return used;
}

/* The least quantity that the listing sells for at least `pieces`, or -1. */
static int64_t
sold_quantity(const struct draft *draft, size_t j, int64_t pieces)
{
	const struct model_listing *l = &draft->model->listing[j];
	int64_t least = draft->model->brk[l->brk].least;

	if (pieces < least)
		pieces = least;
	pieces = (pieces + l->step - 1) / l->step * l->step;
	return pieces <= draft->relax->most[j] ? pieces : -1;
}

static void
use(struct draft *draft, size_t lot, const struct draft_offer *offer, int64_t pieces)
{
	const struct model_listing *l = &draft->model->listing[offer->listing];
	int64_t bought;

	draft->used[offer->edge] += pieces;
	draft->filled[lot] += pieces;
	bought = sold_quantity(draft, offer->listing, listing_used(draft, l));
	if (bought > draft->bought[offer->listing])
		buy(draft, offer->listing, bought);
	touch(draft, l->seller);
}

/* What the next open offer after i asks for a piece, or what leaving it out costs. */
static double
next_unit(const struct draft *draft, size_t lot, size_t i)
{
	double worth = draft->worth[lot];

	for (i++; i < draft->first[lot + 1]; i++) {
		const struct draft_offer *offer = &draft->offer[i];

		if (draft->open[offer->seller] && draft->bought[offer->listing] == 0)
			return offer->unit < worth ? offer->unit : worth;
	}
	return worth;
}

static void
fill_lot(struct draft *draft, size_t lot)
{
	const struct model *model = draft->model;
	int64_t need = model->lot[lot].need - draft->filled[lot];

	for (size_t i = draft->first[lot]; i < draft->first[lot + 1] && need > 0; i++) {
		const struct draft_offer *offer = &draft->offer[i];
		const struct model_listing *l;
		int64_t free, part, sold;

		draft->work++;
		if (!draft->open[offer->seller])
			continue;
		if (offer->unit >= draft->worth[lot])
			break;
		l = &model->listing[offer->listing];
		free =
		    draft->relax->most[offer->listing] / l->step * l->step - listing_used(draft, l);
		part = free < need ? free : need;
		if (part <= 0)
			continue;
		if (l->step > 1 || model->brk[l->brk].least > 1) {
			int64_t used = listing_used(draft, l);
			int64_t whole = (used + part) / l->step * l->step - used;

			sold = sold_quantity(draft, offer->listing, used + part);
			if (sold < 0)
				sold = INT64_MAX;
			/* Paying for more than is used: dearer than the next offer? Then less. */
			if (sold - used > part &&
			    (sold == INT64_MAX ||
			     offer->unit * (double)(sold - used) >
			         offer->unit * (double)(whole > 0 ? whole : 0) +
			             next_unit(draft, lot, i) *
			                 (double)(part - (whole > 0 ? whole : 0)))) {
				if (whole <= 0 || used + whole < model->brk[l->brk].least)
					continue;
				part = whole;
			}
		}
		use(draft, lot, offer, part);
		need -= part;
	}
}

void
draft_refill(struct draft *draft, size_t lot)
{
	for (size_t i = draft->first[lot]; i < draft->first[lot + 1]; i++) {
		const struct draft_offer *offer = &draft->offer[i];

		if (draft->used[offer->edge] == 0)
			continue;
		buy(draft, offer->listing, 0);
		draft->used[offer->edge] = 0;
	}
	draft->filled[lot] = 0;
	fill_lot(draft, lot);
}

void
draft_forget(struct draft *draft, size_t place)
{
	size_t *touched = draft->touched;

	draft->touch[touched[place]] = false;
	draft->touches--;
	memmove(touched + place, touched + place + 1, (draft->touches - place) * sizeof *touched);
}

static const double basis_unit[BASES] = {1e-6, 1e-6, 1, 1};

/* Adds what is bought of a listing, for so much, to a sum of its order. */
static void
add_line(struct draft *draft, size_t j, size_t k, double value)
{
	const struct model_listing *l = &draft->model->listing[j];
	unsigned char *seen = &draft->seen[k * draft->model->seller[l->seller].kinds + l->kind];
	double *sum = draft->sums + k * BASES, pieces = (double)draft->bought[j];

	sum[BASIS_VALUE] += value;
	sum[BASIS_WEIGHT] += pieces * (double)l->grams * 1e-6;
	sum[BASIS_PIECES] += pieces;
	sum[BASIS_LOTS] += !*seen && model_counts_lot(l, k);
	*seen = 1;
}

/* The sums of a seller's order, its basket included; draft->sums by sum and basis. */
static void
add_up(struct draft *draft, size_t s)
{
	const struct model *model = draft->model;
	const struct model_seller *seller = &model->seller[s];
	size_t sums = model_sums(model, s);

	memset(draft->sums, 0, sums * BASES * sizeof *draft->sums);
	memset(draft->seen, 0, seller->kinds * sums);
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];
		double value;

		if (draft->bought[j] == 0)
			continue;
		value = (double)draft->bought[j] * listing_price(model, l, draft->bought[j]);
		add_line(draft, j, 0, value);
		if (l->sum != 0)
			add_line(draft, j, l->sum, value);
	}
	if (draft->sums[BASIS_PIECES] > 0 && seller->basket != NULL)
		for (size_t k = 0; k < sums; k++)
			for (size_t i = 0; i < BASES; i++)
				draft->sums[k * BASES + i] +=
				    (double)seller->basket[k].basis[i] * basis_unit[i];
}

static double
fraction_unit(struct fraction micro)
{
	return (double)micro.top / (double)micro.bottom * 1e-6;
}

/* What the steps of a charge go by, of the sums in draft->sums; those before it are counted. */
static double
charge_basis(const struct draft *draft, const struct charge *charge)
{
	const double *sum = draft->sums + charge->sum * BASES;
	double basis = sum[BASIS_VALUE];

	if (charge->basis != BASIS_LANDED)
		return sum[charge->basis];
	for (size_t i = 0; i < charge->afters; i++)
		basis += draft->amount[charge->after[i]];
	return basis;
}

/* The basis at which a step is reached, about. */
static double
step_place(const struct charge *charge, size_t step)
{
	if (charge->basis != BASIS_LANDED)
		return (double)charge->step[step].reached * basis_unit[charge->basis];
	return fraction_unit(charge->step[step].place) + (charge->step[step].over ? 1e-6 : 0);
}

/* How many of a charge's steps are reached at a basis: they stand in order. */
static size_t
steps_reached(const struct charge *charge, double basis)
{
	size_t reached = 0, past = charge->steps;

	while (reached < past) {
		size_t middle = (reached + past) / 2;

		if (step_place(charge, middle) <= basis)
			reached = middle + 1;
		else
			past = middle;
	}
	return reached;
}

/* Counts a charge of the order in draft->sums; false: such an order is not shipped. */
static bool
count_charge(struct draft *draft, const struct terms *terms, size_t c, bool *is_taxed)
{
	const struct charge *charge = &terms->charge[c];
	const double *sum = draft->sums + charge->sum * BASES;
	const struct charge_step *step;
	size_t reached;
	double at;

	draft->amount[c] = 0;
	*is_taxed = false;
	if (sum[BASIS_PIECES] <= 0)
		return true;
	at = charge_basis(draft, charge);
	reached = steps_reached(charge, at + 1e-9);
	if (reached == 0)
		return true;
	step = &charge->step[reached - 1];
	*is_taxed = step->taxed;
	draft->amount[c] =
	    fraction_unit(step->amount) +
	    (double)step->percent * 1e-8 * (charge->basis == BASIS_LANDED ? at : sum[BASIS_VALUE]);
	return !step->refused;
}

/* What an order of the sums in draft->sums costs in home currency, order cost included. */
static double
sums_cost(struct draft *draft, const struct terms *terms)
{
	double total = draft->sums[BASIS_VALUE], taxed = total;
	double home = (double)terms->home.top / (double)terms->home.bottom;
	double refused = 0;

	for (size_t c = 0; c < terms->charges; c++) {
		bool is_taxed;

		if (!count_charge(draft, terms, c, &is_taxed))
			refused += NOT_MET;
		total += draft->amount[c];
		if (is_taxed)
			taxed += draft->amount[c];
	}
	return (total + taxed * (double)terms->tax * 1e-8) * home +
	       (double)terms->order_cost * 1e-6 + refused;
}

/* What the steps of a charge go by in the order of draft->sums. */
static double
counted_basis(struct draft *draft, const struct terms *terms, const struct charge *charge)
{
	if (charge->basis == BASIS_LANDED) /* the charges before it, for these sums */
		sums_cost(draft, terms);
	return charge_basis(draft, charge);
}

/* What an order costs in home currency. short_of: set to what its goods lack to the minimum, home
 * currency. */
static double
order_cost(struct draft *draft, size_t s, double *short_of)
{
	const struct terms *terms = draft->model->seller[s].terms;

	*short_of = 0;
	if (terms == NULL)
		return 0;
	add_up(draft, s);
	if (draft->sums[BASIS_PIECES] == 0)
		return 0;
	if (draft->sums[BASIS_VALUE] < (double)terms->minimum * 1e-6 - 1e-9)
		*short_of = ((double)terms->minimum * 1e-6 - draft->sums[BASIS_VALUE]) *
		            (double)terms->home.top / (double)terms->home.bottom;
	return sums_cost(draft, terms) - (double)draft->model->seller[s].basket_cost * 1e-9;
}

/* The cost of the sums with `lack` more goods of one sum, bought beyond the need. */
static double
lifted_cost(struct draft *draft, const struct terms *terms, size_t sum, double lack)
{
	double cost;

	draft->sums[BASIS_VALUE] += lack;
	if (sum != 0)
		draft->sums[sum * BASES + BASIS_VALUE] += lack;
	cost = sums_cost(draft, terms);
	if (draft->sums[BASIS_VALUE] < (double)terms->minimum * 1e-6 - 1e-9)
		cost += NOT_MET;
	draft->sums[BASIS_VALUE] -= lack;
	if (sum != 0)
		draft->sums[sum * BASES + BASIS_VALUE] -= lack;
	return cost;
}

static double
count_lifted(struct draft *draft, size_t s)
{
	const struct terms *terms = draft->model->seller[s].terms;
	double cost, short_of, least;

	cost = order_cost(draft, s, &short_of);
	if (terms == NULL || draft->sums[BASIS_PIECES] == 0)
		return cost;
	least = cost;
	if (short_of > 0)
		least = lifted_cost(draft, terms, 0,
		                    (double)terms->minimum * 1e-6 - draft->sums[BASIS_VALUE]);
	for (size_t c = 0; c < terms->charges; c++) {
		const struct charge *charge = &terms->charge[c];
		double goods = draft->sums[charge->sum * BASES + BASIS_VALUE], basis;

		if (!basis_is_money(charge->basis) || goods <= 0)
			continue;
		basis = counted_basis(draft, terms, charge);
		for (size_t k = 0; k < charge->steps; k++) {
			double lack = step_place(charge, k) - basis, with;

			if (lack <= 0 || lack > goods)
				continue;
			with = lifted_cost(draft, terms, charge->sum, lack);
			if (with < least)
				least = with;
		}
	}
	return least;
}

/* In a checking build: what is known of an order is what its lines say. */
static void
audit_known(struct draft *draft, size_t s)
{
#ifdef LOTPIPE_AUDIT
	assert(draft->cost[s].cost == count_lifted(draft, s));
#else
	(void)draft, (void)s;
#endif
}

/* What an order costs if it may be lifted over its minimum or one step of a value charge. */
static double
order_cost_lifted(struct draft *draft, size_t s)
{
	struct draft_cost *cost = &draft->cost[s];

	if (cost->known) {
		audit_known(draft, s);
	} else {
		cost->cost = count_lifted(draft, s);
		cost->buys = draft->model->seller[s].terms != NULL && draft->sums[BASIS_PIECES] > 0;
		cost->known = true;
	}
	return cost->cost;
}

/* Penalties of used pieces and what is lost on pieces left out. */
static double
use_cost(const struct draft *draft)
{
	const struct model *model = draft->model;
	double cost = 0;

	for (size_t i = 0; i < draft->touches; i++) {
		const struct model_seller *seller = &model->seller[draft->touched[i]];

		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];

			if (draft->bought[j] == 0)
				continue;
			for (size_t e = l->edge; e < l->edge + l->edges; e++)
				cost += (double)draft->used[e] *
				        (double)model->row[model->edge[e]].penalty * 1e-6;
		}
	}
	for (size_t i = 0; i < model->lots; i++) {
		double left = (double)(model->lot[i].need - draft->filled[i]);

		cost += left * (draft->worth[i] < NOT_MET ? draft->worth[i] : NOT_MET);
	}
	return cost;
}

/* strict: a rule broken costs NOT_MET; else orders are charged as if lifted where that pays. */
static double
total_cost(struct draft *draft, bool strict)
{
	double cost = use_cost(draft), short_of = 0;
	size_t orders = 0;

	for (size_t i = 0; i < draft->touches; i++) {
		size_t s = draft->touched[i];

		cost += strict ? order_cost(draft, s, &short_of) : order_cost_lifted(draft, s);
		if (short_of > 0)
			cost += NOT_MET;
		orders += draft->model->seller[s].terms != NULL &&
		          (strict ? draft->sums[BASIS_PIECES] > 0 : draft->cost[s].buys);
	}
	if (draft->model->max_orders != NO_LIMIT && orders > draft->model->max_orders)
		cost += NOT_MET * (double)(orders - draft->model->max_orders);
	draft->work += draft->touches;
	return cost;
}

double
draft_fill(struct draft *draft)
{
	draft_clear(draft);
	for (size_t i = 0; i < draft->model->lots; i++)
		fill_lot(draft, draft->order[i]);
	return total_cost(draft, false);
}

/* ---- Lifting an order ---- */

/* Moves pieces of one lot from elsewhere to the seller's listing. */
static void
pull(struct draft *draft, size_t lot, const struct draft_offer *to)
{
	const struct model *model = draft->model;
	size_t j = to->listing;
	const struct model_listing *l = &model->listing[j];
	int64_t free = draft->relax->most[j] / l->step * l->step - listing_used(draft, l);

	for (size_t i = draft->first[lot + 1]; i-- > draft->first[lot] && free > 0;) {
		const struct draft_offer *from = &draft->offer[i];
		const struct model_listing *f = &model->listing[from->listing];
		int64_t part = draft->used[from->edge], keep;

		if (part == 0 || f->seller == l->seller)
			continue;
		if (part > free)
			part = free;
		draft->used[from->edge] -= part;
		draft->filled[lot] -= part;
		keep = listing_used(draft, f);
		buy(draft, from->listing, keep > 0 ? sold_quantity(draft, from->listing, keep) : 0);
		use(draft, lot, to, part);
		free -= part;
	}
}

struct snapshot {
	int64_t *bought, *used, *filled;
	struct draft_cost *cost;
	size_t *touched, touches;
};

/* Copies what the touched sellers have; restore undoes everything since. */
static void
save(const struct draft *draft, struct snapshot *shot)
{
	const struct model *model = draft->model;
	size_t listings = 0, edges = 0;

	for (size_t i = 0; i < draft->touches; i++) {
		const struct model_seller *seller = &model->seller[draft->touched[i]];

		listings += seller->listings;
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
			edges += model->listing[j].edges;
	}
	shot->bought = mem_alloc(listings * sizeof *shot->bought);
	shot->used = mem_alloc(edges * sizeof *shot->used);
	shot->filled = mem_alloc(model->lots * sizeof *shot->filled);
	shot->touched = mem_alloc(draft->touches * sizeof *shot->touched);
	shot->cost = mem_alloc(draft->touches * sizeof *shot->cost);
	shot->touches = draft->touches;
	memcpy(shot->touched, draft->touched, draft->touches * sizeof *shot->touched);
	memcpy(shot->filled, draft->filled, model->lots * sizeof *shot->filled);
	listings = edges = 0;
	for (size_t i = 0; i < draft->touches; i++) {
		const struct model_seller *seller = &model->seller[draft->touched[i]];

		shot->cost[i] = draft->cost[draft->touched[i]];
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			shot->bought[listings++] = draft->bought[j];
			memcpy(shot->used + edges, draft->used + model->listing[j].edge,
			       model->listing[j].edges * sizeof *shot->used);
			edges += model->listing[j].edges;
		}
	}
}

static void
restore(struct draft *draft, const struct snapshot *shot)
{
	const struct model *model = draft->model;
	size_t listings = 0, edges = 0;

	draft_clear(draft);
	memcpy(draft->filled, shot->filled, model->lots * sizeof *shot->filled);
	for (size_t i = 0; i < shot->touches; i++) {
		const struct model_seller *seller = &model->seller[shot->touched[i]];

		touch(draft, shot->touched[i]);
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			buy(draft, j, shot->bought[listings++]);
			memcpy(draft->used + model->listing[j].edge, shot->used + edges,
			       model->listing[j].edges * sizeof *shot->used);
			edges += model->listing[j].edges;
		}
		draft->cost[shot->touched[i]] = shot->cost[i];
	}
}

static void
drop_snapshot(struct snapshot *shot)
{
	free(shot->bought);
	free(shot->used);
	free(shot->filled);
	free(shot->touched);
	free(shot->cost);
}

struct mover {
	double ratio; /* what a unit of goods gained costs */
	size_t lot;
	struct draft_offer to;
};

static int
compare_movers(const void *a, const void *b)
{
	const struct mover *x = a, *y = b;

	if (x->ratio != y->ratio)
		return x->ratio < y->ratio ? -1 : 1;
	return x->to.edge < y->to.edge ? -1 : x->to.edge > y->to.edge;
}

/* What the pieces of a lot that other sellers serve cost at the most, a piece. */
static double
dearest_elsewhere(const struct draft *draft, size_t lot, size_t seller)
{
	for (size_t i = draft->first[lot + 1]; i-- > draft->first[lot];) {
		const struct draft_offer *offer = &draft->offer[i];

		if (draft->used[offer->edge] > 0 && offer->seller != seller)
			return offer->unit;
	}
	return -1;
}

static double
goods_of(struct draft *draft, size_t s, size_t sum)
{
	add_up(draft, s);
	return draft->sums[sum * BASES + BASIS_VALUE];
}

/* Buys more of what the order holds (or could), until its goods reach the target. */
static void
buy_surplus(struct draft *draft, size_t s, size_t sum, double target)
{
	const struct model *model = draft->model;
	const struct model_seller *seller = &model->seller[s];

	for (int round = 0; round < 60; round++) {
		double lack = target - goods_of(draft, s, sum), best_over = FAR;
		size_t best = SIZE_MAX;
		int64_t best_bought = 0;

		if (lack <= 1e-9)
			return;
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];
			double price = listing_price(model, l, draft->bought[j] + l->step);
			int64_t more, bought;
			double gain, over;

			if ((sum != 0 && l->sum != sum) || price <= 0 || l->edges == 0)
				continue;
			more = (int64_t)(lack / price);
			if ((double)more * price < lack - 1e-9)
				more++;
			bought = sold_quantity(draft, j, draft->bought[j] + more);
			if (bought < 0) {
				bought = draft->relax->most[j] / l->step * l->step;
				if (bought <= draft->bought[j] || bought < model->brk[l->brk].least)
					continue;
			}
			gain = (double)bought * listing_price(model, l, bought) -
			       (double)draft->bought[j] * listing_price(model, l, draft->bought[j]);
			over = gain >= lack - 1e-9 ? gain - lack : (lack - gain) * 2 + target;
			if (gain > 1e-9 && over < best_over) {
				best_over = over;
				best = j;
				best_bought = bought;
			}
		}
		if (best == SIZE_MAX)
			return;
		buy(draft, best, best_bought);
		touch(draft, s);
	}
}

/* Lifts the goods of an order (in one sum) to a target: moves the pieces that cost least to move,
 * then buys more than the need. Without move, only the latter: no other order loses goods. */
static void
lift(struct draft *draft, size_t s, size_t sum, double target, bool move)
{
	const struct model *model = draft->model;
	const struct model_seller *seller = &model->seller[s];
	struct mover *list = NULL;
	size_t count = 0, room = 0;

	for (size_t j = seller->listing; move && j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];
		double price = listing_price(model, l, model->brk[l->brk].least);

		if ((sum != 0 && l->sum != sum) || price <= 0)
			continue;
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			size_t r = model->edge[e], lot = model->row[r].lot;
			double there, unit;

			if (draft->relax->row_off[r])
				continue;
			there = dearest_elsewhere(draft, lot, s);
			if (there < 0)
				continue;
			unit = price * sample_cell(draft->relax, s)->factor_home[l->sum] +
			       (double)model->row[r].penalty * 1e-6;
			MEM_ROOM(list, count, room);
			list[count++] =
			    (struct mover){(unit - there) / price, lot, {unit, j, e, s}};
		}
	}
	if (count > 0)
		qsort(list, count, sizeof *list, compare_movers);
	for (size_t i = 0; i < count && goods_of(draft, s, sum) < target - 1e-9; i++)
		pull(draft, list[i].lot, &list[i].to);
	free(list);
	buy_surplus(draft, s, sum, target);
}

static bool
lift_if_better(struct draft *draft, size_t s, size_t sum, double target, bool move, double *cost)
{
	struct snapshot shot;
	double after;
	bool better;

	save(draft, &shot);
	lift(draft, s, sum, target, move);
	after = total_cost(draft, true);
	better = after < *cost - 1e-9;
	if (better)
		*cost = after;
	else
		restore(draft, &shot);
	drop_snapshot(&shot);
	return better;
}

static bool
try_lift(struct draft *draft, size_t s, size_t sum, double target, double *cost)
{
	return lift_if_better(draft, s, sum, target, true, cost) ||
	       lift_if_better(draft, s, sum, target, false, cost);
}

double
draft_lift(struct draft *draft)
{
	const struct model *model = draft->model;
	double cost = total_cost(draft, true);

	for (int round = 0; round < 4; round++) {
		bool better = false;

		for (size_t i = 0; i < draft->touches; i++) {
			size_t s = draft->touched[i];
			const struct terms *terms = model->seller[s].terms;

			if (terms == NULL)
				continue;
			if (terms->minimum > 0 &&
			    goods_of(draft, s, 0) < (double)terms->minimum * 1e-6 - 1e-9)
				better |=
				    try_lift(draft, s, 0, (double)terms->minimum * 1e-6, &cost);
			for (size_t c = 0; c < terms->charges; c++) {
				const struct charge *charge = &terms->charge[c];

				if (!basis_is_money(charge->basis))
					continue;
				for (size_t k = 0; k < charge->steps; k++) {
					double goods = goods_of(draft, s, charge->sum);
					double lack = step_place(charge, k) -
					              counted_basis(draft, terms, charge);
					double target = goods + lack;

					if (goods > 0 && lack > 1e-9)
						better |=
						    try_lift(draft, s, charge->sum, target, &cost);
				}
			}
		}
		if (!better)
			break;
	}
	return cost;
}

/* ---- Which sellers ---- */

/* May the sellers that are open, or may be, be judged by what exchange_change says? */
static bool
all_plain(const struct draft *draft, const size_t *candidate, size_t candidates)
{
	const struct relax *relax = draft->relax;

	if (draft->model->max_orders != NO_LIMIT)
		return false;
	for (size_t i = 0; i < relax->actives; i++)
		if (draft->open[relax->active[i]] && !relax->plain_seller[relax->active[i]])
			return false;
	for (size_t i = 0; i < candidates; i++)
		if (!relax->plain_seller[candidate[i]])
			return false;
	return true;
}

static double
fill_and_note(struct draft *draft)
{
	double cost = draft_fill(draft);

	if (draft->plain)
		exchange_note(&draft->exchange, draft);
	return cost;
}

/* Shuts one seller and opens one; SIZE_MAX: none. */
static void
change_sellers(struct draft *draft, size_t shut, size_t open)
{
	if (shut != SIZE_MAX)
		draft->open[shut] = false;
	if (open != SIZE_MAX)
		draft->open[open] = true;
}

/* Does so if that is cheaper; an order less at the same cost counts as cheaper where all are plain.
 */
static bool
change_if_better(struct draft *draft, size_t shut, size_t open, double *best)
{
	double cost;

	if (draft->plain) {
		double change = exchange_change(&draft->exchange, draft, shut, open, &draft->work);

		if (change >= -CHEAPER)
			return false;
		change_sellers(draft, shut, open);
		exchange_make(&draft->exchange, draft);
		*best += change;
		return true;
	}
	change_sellers(draft, shut, open);
	cost = draft_fill(draft);
	if (cost >= *best - CHEAPER) {
		change_sellers(draft, open, shut);
		return false;
	}
	*best = cost;
	return true;
}

static bool
may_close(const struct draft *draft, size_t s)
{
	return draft->open[s] && draft->model->seller[s].terms != NULL &&
	       draft->relax->status[s] != SELLER_OPEN;
}

static bool
close_some(struct draft *draft, double *best)
{
	size_t count = draft->touches, *was = mem_alloc((count + 1) * sizeof *was);
	bool better = false;

	memcpy(was, draft->touched, count * sizeof *was);
	for (size_t i = 0; i < count; i++)
		if (may_close(draft, was[i]))
			better |= change_if_better(draft, was[i], SIZE_MAX, best);
	free(was);
	return better;
}

/* Sellers that the fill did not use are closed. */
static void
close_idle(struct draft *draft)
{
	for (size_t i = 0; i < draft->relax->actives; i++) {
		size_t s = draft->relax->active[i];

		if (!draft->touch[s] && draft->relax->status[s] != SELLER_OPEN &&
		    draft->model->seller[s].terms != NULL)
			draft->open[s] = false;
	}
}

static bool
open_some(struct draft *draft, const size_t *candidate, size_t candidates, double *best)
{
	bool better = false;

	for (size_t i = 0; i < candidates; i++)
		if (!draft->open[candidate[i]])
			better |= change_if_better(draft, SIZE_MAX, candidate[i], best);
	return better;
}

static bool
exchange_some(struct draft *draft, const size_t *candidate, size_t candidates, double *best)
{
	bool better = false;

	fill_and_note(draft);
	for (size_t n = 0; n < candidates; n++) {
		size_t count, *was;
		bool exchanged = false;

		if (draft->open[candidate[n]])
			continue;
		count = draft->touches;
		was = mem_alloc((count + 1) * sizeof *was);
		memcpy(was, draft->touched, count * sizeof *was);
		for (size_t i = 0; i < count && !exchanged; i++)
			if (may_close(draft, was[i]))
				exchanged = change_if_better(draft, was[i], candidate[n], best);
		better |= exchanged;
		free(was);
	}
	return better;
}

double
draft_improve(struct draft *draft, const size_t *candidate, size_t candidates, int rounds)
{
	double best;

	draft->plain = all_plain(draft, candidate, candidates);
	best = fill_and_note(draft);
	for (int round = 0; round < rounds; round++) {
		bool better = close_some(draft, &best);

		best = fill_and_note(draft);
		close_idle(draft);
		better |= open_some(draft, candidate, candidates, &best);
		best = fill_and_note(draft);
		close_idle(draft);
		if (!better)
			better = exchange_some(draft, candidate, candidates, &best);
		best = fill_and_note(draft);
		close_idle(draft);
		if (!better)
			break;
	}
	return draft_fill(draft);
}

/* ---- Moves judged by what orders cost ---- */

/* What an order seems to cost. */
static double
seller_cost(struct draft *draft, size_t s)
{
	draft->work += draft->model->seller[s].listings / 4 + 1;
	return order_cost_lifted(draft, s);
}

double
draft_unit_lost(const struct draft *draft, size_t lot)
{
	return draft->worth[lot] < NOT_MET ? draft->worth[lot] : NOT_MET;
}

/* Sets how many pieces of a listing are used for a lot, and what must be bought for it. */
static void
set_use(struct draft *draft, size_t lot, const struct draft_offer *offer, int64_t pieces)
{
	const struct model_listing *l = &draft->model->listing[offer->listing];
	int64_t used;

	draft->filled[lot] += pieces - draft->used[offer->edge];
	draft->used[offer->edge] = pieces;
	used = listing_used(draft, l);
	buy(draft, offer->listing, used > 0 ? sold_quantity(draft, offer->listing, used) : 0);
	touch(draft, l->seller);
}

/* What set_use changes, as it was. */
struct use_before {
	int64_t pieces, bought;
	struct draft_cost cost;
};

static struct use_before
use_now(const struct draft *draft, const struct draft_offer *offer)
{
	return (struct use_before){draft->used[offer->edge], draft->bought[offer->listing],
	                           draft->cost[offer->seller]};
}

static void
put_back(struct draft *draft, size_t lot, const struct draft_offer *offer,
         const struct use_before *before)
{
	draft->filled[lot] += before->pieces - draft->used[offer->edge];
	draft->used[offer->edge] = before->pieces;
	draft->bought[offer->listing] = before->bought;
	draft->cost[offer->seller] = before->cost;
}

/* Pieces more that the listing could give this lot. */
static int64_t
spare(const struct draft *draft, const struct draft_offer *offer)
{
	const struct model_listing *l = &draft->model->listing[offer->listing];
	int64_t most = draft->relax->most[offer->listing] / l->step * l->step;

	if (most < draft->model->brk[l->brk].least)
		return 0;
	return most - listing_used(draft, l);
}

static double
penalty_of(const struct draft *draft, const struct draft_offer *offer)
{
	return (double)draft->model->row[draft->model->edge[offer->edge]].penalty * 1e-6;
}

void
draft_insert(struct draft *draft)
{
	const struct model *model = draft->model;

	for (size_t n = 0; n < model->lots; n++) {
		size_t lot = draft->order[n];

		while (draft->filled[lot] < model->lot[lot].need) {
			int64_t need = model->lot[lot].need - draft->filled[lot], best_part = 0;
			double best = draft_unit_lost(draft, lot);
			size_t best_at = SIZE_MAX;

			for (size_t i = draft->first[lot]; i < draft->first[lot + 1]; i++) {
				const struct draft_offer *offer = &draft->offer[i];
				size_t s = offer->seller;
				int64_t part = spare(draft, offer);
				struct use_before was;
				double before, after, unit;

				if (!draft->open[s] || part <= 0)
					continue;
				if (offer->unit > 4 * best)
					break;
				part = part < need ? part : need;
				before = draft->touch[s] ? seller_cost(draft, s) : 0;
				was = use_now(draft, offer);
				set_use(draft, lot, offer, was.pieces + part);
				after = seller_cost(draft, s);
				put_back(draft, lot, offer, &was);
				unit = (after - before) / (double)part + penalty_of(draft, offer);
				if (unit < best) {
					best = unit;
					best_at = i;
					best_part = part;
				}
			}
			if (best_at == SIZE_MAX)
				break;
			set_use(draft, lot, &draft->offer[best_at],
			        draft->used[draft->offer[best_at].edge] + best_part);
		}
	}
}

/* Moves the pieces that one offer gives a lot to another, if that is cheaper in all. */
static bool
try_move(struct draft *draft, size_t lot, const struct draft_offer *from,
         const struct draft_offer *to)
{
	size_t a = from->seller, b = to->seller;
	int64_t part = spare(draft, to), most = draft->used[from->edge];
	struct use_before from_was, to_was;
	double before, after;

	if (from->listing == to->listing)
		part = most;
	if (part > most)
		part = most;
	if (part <= 0)
		return false;
	before = seller_cost(draft, a) + (a != b ? seller_cost(draft, b) : 0);
	from_was = use_now(draft, from);
	to_was = use_now(draft, to);
	set_use(draft, lot, from, from_was.pieces - part);
	set_use(draft, lot, to, to_was.pieces + part);
	after = seller_cost(draft, a) + (a != b ? seller_cost(draft, b) : 0) +
	        (double)part * (penalty_of(draft, to) - penalty_of(draft, from));
	if (after < before - 1e-9)
		return true;
	put_back(draft, lot, to, &to_was);
	put_back(draft, lot, from, &from_was);
	return false;
}

static bool
move_lot(struct draft *draft, size_t lot)
{
	bool better = false;

	for (size_t i = draft->first[lot]; i < draft->first[lot + 1]; i++) {
		const struct draft_offer *from = &draft->offer[i];

		if (draft->used[from->edge] == 0)
			continue;
		for (size_t k = draft->first[lot]; k < draft->first[lot + 1]; k++) {
			const struct draft_offer *to = &draft->offer[k];

			draft->work++;
			if (k == i || !draft->open[to->seller])
				continue;
			if (try_move(draft, lot, from, to)) {
				better = true;
				if (draft->used[from->edge] == 0)
					break;
			}
		}
	}
	return better;
}

/* Leaves out pieces of optional lots that cost more than they are worth. */
static bool
drop_pieces(struct draft *draft, size_t lot)
{
	bool better = false;

	if (draft->worth[lot] >= NOT_MET)
		return false;
	for (size_t i = draft->first[lot]; i < draft->first[lot + 1]; i++) {
		const struct draft_offer *offer = &draft->offer[i];
		size_t s = offer->seller;
		struct use_before was;
		double before, after;

		if (draft->used[offer->edge] == 0)
			continue;
		before = seller_cost(draft, s);
		was = use_now(draft, offer);
		before += (double)was.pieces * penalty_of(draft, offer);
		set_use(draft, lot, offer, 0);
		after = seller_cost(draft, s) + (double)was.pieces * draft_unit_lost(draft, lot);
		if (after < before - 1e-9)
			better = true;
		else
			put_back(draft, lot, offer, &was);
	}
	return better;
}

static void
move_all(struct draft *draft)
{
	bool better = true;

	for (int pass = 0; better && pass < 8; pass++) {
		better = false;
		for (size_t n = 0; n < draft->model->lots; n++) {
			better |= drop_pieces(draft, draft->order[n]);
			better |= move_lot(draft, draft->order[n]);
		}
		draft_insert(draft);
	}
}

/* Takes everything back from a seller and shuts it. */
static void
empty_seller(struct draft *draft, size_t s)
{
	const struct model *model = draft->model;
	const struct model_seller *seller = &model->seller[s];

	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		if (draft->bought[j] == 0)
			continue;
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			draft->filled[model->row[model->edge[e]].lot] -= draft->used[e];
			draft->used[e] = 0;
		}
		buy(draft, j, 0);
	}
	draft->open[s] = false;
}

/* Opens a seller and moves to it what it sells for less, its own charges aside. */
static void
fill_seller(struct draft *draft, size_t s)
{
	const struct model *model = draft->model;
	const struct model_seller *seller = &model->seller[s];
	double factor;

	draft->open[s] = true;
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		if (draft->relax->most[j] == 0)
			continue;
		factor = sample_cell(draft->relax, s)->factor_home[l->sum];
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			size_t r = model->edge[e], lot = model->row[r].lot;
			struct draft_offer to = {0, j, e, s};

			if (draft->relax->row_off[r])
				continue;
			to.unit = listing_price(model, l, model->lot[lot].need) * factor +
			          penalty_of(draft, &to);
			for (size_t i = draft->first[lot + 1]; i-- > draft->first[lot];) {
				const struct draft_offer *from = &draft->offer[i];
				int64_t part = spare(draft, &to), was = draft->used[from->edge];

				if (from->unit <= to.unit || part <= 0)
					break;
				if (was == 0 || from->seller == s)
					continue;
				part = part < was ? part : was;
				set_use(draft, lot, from, was - part);
				set_use(draft, lot, &to, draft->used[to.edge] + part);
			}
		}
	}
}

static bool
enough_settled(struct draft *draft)
{
	return draft->work > draft->work_most || (draft->stop != NULL && draft->stop(draft->data));
}

static bool
can_close(const struct draft *draft, size_t s)
{
	return draft->touch[s] && draft->open[s] && draft->model->seller[s].terms != NULL &&
	       draft->relax->status[s] != SELLER_OPEN;
}

/* Closes one, opens one (SIZE_MAX: none), settles; keeps it if it is cheaper. */
static bool
try_sellers(struct draft *draft, size_t close, size_t open, double *cost)
{
	struct snapshot shot;
	double after;
	bool better;

	save(draft, &shot);
	if (open != SIZE_MAX)
		fill_seller(draft, open);
	if (close != SIZE_MAX)
		empty_seller(draft, close);
	draft_insert(draft);
	after = total_cost(draft, false);
	/* Near enough to be worth settling? */
	if (after < *cost * 1.03 + 1e-9) {
		move_all(draft);
		after = total_cost(draft, false);
	}
	better = after < *cost - CHEAPER;
	if (better) {
		*cost = after;
	} else {
		restore(draft, &shot);
		if (open != SIZE_MAX)
			draft->open[open] = false;
		if (close != SIZE_MAX)
			draft->open[close] = true;
	}
	drop_snapshot(&shot);
	return better;
}

double
draft_settle(struct draft *draft, const size_t *candidate, size_t candidates, int rounds)
{
	double cost;

	draft_insert(draft);
	move_all(draft);
	cost = total_cost(draft, false);
	for (int round = 0; round < rounds; round++) {
		bool better = false;

		for (size_t i = 0; i < draft->touches && !enough_settled(draft); i++)
			if (can_close(draft, draft->touched[i]))
				better |= try_sellers(draft, draft->touched[i], SIZE_MAX, &cost);
		for (size_t i = 0; i < candidates && !enough_settled(draft); i++)
			if (!draft->open[candidate[i]])
				better |= try_sellers(draft, SIZE_MAX, candidate[i], &cost);
		for (size_t i = 0; i < candidates && !better; i++) {
			if (draft->open[candidate[i]])
				continue;
			for (size_t k = 0; k < draft->touches && !draft->open[candidate[i]] &&
			                   !enough_settled(draft);
			     k++)
				if (can_close(draft, draft->touched[k]))
					better |= try_sellers(draft, draft->touched[k],
					                      candidate[i], &cost);
		}
		if (!better)
			break;
	}
	return cost;
}

/* Calls for every use of the draft: adds up pieces by row, or takes back those of broken labels. */
static void
each_use(struct draft *draft, int64_t *filled, const bool *broken)
{
	const struct model *model = draft->model;

	for (size_t i = 0; i < draft->touches; i++) {
		const struct model_seller *seller = &model->seller[draft->touched[i]];

		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];

			for (size_t e = l->edge; e < l->edge + l->edges && draft->bought[j] > 0;
			     e++) {
				const struct model_row *row = &model->row[model->edge[e]];
				struct draft_offer offer = {0, j, e, draft->touched[i]};

				if (broken == NULL)
					filled[model->edge[e]] += draft->used[e];
				else if (row->label != NO_LABEL && broken[row->label] &&
				         draft->used[e] > 0)
					set_use(draft, row->lot, &offer, 0);
			}
		}
	}
}

void
draft_drop_partial(struct draft *draft)
{
	const struct model *model = draft->model;
	int64_t *filled;
	bool *some, *broken;

	if (model->labels == 0)
		return;
	filled = mem_zero(model->rows, sizeof *filled);
	some = mem_zero(model->labels, sizeof *some);
	broken = mem_zero(model->labels, sizeof *broken);
	each_use(draft, filled, NULL);
	for (size_t r = 0; r < model->rows; r++)
		if (model->row[r].label != NO_LABEL && filled[r] > 0)
			some[model->row[r].label] = true;
	for (size_t r = 0; r < model->rows; r++)
		if (model->row[r].label != NO_LABEL && some[model->row[r].label] &&
		    filled[r] < model->lot[model->row[r].lot].need)
			broken[model->row[r].label] = true;
	each_use(draft, filled, broken);
	free(filled);
	free(some);
	free(broken);
}

bool
draft_close_broken(struct draft *draft)
{
	bool any = false;

	for (size_t i = 0; i < draft->touches; i++) {
		size_t s = draft->touched[i];
		double short_of, cost = order_cost(draft, s, &short_of);

		if (short_of <= 0 && cost < NOT_MET)
			continue;
		empty_seller(draft, s);
		any = true;
	}
	if (any)
		draft_insert(draft);
	return any;
}

/* The cost with one more seller open; everything is as before afterwards. */
static double
cost_with(struct draft *draft, size_t open)
{
	struct snapshot shot;
	double cost;

	save(draft, &shot);
	fill_seller(draft, open);
	draft_insert(draft);
	cost = total_cost(draft, false);
	restore(draft, &shot);
	drop_snapshot(&shot);
	draft->open[open] = false;
	return cost;
}

double
draft_grow(struct draft *draft, const size_t *candidate, size_t candidates, int rounds)
{
	double cost;

	draft_insert(draft);
	cost = total_cost(draft, false);
	for (;;) {
		size_t best = SIZE_MAX;
		double least = cost - CHEAPER;

		for (size_t i = 0; i < candidates; i++) {
			double with;

			if (draft->open[candidate[i]] || enough_settled(draft))
				continue;
			with = cost_with(draft, candidate[i]);
			if (with < least) {
				least = with;
				best = candidate[i];
			}
		}
		if (best == SIZE_MAX)
			break;
		fill_seller(draft, best);
		draft_insert(draft);
		cost = total_cost(draft, false);
	}
	return draft_settle(draft, candidate, candidates, rounds);
}

void
draft_take(struct draft *draft, size_t s, const int64_t *bought, const double *used)
{
	const struct model *model = draft->model;
	const struct model_seller *seller = &model->seller[s];

	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		if (bought[j] == 0)
			continue;
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			size_t lot = model->row[model->edge[e]].lot;
			int64_t room = model->lot[lot].need - draft->filled[lot];
			int64_t part = (int64_t)(used[e] + 0.5);
			struct draft_offer offer = {0, j, e, s};

			if (part > room)
				part = room;
			if (part > 0)
				set_use(draft, lot, &offer, part);
		}
	}
}

void
draft_plan(const struct draft *draft, struct plan *plan)
{
	const struct model *model = draft->model;

	memset(plan->used, 0, model->edges * sizeof *plan->used);
	memset(plan->bought, 0, model->listings * sizeof *plan->bought);
	for (size_t i = 0; i < draft->touches; i++) {
		const struct model_seller *seller = &model->seller[draft->touched[i]];

		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];
			int64_t least = -1;

			plan->bought[j] = draft->bought[j];
			plan->chosen[j] = 0;
			for (size_t e = l->edge; e < l->edge + l->edges; e++)
				plan->used[e] = draft->used[e];
			for (size_t b = 0; b < l->breaks && draft->bought[j] > 0; b++) {
				const struct model_break *brk = &model->brk[l->brk + b];

				if (brk->least > draft->bought[j] ||
				    (least >= 0 && brk->price >= least))
					continue;
				least = brk->price;
				plan->chosen[j] = b;
			}
		}
	}
}
