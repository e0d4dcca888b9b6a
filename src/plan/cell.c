#include "plan/cell.h"

#include "base/mem.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define NO_MOST INT64_MAX
static const wide PICO_IN_NANO = 1000;

struct builder {
	struct cells *cells;
	const struct model *model;
	size_t seller, sums;
	const struct terms *terms;
	int64_t *reach; /* by sum and basis: the most an order could add up to; NO_MOST: no limit */
	int64_t *grid;  /* by sum and basis: every order's sum is a multiple of it; 0: it is 0 */
	bool *in;       /* by sum: this class is bought; all lines always are */
	short *from, *to;
	size_t limit; /* cells that may still be made before charges are lumped */
};

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

/* Narrows the cell's bound on a sum; false where nothing is left. */
static bool
narrow(struct cell *cell, size_t sum, enum basis basis, int64_t least, int64_t most)
{
	size_t i = 0;

	while (i < cell->bounds && (cell->bound[i].sum != sum || cell->bound[i].basis != basis))
		i++;
	if (i == cell->bounds) {
		cell->bound = mem_resize(cell->bound, ++cell->bounds, sizeof *cell->bound);
		cell->bound[i] = (struct cell_bound){sum, basis, 0, NO_MOST};
	}
	if (least > cell->bound[i].least)
		cell->bound[i].least = least;
	if (most < cell->bound[i].most)
		cell->bound[i].most = most;
	return cell->bound[i].least <= cell->bound[i].most;
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

static void
set_costs(const struct builder *b, struct cell *cell)
{
	const struct terms *terms = b->terms;
	const wide whole = wide_power10(MICRO_DECIMALS + 2);
	wide nano = 0;
	wide *percent = mem_alloc(b->sums * sizeof *percent);

	/* Each line pays goods and tax on them, and the percents of its class and of all. */
	for (size_t k = 0; k < b->sums; k++)
		percent[k] = (whole + terms->tax) * whole;
	for (size_t c = 0; c < terms->charges; c++) {
		const struct charge *charge = &terms->charge[c];
		wide fixed = 0, part = 0;

		if (!charge_counts(b, c))
			continue;
		least_charge(terms, charge, cell->from[c], cell->to[c], &fixed, &part);
		nano += fixed;
		for (size_t k = 0; k < b->sums; k++)
			if (charge->sum == 0 || charge->sum == k)
				percent[k] += part;
	}
	cell->fixed =
	    home_pico(terms, nano) + (wide)terms->order_cost * 1000000 - rounding_slack(terms);
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

		if (bound->least > b->reach[bound->sum * BASES + bound->basis])
			return false;
	}
	return true;
}

static void
free_cell(struct cell *cell)
{
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

/* Sets the cell's bounds from classes, minimum and steps; false where no order can keep them. */
static bool
set_bounds(const struct builder *b, struct cell *cell)
{
	cell->exact = true;
	if (b->terms->minimum > 0 && !narrow(cell, 0, BASIS_VALUE, b->terms->minimum, NO_MOST))
		return false;
	for (size_t k = 1; k < b->sums; k++) {
		bool charged = false;

		for (size_t c = 0; c < b->terms->charges; c++)
			charged = charged || b->terms->charge[c].sum == k;
		cell->out[k] = !b->in[k];
		if (b->in[k] && charged && !narrow(cell, k, BASIS_PIECES, 1, NO_MOST))
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
		if (!narrow(cell, charge->sum, charge->basis, step_begin(charge, from),
		            step_end(charge, to)))
			return false;
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

		if (grid <= 1)
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

		if (bound.most >= b->reach[bound.sum * BASES + bound.basis])
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
	const struct charge *charge = &b->terms->charge[c];

	if (c == b->terms->charges) {
		add_cell(b);
		return;
	}
	if (!charge_counts(b, c) || product * (charge->steps + 1) > b->limit) {
		b->from[c] = -1;
		b->to[c] = (short)((int)charge->steps - 1);
		if (charge->steps > 0 && charge->step[0].reached <= 0)
			b->from[c] = 0;
		each_step(b, c + 1, product);
		return;
	}
	for (int step = -1; step < (int)charge->steps; step++) {
		if (step_begin(charge, step) > step_end(charge, step) || step_end(charge, step) < 0)
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
	if (!charged)
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

		for (size_t k = 0; k < l->breaks; k++)
			if (b->model->brk[l->brk + k].price > price)
				price = b->model->brk[l->brk + k].price;
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

static void
start_builder(struct builder *b, struct cells *cells, const struct model *model, size_t seller)
{
	const struct terms *terms = model->seller[seller].terms;

	*b = (struct builder){.cells = cells, .model = model, .seller = seller, .terms = terms};
	b->sums = terms->classes + 1;
	b->reach = mem_zero(b->sums * BASES, sizeof *b->reach);
	b->grid = mem_zero(b->sums * BASES, sizeof *b->grid);
	b->in = mem_zero(b->sums, sizeof *b->in);
	b->in[0] = true;
	b->from = mem_zero(terms->charges, sizeof *b->from);
	b->to = mem_zero(terms->charges, sizeof *b->to);
	b->limit = CELLS_MOST;
	set_reach(b);
}

static void
end_builder(struct builder *b)
{
	free(b->reach);
	free(b->grid);
	free(b->in);
	free(b->from);
	free(b->to);
}

void
cells_init(struct cells *cells, const struct model *model)
{
	*cells = (struct cells){.sellers = model->sellers};
	cells->first = mem_zero(model->sellers + 1, sizeof *cells->first);
	cells->signatures = mem_zero(model->sellers, sizeof *cells->signatures);
	for (size_t s = 0; s < model->sellers; s++) {
		struct builder b;

		cells->first[s] = cells->count;
		if (model->seller[s].terms == NULL) {
			owned_cell(cells, s);
			continue;
		}
		start_builder(&b, cells, model, s);
		each_class(&b, 1);
		end_builder(&b);
	}
	cells->first[model->sellers] = cells->count;
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
	start_builder(&b, cells, model, cell->seller);
	for (size_t k = 1; k < b.sums; k++)
		b.in[k] = !cell->out[k];
	memcpy(b.from, cell->from, b.terms->charges * sizeof *b.from);
	memcpy(b.to, cell->to, b.terms->charges * sizeof *b.to);
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
pieces_to(int64_t least, int64_t size)
{
	return size > 0 ? (least - 1) / size + 1 : 0;
}

void
cells_caps(const struct cells *cells, const struct model *model, int64_t *cap)
{
	int64_t *lift = mem_zero(model->listings, sizeof *lift);

	for (size_t i = 0; i < cells->count; i++) {
		const struct cell *cell = &cells->cell[i];
		const struct model_seller *seller = &model->seller[cell->seller];

		for (size_t n = 0; n < cell->bounds; n++)
			for (size_t k = 0; k < seller->listings; k++) {
				size_t j = seller->listing + k;
				const struct model_listing *l = &model->listing[j];
				const struct cell_bound *bound = &cell->bound[n];
				int64_t size = bound->basis == BASIS_WEIGHT ? l->grams : 1;
				int64_t pieces;

				if (bound->least == 0 || (bound->sum != 0 && bound->sum != l->sum))
					continue;
				if (bound->basis == BASIS_LOTS) {
					pieces = 1;
				} else if (bound->basis == BASIS_VALUE) {
					/* The least price other than 0 needs the most pieces. */
					size = 0;
					for (size_t q = 0; q < l->breaks; q++) {
						int64_t price = model->brk[l->brk + q].price;

						if (price > 0 && (size == 0 || price < size))
							size = price;
					}
					pieces = pieces_to(bound->least, size);
				} else {
					pieces = pieces_to(bound->least, size);
				}
				if (pieces > lift[j])
					lift[j] = pieces;
			}
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
	free(lift);
}
