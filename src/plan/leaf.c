#include "plan/leaf.h"

#include "base/mem.h"
#include "plan/simplex.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define UNLIMITED 1e30
#define NONE      SIZE_MAX /* no row, no column: entries of it are nothing */
#define WIDE_TOP  ((wide)1 << 118)
#define WHOLE     1e-6  /* how near a whole number counts as one */
#define EXACT     1e-12 /* steps: no more off is rounding */
#define FREE      1e-7  /* home currency: what costs no more costs nothing */
#define Y_MOST    1e7   /* home currency per unit of a row */
#define Y_FAR     1e9   /* the same where sums in whole numbers have room for it */
#define FITS      1e37  /* of 128 bits */

/* How far along a ray: it may say as little as that a hair of a piece is lacking. */
#define SCALE_MOST 1e13

enum {
	DEPTH_MOST = 400,
	STOP_EVERY = 32 /* nodes */,
	PROBES = 6,
	DIVE_MOST = 300,
	DIVE_EVERY = 50,
	PARTINGS_MOST = 2000 /* of what has no solution, in a leaf */
};

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
	bool holds;         /* of COLUMN_SWITCH: nothing is bought while it is 0 */
};

struct entry {
	size_t row;
	int64_t value; /* in units of the row: prices micro for a money row, ... */
};

struct row {
	int64_t least, most; /* INT64_MIN, INT64_MAX: none */
	int64_t unit;        /* entries and bounds are divided by it in lp */
};

struct apart {
	wide cost; /* pico home a piece */
	size_t column;
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
	size_t *use_row; /* room for the rows of a listing's uses; owned */
	size_t use_row_room;
	/* Where lots are apart (lots_are_apart): the columns, lot by lot, the cheapest first, and
	 * the first one of each lot; else NULL. Then lp is not solved. Owned. */
	struct apart *apart;
	size_t *apart_first;
	wide fixed; /* pico home: cells' fixed costs and the constant */
	wide room;  /* pico home: what purchases may cost, below the limit; WIDE_TOP: unknown */
	wide limit;
	struct plan *plan;
	leaf_offer offer;
	leaf_stop stop;
	void *data;
	wide *reduced;      /* by column, pico x 10^6 a piece: what safe_bound came by; owned */
	wide reduced_bound; /* the bound that they belong to */
	/* What branching on a column has brought so far, a unit of the fraction cut off:
	 * pseudo-costs (Benichou et al., Math. Programming 1 (1971) 76-94). Two by column: down,
	 * up; owned. */
	double *gain;
	uint32_t *gains;
	wide bound; /* the least bound of what was left */
	bool found, stopped, excluded;
	bool *banned; /* by break: no better plan buys at it; owned */
	uint64_t *work, work_most;
	size_t nodes, partings;
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
	if (value == 0 || row == NONE)
		return;
	MEM_ROOM(leaf->entry, leaf->entries, leaf->entry_room);
	leaf->entry[leaf->entries++] = (struct entry){row, value};
}

/* Rows of weighted goods are in 10^-9, too, and thousandths to the linear program: what is just
 * past a limit is, there, past its tolerance. */
static int64_t
bound_row_unit(const struct cell_bound *bound)
{
	return bound->weight != NULL ? MICRO : (int64_t)bound_units(bound);
}

/* What a piece counts in a bound of weighted goods, 10^-9, rounded to where it keeps the bound. */
static int64_t
weighted_price(const struct cell_bound *bound, int64_t price, int64_t weight)
{
	wide whole = (wide)price * weight;

	return (int64_t)(bound->least > 0 ? wide_div_ceil(whole, MICRO)
	                                  : wide_div_floor(whole, MICRO));
}

/* Rows of a cell's bounds; numbers of them into bound_row. */
static void
add_bound_rows(struct leaf *leaf, const struct cell *cell, size_t *bound_row)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];

		bound_row[i] = add_row(leaf, bound->least > 0 ? bound->least : INT64_MIN,
		                       bound->most, bound_row_unit(bound));
	}
}

/* How a seller's steps by lots bear on what is bought of a sum: at least so many, or at most. */
enum counted { COUNTED_NOT = 0, COUNTED_LEAST = 1, COUNTED_MOST = 2 };

/* As for one sum; of all sums together for SIZE_MAX. */
static unsigned
counted_in(const struct cell *cell, size_t sum)
{
	unsigned counted = COUNTED_NOT;

	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];

		if (bound->basis != BASIS_LOTS ||
		    (bound->sum != 0 && bound->sum != sum && sum != SIZE_MAX))
			continue;
		counted |= bound->least > 0 ? COUNTED_LEAST : 0;
		counted |= bound->most < INT64_MAX ? COUNTED_MOST : 0;
	}
	return counted;
}

/* Which rows of the program stand for the kinds of a seller whose steps go by lots, where several
 * of its listings are of a kind: one listing's switch does without. A kind is a lot of all lines,
 * and one of each class that it is bought in. */
struct kind_rows {
	bool *alone; /* by kind; owned */
	size_t sums;
	size_t *of;   /* by kind, then sum: it is no more than its listings' switches; owned */
	size_t *most; /* by listing of the seller, of all lines and of its class: its switches are
	               * no more than its kind; owned */
};

/* Counts a listing, or those of a kind that are like it, as a lot of a sum. */
static void
add_lot_entries(struct leaf *leaf, const struct cell *cell, const size_t *bound_row,
                const struct model_listing *l, size_t sum)
{
	for (size_t i = 0; i < cell->bounds; i++)
		if (cell->bound[i].basis == BASIS_LOTS && cell->bound[i].sum == sum &&
		    model_counts_lot(l, sum))
			add_entry(leaf, bound_row[i], 1);
}

/* Does a piece bought for the one row it fits simply count toward the lot? */
static bool
direct_use(const struct leaf *leaf, const struct model_listing *l)
{
	const struct model_row *row;

	if (l->edges != 1)
		return false;
	row = &leaf->model->row[leaf->model->edge[l->edge]];
	return row->penalty == 0 && !leaf->relax->row_off[leaf->model->edge[l->edge]];
}

static int64_t
first_quantity(const struct model_listing *l, const struct model_break *brk)
{
	return brk->least > 1 ? (brk->least + l->step - 1) / l->step * l->step : l->step;
}

/* Is the listing bought or not a question of its own: because of a least quantity that is large for
 * what its lots need, or several prices? (A small least quantity is left to branching; what whole
 * steps can give, the hull says without a switch.) */
static bool
needs_switch(const struct leaf *leaf, const struct model_listing *l)
{
	const struct model *model = leaf->model;
	int64_t need = 0, first = first_quantity(l, &model->brk[l->brk]);

	if (l->breaks > 1)
		return true;
	for (size_t e = l->edge; e < l->edge + l->edges; e++)
		need += model->lot[model->row[model->edge[e]].lot].need;
	return first > l->step && 2 * first > need;
}

/* The listing as this program has it: where but one quantity can be bought, that is its step. */
static struct model_listing
as_sold(const struct leaf *leaf, size_t j)
{
	struct model_listing l = leaf->model->listing[j];
	int64_t first = first_quantity(&l, &leaf->model->brk[l.brk]);

	if (l.breaks == 1 && first + l.step > leaf->relax->most[j])
		l.step = first;
	return l;
}

/* What a purchase of the listing adds to the cell's bounds. */
static void
add_bound_entries(struct leaf *leaf, const struct cell *cell, const struct model_listing *l,
                  int64_t price, const size_t *bound_row)
{
	for (size_t i = 0; i < cell->bounds; i++) {
		const struct cell_bound *bound = &cell->bound[i];

		if (!bound_counts(bound, l->sum))
			continue;
		if (bound->weight != NULL)
			add_entry(leaf, bound_row[i],
			          weighted_price(bound, price, bound->weight[l->sum]));
		else if (bound->basis == BASIS_VALUE)
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
	bool direct; /* what is bought simply counts toward its lot */
	size_t balance, one, least;
	size_t *reach; /* by edge: uses <= need x switch */
	size_t *hull;  /* by edge; NONE: no such row */
};

/* What the lot of a listing's use needs. */
static int64_t
need_of(const struct leaf *leaf, const struct model_listing *l, size_t e)
{
	return leaf->model->lot[leaf->model->row[leaf->model->edge[l->edge + e]].lot].need;
}

/* Of what a lot needs, the pieces beyond whole steps: 0 where a step's hull says nothing. */
static int64_t
rest_of(const struct leaf *leaf, const struct model_listing *l, size_t e, int64_t most)
{
	int64_t need = need_of(leaf, l, e);

	return leaf->relax->row_off[leaf->model->edge[l->edge + e]] || need >= most
	           ? 0
	           : need % l->step;
}

/* What the hull of an edge leaves to what is not bought by the step: pieces x pieces. */
static int64_t
hull_constant(const struct leaf *leaf, const struct model_listing *l, size_t e, int64_t most)
{
	int64_t rest = rest_of(leaf, l, e, most);

	return (need_of(leaf, l, e) - rest) * (l->step - rest);
}

/* switched: nothing is bought while no switch is on. */
static void
start_rows(struct leaf *leaf, const struct model_listing *l, bool switched, int64_t most,
           struct listing_rows *rows)
{
	const struct model *model = leaf->model;

	if (2 * l->edges > leaf->use_row_room) {
		leaf->use_row_room = 2 * l->edges;
		leaf->use_row =
		    mem_resize(leaf->use_row, leaf->use_row_room, sizeof *leaf->use_row);
	}
	assert(l->edges == 0 || leaf->use_row != NULL);
	rows->reach = leaf->use_row;
	rows->hull = leaf->use_row + l->edges;
	rows->balance = rows->one = rows->least = NONE;
	rows->direct = rows->direct && !switched;
	for (size_t e = 0; e < l->edges; e++) {
		rows->reach[e] = rows->hull[e] = NONE;
		if (switched && !leaf->relax->row_off[model->edge[l->edge + e]])
			rows->reach[e] = add_row(leaf, 0, INT64_MAX, 1);
		if (rest_of(leaf, l, e, most) == 0)
			continue;
		rows->direct = false;
		rows->hull[e] = add_row(leaf, switched ? 0 : -hull_constant(leaf, l, e, most),
		                        INT64_MAX, l->step);
	}
	if (!rows->direct)
		rows->balance = add_row(leaf, 0, INT64_MAX, 1);
	if (l->breaks > 1)
		rows->one = add_row(leaf, INT64_MIN, 1, 1);
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
		add_entry(leaf, rows->reach[e], -1);
		add_entry(leaf, rows->hull[e], -l->step);
	}
}

/* What all columns of a listing share. */
struct sale {
	const struct cell *cell;
	const size_t *bound_row;
	const struct kind_rows *kinds; /* NULL: lots are not counted */
	const size_t *kind_most;       /* of kinds */
	struct model_listing l;
	size_t listing;
	int64_t least, most;
	bool own;         /* a switch is needed whether or not lots are counted */
	unsigned counted; /* how lots are */
	struct listing_rows rows;
};

/* The 0-1 column of a break, after its purchase. Where a switch only counts lots, it need hold
 * only the way that the steps ask: off where nothing is bought, or on where something is. */
static void
add_switch(struct leaf *leaf, const struct sale *sale, size_t brk, int64_t from, size_t from_row,
           size_t most_row)
{
	const struct listing_rows *rows = &sale->rows;
	const struct model_listing *l = &sale->l;

	add_column(leaf, (struct column){.kind = COLUMN_SWITCH,
	                                 .of = sale->listing,
	                                 .brk = brk,
	                                 .most = 1,
	                                 .step = 1,
	                                 .holds = most_row != NONE});
	add_entry(leaf, from_row, -from);
	add_entry(leaf, most_row, sale->most);
	add_entry(leaf, rows->one, 1);
	for (size_t e = 0; e < l->edges; e++) {
		int64_t need = need_of(leaf, l, e);

		add_entry(leaf, rows->reach[e], need < sale->most ? need : sale->most);
		if (most_row != NONE && rows->hull[e] != NONE)
			add_entry(leaf, rows->hull[e], hull_constant(leaf, l, e, sale->most));
	}
	if (sale->counted == COUNTED_NOT)
		return;
	for (size_t n = 0; n < (l->sum == 0 ? 1 : 2); n++) {
		size_t sum = n == 0 ? 0 : l->sum;

		if (sale->kinds->alone[l->kind]) {
			add_lot_entries(leaf, sale->cell, sale->bound_row, l, sum);
			continue;
		}
		add_entry(leaf, sale->kind_most[n], -1);
		add_entry(leaf, sale->kinds->of[l->kind * sale->kinds->sums + sum], 1);
	}
}

static void
add_break(struct leaf *leaf, const struct sale *sale, size_t b)
{
	const struct model_listing *l = &sale->l;
	const struct model_break *brk = &leaf->model->brk[l->brk + b];
	const struct listing_rows *rows = &sale->rows;
	int64_t from = first_quantity(l, brk);
	size_t from_row = NONE, most_row = NONE;
	size_t lot = leaf->model->row[leaf->model->edge[l->edge]].lot;

	if (from > sale->most || leaf->banned[l->brk + b])
		return;
	if (sale->own || sale->counted & COUNTED_LEAST)
		from_row = add_row(leaf, 0, INT64_MAX, 1);
	if (sale->own || sale->counted & COUNTED_MOST)
		most_row = add_row(leaf, 0, INT64_MAX, 1);
	add_column(leaf, (struct column){.kind = COLUMN_BUY,
	                                 .of = sale->listing,
	                                 .brk = b,
	                                 .cost = wide_div_floor(
	                                     brk->price * sale->cell->factor[l->sum], 1000000),
	                                 .least = l->breaks > 1 ? 0 : sale->least,
	                                 .most = sale->most,
	                                 .step = l->step,
	                                 .from = from,
	                                 .direct = rows->direct});
	add_entry(leaf, rows->direct ? leaf->lot_row[lot] : rows->balance, 1);
	add_entry(leaf, rows->least, 1);
	add_bound_entries(leaf, sale->cell, l, brk->price, sale->bound_row);
	for (size_t e = 0; e < l->edges; e++)
		if (rows->hull[e] != NONE)
			add_entry(leaf, rows->hull[e], rest_of(leaf, l, e, sale->most));
	add_entry(leaf, from_row, 1);
	add_entry(leaf, most_row, -1);
	if (from_row != NONE || most_row != NONE)
		add_switch(leaf, sale, b, from, from_row, most_row);
}

static bool
all_banned(const struct leaf *leaf, const struct model_listing *l)
{
	for (size_t b = 0; b < l->breaks; b++)
		if (!leaf->banned[l->brk + b])
			return false;
	return true;
}

static const struct cell *
only_cell(const struct relax *relax, size_t s)
{
	size_t at = SIZE_MAX;

	return relax_next_cell(relax, s, &at) ? &relax->cells->cell[at] : NULL;
}

/* What purchases may cost where no column costs less than nothing: what the fixed costs leave of
 * the limit. */
static wide
room_to_spend(const struct leaf *leaf)
{
	wide room = leaf->limit - leaf->fixed;

	if (leaf->limit >= WIDE_TOP)
		return WIDE_TOP;
	for (size_t i = 0; i < leaf->relax->actives; i++) {
		size_t s = leaf->relax->active[i];
		const struct cell *cell = only_cell(leaf->relax, s);

		for (size_t k = 0; cell != NULL && k < model_sums(leaf->model, s); k++)
			if (!cell->out[k] && cell->factor[k] < 0)
				return WIDE_TOP;
		room -= cell != NULL ? cell->fixed : 0;
	}
	return room > 0 ? room : 0;
}

/* The most pieces of a listing, in whole steps, that a plan below the limit could buy: a most that
 * is far beyond what makes sense is nothing for floating point. */
static int64_t
most_pieces(struct leaf *leaf, const struct cell *cell, const struct model_listing *l,
            int64_t offered)
{
	int64_t most = offered / l->step * l->step;
	wide unit = WIDE_TOP, pieces;

	for (size_t b = 0; b < l->breaks; b++) {
		wide cost = leaf->model->brk[l->brk + b].price * cell->factor[l->sum] / MICRO;

		unit = cost < unit ? cost : unit;
	}
	if (leaf->room >= WIDE_TOP || unit <= 0)
		return most;
	pieces = leaf->room / unit / l->step * l->step;
	if (pieces >= most)
		return most;
	leaf->excluded = true;
	return (int64_t)pieces;
}

/* Columns of one listing: a purchase by break, its switch, and uses where purchases do not simply
 * count. */
static void
add_listing(struct leaf *leaf, const struct cell *cell, size_t j, const size_t *bound_row,
            const struct kind_rows *kinds)
{
	struct sale sale = {cell, bound_row, kinds, NULL, as_sold(leaf, j), .listing = j};
	const struct model_listing *l = &sale.l;

	sale.least = (leaf->relax->least[j] + l->step - 1) / l->step * l->step;
	sale.most = most_pieces(leaf, cell, l, leaf->relax->most[j]);
	if (sale.most < sale.least)
		sale.most = sale.least;
	if (sale.most <= 0 || l->edges == 0 || all_banned(leaf, l))
		return;
	sale.own = needs_switch(leaf, l);
	sale.counted = kinds == NULL           ? COUNTED_NOT
	               : kinds->alone[l->kind] ? counted_in(cell, l->sum)
	                                       : COUNTED_LEAST | COUNTED_MOST;
	sale.rows.direct = direct_use(leaf, l);
	start_rows(leaf, l, sale.own || sale.counted & COUNTED_MOST, sale.most, &sale.rows);
	if (sale.least > 0 && l->breaks > 1)
		sale.rows.least = add_row(leaf, sale.least, INT64_MAX, 1);
	if (kinds != NULL)
		sale.kind_most = kinds->most + 2 * (j - leaf->model->seller[l->seller].listing);
	for (size_t b = 0; b < l->breaks; b++)
		add_break(leaf, &sale, b);
	if (!sale.rows.direct)
		add_uses(leaf, l, &sale.rows);
}

static bool
bounds_lots(const struct cell *cell, size_t sum)
{
	for (size_t i = 0; i < cell->bounds; i++)
		if (cell->bound[i].basis == BASIS_LOTS && cell->bound[i].sum == sum)
			return true;
	return false;
}

/* A 0-1 column for a kind of which there are several listings, as a lot of one sum. Its rows: a
 * listing's switch is no more than it, and it is no more than their sum. */
static void
add_kind(struct leaf *leaf, const struct cell *cell, const size_t *bound_row,
         struct kind_rows *kinds, size_t kind, size_t sum)
{
	const struct model_seller *seller = &leaf->model->seller[cell->seller];
	const struct model_listing *like = NULL;
	size_t *of = &kinds->of[kind * kinds->sums + sum];

	for (size_t i = 0; i < seller->listings; i++) {
		const struct model_listing *l = &leaf->model->listing[seller->listing + i];

		if (l->kind != kind || cell->out[l->sum] || (sum != 0 && l->sum != sum))
			continue;
		if (like == NULL) {
			*of = add_row(leaf, 0, INT64_MAX, 1);
			add_column(leaf, (struct column){
			                     .kind = COLUMN_LOT, .of = kind, .most = 1, .step = 1});
			add_entry(leaf, *of, -1);
		}
		like = l;
		kinds->most[2 * i + (sum != 0)] = add_row(leaf, 0, INT64_MAX, 1);
		add_entry(leaf, kinds->most[2 * i + (sum != 0)], 1);
	}
	if (like != NULL)
		add_lot_entries(leaf, cell, bound_row, like, sum);
}

/* Where steps go by lots. */
static void
add_kinds(struct leaf *leaf, const struct cell *cell, const size_t *bound_row,
          struct kind_rows *kinds)
{
	const struct model_seller *seller = &leaf->model->seller[cell->seller];
	size_t *sold = mem_zero(seller->kinds, sizeof *sold);

	kinds->sums = model_sums(leaf->model, cell->seller);
	kinds->alone = mem_zero(seller->kinds, sizeof *kinds->alone);
	kinds->of = mem_alloc((seller->kinds * kinds->sums + 1) * sizeof *kinds->of);
	kinds->most = mem_alloc((2 * seller->listings + 1) * sizeof *kinds->most);
	for (size_t i = 0; i < seller->kinds * kinds->sums; i++)
		kinds->of[i] = NONE;
	for (size_t i = 0; i < 2 * seller->listings; i++)
		kinds->most[i] = NONE;
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *l = &leaf->model->listing[j];

		sold[l->kind] += !cell->out[l->sum] && leaf->relax->most[j] > 0;
	}
	for (size_t k = 0; k < seller->kinds; k++) {
		kinds->alone[k] = sold[k] == 1;
		for (size_t sum = 0; sum < kinds->sums && sold[k] > 1; sum++)
			if (bounds_lots(cell, sum))
				add_kind(leaf, cell, bound_row, kinds, k, sum);
	}
	free(sold);
}

static void
add_seller(struct leaf *leaf, size_t s, const struct cell *cell)
{
	const struct model_seller *seller = &leaf->model->seller[s];
	size_t *bound_row = mem_zero(cell->bounds, sizeof *bound_row);
	struct kind_rows kinds = {NULL, 0, NULL, NULL}, *counted = NULL;

	leaf->fixed += cell->fixed;
	add_bound_rows(leaf, cell, bound_row);
	if (counted_in(cell, SIZE_MAX) != COUNTED_NOT) {
		add_kinds(leaf, cell, bound_row, &kinds);
		counted = &kinds;
	}
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
		if (!cell->out[leaf->model->listing[j].sum])
			add_listing(leaf, cell, j, bound_row, counted);
	free(bound_row);
	free(kinds.alone);
	free(kinds.of);
	free(kinds.most);
}

/* Does every column consist of single pieces of one lot, and of nothing else? */
static bool
lots_are_apart(const struct leaf *leaf)
{
	if (leaf->rows != leaf->model->lots || leaf->entries != leaf->columns)
		return false;
	for (size_t c = 0; c < leaf->columns; c++)
		if (leaf->start[c] != c || leaf->entry[c].value != 1 || leaf->column[c].step != 1 ||
		    leaf->column[c].from > 1)
			return false;
	return true;
}

static int
compare_apart(const void *a, const void *b)
{
	const struct apart *x = a, *y = b;

	if (x->cost != y->cost)
		return x->cost < y->cost ? -1 : 1;
	return x->column < y->column ? -1 : x->column > y->column;
}

/* The columns by lot and cost, and what of the linear program fill_apart needs. */
static void
set_apart(struct leaf *leaf)
{
	struct lp *lp = &leaf->lp;
	size_t *first = mem_zero(leaf->rows + 1, sizeof *first);

	leaf->apart = mem_alloc((leaf->columns + 1) * sizeof *leaf->apart);
	leaf->apart_first = mem_zero(leaf->rows + 1, sizeof *leaf->apart_first);
	for (size_t c = 0; c < leaf->columns; c++)
		first[leaf->entry[c].row + 1]++;
	for (size_t r = 0; r < leaf->rows; r++)
		leaf->apart_first[r + 1] = first[r + 1] += first[r];
	for (size_t c = 0; c < leaf->columns; c++)
		leaf->apart[first[leaf->entry[c].row]++] = (struct apart){leaf->column[c].cost, c};
	for (size_t r = 0; r < leaf->rows; r++)
		qsort(leaf->apart + leaf->apart_first[r],
		      leaf->apart_first[r + 1] - leaf->apart_first[r], sizeof *leaf->apart,
		      compare_apart);
	free(first);
	*lp = (struct lp){.rows = leaf->rows, .columns = leaf->columns};
	lp->least = mem_zero(leaf->columns, sizeof *lp->least);
	lp->most = mem_zero(leaf->columns, sizeof *lp->most);
	lp->x = mem_zero(leaf->columns, sizeof *lp->x);
	lp->price = mem_zero(leaf->rows, sizeof *lp->price);
	lp->ray = mem_zero(leaf->rows, sizeof *lp->ray);
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
	size_t leave_row = NONE; /* where pieces may be left out at no cost */

	leaf->lot_row = mem_zero(model->lots, sizeof *leaf->lot_row);
	if (relax->leave_most > 0)
		leave_row = add_row(leaf, INT64_MIN, relax->leave_most, 1);
	for (size_t i = 0; i < model->lots; i++) {
		bool limited = relax->price_most_nano[i] == LEAVABLE;

		leaf->lot_row[i] = add_row(leaf, model->lot[i].need, INT64_MAX, 1);
		if (relax->price_most_nano[i] == INT64_MAX)
			continue;
		add_column(leaf, (struct column){
		                     .kind = COLUMN_LEAVE,
		                     .of = i,
		                     .cost = limited ? 0 : (wide)relax->price_most_nano[i] * 1000,
		                     .most = model->lot[i].need,
		                     .step = 1});
		add_entry(leaf, leaf->lot_row[i], 1);
		if (limited)
			add_entry(leaf, leave_row, 1);
	}
	leaf->room = room_to_spend(leaf);
	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];
		const struct cell *cell = only_cell(relax, s);

		if (cell != NULL)
			add_seller(leaf, s, cell);
	}
	leaf->apart = NULL;
	leaf->apart_first = NULL;
	if (lots_are_apart(leaf))
		set_apart(leaf);
	else
		fill_lp(leaf);
}

/* ---- the safe bound ---- */

/* The Lagrangian bound of the program at multipliers cut to whole pico, in integers: for any
 * multipliers y (>= 0 where a row has no most, <= 0 where no least),
 *     sum of y x (least or most of its row) + sum over columns of the least of reduced x quantity
 * is below every plan's cost (weak duality). */
static wide
safe_bound(struct leaf *leaf, double most, double scale)
{
	wide *y = mem_alloc(leaf->rows * sizeof *y);
	wide bound = leaf->fixed;

	for (size_t r = 0; r < leaf->rows; r++) {
		const struct row *row = &leaf->row[r];
		double value = leaf->lp.price[r] + (scale > 0 ? scale * leaf->lp.ray[r] : 0);

		if (value > most)
			value = most;
		if (value < -most)
			value = -most;
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
		leaf->reduced[c] = reduced;
		bound +=
		    wide_div_floor(reduced * (reduced > 0 ? column->least : column->most), 1000000);
	}
	free(y);
	leaf->reduced_bound = bound;
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
		double value, sum = 0;
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

static void
set_bounds(struct leaf *leaf, size_t c, int64_t least, int64_t most)
{
	leaf->column[c].least = least;
	leaf->column[c].most = most;
	leaf->lp.least[c] = (double)least;
	leaf->lp.most[c] = (double)most;
}

static void solve_node(struct leaf *leaf, int depth);

static bool
must_be_whole(const struct column *column)
{
	return column->kind != COLUMN_LEAVE && column->kind != COLUMN_USE;
}

/* Bought, but less than the least quantity? */
static bool
too_few(const struct leaf *leaf, size_t c)
{
	const struct column *column = &leaf->column[c];

	return column->kind == COLUMN_BUY && leaf->lp.x[c] > WHOLE &&
	       leaf->lp.x[c] < (double)column->from - WHOLE;
}

static bool
is_whole(const struct leaf *leaf, size_t c)
{
	double n = leaf->lp.x[c] / (double)leaf->column[c].step;

	if (too_few(leaf, c))
		return false;
	return fabs(n - (double)(int64_t)(n + 0.5)) <= WHOLE;
}

static void
note_gain(struct leaf *leaf, size_t c, bool up, double gain, double cut)
{
	size_t at = 2 * c + up;

	if (cut < WHOLE || gain < 0)
		return;
	leaf->gain[at] += gain / cut;
	leaf->gains[at]++;
}

static double
expected_gain(const struct leaf *leaf, size_t c, bool up)
{
	size_t at = 2 * c + up;

	return leaf->gains[at] > 0 ? leaf->gain[at] / leaf->gains[at] : 0;
}

/* The objective with the column bounded; the basis stays wherever that leads. */
static double
probe(struct leaf *leaf, size_t c, int64_t least, int64_t most, double enough)
{
	struct column was = leaf->column[c];
	double objective;
	enum lp_end end;

	set_bounds(leaf, c, least, most);
	end = lp_resolve(&leaf->lp, enough);
	objective = end == LP_NONE ? enough : lp_objective(&leaf->lp);
	set_bounds(leaf, c, was.least, was.most);
	*leaf->work += leaf->lp.work;
	leaf->lp.work = 0;
	return objective < enough ? objective : enough;
}

struct choice {
	size_t column;        /* NONE: all that must be whole is */
	double x;             /* its value */
	int64_t below, above; /* what may be on its two sides */
};

/* The two sides of a column that is not whole. */
static void
sides_of(const struct leaf *leaf, size_t c, double x, int64_t *below, int64_t *above)
{
	const struct column *column = &leaf->column[c];

	*below = (int64_t)(x / (double)column->step + WHOLE) * column->step;
	*above = *below + column->step;
	if (column->kind == COLUMN_BUY && x < (double)column->from - WHOLE) {
		*below = 0;
		*above = column->from;
	}
}

static double
score_of(double down, double up)
{
	return (down > 1e-6 ? down : 1e-6) * (up > 1e-6 ? up : 1e-6);
}

/* Tries both sides of the columns that were never branched on, the furthest from whole first. */
static void
probe_some(struct leaf *leaf, double objective, double enough)
{
	size_t list[PROBES], count = 0;
	double off[PROBES], x[PROBES];

	for (size_t c = 0; c < leaf->columns; c++) {
		int64_t below, above;
		double f, far;
		size_t at;

		if (!must_be_whole(&leaf->column[c]) || is_whole(leaf, c) ||
		    (leaf->gains[2 * c] > 0 && leaf->gains[2 * c + 1] > 0))
			continue;
		sides_of(leaf, c, leaf->lp.x[c], &below, &above);
		f = (leaf->lp.x[c] - (double)below) / (double)(above - below);
		far = (f < 0.5 ? f : 1 - f) + (leaf->column[c].kind == COLUMN_BUY ? 0 : 0.5);
		if (count == PROBES && far <= off[count - 1])
			continue;
		for (at = count < PROBES ? count++ : count - 1; at > 0 && off[at - 1] < far; at--) {
			off[at] = off[at - 1];
			list[at] = list[at - 1];
			x[at] = x[at - 1];
		}
		off[at] = far;
		list[at] = c;
		x[at] = leaf->lp.x[c];
	}
	for (size_t i = 0; i < count; i++) {
		size_t c = list[i];
		const struct column column = leaf->column[c];
		int64_t below, above;
		double f;

		sides_of(leaf, c, x[i], &below, &above);
		f = (x[i] - (double)below) / (double)(above - below);

		note_gain(leaf, c, false, probe(leaf, c, column.least, below, enough) - objective,
		          f);
		note_gain(leaf, c, true, probe(leaf, c, above, column.most, enough) - objective,
		          1 - f);
	}
	if (count > 0)
		lp_resolve(&leaf->lp, INFINITY);
}

static struct choice
choose(const struct leaf *leaf)
{
	struct choice best = {.column = NONE};
	double best_score = -1;

	for (size_t c = 0; c < leaf->columns; c++) {
		int64_t below, above;
		double f, score;

		if (!must_be_whole(&leaf->column[c]) || is_whole(leaf, c))
			continue;
		sides_of(leaf, c, leaf->lp.x[c], &below, &above);
		f = (leaf->lp.x[c] - (double)below) / (double)(above - below);
		score = score_of(expected_gain(leaf, c, false) * f,
		                 expected_gain(leaf, c, true) * (1 - f));
		if (score > best_score) {
			best_score = score;
			best = (struct choice){c, leaf->lp.x[c], below, above};
		}
	}
	return best;
}

/* The column that is furthest from whole, be it by a hair: where the quantities taken as whole are
 * no plan, or none are seen to be one, since a limit stands within the hair. NONE: none is off by
 * any, between what it may be. */
static struct choice
choose_hair(const struct leaf *leaf)
{
	struct choice best = {.column = NONE};
	double most = EXACT;

	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		double x = leaf->lp.x[c], n = x / (double)column->step, off;
		int64_t near, below;

		/* Where the program has no solution, a value may be anything. */
		if (!must_be_whole(column) || !(x >= (double)column->least) ||
		    !(x <= (double)column->most))
			continue;
		near = (int64_t)(n + 0.5);
		off = fabs(n - (double)near);
		below = (n < (double)near ? near - 1 : near) * column->step;
		if (off <= most || below < column->least || below + column->step > column->most)
			continue;
		most = off;
		best = (struct choice){c, x, below, below + column->step};
	}
	return best;
}

/* The column that has most steps to go, in their middle: where the program has no solution, but the
 * ray does not take the bound as far as is needed. NONE: each is held at one value. */
static struct choice
choose_widest(const struct leaf *leaf)
{
	struct choice best = {.column = NONE};
	int64_t most = 0;

	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		int64_t steps = (column->most - column->least) / column->step;
		int64_t below = column->least + (steps - 1) / 2 * column->step;

		if (steps <= most)
			continue;
		most = steps;
		best = (struct choice){c, (double)below, below, below + column->step};
	}
	return best;
}

/* Can each row, for itself, be kept by what the columns may be? */
static bool
rows_can_fit(const struct leaf *leaf)
{
	wide *low = mem_zero(leaf->rows, sizeof *low), *high = mem_zero(leaf->rows, sizeof *high);
	bool fit = true;

	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		size_t end = c + 1 < leaf->columns ? leaf->start[c + 1] : leaf->entries;

		for (size_t k = leaf->start[c]; k < end; k++) {
			const struct entry *entry = &leaf->entry[k];
			wide value = entry->value;

			low[entry->row] += value * (value > 0 ? column->least : column->most);
			high[entry->row] += value * (value > 0 ? column->most : column->least);
		}
	}
	for (size_t r = 0; r < leaf->rows; r++) {
		const struct row *row = &leaf->row[r];

		fit = fit && (row->most == INT64_MAX || low[r] <= row->most) &&
		      (row->least == INT64_MIN || high[r] >= row->least);
	}
	free(low);
	free(high);
	return fit;
}

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
	bool up = choice->x * 2 > (double)(choice->below + choice->above);

	for (int side = 0; side < 2; side++, up = !up)
		if (up)
			try_bounds(leaf, c, choice->above, column.most, depth);
		else
			try_bounds(leaf, c, column.least, choice->below, depth);
}

static void
leave(struct leaf *leaf, wide bound)
{
	if (bound < leaf->bound)
		leaf->bound = bound;
}

/* Draws in the bounds of columns whose reduced cost alone would take the bound past the limit:
 * no better plan lies beyond. They are exact, so this is safe. */
static void
tighten(struct leaf *leaf)
{
	wide room = (leaf->limit - leaf->reduced_bound) * 1000000;

	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		wide reduced = leaf->reduced[c], size = reduced < 0 ? -reduced : reduced;
		int64_t step = column->step;
		wide steps;

		if (size == 0 || column->least >= column->most)
			continue;
		steps = room / (size * step);
		if (steps >= (column->most - column->least) / step)
			continue;
		if (reduced > 0)
			set_bounds(leaf, c, column->least, column->least + (int64_t)steps * step);
		else
			set_bounds(leaf, c, column->most - (int64_t)steps * step, column->most);
		leaf->excluded = true;
	}
}

static bool
nothing_left(const struct leaf *leaf)
{
	for (size_t c = 0; c < leaf->columns; c++)
		if (leaf->column[c].least > leaf->column[c].most)
			return true;
	return false;
}

static double
larger(double a, double b)
{
	return a > b ? a : b;
}

/* Do the sums of safe_bound stay within 128 bits there? */
static bool
sums_fit(const struct leaf *leaf, double most, double scale)
{
	const struct lp *lp = &leaf->lp;
	double size = fabs((double)leaf->fixed), *y = mem_alloc(leaf->rows * sizeof *y), product;
	bool fits = true;

	for (size_t r = 0; r < leaf->rows; r++) {
		const struct row *row = &leaf->row[r];
		double low = row->least == INT64_MIN ? 0 : fabs((double)row->least);
		double high = row->most == INT64_MAX ? 0 : fabs((double)row->most);
		double at = fabs(lp->price[r]) + (scale > 0 ? scale * fabs(lp->ray[r]) : 0);

		y[r] = (at < most ? at : most) * 1e18 / (double)row->unit;
		product = y[r] * larger(low, high);
		fits = fits && product < FITS;
		size += product * 1e-6;
	}
	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];
		size_t end = c + 1 < leaf->columns ? leaf->start[c + 1] : leaf->entries;
		double reduced = fabs((double)column->cost) * 1e6;

		for (size_t k = leaf->start[c]; k < end; k++)
			reduced += y[leaf->entry[k].row] * fabs((double)leaf->entry[k].value);
		size += reduced * larger(fabs((double)column->least), fabs((double)column->most));
	}
	free(y);
	return fits && size < FITS;
}

/* How large multipliers may be: where pieces cost more than most do, as much as sums have room for.
 */
static double
multiplier_most(const struct leaf *leaf)
{
	bool large = false;

	for (size_t r = 0; r < leaf->rows; r++)
		large = large || fabs(leaf->lp.price[r]) > Y_MOST;
	return large && sums_fit(leaf, Y_FAR, 0) ? Y_FAR : Y_MOST;
}

/* Solves the relaxation where lots are apart, each from its cheapest columns, in whole pieces; the
 * multiplier is what the last of them costs, or has no end where all of them are too few. */
static enum lp_end
fill_apart(struct leaf *leaf)
{
	struct lp *lp = &leaf->lp;
	enum lp_end end = LP_BEST;

	for (size_t r = 0; r < leaf->rows; r++) {
		const struct apart *first = leaf->apart + leaf->apart_first[r];
		const struct apart *last = leaf->apart + leaf->apart_first[r + 1];
		int64_t lack = leaf->row[r].least;

		lp->price[r] = lp->ray[r] = 0;
		for (const struct apart *i = first; i < last; i++)
			lack -= leaf->column[i->column].least;
		for (const struct apart *i = first; i < last; i++) {
			const struct column *column = &leaf->column[i->column];
			int64_t part = column->most - column->least;

			if (i->cost >= 0 && part > lack)
				part = lack > 0 ? lack : 0;
			lp->x[i->column] = (double)(column->least + part);
			if (part > 0 && i->cost > 0)
				lp->price[r] = (double)i->cost * 1e-12;
			lack -= part;
		}
		if (lack > 0) {
			lp->ray[r] = 1;
			end = LP_NONE;
		}
	}
	lp->work += leaf->columns;
	return end;
}

/* The bound of the program's relaxation, exact. */
static wide
relaxed_bound(struct leaf *leaf, double enough, enum lp_end *end)
{
	double most;
	wide bound;

	*end = leaf->apart != NULL ? fill_apart(leaf) : lp_resolve(&leaf->lp, enough);
	*leaf->work += leaf->lp.work;
	leaf->lp.work = 0;
	most = multiplier_most(leaf);
	bound = safe_bound(leaf, most, 0);
	if (*end != LP_NONE)
		return bound;
	/* Along the ray the bound grows without end: go as far as is needed. */
	for (double scale = 1;
	     scale < SCALE_MOST && bound < leaf->limit && sums_fit(leaf, most, scale);
	     scale *= 10) {
		wide further = safe_bound(leaf, most, scale);

		if (further > bound)
			bound = further;
	}
	return bound;
}

static void
offer_solution(struct leaf *leaf)
{
	int64_t *x = mem_zero(leaf->columns, sizeof *x);

	for (size_t c = 0; c < leaf->columns; c++)
		x[c] = (int64_t)(leaf->lp.x[c] + 0.5);
	offer_whole(leaf, x);
	free(x);
}

/* The column that is nearest to one of its sides without being there; NONE: all are whole. */
static struct choice
choose_nearest(const struct leaf *leaf)
{
	struct choice best = {.column = NONE};
	double least = 2;

	for (size_t c = 0; c < leaf->columns; c++) {
		int64_t below, above;
		double f, off;

		if (!must_be_whole(&leaf->column[c]) || is_whole(leaf, c))
			continue;
		sides_of(leaf, c, leaf->lp.x[c], &below, &above);
		f = (leaf->lp.x[c] - (double)below) / (double)(above - below);
		off = (f < 0.5 ? f : 1 - f) + (leaf->column[c].kind == COLUMN_BUY ? 1 : 0);
		if (off < least) {
			least = off;
			best = (struct choice){c, leaf->lp.x[c], below, above};
		}
	}
	return best;
}

/* Bounds the chosen column to its nearer side (or the other one). */
static void
take_side(struct leaf *leaf, const struct choice *choice, bool nearer)
{
	const struct column *column = &leaf->column[choice->column];
	bool up = (choice->x * 2 > (double)(choice->below + choice->above)) == nearer;

	if (up)
		set_bounds(leaf, choice->column, choice->above, column->most);
	else
		set_bounds(leaf, choice->column, column->least, choice->below);
}

/* Holds the chosen column at one of its sides. The objective; INFINITY: no better plan there. */
static double
hold(struct leaf *leaf, const struct choice *choice, bool nearer, double enough)
{
	enum lp_end end;

	take_side(leaf, choice, nearer);
	if (leaf->column[choice->column].least > leaf->column[choice->column].most)
		return INFINITY;
	end = lp_resolve(&leaf->lp, enough);
	*leaf->work += leaf->lp.work;
	leaf->lp.work = 0;
	return end == LP_BEST ? lp_objective(&leaf->lp) : INFINITY;
}

/* Holds the chosen column at its nearer side if that costs nothing, else at the one that costs
 * less. False: there is no better plan on either. */
static bool
hold_better(struct leaf *leaf, const struct choice *choice, double enough)
{
	double here = lp_objective(&leaf->lp), near, far;
	struct column before = leaf->column[choice->column];

	near = hold(leaf, choice, true, enough);
	if (near <= here + FREE)
		return true;
	set_bounds(leaf, choice->column, before.least, before.most);
	far = hold(leaf, choice, false, enough);
	if (far <= near)
		return far < INFINITY;
	set_bounds(leaf, choice->column, before.least, before.most);
	return hold(leaf, choice, true, enough) < INFINITY;
}

/* Dives for a plan: one column after another is held at one of its sides. The node's bounds are
 * restored. */
static void
dive(struct leaf *leaf, double enough)
{
	struct column *was = mem_copy(leaf->column, leaf->columns, sizeof *was);

	for (int n = 0; n < DIVE_MOST; n++) {
		struct choice choice = choose_nearest(leaf);

		if (choice.column == NONE) {
			offer_solution(leaf);
			break;
		}
		if (!hold_better(leaf, &choice, enough))
			break;
	}
	for (size_t c = 0; c < leaf->columns; c++)
		set_bounds(leaf, c, was[c].least, was[c].most);
	free(was);
	lp_resolve(&leaf->lp, INFINITY);
}

/* Branches below a node whose relaxation is not whole. */
static void
go_on(struct leaf *leaf, double enough, int depth)
{
	struct column *was = mem_alloc(leaf->columns * sizeof *was);
	struct choice choice;

	memcpy(was, leaf->column, leaf->columns * sizeof *was);
	tighten(leaf);
	probe_some(leaf, lp_objective(&leaf->lp), enough);
	choice = choose(leaf);
	if (choice.column != NONE)
		branch(leaf, &choice, depth);
	else
		solve_node(leaf, depth + 1);
	for (size_t c = 0; c < leaf->columns; c++)
		set_bounds(leaf, c, was[c].least, was[c].most);
	free(was);
}

/* Goes on from where the program has nothing to branch on, by what is not whole to the last digit;
 * where it has no solution, by anything, until that shows in a row. */
static void
part_hair(struct leaf *leaf, wide bound, int depth, bool solved)
{
	struct choice choice = choose_hair(leaf);

	if (bound < leaf->limit && !solved) {
		/* What the bound and the rows take; the program that has no solution took next to
		 * nothing. */
		*leaf->work += 20 * (leaf->entries + leaf->columns);
		if (!rows_can_fit(leaf))
			return;
		if (choice.column == NONE && leaf->partings++ < PARTINGS_MOST)
			choice = choose_widest(leaf);
	}
	if (bound < leaf->limit && choice.column != NONE)
		branch(leaf, &choice, depth);
	if (bound >= leaf->limit || choice.column == NONE || leaf->stopped)
		leave(leaf, bound);
}

static void
solve_node(struct leaf *leaf, int depth)
{
	double enough = (double)(leaf->limit - leaf->fixed) * 1e-12 + 1e-6;
	enum lp_end end;
	wide bound;
	bool solved;

	leaf->nodes++;
	if (nothing_left(leaf))
		return;
	bound = relaxed_bound(leaf, enough, &end);
	if (bound >= leaf->limit) {
		leave(leaf, bound);
		return;
	}
	if (*leaf->work > leaf->work_most || depth > DEPTH_MOST ||
	    (leaf->nodes % STOP_EVERY == 0 && leaf->stop(leaf->data)))
		leaf->stopped = true;
	if (leaf->stopped) {
		leave(leaf, bound);
		return;
	}
	solved = end != LP_NONE && end != LP_TROUBLE;
	if (!solved || choose(leaf).column == NONE) {
		if (solved)
			offer_solution(leaf);
		part_hair(leaf, bound, depth, solved);
		return;
	}
	if (leaf->nodes < 8 || leaf->nodes % 8 == 0)
		offer_rounded(leaf);
	if (leaf->nodes == 1 || leaf->nodes % DIVE_EVERY == 0)
		dive(leaf, enough);
	if (bound >= leaf->limit)
		leave(leaf, bound);
	else
		go_on(leaf, enough, depth);
	if (leaf->stopped)
		leave(leaf, bound);
}

static void
build_all(struct leaf *leaf, wide constant)
{
	leaf->fixed = constant;
	leaf->rows = leaf->columns = leaf->entries = 0;
	build(leaf);
	leaf->reduced = mem_zero(leaf->columns, sizeof *leaf->reduced);
	leaf->gain = mem_zero(2 * leaf->columns, sizeof *leaf->gain);
	leaf->gains = mem_zero(2 * leaf->columns, sizeof *leaf->gains);
}

static void
tear_down(struct leaf *leaf)
{
	lp_free(&leaf->lp);
	free(leaf->lot_row);
	free(leaf->apart);
	free(leaf->apart_first);
	free(leaf->reduced);
	free(leaf->gain);
	free(leaf->gains);
}

/* Solves the root's relaxation and bans every purchase that its reduced costs rule out; false
 * where the root alone decides. *many: enough is banned for a smaller program to pay. */
static bool
ban_at_root(struct leaf *leaf, bool *many)
{
	enum lp_end end;
	wide bound = relaxed_bound(leaf, (double)(leaf->limit - leaf->fixed) * 1e-12 + 1e-6, &end);
	size_t banned = 0, purchases = 0;

	if (bound >= leaf->limit) {
		leave(leaf, bound);
		return false;
	}
	if (end == LP_NONE || end == LP_TROUBLE)
		return true; /* solve_node says what then */
	offer_rounded(leaf);
	if (bound >= leaf->limit) {
		leave(leaf, bound);
		return false;
	}
	tighten(leaf);
	for (size_t c = 0; c < leaf->columns; c++) {
		const struct column *column = &leaf->column[c];

		purchases += column->kind == COLUMN_BUY;
		if ((column->kind == COLUMN_BUY || column->holds) && column->most == 0) {
			size_t brk = leaf->model->listing[column->of].brk + column->brk;

			banned += !leaf->banned[brk];
			leaf->banned[brk] = true;
		}
	}
	*many = banned * 4 > purchases && leaf->apart == NULL;
	return true;
}

struct leaf_result
leaf_solve(struct relax *relax, wide constant, wide limit, struct plan *plan, leaf_offer offer,
           leaf_stop stop, void *data, uint64_t *work, uint64_t work_most)
{
	struct leaf leaf = {.relax = relax,
	                    .model = relax->model,
	                    .limit = limit,
	                    .plan = plan,
	                    .offer = offer,
	                    .stop = stop,
	                    .data = data,
	                    .bound = WIDE_TOP,
	                    .work = work,
	                    .work_most = work_most};
	struct leaf_result result;
	bool smaller = false;

	leaf.banned = mem_zero(relax->model->breaks, sizeof *leaf.banned);
	build_all(&leaf, constant);
	if (ban_at_root(&leaf, &smaller)) {
		if (smaller) {
			tear_down(&leaf);
			build_all(&leaf, constant);
		}
		solve_node(&leaf, 0);
	}
	result = (struct leaf_result){leaf.bound, leaf.found, leaf.stopped, leaf.excluded};
	tear_down(&leaf);
	free(leaf.banned);
	free(leaf.column);
	free(leaf.row);
	free(leaf.entry);
	free(leaf.start);
	free(leaf.use_row);
	return result;
}
