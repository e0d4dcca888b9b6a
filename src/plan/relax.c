#include "plan/relax.h"

#include "base/mem.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LACK_PRICE 1e3  /* times a cell's value: of lacking the whole of a bound; */
#define LACK_RAISE 1e3  /* more, where a value comes of amounts that nearly cancel out; */
#define LACK_MOST  1e12 /* home: no more than this, for sums in whole numbers */

enum { EDGES_SORTED = 32, POINTS_MOST = 40 };

struct margin {
	double gain; /* of one piece used */
	double need;
	size_t edge, lot;
};

static const double basis_unit[BASES] = {1e-6, 1e-6, 1, 1};

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

		plain = l->edges == 0 || (listing_plain(model, l) && plain_unit(relax, j));
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
		const struct model_listing *l = &relax->model->listing[j];

		if (model_counts_lot(l, 0) && model_counts_lot(l, l->sum))
			relax->kind_share[j] = 1.0 / count[l->kind];
	}
	free(count);
}

/* Notes that a seller can give so many pieces of a lot more; at: by lot, its last entry. */
static void
reach(struct relax *relax, size_t s, size_t lot, int64_t pieces, size_t *at)
{
	if (at[lot] == SIZE_MAX || at[lot] < relax->reach_first[s]) {
		MEM_ROOM(relax->reach, relax->reaches, relax->reach_room);
		at[lot] = relax->reaches++;
		relax->reach[at[lot]] = (struct relax_reach){.lot = lot};
	}
	/* As in the value: no listing fills more than the need, several may. */
	relax->reach[at[lot]].most +=
	    (double)pieces < relax->need[lot] ? (double)pieces : relax->need[lot];
}

/* The lots within reach of every seller that is not plain. */
static void
set_reach(struct relax *relax)
{
	const struct model *model = relax->model;
	size_t *at = mem_alloc((model->lots + 1) * sizeof *at);

	for (size_t i = 0; i < model->lots; i++)
		at[i] = SIZE_MAX;
	for (size_t s = 0; s < model->sellers; s++) {
		const struct model_seller *seller = &model->seller[s];
		size_t listings = relax->plain_seller[s] ? 0 : seller->listings;

		relax->reach_first[s] = relax->reaches;
		for (size_t j = seller->listing; j < seller->listing + listings; j++) {
			const struct model_listing *l = &model->listing[j];
			size_t last = SIZE_MAX;

			for (size_t e = l->edge; e < l->edge + l->edges; e++) {
				size_t lot = model->row[model->edge[e]].lot;

				if (lot != last)
					reach(relax, s, lot, relax->cap[j], at);
				last = lot;
			}
		}
	}
	relax->reach_first[model->sellers] = relax->reaches;
	free(at);
}

/* Room for the uses of the seller with most listings, and with most uses. */
static void
make_use_room(struct relax *relax)
{
	const struct model *model = relax->model;
	size_t uses = 1, listings = 0;

	for (size_t s = 0; s < model->sellers; s++) {
		const struct model_seller *seller = &model->seller[s];
		size_t all = EDGES_SORTED; /* what sorting the last listing may touch */

		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
			all += model->listing[j].edges;
		if (all > uses)
			uses = all;
		if (seller->listings > listings)
			listings = seller->listings;
	}
	relax->use = mem_zero(uses, sizeof *relax->use);
	relax->use_first = mem_zero(listings + 1, sizeof *relax->use_first);
}

void
relax_init(struct relax *relax, const struct model *model, struct cells *cells)
{
	*relax = (struct relax){.model = model, .cells = cells};
	relax->status = mem_zero(model->sellers, 1);
	relax->most = mem_zero(model->listings, sizeof *relax->most);
	relax->least = mem_zero(model->listings, sizeof *relax->least);
	relax->bent = mem_zero(model->sellers, sizeof *relax->bent);
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
	relax->plain.unit = mem_zero(model->listings, sizeof *relax->plain.unit);
	relax->plain_cap = mem_zero(model->listings, sizeof *relax->plain_cap);
	relax->value = mem_zero(model->sellers, sizeof *relax->value);
	relax->choice = mem_zero(model->sellers, sizeof *relax->choice);
	relax->filled = mem_zero(model->lots, sizeof *relax->filled);
	relax->value_exact = mem_zero(model->sellers, sizeof *relax->value_exact);
	relax->scratch_nano = mem_zero(model->lots, sizeof *relax->scratch_nano);
	relax->reach_first = mem_zero(model->sellers + 1, sizeof *relax->reach_first);
	relax->kept_value = mem_zero(model->sellers, sizeof *relax->kept_value);
	relax->kept_price = mem_zero(model->sellers, sizeof *relax->kept_price);
	relax->kept_at = mem_zero(model->sellers, sizeof *relax->kept_at);
	relax->changed = mem_zero(model->sellers, sizeof *relax->changed);
	make_use_room(relax);
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
		relax->changed[s] = 1;
	}
	plain_init(relax);
	set_reach(relax);
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
	free(relax->least);
	free(relax->bent);
	free(relax->buy);
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
	plain_free(relax);
	free(relax->value);
	free(relax->choice);
	free(relax->filled);
	free(relax->scratch_nano);
	free(relax->value_exact);
	free(relax->reach_first);
	free(relax->reach);
	free(relax->kept_value);
	free(relax->kept_price);
	free(relax->kept_at);
	free(relax->changed);
	free(relax->cell_exact);
	free(relax->profit);
	free(relax->basis);
	free(relax->adjust);
	free(relax->use);
	free(relax->use_first);
	lp_free(&relax->inner);
	free(relax->part);
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

/* Room for the pricing of the cell with most bounds. */
static void
grow_inner(struct relax *relax, size_t count)
{
	size_t bounds = 0, sides;

	for (size_t c = 0; c < count; c++)
		if (relax->cells->cell[c].bounds > bounds)
			bounds = relax->cells->cell[c].bounds;
	sides = 2 * bounds;
	if (relax->inner_sides >= sides && relax->inner_sides > 0)
		return;
	if (relax->inner_sides > 0)
		lp_free(&relax->inner);
	relax->inner_sides = sides > 0 ? sides : 1;
	lp_init(&relax->inner, 1 + sides, POINTS_MOST + sides, POINTS_MOST * (1 + sides) + sides);
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
	grow_inner(relax, count);
}

static bool
is_bent(const struct relax *relax, size_t j)
{
	return relax->least[j] != 0 || relax->most[j] != relax->cap[j];
}

void
relax_touch(struct relax *relax, size_t s)
{
	relax->changed[s]++;
}

void
relax_touch_rows(struct relax *relax)
{
	for (size_t s = 0; s < relax->model->sellers; s++)
		relax_touch(relax, s);
}

void
relax_set_quantity(struct relax *relax, size_t j, int64_t least, int64_t most)
{
	uint32_t *bent = &relax->bent[relax->model->listing[j].seller];

	*bent -= is_bent(relax, j);
	relax->least[j] = least;
	relax->most[j] = most;
	*bent += is_bent(relax, j);
	relax_touch(relax, relax->model->listing[j].seller);
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

static const struct margin *
uses_of(const struct relax *relax, size_t j, size_t *uses)
{
	size_t n = j - relax->model->seller[relax->model->listing[j].seller].listing;

	*uses = relax->use_first[n + 1] - relax->use_first[n];
	return relax->use + relax->use_first[n];
}

/* Sorts the uses of all that the seller lists, for the multipliers given. */
static void
look_at(struct relax *relax, size_t s, const double *price)
{
	const struct model_seller *seller = &relax->model->seller[s];
	size_t count = 0;

	for (size_t n = 0; n < seller->listings; n++) {
		relax->use_first[n] = count;
		count += sort_uses(relax, &relax->model->listing[seller->listing + n], price,
		                   relax->use + count);
	}
	relax->use_first[seller->listings] = count;
	relax->work += seller->listings;
}

/* Does a piece of the listing pay, at any of its prices? */
static bool
can_pay(const struct relax *relax, const struct model_listing *l, double factor, double extra,
        const struct margin *use, size_t uses)
{
	double gain = uses > 0 ? use[0].gain : 0;

	for (size_t b = 0; b < l->breaks; b++) {
		double unit = (double)relax->model->brk[l->brk + b].price * 1e-6 * factor + extra;

		if (unit < 0 || unit < gain)
			return true;
	}
	return false;
}

static int64_t
down_to_step(int64_t pieces, int64_t step)
{
	return step == 1 ? pieces : pieces / step * step; /* most are 1, and division takes long */
}

/* The best quantity of a listing, of the seller looked at, in a cell with priced bounds. */
static struct take
take_listing(struct relax *relax, size_t j, const struct cell *cell, const struct adjust *adjust)
{
	const struct model_listing *l = &relax->model->listing[j];
	const struct adjust *a = &adjust[l->sum];
	double factor = cell->factor_home[l->sum] + a->money;
	double extra = a->gram * (double)l->grams * 1e-6 + a->piece;
	double once = a->kind_least + a->kind_most * relax->kind_share[j];
	struct take best = {.cost = relax->least[j] > 0 ? FAR : 0};
	size_t uses;
	const struct margin *use = uses_of(relax, j, &uses);

	relax->work++;
	if (relax->least[j] == 0 && once >= 0 && !can_pay(relax, l, factor, extra, use, uses))
		return best;
	for (size_t b = 0; b < l->breaks; b++) {
		const struct model_break *brk = &relax->model->brk[l->brk + b];
		double unit = (double)brk->price * 1e-6 * factor + extra;
		int64_t low = brk->least;
		int64_t high = relax->most[j];
		double wanted = 0;
		int64_t x;

		if (low < relax->least[j])
			low = relax->least[j];
		if (low < 1)
			low = 1;
		low = down_to_step(low + l->step - 1, l->step);
		high = down_to_step(high, l->step);
		if (low > high)
			continue;
		if (unit < 0) {
			try_quantity(&best, unit, once, use, uses, high, b);
			continue;
		}
		for (size_t i = 0; i < uses && use[i].gain > unit; i++)
			wanted += use[i].need;
		x = wanted < (double)high ? down_to_step((int64_t)wanted, l->step) : high;
		if (x > low)
			try_quantity(&best, unit, once, use, uses, x, b);
		if (l->step > 1 && x + l->step > low && x + l->step <= high)
			try_quantity(&best, unit, once, use, uses, x + l->step, b);
		if (x <= low)
			try_quantity(&best, unit, once, use, uses, low, b);
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
choose_freely(struct relax *relax, size_t s, const struct cell *sample)
{
	const struct model_seller *seller = &relax->model->seller[s];
	size_t sums = model_sums(relax->model, s), at = sample->signature * sums;

	memset(relax->profit + at, 0, sums * sizeof *relax->profit);
	memset(relax->basis + at * BASES, 0, sums * BASES * sizeof *relax->basis);
	memset(relax->adjust, 0, sums * sizeof *relax->adjust);
	for (size_t i = 0; i < seller->listings; i++) {
		size_t j = seller->listing + i, k = at + relax->model->listing[j].sum;
		struct take take = take_listing(relax, j, sample, relax->adjust);

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

static double
bound_unit(const struct cell_bound *bound)
{
	return bound->weight != NULL ? 1e-9 : basis_unit[bound->basis];
}

/* How far a choice breaks a bound, in the bound's units; positive: below least. */
static double
breach(const struct cell_bound *bound, double sum)
{
	double unit = bound_unit(bound);

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

			if (!bound_counts(bound, k))
				continue;
			switch (bound->basis) {
			case BASIS_VALUE:
				a->money += (most - least) * bound_weight(bound, k);
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

/* What a choice adds up to for a bound: lots counted as the priced least (most) counts them. */
struct total {
	double low, high;
};

static void
add_totals(const struct relax *relax, const struct cell *cell, size_t j, const struct take *take,
           struct total *total)
{
	const struct model_listing *l = &relax->model->listing[j];
	double basis[BASES] = {0};

	add_basis(relax, j, take, basis, false);
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];
		double adds = basis[bound->basis] * bound_weight(bound, l->sum);

		if (!bound_counts(bound, l->sum))
			continue;
		total[i].high += adds;
		total[i].low += bound->basis == BASIS_LOTS ? 1 : adds;
	}
}

static double
limit_of(const struct cell_bound *bound, bool most)
{
	return (double)(most ? bound->most : bound->least) * bound_unit(bound);
}

/* The value of a cell's best order with its bounds priced by rho, but for what the bounds
 * themselves earn; total gets what the choice adds up to by bound, *plain its own value. */
static double
priced_value(struct relax *relax, const struct cell *cell, const double *rho, struct total *total,
             double *plain)
{
	const struct model_seller *seller = &relax->model->seller[cell->seller];
	double value = cell->fixed_home;

	set_adjust(relax, cell, rho, model_sums(relax->model, cell->seller));
	memset(total, 0, cell->bounds * sizeof *total);
	for (size_t n = 0; n < seller->listings; n++) {
		size_t j = seller->listing + n;
		struct take take;

		if (cell->out[relax->model->listing[j].sum] || relax->most[j] == 0)
			continue;
		take = take_listing(relax, j, cell, relax->adjust);
		value += take.cost;
		if (take.x > 0)
			add_totals(relax, cell, j, &take, total);
	}
	*plain = value;
	for (size_t i = 0; i < cell->bounds; i++) {
		double least = rho[2 * i], most = rho[2 * i + 1];

		*plain += least * total[i].low - most * total[i].high;
		value += least * limit_of(&cell->bound[i], false);
		if (most > 0)
			value -= most * limit_of(&cell->bound[i], true);
	}
	return value;
}

/* ---- Pricing a cell's bounds ----
 * The best multipliers rho of a cell's bounds by cutting planes: choices made at some rho are
 * mixed so that their mean keeps the bounds at the least value (a program with a row for each
 * side of each bound); its multipliers are the next rho. Ends when the choice made there does not
 * lower the mean's value. */

struct inner {
	double *rho;         /* by point, 2 x bounds each */
	struct total *total; /* by bound; scratch */
	double *best_rho;
	double best;
	size_t points;
};

/* The program's row of a side of a bound, counted in 2 x bounds; scaled by the limit. */
static double
row_scale(const struct cell_bound *bound, bool most)
{
	double limit = limit_of(bound, most);

	return limit > 0 ? limit : 1;
}

/* Is there such a side at all? */
static bool
has_side(const struct cell_bound *bound, bool most)
{
	return most ? bound->most != INT64_MAX : bound->least > 0;
}

/* Rows: the mean, then two for each bound. Columns: what a row lacks, at a price, then points. */
static void
start_inner(struct relax *relax, const struct cell *cell, double price)
{
	struct lp *lp = &relax->inner;
	size_t sides = 2 * cell->bounds;

	lp_restart(lp, 1 + sides, sides + POINTS_MOST, sides);
	for (size_t k = 0; k < sides; k++) {
		const struct cell_bound *bound = &cell->bound[k / 2];
		size_t logical = lp->columns + 1 + k;
		double limit = limit_of(bound, k % 2 == 1) / row_scale(bound, k % 2 == 1);

		lp->row[k] = (uint32_t)(1 + k);
		lp->entry[k] = k % 2 == 0 ? 1 : -1;
		lp->start[k + 1] = k + 1;
		lp->least[logical] = -1e30;
		lp->most[logical] = 1e30;
		if (!has_side(bound, k % 2 == 1))
			continue;
		if (k % 2 == 0)
			lp->least[logical] = limit;
		else
			lp->most[logical] = limit;
		lp->cost[k] = price;
		lp->most[k] = 1e30;
	}
	lp->least[lp->columns] = lp->most[lp->columns] = 1;
}

/* Makes the choice at a rho, a new point of the program. Returns its value. */
static double
add_point(struct relax *relax, const struct cell *cell, const double *rho, struct inner *inner)
{
	struct lp *lp = &relax->inner;
	size_t sides = 2 * cell->bounds, point = inner->points++, c = sides + point;
	size_t at = lp->start[c];
	double plain, value = priced_value(relax, cell, rho, inner->total, &plain);

	memcpy(inner->rho + point * sides, rho, sides * sizeof *rho);
	lp->cost[c] = plain;
	lp->most[c] = 1;
	lp->row[at] = 0;
	lp->entry[at++] = 1;
	for (size_t k = 0; k < sides; k++) {
		const struct cell_bound *bound = &cell->bound[k / 2];
		double total = k % 2 == 0 ? inner->total[k / 2].low : inner->total[k / 2].high;

		if (total == 0 || !has_side(bound, k % 2 == 1))
			continue;
		lp->row[at] = (uint32_t)(1 + k);
		lp->entry[at++] = total / row_scale(bound, k % 2 == 1);
	}
	lp->start[c + 1] = at;
	lp_price_column(lp, c);
	if (value > inner->best) {
		inner->best = value;
		memcpy(inner->best_rho, rho, sides * sizeof *rho);
	}
	return value;
}

/* The points that have a share in the mean, kept with the cell. */
static void
keep_support(struct relax *relax, struct cell *cell, const struct inner *inner)
{
	const struct lp *lp = &relax->inner;
	size_t sides = 2 * cell->bounds, size = 1 + sides;

	if (cell->support == NULL)
		cell->support = mem_alloc((sides + 1) * size * sizeof *cell->support);
	cell->supports = 0;
	for (size_t c = 0; c < inner->points && cell->supports <= sides; c++) {
		double *support = cell->support + cell->supports * size;

		if (lp->x[sides + c] < 1e-9)
			continue;
		support[0] = lp->x[sides + c];
		memcpy(support + 1, inner->rho + c * sides, sides * sizeof *support);
		cell->supports++;
	}
}

static bool
lacks_nothing(const struct relax *relax, const struct cell *cell)
{
	for (size_t k = 0; k < 2 * cell->bounds; k++)
		if (relax->inner.x[k] > 1e-7)
			return false;
	return true;
}

/* Until the value is known, or known to be above enough. Which of the two. Where the points or the
 * program give out before, what is known is short of the value, and the relax is rough. */
static bool
run_inner(struct relax *relax, struct cell *cell, struct inner *inner, double *rho, double enough)
{
	struct lp *lp = &relax->inner;
	size_t sides = 2 * cell->bounds;
	bool again = lp_solve(lp, INFINITY) == LP_BEST;

	while (again && inner->points < POINTS_MOST) {
		double mean = lp_objective(lp), value;

		if (mean - inner->best < 1e-7 * (1 + fabs(inner->best)))
			break;
		if (inner->best > enough)
			return false;
		for (size_t k = 0; k < sides; k++) {
			double dual = lp->price[1 + k] * (k % 2 == 0 ? 1 : -1);

			rho[k] = dual > 0 ? dual / row_scale(&cell->bound[k / 2], k % 2 == 1) : 0;
		}
		value = add_point(relax, cell, rho, inner);
		if (value > mean - 1e-9 * (1 + fabs(mean)))
			break;
		again = lp_improve(lp) == LP_BEST;
	}
	if (!again || inner->points == POINTS_MOST)
		relax->rough = true;
	return true;
}

/* run_inner, with what lacking costs raised as long as something is lacking. */
static bool
run_raised(struct relax *relax, struct cell *cell, struct inner *inner, double *rho, double enough,
           double price)
{
	bool best = run_inner(relax, cell, inner, rho, enough);

	while (best && !lacks_nothing(relax, cell) && price * LACK_RAISE <= LACK_MOST) {
		price *= LACK_RAISE;
		for (size_t k = 0; k < 2 * cell->bounds; k++)
			relax->inner.cost[k] *= LACK_RAISE;
		best = run_inner(relax, cell, inner, rho, enough);
	}
	return best;
}

/* Prices the bounds that the free choice of a cell breaks, as far as its value is at or below
 * enough. Whether *value is the best that pricing them gives. */
static bool
refine(struct relax *relax, struct cell *cell, double enough, double *value)
{
	size_t sides = 2 * cell->bounds;
	double price = LACK_PRICE * (1 + fabs(*value));
	double *rho = mem_zero(sides * (POINTS_MOST + 2), sizeof *rho);
	struct inner inner = {.rho = rho + 2 * sides,
	                      .total = mem_alloc((cell->bounds + 1) * sizeof *inner.total),
	                      .best_rho = rho + sides,
	                      .best = -FAR};
	bool best;

	start_inner(relax, cell, price);
	add_point(relax, cell, rho, &inner);
	for (size_t i = 0; i < cell->supports; i++)
		add_point(relax, cell, cell->support + i * (1 + sides) + 1, &inner);
	best = run_raised(relax, cell, &inner, rho, enough, price);
	memcpy(cell->rho, inner.best_rho, sides * sizeof *cell->rho);
	cell->priced = lacks_nothing(relax, cell);
	if (cell->priced)
		keep_support(relax, cell, &inner);
	free(rho);
	free(inner.total);
	if (inner.best > *value)
		*value = inner.best;
	return best;
}

static bool
keeps_bounds(const struct relax *relax, const struct cell *cell, size_t sums)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];
		double sum = 0;

		for (size_t k = 0; k < sums; k++)
			if (!cell->out[k] && bound_counts(bound, k))
				sum += relax->basis[(cell->signature * sums + k) * BASES +
				                    bound->basis] *
				       bound_weight(bound, k);
		if (breach(bound, sum) != 0)
			return false;
	}
	return true;
}

static double
price_of_order(const struct relax *relax, size_t s)
{
	return relax->model->seller[s].terms != NULL ? relax->order_price : 0;
}

/* The value of a seller's best order, and its cell; without the price of an order. FAR: no order is
 * possible. */
static double
seller_value(struct relax *relax, size_t s, const double *price, size_t *choice)
{
	size_t sums = model_sums(relax->model, s), at = SIZE_MAX, count = 0;
	struct {
		size_t cell;
		double value;
		bool final, begun;
	} few[64], *list = few;
	size_t room = 64;
	double found = FAR;
	unsigned char seen_few[256], *seen = seen_few;
	size_t signatures = relax->cells->signatures[s];

	if (signatures > sizeof seen_few)
		seen = mem_alloc(signatures);
	memset(seen, 0, signatures);
	look_at(relax, s, price);
	while (relax_next_cell(relax, s, &at)) {
		struct cell *cell = &relax->cells->cell[at];

		if (!seen[cell->signature]) {
			choose_freely(relax, s, cell);
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
		list[count].begun = false;
		memset(cell->rho, 0, 2 * cell->bounds * sizeof *cell->rho);
		cell->priced = false;
		count++;
	}
	/* The least cell is refined until it is final. */
	while (count > 0) {
		size_t least = 0;
		double next = FAR;

		for (size_t i = 1; i < count; i++)
			if (list[i].value < list[least].value) {
				next = list[least].value;
				least = i;
			} else if (list[i].value < next) {
				next = list[i].value;
			}
		found = list[least].value;
		*choice = list[least].cell;
		if (list[least].final || found >= FAR ||
		    (found + price_of_order(relax, s) >= 0 && relax->status[s] != SELLER_OPEN))
			break;
		if (list[least].begun)
			next = FAR;
		list[least].begun = true;
		list[least].final =
		    refine(relax, &relax->cells->cell[*choice], next, &list[least].value);
	}
	if (list != few)
		free(list);
	if (seen != seen_few)
		free(seen);
	return found;
}

static void
add_part(struct relax *relax, size_t lot, size_t row, double pieces)
{
	MEM_ROOM(relax->part, relax->parts, relax->part_room);
	relax->part[relax->parts++] = (struct relax_part){lot, row, pieces};
}

/* A price a piece: of the listing's break. */
static void
add_buy(struct relax *relax, size_t j, double weight, double pieces, size_t brk)
{
	const struct model_listing *l = &relax->model->listing[j];

	MEM_ROOM(relax->buy, relax->buys, relax->buy_room);
	relax->buy[relax->buys++] = (struct relax_buy){
	    j, weight, pieces, pieces * (double)relax->model->brk[l->brk + brk].price * 1e-6};
}

static void
plain_parts(struct relax *relax, size_t s, const double *price)
{
	const struct model_seller *seller = &relax->model->seller[s];

	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		size_t lot = relax->plain_lot[j];

		if (price[lot] <= relax->plain_cost[j])
			continue;
		relax->part_cost += relax->plain_cost[j] * relax->plain_cap[j];
		add_buy(relax, j, 1, relax->plain_cap[j], 0);
		add_part(relax, lot, relax->model->edge[relax->model->listing[j].edge],
		         relax->plain_cap[j]);
	}
}

/* What the order chosen at rho buys and uses, times a weight. */
static void
parts_at(struct relax *relax, const struct cell *cell, const double *rho, double weight)
{
	const struct model *model = relax->model;
	const struct model_seller *seller = &model->seller[cell->seller];
	const struct margin *use;
	size_t uses;

	set_adjust(relax, cell, rho, model_sums(model, cell->seller));
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];
		struct take take;
		double left;

		if (cell->out[l->sum] || relax->most[j] == 0)
			continue;
		take = take_listing(relax, j, cell, relax->adjust);
		use = uses_of(relax, j, &uses);
		if (take.x == 0)
			continue;
		left = (double)take.x;
		add_buy(relax, j, weight, left, take.brk);
		relax->part_cost += weight * left * cell->factor_home[l->sum] *
		                    (double)model->brk[l->brk + take.brk].price * 1e-6;
		for (size_t i = 0; i < uses && left > 0; i++) {
			double part = left < use[i].need ? left : use[i].need;
			size_t row = model->edge[use[i].edge];

			relax->part_cost += weight * part * (double)model->row[row].penalty * 1e-6;
			add_part(relax, use[i].lot, row, weight * part);
			left -= part;
		}
	}
}

/* relax_parts of the seller looked at. */
static void
gather_parts(struct relax *relax, size_t s, const double *price)
{
	struct cell *cell = &relax->cells->cell[relax->choice[s]];

	relax->parts = 0;
	relax->buys = 0;
	relax->part_cost = cell->fixed_home;
	if (is_plain(relax, s)) {
		plain_parts(relax, s, price);
	} else if (!cell->priced) {
		parts_at(relax, cell, cell->rho, 1);
	} else {
		for (size_t i = 0; i < cell->supports; i++) {
			const double *support = cell->support + i * (1 + 2 * cell->bounds);

			parts_at(relax, cell, support + 1, support[0]);
		}
	}
}

void
relax_parts(struct relax *relax, size_t s, const double *price)
{
	if (!is_plain(relax, s))
		look_at(relax, s, price);
	gather_parts(relax, s, price);
}

/* Adds the uses of a seller's chosen order, just looked at, to filled. */
static void
add_uses(struct relax *relax, size_t s, const double *price)
{
	if (is_plain(relax, s)) {
		plain_fill(relax, s, price);
		return;
	}
	gather_parts(relax, s, price);
	for (size_t i = 0; i < relax->parts; i++)
		relax->filled[relax->part[i].lot] += relax->part[i].pieces;
}

void
relax_order(struct relax *relax, const double *price, size_t s, int64_t *bought, double *used)
{
	const struct model_seller *seller = &relax->model->seller[s];
	const struct cell *cell = &relax->cells->cell[relax->choice[s]];
	const struct margin *use;
	size_t uses;

	look_at(relax, s, price);
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
		take = take_listing(relax, j, cell, relax->adjust);
		use = uses_of(relax, j, &uses);
		bought[j] = take.x;
		left = (double)take.x;
		for (size_t i = 0; i < uses && left > 0; i++) {
			used[use[i].edge] = left < use[i].need ? left : use[i].need;
			left -= used[use[i].edge];
		}
	}
}

size_t
relax_multipliers(const struct model *model)
{
	return model->lots + 2;
}

double
relax_price_most(const struct relax *relax, const double *price, size_t lot)
{
	return relax->price_most_nano[lot] == LEAVABLE ? price[relax->model->lots + 1]
	                                               : relax->price_most[lot];
}

double
relax_clip(const struct relax *relax, const double *price, size_t lot, double value)
{
	double most = relax_price_most(relax, price, lot);

	return value < 0 ? 0 : value > most ? most : value;
}

/* ---- Waiting ----
 * A seller's value falls by no more than what its lots' multipliers rise, on the most pieces that
 * it can give each. While that leaves it where no order pays, it is not looked at again. */

/* The most by which a seller's value has fallen since it was looked at; *same: no multiplier of its
 * lots has changed. */
static double
fall(struct relax *relax, size_t s, const double *price, bool *same)
{
	double sum = 0;

	*same = true;
	for (size_t i = relax->reach_first[s]; i < relax->reach_first[s + 1]; i++) {
		const struct relax_reach *entry = &relax->reach[i];
		double rise = price[entry->lot] - entry->price;

		*same = *same && rise == 0;
		sum += rise > 0 ? rise * entry->most : 0;
	}
	relax->work += (relax->reach_first[s + 1] - relax->reach_first[s]) / 4;
	return sum;
}

/* In a checking build: no seller waits whose order would pay, but for what doubles lose of the
 * amounts that the value is a sum of. (Its value may come out less than it was known to be, since
 * refining its cells ends where it is seen not to pay, and may be rough now.) */
static void
audit_waiting(struct relax *relax, size_t s, const double *price)
{
#ifdef LOTPIPE_AUDIT
	size_t choice;
	double value, size;

	relax->rough = false;
	value = seller_value(relax, s, price, &choice);
	if (relax->rough)
		return;
	size = 1 + fabs(value);
	for (size_t i = relax->reach_first[s]; i < relax->reach_first[s + 1]; i++)
		size += fabs(price[relax->reach[i].lot]) * relax->reach[i].most * 1e-6;
	assert(value + price_of_order(relax, s) >= -1e-6 * size);
#else
	(void)relax, (void)s, (void)price;
#endif
}

/* May the seller wait, looked at whole or not? *low: what its value is not below. */
static bool
can_wait(struct relax *relax, size_t s, const double *price, bool whole, double *low)
{
	double order = price_of_order(relax, s);
	bool same;

	if (relax->kept_at[s] != relax->changed[s])
		return false;
	*low = relax->kept_value[s];
	if (*low >= FAR)
		return true;
	if (relax->status[s] == SELLER_OPEN)
		return false;
	*low -= fall(relax, s, price, &same);
	if (same)
		return *low + order >= 0 && relax->kept_price[s] == relax->order_price;
	return !whole && *low + order > 1e-9 * (1 + fabs(*low));
}

/* seller_value, unless the seller can wait. */
static double
value_now(struct relax *relax, size_t s, const double *price, bool whole)
{
	double value;

	if (is_plain(relax, s)) {
		relax->choice[s] = relax->cells->first[s];
		return plain_value(relax, s, price);
	}
	if (relax->plain_seller[s]) /* it has no reach */
		return seller_value(relax, s, price, &relax->choice[s]);
	if (can_wait(relax, s, price, whole, &value)) {
		audit_waiting(relax, s, price);
		return value;
	}
	value = seller_value(relax, s, price, &relax->choice[s]);
	relax->kept_value[s] = value;
	relax->kept_at[s] = relax->changed[s];
	relax->kept_price[s] = relax->order_price;
	for (size_t i = relax->reach_first[s]; i < relax->reach_first[s + 1]; i++)
		relax->reach[i].price = price[relax->reach[i].lot];
	return value;
}

static double
evaluate(struct relax *relax, const double *price, bool whole)
{
	double bound = 0;

	relax->order_price = 0;
	if (relax->model->max_orders != NO_LIMIT) {
		relax->order_price = price[relax->model->lots];
		bound -= relax->order_price * (double)relax->model->max_orders;
	}
	bound -= price[relax->model->lots + 1] * (double)relax->leave_most;
	for (size_t i = 0; i < relax->model->lots; i++) {
		bound += price[i] * relax->need[i];
		relax->filled[i] = 0;
	}
	plain_pick(relax, price);
	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];
		double value = value_now(relax, s, price, whole);

		if (relax->order_price != 0 && value < FAR)
			value += price_of_order(relax, s);
		relax->value[s] = value;
		if (value >= 0 && relax->status[s] != SELLER_OPEN)
			continue;
		bound += value;
		if (value < FAR)
			add_uses(relax, s, price);
	}
	return bound;
}

double
relax_bound(struct relax *relax, const double *price)
{
	return evaluate(relax, price, false);
}

double
relax_bound_whole(struct relax *relax, const double *price)
{
	return evaluate(relax, price, true);
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

/* Rounded down: what is added to a price may be less, never more. */
static wide
weighted(wide rho, const struct cell_bound *bound, size_t sum)
{
	return bound->weight == NULL ? rho : wide_div_floor(rho * bound->weight[sum], NANO);
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
		wide unit = bound_units(bound);

		*constant += wide_div_floor(least * bound->least, unit);
		if (most > 0)
			*constant -= wide_div_ceil(most * bound->most, unit);
		for (size_t k = 0; k < sums; k++) {
			if (!bound_counts(bound, k))
				continue;
			switch (bound->basis) {
			case BASIS_VALUE:
				adjust[k].money += weighted(most - least, bound, k);
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
		assert(*list != NULL); /* there is room for l->edges, of which this is one */
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

#define WIDE_FAR ((wide)1 << 110)

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
	wide best = relax->least[j] > 0 ? WIDE_FAR : 0;

	for (size_t b = 0; b < l->breaks; b++) {
		const struct model_break *brk = &relax->model->brk[l->brk + b];
		wide unit = wide_div_floor(brk->price * factor, 1000000) + extra;
		int64_t low = brk->least;
		int64_t high = relax->most[j] / l->step * l->step, x;
		wide wanted = 0;

		if (low < relax->least[j])
			low = relax->least[j];
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

/* Could a use earn more than a piece costs, at any break? */
static bool
earns(const struct model *model, const struct model_listing *l, wide factor, wide gain)
{
	for (size_t b = 0; b < l->breaks; b++)
		if (model->brk[l->brk + b].price * factor < gain * 1000000)
			return true;
	return false;
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
	bool priced = false;

	if (sums > 16)
		adjust = mem_alloc(sums * sizeof *adjust);
	set_adjust_exact(cell, rho, sums, adjust, &constant);
	for (size_t i = 0; i < 2 * cell->bounds; i++)
		priced = priced || rho[i] > 0;
	value = cell->fixed + constant;
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &relax->model->listing[j];
		size_t uses;

		if (cell->out[l->sum] || relax->most[j] == 0)
			continue;
		uses = sort_uses_exact(relax, l, list, room);
		if (!priced && relax->least[j] == 0 &&
		    !earns(relax->model, l, cell->factor[l->sum], uses > 0 ? (*list)[0].gain : 0))
			continue;
		value += listing_exact(relax, j, cell, &adjust[l->sum], *list, uses);
	}
	if (adjust != few)
		free(adjust);
	return value;
}

static wide
seller_exact(struct relax *relax, size_t s, wide order_price, struct margin_exact **list,
             size_t *room)
{
	size_t at = SIZE_MAX;
	wide least = WIDE_FAR;

	while (relax_next_cell(relax, s, &at)) {
		const struct cell *cell = &relax->cells->cell[at];
		wide value;

		value = is_plain(relax, s) ? plain_value_exact(relax, s)
		                           : cell_exact(relax, cell, cell->rho, list, room);
		if (relax->model->seller[s].terms != NULL)
			value += order_price;
		relax->cell_exact[at] = value;
		if (value < least)
			least = value;
	}
	return least;
}

/* A multiplier, not negative, in whole nano: any value of it gives a bound, so one past 64 bits may
 * be the most of them. */
static int64_t
whole_nano(double home)
{
	double nano = home * 1e9;

	return nano >= 9e18 ? INT64_MAX : (int64_t)nano;
}

wide
relax_bound_exact(struct relax *relax, const double *price, wide ceiling)
{
	struct margin_exact *list = NULL;
	size_t room = 0;
	wide bound = 0, order_price = 0;
	int64_t leave_nano = whole_nano(price[relax->model->lots + 1]);

	bound -= (wide)leave_nano * 1000 * relax->leave_most;

	if (relax->model->max_orders != NO_LIMIT) {
		order_price = (wide)(price[relax->model->lots] * 1e9) * 1000;
		bound -= order_price * (wide)relax->model->max_orders;
	}

	for (size_t i = 0; i < relax->model->lots; i++) {
		int64_t cut = whole_nano(price[i]);

		if (cut > relax->price_most_nano[i])
			cut = relax->price_most_nano[i];
		if (relax->price_most_nano[i] == LEAVABLE && cut > leave_nano)
			cut = leave_nano;
		relax->scratch_nano[i] = cut;
		bound += (wide)cut * 1000 * relax->model->lot[i].need;
	}
	plain_pick(relax, price);
	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];
		wide value = seller_exact(relax, s, order_price, &list, &room);

		relax->value_exact[s] = value;
		if (value >= WIDE_FAR / 2 && relax->status[s] == SELLER_OPEN) {
			bound = ceiling;
			break;
		}
		if (value < 0 || relax->status[s] == SELLER_OPEN)
			bound += value;
	}
	free(list);
	return bound < ceiling ? bound : ceiling;
}
