/*
 * lot-drift: re-prices standing orders against new offers, and says what moved.
 */
#include "base/err.h"
#include "base/opts.h"
#include "purchase/figures.h"
#include "purchase/purchase_files.h"
#include "purchase/replan.h"
#include "trade/reprice.h"
#include "trade/totals.h"

#include <stdlib.h>
#include <string.h>

enum {
	KEY_WAS_SELLERS = OPT_LONG,
	KEY_WAS_CHARGES,
	KEY_WAS_RATES,
	KEY_WAS_ON,
	KEY_NEED,
	KEY_EFFORT,
	KEY_NO_PLAN,
	KEY_SUMMARY,
	KEY_REPLAN,
	KEY_ENCODING
};

static const struct opt opts[] = {
    OPTS_COMMON,
    OPT_OFFERS,
    OPTS_TERMS,
    {KEY_WAS_SELLERS, "was-sellers", "FILE", "sellers when the orders were made", false},
    {KEY_WAS_CHARGES, "was-charges", "FILE", "charges then; default: those of now", false},
    {KEY_WAS_RATES, "was-rates", "FILE", "exchange rates then; default: those of now", false},
    {KEY_WAS_ON, "was-on", "DATE", "rates then were those of that day", false},
    {KEY_NEED, "need", "FILE", "the need to plan afresh for; default: what the lines are for",
     false},
    OPTS_LIMITS,
    {KEY_EFFORT, "effort", "N", "work limit of each search, the same on any machine", false},
    {KEY_NO_PLAN, "no-plan", NULL, "plan nothing afresh", false},
    {KEY_SUMMARY, "summary", "FILE", "write what moved the total, as item,amount,...", false},
    {KEY_REPLAN, "replan", "FILE", "write the plan made afresh, as order lines", false},
    OPT_DELIMITER,
    OPT_ENCODING(KEY_ENCODING),
};

static const struct tool tool = {
    .name = "lot-drift",
    .purpose = "Re-prices standing orders against new offers, charges and rates, and says what\n"
               "moved: line by line, and the total split into what is gone, prices, charges and\n"
               "rates, beside what planning afresh would save.",
    .synopsis = "-o FILE... -s FILE [-c FILE] [-x FILE] [-w FILE] [-C CODE]\n"
                "                 [--was-charges FILE] [--was-rates FILE] [option...] "
                "< orders.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 1 pieces are gone or orders cannot be placed, need stays unmet\n"
             "or a search was cut short, 2 trouble. Costs are estimates: the seller's invoice and\n"
             "local tax rules decide.",
};

/* Enough to prove what people really have; see lot-split(1). */
#define EFFORT_DEFAULT UINT64_C(3000000000)

struct settings {
	struct purchase_options purchase;
	struct terms_options was; /* NULL where nothing is said of before */
	const char *need, *summary, *replan;
	uint64_t effort;
	struct table_form form; /* of stdin */
	bool effort_given, no_plan, quiet;
};

/* ---- options ---- */

static void
take_option(struct settings *set, struct opt_reader *reader, int key, const char *value)
{
	switch (key) {
	case KEY_WAS_SELLERS:
		set->was.sellers = opts_file(reader, value);
		break;
	case KEY_WAS_CHARGES:
		set->was.charges = opts_file(reader, value);
		break;
	case KEY_WAS_RATES:
		set->was.rates = opts_file(reader, value);
		break;
	case KEY_WAS_ON:
		set->was.form.on = terms_day("was-on", value);
		break;
	case KEY_NEED:
		set->need = opts_file(reader, value);
		break;
	case KEY_EFFORT:
		set->effort = option_effort(value);
		set->effort_given = true;
		break;
	case KEY_NO_PLAN:
		set->no_plan = true;
		break;
	case KEY_SUMMARY:
		set->summary = value;
		break;
	case KEY_REPLAN:
		set->replan = value;
		break;
	case 'D':
		set->form.delimiter = opts_delimiter(value);
		break;
	case KEY_ENCODING:
		set->form.encoding = value;
		break;
	default:
		purchase_option(&set->purchase, reader, key, value);
	}
}

/* What was, where it is not said, is what is; so what is must be said. */
static void
check_was(struct settings *set)
{
	const struct terms_options *now = &set->purchase.terms;

	if (set->was.charges != NULL && now->charges == NULL)
		opts_usage("--was-charges says what the charges were, not what they are: --charges "
		           "FILE");
	if (set->was.rates != NULL && now->rates == NULL)
		opts_usage("--was-rates says what the rates were, not what they are: --rates FILE");
	if (set->was.form.on != NO_DATE && now->rates == NULL)
		opts_usage("--was-on says which rates were used: give --rates");
	if (set->was.form.on != NO_DATE && set->was.rates == NULL)
		set->was.rates = now->rates;
	set->was.form.base = now->form.base;
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {.effort = EFFORT_DEFAULT};
	struct opt_reader reader;
	const char *value;
	char **operands;
	int key;

	purchase_options_start(&set.purchase);
	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		take_option(&set, &reader, key, value);
	set.quiet = reader.quiet;
	if (opts_operands(&reader, &operands) > 0)
		opts_usage("the order lines come from stdin, there are no operands");
	purchase_options_end(&set.purchase);
	check_was(&set);
	if (set.no_plan && set.need != NULL)
		opts_usage("--need is what to plan afresh for, and --no-plan plans nothing");
	if (set.no_plan && set.replan != NULL)
		opts_usage("--replan is the plan made afresh, and --no-plan plans nothing");
	return set;
}

/* ---- reading ---- */

/* What an order costs beyond its prices, then or now; borrowed. */
struct conditions {
	const struct sellers *sellers;
	const struct charges *charges;
	const struct rates *rates;
};

/* All that is read, and what the lines are: standing, paid, or stock in use. */
struct inputs {
	struct orders orders; /* sorted */
	struct purchase_files market;
	struct terms_files was_files;
	struct conditions was, now;
	const struct order_line **standing; /* in the order of the lines; owned */
	size_t standings;
	struct kept paid;
	struct stock owned;
	int64_t paid_pieces, owned_pieces;
	struct arena arena;
};

static const char *const columns[] = {
    "seller",    "route",        "class",      "lot",       "part",        "color",  "condition",
    "qty",       "available",    "pieces",     "price",     "currency",    "amount", "listing",
    "new_price", "new_currency", "new_amount", "new_class", "new_listing", "change"};

enum { COLUMNS = sizeof columns / sizeof *columns };

/* Which carried column says what the state of a line is, or NO_COLUMN; carried columns must not be
 * called as those of the table are. */
static size_t
state_column(const struct orders *orders, struct faults *faults)
{
	size_t state = NO_COLUMN;
	struct arena arena = {0};

	for (size_t i = 0; i < orders->carried; i++) {
		if (text_equal_fold(orders->carry[i], "state"))
			state = i;
		for (size_t k = 0; k < COLUMNS; k++)
			if (text_equal_fold(orders->carry[i], columns[k]))
				fault(faults, 0,
				      "the column \"%s\" would stand twice in the table: rename it",
				      text_show(&arena, orders->carry[i]));
	}
	arena_free(&arena);
	return state;
}

static void
add_paid(struct inputs *in, const struct order_line *line)
{
	struct kept *paid = &in->paid;

	MEM_ROOM(paid->orders.row, paid->orders.count, paid->orders.room);
	paid->orders.row[paid->orders.count] = *line;
	paid->orders.row[paid->orders.count++].state = kept_state_name(KEPT_PAID);
	in->paid_pieces += line->qty;
}

static void
add_owned(struct inputs *in, const struct order_line *line)
{
	struct stock *owned = &in->owned;

	MEM_ROOM(owned->row, owned->count, owned->room);
	owned->row[owned->count++] = (struct stock_row){.part = line->part,
	                                                .color = line->color,
	                                                .condition = line->condition,
	                                                .place = "",
	                                                .qty = line->qty,
	                                                .grams = line->grams,
	                                                .line = line->line};
	in->owned_pieces += line->qty;
}

static void
sort_out(struct inputs *in)
{
	struct orders *orders = &in->orders;
	struct faults faults = {.file = orders->file};
	size_t column = state_column(orders, &faults);

	in->standing = mem_alloc((orders->count + 1) * sizeof *in->standing);
	in->paid.orders.file = orders->file;
	for (size_t i = 0; i < orders->count; i++) {
		const struct order_line *line = &orders->row[i];
		enum kept_state state = KEPT_AFRESH;

		if (line->surplus > line->qty)
			fault(&faults, line->line, "surplus is more than qty: it is part of it");
		if (column != NO_COLUMN && !kept_state_named(line->carry[column], &state))
			fault(&faults, line->line,
			      "unknown \"state\" value \"%s\": use one of paid, open, new",
			      text_show(&in->arena, line->carry[column]));
		if (line->qty == 0)
			continue;
		if (order_line_is_owned(line))
			add_owned(in, line);
		else if (state == KEPT_PAID)
			add_paid(in, line);
		else
			in->standing[in->standings++] = line;
	}
	faults_end(&faults);
	in->paid.state = mem_alloc((in->paid.orders.count + 1) * sizeof *in->paid.state);
	for (size_t i = 0; i < in->paid.orders.count; i++)
		in->paid.state[i] = KEPT_PAID;
}

static void
set_conditions(struct inputs *in)
{
	const struct terms_files *now = &in->market.terms, *was = &in->was_files;

	in->now = (struct conditions){now->sellers, now->charges, now->rates};
	in->was = in->now;
	if (was->sellers != NULL)
		in->was.sellers = was->sellers;
	if (was->charges != NULL)
		in->was.charges = was->charges;
	if (was->rates != NULL)
		in->was.rates = was->rates;
}

/* A line without a route has its seller's. */
static void
set_routes(struct inputs *in)
{
	for (size_t i = 0; i < in->orders.count; i++) {
		struct order_line *line = &in->orders.row[i];
		const struct seller_row *row = sellers_find(in->was.sellers, line->seller);

		if (*line->route == '\0' && order_line_is_owned(line))
			line->route = OWNED_ROUTE;
		else if (*line->route == '\0' && row != NULL)
			line->route = row->route;
	}
}

static void
read_inputs(const struct settings *set, struct inputs *in)
{
	struct tariff_book was;

	*in = (struct inputs){0};
	orders_read(&in->orders, table_open("-", &set->form));
	if (set->need != NULL)
		in->market.need = need_read(table_open(set->need, NULL));
	purchase_files_read_market(&in->market, &set->purchase, NULL, 0, set->quiet);
	terms_files_read(&in->was_files, &set->was);
	set_conditions(in);
	set_routes(in);
	orders_sort(&in->orders);
	sort_out(in);
	was = (struct tariff_book){.sellers = in->was.sellers, .charges = in->was.charges};
	for (size_t i = 0; i < in->standings; i++)
		terms_uses(&was, in->standing[i]->seller, in->standing[i]->currency,
		           &in->market.used);
	purchase_files_settle(&in->market, &set->purchase);
}

static void
free_inputs(struct inputs *in)
{
	orders_free(&in->orders);
	purchase_files_free(&in->market);
	terms_files_free(&in->was_files);
	free(in->standing);
	free(in->paid.orders.row);
	free(in->paid.state);
	free(in->owned.row);
	arena_free(&in->arena);
}

/* ---- money ---- */

/* What orders come to, or the difference of two such. */
struct sum {
	wide amount; /* minor units of the home currency */
	int64_t orders, pieces;
};

/* What moved the total, step by step. */
enum step { STEP_WAS, STEP_GONE, STEP_PRICES, STEP_CHARGES, STEP_RATES, STEPS };

static void
make_totals(const struct inputs *in, const struct orders *orders, const struct conditions *terms,
            bool exact, struct totals *totals)
{
	const char *home = in->market.book.home;
	const struct totals_input input = {.orders = orders,
	                                   .sellers = terms->sellers,
	                                   .charges = terms->charges,
	                                   .rates = terms->rates,
	                                   .weights = in->market.terms.weights,
	                                   .currency = *home != '\0' ? home : NULL,
	                                   .exact = exact};

	*totals = (struct totals){0};
	totals_make(totals, &input);
}

static struct sum
sum_of(const struct totals *totals)
{
	return (struct sum){totals->sum.home, (int64_t)totals->orders, totals->sum.pieces};
}

static struct sum
difference(struct sum a, struct sum b)
{
	return (struct sum){a.amount - b.amount, a.orders - b.orders, a.pieces - b.pieces};
}

static void
add_line(struct orders *orders, const struct order_line *line)
{
	MEM_ROOM(orders->row, orders->count, orders->room);
	orders->row[orders->count++] = *line;
}

/* The standing lines: all of them as they were, what is left of them as it was, and as it is. */
struct lines {
	struct orders all, left, now;
};

/* Pieces of one new offer for one lot are one line, whatever lines they come from. */
static void
add_now(struct lines *lines, const struct offer **from, const struct repriced *row,
        const struct offers *offers)
{
	struct order_line line = repriced_as_is(row, offers);

	for (size_t i = lines->now.count; i-- > 0;)
		if (from[i] == row->offer && strcmp(lines->now.row[i].lot, line.lot) == 0) {
			lines->now.row[i].qty += line.qty;
			lines->now.row[i].surplus += line.surplus;
			return;
		}
	from[lines->now.count] = row->offer;
	add_line(&lines->now, &line);
}

static void
make_lines(const struct inputs *in, const struct repricing *repricing, struct lines *lines)
{
	const struct offer **from = mem_alloc((repricing->count + 1) * sizeof *from);

	*lines = (struct lines){0};
	lines->all.file = lines->left.file = lines->now.file = in->orders.file;
	for (size_t i = 0; i < in->standings; i++)
		add_line(&lines->all, in->standing[i]);
	for (size_t i = 0; i < repricing->count; i++) {
		const struct repriced *row = &repricing->row[i];
		struct order_line was = repriced_as_was(row);

		if (row->pieces == 0)
			continue;
		add_line(&lines->left, &was);
		add_now(lines, from, row, &in->market.offers);
	}
	free(from);
}

static void
free_lines(struct lines *lines)
{
	orders_free(&lines->all);
	orders_free(&lines->left);
	orders_free(&lines->now);
}

/* The sums after each step; and the totals that the orders come to now. */
static void
take_steps(const struct inputs *in, const struct lines *lines, struct sum *sum, struct totals *now)
{
	const struct conditions charged = {in->now.sellers, in->now.charges, in->was.rates};
	const struct {
		const struct orders *orders;
		const struct conditions *terms;
	} step[STEPS] = {[STEP_WAS] = {&lines->all, &in->was},
	                 [STEP_GONE] = {&lines->left, &in->was},
	                 [STEP_PRICES] = {&lines->now, &in->was},
	                 [STEP_CHARGES] = {&lines->now, &charged},
	                 [STEP_RATES] = {&lines->now, &in->now}};

	for (int i = 0; i < STEPS; i++) {
		struct totals totals;

		make_totals(in, step[i].orders, step[i].terms, false, &totals);
		sum[i] = sum_of(&totals);
		if (i == STEP_RATES)
			*now = totals;
		else
			totals_free(&totals);
	}
}

/* ---- planning ---- */

/* A way to get what is needed. */
struct way {
	struct orders orders; /* with paid lines and stock in use; sorted */
	struct sum sum;
	wide cost;  /* nano: what lot-split makes least */
	wide money; /* minor units and nano: the same, as invoices round it */
	int64_t unmet;
	bool barred; /* an order cannot be placed as it is, or may not by the options */
};

struct plans {
	struct replan afresh, again;
	bool searched_again; /* something was missing, or may be */
	struct way kept, found;
	bool keep; /* nothing found is better than the orders as they stand */
	struct orders repriced;
	struct kept kept_lines;
	struct offers left; /* what the orders leave of the offers */
	struct need *need;
};

static bool
is_paid(const struct order_line *line)
{
	return line->state != NULL && strcmp(line->state, kept_state_name(KEPT_PAID)) == 0;
}

/* What orders count in the search beyond their cost; nano. */
static wide
order_costs(const struct inputs *in, const struct totals *totals)
{
	wide all = 0;

	for (size_t i = 0; i < totals->orders; i++) {
		const struct seller_row *row = totals->row[i].terms;

		all += row != NULL && row->has_order_cost ? row->order_cost
		                                          : in->market.book.order_cost;
	}
	return all * (NANO / MICRO);
}

/* What a way costs, its paid lines aside. steer: penalties less worth, nano. */
static void
cost_way(const struct inputs *in, struct way *way, wide steer)
{
	struct orders open = {.file = in->orders.file};
	struct totals totals;

	for (size_t i = 0; i < way->orders.count; i++)
		if (!is_paid(&way->orders.row[i]))
			add_line(&open, &way->orders.row[i]);
	make_totals(in, &open, &in->now, true, &totals);
	way->cost = totals.sum.home + steer + order_costs(in, &totals);
	totals_free(&totals);
	make_totals(in, &open, &in->now, false, &totals);
	way->sum = sum_of(&totals);
	way->money = totals.sum.home * wide_power10(NANO_DECIMALS - in->market.home_decimals) +
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
stand(const struct inputs *in, const struct lines *lines, struct orders *out)
{
	for (size_t i = 0; i < lines->now.count; i++)
		add_line(out, &lines->now.row[i]);
	for (size_t i = 0; i < in->paid.orders.count; i++)
		add_line(out, &in->paid.orders.row[i]);
	for (size_t i = 0; i < in->orders.count; i++)
		if (order_line_is_owned(&in->orders.row[i]) && in->orders.row[i].qty > 0)
			add_line(out, &in->orders.row[i]);
}

/* What the orders leave of the offers, and the orders as lines that are kept. */
static void
set_apart(const struct inputs *in, const struct lines *lines, const struct repricing *repricing,
          struct plans *plans)
{
	struct orders *kept = &plans->kept_lines.orders;

	plans->left = in->market.offers;
	plans->left.offer =
	    mem_copy(in->market.offers.offer, in->market.offers.count, sizeof *plans->left.offer);
	for (size_t i = 0; i < plans->left.count; i++) {
		struct offer *offer = &plans->left.offer[i];

		if (offer->qty != QTY_UNLIMITED)
			offer->qty -= repricing->taken[offer->listing_number];
	}
	kept->file = in->orders.file;
	kept->states = true;
	for (size_t i = 0; i < lines->now.count; i++) {
		struct order_line line = lines->now.row[i];

		line.state = kept_state_name(KEPT_OPEN);
		add_line(kept, &line);
	}
	for (size_t i = 0; i < in->paid.orders.count; i++)
		add_line(kept, &in->paid.orders.row[i]);
	orders_sort(kept);
	plans->kept_lines.state = mem_alloc((kept->count + 1) * sizeof *plans->kept_lines.state);
	for (size_t i = 0; i < kept->count; i++)
		plans->kept_lines.state[i] = is_paid(&kept->row[i]) ? KEPT_PAID : KEPT_OPEN;
}

static struct purchase_input
purchase_of(struct inputs *in, const struct settings *set, struct need *need)
{
	struct purchase_input input = purchase_files_input(&in->market, &set->purchase);

	input.need = need;
	input.stock = &in->owned;
	input.kept = in->paid.orders.count > 0 ? &in->paid : NULL;
	return input;
}

static bool
has_order(const struct lines *lines, const char *seller)
{
	for (size_t i = 0; i < lines->now.count; i++)
		if (strcmp(lines->now.row[i].seller, seller) == 0)
			return true;
	return false;
}

/* Leaves out all sellers but those of the orders. */
static void
stay_with(struct inputs *in, const struct lines *lines, struct purchase_input *input)
{
	const struct offers *offers = input->offers;
	const char **without =
	    arena_alloc(&in->arena, (input->withouts + offers->sellers) * sizeof *without);
	size_t count = 0;

	for (size_t i = 0; i < input->withouts; i++)
		without[count++] = input->without[i];
	for (size_t s = 0; s < offers->sellers; s++)
		if (!has_order(lines, offers->seller[s]))
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
search_again(struct inputs *in, const struct settings *set, const struct lines *lines,
             struct purchase_input *input, struct replan *again)
{
	replan_search(again, input, set->effort);
	if (orders_of(&again->orders) <= input->max_orders)
		return;
	replan_free(again);
	*again = (struct replan){0};
	stay_with(in, lines, input);
	replan_search(again, input, set->effort);
}

/* Keeping the orders: buying again what they lack. */
static void
plan_kept(struct inputs *in, const struct settings *set, const struct lines *lines,
          const struct repricing *repricing, struct plans *plans)
{
	struct purchase_input input = purchase_of(in, set, plans->need);
	bool states = input.kept != NULL;
	struct orders standing = {0};
	wide steer = 0;

	if (plans->searched_again) {
		set_apart(in, lines, repricing, plans);
		input.offers = &plans->left;
		input.kept = &plans->kept_lines;
		search_again(in, set, lines, &input, &plans->again);
		take_lines(&plans->kept, &plans->again.orders, states);
		plans->kept.unmet = plans->again.unmet;
		steer = plans->again.penalties - plans->again.worth;
	} else {
		stand(in, lines, &standing);
		take_lines(&plans->kept, &standing, states);
		orders_free(&standing);
	}
	merge_lines(&plans->kept.orders, &in->market.offers);
	cost_way(in, &plans->kept, steer);
	plans->kept.barred |= (size_t)plans->kept.sum.orders > input.max_orders;
	for (size_t i = 0; i < lines->now.count; i++)
		plans->kept.barred |= purchase_leaves_out(&input, lines->now.row[i].seller);
}

static void
plan_afresh(struct inputs *in, const struct settings *set, struct plans *plans)
{
	struct purchase_input input = purchase_of(in, set, plans->need);

	replan_search(&plans->afresh, &input, set->effort);
	take_lines(&plans->found, &plans->afresh.orders, input.kept != NULL);
	plans->found.unmet = plans->afresh.unmet;
	cost_way(in, &plans->found, plans->afresh.penalties - plans->afresh.worth);
}

/* A plan that saves less than a search would find worth proving is no other plan. */
static bool
is_worth_it(const struct inputs *in, const struct way *found, const struct way *kept)
{
	wide half = wide_power10(NANO_DECIMALS - in->market.home_decimals) / 2;

	if (kept->barred)
		return true;
	if (kept->unmet != found->unmet)
		return found->unmet < kept->unmet;
	return found->cost + half <= kept->cost && found->money < kept->money;
}

/* Is every line to be had in full? */
static bool
is_whole(const struct repricing *repricing)
{
	for (size_t i = 0; i < repricing->count; i++)
		if (repricing->row[i].pieces < repricing->row[i].qty)
			return false;
	return true;
}

static void
make_plans(struct inputs *in, const struct settings *set, const struct lines *lines,
           const struct repricing *repricing, struct plans *plans)
{
	*plans = (struct plans){0};
	plans->need = in->market.need != NULL ? in->market.need : replan_need(&in->orders);
	plans->searched_again = in->market.need != NULL || !is_whole(repricing);
	plan_afresh(in, set, plans);
	plan_kept(in, set, lines, repricing, plans);
	plans->keep = !is_worth_it(in, &plans->found, &plans->kept);
}

static void
free_plans(const struct inputs *in, struct plans *plans)
{
	replan_free(&plans->afresh);
	if (plans->searched_again)
		replan_free(&plans->again);
	free(plans->kept.orders.row);
	free(plans->found.orders.row);
	free(plans->kept_lines.orders.row);
	free(plans->kept_lines.state);
	free(plans->left.offer);
	if (in->market.need == NULL)
		need_free(plans->need);
}

/* The plan made afresh: what was found, or the orders as they stand. */
static const struct way *
plan_of(const struct plans *plans)
{
	return plans->keep ? &plans->kept : &plans->found;
}

/* ---- the table ---- */

static noreturn void
too_large(const struct inputs *in, const struct order_line *line)
{
	die("%s:%zu: the figures are too large to count exactly", in->orders.file, line->line);
}

static const char *
currency_then(const struct inputs *in, const struct order_line *line)
{
	const struct seller_row *row = sellers_find(in->was.sellers, line->seller);

	if (*line->currency != '\0')
		return line->currency;
	return row != NULL && *row->currency != '\0' ? row->currency : in->market.book.home;
}

/* An amount of micro in home currency at the rates of then, exact. */
static struct fraction
home_then(struct inputs *in, const struct order_line *line, const char *currency, wide amount)
{
	struct fraction rate, home;
	const char *why;

	if (!rates_find(in->was.rates, currency, in->market.book.home, RATE_PAID, &rate, &why,
	                &in->arena))
		die("%s:%zu: %s", in->orders.file, line->line, why);
	if (!fraction_multiply(rate, (struct fraction){amount, 1}, &home))
		too_large(in, line);
	return home;
}

/* What the pieces that can be had cost more than they did, in home currency; micro. */
static wide
change_of(struct inputs *in, const struct repriced *row)
{
	const struct order_line *line = row->line;
	const struct offers *offers = &in->market.offers;
	struct fraction was, is, change;

	if (row->pieces == 0)
		return 0;
	was = home_then(in, line, currency_then(in, line), -(wide)row->pieces * line->price);
	is = home_then(in, line, offers->currency[row->offer->seller],
	               (wide)row->pieces * row->offer->price);
	if (!fraction_add(was, is, &change))
		too_large(in, line);
	return wide_div_round(change.top, change.bottom, ROUND_HALF_AWAY);
}

static void
write_new(struct sheet *sheet, const struct offers *offers, const struct repriced *row)
{
	const struct offer *offer = row->offer;

	if (offer == NULL) {
		sheet_field(sheet, "");
		sheet_field(sheet, "");
		sheet_field(sheet, "0");
		sheet_field(sheet, "");
		sheet_field(sheet, "");
		return;
	}
	sheet_decimal(sheet, offer->price, MICRO_DECIMALS, 0);
	sheet_field(sheet, offers->currency[offer->seller]);
	sheet_decimal(sheet, (wide)row->pieces * offer->price, MICRO_DECIMALS, 0);
	sheet_field(sheet, offer->class);
	sheet_field(sheet, offer->listing);
}

/* Pieces of a line at two offers that nobody can tell apart are one row. */
static bool
is_alike(const struct repriced *a, const struct repriced *b)
{
	return a->number == b->number && a->offer->price == b->offer->price &&
	       strcmp(a->offer->class, b->offer->class) == 0 &&
	       strcmp(a->offer->listing, b->offer->listing) == 0;
}

static void
write_row(struct sheet *sheet, struct inputs *in, const struct repriced *row)
{
	const struct order_line *line = row->line;
	const char *const texts[] = {line->seller, line->route, line->class,    line->lot,
	                             line->part,   line->color, line->condition};

	sheet_fields(sheet, texts, sizeof texts / sizeof *texts);
	sheet_qty(sheet, row->qty);
	sheet_field(sheet, row->pieces == row->qty ? "yes" : row->pieces > 0 ? "fewer" : "no");
	sheet_qty(sheet, row->pieces);
	sheet_decimal(sheet, line->price, MICRO_DECIMALS, 0);
	sheet_field(sheet, currency_then(in, line));
	sheet_decimal(sheet, (wide)row->qty * line->price, MICRO_DECIMALS, 0);
	sheet_field(sheet, line->listing);
	write_new(sheet, &in->market.offers, row);
	sheet_decimal(sheet, change_of(in, row), MICRO_DECIMALS, 0);
	for (size_t i = 0; i < in->orders.carried; i++)
		sheet_field(sheet, line->carry[i]);
	sheet_end_row(sheet);
}

static void
write_table(struct sheet *sheet, struct inputs *in, const struct repricing *repricing)
{
	sheet_fields(sheet, columns, COLUMNS);
	sheet_fields(sheet, in->orders.carry, in->orders.carried);
	sheet_end_row(sheet);
	for (size_t i = 0; i < repricing->count; i++) {
		struct repriced row = repricing->row[i];

		for (; i + 1 < repricing->count && is_alike(&row, &repricing->row[i + 1]); i++) {
			row.qty += repricing->row[i + 1].qty;
			row.pieces += repricing->row[i + 1].pieces;
		}
		write_row(sheet, in, &row);
	}
}

/* ---- the summary ---- */

static void
write_item(struct sheet *sheet, const struct inputs *in, const char *item, struct sum sum,
           const int64_t *unmet)
{
	sheet_field(sheet, item);
	sheet_decimal(sheet, sum.amount, in->market.home_decimals, in->market.home_decimals);
	sheet_field(sheet, in->market.book.home);
	sheet_decimal(sheet, sum.orders, 0, 0);
	sheet_decimal(sheet, sum.pieces, 0, 0);
	if (unmet != NULL)
		sheet_qty(sheet, *unmet);
	else
		sheet_field(sheet, "");
	sheet_end_row(sheet);
}

/* plans NULL: there are none. */
static void
write_summary(struct sheet *sheet, const struct inputs *in, const struct sum *sum,
              const struct plans *plans)
{
	static const char *const header[] = {"item",   "amount", "currency",
	                                     "orders", "pieces", "unmet"};
	static const char *const step[STEPS] = {"was", "gone", "prices", "charges", "rates"};
	const struct way *kept, *plan;

	sheet_fields(sheet, header, sizeof header / sizeof *header);
	sheet_end_row(sheet);
	write_item(sheet, in, step[STEP_WAS], sum[STEP_WAS], NULL);
	for (int i = STEP_WAS + 1; i < STEPS; i++)
		write_item(sheet, in, step[i], difference(sum[i], sum[i - 1]), NULL);
	write_item(sheet, in, "is", sum[STEPS - 1], NULL);
	if (plans == NULL)
		return;
	kept = &plans->kept;
	plan = plan_of(plans);
	write_item(sheet, in, "again", difference(kept->sum, sum[STEPS - 1]), NULL);
	write_item(sheet, in, "kept", kept->sum, &kept->unmet);
	write_item(sheet, in, "afresh", plan->sum, &plan->unmet);
	write_item(sheet, in, "saving", difference(kept->sum, plan->sum), NULL);
}

/* ---- what is told ---- */

static const char *
money(struct inputs *in, wide amount)
{
	unsigned decimals = in->market.home_decimals;

	return figure_money(&in->arena, amount * wide_power10(NANO_DECIMALS - decimals), decimals,
	                    false);
}

/* Lines and pieces that cannot be had; false: all can. */
static bool
tell_gone(const struct inputs *in, const struct repricing *repricing)
{
	int64_t pieces = 0;
	size_t lines = 0, last = SIZE_MAX;

	for (size_t i = 0; i < repricing->count; i++) {
		const struct repriced *row = &repricing->row[i];

		if (row->pieces == row->qty)
			continue;
		pieces += row->qty - row->pieces;
		lines += row->number != last;
		last = row->number;
	}
	if (pieces > 0)
		tell("%lld piece%s of %zu line%s %s no longer to be had", (long long)pieces,
		     figure_plural(pieces), lines, figure_plural((int64_t)lines),
		     pieces == 1 ? "is" : "are");
	(void)in;
	return pieces > 0;
}

/* The gap of the plan, where it is not proved. Was its search cut short, as nobody asked for? */
static bool
tell_gap(struct inputs *in, const struct settings *set, const struct plans *plans)
{
	const struct search_result *result = &plans->afresh.result;
	wide cost = plan_of(plans)->cost;
	struct text gap = {0};

	if (plan_of(plans)->unmet == plans->afresh.unmet &&
	    search_proves(&plans->afresh.purchase.model, cost, result->bound))
		return false;
	dec_add_text(&gap, figure_gap(cost, result->bound), 3, 3);
	tell("planning afresh %s with a gap of %s %%: cost %s, no plan that meets as much costs "
	     "less than %s",
	     result->stopped ? "was cut short" : "ended", gap.bytes,
	     figure_money(&in->arena, cost, in->market.home_decimals, false),
	     figure_money(&in->arena, result->bound, in->market.home_decimals, true));
	text_free(&gap);
	return result->stopped && set->effort_given;
}

/* Is the answer incomplete? */
static bool
tell_plans(struct inputs *in, const struct settings *set, const struct plans *plans)
{
	const struct way *plan = plan_of(plans);
	bool cut_short = tell_gap(in, set, plans);

	if (plan->unmet > 0)
		tell("%lld piece%s of the need cannot be bought of anybody", (long long)plan->unmet,
		     figure_plural(plan->unmet));
	return cut_short || plan->unmet > 0;
}

static void
tell_passed_over(const struct inputs *in)
{
	if (in->paid_pieces > 0)
		tell("%lld piece%s paid, not re-priced", (long long)in->paid_pieces,
		     figure_plural(in->paid_pieces));
	if (in->owned_pieces > 0)
		tell("%lld piece%s owned, not re-priced", (long long)in->owned_pieces,
		     figure_plural(in->owned_pieces));
}

static void
tell_summary(struct inputs *in, const struct sum *sum, const struct plans *plans)
{
	const char *home = in->market.book.home;
	const char *space = *home != '\0' ? " " : "";
	const wide moved = sum[STEPS - 1].amount - sum[STEP_WAS].amount;
	struct text line = {0};

	text_adds(&line, money(in, sum[STEP_WAS].amount));
	text_adds(&line, " is now ");
	text_adds(&line, money(in, sum[STEPS - 1].amount));
	text_adds(&line, space);
	text_adds(&line, home);
	if (moved != 0) {
		static const char *const name[STEPS] = {NULL, "gone", "prices", "charges", "rates"};
		const char *sign = ": ";

		for (int i = STEP_GONE; i < STEPS; i++) {
			wide part = sum[i].amount - sum[i - 1].amount;

			if (part == 0)
				continue;
			text_adds(&line, sign);
			text_adds(&line, name[i]);
			text_adds(&line, part > 0 ? " +" : " ");
			text_adds(&line, money(in, part));
			sign = ", ";
		}
	}
	if (plans != NULL) {
		text_adds(&line, "; planning afresh saves ");
		text_adds(&line, money(in, plans->kept.sum.amount - plan_of(plans)->sum.amount));
	}
	tell("%s", line.bytes);
	text_free(&line);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct inputs in;
	struct repricing repricing;
	struct lines lines;
	struct sum sum[STEPS];
	struct totals now;
	struct plans made = {0}, *plans = set.no_plan ? NULL : &made;
	struct sheet sheet = {0}, summary = {0}, replan = {0};
	struct outputs outputs = {0};
	bool incomplete;

	read_inputs(&set, &in);
	reprice(&repricing, in.standing, in.standings, &in.market.offers);
	make_lines(&in, &repricing, &lines);
	take_steps(&in, &lines, sum, &now);
	if (plans != NULL)
		make_plans(&in, &set, &lines, &repricing, plans);

	write_table(&sheet, &in, &repricing);
	write_summary(&summary, &in, sum, plans);
	if (plans != NULL)
		orders_write(&replan, &plan_of(plans)->orders);
	outputs_add(&outputs, set.summary, &summary);
	outputs_add(&outputs, set.replan, &replan);
	outputs_write(&outputs, &sheet);

	incomplete = tell_gone(&in, &repricing);
	incomplete |= totals_tell_unplaced(&now, in.orders.file);
	if (plans != NULL)
		incomplete |= tell_plans(&in, &set, plans);
	if (!set.quiet && in.market.terms.rates != NULL)
		rates_tell(in.market.terms.rates);
	if (!set.quiet && in.was_files.rates != NULL)
		rates_tell(in.was_files.rates);
	if (!set.quiet) {
		tell_passed_over(&in);
		tell_summary(&in, sum, plans);
	}

	if (plans != NULL)
		free_plans(&in, plans);
	totals_free(&now);
	free_lines(&lines);
	repricing_free(&repricing);
	sheet_free(&sheet);
	sheet_free(&summary);
	sheet_free(&replan);
	free_inputs(&in);
	purchase_options_free(&set.purchase);
	return incomplete ? EXIT_DIFFERS : EXIT_DONE;
}
