#include "plan/search.h"

#include "base/mem.h"
#include "plan/draft.h"
#include "plan/leaf.h"
#include "plan/master.h"
#include "plan/relax.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDE_TOP    ((wide)1 << 118)
#define PIECE_UNMET ((wide)1000000000000) /* pico: its cost where unmet pieces are counted */
#define ORDER_SCALE 0.2   /* of the multiplier of the number of orders, to those of lots */
#define UNDECIDED   0.005 /* shares less from 0 or 1 are whole */
#define LEAVE_START 1.5   /* times the dearest piece: the first multiplier of pieces left out */
#define GOAL_SHARE  0.05  /* the ascent aims no further than this above its best bound */

/* All limits of the search in one place. */
enum {
	ROOT_STEPS = 200,      /* of the ascent at the root */
	NODE_STEPS = 60,       /* at a node */
	STALL_STEPS = 12,      /* without a better bound: the step is halved */
	DRAFT_EVERY = 40,      /* root steps between drafts */
	DRAFT_CANDIDATES = 80, /* sellers that a draft's local search may open, at the most */
	DRAFT_ROUNDS = 6,
	SETTLE_WORK = 4000000, /* for settling one draft */
	SINGLES = 20,          /* sellers from whom everything is tried */
	REPAIRS = 30,          /* rounds of closing sellers whose orders break a rule */
	SETTLED_SELLERS = 400, /* with more, drafts are improved by the quicker moves alone */
	KICKS = 60,
	NEAR_PARTS = 1000,  /* of the gap: it goes on down while the bound has not risen by one; */
	NEAR_WITHIN = 4,    /* among few sellers, where plans alone are sought; */
	DEEP_EVERY = 8,     /* there, nodes taken up: from one it goes down to the bottom */
	WITHIN_PART = 8,    /* of the work done so far, that it may take */
	SOUGHT_AGAIN = 100, /* a best cost less by one such part: plans are sought near it */
	WITHIN_ROUNDS = 4,
	WITHIN_OTHERS = 8, /* sellers besides those of the best plan */
	WITHIN_NODES = 150,
	SLOW_ROOT = 50000000, /* work: with more for the first bound, its shares are rounded, */
	ROUNDINGS = 6,        /* at so many marks, */
	ROUNDING_PART = 8,    /* of the work done so far, that each may take */
	HELD_WORK = 1500000,  /* for quantities that are not settled */
	LEAF_PART = 2,        /* of all work that leaves taken up again may come to */
	LEAF_WORK = 3000000,  /* for a leaf at first; four times that each time it is taken up */
	POLISH_ROUNDS = 20,
	POLISH_WORK = 300000,  /* for one neighbour of the best plan */
	POLISH_ALL = 40000000, /* for all neighbours together */
	ROOM_FOR_BEST = 30,    /* times that for the best plan's own setting */
	GROWN_STARTS = 4,      /* sellers from which plans are grown at the root */
	OPEN_NODES = 60000,    /* with more, the search goes down where it is */
	CANDIDATES = 8,        /* to branch on, compared at a node, at the most */
	ROOT_ROUNDS = 200,     /* of the program over orders, at the root */
	SLOW_ROUNDS = 60,      /* with more there, the ascent does better below */
	NODE_ROUNDS = 30,
	PATIENCE = 500000000, /* work after which the ascent is given up for it, */
	FEW_SELLERS = 64,     /* with so many at the most */
	PROBE_ROUNDS = 1,
	ROUNDED = 256,
	TOLERANCE_PARTS = 4 /* of ten: what part of a minor unit may stay unproved */
};

/* How the search goes on. Plain sellers are looked at so quickly, and their bounds are so near,
 * that many nodes with little done at each are quicker. */
struct manner {
	double keep;        /* of an ascent's last direction, added to the next */
	double stalled_out; /* of the first step: with less left, the ascent ends */
	size_t candidates;  /* to branch on, compared at a node */
	size_t reliable;    /* times that a side must have been tried for its gain to be known */
	size_t probe_steps; /* of the ascent, to try a side of a branch */
	size_t draft_candidates; /* sellers that a draft's local search may open */
	size_t improve_every;    /* nodes between plans from a node's multipliers */
};

static const struct manner usual_manner = {0.5, 0, CANDIDATES, 2, 6, DRAFT_CANDIDATES, 16};
static const struct manner master_manner = {0.5, 0, CANDIDATES, 2, 6, DRAFT_CANDIDATES, 128};
static const struct manner plain_manner = {0.7, 0.5, 4, 1, 4, DRAFT_CANDIDATES / 4, 64};

/* One restriction of relax, as it is or as it was. */
struct change {
	enum {
		CHANGE_STATUS,
		CHANGE_CELL,
		CHANGE_ROW,
		CHANGE_LOT,
		CHANGE_LABEL,
		CHANGE_QUANTITY
	} kind;
	size_t index;
	double real;
	int64_t whole, most;
};

/* What branching on something gained, on its two sides: home currency. */
struct gains {
	double sum[2];
	size_t count[2];
};

/* What a node is branched on: a seller shut (side 0) or opened (1); or what an order of an open
 * seller is like: a charge's step up to one (0) or above it (1), a class bought (0) or not (1);
 * or the pieces of a listing: up to so many (0) or more (1). */
enum branch_kind { BRANCH_SELLER, BRANCH_STEP, BRANCH_CLASS, BRANCH_QUANTITY };

struct branch {
	size_t seller; /* SIZE_MAX: something else */
	enum branch_kind kind;
	size_t which; /* charge, sum of the class, or listing */
	int64_t step; /* the last one, or most pieces, of side 0 */
	int side;
};

/* A node still to be visited: restrictions on top of the root's. */
struct node {
	wide bound;            /* its parent's */
	double *price;         /* multipliers to start from (relax.h); owned */
	uint32_t *shut;        /* sellers; owned: most restrictions are of this kind */
	struct change *change; /* the others; owned */
	size_t shuts, changes, depth, number;
	struct branch branch;
};

/* A setting that shares were rounded to: its print, and whether it was solved to its end. */
struct rounded {
	uint64_t print;
	bool done;
};

struct search {
	const struct model *full; /* as given */
	struct model model;       /* needs cut to what is on offer at all */
	struct cells cells;
	struct relax relax;
	struct draft draft;
	struct master master;
	bool use_master,
	    slow_master;    /* the program over orders is there; took too long at the root */
	size_t multipliers; /* relax.h */
	bool counting;      /* nothing costs but a piece unmet: how many must be? */
	const struct search_options *options;
	struct plan best, trial;
	bool have;
	wide best_cost;                 /* pico home */
	int64_t never_met, unmet_least; /* pieces: more than what is on offer at all; as proved */
	wide constant; /* pico home: added to every bound (worth of optional lots) */
	wide grid;     /* pico home: every cost is a multiple of it; 0: unknown */
	wide tolerance;
	wide lower;         /* the least bound of what was left unsearched */
	double *open_share; /* by seller: of late steps in which its order paid */
	bool *label_set;
	struct change *undo; /* what to set back, the last one first */
	size_t undos, undo_room;
	size_t root_mark;   /* what lies before it on the undo list holds for the whole tree */
	struct node **node; /* a heap by bound, the least first */
	size_t open_nodes, node_room, numbers;
	struct gains *seller_gains, *cell_gains; /* by seller */
	struct gains *quantity_gains;            /* by listing */
	double *cell_weight;                     /* by cell: how much of late choices it was */
	double *root_price;                      /* by lot: multipliers at the root */
	wide root_for;           /* the best cost for which the root was last restricted */
	struct pending *pending; /* leaves put off; owned */
	size_t pendings, pending_room;
	size_t nodes;
	struct rounded rounded[ROUNDED]; /* settings that shares were rounded to, by print */
	bool settled;         /* the node's shares are whole, their setting is done with */
	wide known;           /* no plan costs less, as far as the search has come */
	size_t root_actives;  /* sellers left for the whole tree */
	wide low;             /* bound of the node last taken up */
	bool deep;            /* the search goes down from it whatever the bounds */
	uint64_t plans_most;  /* work at which kicks and polishing end */
	uint64_t leaf_work;   /* of leaves taken up again */
	uint64_t within_most; /* work at which a search among some of the sellers ends */
	bool within;          /* among some of the sellers alone, for better plans */
	size_t next_kicks;    /* at so many nodes, plans are sought again */
	wide sought_from;     /* best cost when they last were */
	uint64_t random;
	bool stopped, asked;
	bool excluded; /* something was shut because it could only cost more than target() */
	uint64_t work; /* but relax's and draft's own */
};

enum ascend_kind { ASCEND_ROOT, ASCEND_NODE, ASCEND_PROBE };

/* ---- undoing ---- */

/* The restriction that a change is about, as it is now. */
static struct change
as_is(const struct search *s, const struct change *about)
{
	struct change now = {.kind = about->kind, .index = about->index};

	switch (about->kind) {
	case CHANGE_STATUS:
		now.whole = s->relax.status[about->index];
		break;
	case CHANGE_CELL:
		now.whole = s->relax.cell_off[about->index];
		break;
	case CHANGE_ROW:
		now.whole = s->relax.row_off[about->index];
		break;
	case CHANGE_LOT:
		now.real = s->relax.price_most[about->index];
		now.whole = s->relax.price_most_nano[about->index];
		break;
	case CHANGE_LABEL:
		now.whole = s->label_set[about->index];
		break;
	case CHANGE_QUANTITY:
		now.whole = s->relax.least[about->index];
		now.most = s->relax.most[about->index];
		break;
	}
	return now;
}

static void
put(struct search *s, const struct change *change)
{
	switch (change->kind) {
	case CHANGE_STATUS:
		s->relax.status[change->index] = (unsigned char)change->whole;
		relax_touch(&s->relax, change->index);
		break;
	case CHANGE_CELL:
		s->relax.cell_off[change->index] = change->whole != 0;
		relax_touch(&s->relax, s->cells.cell[change->index].seller);
		break;
	case CHANGE_ROW:
		s->relax.row_off[change->index] = change->whole != 0;
		relax_touch_rows(&s->relax);
		break;
	case CHANGE_LOT:
		s->relax.price_most[change->index] = change->real;
		s->relax.price_most_nano[change->index] = change->whole;
		break;
	case CHANGE_LABEL:
		s->label_set[change->index] = change->whole != 0;
		break;
	case CHANGE_QUANTITY:
		relax_set_quantity(&s->relax, change->index, change->whole, change->most);
		break;
	}
}

static void
set(struct search *s, struct change change)
{
	MEM_ROOM(s->undo, s->undos, s->undo_room);
	s->undo[s->undos++] = as_is(s, &change);
	put(s, &change);
}

static void
set_status(struct search *s, size_t seller, enum status status)
{
	set(s, (struct change){.kind = CHANGE_STATUS, .index = seller, .whole = status});
}

static void
set_cell_off(struct search *s, size_t cell, bool off)
{
	set(s, (struct change){.kind = CHANGE_CELL, .index = cell, .whole = off});
}

static void
set_row_off(struct search *s, size_t row)
{
	set(s, (struct change){.kind = CHANGE_ROW, .index = row, .whole = true});
}

static void
set_lot_price(struct search *s, size_t lot, double real, int64_t nano)
{
	set(s, (struct change){.kind = CHANGE_LOT, .index = lot, .real = real, .whole = nano});
}

static void
set_quantity(struct search *s, size_t listing, int64_t least, int64_t most)
{
	set(s, (struct change){
	           .kind = CHANGE_QUANTITY, .index = listing, .whole = least, .most = most});
}

static void
undo_to(struct search *s, size_t mark)
{
	while (s->undos > mark)
		put(s, &s->undo[--s->undos]);
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
	news = (struct search_news){
	    s->have ? (double)s->best.cost * 1e-9 : FAR, s->counting ? -FAR : pico_home(s->known),
	    s->root_actives > 0 ? s->root_actives : s->relax.actives, work_done(s)};
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

#ifdef LOTPIPE_AUDIT
enum { AUDIT = 1 };
#else
enum { AUDIT = 0 };
#endif

static void audit_plan(const struct search *s);

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

/* Owned pieces cost nothing: of them no more are taken than are used. */
static void
leave_owned(const struct model *model, struct plan *plan)
{
	for (size_t j = 0; j < model->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		if (model->seller[l->seller].terms != NULL || plan->bought[j] == 0)
			continue;
		plan->bought[j] = 0;
		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			plan->bought[j] += plan->used[e];
	}
}

/* Takes the trial plan if it keeps the rules and is better. */
static bool
offer_trial(struct search *s)
{
	wide cost;

	leave_owned(s->full, &s->trial);
	if (plan_cost(s->full, &s->trial) != NULL)
		return false;
	if (!s->counting && s->trial.unmet > s->never_met + s->relax.leave_most)
		return false;
	cost = s->counting ? PIECE_UNMET * (s->trial.unmet - s->never_met) : s->trial.cost * 1000;
	if (s->have && !is_preferred(s))
		return false;
	plan_copy(&s->best, &s->trial, s->full);
	s->best_cost = cost;
	s->have = true;
	if (AUDIT)
		audit_plan(s);
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

static const struct manner *
manner_of(const struct search *s)
{
	return s->use_master ? &master_manner : all_plain(s) ? &plain_manner : &usual_manner;
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

static bool
keeps_cell(const struct cell *cell, const struct order_sum *sum, size_t sums)
{
	for (size_t i = 0; i < cell->bounds; i++)
		if (!bound_kept(&cell->bound[i], sum, sums))
			return false;
	for (size_t k = 1; k < sums; k++)
		if (cell->out[k] && sum[k].basis[BASIS_PIECES] > 0)
			return false;
	return true;
}

/* The cell that an order of the best plan lies in, of those left (exact ones alone where asked);
 * SIZE_MAX: none. */
static size_t
cell_of_best(const struct search *s, size_t seller, bool exact)
{
	size_t sums = model_sums(&s->model, seller), at = SIZE_MAX;
	struct order_sum *sum = mem_alloc(sums * sizeof *sum);
	bool found = false;

	plan_sums(&s->model, &s->best, seller, sum);
	while (!found && relax_next_cell(&s->relax, seller, &at)) {
		const struct cell *cell = &s->cells.cell[at];

		found = (cell->exact || !exact) && keeps_cell(cell, sum, sums);
	}
	free(sum);
	return found ? at : SIZE_MAX;
}

/* ---- the checking build (make audit): each bound and plan is looked at as it is found ---- */

static void
audit(bool holds, const char *what)
{
	if (holds)
		return;
	fprintf(stderr, "lotpipe audit: %s\n", what);
	abort();
}

/* Does the best plan keep the restrictions of the node? */
static bool
best_fits(const struct search *s)
{
	const struct relax *relax = &s->relax;
	const struct model *model = &s->model;

	for (size_t i = 0; i < model->sellers; i++) {
		bool buys = plan_buys(&s->best, &s->model, i);

		if (buys ? relax->status[i] == SELLER_SHUT || cell_of_best(s, i, false) == SIZE_MAX
		         : relax->status[i] == SELLER_OPEN && model->seller[i].terms != NULL)
			return false;
	}
	for (size_t j = 0; j < model->listings; j++)
		if (s->best.bought[j] < relax->least[j] || s->best.bought[j] > relax->most[j])
			return false;
	for (size_t e = 0; e < model->edges; e++)
		if (s->best.used[e] > 0 && relax->row_off[model->edge[e]])
			return false;
	return s->best.unmet <= s->never_met + relax->leave_most || s->counting;
}

/* No bound is above the cost of a plan of its node: of the best one, if it is there. */
static void
audit_bound(const struct search *s, wide bound)
{
	for (size_t i = 0; i < s->model.labels; i++)
		if (s->label_set[i])
			return; /* taken or not is not seen in the rows alone */
	if (s->have && best_fits(s))
		audit(bound <= s->best_cost, "a bound above the cost of a plan of its node");
}

/* A plan that is kept costs what it says, counted again from what it buys, and keeps every rule. */
static void
audit_plan(const struct search *s)
{
	struct plan again;

	plan_init(&again, s->full);
	plan_copy(&again, &s->best, s->full);
	audit(plan_cost(s->full, &again) == NULL, "a plan that breaks a rule");
	audit(again.cost == s->best.cost && again.unmet == s->best.unmet,
	      "a plan that costs something else when counted again");
	plan_free(&again);
}

/* A neighbour: which sellers are open, and in which cell each. */
struct setting {
	size_t *cell; /* by seller; SIZE_MAX: shut */
};

/* Solves the quantities of a setting. */
static struct leaf_result
solve_setting(struct search *s, const struct setting *setting, uint64_t most)
{
	size_t mark = s->undos;
	struct leaf_result result;

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
	result = leaf_solve(&s->relax, s->constant, s->have ? target(s) : WIDE_TOP, &s->trial,
	                    leaf_offer_plan, leaf_stop_now, s, &s->work, s->work + most);
	undo_to(s, mark);
	relax_activate(&s->relax);
	return result;
}

/* The setting of the best plan; false where it has none (a seller that the node has shut). */
static bool
setting_of_best(const struct search *s, struct setting *setting)
{
	for (size_t i = 0; i < s->model.sellers; i++) {
		setting->cell[i] = SIZE_MAX;
		if ((!always_open(s, i) && !plan_buys(&s->best, &s->model, i)) ||
		    s->relax.status[i] == SELLER_SHUT)
			continue;
		setting->cell[i] = cell_of_best(s, i, true);
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
		if (solve_setting(s, setting, POLISH_WORK).found)
			return true;
	}
	for (size_t c = s->cells.first[seller]; c < s->cells.first[seller + 1]; c++) {
		if (s->work > work_most)
			break;
		if (c == was || s->relax.cell_off[c] || !s->cells.cell[c].exact)
			continue;
		setting->cell[seller] = c;
		if (out_of_time(s) || solve_setting(s, setting, POLISH_WORK).found)
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

	for (size_t round = 0;
	     better && round < POLISH_ROUNDS && work_done(s) < s->plans_most && !out_of_time(s);
	     round++) {
		if (!setting_of_best(s, &setting))
			break;
		solve_setting(s, &setting, ROOM_FOR_BEST * (uint64_t)POLISH_WORK);
		if (!setting_of_best(s, &setting))
			break;
		better = false;
		for (size_t i = 0;
		     i < count && !better && work_done(s) < s->plans_most && !out_of_time(s); i++)
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
		s->draft.open[i] = s->relax.status[i] != SELLER_SHUT &&
		                   (always_open(s, i) || plan_buys(&s->best, &s->model, i));
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

	for (size_t n = 0;
	     n < kicks && count > 0 && work_done(s) < s->plans_most && !out_of_time(s); n++) {
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
	size_t most = manner_of(s)->draft_candidates, candidates = depth == 0 ? most : most / 4;
	int rounds = depth == 0 ? DRAFT_ROUNDS : 1;
	size_t mark;

	if (s->model.labels > 0)
		draft_refresh(&s->draft);
	mark = assume_labels(s);
	draft_from_prices(s, rounds, candidates);
	if (!all_plain(s))
		draft_from_orders(s, price, rounds, candidates);
	if (depth == 0 && !all_plain(s))
		draft_grown(s, GROWN_STARTS, candidates, rounds);
	drop_assumptions(s, mark);
}

/* Everything from one seller: from those that could serve most. Where all are plain, and orders not
 * limited, only from those that may be able to serve all: where that costs no more, it is one
 * order. */
static void
draft_single(struct search *s)
{
	struct ranked *list = mem_alloc((s->relax.actives + 1) * sizeof *list);
	bool quick = all_plain(s) && s->model.max_orders == NO_LIMIT;
	double all = 0;
	size_t count = 0;

	for (size_t i = 0; quick && i < s->model.lots; i++)
		all += s->relax.need[i];
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
		if (served >= all)
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

/* Notes which sellers' orders pay at the multipliers, and in which cells they lie. */
static void
watch_choices(struct search *s)
{
	const struct relax *relax = &s->relax;

	for (size_t i = 0; i < relax->actives; i++) {
		size_t seller = relax->active[i];
		double open = relax->value[seller] < 0 || relax->status[seller] == SELLER_OPEN;

		s->open_share[seller] += 0.1 * (open - s->open_share[seller]);
		if (s->model.seller[seller].terms == NULL || relax->status[seller] != SELLER_OPEN)
			continue;
		for (size_t at = SIZE_MAX; relax_next_cell(relax, seller, &at);)
			s->cell_weight[at] +=
			    0.1 * ((at == relax->choice[seller]) - s->cell_weight[at]);
	}
}

/* The step's direction for the multiplier of the number of orders; returns its square. */
static double
order_direction(const struct search *s, double keep, double *direction, double price)
{
	const struct relax *relax = &s->relax;
	double over = -(double)s->model.max_orders;

	if (s->model.max_orders == NO_LIMIT)
		return 0;
	for (size_t i = 0; i < relax->actives; i++) {
		size_t seller = relax->active[i];

		over += s->model.seller[seller].terms != NULL &&
		        (relax->value[seller] < 0 || relax->status[seller] == SELLER_OPEN);
	}
	if (price <= 0 && over < 0)
		over = 0;
	*direction = over * ORDER_SCALE + keep * *direction;
	return *direction * *direction;
}

/* The lots' part of a step, by lot: 1 / pieces needed, 0 where none is, and the most that the
 * multiplier can be. Those of the lots do not change the latter. */
struct lot_step {
	double *share, *most;
};

static void
set_lot_steps(const struct search *s, const double *price, struct lot_step *lot)
{
	lot->share = mem_alloc((s->model.lots + 1) * sizeof *lot->share);
	lot->most = mem_alloc((s->model.lots + 1) * sizeof *lot->most);
	for (size_t i = 0; i < s->model.lots; i++) {
		lot->share[i] = s->relax.need[i] > 0 ? 1 / s->relax.need[i] : 0;
		lot->most[i] = relax_price_most(&s->relax, price, i);
	}
}

/* Adds what lots lack, but for what would only press against a bound, to what is kept of their last
 * directions. Without branches, for it is done in every step. */
static void
turn(size_t lots, const double *restrict need, const double *restrict filled,
     const struct lot_step *lot, double keep, const double *restrict here,
     double *restrict direction)
{
	const double *restrict share = lot->share, *restrict most = lot->most;

	for (size_t i = 0; i < lots; i++) {
		double lack = (need[i] - filled[i]) * share[i];
		double low = here[i] <= 0 ? 0 : -FAR, high = here[i] >= most[i] ? 0 : FAR;

		lack = lack < low ? low : lack;
		lack = lack > high ? high : lack;
		direction[i] = lack + keep * direction[i];
	}
}

static void
go_along(size_t lots, double step, const struct lot_step *lot, const double *restrict direction,
         double *restrict here)
{
	const double *restrict share = lot->share, *restrict most = lot->most;

	for (size_t i = 0; i < lots; i++) {
		double there = here[i] + step * direction[i] * share[i];

		there = there < 0 ? 0 : there;
		here[i] = there > most[i] ? most[i] : there;
	}
}

/* Subgradient steps on the multipliers, in value per lot, each direction part of the last one added
 * (a deflected subgradient); step length by Polyak's rule from the best plan's cost. price ends
 * as the best multipliers found. Returns the bound there (home currency, without constant). */
static double
ascend(struct search *s, double *price, size_t steps, enum ascend_kind kind)
{
	const struct manner *manner = manner_of(s);
	struct relax *relax = &s->relax;
	size_t lots = s->model.lots, count = s->multipliers;
	double *here = mem_alloc(count * sizeof *here);
	double *direction = mem_zero(count, sizeof *direction);
	struct lot_step lot;
	double best = -FAR, scale = 1.0, constant = pico_home(s->constant);
	size_t stalled = 0;

	set_lot_steps(s, price, &lot);
	memcpy(here, price, count * sizeof *here);
	for (size_t n = 0; n < steps && !out_of_time(s); n++) {
		double bound = relax_bound(relax, here), goal, norm, step;

		if (kind != ASCEND_PROBE)
			watch_choices(s);
		if (bound > best + 1e-9 * (1 + fabs(best))) {
			if (bound > best + 1e-4 * fabs(best))
				stalled = 0;
			best = bound;
			memcpy(price, here, count * sizeof *here);
		}
		if (s->have && best + constant >= pico_home(target(s)))
			break;
		if (++stalled > STALL_STEPS) {
			scale *= 0.6;
			if (scale < manner->stalled_out)
				break;
			stalled = 0;
			memcpy(here, price, count * sizeof *here);
			memset(direction, 0, count * sizeof *direction);
			bound = relax_bound(relax, here);
		}
		if (kind == ASCEND_ROOT && n % DRAFT_EVERY == DRAFT_EVERY - 1) {
			size_t mark = assume_labels(s);

			draft_from_prices(s, 1, manner->draft_candidates / 2);
			drop_assumptions(s, mark);
		}
		goal = best + GOAL_SHARE * fabs(best) + 1e-3;
		if (s->have && pico_home(s->best_cost) - constant < goal)
			goal = pico_home(s->best_cost) - constant;
		turn(lots, relax->need, relax->filled, &lot, manner->keep, here, direction);
		norm = dot(direction, direction, lots);
		norm += order_direction(s, manner->keep, &direction[lots], here[lots]);
		if (norm < 1e-18)
			break;
		step = scale * (goal - bound) / norm;
		if (step < 1e-12)
			step = 1e-12;
		go_along(lots, step, &lot, direction, here);
		if (s->model.max_orders != NO_LIMIT)
			here[lots] = clip(here[lots] + step * direction[lots] * ORDER_SCALE, FAR);
	}
	relax_bound_whole(relax, price);
	free(here);
	free(direction);
	free(lot.share);
	free(lot.most);
	return best;
}

/* Shares of sellers and of their cells, as the program over orders has them. */
static void
take_shares(struct search *s)
{
	const struct master *master = &s->master;

	memset(s->cell_weight, 0, s->cells.count * sizeof *s->cell_weight);
	for (size_t i = 0; i < s->model.sellers; i++)
		s->open_share[i] = master->share[i];
	for (size_t i = 0; i < master->orders; i++)
		s->cell_weight[master->order[i].cell] += master->weight[i];
}

/* Has the first bound had its part of the effort? */
static bool
root_is_over(void *data)
{
	const struct search *s = data;

	return s->options->hurried && work_done(s) > s->options->effort / 2;
}

/* Raises the bound at a node from the multipliers in price. Returns it, without constant. */
static double
raise_bound(struct search *s, double *price, enum ascend_kind kind)
{
	const size_t steps[] = {ROOT_STEPS, NODE_STEPS, manner_of(s)->probe_steps};
	static const size_t rounds[] = {ROOT_ROUNDS, NODE_ROUNDS, PROBE_ROUNDS};
	double enough = s->have ? pico_home(target(s) - s->constant) : FAR, bound;

	if (kind == ASCEND_ROOT) {
		ascend(s, price, steps[kind], kind);
		s->slow_master = all_plain(s) || root_is_over(s);
		s->use_master = !s->slow_master && master_init(&s->master, &s->relax);
		s->master.stop = root_is_over;
		s->master.data = s;
	} else if (s->use_master) {
		s->master.stop = NULL;
	}
	if (!s->use_master)
		return kind == ASCEND_ROOT ? 0 : ascend(s, price, steps[kind], kind);
	bound = master_raise(&s->master, price, enough, 2 * (fabs(pico_home(s->best_cost)) + 1),
	                     rounds[kind]);
	if (kind != ASCEND_PROBE)
		take_shares(s);
	if (kind == ASCEND_ROOT && s->master.rounds > SLOW_ROUNDS) {
		master_free(&s->master);
		s->use_master = false;
		s->slow_master = true;
	}
	return bound;
}

/* How undecided a share is: 0 where it is as good as whole. */
static double
undecided(double share)
{
	double off = share < 0.5 ? share : 1 - share;

	return off > UNDECIDED ? off : 0;
}

/* The cell of a seller with most weight; SIZE_MAX: none is exact. */
static size_t
heaviest_cell(const struct search *s, size_t seller)
{
	size_t best = SIZE_MAX;

	for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, seller, &at);)
		if (s->cells.cell[at].exact &&
		    (best == SIZE_MAX || s->cell_weight[at] > s->cell_weight[best]))
			best = at;
	return best;
}

static uint64_t
mix(uint64_t print, uint64_t value)
{
	return (print ^ value) * 1099511628211U;
}

/* The print (FNV-1a) of a setting and of what may be bought in it. */
static uint64_t
print_setting(const struct search *s, const struct setting *setting)
{
	uint64_t print = 14695981039346656037U;

	for (size_t i = 0; i < s->model.sellers; i++) {
		const struct model_seller *seller = &s->model.seller[i];

		print = mix(print, setting->cell[i]);
		if (setting->cell[i] == SIZE_MAX)
			continue;
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
			print = mix(mix(print, (uint64_t)s->relax.least[j]),
			            (uint64_t)s->relax.most[j]);
	}
	return print;
}

/* Rounds shares to a setting, and solves that: sellers with at least so much are open, each in the
 * cell that has most of it. Whether the setting is done with. */
static bool
round_shares(struct search *s, double least, uint64_t most)
{
	struct setting setting = {mem_alloc((s->model.sellers + 1) * sizeof *setting.cell)};
	struct rounded *rounded;
	uint64_t print;

	for (size_t i = 0; i < s->model.sellers; i++) {
		bool open = s->relax.status[i] != SELLER_SHUT &&
		            (always_open(s, i) || s->open_share[i] >= least);

		setting.cell[i] = open ? heaviest_cell(s, i) : SIZE_MAX;
	}
	print = print_setting(s, &setting);
	rounded = &s->rounded[print % ROUNDED];
	if (rounded->print != print && !out_of_time(s)) {
		rounded->print = print;
		rounded->done = !solve_setting(s, &setting, most).stopped;
	}
	free(setting.cell);
	return rounded->print == print && rounded->done;
}

/* How many sellers are undecided, open or not and in which cell. */
static size_t
count_undecided(const struct search *s)
{
	size_t count = 0;

	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i];
		double most = 0;

		for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, seller, &at);)
			if (s->cell_weight[at] > most)
				most = s->cell_weight[at];
		count += undecided(s->open_share[seller]) > 0 ||
		         s->open_share[seller] - most > UNDECIDED;
	}
	return count;
}

/* Is the mean of what is bought of a listing something that can be bought, at what it costs in the
 * mean? *below: the most that can be bought and is not more than the mean, 0 for none. */
static bool
is_settled(const struct search *s, size_t j, int64_t *below)
{
	const struct model_listing *l = &s->model.listing[j];
	double mean = s->master.pieces[j], spent = s->master.spent[j], whole;

	*below = (int64_t)(mean + 1e-6) / l->step * l->step;
	if (*below < s->model.brk[l->brk].least)
		*below = 0;
	whole = fabs(mean - (double)*below);
	if (whole > 1e-5)
		return false;
	for (size_t b = l->breaks; b-- > 0;)
		if (*below >= s->model.brk[l->brk + b].least)
			return fabs((double)s->model.brk[l->brk + b].price * 1e-6 * (double)*below -
			            spent) < 1e-5 * (1 + spent);
	return spent < 1e-5;
}

/* Solves what the shares were decided to with all quantities held that are settled: a small
 * program, whose plan is as good as the node's bound where the others can be made whole at no
 * cost (relaxation induced neighbourhoods: Danna, Rothberg, Le Pape, Math. Programming 102
 * (2005) 71-90). */
static void
round_held(struct search *s)
{
	size_t mark = s->undos;

	for (size_t i = 0; i < s->relax.actives; i++) {
		const struct model_seller *ms = &s->model.seller[s->relax.active[i]];

		for (size_t j = ms->listing; j < ms->listing + ms->listings; j++) {
			int64_t pieces;

			if (s->relax.most[j] > s->relax.least[j] && is_settled(s, j, &pieces) &&
			    pieces >= s->relax.least[j] && pieces <= s->relax.most[j])
				set_quantity(s, j, pieces, pieces);
		}
	}
	round_shares(s, 0.5, HELD_WORK);
	undo_to(s, mark);
	relax_activate(&s->relax);
}

/* Where the first bound took long, so do all others: plans would come late. Those whose sellers
 * have a share in it are near the best ones, mostly. */
static void
round_root(struct search *s)
{
	uint64_t most = work_done(s) / ROUNDING_PART;

	for (int tenths = ROUNDINGS; tenths > 0; tenths--)
		round_shares(s, tenths * 0.1, most);
}

static void
round_plans(struct search *s, const struct node *node)
{
	bool often = node->depth == 0 || s->nodes % 8 == 0;
	bool parted = node->branch.seller != SIZE_MAX && node->branch.kind == BRANCH_QUANTITY;
	bool decided;
	uint64_t before;

	s->settled = false;
	if (node->depth == 0 && s->slow_master && work_done(s) > SLOW_ROOT && !all_plain(s))
		round_root(s);
	if (!s->use_master)
		return;
	decided = count_undecided(s) == 0;
	if (!often && !decided)
		return;
	before = work_done(s);
	if (decided) {
		round_held(s);
		s->deep = s->deep && !parted;
	}
	/* Where quantities are branched on, all of them were tried further up: no more than a
	 * little is spent on them. */
	s->settled = round_shares(s, 0.5,
	                          decided && (often || !parted) && s->leaf_work < before / LEAF_PART
	                              ? LEAF_WORK
	                              : POLISH_WORK) &&
	             decided;
	s->leaf_work += decided ? work_done(s) - before : 0;
	if (often)
		round_shares(s, 0.1, POLISH_WORK);
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

/* Adds what the seller can give of each lot. */
static void
add_supply(const struct relax *relax, size_t number, double *supply)
{
	const struct model *model = relax->model;
	const struct model_seller *seller = &model->seller[number];

	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		if (is_plain(relax, number)) {
			supply[relax->plain_lot[j]] += relax->plain_cap[j];
			continue;
		}
		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			if (!relax->row_off[model->edge[e]])
				supply[model->row[model->edge[e]].lot] += (double)relax->most[j];
	}
}

/* Would a lot that must be filled lack pieces without one listing of the seller? (Where another
 * listing of the seller has it too, none is forced.) */
static bool
is_needed(const struct relax *relax, size_t number, const double *supply)
{
	const struct model *model = relax->model;
	const struct model_seller *seller = &model->seller[number];
	bool plain = is_plain(relax, number);

	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &model->listing[j];
		size_t lot;

		if (!plain && (l->edges != 1 || relax->row_off[model->edge[l->edge]]))
			continue;
		lot = plain ? relax->plain_lot[j] : model->row[model->edge[l->edge]].lot;
		if (relax->price_most_nano[lot] == INT64_MAX &&
		    supply[lot] - (plain ? relax->plain_cap[j] : (double)relax->most[j]) <
		        relax->need[lot] - 0.5)
			return true;
	}
	return false;
}

/* Opens sellers without which a lot cannot be met; false where one cannot be met at all, or an
 * open seller has no cell left. */
static bool
propagate(struct search *s)
{
	struct relax *relax = &s->relax;
	const struct model *model = &s->model;
	double *supply = mem_zero(model->lots, sizeof *supply), short_by = 0;
	size_t open = 0;
	bool fits = true;

	for (size_t i = 0; i < relax->actives; i++) {
		open += relax->status[relax->active[i]] == SELLER_OPEN &&
		        model->seller[relax->active[i]].terms != NULL;
		add_supply(relax, relax->active[i], supply);
	}
	for (size_t l = 0; l < model->lots; l++) {
		double lacks = supply[l] < relax->need[l] ? relax->need[l] - supply[l] : 0;

		fits = fits && (relax->price_most_nano[l] != INT64_MAX || lacks < 0.5);
		short_by += relax->price_most_nano[l] == LEAVABLE ? lacks : 0;
	}
	fits = fits && short_by < (double)relax->leave_most + 0.5;
	for (size_t i = 0; i < relax->actives && fits; i++) {
		size_t number = relax->active[i];
		const struct model_seller *seller = &model->seller[number];

		if (relax->status[number] != SELLER_FREE || seller->terms == NULL)
			continue;
		if (is_needed(relax, number, supply)) {
			set_status(s, number, SELLER_OPEN);
			open++;
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
cells_left(const struct search *s, size_t seller)
{
	size_t count = 0;

	for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, seller, &at);)
		count++;
	return count;
}

/* Is the bound near enough to the least one for the search to go on down? */
static bool
is_near(const struct search *s, wide bound)
{
	int parts = s->within ? NEAR_WITHIN : NEAR_PARTS;

	return !s->have || bound - s->low <= (s->best_cost - s->low) / parts;
}

/* Which node is visited first: the one with the lesser bound, then the older. */
static bool
comes_first(const struct node *a, const struct node *b)
{
	return a->bound != b->bound ? a->bound < b->bound : a->number < b->number;
}

static void
push_node(struct search *s, struct node *node)
{
	size_t at = s->open_nodes;

	MEM_ROOM(s->node, s->open_nodes, s->node_room);
	s->open_nodes++;
	while (at > 0 && comes_first(node, s->node[(at - 1) / 2])) {
		s->node[at] = s->node[(at - 1) / 2];
		at = (at - 1) / 2;
	}
	s->node[at] = node;
}

/* The open node that comes first; one of the last where too many are open. */
static struct node *
pop_node(struct search *s)
{
	struct node *first, *last = s->node[--s->open_nodes];
	size_t at = 0, child;

	if (s->open_nodes == 0 || s->open_nodes > OPEN_NODES)
		return last;
	first = s->node[0];
	while ((child = 2 * at + 1) < s->open_nodes) {
		if (child + 1 < s->open_nodes && comes_first(s->node[child + 1], s->node[child]))
			child++;
		if (!comes_first(s->node[child], last))
			break;
		s->node[at] = s->node[child];
		at = child;
	}
	s->node[at] = last;
	return first;
}

static void
free_node(struct node *node)
{
	free(node->price);
	free(node->shut);
	free(node->change);
	free(node);
}

/* Does the change shut a seller, as it now is? */
static bool
shuts_seller(const struct search *s, const struct change *change)
{
	return change->kind == CHANGE_STATUS && s->relax.status[change->index] == SELLER_SHUT;
}

/* A node with the restrictions that were set since the mark of the root. */
static struct node *
make_node(struct search *s, const double *price, wide bound, size_t depth, struct branch branch)
{
	struct node *node = mem_alloc(sizeof *node);
	size_t shuts = 0;

	for (size_t i = s->root_mark; i < s->undos; i++)
		shuts += shuts_seller(s, &s->undo[i]);
	*node = (struct node){
	    .bound = bound,
	    .price = mem_copy(price, s->multipliers, sizeof *price),
	    .shut = mem_alloc((shuts + 1) * sizeof *node->shut),
	    .change = mem_alloc((s->undos - s->root_mark - shuts + 1) * sizeof *node->change),
	    .depth = depth,
	    .number = s->numbers++,
	    .branch = branch};
	for (size_t i = s->root_mark; i < s->undos; i++)
		if (shuts_seller(s, &s->undo[i]))
			node->shut[node->shuts++] = (uint32_t)s->undo[i].index;
		else
			node->change[node->changes++] = as_is(s, &s->undo[i]);
	return node;
}

/* Restricts what is as at the root to a node. */
static void
restrict_to(struct search *s, const struct node *node)
{
	for (size_t i = 0; i < node->shuts; i++)
		set_status(s, node->shut[i], SELLER_SHUT);
	for (size_t i = 0; i < node->changes; i++)
		set(s, node->change[i]);
}

static const struct branch no_branch = {SIZE_MAX, BRANCH_SELLER, 0, 0, 0};

/* ---- choosing what to branch on: by what it gained before, or by trying ---- */

struct candidate {
	struct branch branch;
	double prior;
};

/* Something to branch on is the better the less decided it is; where nothing is undecided, the
 * more it would cost to do otherwise. */
static double
prior_of(const struct search *s, size_t seller, double share)
{
	double value = s->relax.value[seller];

	return undecided(share) * 4 +
	       1e-3 * fabs(value < FAR ? value : 0) / (fabs(pico_home(s->best_cost)) + 1e-9);
}

static void
insert_candidate(struct candidate *list, size_t most, size_t *count, struct candidate candidate)
{
	size_t at = *count;

	if (at == most) {
		if (candidate.prior <= list[at - 1].prior)
			return;
		at--;
	} else {
		++*count;
	}
	for (; at > 0 && list[at - 1].prior < candidate.prior; at--)
		list[at] = list[at - 1];
	list[at] = candidate;
}

/* Is the cell left on a side of the branch? One that spans steps may be on both. */
static bool
is_on_side(const struct search *s, const struct branch *branch, int side, size_t cell)
{
	const struct cell *c = &s->cells.cell[cell];

	if (branch->kind == BRANCH_CLASS)
		return c->out[branch->which] == (side == 1);
	return side == 0 ? c->from[branch->which] <= branch->step
	                 : c->to[branch->which] > branch->step;
}

/* How evenly the branch parts the seller's cells that are left, by their weight: less than 0 where
 * a side has none or all of them. */
static double
evenness(const struct search *s, const struct branch *branch)
{
	double weight[2] = {0, 0};
	size_t count[2] = {0, 0}, all = 0;

	for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, branch->seller, &at); all++)
		for (int side = 0; side < 2; side++)
			if (is_on_side(s, branch, side, at)) {
				weight[side] += s->cell_weight[at];
				count[side]++;
			}
	for (int side = 0; side < 2; side++)
		if (count[side] == 0 || count[side] == all)
			return -1;
	return (weight[0] < weight[1] ? weight[0] : weight[1]) +
	       1e-3 * (double)(count[0] < count[1] ? count[0] : count[1]) / (double)all;
}

/* The most even way to part the seller's cells; *even is less than 0 where there is none. */
static struct branch
part_cells(const struct search *s, size_t seller, double *even)
{
	const struct terms *terms = s->model.seller[seller].terms;
	struct branch best = no_branch;
	size_t charges = terms == NULL ? 0 : terms->charges, sums = model_sums(&s->model, seller);

	*even = -1;
	for (size_t n = 0; n < charges + sums - 1; n++) {
		bool class = n >= charges;
		size_t which = class ? n - charges + 1 : n;
		short steps = class ? 1 : (short)terms->charge[which].steps;

		for (short step = -1; step < steps - 1 || (class && step < 0); step++) {
			struct branch branch = {seller, class ? BRANCH_CLASS : BRANCH_STEP, which,
			                        step, 0};
			double here = evenness(s, &branch);

			if (here > *even) {
				*even = here;
				best = branch;
			}
		}
	}
	return best;
}

/* Moves where to split a listing's quantity to where both sides have something that can be bought;
 * false where nothing has been left to decide. */
static bool
split_quantity(const struct search *s, size_t j, int64_t *at)
{
	const struct model_listing *l = &s->model.listing[j];
	int64_t first = s->model.brk[l->brk].least, low, high;

	low = (s->relax.least[j] + l->step - 1) / l->step * l->step;
	if (low > 0 && low < first)
		low = (first + l->step - 1) / l->step * l->step;
	high = s->relax.most[j] / l->step * l->step;
	if (low >= high)
		return false;
	if (*at > high - l->step)
		*at = high - l->step;
	if (*at < low)
		*at = low;
	return true;
}

/* Listings of which something between what can be bought is bought in the mean, those first that
 * are bought for most. */
static size_t
list_quantities(const struct search *s, struct candidate *list)
{
	size_t count = 0;

	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i];
		const struct model_seller *ms = &s->model.seller[seller];

		for (size_t j = ms->listing; j < ms->listing + ms->listings; j++) {
			struct candidate candidate = {.branch = {seller, BRANCH_QUANTITY, j, 0, 0}};

			if (s->master.pieces[j] < 1e-9 ||
			    is_settled(s, j, &candidate.branch.step) ||
			    !split_quantity(s, j, &candidate.branch.step))
				continue;
			candidate.prior = 1 + s->master.spent[j];
			insert_candidate(list, CANDIDATES, &count, candidate);
		}
	}
	return count;
}

/* Those that are undecided, the least decided first; where none is, what is left to decide. */
static size_t
list_candidates(const struct search *s, struct candidate *list)
{
	size_t most = manner_of(s)->candidates, count = 0, kept = 0;

	for (size_t i = 0; i < s->relax.actives; i++) {
		size_t seller = s->relax.active[i];
		bool fixed =
		    s->relax.status[seller] == SELLER_OPEN || s->model.seller[seller].terms == NULL;
		struct branch branch = {seller, BRANCH_SELLER, 0, 0, 0};
		double share = s->open_share[seller], even = -1;

		if (fixed || share > 1 - UNDECIDED) {
			struct branch parted = no_branch;

			if (cells_left(s, seller) > 1)
				parted = part_cells(s, seller, &even);
			if (parted.seller != SIZE_MAX && (fixed || even > UNDECIDED)) {
				branch = parted;
				share = even;
			} else if (fixed) {
				continue;
			}
		}
		insert_candidate(
		    list, most, &count,
		    (struct candidate){.branch = branch, .prior = prior_of(s, seller, share)});
	}
	while (kept < count && list[kept].prior >= 4 * UNDECIDED)
		kept++;
	if (kept == 0 && count > 0 && s->use_master && !s->settled)
		kept = list_quantities(s, list);
	return kept > 0 ? kept : count;
}

/* More pieces than so many: the seller must be open, and have the class. */
static void
take_quantity(struct search *s, const struct branch *branch)
{
	size_t j = branch->which, sum = s->model.listing[j].sum;
	int64_t least = s->relax.least[j], most = s->relax.most[j];

	if (branch->side == 0) {
		set_quantity(s, j, least, branch->step);
		return;
	}
	set_quantity(s, j, branch->step + 1, most);
	if (s->model.seller[branch->seller].terms != NULL)
		set_status(s, branch->seller, SELLER_OPEN);
	for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, branch->seller, &at);)
		if (s->cells.cell[at].out[sum])
			set_cell_off(s, at, true);
}

/* Restricts to a side of a branch. */
static void
take_side(struct search *s, const struct branch *branch)
{
	if (branch->kind == BRANCH_SELLER) {
		set_status(s, branch->seller, branch->side == 1 ? SELLER_OPEN : SELLER_SHUT);
		return;
	}
	if (branch->kind == BRANCH_QUANTITY) {
		take_quantity(s, branch);
		return;
	}
	for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, branch->seller, &at);)
		if (!is_on_side(s, branch, branch->side, at))
			set_cell_off(s, at, true);
}

static struct gains *
gains_of(const struct search *s, const struct branch *branch)
{
	if (branch->kind == BRANCH_QUANTITY)
		return &s->quantity_gains[branch->which];
	return &(branch->kind == BRANCH_SELLER ? s->seller_gains : s->cell_gains)[branch->seller];
}

static void
record_gain(struct search *s, const struct branch *branch, double gain)
{
	struct gains *gains;

	if (branch->seller == SIZE_MAX)
		return;
	gains = gains_of(s, branch);
	gains->sum[branch->side] += gain > 0 ? gain : 0;
	gains->count[branch->side]++;
}

/* Tries a side with a few steps. True: it holds no better plan. */
static bool
probe(struct search *s, struct branch branch, const double *price, double here)
{
	size_t mark = s->undos;
	double *trial = mem_copy(price, s->multipliers, sizeof *price), bound;
	bool none = false;

	take_side(s, &branch);
	relax_activate(&s->relax);
	if (s->use_master)
		master_return(&s->master);
	bound = raise_bound(s, trial, ASCEND_PROBE) + pico_home(s->constant);
	if (s->have && bound >= pico_home(target(s)))
		none = round_to_grid(s, relax_bound_exact(&s->relax, trial, WIDE_TOP) +
		                            s->constant) >= target(s);
	if (bound > pico_home(target(s)))
		bound = pico_home(target(s));
	record_gain(s, &branch, bound - here);
	undo_to(s, mark);
	relax_activate(&s->relax);
	free(trial);
	return none;
}

static double
mean_gain(const struct gains *gains, int side)
{
	return gains->count[side] > 0 ? gains->sum[side] / (double)gains->count[side] : 0;
}

/* Tries the sides of a candidate that was not tried often. True: one side holds no better plan, and
 * the node has been restricted to the other. */
static bool
probe_sides(struct search *s, const struct branch *branch, const double *price, double here)
{
	for (int side = 0; side < 2; side++) {
		struct branch tried = *branch;

		tried.side = side;
		if (gains_of(s, branch)->count[side] >= manner_of(s)->reliable)
			continue;
		relax_bound_whole(&s->relax, price);
		if (!probe(s, tried, price, here))
			continue;
		relax_bound_whole(&s->relax, price);
		tried.side = !side;
		s->excluded = true;
		take_side(s, &tried);
		relax_activate(&s->relax);
		relax_bound_whole(&s->relax, price);
		return true;
	}
	return false;
}

/* What to branch on, SIZE_MAX for nothing: sides that hold no better plan are shut on the way. */
static struct branch
choose_branch(struct search *s, const double *price, double here)
{
	struct candidate list[CANDIDATES];
	struct branch best = no_branch;
	double best_score, least = 1e-5 * (fabs(here) + 1e-3);
	bool again = true;

	if (s->use_master)
		master_keep(&s->master);
	while (again && !out_of_time(s)) {
		size_t count = list_candidates(s, list);

		again = false;
		best = no_branch;
		best_score = -1;
		for (size_t i = 0; i < count && !again; i++) {
			const struct branch *branch = &list[i].branch;
			const struct gains *gains = gains_of(s, branch);
			double shut, open, score;

			again = probe_sides(s, branch, price, here);
			shut = mean_gain(gains, 0);
			open = mean_gain(gains, 1);
			score = (shut > least ? shut : least) * (open > least ? open : least);
			if (score > best_score) {
				best_score = score;
				best = *branch;
			}
		}
	}
	relax_bound_whole(&s->relax, price);
	return best;
}

static double
weight_of_side(const struct search *s, const struct branch *branch, int side)
{
	double weight = 0;

	for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, branch->seller, &at);)
		if (is_on_side(s, branch, side, at))
			weight += s->cell_weight[at];
	return weight;
}

/* Sets up both sides; returns the one to go on with. */
static struct node *
branch_on(struct search *s, const double *price, wide bound, size_t depth, struct branch branch)
{
	size_t mark = s->undos;
	int first = branch.kind == BRANCH_QUANTITY ? 1
	            : branch.kind != BRANCH_SELLER
	                ? weight_of_side(s, &branch, 1) > weight_of_side(s, &branch, 0)
	                : s->open_share[branch.seller] >= 0.5 || s->relax.value[branch.seller] < 0;
	struct node *node[2];

	for (int side = 0; side < 2; side++) {
		branch.side = side;
		take_side(s, &branch);
		node[side] = make_node(s, price, bound, depth + 1, branch);
		undo_to(s, mark);
	}
	push_node(s, node[!first]);
	return node[first];
}

/* A cell that spans several steps of a charge; SIZE_MAX: none. */
static size_t
find_inexact(const struct search *s)
{
	for (size_t i = 0; i < s->relax.actives; i++)
		for (size_t at = SIZE_MAX; relax_next_cell(&s->relax, s->relax.active[i], &at);)
			if (!s->cells.cell[at].exact)
				return at;
	return SIZE_MAX;
}

/* Orders in these cells cost nothing. */
static void
forget_cells(struct search *s, size_t first, size_t count)
{
	for (size_t c = first; c < first + count; c++)
		cell_forget_costs(&s->cells.cell[c],
		                  model_sums(&s->model, s->cells.cell[c].seller));
}

/* Takes the cell apart; NULL: no part of it can hold an order. */
static struct node *
split_cell(struct search *s, const double *price, wide bound, size_t depth, size_t cell)
{
	size_t mark = s->undos, parts, first = cells_split(&s->cells, &s->model, cell, &parts);
	struct node *node = NULL;

	relax_grow(&s->relax);
	s->cell_weight = mem_resize(s->cell_weight, s->cells.count, sizeof *s->cell_weight);
	for (size_t c = first; c < first + parts; c++)
		s->cell_weight[c] = 0;
	if (s->counting)
		forget_cells(s, first, parts);
	set_cell_off(s, cell, true);
	for (size_t c = first; c < first + parts; c++)
		set_cell_off(s, c, false);
	if (parts > 0)
		node = make_node(s, price, bound, depth + 1, no_branch);
	undo_to(s, mark);
	return node;
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

static struct node *
branch_on_label(struct search *s, const double *price, wide bound, size_t depth, size_t label)
{
	struct node *node[2];
	size_t mark = s->undos;

	for (int taken = 0; taken < 2; taken++) {
		set(s, (struct change){.kind = CHANGE_LABEL, .index = label, .whole = true});
		set_label(s, label, taken != 0);
		node[taken] = make_node(s, price, bound, depth + 1, no_branch);
		undo_to(s, mark);
	}
	push_node(s, node[0]);
	return node[1];
}

/* ---- leaves: those that take long wait until better plans are known ---- */

struct pending {
	struct node *node; /* owned */
	uint64_t most;     /* work it had the last time */
};

static void
put_off(struct search *s, wide bound, size_t depth)
{
	MEM_ROOM(s->pending, s->pendings, s->pending_room);
	s->pending[s->pendings++] =
	    (struct pending){make_node(s, s->root_price, bound, depth, no_branch), LEAF_WORK};
}

static void
take_up(struct search *s, const struct node *node)
{
	undo_to(s, s->root_mark);
	restrict_to(s, node);
	relax_activate(&s->relax);
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

	return comes_first(x->node, y->node) ? -1 : comes_first(y->node, x->node);
}

/* Takes a leaf up again, with four times the work of the last time. Whether it is done with. */
static bool
try_again(struct search *s, struct pending *pending)
{
	wide bound;
	bool done;

	if (s->have && pending->node->bound >= target(s)) {
		leave(s, pending->node->bound);
		return true;
	}
	if (out_of_time(s))
		return false;
	pending->most *= 4;
	take_up(s, pending->node);
	done = solve_leaf(s, pending->most, &bound);
	undo_to(s, s->root_mark);
	if (!done && bound > pending->node->bound)
		pending->node->bound = bound;
	return done;
}

/* A leaf that was put off is taken up again when no node has a lesser bound, as long as leaves have
 * not taken more than a part of all work. */
static void
revisit_leaf(struct search *s)
{
	uint64_t before = work_done(s);
	size_t least = 0;

	if (s->pendings == 0 || s->leaf_work > before / LEAF_PART)
		return;
	for (size_t i = 1; i < s->pendings; i++)
		if (compare_pending(&s->pending[i], &s->pending[least]) < 0)
			least = i;
	if (s->open_nodes > 0 && s->node[0]->bound < s->pending[least].node->bound)
		return;
	if (try_again(s, &s->pending[least])) {
		free_node(s->pending[least].node);
		s->pending[least] = s->pending[--s->pendings];
	}
	s->leaf_work += work_done(s) - before;
}

/* The leaves that were put off, those with the least bound first, with more work each round. */
static void
finish_leaves(struct search *s)
{
	while (s->pendings > 0 && !out_of_time(s)) {
		size_t kept = 0;

		qsort(s->pending, s->pendings, sizeof *s->pending, compare_pending);
		for (size_t i = 0; i < s->pendings; i++)
			if (try_again(s, &s->pending[i]))
				free_node(s->pending[i].node);
			else
				s->pending[kept++] = s->pending[i];
		s->pendings = kept;
	}
	for (size_t i = 0; i < s->pendings; i++) {
		leave(s, s->pending[i].node->bound);
		free_node(s->pending[i].node);
	}
	s->pendings = 0;
}

/* ---- the tree ---- */

/* A plan that leaves out a seller that the node has open is none of the node's. */
static void
audit_leaf(const struct search *s, wide node_bound, wide before)
{
	if (AUDIT && s->best_cost < before && best_fits(s))
		audit(node_bound <= s->best_cost,
		      "a leaf with a plan cheaper than its node's bound");
}

static void
reach_leaf(struct search *s, wide node_bound, size_t depth)
{
	wide bound, before = s->best_cost;

	if (!solve_leaf(s, LEAF_WORK, &bound))
		put_off(s, bound > node_bound ? bound : node_bound, depth);
	audit_leaf(s, node_bound, before);
}

/* The first label that is neither taken nor left out; SIZE_MAX: none. */
static size_t
open_label(const struct search *s)
{
	for (size_t label = 0; label < s->model.labels; label++)
		if (!s->label_set[label])
			return label;
	return SIZE_MAX;
}

/* Branches, or solves the leaf where there is nothing to branch on. Returns the child to go on
 * with, or NULL. */
static struct node *
branch_node(struct search *s, const double *price, wide bound, size_t depth)
{
	size_t label = open_label(s), cell;
	struct branch branch;

	if (label != SIZE_MAX)
		return branch_on_label(s, price, bound, depth, label);
	branch = choose_branch(s, price, pico_home(bound));
	if (branch.seller != SIZE_MAX)
		return branch_on(s, price, bound, depth, branch);
	if (out_of_time(s)) {
		leave(s, bound);
		return NULL;
	}
	if (!propagate(s)) /* after what trying sides has settled */
		return NULL;
	relax_activate(&s->relax);
	cell = find_inexact(s);
	if (cell != SIZE_MAX)
		return split_cell(s, price, bound, depth, cell);
	reach_leaf(s, bound, depth);
	return NULL;
}

/* Visits the node whose restrictions are set. Returns the child to go on with, or NULL. */
static struct node *
visit(struct search *s, const struct node *node)
{
	double *price = node->price;
	wide here, bound;

	s->nodes++;
	if (out_of_time(s)) {
		leave(s, node->bound);
		return NULL;
	}
	relax_activate(&s->relax);
	if (!propagate(s))
		return NULL;
	relax_activate(&s->relax);
	for (size_t i = 0; i < s->model.lots; i++)
		price[i] = relax_clip(&s->relax, price, i, price[i]);
	raise_bound(s, price, node->depth == 0 ? ASCEND_ROOT : ASCEND_NODE);
	here = relax_bound_exact(&s->relax, price, WIDE_TOP) + s->constant;
	bound = here < WIDE_TOP / 2 ? round_to_grid(s, here) : here;
	if (bound < node->bound)
		bound = node->bound;
	if (bound >= WIDE_TOP / 2)
		return NULL; /* no order is possible for a seller that must be open */
	if (node->depth > 0)
		record_gain(
		    s, &node->branch,
		    pico_home((s->have && bound > target(s) ? target(s) : bound) - node->bound));
	if (AUDIT)
		audit_bound(s, bound);
	if (s->have && bound >= target(s)) {
		leave(s, bound);
		return NULL;
	}
	round_plans(s, node);
	if (node->depth == 0 || s->nodes % manner_of(s)->improve_every == 0)
		improve_plan(s, price, node->depth);
	fix_by_bound(s, here);
	relax_activate(&s->relax);
	if (node->depth == 0) {
		draft_refresh(&s->draft);
		s->root_mark = s->undos;
	}
	return branch_node(s, price, bound, node->depth);
}

/* A better plan restricts the root further: what can only cost more is shut there for good. */
static void
restrict_root(struct search *s)
{
	wide here;

	if (!s->have || s->best_cost >= s->root_for)
		return;
	s->root_for = s->best_cost;
	relax_activate(&s->relax);
	relax_bound_whole(&s->relax, s->root_price);
	here = relax_bound_exact(&s->relax, s->root_price, WIDE_TOP) + s->constant;
	if (here < WIDE_TOP / 2)
		fix_by_bound(s, here);
	s->root_mark = s->undos;
}

static void seek_plans(struct search *s);

/* What is known at this point of the least cost, and how many sellers are left: for the news. */
static void
note_known(struct search *s)
{
	s->known = s->low < s->lower ? s->low : s->lower;
	if (s->open_nodes > 0 && s->node[0]->bound < s->known)
		s->known = s->node[0]->bound; /* where too many are open, another was taken up */
	for (size_t i = 0; i < s->pendings; i++)
		if (s->pending[i].node->bound < s->known)
			s->known = s->pending[i].node->bound;
	relax_activate(&s->relax);
	s->root_actives = s->relax.actives;
}

/* Among few sellers of plain prices the ascent mostly ends the search soon. Where it does not, the
 * program over orders does, whose bounds are the best there are. */
static bool
takes_long(const struct search *s)
{
	return work_done(s) > PATIENCE && s->root_actives <= FEW_SELLERS && all_plain(s);
}

/* Visits the node and all below it, and what else is open. Best bound first, but from each node
 * down while its bound stays near the least; where plans are sought, from some nodes down to the
 * bottom, where plans are. Ends after so many nodes. */
static void
visit_all(struct search *s, struct node *node, size_t nodes_most)
{
	size_t pops = 0;

	while ((node != NULL || s->open_nodes > 0) && s->nodes < nodes_most &&
	       (!s->within || work_done(s) < s->within_most)) {
		struct node *child;

		undo_to(s, s->root_mark);
		if (node == NULL) {
			if (!s->within) {
				restrict_root(s);
				seek_plans(s);
				revisit_leaf(s);
				restrict_root(s);
			}
			if (!s->within && !s->use_master && (!s->slow_master || takes_long(s))) {
				relax_activate(&s->relax);
				s->use_master = master_init(&s->master, &s->relax);
			}
			node = pop_node(s);
			s->low = node->bound;
			if (!s->within)
				note_known(s);
			s->deep = s->within && pops++ % DEEP_EVERY == 0;
		}
		if (s->have && node->bound >= target(s)) {
			leave(s, node->bound);
			child = NULL;
		} else {
			restrict_to(s, node);
			child = visit(s, node);
		}
		if (node->depth == 0)
			memcpy(s->root_price, node->price, s->multipliers * sizeof *s->root_price);
		free_node(node);
		if (child != NULL && !s->deep && !is_near(s, child->bound)) {
			push_node(s, child);
			child = NULL;
		}
		node = child;
	}
	if (node != NULL)
		push_node(s, node);
	undo_to(s, s->root_mark);
}

/* Searches among the sellers that are kept alone, for better plans: what is left out there says
 * nothing of the bound. Whether the program over orders was there for it. */
static bool
search_within(struct search *s, const bool *kept, size_t nodes)
{
	struct search outer = *s;
	size_t mark = s->undos;
	bool own = !s->use_master, with_master;

	for (size_t i = 0; i < s->model.sellers; i++)
		if (!kept[i] && s->relax.status[i] == SELLER_FREE && !always_open(s, i))
			set_status(s, i, SELLER_SHUT);
	s->node = NULL;
	s->open_nodes = s->node_room = 0;
	s->pending = NULL;
	s->pendings = s->pending_room = 0;
	s->root_mark = s->undos;
	s->within = true;
	s->within_most = work_done(s) + work_done(s) / WITHIN_PART;
	if (own) {
		relax_activate(&s->relax);
		s->use_master = master_init(&s->master, &s->relax);
	}
	with_master = s->use_master;
	visit_all(s, make_node(s, s->root_price, -WIDE_TOP, 1, no_branch), s->nodes + nodes);
	while (s->open_nodes > 0)
		free_node(s->node[--s->open_nodes]);
	for (size_t i = 0; i < s->pendings; i++)
		free_node(s->pending[i].node);
	free(s->node);
	free(s->pending);
	s->node = outer.node;
	s->open_nodes = outer.open_nodes;
	s->node_room = outer.node_room;
	s->pending = outer.pending;
	s->pendings = outer.pendings;
	s->pending_room = outer.pending_room;
	s->lower = outer.lower;
	s->root_mark = outer.root_mark;
	s->within = false;
	if (own && s->use_master) {
		master_free(&s->master);
		s->use_master = false;
	}
	undo_to(s, mark);
	relax_activate(&s->relax);
	return with_master;
}

/* The sellers of the best plan, and the others that pay best at the root. */
static void
keep_some(const struct search *s, bool *kept, size_t others)
{
	size_t *candidate = mem_alloc((s->relax.actives + 1) * sizeof *candidate);
	size_t count = rank_sellers(s, s->relax.actives, candidate);

	for (size_t i = 0; i < s->model.sellers; i++)
		kept[i] = plan_buys(&s->best, &s->model, i);
	for (size_t n = 0; n < count && others > 0; n++) {
		if (kept[candidate[n]])
			continue;
		kept[candidate[n]] = true;
		others--;
	}
	free(candidate);
}

/* Better plans are sought near the best one, the longer the search the less often, the wider. */
static void
seek_plans(struct search *s)
{
	bool *kept, with_master = true;
	uint64_t before;
	size_t mark;

	if ((s->nodes < s->next_kicks &&
	     s->best_cost > s->sought_from - s->sought_from / SOUGHT_AGAIN) ||
	    all_plain(s))
		return;
	if (s->nodes >= s->next_kicks)
		s->next_kicks = s->nodes * 3 + 20;
	kept = mem_alloc(s->model.sellers * sizeof *kept);
	relax_activate(&s->relax);
	relax_bound_whole(&s->relax, s->root_price);
	for (int n = 0; with_master && n < WITHIN_ROUNDS && !out_of_time(s); n++) {
		wide was = s->best_cost;

		keep_some(s, kept, WITHIN_OTHERS + (size_t)n);
		with_master = search_within(s, kept, WITHIN_NODES);
		relax_bound_whole(&s->relax, s->root_price);
		if (s->best_cost >= was)
			break;
	}
	free(kept);
	s->sought_from = s->best_cost;
	if (with_master && s->plans_most > 0)
		return;
	before = work_done(s);
	mark = assume_labels(s);
	s->plans_most = with_master ? before + before / 4 : UINT64_MAX;
	draft_kicked(s, KICKS, DRAFT_CANDIDATES);
	s->plans_most = with_master ? before + before / 2 : UINT64_MAX;
	polish(s, DRAFT_CANDIDATES);
	drop_assumptions(s, mark);
}

static void
search_tree(struct search *s, const double *price)
{
	visit_all(s, make_node(s, price, -WIDE_TOP, 0, no_branch), SIZE_MAX);
	finish_leaves(s);
	undo_to(s, 0);
}

/* ---- before and after ---- */

/* The grid of all costs: the common divisor of every amount that can enter one, where nothing is
 * a percentage or converted. */
static void
find_grid(struct search *s)
{
	const struct model *model = &s->model;
	wide grid = 0;

	if (s->counting) {
		s->grid = PIECE_UNMET;
		return;
	}
	for (size_t i = 0; i < model->sellers; i++) {
		const struct terms *terms = model->seller[i].terms;

		if (terms == NULL)
			continue;
		if (terms->tax != 0 || terms->home.top != terms->home.bottom)
			return;
		grid = wide_common_divisor(grid, (wide)llabs(terms->order_cost) * 1000000);
		for (size_t c = 0; c < terms->charges; c++)
			for (size_t k = 0; k < terms->charge[c].steps; k++) {
				const struct charge_step *step = &terms->charge[c].step[k];

				if (step->percent != 0 || step->amount.bottom != 1)
					return;
				grid = wide_common_divisor(grid, step->amount.top * 1000000);
			}
	}
	for (size_t j = 0; j < model->listings; j++)
		for (size_t b = 0; b < model->listing[j].breaks; b++)
			grid = wide_common_divisor(
			    grid, (wide)model->brk[model->listing[j].brk + b].price *
			              model->listing[j].step * 1000000);
	for (size_t r = 0; r < model->rows; r++)
		grid = wide_common_divisor(grid, (wide)model->row[r].penalty * 1000000);
	for (size_t l = 0; l < model->lots; l++)
		if (!model->lot[l].must)
			grid = wide_common_divisor(grid, (wide)model->lot[l].worth * 1000000);
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

/* What leaving out a piece of each lot costs. */
static void
price_leaving_out(struct search *s)
{
	for (size_t i = 0; i < s->model.lots; i++) {
		const struct model_lot *lot = &s->model.lot[i];
		wide pico = s->counting ? PIECE_UNMET : (wide)lot->worth * 1000000;

		if (lot->must && !s->counting) {
			s->relax.price_most[i] = FAR;
			s->relax.price_most_nano[i] =
			    s->relax.leave_most > 0 ? LEAVABLE : INT64_MAX;
			continue;
		}
		if (!lot->must && s->counting)
			pico = 0;
		s->relax.price_most[i] = pico_home(pico);
		s->relax.price_most_nano[i] = (int64_t)(pico / 1000);
	}
}

/* Multipliers to start from: what the dearest piece needed costs where offers are taken from the
 * cheapest up, and a little for the orders' charges. */
static void
first_prices(struct search *s, double *price)
{
	price[s->model.lots + 1] = 0;
	for (size_t k = 0; s->relax.leave_most > 0 && k < s->draft.first[s->model.lots]; k++)
		if (price[s->model.lots + 1] < LEAVE_START * s->draft.offer[k].unit)
			price[s->model.lots + 1] = LEAVE_START * s->draft.offer[k].unit;
	for (size_t i = 0; i < s->model.lots; i++) {
		double left = s->relax.need[i];

		price[i] = 0;
		for (size_t k = s->draft.first[i]; k < s->draft.first[i + 1] && left > 0; k++) {
			const struct draft_offer *offer = &s->draft.offer[k];

			price[i] = offer->unit * 1.02;
			left -= (double)s->relax.cap[offer->listing];
		}
		price[i] = relax_clip(&s->relax, price, i, price[i]);
	}
}

/* What is left of a charge where only what is not shipped counts; false: nothing. step has room. */
static bool
keep_refusals(const struct charge *from, struct charge *to, struct charge_step *step)
{
	size_t steps = 0;
	bool refused = false, any = false;

	for (size_t k = 0; k < from->steps; k++) {
		if (from->step[k].refused == refused)
			continue;
		refused = from->step[k].refused;
		any = any || refused;
		step[steps++] = (struct charge_step){
		    .reached = from->step[k].reached, .refused = refused, .amount = {0, 1}};
	}
	*to = *from;
	to->step = step;
	to->steps = steps;
	return any;
}

/* Is it by landed cost that something is not shipped? Then what the other charges come to says
 * what. */
static bool
refuses_by_landed(const struct terms *terms)
{
	for (size_t c = 0; c < terms->charges; c++)
		for (size_t k = 0; k < terms->charge[c].steps; k++)
			if (terms->charge[c].basis == BASIS_LANDED &&
			    terms->charge[c].step[k].refused)
				return true;
	return false;
}

enum { NEXT_TO_NOTHING = 12 }; /* decimals */

static bool
keep_whole(const struct charge *from, struct charge *to, struct charge_step *step)
{
	memcpy(step, from->step, from->steps * sizeof *step);
	*to = *from;
	to->step = step;
	return true;
}

/* The terms of a seller of whom nothing costs anything: its minimum, and what it does not ship.
 * Freed by free_costless. */
static struct terms *
costless_terms(const struct terms *terms)
{
	struct terms *copy = mem_alloc(sizeof *copy);
	struct charge *charge = mem_alloc((terms->charges + 1) * sizeof *charge);
	bool whole = refuses_by_landed(terms);
	size_t steps = 0, used = 0, kept = 0;
	struct charge_step *step;

	for (size_t c = 0; c < terms->charges; c++)
		steps += terms->charge[c].steps;
	step = mem_alloc((steps + 1) * sizeof *step);
	charge[0].step = step; /* whether or not a charge is kept: the first has the steps' start */
	for (size_t c = 0; c < terms->charges; c++)
		if (whole ? keep_whole(&terms->charge[c], &charge[kept], step + used)
		          : keep_refusals(&terms->charge[c], &charge[kept], step + used))
			used += charge[kept++].steps;
	*copy = *terms;
	if (whole) /* the charges count, but are next to nothing at home */
		copy->home = (struct fraction){1, wide_power10(NEXT_TO_NOTHING)};
	copy->charge = charge;
	copy->charges = kept;
	copy->tax = 0;
	copy->order_cost = 0;
	return copy;
}

static void
free_costless(const struct terms *terms)
{
	if (terms == NULL)
		return;
	free((void *)(uintptr_t)terms->charge[0].step);
	free((void *)(uintptr_t)terms->charge);
	free((void *)(uintptr_t)terms);
}

/* A model in which nothing costs anything: orders, pieces, rows. */
static void
forget_costs(struct search *s)
{
	struct model_row *row = mem_alloc((s->model.rows + 1) * sizeof *row);
	struct model_seller *seller = mem_alloc((s->model.sellers + 1) * sizeof *seller);

	for (size_t r = 0; r < s->model.rows; r++) {
		row[r] = s->model.row[r];
		row[r].penalty = 0;
	}
	for (size_t i = 0; i < s->model.sellers; i++) {
		seller[i] = s->model.seller[i];
		if (seller[i].terms != NULL)
			seller[i].terms = costless_terms(seller[i].terms);
	}
	s->model.row = row;
	s->model.seller = seller;
}

static void
start(struct search *s, const struct model *model, const struct search_options *options,
      bool counting)
{
	*s = (struct search){
	    .full = model, .model = *model, .options = options, .counting = counting};
	s->multipliers = relax_multipliers(model);
	cut_needs(s);
	plan_init(&s->best, model);
	plan_init(&s->trial, model);
	if (counting)
		forget_costs(s);
	cells_init(&s->cells, &s->model);
	if (counting)
		forget_cells(s, 0, s->cells.count);
	relax_init(&s->relax, &s->model, &s->cells);
	for (size_t i = 0; i < s->model.lots; i++)
		if (!s->model.lot[i].must && !counting)
			s->constant -= (wide)s->model.lot[i].worth * s->model.lot[i].need * 1000000;
	draft_init(&s->draft, &s->relax);
	s->draft.stop = leaf_stop_now;
	s->draft.data = s;
	s->open_share = mem_zero(model->sellers, sizeof *s->open_share);
	s->label_set = mem_zero(model->labels, sizeof *s->label_set);
	s->seller_gains = mem_zero(model->sellers, sizeof *s->seller_gains);
	s->cell_gains = mem_zero(model->sellers, sizeof *s->cell_gains);
	s->quantity_gains = mem_zero(model->listings, sizeof *s->quantity_gains);
	s->cell_weight = mem_zero(s->cells.count, sizeof *s->cell_weight);
	s->root_price = mem_zero(s->multipliers, sizeof *s->root_price);
	s->root_for = WIDE_TOP;
	s->tolerance = wide_power10(PICO_DECIMALS - model->home_decimals) * TOLERANCE_PARTS / 10;
	s->lower = WIDE_TOP;
	s->best_cost = WIDE_TOP;
	s->known = -WIDE_TOP;
}

static void
end(struct search *s)
{
	free(s->model.lot);
	plan_free(&s->trial);
	draft_free(&s->draft);
	relax_free(&s->relax);
	cells_free(&s->cells);
	for (size_t i = 0; s->counting && i < s->model.sellers; i++)
		free_costless(s->model.seller[i].terms);
	if (s->counting) {
		free(s->model.row);
		free(s->model.seller);
	}
	free(s->open_share);
	free(s->label_set);
	free(s->seller_gains);
	free(s->cell_gains);
	free(s->quantity_gains);
	free(s->cell_weight);
	if (s->use_master)
		master_free(&s->master);
	free(s->root_price);
	free(s->node);
	free(s->undo);
	free(s->pending);
}

static void
offer_plan(struct search *s, const struct plan *plan)
{
	plan_copy(&s->trial, plan, s->full);
	offer_trial(s);
}

/* Is a row of the label used in the plan? */
static bool
uses_label(const struct search *s, const struct plan *plan, size_t label)
{
	for (size_t e = 0; e < s->model.edges; e++)
		if (plan->used[e] > 0 && s->model.row[s->model.edge[e]].label == label)
			return true;
	return false;
}

/* Takes what a plan to start from buys as it is, then fills in what it lacks and improves it. */
static void
draft_from_start(struct search *s, const struct plan *start)
{
	size_t *candidate = mem_alloc((s->relax.actives + 1) * sizeof *candidate);
	double *used = mem_alloc((s->model.edges + 1) * sizeof *used);
	size_t mark = s->undos;

	offer_plan(s, start);
	for (size_t label = 0; label < s->model.labels; label++)
		if (!s->label_set[label])
			set_label(s, label, uses_label(s, start, label));
	draft_refresh(&s->draft);
	draft_clear(&s->draft);
	for (size_t e = 0; e < s->model.edges; e++)
		used[e] = (double)start->used[e];
	for (size_t i = 0; i < s->relax.actives; i++)
		candidate[i] = s->relax.active[i];
	for (size_t i = 0; i < s->model.sellers; i++) {
		s->draft.open[i] = always_open(s, i) || plan_buys(start, &s->model, i);
		if (s->draft.open[i] && s->relax.status[i] != SELLER_SHUT)
			draft_take(&s->draft, i, start->bought, used);
	}
	settle(s, candidate, s->relax.actives, DRAFT_ROUNDS, false);
	offer_draft(s);
	undo_to(s, mark);
	draft_refresh(&s->draft);
	free(candidate);
	free(used);
}

/* First plans: those to start from, and by hand. */
static void
first_plans(struct search *s)
{
	size_t mark;

	price_leaving_out(s);
	draft_refresh(&s->draft);
	for (size_t i = 0; i < s->options->starts; i++)
		draft_from_start(s, &s->options->start[i]);
	mark = assume_labels(s);
	draft_single(s);
	draft_greedy(s);
	drop_assumptions(s, mark);
}

/* Searches from the first multipliers. Returns the bound, pico home. */
static wide
run(struct search *s)
{
	double *price = mem_zero(s->multipliers, sizeof *price);
	wide bound, floor;

	find_grid(s);
	floor =
	    relax_bound_exact(&s->relax, price, WIDE_TOP) + s->constant; /* at no price at all */
	first_prices(s, price);
	for (size_t i = 0; i < s->multipliers && s->options->price != NULL && !s->counting; i++)
		if (s->options->price[i] >= 0)
			price[i] = s->options->price[i];
	search_tree(s, price);
	if (s->options->price_found != NULL && !s->counting)
		memcpy(s->options->price_found, s->root_price,
		       s->multipliers * sizeof *s->root_price);
	free(price);
	bound = s->lower < s->best_cost ? s->lower : s->best_cost;
	if (s->excluded && round_to_grid(s, target(s)) < bound)
		bound = round_to_grid(s, target(s));
	return bound > floor ? bound : floor;
}

/* How many pieces must stay unmet, where no plan is known that meets all there is: a search in
 * which nothing else costs. Its plan is one for s, which may leave as many from now on. */
static void
count_unmet(struct search *s)
{
	struct search counted;
	struct plan empty;

	start(&counted, s->full, s->options, true);
	counted.work = work_done(s);
	plan_init(&empty, s->full);
	offer_plan(&counted, &empty);
	plan_free(&empty);
	first_plans(&counted);
	if (run(&counted) < counted.best_cost)
		leave(s, -WIDE_TOP); /* fewer may do: no bound is known of what that costs */
	else
		s->unmet_least = counted.best.unmet;
	s->stopped = counted.stopped;
	s->asked = counted.asked;
	s->work += work_done(&counted) - work_done(s);
	s->nodes += counted.nodes;
	if (s->relax.leave_most < counted.best.unmet - counted.never_met)
		s->relax.leave_most = counted.best.unmet - counted.never_met;
	offer_plan(s, &counted.best);
	plan_free(&counted.best);
	end(&counted);
	first_plans(s);
}

size_t
search_multipliers(const struct model *model)
{
	return relax_multipliers(model);
}

bool
search_proves(const struct model *model, wide cost, wide bound)
{
	return (cost - bound) * 2 < wide_power10(NANO_DECIMALS - model->home_decimals);
}

void
search_plan(const struct model *model, const struct search_options *options,
            struct search_result *result)
{
	struct search s;
	wide bound;

	start(&s, model, options, false);
	s.unmet_least = s.never_met;
	if (options->leave > s.never_met)
		s.relax.leave_most = options->leave - s.never_met;
	first_plans(&s);
	if (!s.have)
		count_unmet(&s);
	bound = run(&s);
	*result = (struct search_result){.plan = s.best,
	                                 .bound = wide_div_floor(bound, 1000),
	                                 .unmet_least = s.unmet_least,
	                                 .stopped = s.stopped,
	                                 .asked_to_stop = s.asked,
	                                 .work = work_done(&s),
	                                 .nodes = s.nodes};
	/* Where plans may leave more on purpose, how few can stay unmet is not asked. */
	result->proved = (options->leave > 0 || result->plan.unmet <= result->unmet_least) &&
	                 search_proves(model, result->plan.cost, result->bound);
	end(&s);
}
