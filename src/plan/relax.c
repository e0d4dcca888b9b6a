#include "plan/relax.h"

#include "base/mem.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FAR 1e300

enum { EDGES_SORTED = 32, TANGENTS_MOST = 24, UNBRACKETED_MOST = 14, PASSES = 3 };

static const double basis_unit[BASES] = {1e-6, 1e-6, 1, 1};
static const wide basis_unit_inverse[BASES] = {1000000, 1000000, 1, 1};

/* What the priced bounds of a cell add to a line of one sum: per unit of money, gram, piece and
 * per listing bought. */
struct adjust {
	double money, gram, piece, kind_least, kind_most;
};

static bool
listing_plain(const struct model *model, const struct model_listing *l)
{
	const struct model_row *row;

	if (l->edges != 1 || l->breaks != 1 || l->step != 1 || model->brk[l->brk].least > 1)
		return false;
	row = &model->row[model->edge[l->edge]];
	return model->lot[row->lot].rows == 1 && row->label == NO_LABEL;
}

static void
set_plain(struct relax *relax, size_t s)
{
	const struct model *model = relax->model;
	const struct model_seller *seller = &model->seller[s];
	size_t first = relax->cells->first[s];
	const struct cell *cell;
	bool plain = relax->cells->first[s + 1] - first == 1;

	if (!plain)
		return;
	cell = &relax->cells->cell[first];
	plain = cell->bounds == 0 && cell->exact;
	for (size_t i = 0; plain && i < seller->listings; i++) {
		size_t j = seller->listing + i;
		const struct model_listing *l = &model->listing[j];

		plain = l->edges == 0 || listing_plain(model, l);
	}
	for (size_t i = 0; plain && i < seller->listings; i++) {
		size_t j = seller->listing + i;
		const struct model_listing *l = &model->listing[j];
		const struct model_row *row;
		double need;

		if (l->edges == 0)
			continue; /* lot 0, no pieces */
		row = &model->row[model->edge[l->edge]];
		need = relax->need[row->lot];
		relax->plain_lot[j] = (uint32_t)row->lot;
		relax->plain_cost[j] =
		    (double)model->brk[l->brk].price * 1e-6 * cell->factor_home[l->sum] +
		    (double)row->penalty * 1e-6;
		relax->plain_cap[j] = (double)relax->cap[j] < need ? (double)relax->cap[j] : need;
	}
	relax->plain_seller[s] = plain;
}

static void
set_kinds(struct relax *relax, size_t s)
{
	const struct model_seller *seller = &relax->model->seller[s];
	uint32_t *count = mem_zero(seller->kinds, sizeof *count);

	for (size_t i = 0; i < seller->listings; i++)
		count[relax->model->listing[seller->listing + i].kind]++;
	for (size_t i = 0; i < seller->listings; i++) {
		size_t j = seller->listing + i;

		relax->kind_share[j] = 1.0 / count[relax->model->listing[j].kind];
	}
	free(count);
}

void
relax_init(struct relax *relax, const struct model *model, struct cells *cells)
{
	*relax = (struct relax){.model = model, .cells = cells};
	relax->status = mem_zero(model->sellers, 1);
	relax->most = mem_zero(model->listings, sizeof *relax->most);
	relax->cap = mem_zero(model->listings, sizeof *relax->cap);
	relax->row_off = mem_zero(model->rows, sizeof *relax->row_off);
	relax->price_most = mem_zero(model->lots, sizeof *relax->price_most);
	relax->price_most_nano = mem_zero(model->lots, sizeof *relax->price_most_nano);
	relax->active = mem_zero(model->sellers, sizeof *relax->active);
	relax->need = mem_zero(model->lots, sizeof *relax->need);
	relax->kind_share = mem_zero(model->listings, sizeof *relax->kind_share);
	relax->plain_seller = mem_zero(model->sellers, sizeof *relax->plain_seller);
	relax->plain_lot = mem_zero(model->listings, sizeof *relax->plain_lot);
	relax->plain_cost = mem_zero(model->listings, sizeof *relax->plain_cost);
	relax->plain_cap = mem_zero(model->listings, sizeof *relax->plain_cap);
	relax->value = mem_zero(model->sellers, sizeof *relax->value);
	relax->choice = mem_zero(model->sellers, sizeof *relax->choice);
	relax->filled = mem_zero(model->lots, sizeof *relax->filled);
	relax->value_exact = mem_zero(model->sellers, sizeof *relax->value_exact);
	relax->scratch_nano = mem_zero(model->lots, sizeof *relax->scratch_nano);
	cells_caps(cells, model, relax->cap);
	memcpy(relax->most, relax->cap, model->listings * sizeof *relax->most);
	for (size_t i = 0; i < model->lots; i++) {
		relax->need[i] = (double)model->lot[i].need;
		relax->price_most[i] = FAR;
		relax->price_most_nano[i] = INT64_MAX;
	}
	for (size_t s = 0; s < model->sellers; s++) {
		if (cells->first[s] == cells->first[s + 1])
			relax->status[s] = SELLER_SHUT;
		set_plain(relax, s);
		set_kinds(relax, s);
	}
	relax_grow(relax);
	memset(relax->cell_off, 0, cells->count * sizeof *relax->cell_off);
	relax_activate(relax);
}

void
relax_free(struct relax *relax)
{
	free(relax->status);
	free(relax->cell_off);
	free(relax->most);
	free(relax->cap);
	free(relax->row_off);
	free(relax->price_most);
	free(relax->price_most_nano);
	free(relax->active);
	free(relax->need);
	free(relax->kind_share);
	free(relax->plain_seller);
	free(relax->plain_lot);
	free(relax->plain_cost);
	free(relax->plain_cap);
	free(relax->value);
	free(relax->choice);
	free(relax->filled);
	free(relax->scratch_nano);
	free(relax->value_exact);
	free(relax->cell_exact);
	free(relax->profit);
	free(relax->basis);
	free(relax->adjust);
}

/* Room in the scratch arrays for every signature and sum of the seller that has most. */
static void
grow_scratch(struct relax *relax)
{
	size_t widest = 1;

	for (size_t s = 0; s < relax->model->sellers; s++) {
		size_t wide_as = relax->cells->signatures[s] * model_sums(relax->model, s);

		if (wide_as > widest)
			widest = wide_as;
	}
	if (widest <= relax->scratch)
		return;
	relax->scratch = widest;
	relax->profit = mem_resize(relax->profit, widest, sizeof *relax->profit);
	relax->basis = mem_resize(relax->basis, widest * BASES, sizeof *relax->basis);
	relax->adjust = mem_resize(relax->adjust, widest, sizeof *relax->adjust);
}

void
relax_grow(struct relax *relax)
{
	size_t count = relax->cells->count;

	relax->cell_off = mem_resize(relax->cell_off, count, sizeof *relax->cell_off);
	relax->cell_exact = mem_resize(relax->cell_exact, count, sizeof *relax->cell_exact);
	for (size_t i = relax->cell_room; i < count; i++)
		relax->cell_off[i] = true;
	relax->cell_room = count;
	grow_scratch(relax);
}

void
relax_activate(struct relax *relax)
{
	relax->actives = 0;
	for (size_t s = 0; s < relax->model->sellers; s++)
		if (relax->status[s] != SELLER_SHUT)
			relax->active[relax->actives++] = s;
}

/* The first run, and those that splits appended. */
bool
relax_next_cell(const struct relax *relax, size_t s, size_t *at)
{
	const struct cells *cells = relax->cells;
	size_t i = *at == SIZE_MAX ? cells->first[s] : *at + 1;

	for (; i < cells->first[s + 1]; i++)
		if (!relax->cell_off[i]) {
			*at = i;
			return true;
		}
	if (i < cells->first[cells->sellers])
		i = cells->first[cells->sellers];
	for (; i < cells->count; i++)
		if (cells->cell[i].seller == s && !relax->cell_off[i]) {
			*at = i;
			return true;
		}
	return false;
}

/* ---- One listing ---- */

struct take {
	double cost; /* of buying x at this price, less what its uses earn; 0 for none */
	int64_t x;
	size_t brk;
};

struct margin {
	double gain; /* of one piece used */
	double need;
	size_t edge, lot;
};

/* The uses of a listing, the best first, one per lot. */
static size_t
sort_uses(const struct relax *relax, const struct model_listing *l, const double *price,
          struct margin *use)
{
	const struct model *model = relax->model;
	size_t count = 0;

	for (size_t e = l->edge; e < l->edge + l->edges; e++) {
		size_t r = model->edge[e], lot = model->row[r].lot, at;
		double gain = price[lot] - (double)model->row[r].penalty * 1e-6;

		if (relax->row_off[r] || gain <= 0)
			continue;
		for (at = 0; at < count && use[at].lot != lot; at++)
			;
		if (at < count) {
			if (use[at].gain >= gain)
				continue;
			count--;
			memmove(&use[at], &use[at + 1], (count - at) * sizeof *use);
		}
		if (count == EDGES_SORTED && use[count - 1].gain >= gain)
			continue;
		for (at = count; at > 0 && use[at - 1].gain < gain; at--)
			if (at < EDGES_SORTED)
				use[at] = use[at - 1];
		use[at] = (struct margin){gain, relax->need[lot], e, lot};
		if (count < EDGES_SORTED)
			count++;
	}
	return count;
}

static double
reward(const struct margin *use, size_t uses, double x)
{
	double sum = 0;

	for (size_t i = 0; i < uses && x > 0; i++) {
		double part = x < use[i].need ? x : use[i].need;

		sum += part * use[i].gain;
		x -= part;
	}
	return sum;
}

static void
try_quantity(struct take *best, double unit, double once, const struct margin *use, size_t uses,
             int64_t x, size_t brk)
{
	double cost = unit * (double)x + once - reward(use, uses, (double)x);

	if (cost < best->cost) {
		best->cost = cost;
		best->x = x;
		best->brk = brk;
	}
}

/* The best quantity of a listing in a cell with priced bounds. */
static struct take
take_listing(struct relax *relax, size_t j, const struct cell *cell, const struct adjust *adjust,
             const double *price, struct margin *use, size_t *uses)
{
	const struct model_listing *l = &relax->model->listing[j];
	const struct adjust *a = &adjust[l->sum];
	double factor = cell->factor_home[l->sum] + a->money;
	double extra = a->gram * (double)l->grams * 1e-6 + a->piece;
	double once = a->kind_least + a->kind_most * relax->kind_share[j];
	struct take best = {.cost = 0};

	relax->work++;
	*uses = sort_uses(relax, l, price, use);
	for (size_t b = 0; b < l->breaks; b++) {
		const struct model_break *brk = &relax->model->brk[l->brk + b];
		double unit = (double)brk->price * 1e-6 * factor + extra;
		int64_t low = brk->least;
		int64_t high = relax->most[j];
		double wanted = 0;
		int64_t x;

		if (low < 1)
			low = 1;
		low = (low + l->step - 1) / l->step * l->step;
		high = high / l->step * l->step;
		if (low > high)
			continue;
		if (unit < 0) {
			try_quantity(&best, unit, once, use, *uses, high, b);
			continue;
		}
		for (size_t i = 0; i < *uses && use[i].gain > unit; i++)
			wanted += use[i].need;
		x = wanted < (double)high ? (int64_t)wanted / l->step * l->step : high;
		if (x > low)
			try_quantity(&best, unit, once, use, *uses, x, b);
		if (l->step > 1 && x + l->step > low && x + l->step <= high)
			try_quantity(&best, unit, once, use, *uses, x + l->step, b);
		if (x <= low)
			try_quantity(&best, unit, once, use, *uses, low, b);
	}
	return best;
}

/* ---- One seller ---- */

static void
add_basis(const struct relax *relax, size_t j, const struct take *take, double *basis, bool lower)
{
	const struct model_listing *l = &relax->model->listing[j];
	double x = (double)take->x;

	basis[BASIS_VALUE] += x * (double)relax->model->brk[l->brk + take->brk].price * 1e-6;
	basis[BASIS_WEIGHT] += x * (double)l->grams * 1e-6;
	basis[BASIS_PIECES] += x;
	basis[BASIS_LOTS] += lower ? 1 : relax->kind_share[j];
}

/* Free choice, no bound priced: profit and basis sums by signature and sum. */
static void
choose_freely(struct relax *relax, size_t s, const struct cell *sample, const double *price)
{
	const struct model_seller *seller = &relax->model->seller[s];
	size_t sums = model_sums(relax->model, s), at = sample->signature * sums;
	struct margin use[EDGES_SORTED];
	size_t uses;

	memset(relax->profit + at, 0, sums * sizeof *relax->profit);
	memset(relax->basis + at * BASES, 0, sums * BASES * sizeof *relax->basis);
	memset(relax->adjust, 0, sums * sizeof *relax->adjust);
	for (size_t i = 0; i < seller->listings; i++) {
		size_t j = seller->listing + i, k = at + relax->model->listing[j].sum;
		struct take take = take_listing(relax, j, sample, relax->adjust, price, use, &uses);

		relax->profit[k] += take.cost;
		if (take.x > 0)
			add_basis(relax, j, &take, relax->basis + k * BASES, false);
	}
}

static double
free_value(const struct relax *relax, const struct cell *cell, size_t sums)
{
	double value = cell->fixed_home;

	for (size_t k = 0; k < sums; k++)
		if (!cell->out[k])
			value += relax->profit[cell->signature * sums + k];
	return value;
}

/* How far a choice breaks a bound, in the bound's units; positive: below least. */
static double
breach(const struct cell_bound *bound, double sum)
{
	double unit = basis_unit[bound->basis];

	if (sum < (double)bound->least * unit * (1 - 1e-12))
		return (double)bound->least * unit - sum;
	if (bound->most != INT64_MAX && sum > (double)bound->most * unit * (1 + 1e-12) + 1e-9)
		return (double)bound->most * unit - sum;
	return 0;
}

static void
set_adjust(struct relax *relax, const struct cell *cell, const double *rho, size_t sums)
{
	memset(relax->adjust, 0, sums * sizeof *relax->adjust);
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];
		double least = rho[2 * i], most = rho[2 * i + 1];

		if (least == 0 && most == 0)
			continue;
		for (size_t k = 0; k < sums; k++) {
			struct adjust *a = &relax->adjust[k];

			if (bound->sum != 0 && bound->sum != k)
				continue;
			switch (bound->basis) {
			case BASIS_VALUE:
				a->money += most - least;
				break;
			case BASIS_WEIGHT:
				a->gram += most - least;
				break;
			case BASIS_PIECES:
				a->piece += most - least;
				break;
			default:
				a->kind_least -= least;
				a->kind_most += most;
				break;
			}
		}
	}
}

/* The value of a cell's best order with its bounds priced by rho; total[i] gets what the choice
 * adds up to for bound i (lots counted as the priced side counts them). */
static double
priced_value(struct relax *relax, const struct cell *cell, const double *rho, const double *price,
             double *total)
{
	const struct model_seller *seller = &relax->model->seller[cell->seller];
	size_t sums = model_sums(relax->model, cell->seller);
	double value = cell->fixed_home;
	struct margin use[EDGES_SORTED];
	size_t uses;

	set_adjust(relax, cell, rho, sums);
	for (size_t i = 0; i < cell->bounds; i++) {
		total[i] = 0;
		value +=
		    rho[2 * i] * (double)cell->bound[i].least * basis_unit[cell->bound[i].basis];
		if (rho[2 * i + 1] > 0)
			value -= rho[2 * i + 1] * (double)cell->bound[i].most *
			         basis_unit[cell->bound[i].basis];
	}
	for (size_t n = 0; n < seller->listings; n++) {
		size_t j = seller->listing + n;
		const struct model_listing *l = &relax->model->listing[j];
		struct take take;

		if (cell->out[l->sum] || relax->most[j] == 0)
			continue;
		take = take_listing(relax, j, cell, relax->adjust, price, use, &uses);
		value += take.cost;
		if (take.x == 0)
			continue;
		for (size_t i = 0; i < cell->bounds; i++) {
			const struct cell_bound *bound = &cell->bound[i];
			double basis[BASES] = {0};

			if (bound->sum != 0 && bound->sum != l->sum)
				continue;
			add_basis(relax, j, &take, basis, rho[2 * i] > 0);
			total[i] += basis[bound->basis];
		}
	}
	return value;
}

/* A multiplier that surely turns the sum past its bound, or a guess to double. */
static double
first_multiplier(const struct relax *relax, const struct cell *cell, const struct cell_bound *bound,
                 bool below)
{
	size_t sums = model_sums(relax->model, cell->seller);
	double most = 0;

	if (below && bound->basis == BASIS_VALUE) {
		for (size_t k = 0; k < sums; k++)
			if (cell->factor_home[k] > most)
				most = cell->factor_home[k];
		return most * 0.25 + 1e-9;
	}
	/* A tenth of a home unit, spread over the bound. */
	return 0.1 /
	       (1e-6 + (double)(below ? bound->least : bound->most) * basis_unit[bound->basis]);
}

/* Raises the cell's value by pricing bound i, others as they are in rho. Kelley's method: a and b
 * are multipliers on the two sides of the best, the next is where their tangents meet. */
static double
price_bound(struct relax *relax, const struct cell *cell, double *rho, size_t i, bool below,
            const double *price, double value, double *total)
{
	const struct cell_bound *bound = &cell->bound[i];
	double limit = (double)(below ? bound->least : bound->most) * basis_unit[bound->basis];
	double sign = below ? 1 : -1;
	double *at = &rho[2 * i + (below ? 0 : 1)];
	double a = *at, fa = value, ga = sign * (limit - total[i]);
	double b = 0, fb = 0, gb = 0, best = value, best_at = a;
	double next = first_multiplier(relax, cell, bound, below);
	bool bracketed = false;

	if (a > 0 && next < 2 * a)
		next = 2 * a;
	for (int n = 0; n < TANGENTS_MOST; n++) {
		double f, g;

		*at = next;
		f = priced_value(relax, cell, rho, price, total);
		g = sign * (limit - total[i]);
		if (f > best) {
			best = f;
			best_at = next;
		}
		if (g > 1e-9) {
			a = next;
			fa = f;
			ga = g;
		} else if (g < -1e-9) {
			b = next;
			fb = f;
			gb = g;
			bracketed = true;
		} else {
			break;
		}
		if (!bracketed) {
			if (n >= UNBRACKETED_MOST)
				break;
			next = 4 * a + 1e-9;
			continue;
		}
		next = (fb - fa + ga * a - gb * b) / (ga - gb);
		if (!(next > a && next < b) || fa + ga * (next - a) - best < 1e-7)
			break;
	}
	*at = best_at;
	priced_value(relax, cell, rho, price, total);
	if (!bracketed && ga > 1e-9 && below)
		return FAR; /* no choice can reach the bound */
	return best;
}

/* Prices the bounds that the free choice of a cell breaks. */
static double
refine(struct relax *relax, struct cell *cell, const double *price)
{
	double *total = relax->basis; /* free after choose_freely's results were used */
	double total_small[16], value;

	if (cell->bounds <= 16)
		total = total_small;
	memset(cell->rho, 0, 2 * cell->bounds * sizeof *cell->rho);
	value = priced_value(relax, cell, cell->rho, price, total);
	for (int pass = 0; pass < PASSES; pass++) {
		size_t worst = SIZE_MAX;
		double most = 0;

		for (size_t i = 0; i < cell->bounds; i++) {
			double off = breach(&cell->bound[i], total[i]);
			double scale =
			    (double)(off > 0 ? cell->bound[i].least : cell->bound[i].most) *
			    basis_unit[cell->bound[i].basis];

			if (off != 0 && fabs(off) / (scale + 1e-9) > most) {
				most = fabs(off) / (scale + 1e-9);
				worst = i;
			}
		}
		if (worst == SIZE_MAX)
			break;
		value =
		    price_bound(relax, cell, cell->rho, worst,
		                breach(&cell->bound[worst], total[worst]) > 0, price, value, total);
		if (value >= FAR)
			break;
	}
	return value;
}

static bool
keeps_bounds(const struct relax *relax, const struct cell *cell, size_t sums)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];
		double sum = 0;

		for (size_t k = 0; k < sums; k++)
			if (!cell->out[k] && (bound->sum == 0 || bound->sum == k))
				sum += relax->basis[(cell->signature * sums + k) * BASES +
				                    bound->basis];
		if (breach(bound, sum) != 0)
			return false;
	}
	return true;
}

static double
plain_value(struct relax *relax, size_t s, const double *price)
{
	const struct model_seller *seller = &relax->model->seller[s];
	double value = relax->cells->cell[relax->cells->first[s]].fixed_home;
	const uint32_t *lot = relax->plain_lot + seller->listing;
	const double *cost = relax->plain_cost + seller->listing;
	const double *cap = relax->plain_cap + seller->listing;

	for (size_t i = 0; i < seller->listings; i++) {
		double gain = price[lot[i]] - cost[i];

		value -= gain > 0 ? gain * cap[i] : 0;
	}
	relax->work += seller->listings;
	return value;
}

/* The value of a seller's best order, and its cell. FAR: no order is possible. */
static double
seller_value(struct relax *relax, size_t s, const double *price, size_t *choice)
{
	size_t sums = model_sums(relax->model, s), at = SIZE_MAX, count = 0;
	struct {
		size_t cell;
		double value;
		bool final;
	} few[64], *list = few;
	size_t room = 64;
	double found = FAR;
	unsigned char seen_few[256], *seen = seen_few;
	size_t signatures = relax->cells->signatures[s];

	if (relax->plain_seller[s]) {
		*choice = relax->cells->first[s];
		return plain_value(relax, s, price);
	}
	if (signatures > sizeof seen_few)
		seen = mem_alloc(signatures);
	memset(seen, 0, signatures);
	while (relax_next_cell(relax, s, &at)) {
		struct cell *cell = &relax->cells->cell[at];

		if (!seen[cell->signature]) {
			choose_freely(relax, s, cell, price);
			seen[cell->signature] = 1;
		}
		if (count == room) {
			size_t bytes = room * sizeof *list;
			void *more = mem_alloc(2 * bytes);

			memcpy(more, list, bytes);
			if (list != few)
				free(list);
			list = more;
			room *= 2;
		}
		list[count].cell = at;
		list[count].value = free_value(relax, cell, sums);
		list[count].final = keeps_bounds(relax, cell, sums);
		memset(cell->rho, 0, 2 * cell->bounds * sizeof *cell->rho);
		count++;
	}
	/* The least cell is refined until it is final. */
	while (count > 0) {
		size_t least = 0;

		for (size_t i = 1; i < count; i++)
			if (list[i].value < list[least].value)
				least = i;
		found = list[least].value;
		*choice = list[least].cell;
		if (list[least].final || (found >= 0 && relax->status[s] != SELLER_OPEN))
			break;
		list[least].value = refine(relax, &relax->cells->cell[*choice], price);
		list[least].final = true;
		if (list[least].value < found)
			list[least].value = found;
	}
	if (list != few)
		free(list);
	if (seen != seen_few)
		free(seen);
	return found;
}

/* Adds the uses of a seller's chosen order to filled. */
static void
add_uses(struct relax *relax, size_t s, const double *price)
{
	const struct model_seller *seller = &relax->model->seller[s];
	const struct cell *cell = &relax->cells->cell[relax->choice[s]];
	struct margin use[EDGES_SORTED];
	size_t uses;

	if (relax->plain_seller[s]) {
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
			if (price[relax->plain_lot[j]] > relax->plain_cost[j])
				relax->filled[relax->plain_lot[j]] += relax->plain_cap[j];
		return;
	}
	set_adjust(relax, cell, cell->rho, model_sums(relax->model, s));
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		struct take take;
		double left;

		if (cell->out[relax->model->listing[j].sum] || relax->most[j] == 0)
			continue;
		take = take_listing(relax, j, cell, relax->adjust, price, use, &uses);
		left = (double)take.x;
		for (size_t i = 0; i < uses && left > 0; i++) {
			double part = left < use[i].need ? left : use[i].need;

			relax->filled[use[i].lot] += part;
			left -= part;
		}
	}
}

void
relax_order(struct relax *relax, const double *price, size_t s, int64_t *bought, double *used)
{
	const struct model_seller *seller = &relax->model->seller[s];
	const struct cell *cell = &relax->cells->cell[relax->choice[s]];
	struct margin use[EDGES_SORTED];
	size_t uses;

	set_adjust(relax, cell, cell->rho, model_sums(relax->model, s));
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &relax->model->listing[j];
		struct take take = {0};
		double left;

		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			used[e] = 0;
		bought[j] = 0;
		if (cell->out[l->sum] || relax->most[j] == 0)
			continue;
		take = take_listing(relax, j, cell, relax->adjust, price, use, &uses);
		bought[j] = take.x;
		left = (double)take.x;
		for (size_t i = 0; i < uses && left > 0; i++) {
			used[use[i].edge] = left < use[i].need ? left : use[i].need;
			left -= used[use[i].edge];
		}
	}
}

double
relax_bound(struct relax *relax, const double *price)
{
	double bound = 0;

	for (size_t i = 0; i < relax->model->lots; i++) {
		bound += price[i] * relax->need[i];
		relax->filled[i] = 0;
	}
	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];
		double value = seller_value(relax, s, price, &relax->choice[s]);

		relax->value[s] = value;
		if (value >= 0 && relax->status[s] != SELLER_OPEN)
			continue;
		bound += value;
		if (value < FAR)
			add_uses(relax, s, price);
	}
	return bound;
}

/* ---- The same in integers ---- */

struct adjust_exact {
	wide money, gram, piece, kind_least, kind_most; /* pico home per unit */
};

static wide
to_pico(double home)
{
	return (wide)(home * 1e12);
}

static void
set_adjust_exact(const struct cell *cell, const double *rho, size_t sums,
                 struct adjust_exact *adjust, wide *constant)
{
	memset(adjust, 0, sums * sizeof *adjust);
	*constant = 0;
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];
		wide least = to_pico(rho[2 * i]), most = to_pico(rho[2 * i + 1]);
		wide unit = basis_unit_inverse[bound->basis];

		*constant += wide_div_floor(least * bound->least, unit);
		if (most > 0)
			*constant -= wide_div_ceil(most * bound->most, unit);
		for (size_t k = 0; k < sums; k++) {
			if (bound->sum != 0 && bound->sum != k)
				continue;
			switch (bound->basis) {
			case BASIS_VALUE:
				adjust[k].money += most - least;
				break;
			case BASIS_WEIGHT:
				adjust[k].gram += most - least;
				break;
			case BASIS_PIECES:
				adjust[k].piece += most - least;
				break;
			default:
				adjust[k].kind_least -= least;
				adjust[k].kind_most += most;
				break;
			}
		}
	}
}

struct margin_exact {
	wide gain;
	int64_t need;
	size_t lot;
};

static size_t
sort_uses_exact(const struct relax *relax, const struct model_listing *l,
                struct margin_exact **list, size_t *room)
{
	const struct model *model = relax->model;
	size_t count = 0;

	if (l->edges > *room) {
		*room = l->edges;
		*list = mem_resize(*list, *room, sizeof **list);
	}
	for (size_t e = l->edge; e < l->edge + l->edges; e++) {
		size_t r = model->edge[e], lot = model->row[r].lot, at;
		wide gain =
		    (wide)relax->scratch_nano[lot] * 1000 - (wide)model->row[r].penalty * 1000000;

		if (relax->row_off[r] || gain <= 0)
			continue;
		for (at = 0; at < count && (*list)[at].lot != lot; at++)
			;
		if (at < count) {
			if ((*list)[at].gain >= gain)
				continue;
			count--;
			memmove(&(*list)[at], &(*list)[at + 1], (count - at) * sizeof **list);
		}
		for (at = count++; at > 0 && (*list)[at - 1].gain < gain; at--)
			(*list)[at] = (*list)[at - 1];
		(*list)[at] = (struct margin_exact){gain, model->lot[lot].need, lot};
	}
	return count;
}

static void
try_exact(wide *best, wide unit, wide once, const struct margin_exact *use, size_t uses, int64_t x)
{
	wide cost = unit * x + once;
	int64_t left = x;

	for (size_t i = 0; i < uses && left > 0; i++) {
		int64_t part = left < use[i].need ? left : use[i].need;

		cost -= use[i].gain * part;
		left -= part;
	}
	if (cost < *best)
		*best = cost;
}

#define WIDE_FAR ((wide)1 << 120)

static wide
listing_exact(const struct relax *relax, size_t j, const struct cell *cell,
              const struct adjust_exact *a, const struct margin_exact *use, size_t uses)
{
	const struct model_listing *l = &relax->model->listing[j];
	wide factor = cell->factor[l->sum] + a->money;
	wide extra = wide_div_floor(a->gram * l->grams, 1000000) + a->piece;
	wide share = a->kind_most > 0
	                 ? wide_div_floor(
	                       (wide)((double)a->kind_most * relax->kind_share[j] * (1 - 1e-9)), 1)
	                 : 0;
	wide once = a->kind_least + share;
	wide best = 0;

	for (size_t b = 0; b < l->breaks; b++) {
		const struct model_break *brk = &relax->model->brk[l->brk + b];
		wide unit = wide_div_floor(brk->price * factor, 1000000) + extra;
		int64_t low = brk->least;
		int64_t high = relax->most[j] / l->step * l->step, x;
		wide wanted = 0;

		if (low < 1)
			low = 1;
		low = (low + l->step - 1) / l->step * l->step;
		if (low > high)
			continue;
		if (unit < 0) {
			try_exact(&best, unit, once, use, uses, high);
			continue;
		}
		for (size_t i = 0; i < uses && use[i].gain > unit; i++)
			wanted += use[i].need;
		x = wanted < high ? (int64_t)wanted / l->step * l->step : high;
		if (x > low)
			try_exact(&best, unit, once, use, uses, x);
		if (x + l->step > low && x + l->step <= high)
			try_exact(&best, unit, once, use, uses, x + l->step);
		if (x <= low)
			try_exact(&best, unit, once, use, uses, low);
	}
	return best;
}

/* The value of a cell's best order at rho, rounded down. */
static wide
cell_exact(struct relax *relax, const struct cell *cell, const double *rho,
           struct margin_exact **list, size_t *room)
{
	const struct model_seller *seller = &relax->model->seller[cell->seller];
	size_t sums = model_sums(relax->model, cell->seller);
	struct adjust_exact few[16], *adjust = few;
	wide value, constant;

	if (sums > 16)
		adjust = mem_alloc(sums * sizeof *adjust);
	set_adjust_exact(cell, rho, sums, adjust, &constant);
	value = cell->fixed + constant;
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &relax->model->listing[j];
		size_t uses;

		if (cell->out[l->sum] || relax->most[j] == 0)
			continue;
		uses = sort_uses_exact(relax, l, list, room);
		if (uses == 0 && constant == 0)
			continue;
		value += listing_exact(relax, j, cell, &adjust[l->sum], *list, uses);
	}
	if (adjust != few)
		free(adjust);
	return value;
}

static wide
seller_exact(struct relax *relax, size_t s, struct margin_exact **list, size_t *room)
{
	size_t at = SIZE_MAX;
	wide least = WIDE_FAR;

	while (relax_next_cell(relax, s, &at)) {
		const struct cell *cell = &relax->cells->cell[at];
		wide value;

		value = cell_exact(relax, cell, cell->rho, list, room);
		relax->cell_exact[at] = value;
		if (value < least)
			least = value;
	}
	return least;
}

wide
relax_bound_exact(struct relax *relax, const double *price, wide ceiling)
{
	struct margin_exact *list = NULL;
	size_t room = 0;
	wide bound = 0;

	for (size_t i = 0; i < relax->model->lots; i++) {
		double nano = price[i] * 1e9;
		int64_t cut = nano >= 9e18 ? INT64_MAX : (int64_t)nano;

		if (cut > relax->price_most_nano[i])
			cut = relax->price_most_nano[i];
		relax->scratch_nano[i] = cut;
		bound += (wide)cut * 1000 * relax->model->lot[i].need;
	}
	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];
		wide value = seller_exact(relax, s, &list, &room);

		relax->value_exact[s] = value;
		if (value >= WIDE_FAR && relax->status[s] == SELLER_OPEN) {
			bound = ceiling;
			break;
		}
		if (value < 0 || relax->status[s] == SELLER_OPEN)
			bound += value;
	}
	free(list);
	return bound < ceiling ? bound : ceiling;
}
