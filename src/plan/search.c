#include "plan/search.h"

#include "base/mem.h"
#include "plan/draft.h"
#include "plan/leaf.h"
#include "plan/relax.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FAR        1e300
#define WIDE_TOP   ((wide)1 << 118)
#define GOAL_SHARE 0.05 /* the ascent aims no further than this above its best bound */

/* All limits of the search in one place. */
enum {
	ROOT_STEPS = 400,      /* of the ascent at the root */
	NODE_STEPS = 60,       /* at a node */
	STALL_STEPS = 12,      /* without a better bound: the step is halved */
	DRAFT_EVERY = 40,      /* root steps between drafts */
	DRAFT_CANDIDATES = 80, /* sellers that a draft's local search may open */
	DRAFT_ROUNDS = 6,
	SETTLE_WORK = 4000000, /* for settling one draft */
	SINGLES = 20,          /* sellers from whom everything is tried */
	REPAIRS = 30,          /* rounds of closing sellers whose orders break a rule */
	SETTLED_SELLERS = 400, /* with more, drafts are improved by the quicker moves alone */
	KICKS = 60,
	LEAF_WORK = 3000000, /* for a leaf at first; four times that each time it is taken up */
	POLISH_ROUNDS = 20,
	POLISH_WORK = 300000,  /* for one neighbour of the best plan */
	POLISH_ALL = 40000000, /* for all neighbours together */
	ROOM_FOR_BEST = 30,    /* times that for the best plan's own setting */
	GROWN_STARTS = 12,     /* sellers from which plans are grown at the root */
	TOLERANCE_PARTS = 4    /* of ten: what part of a minor unit may stay unproved */
};

struct undo {
	enum { UNDO_STATUS, UNDO_CELL, UNDO_ROW, UNDO_LOT } kind;
	size_t index;
	double real;
	int64_t whole;
};

struct search {
	const struct model *full; /* as given */
	struct model model;       /* needs cut to what is on offer at all */
	struct cells cells;
	struct relax relax;
	struct draft draft;
	const struct search_options *options;
	struct plan best, trial;
	bool have;
	wide best_cost;   /* pico home: cost + unmet_price x unmet beyond what cannot be met */
	wide unmet_price; /* pico home; 0: nothing beyond that may stay unmet */
	int64_t never_met;
	wide constant; /* pico home: added to every bound (worth of optional lots) */
	wide grid;     /* pico home: every cost is a multiple of it; 0: unknown */
	wide tolerance;
	wide lower;         /* the least bound of what was left unsearched */
	double *open_share; /* by seller: of late steps in which its order paid */
	bool *label_set;
	struct undo *undo;
	size_t undos, undo_room;
	struct pending *pending; /* leaves put off; owned */
	size_t pendings, pending_room;
	size_t nodes;
	uint64_t random;
	bool stopped, asked;
	bool excluded; /* something was shut because it could only cost more than target() */
	uint64_t work; /* but relax's and draft's own */
};

/* ---- undoing ---- */

static void
note(struct search *s, struct undo undo)
{
	MEM_ROOM(s->undo, s->undos, s->undo_room);
	s->undo[s->undos++] = undo;
}

static void
set_status(struct search *s, size_t seller, enum status status)
{
	note(s,
	     (struct undo){.kind = UNDO_STATUS, .index = seller, .whole = s->relax.status[seller]});
	s->relax.status[seller] = (unsigned char)status;
}

static void
set_cell_off(struct search *s, size_t cell, bool off)
{
	note(s, (struct undo){.kind = UNDO_CELL, .index = cell, .whole = s->relax.cell_off[cell]});
	s->relax.cell_off[cell] = off;
}

static void
set_row_off(struct search *s, size_t row)
{
	note(s, (struct undo){.kind = UNDO_ROW, .index = row, .whole = s->relax.row_off[row]});
	s->relax.row_off[row] = true;
}

static void
set_lot_price(struct search *s, size_t lot, double real, int64_t nano)
{
	note(s, (struct undo){.kind = UNDO_LOT,
	                      .index = lot,
	                      .real = s->relax.price_most[lot],
	                      .whole = s->relax.price_most_nano[lot]});
	s->relax.price_most[lot] = real;
	s->relax.price_most_nano[lot] = nano;
}

static void
undo_to(struct search *s, size_t mark)
{
	while (s->undos > mark) {
		const struct undo *undo = &s->undo[--s->undos];

		switch (undo->kind) {
		case UNDO_STATUS:
			s->relax.status[undo->index] = (unsigned char)undo->whole;
			break;
		case UNDO_CELL:
			s->relax.cell_off[undo->index] = undo->whole != 0;
			break;
		case UNDO_ROW:
			s->relax.row_off[undo->index] = undo->whole != 0;
			break;
		case UNDO_LOT:
			s->relax.price_most[undo->index] = undo->real;
			s->relax.price_most_nano[undo->index] = undo->whole;
			break;
		}
	}
}

/* ---- costs, bounds, limits ---- */

static uint64_t
work_done(const struct search *s)
{
	return s->work + s->relax.work + s->draft.work;
}

static double
pico_home(wide pico)
{
	return (double)pico * 1e-12;
}

static bool
out_of_time(struct search *s)
{
	struct search_news news;

	if (s->stopped)
		return true;
	if (s->options->effort > 0 && work_done(s) > s->options->effort)
		s->stopped = true;
	if (s->options->stop == NULL)
		return s->stopped;
	news = (struct search_news){pico_home(s->best_cost), pico_home(s->lower), s->relax.actives,
	                            work_done(s)};
	if (s->options->stop(s->options->data, &news))
		s->stopped = s->asked = true;
	return s->stopped;
}

/* Every plan's cost is a multiple of the grid, so is the least. */
static wide
round_to_grid(const struct search *s, wide bound)
{
	if (s->grid == 0)
		return bound;
	return wide_div_ceil(bound, s->grid) * s->grid;
}

/* What a node's bound must reach for the node to be of no use. */
static wide
target(const struct search *s)
{
	return s->best_cost - s->tolerance;
}

static void
leave(struct search *s, wide bound)
{
	if (bound < s->lower)
		s->lower = bound;
}

/* Is the trial plan to be kept in place of the best? Of plans that are as good, the one that is
 * written lower. */
static bool
is_preferred(const struct search *s)
{
	if (plan_better(&s->trial, &s->best))
		return true;
	return s->options->compare != NULL && !plan_better(&s->best, &s->trial) &&
	       !plan_same(&s->trial, &s->best, s->full) &&
	       s->options->compare(s->options->data, &s->trial, &s->best) < 0;
}

/* Takes the trial plan if it keeps the rules and is better. */
static bool
offer_trial(struct search *s)
{
	wide cost;

	if (plan_cost(s->full, &s->trial) != NULL)
		return false;
	if (s->unmet_price == 0 && s->trial.unmet > s->never_met)
		return false;
	cost = s->trial.cost * 1000 + s->unmet_price * (s->trial.unmet - s->never_met);
	if (s->have && !is_preferred(s))
		return false;
	plan_copy(&s->best, &s->trial, s->full);
	s->best_cost = cost;
	s->have = true;
	return true;
}

/* ---- drafts ---- */

static bool
offer_draft(struct search *s)
{
	bool better;

	draft_drop_partial(&s->draft);
	draft_plan(&s->draft, &s->trial);
	better = offer_trial(s);
	for (int n = 0; n < REPAIRS; n++) {
		draft_lift(&s->draft);
		draft_drop_partial(&s->draft);
		draft_plan(&s->draft, &s->trial);
		better |= offer_trial(s);
		if (!draft_close_broken(&s->draft))
			break;
	}
	return better;
}

/* Does the best plan buy from the seller? */
static bool
best_buys(const struct search *s, size_t seller)
{
	const struct model_seller *ms = &s->model.seller[seller];

	for (size_t j = ms->listing; j < ms->listing + ms->listings; j++)
		if (s->best.bought[j] > 0)
			return true;
	return false;
}

/* Sellers that are open whatever a draft chooses: owned stock, and those that must be. */
static bool
always_open(const struct search *s, size_t seller)
{
	return s->model.seller[seller].terms == NULL || s->relax.status[seller] == SELLER_OPEN;
}

struct ranked {
	double key;
	size_t seller;
};

static int
compare_ranked(const void *a, const void *b)
{
	const struct ranked *x = a, *y = b;

	if (x->key != y->key)
		return x->key < y->key ? -1 : 1;
	return x->seller < y->seller ? -1 : x->seller > y->seller;
}

/* The sellers whose orders pay best at the multipliers, by value. */
static size_t
rank_sellers(const struct search *s, size_t most, size_t *out)
{
	struct ranked *list = mem_alloc((s->relax.actives + 1) * sizeof *list);
	size_t count = 0;

	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i];

		if (s->relax.value[seller] < FAR)
			list[count++] = (struct ranked){s->relax.value[seller], seller};
	}
	qsort(list, count, sizeof *list, compare_ranked);
	if (count > most)
		count = most;
	for (size_t i = 0; i < count; i++)
		out[i] = list[i].seller;
	free(list);
	return count;
}

/* Is every seller left a flat charge and plain prices? Then the quick moves say all there is. */
static bool
all_plain(const struct search *s)
{
	for (size_t i = 0; i < s->relax.actives; i++)
		if (!s->relax.plain_seller[s->relax.active[i]])
			return false;
	return true;
}

/* Improves the draft: by settling, or by the quicker moves alone where there are many sellers. */
static void
settle(struct search *s, const size_t *candidate, size_t count, int rounds, bool quick)
{
	s->draft.work_most = s->draft.work + SETTLE_WORK;
	if (quick || s->relax.actives > SETTLED_SELLERS)
		draft_improve(&s->draft, candidate, count, rounds);
	else
		draft_settle(&s->draft, candidate, count, rounds);
}

/* Opens the sellers whose orders pay (and those that must be open), improves, offers. */
static void
draft_from_prices(struct search *s, int rounds, size_t most)
{
	size_t *candidate = mem_alloc(most * sizeof *candidate);
	size_t count = rank_sellers(s, most, candidate);

	for (size_t i = 0; i < s->model.sellers; i++)
		s->draft.open[i] = false;
	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i];

		s->draft.open[seller] = s->relax.value[seller] < 0 || always_open(s, seller);
	}
	draft_fill(&s->draft);
	draft_plan(&s->draft, &s->trial);
	offer_trial(s);
	settle(s, candidate, count, rounds, all_plain(s));
	offer_draft(s);
	free(candidate);
}

/* Starts from the orders that the relaxation chose, the best paying first; what several give the
 * same lot is given once, what none gives is put in where it adds least. */
static void
draft_from_orders(struct search *s, const double *price, int rounds, size_t most)
{
	size_t *candidate = mem_alloc((s->relax.actives + 1) * sizeof *candidate);
	size_t count = rank_sellers(s, s->relax.actives, candidate);
	int64_t *bought = mem_zero(s->model.listings, sizeof *bought);
	double *used = mem_zero(s->model.edges, sizeof *used);

	draft_clear(&s->draft);
	for (size_t i = 0; i < s->model.sellers; i++)
		s->draft.open[i] = false;
	for (size_t i = 0; i < count; i++) {
		size_t seller = candidate[i];

		if (s->relax.value[seller] >= 0 && !always_open(s, seller))
			continue;
		s->draft.open[seller] = true;
		relax_order(&s->relax, price, seller, bought, used);
		draft_take(&s->draft, seller, bought, used);
	}
	s->draft.work_most = s->draft.work + SETTLE_WORK;
	draft_settle(&s->draft, candidate, count < most ? count : most, rounds);
	offer_draft(s);
	free(candidate);
	free(bought);
	free(used);
}

/* Grows plans from one seller each: those that could fill most of the need at the multipliers. */
static void
draft_grown(struct search *s, size_t starts, size_t most, int rounds)
{
	size_t *candidate = mem_alloc((s->relax.actives + 1) * sizeof *candidate);
	size_t count = rank_sellers(s, most, candidate);

	if (starts > count)
		starts = count;
	for (size_t n = 0; n < starts && !out_of_time(s); n++) {
		draft_clear(&s->draft);
		for (size_t i = 0; i < s->model.sellers; i++)
			s->draft.open[i] = always_open(s, i);
		s->draft.open[candidate[n]] = true;
		s->draft.work_most = s->draft.work + SETTLE_WORK;
		draft_grow(&s->draft, candidate, count, rounds);
		offer_draft(s);
	}
	free(candidate);
}

static wide
leaf_offer_plan(void *data, struct plan *plan)
{
	struct search *s = data;

	assert(plan == &s->trial);
	(void)plan;
	offer_trial(s);
	return s->have ? target(s) : WIDE_TOP;
}

static bool
leaf_stop_now(void *data)
{
	return out_of_time(data);
}

/* ---- polishing: the best plan's neighbours, quantities solved exactly ---- */

/* The cell that an order of the best plan lies in, or SIZE_MAX. */
static size_t
cell_of_best(const struct search *s, size_t seller)
{
	size_t sums = model_sums(&s->model, seller);
	struct order_sum *sum = mem_alloc(sums * sizeof *sum);
	size_t found = SIZE_MAX;

	plan_sums(&s->model, &s->best, seller, sum);
	for (size_t c = s->cells.first[seller]; c < s->cells.first[seller + 1]; c++) {
		const struct cell *cell = &s->cells.cell[c];
		bool inside = !s->relax.cell_off[c] && cell->exact;

		for (size_t i = 0; i < cell->bounds && inside; i++) {
			const struct cell_bound *bound = &cell->bound[i];
			int64_t value = sum[bound->sum].basis[bound->basis];

			inside = value >= bound->least && value <= bound->most;
		}
		for (size_t k = 1; k < sums && inside; k++)
			inside = !(cell->out[k] && sum[k].basis[BASIS_PIECES] > 0);
		if (inside) {
			found = c;
			break;
		}
	}
	free(sum);
	return found;
}

/* A neighbour: which sellers are open, and in which cell each. */
struct setting {
	size_t *cell; /* by seller; SIZE_MAX: shut */
};

/* Solves the quantities of a setting; whether that gave a better plan. */
static bool
solve_setting(struct search *s, const struct setting *setting, uint64_t most)
{
	size_t mark = s->undos;
	bool better;

	for (size_t i = 0; i < s->model.sellers; i++) {
		if (setting->cell[i] == SIZE_MAX) {
			if (s->relax.status[i] != SELLER_SHUT)
				set_status(s, i, SELLER_SHUT);
			continue;
		}
		if (s->model.seller[i].terms != NULL)
			set_status(s, i, SELLER_OPEN);
		for (size_t c = s->cells.first[i]; c < s->cells.first[i + 1]; c++)
			if (c != setting->cell[i] && !s->relax.cell_off[c])
				set_cell_off(s, c, true);
	}
	relax_activate(&s->relax);
	better = leaf_solve(&s->relax, s->constant, s->have ? target(s) : WIDE_TOP, &s->trial,
	                    leaf_offer_plan, leaf_stop_now, s, &s->work, s->work + most)
	             .found;
	undo_to(s, mark);
	relax_activate(&s->relax);
	return better;
}

/* The setting of the best plan; false where it has none (a seller that the node has shut). */
static bool
setting_of_best(const struct search *s, struct setting *setting)
{
	for (size_t i = 0; i < s->model.sellers; i++) {
		setting->cell[i] = SIZE_MAX;
		if ((!always_open(s, i) && !best_buys(s, i)) || s->relax.status[i] == SELLER_SHUT)
			continue;
		setting->cell[i] = cell_of_best(s, i);
		if (setting->cell[i] == SIZE_MAX)
			return false;
	}
	return true;
}

/* One seller in another cell, out, or in: each neighbour solved; whether one was better. */
static bool
try_neighbours(struct search *s, struct setting *setting, size_t seller, uint64_t work_most)
{
	size_t was = setting->cell[seller];

	if (s->model.seller[seller].terms == NULL)
		return false;
	if (was != SIZE_MAX && s->relax.status[seller] != SELLER_OPEN) {
		setting->cell[seller] = SIZE_MAX;
		if (solve_setting(s, setting, POLISH_WORK))
			return true;
	}
	for (size_t c = s->cells.first[seller]; c < s->cells.first[seller + 1]; c++) {
		if (s->work > work_most)
			break;
		if (c == was || s->relax.cell_off[c] || !s->cells.cell[c].exact)
			continue;
		setting->cell[seller] = c;
		if (out_of_time(s) || solve_setting(s, setting, POLISH_WORK))
			return true;
	}
	setting->cell[seller] = was;
	return false;
}

/* Solves the quantities of the best plan's setting, then of its neighbours, until none is
 * better. */
static void
polish(struct search *s, size_t most)
{
	struct setting setting = {mem_alloc((s->model.sellers + 1) * sizeof *setting.cell)};
	size_t *candidate = mem_alloc((s->relax.actives + 1) * sizeof *candidate);
	size_t count = rank_sellers(s, most, candidate);
	uint64_t work_most = s->work + POLISH_ALL;
	bool better = s->have;

	for (size_t round = 0; better && round < POLISH_ROUNDS && !out_of_time(s); round++) {
		if (!setting_of_best(s, &setting))
			break;
		solve_setting(s, &setting, ROOM_FOR_BEST * (uint64_t)POLISH_WORK);
		if (!setting_of_best(s, &setting))
			break;
		better = false;
		for (size_t i = 0; i < count && !better && !out_of_time(s); i++)
			better = try_neighbours(s, &setting, candidate[i], work_most);
	}
	free(setting.cell);
	free(candidate);
}

/* A number below `most` from a fixed sequence (Knuth's MMIX generator): the same every time. */
static size_t
next_random(struct search *s, size_t most)
{
	s->random = s->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
	return (size_t)(s->random >> 33) % most;
}

/* Opens the sellers of the best plan. Returns how many orders it has, their sellers in out. */
static size_t
open_best(struct search *s, size_t *out)
{
	size_t count = 0;

	draft_clear(&s->draft);
	for (size_t i = 0; i < s->model.sellers; i++) {
		s->draft.open[i] =
		    s->relax.status[i] != SELLER_SHUT && (always_open(s, i) || best_buys(s, i));
		if (s->draft.open[i] && s->model.seller[i].terms != NULL)
			out[count++] = i;
	}
	return count;
}

/* Kicks the best plan: some of its sellers are shut, some others opened, then it settles anew
 * (iterated local search). A kick that is not better is forgotten. */
static void
draft_kicked(struct search *s, size_t kicks, size_t most)
{
	size_t *candidate = mem_alloc((s->relax.actives + 1) * sizeof *candidate);
	size_t *open = mem_alloc((s->model.sellers + 1) * sizeof *open);
	size_t count = rank_sellers(s, most, candidate);

	for (size_t n = 0; n < kicks && count > 0 && !out_of_time(s); n++) {
		size_t orders = open_best(s, open);

		for (size_t k = 0; k < 1 + n % 3 && orders > 0; k++) {
			size_t seller = open[next_random(s, orders)];

			if (s->relax.status[seller] != SELLER_OPEN)
				s->draft.open[seller] = false;
		}
		for (size_t k = 0; k < 1 + n / 3 % 2; k++)
			s->draft.open[candidate[next_random(s, count)]] = true;
		draft_fill(&s->draft);
		settle(s, candidate, count, s->relax.actives > SETTLED_SELLERS ? 1 : 2, false);
		offer_draft(s);
	}
	free(candidate);
	free(open);
}

static void set_label(struct search *s, size_t label, bool taken);

/* Could the label's rows be left out, with something else for each of their lots? */
static bool
label_optional(const struct search *s, size_t label)
{
	const struct model *model = &s->model;

	for (size_t r = 0; r < model->rows; r++) {
		const struct model_lot *lot = &model->lot[model->row[r].lot];
		bool other = !lot->must;

		if (model->row[r].label != label || s->relax.row_off[r])
			continue;
		for (size_t k = lot->row; k < lot->row + lot->rows; k++)
			other = other || (k != r && !s->relax.row_off[k]);
		if (!other)
			return false;
	}
	return true;
}

/* A draft cannot weigh all against none: for its time, open labels are left out where something
 * else is there, and taken where not. Returns the mark to undo to; SIZE_MAX: nothing was open. */
static size_t
assume_labels(struct search *s)
{
	size_t mark = SIZE_MAX;

	for (size_t label = 0; label < s->model.labels; label++) {
		if (s->label_set[label])
			continue;
		if (mark == SIZE_MAX)
			mark = s->undos;
		set_label(s, label, !label_optional(s, label));
	}
	if (mark != SIZE_MAX)
		draft_refresh(&s->draft);
	return mark;
}

static void
drop_assumptions(struct search *s, size_t mark)
{
	if (mark == SIZE_MAX)
		return;
	undo_to(s, mark);
	draft_refresh(&s->draft);
}

static void
improve_plan(struct search *s, const double *price, size_t depth)
{
	size_t mark = assume_labels(s);
	size_t candidates = depth == 0 ? DRAFT_CANDIDATES : DRAFT_CANDIDATES / 4;
	int rounds = depth == 0 ? DRAFT_ROUNDS : 1;

	draft_from_prices(s, rounds, candidates);
	if (!all_plain(s))
		draft_from_orders(s, price, rounds, candidates);
	if (depth == 0 && !all_plain(s)) {
		draft_grown(s, GROWN_STARTS, candidates, rounds);
		draft_kicked(s, KICKS, candidates);
		polish(s, candidates);
	}
	drop_assumptions(s, mark);
}

/* Everything from one seller: from those that could serve most. */
static void
draft_single(struct search *s)
{
	struct ranked *list = mem_alloc((s->relax.actives + 1) * sizeof *list);
	size_t count = 0;

	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i];
		const struct model_seller *ms = &s->model.seller[seller];
		double served = 0;

		if (ms->terms == NULL)
			continue;
		for (size_t j = ms->listing; j < ms->listing + ms->listings; j++) {
			const struct model_listing *l = &s->model.listing[j];
			int64_t need = 0;

			for (size_t e = l->edge; e < l->edge + l->edges; e++)
				need += s->model.lot[s->model.row[s->model.edge[e]].lot].need;
			served += (double)(need < s->relax.cap[j] ? need : s->relax.cap[j]);
		}
		list[count++] = (struct ranked){-served, seller};
	}
	qsort(list, count, sizeof *list, compare_ranked);
	for (size_t n = 0; n < count && n < SINGLES; n++) {
		for (size_t i = 0; i < s->model.sellers; i++)
			s->draft.open[i] = i == list[n].seller || s->model.seller[i].terms == NULL;
		draft_fill(&s->draft);
		offer_draft(s);
	}
	free(list);
}

/* Greedy: from every seller open, those are closed that do not pay. */
static void
draft_greedy(struct search *s)
{
	for (size_t i = 0; i < s->model.sellers; i++)
		s->draft.open[i] = s->relax.status[i] != SELLER_SHUT;
	draft_fill(&s->draft);
	draft_plan(&s->draft, &s->trial);
	offer_trial(s);
	if (s->draft.touches <= SETTLED_SELLERS)
		draft_improve(&s->draft, NULL, 0, 3);
	offer_draft(s);
}

/* ---- the ascent ---- */

static double
clip(double price, double most)
{
	return price < 0 ? 0 : price > most ? most : price;
}

/* Subgradient steps on the multipliers, in value per lot, each direction half the last one added
 * (a deflected subgradient); step length by Polyak's rule from the best plan's cost. price ends
 * as the best multipliers found. Returns the bound there (home currency, without constant). */
static double
ascend(struct search *s, double *price, size_t steps, bool drafts)
{
	struct relax *relax = &s->relax;
	size_t lots = s->model.lots;
	double *here = mem_alloc(lots * sizeof *here);
	double *direction = mem_zero(lots, sizeof *direction);
	double best = -FAR, scale = 1.0, constant = pico_home(s->constant);
	size_t stalled = 0;

	memcpy(here, price, lots * sizeof *here);
	for (size_t n = 0; n < steps && !out_of_time(s); n++) {
		double bound = relax_bound(relax, here), goal, norm = 0, step;

		for (size_t i = 0; i < relax->actives; i++) {
			size_t seller = relax->active[i];
			double open =
			    relax->value[seller] < 0 || relax->status[seller] == SELLER_OPEN;

			s->open_share[seller] += 0.1 * (open - s->open_share[seller]);
		}
		if (bound > best + 1e-9 * (1 + fabs(best))) {
			if (bound > best + 1e-4 * fabs(best))
				stalled = 0;
			best = bound;
			memcpy(price, here, lots * sizeof *here);
		}
		if (s->have && best + constant >= pico_home(target(s)))
			break;
		if (++stalled > STALL_STEPS) {
			scale *= 0.6;
			stalled = 0;
			memcpy(here, price, lots * sizeof *here);
			memset(direction, 0, lots * sizeof *direction);
			bound = relax_bound(relax, here);
		}
		if (drafts && n % DRAFT_EVERY == DRAFT_EVERY - 1) {
			size_t mark = assume_labels(s);

			draft_from_prices(s, 1, DRAFT_CANDIDATES / 2);
			drop_assumptions(s, mark);
		}
		goal = best + GOAL_SHARE * fabs(best) + 1e-3;
		if (s->have && pico_home(s->best_cost) - constant < goal)
			goal = pico_home(s->best_cost) - constant;
		for (size_t i = 0; i < lots; i++) {
			double lack = relax->need[i] > 0
			                  ? (relax->need[i] - relax->filled[i]) / relax->need[i]
			                  : 0;

			if ((here[i] <= 0 && lack < 0) ||
			    (here[i] >= relax->price_most[i] && lack > 0))
				lack = 0;
			direction[i] = lack + 0.5 * direction[i];
			norm += direction[i] * direction[i];
		}
		if (norm < 1e-18)
			break;
		step = scale * (goal - bound) / norm;
		if (step < 1e-12)
			step = 1e-12;
		for (size_t i = 0; i < lots; i++)
			if (relax->need[i] > 0)
				here[i] = clip(here[i] + step * direction[i] / relax->need[i],
				               relax->price_most[i]);
	}
	relax_bound(relax, price);
	free(here);
	free(direction);
	return best;
}

/* ---- fixing and propagation ---- */

/* Shuts sellers and cells that no better plan can use, opens those it must. bound is what the
 * exact evaluation just gave, neither rounded to the grid nor the parent's, with the constant:
 * only to that do the sellers' values belong. */
static void
fix_by_bound(struct search *s, wide bound)
{
	struct relax *relax = &s->relax;

	if (!s->have)
		return;
	for (size_t i = 0; i < relax->actives; i++) {
		size_t seller = relax->active[i];
		wide value = s->relax.value_exact[seller], without, with;
		bool counted = value < 0 || relax->status[seller] == SELLER_OPEN;

		without = counted ? bound - value : bound;
		with = without + value;
		if (relax->status[seller] == SELLER_FREE && s->model.seller[seller].terms != NULL) {
			if (round_to_grid(s, with) >= target(s)) {
				s->excluded = true;
				set_status(s, seller, SELLER_SHUT);
				continue;
			}
			if (round_to_grid(s, without) >= target(s)) {
				s->excluded = true;
				set_status(s, seller, SELLER_OPEN);
			}
		}
		for (size_t c = s->cells.first[seller]; c < s->cells.first[seller + 1]; c++)
			if (!relax->cell_off[c] &&
			    round_to_grid(s, without + relax->cell_exact[c]) >= target(s)) {
				set_cell_off(s, c, true);
				s->excluded = true;
			}
	}
}

/* Opens sellers without which a lot cannot be met; false where one cannot be met at all, or an
 * open seller has no cell left. */
static bool
propagate(struct search *s)
{
	struct relax *relax = &s->relax;
	const struct model *model = &s->model;
	double *supply = mem_zero(model->lots, sizeof *supply);
	size_t open = 0;
	bool fits = true;

	for (size_t i = 0; i < relax->actives; i++) {
		const struct model_seller *seller = &model->seller[relax->active[i]];

		open += relax->status[relax->active[i]] == SELLER_OPEN && seller->terms != NULL;
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
			for (size_t e = model->listing[j].edge;
			     e < model->listing[j].edge + model->listing[j].edges; e++)
				if (!relax->row_off[model->edge[e]])
					supply[model->row[model->edge[e]].lot] +=
					    (double)relax->most[j];
	}
	for (size_t l = 0; l < model->lots && fits; l++)
		if (relax->price_most_nano[l] == INT64_MAX && supply[l] < relax->need[l] - 0.5)
			fits = false;
	for (size_t i = 0; i < relax->actives && fits; i++) {
		size_t number = relax->active[i];
		const struct model_seller *seller = &model->seller[number];

		if (relax->status[number] != SELLER_FREE || seller->terms == NULL)
			continue;
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];

			if (l->edges != 1 || relax->row_off[model->edge[l->edge]])
				continue;
			size_t lot = model->row[model->edge[l->edge]].lot;

			/* Another listing of the seller may have it too: then none is forced. */
			if (relax->price_most_nano[lot] == INT64_MAX &&
			    supply[lot] - (double)relax->most[j] < relax->need[lot] - 0.5) {
				set_status(s, number, SELLER_OPEN);
				open++;
				break;
			}
		}
	}
	free(supply);
	if (model->max_orders != NO_LIMIT && open > model->max_orders)
		return false;
	if (model->max_orders != NO_LIMIT && open == model->max_orders)
		for (size_t i = 0; i < relax->actives; i++)
			if (relax->status[relax->active[i]] == SELLER_FREE &&
			    model->seller[relax->active[i]].terms != NULL)
				set_status(s, relax->active[i], SELLER_SHUT);
	return fits;
}

/* ---- branching ---- */

static size_t
cells_left(const struct search *s, size_t seller, size_t *one)
{
	size_t count = 0;

	for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, seller, &at); count++)
		*one = at;
	return count;
}

/* The free seller whose order pays in about half of the late steps; SIZE_MAX: none is free. */
static size_t
choose_seller(const struct search *s)
{
	size_t best = SIZE_MAX;
	double best_score = -1;

	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i];
		double share = s->open_share[seller], score;

		if (s->relax.status[seller] != SELLER_FREE || s->model.seller[seller].terms == NULL)
			continue;
		score = share < 0.5 ? share : 1 - share;
		score =
		    score * 4 + fabs(s->relax.value[seller] < FAR ? s->relax.value[seller] : 0) /
		                    (fabs(pico_home(s->best_cost)) + 1e-9);
		if (score > best_score) {
			best_score = score;
			best = seller;
		}
	}
	return best;
}

static size_t
choose_cells(const struct search *s)
{
	size_t best = SIZE_MAX, most = 1, one = 0;

	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i], count = cells_left(s, seller, &one);

		if (count > most || (count == 1 && !s->cells.cell[one].exact && best == SIZE_MAX)) {
			if (count > most)
				most = count;
			best = seller;
		}
	}
	return best;
}

static void solve_node(struct search *s, const double *parent, wide parent_bound, size_t depth);

static void
try_child(struct search *s, const double *price, wide bound, size_t depth)
{
	relax_activate(&s->relax);
	solve_node(s, price, bound, depth + 1);
}

static void
branch_on_seller(struct search *s, const double *price, wide bound, size_t depth, size_t seller)
{
	bool open_first = s->open_share[seller] >= 0.5 || s->relax.value[seller] < 0;

	for (int side = 0; side < 2; side++) {
		size_t mark = s->undos;

		set_status(s, seller, (side == 0) == open_first ? SELLER_OPEN : SELLER_SHUT);
		try_child(s, price, bound, depth);
		undo_to(s, mark);
	}
}

/* One side: the cell that the relaxation chose; other side: the others. */
static void
branch_on_cells(struct search *s, const double *price, wide bound, size_t depth, size_t seller)
{
	size_t one = 0, count = cells_left(s, seller, &one), chosen, mark;

	if (count == 1) {
		size_t parts, first = cells_split(&s->cells, &s->model, one, &parts);

		relax_grow(&s->relax);
		mark = s->undos;
		set_cell_off(s, one, true);
		for (size_t c = first; c < first + parts; c++)
			set_cell_off(s, c, false);
		if (parts > 0)
			try_child(s, price, bound, depth);
		undo_to(s, mark);
		return;
	}
	chosen = s->relax.choice[seller];
	if (s->relax.cell_off[chosen] || s->cells.cell[chosen].seller != seller)
		chosen = one;
	for (int side = 0; side < 2; side++) {
		mark = s->undos;
		for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, seller, &at);)
			if ((side == 0) != (at == chosen))
				set_cell_off(s, at, true);
		try_child(s, price, bound, depth);
		undo_to(s, mark);
	}
}

/* Rows of the label are taken in full, or not at all. */
static void
set_label(struct search *s, size_t label, bool taken)
{
	const struct model *model = &s->model;

	for (size_t r = 0; r < model->rows; r++) {
		const struct model_lot *lot = &model->lot[model->row[r].lot];

		if (model->row[r].label != label)
			continue;
		if (!taken) {
			set_row_off(s, r);
			continue;
		}
		for (size_t k = lot->row; k < lot->row + lot->rows; k++)
			if (k != r)
				set_row_off(s, k);
		set_lot_price(s, model->row[r].lot, FAR, INT64_MAX);
	}
}

static void
branch_on_label(struct search *s, const double *price, wide bound, size_t depth, size_t label)
{
	for (int side = 0; side < 2; side++) {
		size_t mark = s->undos;

		s->label_set[label] = true;
		set_label(s, label, side == 0);
		draft_refresh(&s->draft);
		try_child(s, price, bound, depth);
		undo_to(s, mark);
		s->label_set[label] = false;
	}
}

/* ---- leaves: those that take long wait until better plans are known ---- */

struct pending {
	wide bound;
	unsigned char *status;
	bool *cell_off, *row_off;
	double *price_most;
	int64_t *price_most_nano;
	size_t cells;
};

static void *
copy_of(const void *from, size_t count, size_t size)
{
	void *to = mem_alloc(count * size);

	memcpy(to, from, count * size);
	return to;
}

static void
put_off(struct search *s, wide bound)
{
	const struct relax *relax = &s->relax;

	MEM_ROOM(s->pending, s->pendings, s->pending_room);
	s->pending[s->pendings++] = (struct pending){
	    .bound = bound,
	    .status = copy_of(relax->status, s->model.sellers, sizeof *relax->status),
	    .cell_off = copy_of(relax->cell_off, s->cells.count, sizeof *relax->cell_off),
	    .row_off = copy_of(relax->row_off, s->model.rows, sizeof *relax->row_off),
	    .price_most = copy_of(relax->price_most, s->model.lots, sizeof *relax->price_most),
	    .price_most_nano =
	        copy_of(relax->price_most_nano, s->model.lots, sizeof *relax->price_most_nano),
	    .cells = s->cells.count};
}

static void
free_pending(struct pending *pending)
{
	free(pending->status);
	free(pending->cell_off);
	free(pending->row_off);
	free(pending->price_most);
	free(pending->price_most_nano);
}

static void
take_up(struct search *s, const struct pending *pending)
{
	struct relax *relax = &s->relax;

	memcpy(relax->status, pending->status, s->model.sellers * sizeof *relax->status);
	for (size_t c = 0; c < s->cells.count; c++)
		relax->cell_off[c] = c >= pending->cells || pending->cell_off[c];
	memcpy(relax->row_off, pending->row_off, s->model.rows * sizeof *relax->row_off);
	memcpy(relax->price_most, pending->price_most, s->model.lots * sizeof *relax->price_most);
	memcpy(relax->price_most_nano, pending->price_most_nano,
	       s->model.lots * sizeof *relax->price_most_nano);
	relax_activate(relax);
}

/* Solves the leaf that relax describes with so much work; false: it takes more, *bound is what
 * it has come to. A leaf that is done is left at its bound. */
static bool
solve_leaf(struct search *s, uint64_t most, wide *bound)
{
	struct leaf_result leaf =
	    leaf_solve(&s->relax, s->constant, s->have ? target(s) : WIDE_TOP, &s->trial,
	               leaf_offer_plan, leaf_stop_now, s, &s->work, s->work + most);

	s->excluded = s->excluded || leaf.excluded;
	*bound = round_to_grid(s, leaf.bound);
	if (leaf.stopped && (!s->have || *bound < target(s)))
		return false;
	leave(s, *bound);
	return true;
}

static int
compare_pending(const void *a, const void *b)
{
	const struct pending *x = a, *y = b;

	return x->bound < y->bound ? -1 : x->bound > y->bound;
}

/* The leaves that were put off, those with the least bound first, with more work each round. */
static void
finish_leaves(struct search *s)
{
	uint64_t most = LEAF_WORK;

	while (s->pendings > 0 && !out_of_time(s)) {
		size_t kept = 0;

		most *= 4;
		qsort(s->pending, s->pendings, sizeof *s->pending, compare_pending);
		for (size_t i = 0; i < s->pendings; i++) {
			struct pending *pending = &s->pending[i];
			wide bound;
			bool done = true;

			if (s->have && pending->bound >= target(s)) {
				leave(s, pending->bound);
			} else if (out_of_time(s)) {
				done = false;
			} else {
				take_up(s, pending);
				done = solve_leaf(s, most, &bound);
				if (!done && bound > pending->bound)
					pending->bound = bound;
			}
			if (done)
				free_pending(pending);
			else
				s->pending[kept++] = *pending;
		}
		s->pendings = kept;
	}
	for (size_t i = 0; i < s->pendings; i++) {
		leave(s, s->pending[i].bound);
		free_pending(&s->pending[i]);
	}
	s->pendings = 0;
}

/* ---- the tree ---- */

static void
reach_leaf(struct search *s, wide node_bound)
{
	wide bound;

	if (!solve_leaf(s, LEAF_WORK, &bound))
		put_off(s, bound > node_bound ? bound : node_bound);
}

static void
solve_node(struct search *s, const double *parent, wide parent_bound, size_t depth)
{
	double *price;
	wide here, bound;
	size_t seller, mark = s->undos;

	s->nodes++;
	if (out_of_time(s) || depth > 100000) {
		leave(s, parent_bound);
		return;
	}
	if (!propagate(s)) {
		undo_to(s, mark);
		return;
	}
	relax_activate(&s->relax);
	price = mem_alloc(s->model.lots * sizeof *price);
	for (size_t i = 0; i < s->model.lots; i++)
		price[i] =
		    clip(parent[i], s->relax.price_most[i] < FAR ? s->relax.price_most[i] : FAR);
	ascend(s, price, depth == 0 ? ROOT_STEPS : NODE_STEPS, depth == 0);
	here = relax_bound_exact(&s->relax, price, WIDE_TOP) + s->constant;
	bound = here < WIDE_TOP / 2 ? round_to_grid(s, here) : here;
	if (bound < parent_bound)
		bound = parent_bound;
	if (s->have && bound >= target(s)) {
		leave(s, bound);
		goto done;
	}
	if (bound >= WIDE_TOP / 2)
		goto done; /* no order is possible for a seller that must be open */
	if (depth == 0 || s->nodes % 16 == 0)
		improve_plan(s, price, depth);
	fix_by_bound(s, here);
	relax_activate(&s->relax);
	if (depth == 0)
		draft_refresh(&s->draft);
	for (size_t label = 0; label < s->model.labels; label++)
		if (!s->label_set[label]) {
			branch_on_label(s, price, bound, depth, label);
			goto done;
		}
	seller = choose_seller(s);
	if (seller != SIZE_MAX) {
		branch_on_seller(s, price, bound, depth, seller);
		goto done;
	}
	seller = choose_cells(s);
	if (seller != SIZE_MAX)
		branch_on_cells(s, price, bound, depth, seller);
	else
		reach_leaf(s, bound);
done:
	free(price);
	undo_to(s, mark);
	relax_activate(&s->relax);
}

/* ---- before and after ---- */

static wide
gcd(wide a, wide b)
{
	while (b != 0) {
		wide rest = a % b;

		a = b;
		b = rest;
	}
	return a < 0 ? -a : a;
}

/* The grid of all costs: the common divisor of every amount that can enter one, where nothing is
 * a percentage or converted. */
static void
find_grid(struct search *s)
{
	const struct model *model = &s->model;
	wide grid = 0;

	for (size_t i = 0; i < model->sellers; i++) {
		const struct terms *terms = model->seller[i].terms;

		if (terms == NULL)
			continue;
		if (terms->tax != 0 || terms->home.top != terms->home.bottom)
			return;
		grid = gcd(grid, (wide)terms->order_cost * 1000000);
		for (size_t c = 0; c < terms->charges; c++)
			for (size_t k = 0; k < terms->charge[c].steps; k++) {
				const struct charge_step *step = &terms->charge[c].step[k];

				if (step->percent != 0 || step->amount.bottom != 1)
					return;
				grid = gcd(grid, step->amount.top * 1000000);
			}
	}
	for (size_t j = 0; j < model->listings; j++)
		for (size_t b = 0; b < model->listing[j].breaks; b++)
			grid = gcd(grid, (wide)model->brk[model->listing[j].brk + b].price *
			                     model->listing[j].step * 1000000);
	for (size_t r = 0; r < model->rows; r++)
		grid = gcd(grid, (wide)model->row[r].penalty * 1000000);
	for (size_t l = 0; l < model->lots; l++)
		if (!model->lot[l].must)
			grid = gcd(grid, (wide)model->lot[l].worth * 1000000);
	if (s->unmet_price != 0)
		grid = 0;
	s->grid = grid;
}

/* Cuts the need of lots (without labels) to what all listings that fit could give. */
static void
cut_needs(struct search *s)
{
	struct model *model = &s->model;
	wide *supply = mem_zero(model->lots, sizeof *supply);
	struct model_lot *lot = mem_alloc(model->lots * sizeof *lot);

	for (size_t i = 0; i < model->lots; i++)
		lot[i] = model->lot[i];
	for (size_t j = 0; j < model->listings; j++) {
		const struct model_listing *l = &model->listing[j];
		size_t last = SIZE_MAX;

		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			size_t number = model->row[model->edge[e]].lot;

			if (number != last)
				supply[number] += l->most / l->step * l->step;
			last = number;
		}
	}
	for (size_t i = 0; i < model->lots; i++) {
		bool labelled = false;

		for (size_t r = lot[i].row; r < lot[i].row + lot[i].rows; r++)
			labelled = labelled || model->row[r].label != NO_LABEL;
		if (labelled || supply[i] >= lot[i].need)
			continue;
		if (lot[i].must)
			s->never_met += lot[i].need - (int64_t)supply[i];
		lot[i].need = (int64_t)supply[i];
	}
	free(supply);
	model->lot = lot;
}

/* More than any plan can cost: what a piece unmet is charged, where some may stay unmet. */
static wide
more_than_any_cost(const struct search *s)
{
	const struct model *model = &s->model;
	wide sum = 1000000000000, top;

	for (size_t i = 0; i < model->sellers; i++) {
		wide fixed = 0, factor = 0;

		for (size_t c = s->cells.first[i]; c < s->cells.first[i + 1]; c++) {
			const struct cell *cell = &s->cells.cell[c];
			size_t sums = model_sums(model, i);

			if (cell->fixed > fixed)
				fixed = cell->fixed;
			for (size_t k = 0; k < sums; k++)
				if (cell->factor[k] > factor)
					factor = cell->factor[k];
		}
		sum += fixed + 1000000;
		for (size_t j = model->seller[i].listing;
		     j < model->seller[i].listing + model->seller[i].listings; j++) {
			const struct model_listing *l = &model->listing[j];
			int64_t price = 0;

			for (size_t b = 0; b < l->breaks; b++)
				if (model->brk[l->brk + b].price > price)
					price = model->brk[l->brk + b].price;
			top = wide_div_ceil(price * (factor + 1), 1000000);
			sum += top * s->relax.cap[j];
		}
	}
	for (size_t l = 0; l < model->lots; l++) {
		int64_t penalty = 0;

		for (size_t r = model->lot[l].row; r < model->lot[l].row + model->lot[l].rows; r++)
			if (model->row[r].penalty > penalty)
				penalty = model->row[r].penalty;
		sum += (wide)(penalty + (model->lot[l].must ? 0 : model->lot[l].worth)) *
		       model->lot[l].need * 1000000;
	}
	return sum;
}

static void
price_leaving_out(struct search *s)
{
	for (size_t i = 0; i < s->model.lots; i++) {
		const struct model_lot *lot = &s->model.lot[i];
		wide pico = lot->must ? s->unmet_price : (wide)lot->worth * 1000000;

		if (lot->must && s->unmet_price == 0) {
			s->relax.price_most[i] = FAR;
			s->relax.price_most_nano[i] = INT64_MAX;
			continue;
		}
		s->relax.price_most[i] = pico_home(pico);
		s->relax.price_most_nano[i] = (int64_t)(pico / 1000);
	}
}

/* Multipliers to start from: what the dearest piece needed costs where offers are taken from the
 * cheapest up, and a little for the orders' charges. */
static void
first_prices(struct search *s, double *price)
{
	for (size_t i = 0; i < s->model.lots; i++) {
		double left = s->relax.need[i];

		price[i] = 0;
		for (size_t k = s->draft.first[i]; k < s->draft.first[i + 1] && left > 0; k++) {
			const struct draft_offer *offer = &s->draft.offer[k];

			price[i] = offer->unit * 1.02;
			left -= (double)s->relax.cap[offer->listing];
		}
		price[i] = clip(price[i], s->relax.price_most[i]);
	}
}

static void
start(struct search *s, const struct model *model, const struct search_options *options)
{
	*s = (struct search){.full = model, .model = *model, .options = options};
	cut_needs(s);
	plan_init(&s->best, model);
	plan_init(&s->trial, model);
	cells_init(&s->cells, &s->model);
	relax_init(&s->relax, &s->model, &s->cells);
	for (size_t i = 0; i < s->model.lots; i++)
		if (!s->model.lot[i].must)
			s->constant -= (wide)s->model.lot[i].worth * s->model.lot[i].need * 1000000;
	draft_init(&s->draft, &s->relax);
	s->draft.stop = leaf_stop_now;
	s->draft.data = s;
	s->open_share = mem_zero(model->sellers, sizeof *s->open_share);
	s->label_set = mem_zero(model->labels, sizeof *s->label_set);
	s->tolerance = wide_power10(PICO_DECIMALS - model->home_decimals) * TOLERANCE_PARTS / 10;
	s->lower = WIDE_TOP;
	s->best_cost = WIDE_TOP;
}

static void
end(struct search *s)
{
	free(s->model.lot);
	plan_free(&s->trial);
	draft_free(&s->draft);
	relax_free(&s->relax);
	cells_free(&s->cells);
	free(s->open_share);
	free(s->label_set);
	free(s->undo);
	free(s->pending);
}

/* First plans. Where none meets all that is on offer, leaving a piece out gets a price. */
static void
first_plans(struct search *s)
{
	size_t mark;

	price_leaving_out(s);
	draft_refresh(&s->draft);
	mark = assume_labels(s);
	draft_single(s);
	draft_greedy(s);
	drop_assumptions(s, mark);
	if (s->have)
		return;
	s->unmet_price = more_than_any_cost(s);
	price_leaving_out(s);
	draft_refresh(&s->draft);
	/* The empty plan is one. */
	memset(s->trial.bought, 0, s->full->listings * sizeof *s->trial.bought);
	memset(s->trial.used, 0, s->full->edges * sizeof *s->trial.used);
	offer_trial(s);
	mark = assume_labels(s);
	draft_single(s);
	draft_greedy(s);
	drop_assumptions(s, mark);
}

void
search_plan(const struct model *model, const struct search_options *options,
            struct search_result *result)
{
	struct search s;
	double *price;
	wide bound, floor;
	wide half = wide_power10(NANO_DECIMALS - model->home_decimals);

	start(&s, model, options);
	price = mem_zero(model->lots, sizeof *price);
	first_plans(&s);
	find_grid(&s);
	floor = relax_bound_exact(&s.relax, price, WIDE_TOP) + s.constant; /* at no price at all */
	first_prices(&s, price);
	solve_node(&s, price, -WIDE_TOP, 0);
	finish_leaves(&s);
	bound = s.lower < s.best_cost ? s.lower : s.best_cost;
	if (s.excluded && round_to_grid(&s, target(&s)) < bound)
		bound = round_to_grid(&s, target(&s));
	bound -= s.unmet_price * (s.best.unmet - s.never_met);
	if (bound < floor)
		bound = floor;
	*result = (struct search_result){.plan = s.best,
	                                 .bound = wide_div_floor(bound, 1000),
	                                 .stopped = s.stopped,
	                                 .asked_to_stop = s.asked,
	                                 .work = work_done(&s),
	                                 .nodes = s.nodes};
	result->proved = (result->plan.cost - result->bound) * 2 < half;
	free(price);
	end(&s);
}
