#include "plan/model.h"

#include "base/mem.h"

#include <stdlib.h>
#include <string.h>

static const unsigned MICRO_TO_NANO = 1000;

size_t
model_sums(const struct model *model, size_t seller)
{
	const struct terms *terms = model->seller[seller].terms;

	return terms != NULL ? terms->classes + 1 : 1;
}

void
plan_init(struct plan *plan, const struct model *model)
{
	*plan = (struct plan){0};
	plan->bought = mem_zero(model->listings, sizeof *plan->bought);
	plan->chosen = mem_zero(model->listings, sizeof *plan->chosen);
	plan->used = mem_zero(model->edges, sizeof *plan->used);
}

void
plan_free(struct plan *plan)
{
	free(plan->bought);
	free(plan->chosen);
	free(plan->used);
	*plan = (struct plan){0};
}

void
plan_copy(struct plan *to, const struct plan *from, const struct model *model)
{
	struct plan kept = *to;

	*to = *from;
	to->bought = kept.bought;
	to->chosen = kept.chosen;
	to->used = kept.used;
	memcpy(to->bought, from->bought, model->listings * sizeof *to->bought);
	memcpy(to->chosen, from->chosen, model->listings * sizeof *to->chosen);
	memcpy(to->used, from->used, model->edges * sizeof *to->used);
}

bool
plan_same(const struct plan *a, const struct plan *b, const struct model *model)
{
	if (memcmp(a->bought, b->bought, model->listings * sizeof *a->bought) != 0 ||
	    memcmp(a->used, b->used, model->edges * sizeof *a->used) != 0)
		return false;
	for (size_t j = 0; j < model->listings; j++)
		if (a->bought[j] > 0 && a->chosen[j] != b->chosen[j])
			return false;
	return true;
}

bool
plan_better(const struct plan *a, const struct plan *b)
{
	if (a->unmet != b->unmet)
		return a->unmet < b->unmet;
	if (a->cost != b->cost)
		return a->cost < b->cost;
	return a->orders < b->orders;
}

/* Adds count pieces of a size to a sum; false past 64 bits. */
static bool
add_times(int64_t *sum, int64_t size, int64_t count)
{
	int64_t product;

	return !__builtin_mul_overflow(size, count, &product) &&
	       !__builtin_add_overflow(*sum, product, sum);
}

static bool
add_line(struct order_sum *sum, int64_t price, int64_t grams, int64_t pieces, bool new_kind)
{
	sum->basis[BASIS_PIECES] += pieces;
	sum->basis[BASIS_LOTS] += new_kind;
	return add_times(&sum->basis[BASIS_VALUE], price, pieces) &&
	       add_times(&sum->basis[BASIS_WEIGHT], grams, pieces);
}

static bool
sum_order(const struct model *model, const struct plan *plan, size_t seller, struct order_sum *sum)
{
	const struct model_seller *s = &model->seller[seller];
	size_t sums = model_sums(model, seller);
	/* A kind counts once in all lines and once in each class it is bought in. */
	unsigned char *seen = mem_zero(s->kinds * (sums + 1), 1);
	bool fits = true;

	memset(sum, 0, sums * sizeof *sum);
	for (size_t i = 0; i < s->listings; i++) {
		const struct model_listing *l = &model->listing[s->listing + i];
		int64_t pieces = plan->bought[s->listing + i];
		const struct model_break *brk;

		if (pieces == 0)
			continue;
		brk = &model->brk[l->brk + plan->chosen[s->listing + i]];
		fits = fits && add_line(&sum[0], brk->price, l->grams, pieces,
		                        !seen[l->kind] && model_counts_lot(l, 0));
		seen[l->kind] = 1;
		if (l->sum == 0)
			continue;
		fits = fits &&
		       add_line(&sum[l->sum], brk->price, l->grams, pieces,
		                !seen[s->kinds * l->sum + l->kind] && model_counts_lot(l, l->sum));
		seen[s->kinds * l->sum + l->kind] = 1;
	}
	free(seen);
	return fits;
}

bool
model_counts_lot(const struct model_listing *listing, size_t sum)
{
	return !(sum == 0 ? listing->in_basket : listing->in_basket_class);
}

/* Adds what the seller's basket holds already; false past 64 bits. */
static bool
add_basket(const struct model_seller *seller, struct order_sum *sum, size_t sums)
{
	bool fits = true;

	for (size_t k = 0; seller->basket != NULL && k < sums; k++)
		for (size_t i = 0; i < BASES; i++)
			fits = !__builtin_add_overflow(sum[k].basis[i], seller->basket[k].basis[i],
			                               &sum[k].basis[i]) &&
			       fits;
	return fits;
}

void
plan_sums(const struct model *model, const struct plan *plan, size_t seller, struct order_sum *sum)
{
	(void)sum_order(model, plan, seller, sum);
}

static const char *
check_listing(const struct model *model, const struct plan *plan, size_t number)
{
	const struct model_listing *l = &model->listing[number];
	int64_t bought = plan->bought[number], used = 0;

	for (size_t e = 0; e < l->edges; e++) {
		if (plan->used[l->edge + e] < 0)
			return "a negative use";
		used += plan->used[l->edge + e];
	}
	if (bought < 0 || bought > l->most || bought % l->step != 0)
		return "a quantity that the listing does not sell";
	if (used > bought)
		return "more used than bought";
	if (bought > 0 && (plan->chosen[number] >= l->breaks ||
	                   model->brk[l->brk + plan->chosen[number]].least > bought))
		return "a price break that is not reached";
	if (bought > 0 && l->edges == 0)
		return "a purchase that no row fits";
	return NULL;
}

/* Checks lots and labels; counts what is unmet. filled: by row, the pieces used for it. */
static const char *
check_lots(const struct model *model, struct plan *plan, const int64_t *filled)
{
	int64_t *label_pieces = mem_zero(model->labels, sizeof *label_pieces);
	int64_t *label_need = mem_zero(model->labels, sizeof *label_need);
	const char *broken = NULL;

	for (size_t r = 0; r < model->rows; r++) {
		const struct model_row *row = &model->row[r];

		plan->penalties += (wide)row->penalty * filled[r] * MICRO_TO_NANO;
		if (row->label == NO_LABEL)
			continue;
		label_pieces[row->label] += filled[r];
		label_need[row->label] += model->lot[row->lot].need;
	}
	for (size_t k = 0; k < model->labels; k++)
		if (label_pieces[k] != 0 && label_pieces[k] != label_need[k])
			broken = "rows together that are taken in part";
	for (size_t i = 0; i < model->lots; i++) {
		const struct model_lot *lot = &model->lot[i];
		int64_t sum = 0;

		for (size_t r = 0; r < lot->rows; r++)
			sum += filled[lot->row + r];
		if (sum > lot->need)
			broken = "a lot filled beyond its need";
		if (lot->must)
			plan->unmet += lot->need - sum;
		else
			plan->worth += (wide)lot->worth * sum * MICRO_TO_NANO;
	}
	free(label_pieces);
	free(label_need);
	return broken;
}

bool
plan_buys(const struct plan *plan, const struct model *model, size_t seller)
{
	const struct model_seller *s = &model->seller[seller];

	for (size_t j = s->listing; j < s->listing + s->listings; j++)
		if (plan->bought[j] != 0)
			return true;
	return false;
}

static const char *
cost_order(const struct model *model, struct plan *plan, size_t seller)
{
	const struct model_seller *s = &model->seller[seller];
	const struct scales exact = {NANO_DECIMALS, NANO_DECIMALS};
	struct order_sum *sum;
	struct landed landed;
	const char *broken = NULL;

	if (s->terms == NULL || !plan_buys(plan, model, seller))
		return NULL;
	sum = mem_alloc(model_sums(model, seller) * sizeof *sum);
	if (!sum_order(model, plan, seller, sum)) {
		broken = "an order too large for 64 bits";
	} else if (sum[0].basis[BASIS_PIECES] > 0) {
		struct order order = {.sum = sum};

		if (!add_basket(s, sum, model_sums(model, seller)) ||
		    !landed_cost(s->terms, &order, exact, &landed, NULL))
			broken = "an order too large for 128 bits";
		else if (landed.refused)
			broken = "an order that is not shipped";
		else if (landed.below_minimum)
			broken = "an order below its minimum";
		else
			plan->landed += landed.home - s->basket_cost;
		plan->order_cost += (wide)s->terms->order_cost * MICRO_TO_NANO;
		plan->orders++;
	}
	free(sum);
	return broken;
}

const char *
plan_cost(const struct model *model, struct plan *plan)
{
	int64_t *filled = mem_zero(model->rows, sizeof *filled);
	const char *broken = NULL, *other;
	int64_t used = 0;

	plan->cost = plan->landed = plan->penalties = plan->order_cost = plan->worth = 0;
	plan->unmet = plan->pieces = plan->surplus = 0;
	plan->orders = 0;
	for (size_t j = 0; j < model->listings && broken == NULL; j++) {
		const struct model_listing *l = &model->listing[j];

		if (plan->bought[j] == 0 && l->edges == 1 && plan->used[l->edge] == 0)
			continue; /* most of them */
		broken = check_listing(model, plan, j);
		plan->pieces += plan->bought[j];
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			filled[model->edge[e]] += plan->used[e];
			used += plan->used[e];
		}
	}
	plan->surplus = plan->pieces - used;
	other = check_lots(model, plan, filled);
	free(filled);
	for (size_t s = 0; s < model->sellers && broken == NULL; s++)
		broken = cost_order(model, plan, s);
	if (broken == NULL && model->max_orders != NO_LIMIT && plan->orders > model->max_orders)
		broken = "more orders than allowed";
	plan->cost = plan->landed + plan->penalties + plan->order_cost - plan->worth;
	return broken ? broken : other;
}
