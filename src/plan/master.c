#include "plan/master.h"

#include "base/mem.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TOWARD    0.9  /* how much the best multipliers weigh against the program's */
#define NEGATIVE  1e-7 /* an order must lower the program's cost by more, for its scale */
#define CONVERGED 1e-6 /* of the program's value: as good as no gap to the bound */
#define NO_SHARE  1e-9
#define OVER      1e-7

enum {
	ROWS_MOST = 420,
	ORDERS_FOR_ROW = 5, /* room for orders, for each row */
	ORDERS_LEAST = 300
};

/* ---- setting up ---- */

static size_t
column_of(const struct master *master, size_t order)
{
	return 2 * master->relax->model->lots + order;
}

static void
set_lots(struct master *master)
{
	const struct relax *relax = master->relax;
	struct lp *lp = &master->lp;
	size_t lots = relax->model->lots;

	for (size_t l = 0; l < lots; l++) {
		lp->row[2 * l] = (uint32_t)l;
		lp->entry[2 * l] = 1;
		lp->row[2 * l + 1] = (uint32_t)master->leave_row;
		lp->entry[2 * l + 1] = relax->need[l];
		lp->start[l + 1] = 2 * (l + 1);
		lp->row[2 * lots + l] = (uint32_t)l;
		lp->entry[2 * lots + l] = 1;
		lp->start[lots + l + 1] = 2 * lots + l + 1;
		lp->most[l] = lp->most[lots + l] = 1;
		lp->least[lp->columns + l] = relax->need[l] > 0 ? 1 : 0;
		lp->most[lp->columns + l] = 1e30;
	}
}

bool
master_init(struct master *master, struct relax *relax)
{
	const struct model *model = relax->model;
	size_t rows = model->lots + 2 + (model->max_orders != NO_LIMIT);
	size_t most = rows + relax->actives < ROWS_MOST ? rows + relax->actives : ROWS_MOST;

	*master = (struct master){.relax = relax, .limit_row = SIZE_MAX, .kept_orders = SIZE_MAX};
	if (rows > ROWS_MOST)
		return false;
	master->room = (model->lots + relax->actives) * ORDERS_FOR_ROW;
	if (master->room < ORDERS_LEAST)
		master->room = ORDERS_LEAST;
	master->entry_room = 3 * model->lots + master->room * 16;
	lp_init(&master->lp, most, 2 * model->lots + master->room, master->entry_room);
	lp_restart(&master->lp, rows, 2 * model->lots + master->room, 2 * model->lots);
	master->leave_row = model->lots;
	master->spare_row = model->lots + 1;
	set_lots(master);
	master->lp.least[master->lp.columns + master->leave_row] = -1e30;
	master->lp.least[master->lp.columns + master->spare_row] = -1e30;
	master->lp.most[master->lp.columns + master->spare_row] = 1e30;
	master->order = mem_zero(master->room, sizeof *master->order);
	master->weight = mem_zero(master->room, sizeof *master->weight);
	master->seller_row = mem_alloc((model->sellers + 1) * sizeof *master->seller_row);
	master->share = mem_zero(model->sellers, sizeof *master->share);
	master->fill = mem_zero(model->lots, sizeof *master->fill);
	master->pieces = mem_zero(model->listings, sizeof *master->pieces);
	master->spent = mem_zero(model->listings, sizeof *master->spent);
	for (size_t s = 0; s < model->sellers; s++)
		master->seller_row[s] = SIZE_MAX;
	if (model->max_orders != NO_LIMIT) {
		master->limit_row = rows - 1;
		master->lp.least[master->lp.columns + rows - 1] = -1e30;
		master->lp.most[master->lp.columns + rows - 1] = (double)model->max_orders;
	}
	return true;
}

static void
forget_order(struct master *master, size_t order)
{
	free(master->order[order].row);
	free(master->order[order].buy);
	master->order[order] = (struct master_order){0};
}

void
master_free(struct master *master)
{
	for (size_t i = 0; i < master->orders; i++)
		forget_order(master, i);
	free(master->order);
	free(master->weight);
	free(master->seller_row);
	free(master->share);
	free(master->fill);
	free(master->pieces);
	free(master->spent);
	lp_free(&master->lp);
	lp_free_basis(&master->kept);
}

/* ---- orders ---- */

/* Do the choices that the order is the mean of keep what is bought of each listing within limits?
 */
static bool
keeps_quantities(const struct relax *relax, const struct master_order *order)
{
	const struct model_seller *seller = &relax->model->seller[order->seller];

	for (size_t i = 0; i < order->buys; i++) {
		const struct relax_buy *buy = &order->buy[i];

		if (buy->pieces < (double)relax->least[buy->listing] - 0.5 ||
		    buy->pieces > (double)relax->most[buy->listing] + 0.5)
			return false;
	}
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		double weight = 0;

		if (relax->least[j] == 0)
			continue;
		for (size_t i = 0; i < order->buys; i++)
			weight += order->buy[i].listing == j ? order->buy[i].weight : 0;
		if (weight < 1 - 1e-6)
			return false;
	}
	return true;
}

/* May the order be had under the node's restrictions? */
static bool
is_allowed(const struct master *master, const struct master_order *order)
{
	const struct relax *relax = master->relax;

	if (relax->status[order->seller] == SELLER_SHUT || relax->cell_off[order->cell])
		return false;
	for (size_t i = 0; i < order->rows; i++)
		if (relax->row_off[order->row[i]])
			return false;
	return relax->bent[order->seller] == 0 || keeps_quantities(relax, order);
}

/* Moves an order's column down to a free place. */
static void
move_order(struct master *master, size_t from, size_t to)
{
	struct lp *lp = &master->lp;
	size_t f = column_of(master, from), t = column_of(master, to);
	size_t count = lp->start[f + 1] - lp->start[f];

	memmove(lp->row + lp->start[t], lp->row + lp->start[f], count * sizeof *lp->row);
	memmove(lp->entry + lp->start[t], lp->entry + lp->start[f], count * sizeof *lp->entry);
	lp->start[t + 1] = lp->start[t] + count;
	lp->cost[t] = lp->cost[f];
	lp->most[t] = lp->most[f];
	lp->at_most[t] = lp->at_most[f];
	lp->place[t] = lp->place[f];
	if (lp->place[t] >= 0)
		lp->basic[lp->place[t]] = t;
	master->order[to] = master->order[from];
}

/* Forgets the orders that had no share for longest: half of them all. */
static void
forget_orders(struct master *master)
{
	struct lp *lp = &master->lp;
	size_t kept = 0, low = 0, high = master->time + 1;

	master->kept_orders = SIZE_MAX;
	while (low + 1 < high) { /* the latest time before which at most half was last used */
		size_t middle = low + (high - low) / 2, older = 0;

		for (size_t i = 0; i < master->orders; i++)
			older += master->order[i].late < middle;
		if (older > master->orders / 2)
			high = middle;
		else
			low = middle;
	}
	for (size_t i = 0; i < master->orders; i++) {
		bool basic = lp->place[column_of(master, i)] >= 0;

		if (!basic && master->order[i].late < high) {
			forget_order(master, i);
			continue;
		}
		if (kept != i)
			move_order(master, i, kept);
		kept++;
	}
	for (size_t i = kept; i < master->orders; i++) {
		size_t c = column_of(master, i);

		lp->cost[c] = lp->most[c] = 0;
		lp->at_most[c] = false;
		lp->place[c] = -1;
		lp->start[c + 1] = 0;
	}
	master->orders = kept;
	lp->used = column_of(master, kept);
}

/* The rows of labels among the parts. */
static void
note_rows(struct master *master, struct master_order *order)
{
	const struct relax *relax = master->relax;

	if (relax->model->labels == 0)
		return;
	order->row = mem_alloc((relax->parts + 1) * sizeof *order->row);
	for (size_t i = 0; i < relax->parts; i++)
		order->row[order->rows++] = relax->part[i].row;
}

static void
note_buys(struct master *master, struct master_order *order)
{
	const struct relax *relax = master->relax;

	order->buys = relax->buys;
	order->buy = mem_copy(relax->buy, relax->buys, sizeof *order->buy);
}

/* The order that relax has in parts, of the seller's choice: fill by lot, as a share of the need.
 * Returns its value at the multipliers of the program. */
static double
gather(struct master *master, size_t seller)
{
	const struct relax *relax = master->relax;
	const double *dual = master->lp.price;
	double value = relax->part_cost;

	memset(master->fill, 0, relax->model->lots * sizeof *master->fill);
	for (size_t i = 0; i < relax->parts; i++)
		if (relax->need[relax->part[i].lot] > 0)
			master->fill[relax->part[i].lot] +=
			    relax->part[i].pieces / relax->need[relax->part[i].lot];
	for (size_t l = 0; l < relax->model->lots; l++)
		value -= master->fill[l] * dual[l];
	if (master->seller_row[seller] != SIZE_MAX)
		value -= dual[master->seller_row[seller]];
	if (master->limit_row != SIZE_MAX && relax->model->seller[seller].terms != NULL)
		value -= dual[master->limit_row];
	return value;
}

/* Appends the gathered order as a column. */
static void
append(struct master *master, size_t seller)
{
	const struct relax *relax = master->relax;
	struct lp *lp = &master->lp;
	size_t at, c, lots = relax->model->lots;

	if (master->orders == master->room)
		forget_orders(master);
	if (master->orders == master->room)
		return;
	c = column_of(master, master->orders);
	at = lp->start[c];
	if (at + lots + 2 > master->entry_room) {
		master->entry_room = 2 * master->entry_room + lots + 2;
		lp->row = mem_resize(lp->row, master->entry_room, sizeof *lp->row);
		lp->entry = mem_resize(lp->entry, master->entry_room, sizeof *lp->entry);
	}
	for (size_t l = 0; l < lots; l++) {
		if (master->fill[l] == 0)
			continue;
		lp->row[at] = (uint32_t)l;
		lp->entry[at++] = master->fill[l];
	}
	lp->row[at] = (uint32_t)(master->seller_row[seller] != SIZE_MAX ? master->seller_row[seller]
	                                                                : master->spare_row);
	lp->entry[at++] = 1;
	if (master->limit_row != SIZE_MAX && relax->model->seller[seller].terms != NULL) {
		lp->row[at] = (uint32_t)master->limit_row;
		lp->entry[at++] = 1;
	}
	lp->start[c + 1] = at;
	lp->cost[c] = relax->part_cost;
	lp->most[c] = 1;
	lp_price_column(lp, c);
	master->order[master->orders] = (struct master_order){
	    .seller = seller, .cell = relax->choice[seller], .late = master->time};
	note_rows(master, &master->order[master->orders]);
	note_buys(master, &master->order[master->orders]);
	master->orders++;
}

/* ---- raising the bound ---- */

/* A row for the seller, whose orders leave the spare one. Without room for it, it has none. */
static void
give_row(struct master *master, size_t seller)
{
	struct lp *lp = &master->lp;
	size_t row = lp->rows;

	if (row == lp->rows_room)
		return;
	master->kept_orders = SIZE_MAX;
	lp_add_rows(lp, 1);
	master->seller_row[seller] = row;
	for (size_t i = 0; i < master->orders; i++) {
		size_t c = column_of(master, i);

		if (master->order[i].seller != seller)
			continue;
		for (size_t k = lp->start[c]; k < lp->start[c + 1]; k++)
			if (lp->row[k] == master->spare_row)
				lp->row[k] = (uint32_t)row;
	}
}

static void
bound_seller(struct master *master, size_t seller)
{
	const struct relax *relax = master->relax;
	struct lp *lp = &master->lp;
	size_t row = master->seller_row[seller];

	if (row == SIZE_MAX)
		return;
	lp->least[lp->columns + row] = relax->status[seller] == SELLER_OPEN ? 1 : 0;
	lp->most[lp->columns + row] = relax->status[seller] == SELLER_SHUT ? 0 : 1;
}

/* The node's restrictions as bounds of the program. */
static void
restrict_program(struct master *master, double big)
{
	const struct relax *relax = master->relax;
	struct lp *lp = &master->lp;
	size_t lots = relax->model->lots;

	lp->most[lp->columns + master->leave_row] = (double)relax->leave_most;
	for (size_t l = 0; l < lots; l++) {
		bool limited = relax->price_most_nano[l] == LEAVABLE;

		lp->cost[l] = limited ? 0 : relax->price_most[l] * relax->need[l];
		lp->most[l] = limited || relax->price_most[l] < FAR ? 1 : 0;
		if (lp->most[l] == 0)
			lp->cost[l] = 0;
		lp->cost[lots + l] = big;
		lp->entry[2 * l + 1] = limited ? relax->need[l] : 0;
	}
	for (size_t s = 0; s < relax->model->sellers; s++) {
		if (relax->status[s] == SELLER_OPEN && master->seller_row[s] == SIZE_MAX)
			give_row(master, s);
		bound_seller(master, s);
	}
	for (size_t i = 0; i < master->orders; i++)
		lp->most[column_of(master, i)] = is_allowed(master, &master->order[i]) ? 1 : 0;
}

static bool
has_order(const struct master *master, size_t seller)
{
	for (size_t i = 0; i < master->orders; i++)
		if (master->order[i].seller == seller && master->lp.most[column_of(master, i)] > 0)
			return true;
	return false;
}

/* Sellers that must be open need an order in the program, for it to have any answer. */
static bool
supply_open(struct master *master, const double *price)
{
	struct relax *relax = master->relax;

	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];

		if (relax->status[s] != SELLER_OPEN || has_order(master, s))
			continue;
		if (relax->value[s] >= FAR)
			return false;
		relax_parts(relax, s, price);
		gather(master, s);
		append(master, s);
	}
	return true;
}

/* Adds the orders that relax chose and that would lower the program's cost; how many. */
static size_t
add_orders(struct master *master, const double *price, double scale)
{
	struct relax *relax = master->relax;
	size_t added = 0;

	for (size_t i = 0; i < relax->actives; i++) {
		size_t s = relax->active[i];

		if (relax->value[s] >= FAR)
			continue;
		if (relax->value[s] >= 0 && relax->status[s] != SELLER_OPEN)
			continue;
		relax_parts(relax, s, price);
		if (gather(master, s) < -NEGATIVE * scale) {
			append(master, s);
			added++;
		}
	}
	return added;
}

/* The program's multipliers, a piece. */
static void
read_prices(const struct master *master, double *price)
{
	const struct relax *relax = master->relax;
	const double *dual = master->lp.price;
	size_t lots = relax->model->lots;

	price[lots + 1] = dual[master->leave_row] < 0 ? -dual[master->leave_row] : 0;
	for (size_t l = 0; l < lots; l++)
		price[l] =
		    relax_clip(relax, price, l, relax->need[l] > 0 ? dual[l] / relax->need[l] : 0);
	price[lots] = 0;
	if (master->limit_row != SIZE_MAX && dual[master->limit_row] < 0)
		price[lots] = -dual[master->limit_row];
}

static void
read_shares(struct master *master)
{
	const struct lp *lp = &master->lp;
	const struct model *model = master->relax->model;

	memset(master->share, 0, model->sellers * sizeof *master->share);
	memset(master->pieces, 0, model->listings * sizeof *master->pieces);
	memset(master->spent, 0, model->listings * sizeof *master->spent);
	for (size_t i = 0; i < master->orders; i++) {
		struct master_order *order = &master->order[i];
		double x = lp->x[column_of(master, i)];

		master->weight[i] = x > NO_SHARE ? x : 0;
		if (x <= NO_SHARE)
			continue;
		order->late = master->time;
		master->share[order->seller] += x;
		for (size_t k = 0; k < order->buys; k++) {
			const struct relax_buy *buy = &order->buy[k];

			master->pieces[buy->listing] += x * buy->weight * buy->pieces;
			master->spent[buy->listing] += x * buy->weight * buy->spent;
		}
	}
}

/* Gives those sellers rows whose shares come to more than one order. How many. */
static size_t
hold_sellers(struct master *master)
{
	const struct model *model = master->relax->model;
	size_t rows = master->lp.rows;

	memset(master->share, 0, model->sellers * sizeof *master->share);
	for (size_t i = 0; i < master->orders; i++)
		master->share[master->order[i].seller] += master->lp.x[column_of(master, i)];
	for (size_t s = 0; s < model->sellers; s++)
		if (master->share[s] > 1 + OVER && master->seller_row[s] == SIZE_MAX) {
			give_row(master, s);
			bound_seller(master, s);
		}
	return master->lp.rows - rows;
}

static bool
solve(struct master *master, bool afresh)
{
	enum lp_end end = afresh ? lp_solve(&master->lp, INFINITY) : lp_improve(&master->lp);

	if (end == LP_TROUBLE && !afresh)
		end = lp_solve(&master->lp, INFINITY);
	while (end == LP_BEST && hold_sellers(master) > 0)
		end = lp_solve(&master->lp, INFINITY);
	master->relax->work += master->lp.work;
	master->lp.work = 0;
	if (end != LP_BEST)
		return false;
	master->objective = 0;
	for (size_t j = 0; j < master->lp.columns; j++)
		if (master->lp.x[j] != 0)
			master->objective += master->lp.cost[j] * master->lp.x[j];
	return true;
}

void
master_keep(struct master *master)
{
	lp_keep_basis(&master->lp, &master->kept);
	master->kept_orders = master->orders;
}

void
master_return(struct master *master)
{
	if (master->kept_orders != SIZE_MAX)
		lp_return_to(&master->lp, &master->kept);
}

double
master_raise(struct master *master, double *price, double enough, double big, size_t rounds)
{
	struct relax *relax = master->relax;
	size_t count = relax_multipliers(relax->model);
	double *here = mem_alloc(count * sizeof *here), *wanted = mem_alloc(count * sizeof *wanted);
	double best = relax_bound(relax, price), toward = TOWARD;
	bool solved;

	master->time++;
	master->rounds = 0;
	restrict_program(master, big);
	solved = best < enough && supply_open(master, price) && solve(master, true);
	if (solved && add_orders(master, price, 1 + fabs(best)) > 0)
		solved = solve(master, false);
	for (size_t n = 0; n < rounds && solved && best < enough; n++) {
		double bound, gap = master->objective - best;

		if (gap < CONVERGED * (1 + fabs(best)) ||
		    (master->stop != NULL && master->stop(master->data)))
			break;
		master->rounds++;
		read_prices(master, wanted);
		for (size_t i = 0; i < count; i++)
			here[i] = toward * price[i] + (1 - toward) * wanted[i];
		for (size_t l = 0; l < relax->model->lots; l++)
			here[l] = relax_clip(relax, here, l, here[l]);
		bound = relax_bound(relax, here);
		if (bound > best) {
			best = bound;
			memcpy(price, here, count * sizeof *here);
		}
		if (add_orders(master, here, 1 + fabs(best)) > 0)
			solved = solve(master, false);
		else if (toward == 0)
			break;
		else
			toward = toward > 0.2 ? toward / 2 : 0;
	}
	if (solved)
		read_shares(master);
	relax_bound_whole(relax, price);
	free(here);
	free(wanted);
	return best;
}
