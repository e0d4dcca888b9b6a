#include "purchase/kept_lines.h"

#include "base/err.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* ---- who sold them ---- */

/* Kept lines must have terms that speak for their seller, and its currency: told and false. */
static bool
check_kept_seller(struct purchase *p, const char *seller, const char *currency, size_t line)
{
	const struct kept *kept = p->input.kept;
	struct seller_terms terms;
	bool fits = true;

	if (!terms_compile(p->input.book, seller, currency, NULL, 0, kept->orders.file, line,
	                   &p->arena, &terms))
		return false;
	for (size_t i = 0; i < kept->orders.count; i++) {
		const struct order_line *other = &kept->orders.row[i];

		if (kept->state[i] == KEPT_AFRESH || strcmp(other->seller, seller) != 0)
			continue;
		p->kept_currency[i] = terms.currency;
		p->kept_route[i] =
		    *other->route != '\0' || terms.row == NULL ? other->route : terms.row->route;
		if (*other->currency == '\0' || strcmp(other->currency, terms.currency) == 0)
			continue;
		tell_at(kept->orders.file, other->line,
		        "currency \"%s\" is not that of the orders of \"%s\", which is \"%s\"",
		        text_show(&p->arena, other->currency), text_show(&p->arena, seller),
		        terms.currency);
		fits = false;
	}
	return fits;
}

bool
kept_lines_start(struct purchase *p)
{
	const struct kept *kept = p->input.kept;
	const struct offers *offers = p->input.offers;
	struct names seen = {0};
	size_t lines = kept->orders.count + 1;
	bool fits = true;

	p->fits = memset(arena_alloc(&p->arena, lines), 0, lines);
	p->kept_currency = arena_alloc(&p->arena, lines * sizeof *p->kept_currency);
	p->kept_route = arena_alloc(&p->arena, lines * sizeof *p->kept_route);
	for (size_t i = 0; i < kept->orders.count; i++) {
		const struct order_line *line = &kept->orders.row[i];
		const char *currency = "";
		size_t before = seen.count;

		if (kept->state[i] == KEPT_AFRESH)
			continue;
		names_add(&seen, line->seller);
		if (seen.count == before)
			continue;
		for (size_t s = 0; s < offers->sellers; s++)
			if (strcmp(offers->seller[s], line->seller) == 0)
				currency = offers->currency[s];
		fits = check_kept_seller(p, line->seller, currency, line->line) && fits;
	}
	names_free(&seen);
	return fits;
}

/* ---- baskets ---- */

/* A kept line that comes first of its part, color and condition; in its class where asked. */
static bool
is_first_of_kind(const struct kept *kept, size_t number, bool by_class)
{
	const struct order_line *line = &kept->orders.row[number];

	for (size_t i = 0; i < number; i++) {
		const struct order_line *other = &kept->orders.row[i];

		if (kept->state[i] == KEPT_OPEN && strcmp(other->seller, line->seller) == 0 &&
		    strcmp(other->part, line->part) == 0 &&
		    strcmp(other->color, line->color) == 0 &&
		    strcmp(other->condition, line->condition) == 0 &&
		    (!by_class || strcmp(other->class, line->class) == 0))
			return false;
	}
	return true;
}

/* What an open line weighs a piece, where its order goes by weight; told and false: unknown. */
static bool
kept_grams(struct purchase *p, const struct seller_terms *terms, const struct order_line *line,
           int64_t *grams)
{
	*grams = line->grams;
	if (*grams == NOT_GIVEN && p->input.weights != NULL)
		*grams = weights_find(p->input.weights, line->part);
	if (*grams != NOT_GIVEN)
		return true;
	*grams = 0;
	if (!terms_weighs(terms, line->class))
		return true;
	tell_at(p->input.kept->orders.file, line->line,
	        "seller \"%s\" charges by weight, and nothing says what a piece of \"%s\" weighs: "
	        "add grams to the line, or give --weights",
	        text_show(&p->arena, line->seller), text_show(&p->arena, line->part));
	return false;
}

/* The sums of the seller's open lines; NULL: it has none. *fits: false where something was told. */
static struct order_sum *
basket_of(struct purchase *p, const struct seller_terms *terms, bool *fits)
{
	const struct kept *kept = p->input.kept;
	struct order_sum *sum = NULL;

	for (size_t i = 0; kept != NULL && i < kept->orders.count; i++) {
		const struct order_line *line = &kept->orders.row[i];
		size_t class, size;
		int64_t grams;

		if (kept->state[i] != KEPT_OPEN || strcmp(line->seller, terms->name) != 0)
			continue;
		class = terms_sum(terms, line->class);
		size = (terms->terms.classes + 1) * sizeof *sum;
		if (sum == NULL)
			sum = memset(arena_alloc(&p->arena, size), 0, size);
		*fits = kept_grams(p, terms, line, &grams) && *fits;
		if (!order_line_add_to(&sum[0], line, grams, is_first_of_kind(kept, i, false)) ||
		    (class != 0 && !order_line_add_to(&sum[class], line, grams,
		                                      is_first_of_kind(kept, i, true)))) {
			tell_at(kept->orders.file, line->line,
			        "the order's sums are too large with this line");
			*fits = false;
		}
	}
	return sum;
}

/* Which listings of the seller are of kinds that its basket holds. */
static void
mark_held(struct purchase *p, size_t number)
{
	const struct kept *kept = p->input.kept;
	const struct model_seller *held = &p->model.seller[number];
	const char *seller = p->terms[number].name;

	for (size_t j = held->listing; j < held->listing + held->listings; j++)
		for (size_t i = 0; i < kept->orders.count; i++) {
			const struct order_line *line = &kept->orders.row[i];
			const struct purchase_listing *pl = &p->listing[j];

			if (kept->state[i] != KEPT_OPEN || strcmp(line->seller, seller) != 0 ||
			    strcmp(line->part, pl->part) != 0 ||
			    strcmp(line->color, pl->color) != 0 ||
			    strcmp(line->condition, pl->condition) != 0)
				continue;
			p->model.listing[j].in_basket = true;
			if (strcmp(line->class, pl->offer->class) == 0)
				p->model.listing[j].in_basket_class = true;
		}
}

bool
kept_lines_set_basket(struct purchase *p, size_t number)
{
	const struct seller_terms *terms = &p->terms[number];
	struct model_seller *seller = &p->model.seller[number];
	const struct scales exact = {NANO_DECIMALS, NANO_DECIMALS};
	struct landed landed;
	bool fits = true;
	struct order_sum *sum = basket_of(p, terms, &fits);
	struct order order = {.sum = sum};

	if (sum == NULL || !fits)
		return fits;
	if (!landed_cost(&terms->terms, &order, exact, &landed, NULL))
		die("the open order of \"%s\" is too large", text_show(&p->arena, terms->name));
	seller->basket = sum;
	seller->basket_cost = landed.home;
	p->terms[number].terms.order_cost = 0;
	mark_held(p, number);
	return fits;
}

/* ---- from a plan ---- */

/* Lets a kept listing's pieces that are left serve a row in place of new ones. */
static void
take_over(const struct purchase *p, struct plan *plan, size_t kept, size_t edge)
{
	const struct model *model = &p->model;
	int64_t left = model->listing[kept].most;

	for (size_t e = 0; e < model->listing[kept].edges; e++)
		left -= plan->used[model->listing[kept].edge + e];
	for (size_t j = 0; j < model->listings && left > 0; j++) {
		const struct model_listing *l = &model->listing[j];

		if (model->seller[l->seller].terms == NULL)
			continue;
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			int64_t part = plan->used[e] < left ? plan->used[e] : left;

			if (model->edge[e] != model->edge[edge])
				continue;
			plan->used[e] -= part;
			plan->used[edge] += part;
			plan->bought[kept] += part;
			left -= part;
		}
	}
}

void
kept_lines_use(const struct purchase *purchase, struct plan *plan)
{
	const struct model *model = &purchase->model;

	if (purchase->kept == SIZE_MAX)
		return;
	for (size_t j = 0; j < model->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		if (l->seller != purchase->kept)
			continue;
		plan->bought[j] = 0;
		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			plan->bought[j] += plan->used[e];
		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			take_over(purchase, plan, j, e);
	}
	(void)plan_cost(model, plan);
}

int64_t
kept_lines_pieces(const struct purchase *purchase, const struct plan *plan, int64_t *unused,
                  bool told)
{
	const struct kept *kept = purchase->input.kept;
	int64_t pieces = 0, *used;
	size_t faults = 0;

	*unused = 0;
	if (kept == NULL)
		return 0;
	used = mem_zero(kept->orders.count, sizeof *used);
	for (size_t j = 0; j < purchase->model.listings; j++) {
		const struct model_listing *l = &purchase->model.listing[j];

		if (purchase->listing[j].kept_line == SIZE_MAX)
			continue;
		for (size_t e = l->edge; e < l->edge + l->edges; e++)
			used[purchase->listing[j].kept_line] += plan->used[e];
	}
	for (size_t i = 0; i < kept->orders.count; i++) {
		const struct order_line *line = &kept->orders.row[i];
		struct arena arena = {0};

		if (kept->state[i] == KEPT_AFRESH)
			continue;
		pieces += line->qty;
		*unused += line->qty - used[i];
		if (told && line->qty > used[i] && faults++ < FAULTS_TOLD)
			tell_at(kept->orders.file, line->line,
			        "%lld of %lld pieces of %s, %s are %s and not needed any more",
			        (long long)(line->qty - used[i]), (long long)line->qty,
			        text_show(&arena, line->part), text_show(&arena, line->color),
			        kept_state_name(kept->state[i]));
		arena_free(&arena);
	}
	if (faults > FAULTS_TOLD)
		tell("and %zu more lines that are not needed in full", faults - FAULTS_TOLD);
	free(used);
	return pieces;
}

/* A kept line's fields of the columns that are carried. */
static const char *const *
kept_carry(const struct purchase *p, const struct order_line *line)
{
	const struct orders *orders = &p->input.kept->orders;
	const struct offers *offers = p->input.offers;
	const char **carry = arena_alloc((struct arena *)(uintptr_t)&p->arena,
	                                 (offers->carried + 1) * sizeof *carry);

	for (size_t i = 0; i < offers->carried; i++) {
		carry[i] = "";
		for (size_t k = 0; k < orders->carried; k++)
			if (text_equal_fold(orders->carry[k], offers->carry[i]))
				carry[i] = line->carry[k];
	}
	return carry;
}

struct order_line
kept_lines_written(const struct purchase *p, size_t number, const char *lot)
{
	struct order_line line;

	assert(p->input.kept != NULL); /* or no listing has a kept line */
	line = p->input.kept->orders.row[number];
	line.lot = lot;
	line.qty = line.surplus = 0;
	line.currency = p->kept_currency[number];
	line.route = p->kept_route[number];
	line.state = kept_state_name(p->input.kept->state[number]);
	line.carry = kept_carry(p, &line);
	return line;
}
