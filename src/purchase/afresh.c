#include "purchase/afresh.h"

#include "base/err.h"

#include <stdlib.h>
#include <string.h>

static void
add_line(struct orders *orders, const struct order_line *line)
{
	MEM_ROOM(orders->row, orders->count, orders->room);
	orders->row[orders->count++] = *line;
}

static bool
is_paid(const struct order_line *line)
{
	return line->state != NULL && strcmp(line->state, kept_state_name(KEPT_PAID)) == 0;
}

/* What orders count in the search beyond their cost; nano. */
static wide
order_costs(const struct afresh_input *in, const struct totals *totals)
{
	wide all = 0;

	for (size_t i = 0; i < totals->orders; i++) {
		const struct seller_row *row = totals->row[i].terms;

		all += row != NULL && row->has_order_cost ? row->order_cost
		                                          : in->purchase.book->order_cost;
	}
	return all * (NANO / MICRO);
}

/* What a way costs, its paid lines aside. steer: penalties less worth, nano. */
static void
cost_way(const struct afresh_input *in, struct way *way, wide steer)
{
	struct orders open = {.file = in->drift->file};
	struct totals totals;

	for (size_t i = 0; i < way->orders.count; i++)
		if (!is_paid(&way->orders.row[i]))
			add_line(&open, &way->orders.row[i]);
	drift_totals(in->drift, &open, &in->drift->now, true, &totals);
	way->cost = totals.sum.home + steer + order_costs(in, &totals);
	totals_free(&totals);
	drift_totals(in->drift, &open, &in->drift->now, false, &totals);
	way->sum = sum_of(&totals);
	way->money = totals.sum.home * wide_power10(NANO_DECIMALS - in->purchase.home_decimals) +
	             steer + order_costs(in, &totals);
	for (size_t i = 0; i < totals.orders; i++)
		way->barred |= totals.row[i].below_minimum || totals.row[i].refused;
	totals_free(&totals);
	free(open.row);
}

/* Takes over a plan's lines: those that were kept are new as the others are. */
static void
take_lines(struct way *way, const struct orders *from, bool states)
{
	way->orders.states = states;
	for (size_t i = 0; i < from->count; i++) {
		struct order_line line = from->row[i];

		if (order_line_is_owned(&line))
			line.state = "";
		else if (!is_paid(&line))
			line.state = kept_state_name(KEPT_AFRESH);
		line.carry = NULL;
		add_line(&way->orders, &line);
	}
	orders_sort(&way->orders);
}

/* Is there another offer that a line cannot tell from its own? */
static bool
has_twins(const struct offers *offers, const struct order_line *line)
{
	size_t alike = 0;

	for (size_t i = 0; i < offers->count && *line->listing == '\0'; i++) {
		const struct offer *offer = &offers->offer[i];

		alike += offer->price == line->price && *offer->listing == '\0' &&
		         strcmp(offer->part, line->part) == 0 &&
		         strcmp(offer->color, line->color) == 0 &&
		         strcmp(offer->condition, line->condition) == 0 &&
		         strcmp(offer->class, line->class) == 0 &&
		         strcmp(offers->seller[offer->seller], line->seller) == 0;
	}
	return alike > 1;
}

/* Lines of one offer and lot are one. */
static void
merge_lines(struct orders *orders, const struct offers *offers)
{
	size_t count = 0;

	for (size_t i = 0; i < orders->count; i++) {
		struct order_line *line = &orders->row[i];
		struct order_line *last = count > 0 ? &orders->row[count - 1] : NULL;

		if (last != NULL && orders_compare(last, line) == 0 && last->grams == line->grams &&
		    strcmp(last->currency, line->currency) == 0 &&
		    strcmp(last->state, line->state) == 0 && !is_paid(line) &&
		    !has_twins(offers, line)) {
			last->qty += line->qty;
			last->surplus += line->surplus;
		} else {
			orders->row[count++] = *line;
		}
	}
	orders->count = count;
}

/* The lines as they stand, re-priced, with those that are paid and those of stock. */
static void
stand(const struct afresh_input *in, struct orders *out)
{
	const struct kept *paid = in->purchase.kept;

	for (size_t i = 0; i < in->standing->now.count; i++)
		add_line(out, &in->standing->now.row[i]);
	for (size_t i = 0; paid != NULL && i < paid->orders.count; i++)
		add_line(out, &paid->orders.row[i]);
	for (size_t i = 0; i < in->orders->count; i++)
		if (order_line_is_owned(&in->orders->row[i]) && in->orders->row[i].qty > 0)
			add_line(out, &in->orders->row[i]);
}

/* What the orders leave of the offers, and the orders as lines that are kept. */
static void
set_apart(const struct afresh_input *in, struct afresh *afresh)
{
	const struct kept *paid = in->purchase.kept;
	struct orders *kept = &afresh->kept_lines.orders;

	afresh->left = *in->purchase.offers;
	afresh->left.offer = mem_copy(in->purchase.offers->offer, in->purchase.offers->count,
	                              sizeof *afresh->left.offer);
	for (size_t i = 0; i < afresh->left.count; i++) {
		struct offer *offer = &afresh->left.offer[i];

		if (offer->qty != QTY_UNLIMITED)
			offer->qty -= in->drift->repricing->taken[offer->listing_number];
	}
	kept->file = in->drift->file;
	kept->states = true;
	for (size_t i = 0; i < in->standing->now.count; i++) {
		struct order_line line = in->standing->now.row[i];

		line.state = kept_state_name(KEPT_OPEN);
		add_line(kept, &line);
	}
	for (size_t i = 0; paid != NULL && i < paid->orders.count; i++)
		add_line(kept, &paid->orders.row[i]);
	orders_sort(kept);
	afresh->kept_lines.state = mem_alloc((kept->count + 1) * sizeof *afresh->kept_lines.state);
	for (size_t i = 0; i < kept->count; i++)
		afresh->kept_lines.state[i] = is_paid(&kept->row[i]) ? KEPT_PAID : KEPT_OPEN;
}

static bool
has_order(const struct afresh_input *in, const char *seller)
{
	for (size_t i = 0; i < in->standing->now.count; i++)
		if (strcmp(in->standing->now.row[i].seller, seller) == 0)
			return true;
	return false;
}

/* Leaves out all sellers but those of the orders. */
static void
stay_with(const struct afresh_input *in, struct afresh *afresh, struct purchase_input *input)
{
	const struct offers *offers = input->offers;
	const char **without =
	    arena_alloc(&afresh->arena, (input->withouts + offers->sellers) * sizeof *without);
	size_t count = 0;

	for (size_t i = 0; i < input->withouts; i++)
		without[count++] = input->without[i];
	for (size_t s = 0; s < offers->sellers; s++)
		if (!has_order(in, offers->seller[s]))
			without[count++] = offers->seller[s];
	input->without = without;
	input->withouts = count;
}

/* The different sellers of lines that are not paid. */
static size_t
orders_of(const struct orders *orders)
{
	struct names sellers = {0};
	size_t count;

	for (size_t i = 0; i < orders->count; i++)
		if (!order_line_is_owned(&orders->row[i]) && !is_paid(&orders->row[i]))
			names_add(&sellers, orders->row[i].seller);
	count = sellers.count;
	names_free(&sellers);
	return count;
}

/* Buys again what the orders lack: of anybody, or, where that makes too many orders, where there
 * are orders already. */
static void
search_again(const struct afresh_input *in, struct afresh *afresh, struct purchase_input *input)
{
	replan_search(&afresh->again, input, in->effort);
	if (orders_of(&afresh->again.orders) <= input->max_orders)
		return;
	replan_free(&afresh->again);
	afresh->again = (struct replan){0};
	stay_with(in, afresh, input);
	replan_search(&afresh->again, input, in->effort);
}

/* Keeping the orders: buying again what they lack. */
static void
plan_kept(const struct afresh_input *in, struct afresh *afresh)
{
	struct purchase_input input = in->purchase;
	bool states = input.kept != NULL;
	struct orders standing = {0};
	wide steer = 0;

	if (in->may_lack) {
		set_apart(in, afresh);
		input.offers = &afresh->left;
		input.kept = &afresh->kept_lines;
		search_again(in, afresh, &input);
		take_lines(&afresh->kept, &afresh->again.orders, states);
		afresh->kept.unmet = afresh->again.unmet;
		steer = afresh->again.penalties - afresh->again.worth;
	} else {
		stand(in, &standing);
		take_lines(&afresh->kept, &standing, states);
		orders_free(&standing);
	}
	merge_lines(&afresh->kept.orders, in->purchase.offers);
	cost_way(in, &afresh->kept, steer);
	afresh->kept.barred |= (size_t)afresh->kept.sum.orders > input.max_orders;
	for (size_t i = 0; i < in->standing->now.count; i++)
		afresh->kept.barred |= purchase_leaves_out(&input, in->standing->now.row[i].seller);
}

static void
plan_afresh(const struct afresh_input *in, struct afresh *afresh)
{
	struct purchase_input input = in->purchase;

	replan_search(&afresh->fresh, &input, in->effort);
	take_lines(&afresh->found, &afresh->fresh.orders, input.kept != NULL);
	afresh->found.unmet = afresh->fresh.unmet;
	cost_way(in, &afresh->found, afresh->fresh.penalties - afresh->fresh.worth);
}

/* A plan that saves less than a search would find worth proving is no other plan. */
static bool
is_worth_it(const struct afresh_input *in, const struct way *found, const struct way *kept)
{
	wide half = wide_power10(NANO_DECIMALS - in->purchase.home_decimals) / 2;

	if (kept->barred)
		return true;
	if (kept->unmet != found->unmet)
		return found->unmet < kept->unmet;
	return found->cost + half <= kept->cost && found->money < kept->money;
}

void
afresh_make(struct afresh *afresh, const struct afresh_input *input)
{
	*afresh = (struct afresh){.may_lack = input->may_lack};
	plan_afresh(input, afresh);
	plan_kept(input, afresh);
	afresh->keep = !is_worth_it(input, &afresh->found, &afresh->kept);
}

void
afresh_free(struct afresh *afresh)
{
	replan_free(&afresh->fresh);
	if (afresh->may_lack)
		replan_free(&afresh->again);
	free(afresh->kept.orders.row);
	free(afresh->found.orders.row);
	free(afresh->kept_lines.orders.row);
	free(afresh->kept_lines.state);
	free(afresh->left.offer);
	arena_free(&afresh->arena);
}

const struct way *
afresh_plan(const struct afresh *afresh)
{
	return afresh->keep ? &afresh->kept : &afresh->found;
}

bool
afresh_is_proved(const struct afresh *afresh)
{
	const struct way *plan = afresh_plan(afresh);

	return plan->unmet == afresh->fresh.unmet &&
	       plan->unmet <= afresh->fresh.result.unmet_least &&
	       search_proves(&afresh->fresh.purchase.model, plan->cost, afresh->fresh.result.bound);
}
