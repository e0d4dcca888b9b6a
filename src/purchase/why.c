#include "purchase/why.h"

#include "base/mem.h"

#include <stdlib.h>
#include <string.h>

static const unsigned MICRO_TO_NANO = 1000;

#define NO_LISTING ((size_t)-1)

/* A line of the table. */
struct line {
	size_t row;     /* of the model */
	size_t listing; /* or NO_LISTING: pieces that are missing */
	int64_t qty, surplus;
};

struct why {
	const struct purchase *purchase;
	const struct model *model;
	const struct plan *plan;
	struct plan other; /* a copy, to leave pieces out of */
	size_t *first;     /* by row: its listings are fit[first[row] .. first[row + 1]) */
	size_t *fit;
	int64_t *used; /* by listing */
	bool *ordered; /* by seller: it has an order */
	struct line *line;
	size_t lines, room;
};

/* What is on offer for a line. */
struct choice {
	wide price;   /* of a piece, nano home, penalty included */
	wide penalty; /* part of it */
	bool has_cheapest;
	wide cheapest;
	size_t cheapest_seller;
	bool others; /* another listing can be bought */
	/* Cheaper offers, and those of them that are used up, sold only in more pieces, or of
	 * sellers without an order. */
	size_t cheaper, used_up, too_many, unopened;
	const struct model_break *reached; /* the cheapest of those breaks of the line's listing
	                                    * that is reached; NULL: none */
};

/* ---- which listings fit which rows ---- */

static void
index_fits(struct why *w)
{
	const struct model *model = w->model;
	size_t *next;

	w->first = mem_zero(model->rows + 1, sizeof *w->first);
	w->fit = mem_alloc((model->edges + 1) * sizeof *w->fit);
	for (size_t e = 0; e < model->edges; e++)
		w->first[model->edge[e] + 1]++;
	for (size_t r = 0; r < model->rows; r++)
		w->first[r + 1] += w->first[r];
	next = mem_alloc((model->rows + 1) * sizeof *next);
	memcpy(next, w->first, (model->rows + 1) * sizeof *next);
	for (size_t j = 0; j < model->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			w->fit[next[model->edge[e]]++] = j;
	}
	free(next);
}

static void
count_bought(struct why *w)
{
	const struct model *model = w->model;

	w->ordered = mem_zero(model->sellers, sizeof *w->ordered);
	w->used = mem_zero(model->listings, sizeof *w->used);
	for (size_t j = 0; j < model->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			w->used[j] += w->plan->used[e];
		if (w->plan->bought[j] > 0)
			w->ordered[l->seller] = true;
	}
}

/* ---- lines ---- */

static struct line *
add_line(struct why *w, size_t row, size_t listing, int64_t qty)
{
	MEM_ROOM(w->line, w->lines, w->room);
	w->line[w->lines] = (struct line){.row = row, .listing = listing, .qty = qty};
	return &w->line[w->lines++];
}

/* The lines of one listing. The surplus stands where the order lines have it: on the lot whose
 * name is the last in byte order; of its rows on the last. */
static void
add_lines(struct why *w, size_t j)
{
	const struct model_listing *l = &w->model->listing[j];
	const struct purchase *p = w->purchase;
	size_t first = w->lines, last = first;
	int64_t surplus = w->plan->bought[j] - w->used[j];

	for (size_t e = l->edge; e < l->edge + l->edges; e++)
		if (w->plan->used[e] > 0)
			add_line(w, w->model->edge[e], j, w->plan->used[e]);
	if (surplus == 0)
		return;
	if (w->lines == first)
		add_line(w, w->model->edge[l->edge], j, 0);
	for (size_t i = first + 1; i < w->lines; i++) {
		const char *best = p->lot[w->model->row[w->line[last].row].lot].name;

		if (strcmp(p->lot[w->model->row[w->line[i].row].lot].name, best) >= 0)
			last = i;
	}
	w->line[last].surplus = surplus;
}

static void
add_missing(struct why *w)
{
	const struct model *model = w->model;
	int64_t *filled = mem_zero(model->lots, sizeof *filled);

	for (size_t e = 0; e < model->edges; e++)
		filled[model->row[model->edge[e]].lot] += w->plan->used[e];
	for (size_t i = 0; i < model->lots; i++)
		if (filled[i] < model->lot[i].need)
			add_line(w, model->lot[i].row + model->lot[i].rows - 1, NO_LISTING,
			         model->lot[i].need - filled[i]);
	free(filled);
}

/* Rows of the model are in the order of the need, listings in the order of their content. */
static int
compare_lines(const void *a, const void *b)
{
	const struct line *x = a, *y = b;

	if (x->row != y->row)
		return x->row < y->row ? -1 : 1;
	return x->listing < y->listing ? -1 : x->listing > y->listing;
}

/* ---- prices ---- */

/* Of a piece, with the penalty that it bears for the row; false where 128 bits do not hold it. */
static bool
price_for(const struct why *w, size_t j, const struct model_break *brk, size_t row, wide *price)
{
	const struct terms *terms = w->model->seller[w->model->listing[j].seller].terms;
	wide penalty = (wide)w->model->row[row].penalty * MICRO_TO_NANO;

	return landed_convert(brk->price, MICRO_DECIMALS, &terms->home, NANO_DECIMALS, price) &&
	       wide_add(*price, penalty, price);
}

/* The smallest multiple of the listing's step that holds so many pieces at that price. */
static int64_t
smallest(const struct model_listing *l, const struct model_break *brk, int64_t pieces)
{
	int64_t least = brk->least > pieces ? brk->least : pieces;

	return (least + l->step - 1) / l->step * l->step;
}

/* More of the listing that must be bought to have any piece at that price instead of the line's. */
static void
weigh_cheaper(const struct why *w, const struct line *line, size_t k, const struct model_break *brk,
              struct choice *choice)
{
	const struct model_listing *l = &w->model->listing[k];
	int64_t bought = w->plan->bought[k], more = smallest(l, brk, 1) - bought;

	choice->cheaper++;
	if (k == line->listing) {
		choice->too_many += more > 0;
		if (more <= 0 && (choice->reached == NULL || brk->price < choice->reached->price))
			choice->reached = brk;
		return;
	}
	if (more < l->step)
		more = l->step;
	if (l->most - bought < l->step)
		choice->used_up++;
	else if (more > line->qty)
		choice->too_many++;
	else if (!w->ordered[l->seller])
		choice->unopened++;
}

static void
weigh_break(const struct why *w, const struct line *line, size_t row, size_t k,
            const struct model_break *brk, struct choice *choice)
{
	const struct model_listing *l = &w->model->listing[k];
	bool own = k == line->listing;
	wide price;

	if (smallest(l, brk, 1) > l->most || !price_for(w, k, brk, row, &price))
		return;
	choice->others = choice->others || !own;
	if (!choice->has_cheapest || price < choice->cheapest ||
	    (own && price == choice->cheapest)) {
		choice->has_cheapest = true;
		choice->cheapest = price;
		choice->cheapest_seller = l->seller;
	}
	if (line->listing != NO_LISTING && price < choice->price)
		weigh_cheaper(w, line, k, brk, choice);
}

static void
weigh_offers(const struct why *w, const struct line *line, struct choice *choice)
{
	const struct model *model = w->model;
	const struct model_lot *lot = &model->lot[model->row[line->row].lot];

	for (size_t r = lot->row; r < lot->row + lot->rows; r++)
		for (size_t i = w->first[r]; i < w->first[r + 1]; i++) {
			const struct model_listing *l = &model->listing[w->fit[i]];

			if (model->seller[l->seller].terms == NULL)
				continue;
			for (size_t b = l->brk; b < l->brk + l->breaks; b++)
				weigh_break(w, line, r, w->fit[i], &model->brk[b], choice);
		}
}

static struct choice
choice_of(const struct why *w, const struct line *line)
{
	const struct model *model = w->model;
	struct choice choice = {.penalty = (wide)model->row[line->row].penalty * MICRO_TO_NANO};

	if (line->listing != NO_LISTING) {
		const struct model_listing *l = &model->listing[line->listing];

		choice.price = choice.penalty;
		if (model->seller[l->seller].terms != NULL)
			(void)price_for(w, line->listing,
			                &model->brk[l->brk + w->plan->chosen[line->listing]],
			                line->row, &choice.price);
	}
	weigh_offers(w, line, &choice);
	return choice;
}

static wide
cost_above(const struct line *line, const struct choice *choice)
{
	return line->qty * (choice->price - choice->cheapest) +
	       line->surplus * (choice->price - choice->penalty);
}

/* ---- reasons ---- */

/* An order of the seller, and what is charged for it. */
struct charged {
	struct order_sum *sum;
	struct landed landed;
	wide *each;
};

static bool
charge(const struct why *w, const struct plan *plan, size_t seller, struct charged *out)
{
	const struct terms *terms = w->model->seller[seller].terms;
	const struct scales exact = {NANO_DECIMALS, NANO_DECIMALS};
	struct order order;

	out->sum = mem_alloc(model_sums(w->model, seller) * sizeof *out->sum);
	out->each = mem_zero(terms->charges, sizeof *out->each);
	plan_sums(w->model, plan, seller, out->sum);
	order = (struct order){.sum = out->sum};
	return out->sum[0].basis[BASIS_PIECES] > 0 &&
	       landed_cost(terms, &order, exact, &out->landed, out->each);
}

/* The step that charge c is at; an order that was charged fits 128 bits. */
static const struct charge_step *
step_of(const struct terms *terms, size_t c, const struct charged *charged)
{
	const struct order order = {.sum = charged->sum};
	const struct charge_step *step;

	return landed_step(terms, &order, c, &step) ? step : NULL;
}

static bool
charges_rise(const struct terms *terms, const struct charged *with, const struct charged *without)
{
	for (size_t c = 0; c < terms->charges; c++)
		if (step_of(terms, c, with) != step_of(terms, c, without) &&
		    without->each[c] > with->each[c])
			return true;
	return false;
}

/* What w->other makes of the listing's order: minimum, threshold or bundled. The listing in it is
 * as in the plan afterwards. */
static const char *
order_reason(struct why *w, size_t j)
{
	size_t seller = w->model->listing[j].seller;
	struct charged with = {0}, without = {0};
	const char *reason = "bundled";

	if (charge(w, w->plan, seller, &with) && charge(w, &w->other, seller, &without)) {
		if (without.landed.below_minimum)
			reason = "minimum";
		else if (without.landed.refused ||
		         charges_rise(w->model->seller[seller].terms, &with, &without))
			reason = "threshold";
	}
	w->other.bought[j] = w->plan->bought[j];
	w->other.chosen[j] = w->plan->chosen[j];
	free(with.sum);
	free(with.each);
	free(without.sum);
	free(without.each);
	return reason;
}

static const char *
price_reason(struct why *w, const struct line *line, const struct choice *choice)
{
	size_t j = line->listing;
	const struct model_listing *l = &w->model->listing[j];

	if (choice->used_up == choice->cheaper)
		return "stock";
	if (choice->used_up + choice->too_many == choice->cheaper)
		return "step";
	if (choice->used_up + choice->too_many + choice->unopened == choice->cheaper)
		return "bundled";
	if (choice->reached != NULL)
		w->other.chosen[j] = (size_t)(choice->reached - &w->model->brk[l->brk]);
	else
		w->other.bought[j] -= line->qty + line->surplus;
	return order_reason(w, j);
}

static const char *
surplus_reason(struct why *w, const struct line *line)
{
	const struct model_listing *l = &w->model->listing[line->listing];
	const struct model_break *brk = &w->model->brk[l->brk + w->plan->chosen[line->listing]];
	int64_t used = w->used[line->listing], bought = w->plan->bought[line->listing];
	int64_t enough = used > 0 ? smallest(l, brk, used) : 0;

	if (bought == enough)
		return "step";
	w->other.bought[line->listing] = enough;
	return order_reason(w, line->listing);
}

static const char *
reason_for(struct why *w, const struct line *line, const struct choice *choice)
{
	const struct model *model = w->model;

	if (line->listing == NO_LISTING)
		return model->lot[model->row[line->row].lot].must ? "unmet" : "optional";
	if (w->purchase->listing[line->listing].kept_line != SIZE_MAX)
		return "kept";
	if (model->seller[model->listing[line->listing].seller].terms == NULL)
		return "stock";
	if (line->qty == 0)
		return surplus_reason(w, line);
	if (!choice->others)
		return "only-offer";
	if (choice->cheaper > 0)
		return price_reason(w, line, choice);
	return cost_above(line, choice) > 0 ? surplus_reason(w, line) : "cheapest";
}

/* ---- the table ---- */

static const char *
seller_name(const struct purchase *p, size_t seller)
{
	return seller == p->owned ? OWNED_SELLER : p->terms[seller].name;
}

/* Who has the listing: of kept lines, who it was bought from. */
static const char *
listing_seller(const struct purchase *p, size_t listing)
{
	size_t line = p->listing[listing].kept_line;

	return line != SIZE_MAX ? p->input.kept->orders.row[line].seller
	                        : seller_name(p, p->model.listing[listing].seller);
}

static void
write_header(struct sheet *sheet)
{
	static const char *const column[] = {
	    "lot",    "part",  "color",    "condition",       "qty",   "surplus",
	    "seller", "price", "cheapest", "cheapest_seller", "above", "reason"};

	sheet_fields(sheet, column, sizeof column / sizeof *column);
	sheet_end_row(sheet);
}

static void
write_money(struct sheet *sheet, bool known, wide nano)
{
	if (known)
		sheet_decimal(sheet, nano, NANO_DECIMALS, 0);
	else
		sheet_field(sheet, "");
}

/* What is bought; of missing pieces, what the first row of the lot asks for. */
static void
write_goods(const struct why *w, const struct line *line, struct sheet *sheet)
{
	const struct purchase *p = w->purchase;
	const struct purchase_lot *lot = &p->lot[w->model->row[line->row].lot];

	sheet_field(sheet, lot->name);
	if (line->listing == NO_LISTING) {
		const struct need_row *row = &p->input.need->row[lot->need_row[0]];

		sheet_field(sheet, row->text[NEED_PART]);
		sheet_field(sheet, row->text[NEED_COLOR]);
		sheet_field(sheet, row->text[NEED_CONDITION]);
	} else {
		const struct purchase_listing *goods = &p->listing[line->listing];

		sheet_field(sheet, goods->part);
		sheet_field(sheet, goods->color);
		sheet_field(sheet, goods->condition);
	}
	sheet_qty(sheet, line->qty);
	sheet_qty(sheet, line->surplus);
}

static void
write_line(struct why *w, const struct line *line, struct sheet *sheet)
{
	struct choice choice = choice_of(w, line);
	bool bought = line->listing != NO_LISTING;

	write_goods(w, line, sheet);
	sheet_field(sheet, bought ? listing_seller(w->purchase, line->listing) : "");
	write_money(sheet, bought, choice.price);
	write_money(sheet, choice.has_cheapest, choice.cheapest);
	sheet_field(sheet,
	            choice.has_cheapest ? seller_name(w->purchase, choice.cheapest_seller) : "");
	write_money(sheet, bought && choice.has_cheapest, cost_above(line, &choice));
	sheet_field(sheet, reason_for(w, line, &choice));
	sheet_end_row(sheet);
}

void
why_write(const struct purchase *purchase, const struct plan *plan, struct sheet *sheet)
{
	struct why w = {.purchase = purchase, .model = &purchase->model, .plan = plan};

	plan_init(&w.other, w.model);
	plan_copy(&w.other, plan, w.model);
	index_fits(&w);
	count_bought(&w);
	for (size_t j = 0; j < w.model->listings; j++)
		if (plan->bought[j] > 0)
			add_lines(&w, j);
	add_missing(&w);
	if (w.lines > 0)
		qsort(w.line, w.lines, sizeof *w.line, compare_lines);
	write_header(sheet);
	for (size_t i = 0; i < w.lines; i++)
		write_line(&w, &w.line[i], sheet);
	plan_free(&w.other);
	free(w.first);
	free(w.fit);
	free(w.used);
	free(w.ordered);
	free(w.line);
}
