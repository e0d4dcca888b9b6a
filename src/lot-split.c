/*
 * lot-split: splits the need into orders at least landed cost, direct and market together.
 */
#include "base/err.h"
#include "base/opts.h"
#include "plan/search.h"
#include "purchase/curve.h"
#include "purchase/purchase.h"
#include "purchase/share_out.h"
#include "purchase/why.h"
#include "trade/currency.h"
#include "trade/surplus.h"
#include "trade/terms_files.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
	KEY_ORDER_COST = OPT_LONG,
	KEY_KEEP,
	KEY_WAS,
	KEY_STAY,
	KEY_MAX_ORDERS,
	KEY_ROUTE,
	KEY_WITHOUT,
	KEY_CARRY,
	KEY_SHORT,
	KEY_SHARES,
	KEY_SURPLUS,
	KEY_REPORT,
	KEY_WHY,
	KEY_CURVE,
	KEY_EFFORT,
	KEY_TIME,
	KEY_ENCODING
};

static const struct opt opts[] = {
    OPTS_COMMON,
    {'o', "offers", "FILE", "offers; may be given several times", true},
    OPTS_TERMS,
    {'k', "stock", "FILE", "owned stock, used where it saves most; may be given several times",
     true},
    {KEY_KEEP, "keep", "FILE", "order lines of before with a state: paid, open (may grow), new",
     false},
    {KEY_WAS, "was", "FILE", "order lines of before, for --stay", false},
    {KEY_STAY, "stay", "M", "what each seller dropped from or added to those of before counts",
     false},
    {KEY_ORDER_COST, "order-cost", "M", "what one more order is worth avoiding", false},
    {KEY_MAX_ORDERS, "max-orders", "N", "at most N orders", false},
    {KEY_ROUTE, "route", "NAME", "only sellers of that route", false},
    {KEY_WITHOUT, "without", "A,B", "not these sellers", false},
    {KEY_CARRY, "carry", "A,B", "offer columns to carry into the order lines", false},
    {KEY_SHORT, "short", "FILE", "write the need that stays unmet", false},
    {KEY_SHARES, "shares", "FILE", "write which row of the need gets which pieces", false},
    {KEY_SURPLUS, "surplus", "FILE", "write what is bought beyond the need, as stock", false},
    {KEY_REPORT, "report", "FILE", "write cost, bound, orders, ... as metric,value", false},
    {KEY_WHY, "why", "FILE", "write what was bought for each row, what it cost above, and why",
     false},
    {KEY_CURVE, "curve", "FILE", "write the least cost of at most 1, 2, 3, ... orders", false},
    {KEY_EFFORT, "effort", "N", "work limit of the search, the same on any machine", false},
    {KEY_TIME, "time", "S", "stop after S seconds at the best found", false},
    OPT_DELIMITER,
    OPT_ENCODING(KEY_ENCODING),
};

static const struct tool tool = {
    .name = "lot-split",
    .purpose = "Splits a need list into orders at the least landed cost: goods, charges, tax and\n"
               "currency, over every seller, price break, charge step and alternative.",
    .synopsis = "-o FILE... -s FILE [-c FILE] [-x FILE] [-w FILE] [-C CODE] [-k FILE...]\n"
                "                 [option...] < need.csv > orders.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 1 need that stays unmet, or a search cut short, 2 trouble.\n"
             "Costs are estimates: the seller's invoice and local tax rules decide.",
};

/* Enough to prove what people really have; see lot-split(1). */
#define EFFORT_DEFAULT UINT64_C(3000000000)

struct settings {
	const char **offers, **stock;
	size_t offer_files, stock_files, offer_room, stock_room;
	struct terms_options terms;
	const char *route, *without, *carry, *short_file, *shares, *surplus;
	const char *report, *why, *curve, *keep, *was;
	int64_t order_cost; /* micro */
	int64_t stay;       /* micro; NOT_GIVEN */
	size_t max_orders;
	uint64_t effort;
	double seconds;         /* 0: no limit */
	struct table_form form; /* of stdin */
	bool quiet, effort_given;
};

/* ---- options ---- */

static int64_t
whole_option(const char *name, const char *value, int64_t least)
{
	int64_t whole;

	if (dec_parse_qty(value, &whole) != DEC_OK || whole < least)
		opts_usage("--%s takes a whole number from %lld on", name, (long long)least);
	return whole;
}

static int64_t
money_option(const char *name, const char *value)
{
	int64_t micro;
	enum dec_fault why = dec_parse_micro(value, false, &micro);

	if (why != DEC_OK)
		opts_usage("--%s %s", name, dec_fault_text(why));
	return micro;
}

static void
add_file(const char ***files, size_t *count, size_t *room, const char *value)
{
	MEM_ROOM(*files, *count, *room);
	(*files)[(*count)++] = value;
}

/* One file twice would count its pieces twice. */
static void
check_stock_once(const struct settings *set)
{
	for (size_t i = 1; i < set->stock_files; i++)
		for (size_t k = 0; k < i; k++)
			if (strcmp(set->stock[i], set->stock[k]) == 0)
				opts_usage("stock %s is given twice, its pieces would count twice",
				           set->stock[i]);
}

static uint64_t
effort_option(const char *value)
{
	uint64_t effort = 0;

	for (const char *s = value; *s != '\0'; s++)
		if (*s < '0' || *s > '9' || __builtin_mul_overflow(effort, UINT64_C(10), &effort) ||
		    __builtin_add_overflow(effort, (uint64_t)(*s - '0'), &effort))
			effort = 0, s = value + strlen(value) - 1;
	if (effort == 0)
		opts_usage("--effort takes a whole number from 1 on");
	return effort;
}

static void
take_option(struct settings *set, struct opt_reader *reader, int key, const char *value)
{
	switch (key) {
	case 'o':
		add_file(&set->offers, &set->offer_files, &set->offer_room,
		         opts_file(reader, value));
		break;
	case 'k':
		add_file(&set->stock, &set->stock_files, &set->stock_room,
		         opts_file(reader, value));
		break;
	case KEY_KEEP:
		set->keep = opts_file(reader, value);
		break;
	case KEY_WAS:
		set->was = opts_file(reader, value);
		break;
	case KEY_STAY:
		set->stay = money_option("stay", value);
		break;
	case KEY_ORDER_COST:
		set->order_cost = money_option("order-cost", value);
		break;
	case KEY_MAX_ORDERS:
		set->max_orders = (size_t)whole_option("max-orders", value, 0);
		break;
	case KEY_ROUTE:
		set->route = value;
		break;
	case KEY_WITHOUT:
		set->without = value;
		break;
	case KEY_CARRY:
		set->carry = value;
		break;
	case KEY_SHORT:
		set->short_file = value;
		break;
	case KEY_SHARES:
		set->shares = value;
		break;
	case KEY_SURPLUS:
		set->surplus = value;
		break;
	case KEY_REPORT:
		set->report = value;
		break;
	case KEY_WHY:
		set->why = value;
		break;
	case KEY_CURVE:
		set->curve = value;
		break;
	case KEY_EFFORT:
		set->effort = effort_option(value);
		set->effort_given = true;
		break;
	case KEY_TIME:
		set->seconds = (double)money_option("time", value) * 1e-6;
		if (set->seconds <= 0)
			opts_usage("--time takes seconds, more than 0");
		break;
	case 'D':
		set->form.delimiter = opts_delimiter(value);
		break;
	case KEY_ENCODING:
		set->form.encoding = value;
		break;
	default:
		terms_option(&set->terms, reader, key, value);
	}
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {.max_orders = NO_LIMIT, .effort = EFFORT_DEFAULT, .stay = NOT_GIVEN};
	struct opt_reader reader;
	const char *value;
	char **operands;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		take_option(&set, &reader, key, value);
	set.quiet = reader.quiet;
	if (opts_operands(&reader, &operands) > 0)
		opts_usage("the need list comes from stdin, there are no operands");
	if (set.offer_files == 0)
		opts_usage("no offers: -o FILE");
	if (set.terms.sellers == NULL)
		opts_usage("no sellers: -s FILE");
	if (set.stay != NOT_GIVEN && set.keep == NULL && set.was == NULL)
		opts_usage("--stay counts against a plan of before: --keep FILE or --was FILE");
	if (set.was != NULL && set.stay == NOT_GIVEN)
		opts_usage("--was FILE is for --stay M, which is missing");
	terms_options_end(&set.terms);
	check_stock_once(&set);
	return set;
}

/* ---- reading ---- */

/* All that is read. */
struct inputs {
	struct need *need;
	struct stock stock;
	struct offers offers;
	struct terms_files terms;
	struct tariff_book book;
	struct names used; /* currencies */
	struct kept kept;
	struct names old_sellers; /* those that --stay counts from */
	const char **carry, **without;
	size_t carried, withouts;
	unsigned home_decimals;
	struct arena arena;
};

/* Carried columns stand beside the order lines' own. */
static void
check_carry(struct inputs *in)
{
	for (size_t i = 0; i < in->carried; i++) {
		const char *name = text_show(&in->arena, in->carry[i]);

		if (*in->carry[i] == '\0')
			die("--carry: a name is empty: give columns of the offers, as A,B");
		if (orders_has_column(in->carry[i]))
			die("--carry: order lines have a column \"%s\" of their own", name);
		for (size_t k = 0; k < i; k++)
			if (text_equal_fold(in->carry[i], in->carry[k]))
				die("--carry: \"%s\" is named twice", name);
	}
}

/* The sellers of the plan before, from a file of its own. */
static void
add_old_sellers(struct inputs *in, const char *file)
{
	struct orders orders = {0};

	orders_read(&orders, table_open(file, NULL));
	for (size_t i = 0; i < orders.count; i++)
		if (!order_line_is_owned(&orders.row[i]))
			names_add(&in->old_sellers, orders.row[i].seller);
	orders_free(&orders);
}

static void
read_inputs(const struct settings *set, struct inputs *in)
{
	*in = (struct inputs){0};
	in->need = need_read(table_open("-", &set->form));
	for (size_t i = 0; i < set->stock_files; i++)
		stock_read(&in->stock, table_open(set->stock[i], NULL));
	in->carry = text_list(&in->arena, set->carry, &in->carried);
	in->without = text_list(&in->arena, set->without, &in->withouts);
	check_carry(in);
	offers_carry(&in->offers, in->carry, in->carried);
	for (size_t i = 0; i < set->offer_files; i++)
		offers_read(&in->offers, table_open(set->offers[i], NULL));
	offers_end(&in->offers, set->quiet);
	terms_files_read(&in->terms, &set->terms);
	if (set->keep != NULL)
		kept_read(&in->kept, table_open(set->keep, NULL));
	if (set->was != NULL)
		add_old_sellers(in, set->was);
	for (size_t i = 0; i < in->kept.orders.count; i++)
		if (in->kept.state[i] == KEPT_AFRESH)
			names_add(&in->old_sellers, in->kept.orders.row[i].seller);
}

static void
settle_currency(const struct settings *set, struct inputs *in)
{
	in->book = (struct tariff_book){.sellers = in->terms.sellers,
	                                .charges = in->terms.charges,
	                                .rates = in->terms.rates,
	                                .order_cost = set->order_cost};
	for (size_t s = 0; s < in->offers.sellers; s++)
		terms_uses(&in->book, in->offers.seller[s], in->offers.currency[s], &in->used);
	for (size_t i = 0; i < in->kept.orders.count; i++)
		if (in->kept.state[i] != KEPT_AFRESH)
			terms_uses(&in->book, in->kept.orders.row[i].seller,
			           in->kept.orders.row[i].currency, &in->used);
	in->book.home =
	    terms_home(set->terms.currency, (const char *const *)in->used.name, in->used.count);
	if (!currency_decimals(in->book.home, &in->home_decimals))
		in->home_decimals = 2;
	offers_settle(&in->offers, in->terms.sellers, in->book.home);
}

static bool
seller_known(const struct inputs *in, const char *name)
{
	for (size_t s = 0; s < in->offers.sellers; s++)
		if (strcmp(in->offers.seller[s], name) == 0)
			return true;
	for (size_t i = 0; i < in->terms.sellers->count; i++)
		if (strcmp(in->terms.sellers->row[i].seller, name) == 0)
			return true;
	return false;
}

/* Names on the command line that no file knows are slips of the pen. */
static void
check_names(const struct settings *set, struct inputs *in)
{
	bool known = set->route == NULL;

	for (size_t i = 0; i < in->withouts; i++)
		if (!seller_known(in, in->without[i])) {
			const char *near =
			    text_nearest(in->without[i], (const char *const *)in->offers.seller,
			                 in->offers.sellers);

			die("--without: no seller is named \"%s\"%s%s%s",
			    text_show(&in->arena, in->without[i]), near ? ": did you mean \"" : "",
			    near ? text_show(&in->arena, near) : "", near ? "\"?" : "");
		}
	for (size_t i = 0; i < in->terms.sellers->count && !known; i++)
		known = strcmp(in->terms.sellers->row[i].route, set->route) == 0;
	if (!known)
		die("--route: no seller of %s has the route \"%s\"", in->terms.sellers->file,
		    text_show(&in->arena, set->route));
}

/* ---- while it works ---- */

static volatile sig_atomic_t interrupted;

static void
on_interrupt(int number)
{
	(void)number;
	interrupted = 1;
}

struct watch {
	const struct purchase *purchase;
	struct timespec start;
	double seconds; /* limit of all searches; 0: none */
	double until;   /* of this one */
	size_t orders;  /* at most; NO_LIMIT: the plan that is written */
	bool counting;  /* it looks for the fewest orders, at one each */
	double shown;   /* when the line was last rewritten */
	bool terminal;
};

static double
seconds_since(const struct timespec *start)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return (double)(now.tv_sec - start->tv_sec) + (double)(now.tv_nsec - start->tv_nsec) * 1e-9;
}

/* What the search does not know yet, it gives as something beyond all amounts. */
static bool
is_known(double amount)
{
	return amount < 1e15 && amount > -1e15;
}

/* `, NAME AMOUNT`, in whole hundredths. */
static void
add_figure(struct text *line, const char *name, double amount)
{
	text_adds(line, ", ");
	text_adds(line, name);
	text_adds(line, " ");
	dec_add_text(line, (wide)(amount * 100), 2, 2);
}

/* One line on a terminal, rewritten in place: for the eye alone. */
static void
show_progress(struct watch *watch, double seconds, const struct search_news *news)
{
	double gap = news->cost - news->bound, base = news->cost < 0 ? -news->cost : news->cost;
	struct text line = {0};

	watch->shown = seconds;
	text_adds(&line, "\r");
	if (watch->counting) {
		text_adds(&line, "fewest orders, ");
	} else if (watch->orders != NO_LIMIT) {
		text_adds(&line, "at most ");
		dec_add_text(&line, (wide)watch->orders, 0, 0);
		text_adds(&line, watch->orders == 1 ? " order, " : " orders, ");
	}
	dec_add_text(&line, (wide)seconds, 0, 0);
	text_adds(&line, " s");
	if (is_known(news->cost))
		add_figure(&line, "best", news->cost);
	if (is_known(news->bound))
		add_figure(&line, "bound", news->bound);
	if (is_known(news->cost) && is_known(news->bound) && gap >= 0 && base > 0) {
		add_figure(&line, "gap", gap / base * 100);
		text_adds(&line, " %");
	}
	fprintf(stderr, "%s, %zu sellers left\033[K", line.bytes, news->sellers_left);
	fflush(stderr);
	text_free(&line);
}

static bool
should_stop(void *data, const struct search_news *news)
{
	struct watch *watch = data;
	double seconds;

	if (interrupted)
		return true;
	if (watch->seconds <= 0 && !watch->terminal)
		return false;
	seconds = seconds_since(&watch->start);
	if (watch->terminal && seconds > 1 && seconds > watch->shown + 0.2)
		show_progress(watch, seconds, news);
	return watch->seconds > 0 && seconds > watch->until;
}

/* Of the time that is left, a search that others follow gets half. */
static bool
next_point(void *data, size_t orders)
{
	struct watch *watch = data;
	double now = seconds_since(&watch->start);

	watch->orders = orders;
	watch->counting = orders == NO_LIMIT;
	watch->until = now + (watch->seconds - now) / 2;
	return !interrupted && (watch->seconds <= 0 || now < watch->seconds);
}

static int
compare_written(void *data, const struct plan *a, const struct plan *b)
{
	const struct watch *watch = data;
	struct sheet one = {0}, other = {0};
	int order;

	purchase_write(watch->purchase, a, &one);
	purchase_write(watch->purchase, b, &other);
	order = strcmp(one.text.bytes, other.text.bytes);
	sheet_free(&one);
	sheet_free(&other);
	return order;
}

/* The plan, and the curve where it is asked for. */
static void
search(const struct settings *set, const struct purchase *purchase, struct search_result *result,
       struct curve *curve)
{
	struct watch watch = {.purchase = purchase,
	                      .seconds = set->seconds,
	                      .until = set->curve != NULL ? set->seconds / 2 : set->seconds,
	                      .orders = NO_LIMIT,
	                      .terminal = !set->quiet && isatty(STDERR_FILENO)};
	struct curve_options options = {.search = {.effort = set->effort,
	                                           .compare = compare_written,
	                                           .stop = should_stop,
	                                           .data = &watch},
	                                .next = next_point};
	struct sigaction action = {.sa_handler = on_interrupt}, was;

	clock_gettime(CLOCK_MONOTONIC, &watch.start);
	sigaction(SIGINT, &action, &was);
	search_plan(&purchase->model, &options.search, result);
	if (set->curve != NULL)
		curve_find(&purchase->model, &options, result, curve);
	sigaction(SIGINT, &was, NULL);
	if (watch.shown > 0)
		fprintf(stderr, "\r\033[K");
}

/* What every plan costs, whatever it buys, is told with the others' costs and bounds. */
static void
add_constant(struct search_result *result, struct curve *curve, wide constant)
{
	result->plan.cost += constant;
	result->bound += constant;
	for (size_t i = 0; i < curve->points; i++) {
		curve->point[i].result.plan.cost += constant;
		curve->point[i].result.bound += constant;
	}
}

/* ---- results ---- */

/* Who gets what, and what nobody needs; both are made of the order lines as they are written. */
static void
write_shares(const struct purchase *purchase, const struct plan *plan, struct sheet *shares_sheet,
             struct sheet *surplus)
{
	struct orders orders;
	struct shares shares = {0};

	purchase_orders(purchase, plan, &orders);
	share_out(purchase, &orders, &shares);
	shares_write(shares_sheet, &shares);
	surplus_write(surplus, &orders);
	shares_free(&shares);
	orders_free(&orders);
}

static void
metric(struct sheet *sheet, const char *name, wide value, unsigned scale, unsigned least)
{
	sheet_field(sheet, name);
	sheet_decimal(sheet, value, scale, least);
	sheet_end_row(sheet);
}

/* (cost - bound) / cost in percent, three decimals, rounded up: a gap is never shown too small. */
static wide
gap_percent(const struct search_result *result)
{
	wide gap = result->plan.cost - result->bound;
	wide base = result->plan.cost < 0 ? -result->plan.cost : result->plan.cost;

	if (gap <= 0)
		return 0;
	if (base == 0)
		return 100000;
	return wide_div_ceil(gap * 100000, base);
}

static void
write_report(const struct purchase *purchase, const struct search_result *result,
             struct sheet *sheet)
{
	const struct plan *plan = &result->plan;
	int64_t unused, kept = purchase_kept(purchase, plan, &unused, false);
	wide stay = purchase_stay(purchase, plan), constant = purchase_stay_constant(purchase);

	sheet_field(sheet, "metric");
	sheet_field(sheet, "value");
	sheet_end_row(sheet);
	metric(sheet, "cost", plan->cost, NANO_DECIMALS, NANO_DECIMALS);
	metric(sheet, "landed", plan->landed, NANO_DECIMALS, NANO_DECIMALS);
	metric(sheet, "penalties", plan->penalties, NANO_DECIMALS, NANO_DECIMALS);
	metric(sheet, "order_cost", plan->order_cost - (stay - constant), NANO_DECIMALS,
	       NANO_DECIMALS);
	if (purchase->input.stay != 0)
		metric(sheet, "stay", stay, NANO_DECIMALS, NANO_DECIMALS);
	metric(sheet, "worth", plan->worth, NANO_DECIMALS, NANO_DECIMALS);
	metric(sheet, "bound", result->bound, NANO_DECIMALS, NANO_DECIMALS);
	metric(sheet, "gap_percent", gap_percent(result), 3, 3);
	sheet_field(sheet, "proved");
	sheet_field(sheet, result->proved ? "yes" : "no");
	sheet_end_row(sheet);
	metric(sheet, "orders", (wide)plan->orders, 0, 0);
	metric(sheet, "lots", (wide)purchase_order_lots(purchase, plan), 0, 0);
	metric(sheet, "pieces", plan->pieces - (kept - unused), 0, 0);
	metric(sheet, "surplus", plan->surplus, 0, 0);
	if (purchase->input.kept != NULL) {
		metric(sheet, "kept", kept, 0, 0);
		metric(sheet, "kept_unused", unused, 0, 0);
	}
	metric(sheet, "unmet", plan->unmet, 0, 0);
	metric(sheet, "work", (wide)result->work, 0, 0);
}

static const char *
money_text(struct arena *arena, wide nano, unsigned decimals, bool down)
{
	wide unit = wide_power10(NANO_DECIMALS - decimals);
	struct text text = {0};
	const char *copy;

	dec_add_text(
	    &text, down ? wide_div_floor(nano, unit) : wide_div_round(nano, unit, ROUND_HALF_AWAY),
	    decimals, decimals);
	copy = arena_copy(arena, text.bytes, text.length);
	text_free(&text);
	return copy;
}

static const char *
plural(int64_t count)
{
	return count == 1 ? "" : "s";
}

static void
tell_unmet(const struct plan *plan, size_t lots, bool listed)
{
	if (plan->unmet > 0)
		tell("%lld piece%s of %zu lot%s %s unmet%s", (long long)plan->unmet,
		     plural(plan->unmet), lots, plural((int64_t)lots),
		     plan->unmet == 1 ? "stays" : "stay",
		     listed ? "" : ": --short FILE lists them");
}

/* The bound is rounded down, so that what is said of it stays true. */
static void
tell_gap(const struct inputs *in, const char *of, const struct search_result *result)
{
	struct arena arena = {0};
	struct text gap = {0};

	if (result->proved)
		return;
	dec_add_text(&gap, gap_percent(result), 3, 3);
	tell("the search%s %s with a gap of %s %%: cost %s, no plan that meets as much costs less "
	     "than %s",
	     of, result->stopped ? "was cut short" : "ended", gap.bytes,
	     money_text(&arena, result->plan.cost, in->home_decimals, false),
	     money_text(&arena, result->bound, in->home_decimals, true));
	text_free(&gap);
	arena_free(&arena);
}

/* What is not settled of a curve. Its last point is the plan itself, which was told of. */
static void
tell_curve(const struct inputs *in, const struct curve *curve)
{
	char of[64];
	size_t fewest = curve->points > 0 ? curve->point[0].orders : 0;

	for (size_t i = curve->points; i-- > 1;) {
		const struct curve_point *point = &curve->point[i - 1];

		snprintf(of, sizeof of, " for at most %zu order%s", point->orders,
		         plural((int64_t)point->orders));
		tell_gap(in, of, &point->result);
	}
	if (curve->unsettled)
		tell("whether %zu order%s can meet as much was not settled: the curve starts at "
		     "%zu",
		     fewest - 1, plural((int64_t)fewest - 1), fewest);
	if (curve->given_up)
		tell("the curve was cut short: fewer than %zu order%s were not tried", fewest,
		     plural((int64_t)fewest));
}

/* Was a search ended that had not proved its plan? Where the built-in limit did it, that is told,
 * but is no failure. */
static bool
is_cut_short(const struct settings *set, const struct search_result *result)
{
	return !result->proved && (result->asked_to_stop || (result->stopped && set->effort_given));
}

static bool
curve_is_cut_short(const struct settings *set, const struct curve *curve)
{
	for (size_t i = 0; i < curve->points; i++)
		if (is_cut_short(set, &curve->point[i].result))
			return true;
	return curve->given_up || (curve->unsettled && (curve->asked_to_stop || set->effort_given));
}

static void
tell_summary(const struct purchase *purchase, const struct search_result *result, size_t lots)
{
	const struct plan *plan = &result->plan;
	struct arena arena = {0};
	int64_t unused, kept = purchase_kept(purchase, plan, &unused, false);
	int64_t pieces = plan->pieces - (kept - unused);
	const char *home = purchase->input.book->home;

	tell("%zu order%s, %zu lot%s, %lld piece%s, %s%s%s landed, %s", plan->orders,
	     plural((int64_t)plan->orders), lots, plural((int64_t)lots), (long long)pieces,
	     plural(pieces), money_text(&arena, plan->landed, purchase->input.home_decimals, false),
	     *home ? " " : "", home, result->proved ? "proved least" : "not proved");
	if (purchase->input.kept != NULL)
		tell("kept: %lld piece%s of before, %lld not needed", (long long)kept, plural(kept),
		     (long long)unused);
	arena_free(&arena);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct inputs in;
	struct purchase purchase;
	struct purchase_input input;
	struct search_result result;
	struct curve curve = {0};
	struct outputs outputs = {0};
	struct sheet sheet = {0}, short_sheet = {0}, report = {0}, why = {0}, curve_sheet = {0};
	struct sheet shares = {0}, surplus = {0};
	size_t short_lots;
	int64_t unused;
	bool incomplete;

	read_inputs(&set, &in);
	settle_currency(&set, &in);
	check_names(&set, &in);
	input = (struct purchase_input){.need = in.need,
	                                .stock = &in.stock,
	                                .offers = &in.offers,
	                                .book = &in.book,
	                                .weights = in.terms.weights,
	                                .route = set.route,
	                                .without = in.without,
	                                .withouts = in.withouts,
	                                .kept = set.keep != NULL ? &in.kept : NULL,
	                                .old_sellers = &in.old_sellers,
	                                .stay = set.stay != NOT_GIVEN ? set.stay : 0,
	                                .max_orders = set.max_orders,
	                                .home_decimals = in.home_decimals};
	purchase_init(&purchase, &input);
	search(&set, &purchase, &result, &curve);
	purchase_use_kept(&purchase, &result.plan);
	add_constant(&result, &curve, purchase_stay_constant(&purchase));

	purchase_write(&purchase, &result.plan, &sheet);
	short_lots = purchase_short(&purchase, &result.plan, &short_sheet);
	write_shares(&purchase, &result.plan, &shares, &surplus);
	write_report(&purchase, &result, &report);
	if (set.why != NULL)
		why_write(&purchase, &result.plan, &why);
	if (set.curve != NULL)
		curve_write(&curve, &curve_sheet);
	outputs_add(&outputs, set.short_file, &short_sheet);
	outputs_add(&outputs, set.shares, &shares);
	outputs_add(&outputs, set.surplus, &surplus);
	outputs_add(&outputs, set.report, &report);
	outputs_add(&outputs, set.why, &why);
	outputs_add(&outputs, set.curve, &curve_sheet);
	outputs_write(&outputs, &sheet);
	tell_unmet(&result.plan, short_lots, set.short_file != NULL);
	purchase_kept(&purchase, &result.plan, &unused, true);
	tell_gap(&in, "", &result);
	tell_curve(&in, &curve);
	if (!set.quiet && in.terms.rates != NULL)
		rates_tell(in.terms.rates);
	if (!set.quiet)
		stock_tell_in_use(&in.stock);
	if (!set.quiet)
		tell_summary(&purchase, &result, purchase_order_lots(&purchase, &result.plan));
	incomplete = result.plan.unmet > 0 || is_cut_short(&set, &result) ||
	             curve_is_cut_short(&set, &curve);

	plan_free(&result.plan);
	purchase_free(&purchase);
	sheet_free(&sheet);
	sheet_free(&short_sheet);
	sheet_free(&shares);
	sheet_free(&surplus);
	sheet_free(&report);
	sheet_free(&why);
	sheet_free(&curve_sheet);
	curve_free(&curve);
	need_free(in.need);
	stock_free(&in.stock);
	offers_free(&in.offers);
	kept_free(&in.kept);
	names_free(&in.old_sellers);
	terms_files_free(&in.terms);
	names_free(&in.used);
	arena_free(&in.arena);
	free(set.offers);
	free(set.stock);
	return incomplete ? EXIT_DIFFERS : EXIT_DONE;
}
