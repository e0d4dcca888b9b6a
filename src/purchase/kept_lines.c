#include "purchase/kept_lines.h"

#include "base/err.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* ---- who sold them ---- */

/* Lists the lines that are kept by seller, in their order. */
static void
index_sellers(struct purchase *p)
{
	const struct kept *kept = p->input.kept;
	size_t lines = kept->orders.count + 1;
	size_t *last = mem_alloc(lines * sizeof *last);

	p->kept_next = arena_alloc(&p->arena, lines * sizeof *p->kept_next);
	p->kept_first = arena_alloc(&p->arena, lines * sizeof *p->kept_first);
	for (size_t i = 0; i < kept->orders.count; i++) {
		size_t known = p->kept_sellers.count, seller;

		p->kept_next[i] = SIZE_MAX;
		if (kept->state[i] == KEPT_AFRESH)
			continue;
		seller = names_add(&p->kept_sellers, kept->orders.row[i].seller);
		if (seller == known)
			p->kept_first[seller] = i;
		else
			p->kept_next[last[seller]] = i;
		last[seller] = i;
	}
	free(last);
}

/* The first kept line of the seller, or SIZE_MAX. */
static size_t
first_line(const struct purchase *p, const char *seller)
{
	size_t number = names_find(&p->kept_sellers, seller);

	return number == SIZE_MAX ? SIZE_MAX : p->kept_first[number];
}

bool
kept_lines_have(const struct purchase *purchase, const char *seller)
{
	return first_line(purchase, seller) != SIZE_MAX;
}

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
	for (size_t i = first_line(p, seller); i != SIZE_MAX; i = p->kept_next[i]) {
		const struct order_line *other = &kept->orders.row[i];

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
	size_t lines = kept->orders.count + 1;
	const char **currency;
	bool fits = true;

	p->fits = memset(arena_alloc(&p->arena, lines), 0, lines);
	p->kept_currency = arena_alloc(&p->arena, lines * sizeof *p->kept_currency);
	p->kept_route = arena_alloc(&p->arena, lines * sizeof *p->kept_route);
	index_sellers(p);
	currency = mem_zero(p->kept_sellers.count, sizeof *currency);
	for (size_t s = 0; s < offers->sellers; s++) {
		size_t number = names_find(&p->kept_sellers, offers->seller[s]);

		if (number != SIZE_MAX)
			currency[number] = offers->currency[s];
	}
	for (size_t i = 0; i < p->kept_sellers.count; i++) {
		const struct order_line *line = &kept->orders.row[p->kept_first[i]];

		fits = check_kept_seller(p, line->seller, currency[i] != NULL ? currency[i] : "",
		                         line->line) &&
		       fits;
	}
	free(currency);
	return fits;
}

/* ---- baskets ---- */

/* Numbers a part, color and condition, and the class where it is given. */
static size_t
number_kind(struct names *kinds, const char *part, const char *color, const char *condition,
            const char *class)
{
	struct text kind = {0};
	size_t number;

	text_add(&kind, part, strlen(part) + 1);
	text_add(&kind, color, strlen(color) + 1);
	text_add(&kind, condition, strlen(condition) + 1);
	if (class != NULL)
		text_add(&kind, class, strlen(class) + 1);
	number = names_add_bytes(kinds, kind.bytes, kind.length);
	text_free(&kind);
	return number;
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

/* Adds an open line to the sums of its order; told and false: they are too large. */
static bool
add_to_basket(struct purchase *p, const struct order_line *line, int64_t grams, size_t class,
              struct order_sum *sum, struct names *kinds)
{
	const char *part = line->part, *color = line->color, *condition = line->condition;
	size_t known = kinds->count;
	bool first = number_kind(kinds, part, color, condition, NULL) == known;
	bool first_of_class;

	known = kinds->count;
	first_of_class = number_kind(kinds, part, color, condition, line->class) == known;
	if (order_line_add_to(&sum[0], line, grams, first) &&
	    (class == 0 || order_line_add_to(&sum[class], line, grams, first_of_class)))
		return true;
	tell_at(p->input.kept->orders.file, line->line,
	        "the order's sums are too large with this line");
	return false;
}

/* The sums of the seller's open lines; NULL: it has none. *kinds gets what they are, with and
 * without class. *fits: false where something was told. */
static struct order_sum *
basket_of(struct purchase *p, const struct seller_terms *terms, struct names *kinds, bool *fits)
{
	const struct kept *kept = p->input.kept;
	size_t size = (terms->terms.classes + 1) * sizeof(struct order_sum);
	struct order_sum *sum = NULL;

	for (size_t i = first_line(p, terms->name); i != SIZE_MAX; i = p->kept_next[i]) {
		const struct order_line *line = &kept->orders.row[i];
		int64_t grams;

		if (kept->state[i] != KEPT_OPEN)
			continue;
		if (sum == NULL)
			sum = memset(arena_alloc(&p->arena, size), 0, size);
		*fits = kept_grams(p, terms, line, &grams) && *fits;
		*fits = add_to_basket(p, line, grams, terms_sum(terms, line->class), sum, kinds) &&
		        *fits;
	}
	return sum;
}

/* Which listings of the seller are of kinds that its basket holds. */
static void
mark_held(struct purchase *p, size_t number, struct names *kinds)
{
	const struct model_seller *seller = &p->model.seller[number];
	size_t held = kinds->count;

	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct purchase_listing *pl = &p->listing[j];
		const char *part = pl->part, *color = pl->color, *condition = pl->condition;
		struct model_listing *listing = &p->model.listing[j];

		listing->in_basket = number_kind(kinds, part, color, condition, NULL) < held;
		listing->in_basket_class =
		    number_kind(kinds, part, color, condition, pl->offer->class) < held;
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
	struct names kinds = {0};
	struct order_sum *sum = basket_of(p, terms, &kinds, &fits);
	struct order order = {.sum = sum};

	if (sum != NULL && fits)
		mark_held(p, number, &kinds);
	names_free(&kinds);
	if (sum == NULL || !fits)
		return fits;
	if (!landed_cost(&terms->terms, &order, exact, &landed, NULL))
		die("the open order of \"%s\" is too large", text_show(&p->arena, terms->name));
	seller->basket = sum;
	seller->basket_cost = landed.home;
	p->terms[number].terms.order_cost = 0;
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
