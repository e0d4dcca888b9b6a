#include "plan/cell.h"

#include "base/mem.h"
#include "plan/span.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define NO_MOST INT64_MAX
static const wide PICO_IN_NANO = 1000;
static const wide WEIGHT_ONE = NANO; /* in a bound's weights */

struct builder {
	struct cells *cells;
	const struct model *model;
	size_t seller, sums;
	const struct terms *terms;
	int64_t *reach; /* by sum and basis: the most an order could add up to; NO_MOST: no limit */
	int64_t *grid;  /* by sum and basis: every order's sum is a multiple of it; 0: it is 0 */
	/* Of the lines of that sum alone (0: without class): the most that their value could add up
	 * to, what their prices are multiples of, and the highest. 0: there are none. */
	int64_t *line_reach, *line_grid, *line_price;
	bool *in; /* by sum: this class is bought; all lines always are */
	short *from, *to;
	/* Where a charge goes by landed cost, else NULL: what each charge comes to in the cell,
	 * and the least that one by landed cost adds to what an order costs, tax included. */
	struct span *span;
	struct linear *cost;
	size_t limit; /* cells that may still be made before charges are lumped */
};

/* What the seller's basket holds of a sum. */
static int64_t
held(const struct builder *b, size_t sum, enum basis basis)
{
	const struct order_sum *basket = b->model->seller[b->seller].basket;

	return basket == NULL ? 0 : basket[sum].basis[basis];
}

static bool
charge_counts(const struct builder *b, size_t c)
{
	return b->in[b->terms->charge[c].sum];
}

/* Basis at which a step begins and ends: step -1 is below the first. */
static int64_t
step_begin(const struct charge *charge, int step)
{
	return step < 0 ? 0 : charge->step[step].reached;
}

static int64_t
step_end(const struct charge *charge, int step)
{
	return (size_t)(step + 1) < charge->steps ? charge->step[step + 1].reached - 1 : NO_MOST;
}

static bool
step_refused(const struct charge *charge, int step)
{
	return step >= 0 && charge->step[step].refused;
}

static void
add_bound(struct cell *cell, struct cell_bound bound)
{
	cell->bound = mem_resize(cell->bound, cell->bounds + 1, sizeof *cell->bound);
	cell->bound[cell->bounds++] = bound;
}

/* Narrows the cell's bound on a sum; false where nothing is left. */
static bool
narrow(struct cell *cell, size_t sum, enum basis basis, int64_t least, int64_t most)
{
	size_t i = 0;

	while (i < cell->bounds && (cell->bound[i].sum != sum || cell->bound[i].basis != basis ||
	                            cell->bound[i].weight != NULL))
		i++;
	if (i == cell->bounds)
		add_bound(cell, (struct cell_bound){sum, basis, 0, NO_MOST, NULL});
	if (least > cell->bound[i].least)
		cell->bound[i].least = least;
	if (most < cell->bound[i].most)
		cell->bound[i].most = most;
	return cell->bound[i].least <= cell->bound[i].most;
}

/* The same for the sum with what the basket holds. */
static bool
narrow_whole(const struct builder *b, struct cell *cell, size_t sum, enum basis basis,
             int64_t least, int64_t most)
{
	int64_t before = held(b, sum, basis);

	return narrow(cell, sum, basis, least > before ? least - before : 0,
	              most == NO_MOST ? NO_MOST : most - before);
}

/* floor(amount in micro order currency x rate) in pico home. */
static wide
home_pico(const struct terms *terms, wide amount_nano)
{
	wide top;

	/* nano -> pico home; falls back to coarser steps where 128 bits do not hold it. */
	if (wide_mul(amount_nano, terms->home.top, &top) && wide_mul(top, PICO_IN_NANO, &top))
		return wide_div_floor(top, terms->home.bottom);
	return wide_div_floor(amount_nano, terms->home.bottom) * terms->home.top * PICO_IN_NANO;
}

/* A step's amount x (1 + tax) where it is taxed, in nano of the order's currency, rounded down. */
static wide
with_tax_nano(const struct terms *terms, const struct charge_step *step)
{
	const wide whole = wide_power10(MICRO_DECIMALS + 2);
	wide nano = wide_div_floor(step->amount.top * 1000, step->amount.bottom);

	if (step->taxed)
		nano = wide_div_floor(nano * (whole + terms->tax), whole);
	return nano;
}

/* The least fixed amount (nano, tax included) and percent (parts of 10^16, tax included) that
 * the charge can have within the cell's span of steps. */
static void
least_charge(const struct terms *terms, const struct charge *charge, int from, int to, wide *fixed,
             wide *percent)
{
	const wide whole = wide_power10(MICRO_DECIMALS + 2);
	bool first = true;

	for (int step = from; step <= to; step++) {
		wide nano = 0, part = 0;

		if (step_refused(charge, step))
			continue;
		if (step >= 0) {
			nano = with_tax_nano(terms, &charge->step[step]);
			part = (wide)charge->step[step].percent *
			       (charge->step[step].taxed ? whole + terms->tax : whole);
		}
		if (first || nano < *fixed)
			*fixed = nano;
		if (first || part < *percent)
			*percent = part;
		first = false;
	}
}

/* What rounding each charge, the tax and the home total to 10^-9 can take from an order, pico. */
static wide
rounding_slack(const struct terms *terms)
{
	wide units = (wide)(terms->charges + 2) * 2; /* halves of a nano, tax on them generously */
	wide rate = wide_div_ceil(terms->home.top, terms->home.bottom);

	return (units * rate + 1) * PICO_IN_NANO;
}

static double
pico_home(wide pico)
{
	return (double)pico * 1e-12;
}

enum { SHARE_DECIMALS = 2 * (MICRO_DECIMALS + 2) }; /* a share with tax, as a whole number */

/* What goods that are in the basket (micro) bear of parts of 10^16, in nano, rounded down. */
static wide
of_held(wide parts, int64_t goods)
{
	wide top;

	if (wide_mul(parts, goods, &top))
		return wide_div_floor(top, wide_power10(SHARE_DECIMALS - 3));
	return wide_div_floor(parts, 1000) *
	       wide_div_floor(goods, wide_power10(SHARE_DECIMALS - 6));
}

static void
set_costs(const struct builder *b, struct cell *cell)
{
	const struct terms *terms = b->terms;
	const wide whole = wide_power10(MICRO_DECIMALS + 2);
	wide nano = 0;
	wide *percent = mem_alloc(b->sums * sizeof *percent);
	const struct model_seller *seller = &b->model->seller[b->seller];

	/* Each line pays goods and tax on them, and the percents of its class and of all. */
	for (size_t k = 0; k < b->sums; k++)
		percent[k] = (whole + terms->tax) * whole;
	for (size_t c = 0; c < terms->charges; c++) {
		const struct charge *charge = &terms->charge[c];
		wide fixed = 0, part = 0;

		if (!charge_counts(b, c))
			continue;
		if (charge->basis == BASIS_LANDED) {
			nano += span_whole(b->cost[c].fixed, NANO_DECIMALS - MICRO_DECIMALS, false);
			for (size_t k = 0; k < b->sums; k++)
				percent[k] +=
				    span_whole(b->cost[c].share[k], SHARE_DECIMALS, false);
			continue;
		}
		least_charge(terms, charge, cell->from[c], cell->to[c], &fixed, &part);
		nano += fixed + of_held(part, held(b, charge->sum, BASIS_VALUE));
		for (size_t k = 0; k < b->sums; k++)
			if (charge->sum == 0 || charge->sum == k)
				percent[k] += part;
	}
	nano += of_held((whole + terms->tax) * whole, held(b, 0, BASIS_VALUE));
	cell->fixed =
	    home_pico(terms, nano) + (wide)terms->order_cost * 1000000 - rounding_slack(terms);
	if (seller->basket != NULL)
		cell->fixed -= seller->basket_cost * PICO_IN_NANO + PICO_IN_NANO;
	for (size_t k = 0; k < b->sums; k++) {
		/* parts of 10^16 of one unit -> nano of the order's currency -> pico home, but
		 * with the parts kept: pico per unit is percent x 10^12 / 10^16 x rate. */
		wide top;

		if (wide_mul(percent[k], terms->home.top, &top))
			cell->factor[k] = wide_div_floor(top, terms->home.bottom * 10000);
		else
			cell->factor[k] = wide_div_floor(percent[k], terms->home.bottom) / 10000 *
			                  terms->home.top;
		cell->factor_home[k] = pico_home(cell->factor[k]);
	}
	cell->fixed_home = pico_home(cell->fixed);
	free(percent);
}

static bool
reachable(const struct builder *b, const struct cell *cell)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];

		if (bound->weight == NULL &&
		    bound->least > b->reach[bound->sum * BASES + bound->basis])
			return false;
	}
	return true;
}

static void
free_cell(struct cell *cell)
{
	for (size_t i = 0; i < cell->bounds; i++)
		free(cell->bound[i].weight);
	free(cell->factor);
	free(cell->factor_home);
	free(cell->out);
	free(cell->bound);
	free(cell->from);
	free(cell->to);
	free(cell->rho);
	free(cell->support);
}

static bool
same_factors(const struct cell *a, const struct cell *b, size_t sums)
{
	return memcmp(a->factor, b->factor, sums * sizeof *a->factor) == 0;
}

static void
set_signature(const struct builder *b, struct cell *cell)
{
	const struct cells *cells = b->cells;

	for (size_t i = cells->first[b->seller]; i < cells->count; i++)
		if (cells->cell[i].seller == b->seller &&
		    same_factors(&cells->cell[i], cell, b->sums)) {
			cell->signature = cells->cell[i].signature;
			return;
		}
	cell->signature = b->cells->signatures[b->seller]++;
}

/* ---- charges by landed cost ---- */

/* What a charge goes by: the goods of its sum, and the charges that it comes after. */
static void
landed_span(const struct builder *b, size_t c, struct span *out)
{
	const struct charge *charge = &b->terms->charge[c];

	span_init(out, b->sums);
	span_goods(out, charge->sum);
	span_fixed(out, held(b, charge->sum, BASIS_VALUE));
	for (size_t i = 0; i < charge->afters; i++)
		if (charge_counts(b, charge->after[i]))
			span_add(out, &b->span[charge->after[i]]);
}

/* What a charge comes to in the cell, over its steps there. */
static void
span_charge(const struct builder *b, const struct cell *cell, size_t c)
{
	const struct charge *charge = &b->terms->charge[c];
	const wide whole = wide_power10(MICRO_DECIMALS + 2);
	struct span basis, here;
	bool first = true;

	landed_span(b, c, &basis);
	span_init(&here, b->sums);
	for (int i = cell->from[c]; i <= cell->to[c]; i++) {
		const struct charge_step *step = i < 0 ? NULL : &charge->step[i];
		bool taxed = step != NULL && step->taxed;

		if (step != NULL && step->refused)
			continue;
		span_step(&here, step, &basis);
		span_join(&b->span[c], &here, first);
		linear_join(&b->cost[c], &here.low,
		            fraction_reduced(taxed ? whole + b->terms->tax : whole, whole), b->sums,
		            first);
		first = false;
	}
	span_free(&here);
	span_free(&basis);
}

/* One side of what the basis of a charge may be in the cell: linear >= place, or > (strict); or
 * <= place, or < (strict). */
struct side {
	bool least, strict;
	const struct linear *linear;
	struct fraction place;
};

/* Can the order have lines of the sum, 0 being those without class? */
static bool
has_lines(const struct builder *b, size_t sum)
{
	return b->in[sum] && b->line_reach[sum] > 0;
}

/* Do all goods that count in the side count alike, those of one sum? *sum, *share: of which, and
 * what a unit of them counts. */
static bool
counts_alike(const struct builder *b, const struct linear *linear, size_t *sum,
             struct fraction *share)
{
	size_t all = 0, some = 0, last = 0;
	bool same = true;

	for (size_t k = 0; k < b->sums; k++) {
		if (!has_lines(b, k))
			continue;
		if (all++ == 0)
			*share = linear->share[k];
		same = same && fraction_compare(*share, linear->share[k]) == 0;
		if (linear->share[k].top != 0) {
			some++;
			last = k;
		}
	}
	*sum = 0;
	if (!same && some == 1 && last != 0) {
		*sum = last;
		*share = linear->share[last];
		return share->top > 0;
	}
	return same && all > 0 && share->top > 0;
}

/* Bounds the value of a sum: value x share against what is left of the place. */
static bool
bound_value(struct cell *cell, const struct side *side, struct fraction left, size_t sum,
            struct fraction share)
{
	struct fraction value;
	wide whole;
	int64_t limit;

	if (!fraction_multiply(left, (struct fraction){share.bottom, share.top}, &value))
		return true;
	if (side->least)
		whole = side->strict ? wide_div_floor(value.top, value.bottom) + 1
		                     : wide_div_ceil(value.top, value.bottom);
	else
		whole = side->strict ? wide_div_ceil(value.top, value.bottom) - 1
		                     : wide_div_floor(value.top, value.bottom);
	if (!wide_to_int64(whole, &limit)) /* an order's value is an int64 */
		return side->least ? whole < 0 : whole > 0;
	return side->least ? narrow(cell, sum, BASIS_VALUE, limit, NO_MOST)
	                   : narrow(cell, sum, BASIS_VALUE, 0, limit);
}

/* The weights of a side's goods, rounded so that what keeps the side keeps the bound; *exact: as
 * they are, and any order's sum of them is whole. false where 64 bits do not hold them. */
static bool
weigh(const struct builder *b, const struct side *side, int64_t *weight, bool *exact)
{
	*exact = true;
	for (size_t k = 0; k < b->sums; k++) {
		const struct fraction share = side->linear->share[k];
		wide price;
		int64_t all;

		if (!has_lines(b, k))
			continue;
		if (!wide_to_int64(span_whole(share, NANO_DECIMALS, side->least), &weight[k]) ||
		    !wide_mul(weight[k], b->line_price[k], &price) ||
		    !wide_to_int64(wide_div_ceil(price, MICRO), &all))
			return false;
		*exact = *exact && WEIGHT_ONE % share.bottom == 0 &&
		         (wide)weight[k] * b->line_grid[k] % MICRO == 0;
	}
	return true;
}

/* The most that an order's weighted goods can come to, in 10^-9; NO_MOST: no limit. */
static int64_t
weighted_reach(const struct builder *b, const int64_t *weight)
{
	wide all = 0;
	int64_t reach;

	for (size_t k = 0; k < b->sums; k++) {
		if (weight[k] <= 0)
			continue;
		if (b->line_reach[k] == NO_MOST)
			return NO_MOST;
		all += wide_div_ceil((wide)weight[k] * b->line_reach[k], MICRO);
	}
	return wide_to_int64(all, &reach) ? reach : NO_MOST;
}

/* The limit moved inward to what weighted goods can come to. */
static wide
on_weighted_grid(const struct builder *b, const int64_t *weight, wide limit, bool least)
{
	wide grid = 0;

	for (size_t k = 0; k < b->sums; k++)
		grid = wide_common_divisor(grid, (wide)weight[k] * b->line_grid[k] / MICRO);
	if (grid == 0)
		return limit;
	return (least ? wide_div_ceil(limit, grid) : wide_div_floor(limit, grid)) * grid;
}

/* Where goods count differently: a bound of weighted goods. Its limit is not negative, the other
 * way round where it would be. */
static bool
bound_weighted(const struct builder *b, struct cell *cell, const struct side *side,
               struct fraction left)
{
	struct cell_bound bound = {0, BASIS_VALUE, 0, NO_MOST,
	                           mem_zero(b->sums, sizeof *bound.weight)};
	bool exact, least = side->least, fits = weigh(b, side, bound.weight, &exact);
	wide limit =
	    span_whole(left, NANO_DECIMALS - MICRO_DECIMALS, least == (exact && !side->strict));
	int64_t most, reach;

	/* What is not whole may lie between two whole numbers: then the limit is the outer one. */
	if (exact && side->strict)
		limit = least ? span_whole(left, NANO_DECIMALS - MICRO_DECIMALS, false) + 1
		              : span_whole(left, NANO_DECIMALS - MICRO_DECIMALS, true) - 1;
	if (limit < 0 || (limit == 0 && least)) {
		limit = -limit;
		least = !least;
		for (size_t k = 0; k < b->sums; k++)
			bound.weight[k] = -bound.weight[k];
	}
	if (fits && exact)
		limit = on_weighted_grid(b, bound.weight, limit, least);
	fits = fits && wide_to_int64(limit, &most);
	reach = fits ? weighted_reach(b, bound.weight) : NO_MOST;
	if (!fits || (!least && most >= reach) || (least && most > reach)) {
		free(bound.weight);
		return !fits || !least;
	}
	if (least)
		bound.least = most;
	else
		bound.most = most;
	add_bound(cell, bound);
	return true;
}

static bool
bound_side(const struct builder *b, struct cell *cell, const struct side *side)
{
	struct fraction fixed = {-side->linear->fixed.top, side->linear->fixed.bottom}, left, share;
	size_t sum;

	if (!fraction_add(side->place, fixed, &left))
		return true; /* too large a number to say */
	if (counts_alike(b, side->linear, &sum, &share))
		return bound_value(cell, side, left, sum, share);
	return bound_weighted(b, cell, side, left);
}

/* Bounds the goods so that the charge, by landed cost, is at the cell's steps; false where no order
 * can be. */
static bool
bound_landed(const struct builder *b, struct cell *cell, size_t c)
{
	const struct charge *charge = &b->terms->charge[c];
	int from = cell->from[c], past = cell->to[c] + 1;
	struct span basis;
	bool fits = true;

	landed_span(b, c, &basis);
	if (from >= 0) {
		const struct charge_step *step = &charge->step[from];
		struct side side = {true, step->over, &basis.high, step->place};

		fits = bound_side(b, cell, &side);
	}
	if (fits && (size_t)past < charge->steps) {
		const struct charge_step *step = &charge->step[past];
		struct side side = {false, !step->over, &basis.low, step->place};

		fits = bound_side(b, cell, &side);
	}
	span_free(&basis);
	return fits;
}

/* ---- making cells ---- */

/* May an order cost less than nothing beside its goods: by what it is worth to make one, by a
 * rebate, or by what it adds to a basket? */
static bool
may_pay_to_order(const struct builder *b)
{
	bool may = b->terms->order_cost < 0 || b->model->seller[b->seller].basket != NULL;

	for (size_t c = 0; c < b->terms->charges; c++) {
		const struct charge *charge = &b->terms->charge[c];

		for (size_t k = 0; k < charge->steps; k++)
			may = may || charge->step[k].amount.top < 0 ||
			      (charge->basis == BASIS_LANDED && charge->step[k].percent < 0);
	}
	return may;
}

/* Sets the cell's bounds from classes, minimum and steps; false where no order can keep them. */
static bool
set_bounds(const struct builder *b, struct cell *cell)
{
	cell->exact = true;
	/* An order of no lines is none, however much one is worth making. */
	if (may_pay_to_order(b) && !narrow(cell, 0, BASIS_PIECES, 1, NO_MOST))
		return false;
	if (b->terms->minimum > 0 &&
	    !narrow_whole(b, cell, 0, BASIS_VALUE, b->terms->minimum, NO_MOST))
		return false;
	for (size_t k = 1; k < b->sums; k++) {
		bool charged = false;

		for (size_t c = 0; c < b->terms->charges; c++)
			charged = charged || b->terms->charge[c].sum == k;
		cell->out[k] = !b->in[k];
		if (b->in[k] && charged && held(b, k, BASIS_PIECES) == 0 &&
		    !narrow(cell, k, BASIS_PIECES, 1, NO_MOST))
			return false;
	}
	for (size_t c = 0; c < b->terms->charges; c++) {
		const struct charge *charge = &b->terms->charge[c];
		int from = b->from[c], to = b->to[c];

		if (!charge_counts(b, c))
			continue;
		while (from <= to && step_refused(charge, from))
			from++;
		while (from <= to && step_refused(charge, to))
			to--;
		if (from > to)
			return false;
		cell->from[c] = (short)from;
		cell->to[c] = (short)to;
		cell->exact = cell->exact && from == to;
		if (charge->basis == BASIS_LANDED) {
			if (!bound_landed(b, cell, c))
				return false;
		} else if (!narrow_whole(b, cell, charge->sum, charge->basis,
		                         step_begin(charge, from), step_end(charge, to))) {
			return false;
		}
		if (b->span != NULL)
			span_charge(b, cell, c);
	}
	return true;
}

/* Moves bounds inward to what sums can be, so that an order just past one is past it by a whole
 * piece and no tolerance takes it in; false where nothing is left. */
static bool
tighten(const struct builder *b, struct cell *cell)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		struct cell_bound *bound = &cell->bound[i];
		int64_t grid = b->grid[bound->sum * BASES + bound->basis];

		if (grid <= 1 || bound->weight != NULL)
			continue;
		if (bound->least % grid != 0 &&
		    __builtin_add_overflow(bound->least, grid - bound->least % grid, &bound->least))
			return false;
		if (bound->most != NO_MOST)
			bound->most -= bound->most % grid;
		if (bound->least > bound->most)
			return false;
	}
	return true;
}

/* Bounds that every order keeps say nothing. */
static void
drop_idle_bounds(const struct builder *b, struct cell *cell)
{
	size_t kept = 0;

	for (size_t i = 0; i < cell->bounds; i++) {
		struct cell_bound bound = cell->bound[i];

		if (bound.weight == NULL && bound.most >= b->reach[bound.sum * BASES + bound.basis])
			bound.most = NO_MOST;
		if (bound.least > 0 || bound.most != NO_MOST)
			cell->bound[kept++] = bound;
	}
	cell->bounds = kept;
}

static bool
add_cell(struct builder *b)
{
	struct cell cell = {.seller = b->seller};
	size_t charges = b->terms->charges;

	cell.factor = mem_zero(b->sums, sizeof *cell.factor);
	cell.factor_home = mem_zero(b->sums, sizeof *cell.factor_home);
	cell.out = mem_zero(b->sums, sizeof *cell.out);
	cell.from = mem_zero(charges, sizeof *cell.from);
	cell.to = mem_zero(charges, sizeof *cell.to);
	if (!set_bounds(b, &cell) || !tighten(b, &cell) || !reachable(b, &cell)) {
		free_cell(&cell);
		return false;
	}
	drop_idle_bounds(b, &cell);
	set_costs(b, &cell);
	set_signature(b, &cell);
	cell.rho = mem_zero(2 * cell.bounds, sizeof *cell.rho);
	MEM_ROOM(b->cells->cell, b->cells->count, b->cells->room);
	b->cells->cell[b->cells->count++] = cell;
	return true;
}

/* Takes the charges one after another, a step each, or all steps at once past the limit. */
static void
each_step(struct builder *b, size_t c, size_t product)
{
	const struct charge *charge;

	if (c == b->terms->charges) {
		add_cell(b);
		return;
	}
	charge = &b->terms->charge[c];
	if (!charge_counts(b, c) || product * (charge->steps + 1) > b->limit) {
		b->from[c] = -1;
		b->to[c] = (short)((int)charge->steps - 1);
		if (charge->steps > 0 && charge->step[0].reached <= 0 &&
		    charge->basis != BASIS_LANDED)
			b->from[c] = 0;
		each_step(b, c + 1, product);
		return;
	}
	for (int step = -1; step < (int)charge->steps; step++) {
		if (charge->basis != BASIS_LANDED &&
		    (step_begin(charge, step) > step_end(charge, step) ||
		     step_end(charge, step) < 0))
			continue;
		b->from[c] = b->to[c] = (short)step;
		each_step(b, c + 1, product * (charge->steps + 1));
	}
}

static void
each_class(struct builder *b, size_t k)
{
	bool charged = false;

	if (k == b->sums) {
		each_step(b, 0, 1);
		return;
	}
	for (size_t c = 0; c < b->terms->charges; c++)
		charged = charged || b->terms->charge[c].sum == k;
	b->in[k] = true;
	each_class(b, k + 1);
	if (!charged || held(b, k, BASIS_PIECES) > 0)
		return;
	b->in[k] = false;
	each_class(b, k + 1);
}

/* What is bought comes in steps: so do the sums that it adds to. */
static void
add_grid(int64_t *grid, int64_t size, int64_t step)
{
	int64_t product;

	*grid = (int64_t)wide_common_divisor(
	    *grid, __builtin_mul_overflow(size, step, &product) ? size : product);
}

static void
add_reach(int64_t *reach, int64_t size, int64_t most)
{
	int64_t product;

	if (size == 0 || most == 0)
		return;
	if (most == INT64_MAX || __builtin_mul_overflow(size, most, &product) ||
	    __builtin_add_overflow(*reach, product, reach))
		*reach = NO_MOST;
}

static void
set_reach(struct builder *b)
{
	const struct model_seller *seller = &b->model->seller[b->seller];

	for (size_t i = 0; i < seller->listings; i++) {
		const struct model_listing *l = &b->model->listing[seller->listing + i];
		int64_t price = 0;

		for (size_t k = 0; k < l->breaks; k++) {
			if (b->model->brk[l->brk + k].price > price)
				price = b->model->brk[l->brk + k].price;
			add_grid(&b->line_grid[l->sum], b->model->brk[l->brk + k].price, 1);
		}
		add_reach(&b->line_reach[l->sum], price, l->most);
		if (price > b->line_price[l->sum])
			b->line_price[l->sum] = price;
		for (size_t k = 0; k < b->sums; k++) {
			if (k != 0 && k != l->sum)
				continue;
			for (size_t n = 0; n < l->breaks; n++)
				add_grid(&b->grid[k * BASES + BASIS_VALUE],
				         b->model->brk[l->brk + n].price, l->step);
			add_grid(&b->grid[k * BASES + BASIS_WEIGHT], l->grams, l->step);
			add_grid(&b->grid[k * BASES + BASIS_PIECES], 1, l->step);
			add_grid(&b->grid[k * BASES + BASIS_LOTS], 1, 1);
			add_reach(&b->reach[k * BASES + BASIS_VALUE], price, l->most);
			add_reach(&b->reach[k * BASES + BASIS_WEIGHT], l->grams, l->most);
			add_reach(&b->reach[k * BASES + BASIS_PIECES], 1, l->most);
			add_reach(&b->reach[k * BASES + BASIS_LOTS], 1, 1);
		}
	}
}

static void
owned_cell(struct cells *cells, size_t seller)
{
	struct cell cell = {.seller = seller, .exact = true};

	cell.factor = mem_zero(1, sizeof *cell.factor);
	cell.factor_home = mem_zero(1, sizeof *cell.factor_home);
	cell.out = mem_zero(1, sizeof *cell.out);
	cell.rho = mem_zero(1, sizeof *cell.rho);
	cells->signatures[seller] = 1;
	MEM_ROOM(cells->cell, cells->count, cells->room);
	cells->cell[cells->count++] = cell;
}

static bool
goes_by_landed(const struct terms *terms)
{
	for (size_t c = 0; c < terms->charges; c++)
		if (terms->charge[c].basis == BASIS_LANDED)
			return true;
	return false;
}

static void
start_spans(struct builder *b)
{
	b->span = mem_alloc(b->terms->charges * sizeof *b->span);
	b->cost = mem_alloc(b->terms->charges * sizeof *b->cost);
	for (size_t c = 0; c < b->terms->charges; c++) {
		span_init(&b->span[c], b->sums);
		linear_init(&b->cost[c], b->sums);
	}
}

static void
start_builder(struct builder *b, struct cells *cells, const struct model *model, size_t seller)
{
	const struct terms *terms = model->seller[seller].terms;

	*b = (struct builder){.cells = cells, .model = model, .seller = seller, .terms = terms};
	b->sums = terms->classes + 1;
	b->reach = mem_zero(b->sums * BASES, sizeof *b->reach);
	b->grid = mem_zero(b->sums * BASES, sizeof *b->grid);
	b->line_reach = mem_zero(b->sums, sizeof *b->line_reach);
	b->line_grid = mem_zero(b->sums, sizeof *b->line_grid);
	b->line_price = mem_zero(b->sums, sizeof *b->line_price);
	b->in = mem_zero(b->sums, sizeof *b->in);
	b->in[0] = true;
	b->from = mem_zero(terms->charges, sizeof *b->from);
	b->to = mem_zero(terms->charges, sizeof *b->to);
	b->limit = CELLS_MOST;
	set_reach(b);
	if (goes_by_landed(terms))
		start_spans(b);
}

/* The builder as it was when it made the cell. */
static void
start_builder_in(struct builder *b, struct cells *cells, const struct model *model,
                 const struct cell *cell)
{
	start_builder(b, cells, model, cell->seller);
	for (size_t k = 1; k < b->sums; k++)
		b->in[k] = !cell->out[k];
	memcpy(b->from, cell->from, b->terms->charges * sizeof *b->from);
	memcpy(b->to, cell->to, b->terms->charges * sizeof *b->to);
}

static void
end_builder(struct builder *b)
{
	free(b->reach);
	free(b->grid);
	free(b->line_reach);
	free(b->line_grid);
	free(b->line_price);
	for (size_t c = 0; b->span != NULL && c < b->terms->charges; c++) {
		span_free(&b->span[c]);
		linear_free(&b->cost[c]);
	}
	free(b->span);
	free(b->cost);
	free(b->in);
	free(b->from);
	free(b->to);
}

static void
start_cells(struct cells *cells, const struct model *model)
{
	*cells = (struct cells){.sellers = model->sellers};
	cells->first = mem_zero(model->sellers + 1, sizeof *cells->first);
	cells->signatures = mem_zero(model->sellers, sizeof *cells->signatures);
}

static void
add_cells(struct cells *cells, const struct model *model, size_t seller)
{
	struct builder b;

	if (model->seller[seller].terms == NULL) {
		owned_cell(cells, seller);
		return;
	}
	start_builder(&b, cells, model, seller);
	each_class(&b, 1);
	end_builder(&b);
}

void
cells_init(struct cells *cells, const struct model *model)
{
	start_cells(cells, model);
	for (size_t s = 0; s < model->sellers; s++) {
		cells->first[s] = cells->count;
		add_cells(cells, model, s);
	}
	cells->first[model->sellers] = cells->count;
}

bool
cells_pay_for_goods(const struct model *model, size_t seller)
{
	const struct model_seller *of = &model->seller[seller];
	struct cells cells;
	bool pay = false;

	start_cells(&cells, model);
	add_cells(&cells, model, seller);
	for (size_t i = 0; i < cells.count && !pay; i++)
		for (size_t j = of->listing; j < of->listing + of->listings; j++) {
			size_t sum = model->listing[j].sum;

			pay = pay || (!cells.cell[i].out[sum] && cells.cell[i].factor[sum] < 0);
		}
	cells_free(&cells);
	return pay;
}

bool
bound_counts(const struct cell_bound *bound, size_t sum)
{
	return bound->weight != NULL ? bound->weight[sum] != 0
	                             : bound->sum == 0 || bound->sum == sum;
}

double
bound_weight(const struct cell_bound *bound, size_t sum)
{
	return bound->weight != NULL ? (double)bound->weight[sum] / (double)WEIGHT_ONE : 1;
}

wide
bound_units(const struct cell_bound *bound)
{
	if (bound->basis == BASIS_PIECES || bound->basis == BASIS_LOTS)
		return 1;
	return bound->weight != NULL ? NANO : MICRO;
}

bool
bound_kept(const struct cell_bound *bound, const struct order_sum *sum, size_t sums)
{
	wide all = 0, bare = sum[0].basis[BASIS_VALUE];

	if (bound->weight == NULL) {
		int64_t value = sum[bound->sum].basis[bound->basis];

		return bound->least <= value && value <= bound->most;
	}
	for (size_t k = 1; k < sums; k++) {
		bare -= sum[k].basis[BASIS_VALUE];
		all += (wide)bound->weight[k] * sum[k].basis[BASIS_VALUE];
	}
	all += bound->weight[0] * bare;
	return (wide)bound->least * MICRO <= all &&
	       (bound->most == NO_MOST || all <= (wide)bound->most * MICRO);
}

void
cell_forget_costs(struct cell *cell, size_t sums)
{
	cell->fixed = 0;
	cell->fixed_home = 0;
	memset(cell->factor, 0, sums * sizeof *cell->factor);
	memset(cell->factor_home, 0, sums * sizeof *cell->factor_home);
}

void
cells_free(struct cells *cells)
{
	for (size_t i = 0; i < cells->count; i++)
		free_cell(&cells->cell[i]);
	free(cells->cell);
	free(cells->first);
	free(cells->signatures);
}

size_t
cells_split(struct cells *cells, const struct model *model, size_t number, size_t *count)
{
	struct builder b;
	size_t widest = 0, before = cells->count;
	const struct cell *cell = &cells->cell[number];
	short from, to;

	assert(!cell->exact);
	start_builder_in(&b, cells, model, cell);
	for (size_t c = 1; c < b.terms->charges; c++)
		if (b.to[c] - b.from[c] > b.to[widest] - b.from[widest])
			widest = c;
	from = b.from[widest];
	to = b.to[widest];
	b.to[widest] = (short)(from + (to - from) / 2);
	if (to < 0) /* the middle of -1 and 0 rounds up */
		b.to[widest] = from;
	add_cell(&b);
	b.from[widest] = (short)(b.to[widest] + 1);
	b.to[widest] = to;
	add_cell(&b);
	end_builder(&b);
	*count = cells->count - before;
	return before;
}

/* Pieces of size that lift a sum from nothing to least. */
static int64_t
pieces_to(wide least, wide size)
{
	wide pieces = size > 0 && least > 0 ? (least - 1) / size + 1 : 0;

	return pieces < QTY_MOST ? (int64_t)pieces : QTY_MOST;
}

/* The least price other than 0, which needs the most pieces; 0: there is none. */
static int64_t
least_price(const struct model *model, const struct model_listing *l)
{
	int64_t least = 0;

	for (size_t b = 0; b < l->breaks; b++) {
		int64_t price = model->brk[l->brk + b].price;

		if (price > 0 && (least == 0 || price < least))
			least = price;
	}
	return least;
}

static bool
counts_against(const int64_t *weight, size_t sums)
{
	for (size_t k = 0; k < sums; k++)
		if (weight[k] < 0)
			return true;
	return false;
}

/* Pieces of a listing that alone could lift an order over the least of a bound. Where some goods
 * count against others, how many it takes depends on those: no limit, then. */
static int64_t
lifting_pieces(const struct model *model, const struct model_listing *l,
               const struct cell_bound *bound)
{
	if (!bound_counts(bound, l->sum))
		return 0;
	if (bound->weight != NULL && counts_against(bound->weight, model_sums(model, l->seller)))
		return QTY_MOST;
	if (bound->least == 0)
		return 0;
	if (bound->weight != NULL)
		return pieces_to((wide)bound->least * MICRO,
		                 (wide)least_price(model, l) * bound->weight[l->sum]);
	if (bound->basis == BASIS_LOTS)
		return 1;
	if (bound->basis == BASIS_VALUE)
		return pieces_to(bound->least, least_price(model, l));
	return pieces_to(bound->least, bound->basis == BASIS_WEIGHT ? l->grams : 1);
}

static void
lift_over(const struct model *model, const struct model_seller *seller,
          const struct cell_bound *bound, int64_t *lift)
{
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		int64_t pieces = lifting_pieces(model, &model->listing[j], bound);

		if (pieces > lift[j])
			lift[j] = pieces;
	}
}

/* The same for a step by landed cost, from what it goes by at the least. */
static void
lift_landed(const struct model *model, const struct model_seller *seller, const struct span *basis,
            struct fraction place, int64_t *lift)
{
	wide micro = span_whole(place, 0, true) + 1 - span_whole(basis->low.fixed, 0, false), nano;
	bool limited = wide_mul(micro, NANO, &nano);

	for (size_t k = 0; k < basis->sums; k++)
		limited = limited && basis->low.share[k].top >= 0;
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];
		wide share = span_whole(basis->low.share[l->sum], NANO_DECIMALS, false);
		int64_t pieces =
		    limited ? pieces_to(nano, least_price(model, l) * share) : QTY_MOST;

		if (pieces > lift[j])
			lift[j] = pieces;
	}
}

/* The steps that a cell spans, up to the last, are none of its bounds yet. */
static void
lift_within(const struct model *model, const struct cell *cell, int64_t *lift)
{
	const struct model_seller *seller = &model->seller[cell->seller];
	struct builder b;

	start_builder_in(&b, NULL, model, cell);
	for (size_t c = 0; c < b.terms->charges; c++) {
		const struct charge *charge = &b.terms->charge[c];
		bool several = cell->from[c] < cell->to[c];
		struct span basis;

		if (!charge_counts(&b, c))
			continue;
		if (several && charge->basis != BASIS_LANDED) {
			const struct cell_bound bound = {charge->sum, charge->basis,
			                                 step_begin(charge, cell->to[c]), NO_MOST,
			                                 NULL};

			lift_over(model, seller, &bound, lift);
		}
		if (b.span == NULL)
			continue;
		landed_span(&b, c, &basis);
		if (several && charge->basis == BASIS_LANDED)
			lift_landed(model, seller, &basis, charge->step[cell->to[c]].place, lift);
		span_free(&basis);
		span_charge(&b, cell, c);
	}
	end_builder(&b);
}

/* Pieces of a class that no cell of the seller has in, not being shipped, are worth nothing. */
static void
cap_out(const struct cells *cells, const struct model *model, size_t s, int64_t *cap)
{
	const struct model_seller *seller = &model->seller[s];
	size_t sums = model_sums(model, s);
	bool *in = mem_zero(sums, sizeof *in);

	for (size_t c = cells->first[s]; c < cells->first[s + 1]; c++)
		for (size_t k = 0; k < sums; k++)
			in[k] = in[k] || !cells->cell[c].out[k];
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
		if (!in[model->listing[j].sum])
			cap[j] = 0;
	free(in);
}

void
cells_caps(const struct cells *cells, const struct model *model, int64_t *cap)
{
	int64_t *lift = mem_zero(model->listings, sizeof *lift);

	for (size_t i = 0; i < cells->count; i++) {
		const struct cell *cell = &cells->cell[i];
		const struct model_seller *seller = &model->seller[cell->seller];

		for (size_t n = 0; n < cell->bounds; n++)
			lift_over(model, seller, &cell->bound[n], lift);
		if (!cell->exact)
			lift_within(model, cell, lift);
	}
	for (size_t j = 0; j < model->listings; j++) {
		const struct model_listing *l = &model->listing[j];
		int64_t need = 0, dearest = model->brk[l->brk + l->breaks - 1].least;
		int64_t whole;

		for (size_t e = 0; e < l->edges; e++)
			need += model->lot[model->row[model->edge[l->edge + e]].lot].need;
		whole = need > QTY_MOST ? QTY_MOST : need;
		if (lift[j] < QTY_MOST)
			whole += lift[j];
		else
			whole += QTY_MOST;
		if (dearest > whole)
			whole = dearest; /* buying more than needed to reach a break */
		whole = (whole + l->step - 1) / l->step * l->step;
		cap[j] = whole < l->most ? whole : l->most / l->step * l->step;
		if (l->edges == 0)
			cap[j] = 0;
	}
	for (size_t s = 0; s < model->sellers; s++)
		cap_out(cells, model, s, cap);
	free(lift);
}
