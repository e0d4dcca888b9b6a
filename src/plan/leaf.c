#include "plan/leaf.h"

#include "base/mem.h"
#include "plan/simplex.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#ifdef TRACE
#include <stdio.h>
#endif

#define UNLIMITED 1e30
#define WIDE_TOP  ((wide)1 << 118)
#define WHOLE     1e-6 /* how near a whole number counts as one */

enum { DEPTH_MOST = 400, STOP_EVERY = 32 /* nodes */ };

static const int64_t basis_units[BASES] = {1000000, 1000000, 1, 1};

enum kind { COLUMN_BUY, COLUMN_SWITCH, COLUMN_USE, COLUMN_LEAVE, COLUMN_LOT };

/* A column of the program, in whole numbers: what lp has in doubles. */
struct column {
	enum kind kind;
	size_t of;  /* listing, edge, lot, or first listing of a kind */
	size_t brk; /* of COLUMN_BUY: which break */
	wide cost;  /* pico home a piece, rounded down */
	int64_t least, most;
	size_t pair;        /* for COLUMN_BUY: the first column of its listing */
	int64_t step, from; /* multiples of step, none or at least from */
	bool direct;        /* of COLUMN_BUY: what is bought simply counts toward the lot */
};

struct entry {
	size_t row;
	int64_t value; /* in units of the row: prices micro for a money row, ... */
};

struct row {
	int64_t least, most; /* INT64_MIN, INT64_MAX: none */
	int64_t unit;        /* entries and bounds are divided by it in lp */
};

struct leaf {
	struct relax *relax;
	const struct model *model;
	struct lp lp;
	struct column *column;
	size_t columns, column_room;
	struct row *row;
	size_t rows, row_room;
	struct entry *entry;
	size_t entries, entry_room;
	size_t *start; /* of each column's entries; columns + 1 */
	size_t start_room;
	size_t *lot_row; /* by lot */
	wide fixed;      /* pico home: cells' fixed costs and the constant */
	wide limit;
	struct plan *plan;
	leaf_offer offer;
	leaf_stop stop;
	void *data;
	wide bound; /* the least bound of what was left */
	bool found, stopped;
	uint64_t *work, work_most;
	size_t nodes;
};

/* ---- building ---- */

static size_t
add_row(struct leaf *leaf, int64_t least, int64_t most, int64_t unit)
{
	MEM_ROOM(leaf->row, leaf->rows, leaf->row_room);
	leaf->row[leaf->rows] = (struct row){least, most, unit};
	return leaf->rows++;
}

static void
add_column(struct leaf *leaf, struct column column)
{
	MEM_ROOM(leaf->column, leaf->columns, leaf->column_room);
	leaf->column[leaf->columns] = column;
	MEM_ROOM(leaf->start, leaf->columns, leaf->start_room);
	leaf->start[leaf->columns++] = leaf->entries;
}

static void
add_entry(struct leaf *leaf, size_t row, int64_t value)
{
	if (value == 0)
		return;
	MEM_ROOM(leaf->entry, leaf->entries, leaf->entry_room);
	leaf->entry[leaf->entries++] = (struct entry){row, value};
}

/* Rows of a cell's bounds; numbers of them into bound_row. */
static void
add_bound_rows(struct leaf *leaf, const struct cell *cell, size_t *bound_row)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];

		bound_row[i] = add_row(leaf, bound->least > 0 ? bound->least : INT64_MIN,
		                       bound->most, basis_units[bound->basis]);
	}
}

static bool
counts_lots(const struct cell *cell)
{
	for (size_t i = 0; i < cell->bounds; i++)
		if (cell->bound[i].basis == BASIS_LOTS)
			return true;
	return false;
}

/* Which row of the program stands for each kind of a seller whose steps go by lots. */
struct kind_rows {
	size_t *of;   /* by kind: it is no more than the sum of its listings' switches; owned */
	size_t *most; /* by listing of the seller: its switches are no more than its kind; owned */
};

/* Does a piece bought for the one row it fits simply count toward the lot? */
static bool
direct_use(const struct leaf *leaf, const struct model_listing *l, size_t *lot)
{
	const struct model_row *row;

	if (l->edges != 1)
		return false;
	row = &leaf->model->row[leaf->model->edge[l->edge]];
	*lot = row->lot;
	return row->penalty == 0 && !leaf->relax->row_off[leaf->model->edge[l->edge]];
}

static int64_t
first_quantity(const struct model_listing *l, const struct model_break *brk)
{
	return brk->least > 1 ? (brk->least + l->step - 1) / l->step * l->step : l->step;
}

/* Is the listing bought or not a question of its own: because of a least quantity or a step that
 * can be more than what is used, several prices, or because lots are counted? */
static bool
needs_switch(const struct leaf *leaf, const struct model_listing *l, bool counted)
{
	if (counted || l->breaks > 1 || l->step > 1)
		return true;
	return first_quantity(l, &leaf->model->brk[l->brk]) > 1;
}

/* What a purchase of the listing adds to the cell's bounds. */
static void
add_bound_entries(struct leaf *leaf, const struct cell *cell, const struct model_listing *l,
                  int64_t price, const size_t *bound_row)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];

		if (bound->sum != 0 && bound->sum != l->sum)
			continue;
		if (bound->basis == BASIS_VALUE)
			add_entry(leaf, bound_row[i], price);
		else if (bound->basis == BASIS_WEIGHT)
			add_entry(leaf, bound_row[i], l->grams);
		else if (bound->basis == BASIS_PIECES)
			add_entry(leaf, bound_row[i], 1);
	}
}

/* The rows of one listing: what is used is bought; nothing is used of what is not bought at all;
 * and for steps the hull of what a whole number of them can give one lot. */
struct listing_rows {
	size_t balance, one, kind_most;
	size_t *reach;                /* by edge: uses <= need x switch; owned */
	size_t hull;                  /* NONE: no such row */
	int64_t hull_full, hull_rest; /* whole steps that a lot takes in full, and the rest */
};

#define NONE SIZE_MAX

static void
start_rows(struct leaf *leaf, const struct model_listing *l, bool direct, bool switched,
           int64_t most, struct listing_rows *rows)
{
	const struct model *model = leaf->model;

	*rows = (struct listing_rows){NONE, NONE, NONE, NULL, NONE, 0, 0};
	rows->reach = mem_alloc(l->edges * sizeof *rows->reach);
	for (size_t e = 0; e < l->edges; e++)
		rows->reach[e] = NONE;
	if (!direct || switched)
		rows->balance = add_row(leaf, 0, INT64_MAX, 1);
	if (!switched)
		return;
	if (l->breaks > 1)
		rows->one = add_row(leaf, INT64_MIN, 1, 1);
	for (size_t e = 0; e < l->edges; e++)
		if (!leaf->relax->row_off[model->edge[l->edge + e]])
			rows->reach[e] = add_row(leaf, 0, INT64_MAX, 1);
	if (l->step > 1 && l->edges == 1) {
		int64_t need = model->lot[model->row[model->edge[l->edge]].lot].need;

		if (need >= most)
			return;
		rows->hull_full = need / l->step * l->step;
		rows->hull_rest = need - rows->hull_full;
		rows->hull = add_row(leaf, 0, INT64_MAX, 1);
	}
}

static void
add_uses(struct leaf *leaf, const struct model_listing *l, const struct listing_rows *rows)
{
	const struct model *model = leaf->model;

	for (size_t e = 0; e < l->edges; e++) {
		size_t r = model->edge[l->edge + e], lot = model->row[r].lot;

		if (leaf->relax->row_off[r])
			continue;
		add_column(leaf, (struct column){.kind = COLUMN_USE,
		                                 .of = l->edge + e,
		                                 .cost = (wide)model->row[r].penalty * 1000000,
		                                 .most = model->lot[lot].need,
		                                 .step = 1});
		add_entry(leaf, rows->balance, -1);
		add_entry(leaf, leaf->lot_row[lot], 1);
		if (rows->reach[e] != NONE)
			add_entry(leaf, rows->reach[e], -1);
		if (rows->hull != NONE)
			add_entry(leaf, rows->hull, -l->step);
	}
}

/* The 0-1 column of a break, after its purchase. */
static void
add_switch(struct leaf *leaf, const struct model_listing *l, size_t j, size_t brk, int64_t from,
           int64_t most, size_t from_row, size_t most_row, const struct listing_rows *rows,
           const struct kind_rows *kinds)
{
	const struct model *model = leaf->model;

	add_column(leaf, (struct column){
	                     .kind = COLUMN_SWITCH, .of = j, .brk = brk, .most = 1, .step = 1});
	add_entry(leaf, from_row, -from);
	add_entry(leaf, most_row, most);
	if (rows->one != NONE)
		add_entry(leaf, rows->one, 1);
	for (size_t e = 0; e < l->edges; e++) {
		int64_t need = model->lot[model->row[model->edge[l->edge + e]].lot].need;

		if (rows->reach[e] != NONE)
			add_entry(leaf, rows->reach[e], need < most ? need : most);
	}
	if (rows->hull != NONE)
		add_entry(leaf, rows->hull, rows->hull_full * (l->step - rows->hull_rest));
	if (kinds != NULL) {
		add_entry(leaf, rows->kind_most, -1);
		add_entry(leaf, kinds->of[l->kind], 1);
	}
}

/* Columns of one listing: a purchase by break, its switch, and uses where purchases do not simply
 * count. */
static void
add_listing(struct leaf *leaf, const struct cell *cell, size_t j, const size_t *bound_row,
            const struct kind_rows *kinds)
{
	const struct model *model = leaf->model;
	const struct model_listing *l = &model->listing[j];
	int64_t most = leaf->relax->most[j] / l->step * l->step;
	size_t lot = 0;
	bool direct = direct_use(leaf, l, &lot);
	bool switched = needs_switch(leaf, l, kinds != NULL);
	struct listing_rows rows;

	if (most <= 0 || l->edges == 0)
		return;
	start_rows(leaf, l, direct, switched, most, &rows);
	if (kinds != NULL)
		rows.kind_most = kinds->most[j - model->seller[l->seller].listing];
	for (size_t b = 0; b < l->breaks; b++) {
		const struct model_break *brk = &model->brk[l->brk + b];
		int64_t from = first_quantity(l, brk);
		size_t from_row = NONE, most_row = NONE;

		if (from > most)
			continue;
		if (switched) {
			from_row = add_row(leaf, 0, INT64_MAX, 1);
			most_row = add_row(leaf, 0, INT64_MAX, 1);
		}
		add_column(leaf, (struct column){.kind = COLUMN_BUY,
		                                 .of = j,
		                                 .brk = b,
		                                 .cost = wide_div_floor(
		                                     brk->price * cell->factor[l->sum], 1000000),
		                                 .most = most,
		                                 .step = l->step,
		                                 .from = from,
		                                 .direct = rows.balance == NONE});
		add_entry(leaf, rows.balance != NONE ? rows.balance : leaf->lot_row[lot], 1);
		add_bound_entries(leaf, cell, l, brk->price, bound_row);
		if (!switched)
			continue;
		add_entry(leaf, from_row, 1);
		add_entry(leaf, most_row, -1);
		if (rows.hull != NONE)
			add_entry(leaf, rows.hull, rows.hull_rest);
		add_switch(leaf, l, j, b, from, most, from_row, most_row, &rows, kinds);
	}
	if (rows.balance != NONE)
		add_uses(leaf, l, &rows);
	free(rows.reach);
}

/* Where steps go by lots: a 0-1 column per kind that is bought. Its rows: a listing's switch is
 * no more than it, and it is no more than their sum. */
static void
add_kinds(struct leaf *leaf, const struct cell *cell, const size_t *bound_row,
          struct kind_rows *kinds)
{
	const struct model_seller *seller = &leaf->model->seller[cell->seller];
	size_t *sum = mem_zero(seller->kinds, sizeof *sum);
	bool *sold = mem_zero(seller->kinds, sizeof *sold);

	kinds->of = mem_zero(seller->kinds, sizeof *kinds->of);
	kinds->most = mem_zero(seller->listings, sizeof *kinds->most);
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &leaf->model->listing[j];

		if (!cell->out[l->sum] && leaf->relax->most[j] > 0) {
			sum[l->kind] = l->sum;
			sold[l->kind] = true;
		}
	}
	for (size_t k = 0; k < seller->kinds; k++) {
		if (!sold[k])
			continue;
		kinds->of[k] = add_row(leaf, 0, INT64_MAX, 1);
		add_column(leaf,
		           (struct column){.kind = COLUMN_LOT, .of = k, .most = 1, .step = 1});
		add_entry(leaf, kinds->of[k], -1);
		for (size_t i = 0; i < seller->listings; i++) {
			if (leaf->model->listing[seller->listing + i].kind != k)
				continue;
			kinds->most[i] = add_row(leaf, 0, INT64_MAX, 1);
			add_entry(leaf, kinds->most[i], 1);
		}
		for (size_t i = 0; i < cell->bounds; i++)
			if (cell->bound[i].basis == BASIS_LOTS &&
			    (cell->bound[i].sum == 0 || cell->bound[i].sum == sum[k]))
				add_entry(leaf, bound_row[i], 1);
	}
	free(sum);
	free(sold);
}

static void
add_seller(struct leaf *leaf, size_t s, const struct cell *cell)
{
	const struct model_seller *seller = &leaf->model->seller[s];
	size_t *bound_row = mem_zero(cell->bounds, sizeof *bound_row);
	struct kind_rows kinds = {NULL, NULL}, *counted = NULL;

	leaf->fixed += cell->fixed;
	add_bound_rows(leaf, cell, bound_row);
	if (counts_lots(cell)) {
		add_kinds(leaf, cell, bound_row, &kinds);
		counted = &kinds;
	}
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
		if (!cell->out[leaf->model->listing[j].sum])
			add_listing(leaf, cell, j, bound_row, counted);
	free(bound_row);
	free(kinds.of);
	free(kinds.most);
}

static const struct cell *
only_cell(const struct relax *relax, size_t s)
{
	const struct cells *cells = relax->cells;

	for (size_t c = cells->first[s]; c < cells->first[s + 1]; c++)
		if (!relax->cell_off[c])
			return &cells->cell[c];
	for (size_t c = cells->first[cells->sellers]; c < cells->count; c++)
		if (!relax->cell_off[c] && cells->cell[c].seller == s)
			return &cells->cell[c];
	return NULL;
}

static void
fill_lp(struct leaf *leaf)
{
	struct lp *lp = &leaf->lp;

	lp_init(lp, leaf->rows, leaf->columns, leaf->entries);
	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		size_t end = c + 1 < leaf->columns ? leaf->start[c + 1] : leaf->entries;

		lp->cost[c] = (double)column->cost * 1e-12;
		lp->least[c] = (double)column->least;
		lp->most[c] = (double)column->most;
		lp->start[c] = leaf->start[c];
		lp->start[c + 1] = end;
		for (size_t k = leaf->start[c]; k < end; k++) {
			lp->row[k] = (uint32_t)leaf->entry[k].row;
			lp->entry[k] = (double)leaf->entry[k].value /
			               (double)leaf->row[leaf->entry[k].row].unit;
		}
	}
	for (size_t r = 0; r < leaf->rows; r++) {
		const struct row *row = &leaf->row[r];
		double unit = (double)row->unit;

		lp->least[leaf->columns + r] =
		    row->least == INT64_MIN ? -UNLIMITED : (double)row->least / unit;
		lp->most[leaf->columns + r] =
		    row->most == INT64_MAX ? UNLIMITED : (double)row->most / unit;
	}
}

static void
build(struct leaf *leaf)
{
	const struct model *model = leaf->model;
	struct relax *relax = leaf->relax;

	leaf->lot_row = mem_zero(model->lots, sizeof *leaf->lot_row);
	for (size_t i = 0; i < model->lots; i++) {
		leaf->lot_row[i] = add_row(leaf, model->lot[i].need, INT64_MAX, 1);
		if (relax->price_most_nano[i] == INT64_MAX)
			continue;
		add_column(leaf, (struct column){.kind = COLUMN_LEAVE,
		                                 .of = i,
		                                 .cost = (wide)relax->price_most_nano[i] * 1000,
		                                 .most = model->lot[i].need,
		                                 .step = 1});
		add_entry(leaf, leaf->lot_row[i], 1);
	}
	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];
		const struct cell *cell = only_cell(relax, s);

		if (cell != NULL)
			add_seller(leaf, s, cell);
	}
	fill_lp(leaf);
}

/* ---- the safe bound ---- */

/* The Lagrangian bound of the program at multipliers cut to whole pico, in integers: for any
 * multipliers y (>= 0 where a row has no most, <= 0 where no least),
 *     sum of y x (least or most of its row) + sum over columns of the least of reduced x quantity
 * is below every plan's cost (weak duality). */
static wide
safe_bound(const struct leaf *leaf, const double *price, double scale, const double *ray)
{
	wide *y = mem_alloc(leaf->rows * sizeof *y);
	wide bound = leaf->fixed;

	for (size_t r = 0; r < leaf->rows; r++) {
		const struct row *row = &leaf->row[r];
		double value = price[r] + (ray != NULL ? scale * ray[r] : 0);

		if (value > 1e7)
			value = 1e7;
		if (value < -1e7)
			value = -1e7;
		/* pico per unit of the row, then per integer unit of its entries x 10^6 */
		y[r] = (wide)(value * 1e12) * (1000000 / row->unit);
		if (y[r] > 0 && row->least == INT64_MIN)
			y[r] = 0;
		if (y[r] < 0 && row->most == INT64_MAX)
			y[r] = 0;
		bound += wide_div_floor(y[r] * (y[r] > 0   ? row->least
		                                : y[r] < 0 ? row->most
		                                           : 0),
		                        1000000);
	}
	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		size_t end = c + 1 < leaf->columns ? leaf->start[c + 1] : leaf->entries;
		wide reduced = column->cost * 1000000;

		for (size_t k = leaf->start[c]; k < end; k++)
			reduced -= y[leaf->entry[k].row] * leaf->entry[k].value;
		bound +=
		    wide_div_floor(reduced * (reduced > 0 ? column->least : column->most), 1000000);
	}
	free(y);
	return bound;
}

/* ---- plans ---- */

/* Turns whole quantities of the program into a plan and offers it. */
static void
offer_whole(struct leaf *leaf, const int64_t *x)
{
	const struct model *model = leaf->model;
	struct plan *plan = leaf->plan;
	int64_t *filled = mem_zero(model->lots, sizeof *filled);
	wide limit;

	memset(plan->bought, 0, model->listings * sizeof *plan->bought);
	memset(plan->used, 0, model->edges * sizeof *plan->used);
	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];

		if (column->kind == COLUMN_BUY && x[c] > 0) {
			plan->bought[column->of] = x[c];
			plan->chosen[column->of] = column->brk;
		} else if (column->kind == COLUMN_USE) {
			const struct model_row *row = &model->row[model->edge[column->of]];
			int64_t part = x[c], room = model->lot[row->lot].need - filled[row->lot];

			part = part < room ? part : room;
			plan->used[column->of] = part;
			filled[row->lot] += part;
		}
	}
	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		const struct model_listing *l;
		size_t lot;
		int64_t part, room;

		if (column->kind != COLUMN_BUY || x[c] == 0 || !column->direct)
			continue;
		l = &model->listing[column->of];
		lot = model->row[model->edge[l->edge]].lot;
		room = model->lot[lot].need - filled[lot];
		part = x[c] < room ? x[c] : room;
		plan->used[l->edge] = part;
		filled[lot] += part;
	}
	free(filled);
	limit = leaf->offer(leaf->data, plan);
	if (limit < leaf->limit) {
		leaf->limit = limit;
		leaf->found = true;
	}
}

/* Rounds the program's quantities up to what is sold, one break a listing, and gives uses what
 * there is; whether that is a plan, plan_cost will tell. */
static void
offer_rounded(struct leaf *leaf)
{
	int64_t *x = mem_zero(leaf->columns, sizeof *x);
	int64_t *spare = mem_zero(leaf->model->listings, sizeof *spare);

	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		double value = leaf->lp.x[c];
		double sum = 0;
		size_t best = c;

		if (column->kind != COLUMN_BUY ||
		    (c > 0 && leaf->column[c - 1].kind != COLUMN_USE &&
		     leaf->column[c - 1].of == column->of &&
		     leaf->column[c - 1].kind == COLUMN_SWITCH))
			continue;
		for (size_t k = c; k < leaf->columns &&
		                   (leaf->column[k].kind == COLUMN_BUY ||
		                    leaf->column[k].kind == COLUMN_SWITCH) &&
		                   leaf->column[k].of == column->of;
		     k++) {
			if (leaf->column[k].kind != COLUMN_BUY)
				continue;
			sum += leaf->lp.x[k];
			if (leaf->lp.x[k] > leaf->lp.x[best])
				best = k;
		}
		value = sum;
		if (value > WHOLE) {
			const struct column *chosen = &leaf->column[best];
			int64_t whole = (int64_t)(value + 1 - WHOLE);

			if (whole < chosen->from)
				whole = chosen->from;
			whole = (whole + chosen->step - 1) / chosen->step * chosen->step;
			x[best] = whole < chosen->most ? whole : chosen->most;
			spare[column->of] = x[best];
		}
	}
	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];

		if (column->kind == COLUMN_USE) {
			size_t j = SIZE_MAX;

			/* The listing of this use: that of the nearest purchase before it. */
			for (size_t k = c; k-- > 0;)
				if (leaf->column[k].kind == COLUMN_BUY) {
					j = leaf->column[k].of;
					break;
				}
			x[c] = (int64_t)(leaf->lp.x[c] + 0.5);
			if (j == SIZE_MAX || x[c] > spare[j])
				x[c] = j == SIZE_MAX ? 0 : spare[j];
			if (j != SIZE_MAX)
				spare[j] -= x[c];
		}
	}
	offer_whole(leaf, x);
	free(spare);
	free(x);
}

/* ---- branching ---- */

struct choice {
	size_t column; /* NONE: all that must be whole is */
	double score;
};

/* The column that is furthest from whole: switches before quantities. */
static struct choice
choose(const struct leaf *leaf)
{
	struct choice best = {.column = NONE};

	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		double n = leaf->lp.x[c] / (double)column->step, off, score;

		if (column->kind == COLUMN_LEAVE || column->kind == COLUMN_USE)
			continue;
		off = fabs(n - (double)(int64_t)(n + 0.5));
		if (off <= WHOLE)
			continue;
		score = off + (column->kind == COLUMN_BUY ? 0 : 1);
		if (score > best.score)
			best = (struct choice){c, score};
	}
	return best;
}

static void
set_bounds(struct leaf *leaf, size_t c, int64_t least, int64_t most)
{
	leaf->column[c].least = least;
	leaf->column[c].most = most;
	leaf->lp.least[c] = (double)least;
	leaf->lp.most[c] = (double)most;
}

static void solve_node(struct leaf *leaf, int depth);

/* Both sides of a column's bounds; restores them. */
static void
try_bounds(struct leaf *leaf, size_t c, int64_t least, int64_t most, int depth)
{
	struct column was = leaf->column[c];

	if (least > most || leaf->stopped)
		return;
	set_bounds(leaf, c, least, most);
	solve_node(leaf, depth + 1);
	set_bounds(leaf, c, was.least, was.most);
}

static void
branch(struct leaf *leaf, const struct choice *choice, int depth)
{
	size_t c = choice->column;
	struct column column = leaf->column[c];
	double x = leaf->lp.x[c];
	int64_t low = (int64_t)(x / (double)column.step) * column.step;
	bool up = x - (double)low > (double)column.step / 2;

	for (int side = 0; side < 2; side++, up = !up)
		if (up)
			try_bounds(leaf, c, low + column.step, column.most, depth);
		else
			try_bounds(leaf, c, column.least, low, depth);
}

static void
leave(struct leaf *leaf, wide bound)
{
	if (bound < leaf->bound)
		leaf->bound = bound;
}

static void
solve_node(struct leaf *leaf, int depth)
{
	double enough = (double)(leaf->limit - leaf->fixed) * 1e-12 + 1e-6;
	enum lp_end end;
	wide bound;
	struct choice choice;
	int64_t *x;

	leaf->nodes++;
	for (size_t c = 0; c < leaf->columns; c++)
		if (leaf->column[c].least > leaf->column[c].most)
			return; /* nothing is left on this side */
	end = lp_solve(&leaf->lp, enough);
	*leaf->work += leaf->lp.work;
	leaf->lp.work = 0;
	bound = safe_bound(leaf, leaf->lp.price, 0, NULL);
	if (end == LP_NONE) {
		/* Along the ray the bound grows without end: go as far as is needed. */
		for (double scale = 1; scale < 1e7 && bound < leaf->limit; scale *= 10) {
			wide further = safe_bound(leaf, leaf->lp.price, scale, leaf->lp.ray);

			if (further > bound)
				bound = further;
		}
	}
#ifdef TRACE
	if (end == LP_NONE && bound < leaf->limit)
		fprintf(stderr, "TRACE none uncertified bound %.5f limit %.5f\n",
		        (double)bound * 1e-12, (double)leaf->limit * 1e-12);
#endif
	if (bound >= leaf->limit || end == LP_NONE) {
		leave(leaf, bound);
		return;
	}
	if (*leaf->work > leaf->work_most || depth > DEPTH_MOST ||
	    (leaf->nodes % STOP_EVERY == 0 && leaf->stop(leaf->data))) {
		leaf->stopped = true;
		leave(leaf, bound);
		return;
	}
#ifdef TRACE
	if (end == LP_TROUBLE || end == LP_ENOUGH)
		fprintf(stderr, "TRACE trouble %d bound %.5f limit %.5f\n", end,
		        (double)bound * 1e-12, (double)leaf->limit * 1e-12);
#endif
	if (end == LP_TROUBLE) {
		leave(leaf, bound);
		return;
	}
	choice = choose(leaf);
#ifdef TRACE
	if (leaf->nodes < 4 || leaf->nodes % 200 == 0)
		fprintf(stderr,
		        "TRACE   lnode %zu depth %d end %d bound %.5f limit %.5f rows %zu cols %zu "
		        "work %llu pivots %zu\n",
		        leaf->nodes, depth, end, (double)bound * 1e-12, (double)leaf->limit * 1e-12,
		        leaf->rows, leaf->columns, (unsigned long long)*leaf->work,
		        leaf->lp.pivots);
#endif
	if (choice.column != NONE) {
		if (leaf->nodes < 8 || leaf->nodes % 8 == 0)
			offer_rounded(leaf);
		if (bound >= leaf->limit) {
			leave(leaf, bound);
			return;
		}
		branch(leaf, &choice, depth);
		if (leaf->stopped)
			leave(leaf, bound);
		return;
	}
	x = mem_zero(leaf->columns, sizeof *x);
	for (size_t c = 0; c < leaf->columns; c++)
		x[c] = (int64_t)(leaf->lp.x[c] + 0.5);
	offer_whole(leaf, x);
	free(x);
	leave(leaf, bound);
}

struct leaf_result
leaf_solve(struct relax *relax, wide constant, wide limit, struct plan *plan, leaf_offer offer,
           leaf_stop stop, void *data, uint64_t *work, uint64_t work_most)
{
	struct leaf leaf = {.relax = relax,
	                    .model = relax->model,
	                    .fixed = constant,
	                    .limit = limit,
	                    .plan = plan,
	                    .offer = offer,
	                    .stop = stop,
	                    .data = data,
	                    .bound = WIDE_TOP,
	                    .work = work,
	                    .work_most = work_most};
	struct leaf_result result;

	build(&leaf);
	solve_node(&leaf, 0);
#ifdef TRACE
	fprintf(stderr, "TRACE   leaf nodes %zu\n", leaf.nodes);
#endif
	result = (struct leaf_result){.bound = leaf.bound, .found = leaf.found};
	lp_free(&leaf.lp);
	free(leaf.column);
	free(leaf.row);
	free(leaf.entry);
	free(leaf.start);
	free(leaf.lot_row);
	return result;
}
