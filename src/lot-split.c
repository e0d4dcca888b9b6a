/*
 * lot-split: splits the need into orders at least landed cost, direct and market together.
 */
#include "base/err.h"
#include "base/interrupt.h"
#include "base/opts.h"
#include "plan/search.h"
#include "purchase/curve.h"
#include "purchase/figures.h"
#include "purchase/kept_lines.h"
#include "purchase/purchase_files.h"
#include "purchase/share_out.h"
#include "purchase/why.h"
#include "trade/surplus.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
	KEY_CARRY = OPT_LONG,
	KEY_SHORT,
	KEY_SHARES,
	KEY_SURPLUS,
	KEY_REPORT,
	KEY_WHY,
	KEY_CURVE,
	KEY_EFFORT,
	KEY_TIME
};

static const struct opt opts[] = {
    OPTS_COMMON,
    OPTS_PURCHASE,
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
    OPTS_TABLE,
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
	struct purchase_options purchase;
	const char *carry, *short_file, *shares, *surplus;
	const char *report, *why, *curve;
	uint64_t effort;
	double seconds;         /* 0: no limit */
	struct table_form form; /* of stdin */
	bool quiet, effort_given;
};

/* ---- options ---- */

static void
take_option(struct settings *set, struct opt_reader *reader, int key, const char *value)
{
	switch (key) {
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
		set->effort = option_effort(value);
		set->effort_given = true;
		break;
	case KEY_TIME:
		set->seconds = (double)option_money("time", value) * 1e-6;
		if (set->seconds <= 0)
			opts_usage("--time takes seconds, more than 0");
		break;
	default:
		if (!table_option(&set->form, key, value))
			purchase_option(&set->purchase, reader, key, value);
	}
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {.effort = EFFORT_DEFAULT};
	struct opt_reader reader;
	const char *value;
	int key;

	purchase_options_start(&set.purchase);
	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		take_option(&set, &reader, key, value);
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the need list comes from stdin, there are no operands");
	purchase_options_end(&set.purchase);
	return set;
}

/* ---- reading ---- */

/* The columns to carry, which stand beside the order lines' own. */
static const char **
carried_columns(const struct settings *set, struct arena *arena, size_t *count)
{
	const char **carry = text_list(arena, set->carry, count);

	for (size_t i = 0; i < *count; i++) {
		const char *name = text_show(arena, carry[i]);

		if (*carry[i] == '\0')
			die("--carry: a name is empty: give columns of the offers, as A,B");
		if (orders_has_column(carry[i]))
			die("--carry: order lines have a column \"%s\" of their own", name);
		for (size_t k = 0; k < i; k++)
			if (text_equal_fold(carry[i], carry[k]))
				die("--carry: \"%s\" is named twice", name);
	}
	return carry;
}

/* ---- while it works ---- */

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
	figure_add(&line, "best", news->cost);
	figure_add(&line, "bound", news->bound);
	if (figure_is_known(news->cost) && figure_is_known(news->bound) && gap >= 0 && base > 0) {
		figure_add(&line, "gap", gap / base * 100);
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

	if (interrupted())
		return true;
	if (watch->seconds <= 0 && !watch->terminal)
		return false;
	seconds = clock_since(&watch->start);
	if (watch->terminal && seconds > 1 && seconds > watch->shown + 0.2)
		show_progress(watch, seconds, news);
	return watch->seconds > 0 && seconds > watch->until;
}

/* Of the time that is left, a search that others follow gets half. */
static bool
next_point(void *data, size_t orders)
{
	struct watch *watch = data;
	double now = clock_since(&watch->start);

	watch->orders = orders;
	watch->counting = orders == NO_LIMIT;
	watch->until = now + (watch->seconds - now) / 2;
	return !interrupted() && (watch->seconds <= 0 || now < watch->seconds);
}

static int
compare_written(void *data, const struct plan *a, const struct plan *b)
{
	const struct watch *watch = data;

	return purchase_compare(watch->purchase, a, b);
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

	watch.start = clock_start();
	interrupt_start();
	search_plan(&purchase->model, &options.search, result);
	if (set->curve != NULL)
		curve_find(&purchase->model, &options, result, curve);
	interrupt_end();
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

static void
write_report(const struct purchase *purchase, const struct search_result *result,
             struct sheet *sheet)
{
	const struct plan *plan = &result->plan;
	int64_t unused, kept = kept_lines_pieces(purchase, plan, &unused, false);
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
	metric(sheet, "gap_percent", figure_gap(result->plan.cost, result->bound), 3, 3);
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

static void
tell_unmet(const struct plan *plan, size_t lots, bool listed)
{
	if (plan->unmet > 0)
		tell("%lld piece%s of %zu lot%s %s unmet%s", (long long)plan->unmet,
		     figure_plural(plan->unmet), lots, figure_plural((int64_t)lots),
		     plan->unmet == 1 ? "stays" : "stay",
		     listed ? "" : ": --short FILE lists them");
}

/* The bound is rounded down, so that what is said of it stays true. */
static void
tell_gap(const struct purchase_files *in, const char *of, const struct search_result *result)
{
	struct arena arena = {0};
	struct text gap = {0};

	if (result->proved)
		return;
	dec_add_text(&gap, figure_gap(result->plan.cost, result->bound), 3, 3);
	tell("the search%s %s with a gap of %s %%: cost %s, no plan that meets as much costs less "
	     "than %s",
	     of, result->stopped ? "was cut short" : "ended", gap.bytes,
	     figure_money(&arena, result->plan.cost, in->home_decimals, false),
	     figure_money(&arena, result->bound, in->home_decimals, true));
	text_free(&gap);
	arena_free(&arena);
}

/* What is not settled of a curve. Its last point is the plan itself, which was told of. */
static void
tell_curve(const struct purchase_files *in, const struct curve *curve)
{
	char of[64];
	size_t fewest = curve->points > 0 ? curve->point[0].orders : 0;

	for (size_t i = curve->points; i-- > 1;) {
		const struct curve_point *point = &curve->point[i - 1];

		snprintf(of, sizeof of, " for at most %zu order%s", point->orders,
		         figure_plural((int64_t)point->orders));
		tell_gap(in, of, &point->result);
	}
	if (curve->unsettled)
		tell("whether %zu order%s can meet as much was not settled: the curve starts at "
		     "%zu",
		     fewest - 1, figure_plural((int64_t)fewest - 1), fewest);
	if (curve->given_up)
		tell("the curve was cut short: fewer than %zu order%s were not tried", fewest,
		     figure_plural((int64_t)fewest));
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
	int64_t unused, kept = kept_lines_pieces(purchase, plan, &unused, false);
	int64_t pieces = plan->pieces - (kept - unused);
	const char *home = purchase->input.book->home;

	tell("%zu order%s, %zu lot%s, %lld piece%s, %s%s%s landed, %s", plan->orders,
	     figure_plural((int64_t)plan->orders), lots, figure_plural((int64_t)lots),
	     (long long)pieces, figure_plural(pieces),
	     figure_money(&arena, plan->landed, purchase->input.home_decimals, false),
	     *home ? " " : "", home, result->proved ? "proved least" : "not proved");
	if (purchase->input.kept != NULL)
		tell("kept: %lld piece%s of before, %lld not needed", (long long)kept,
		     figure_plural(kept), (long long)unused);
	arena_free(&arena);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct purchase_files in = {0};
	struct purchase purchase;
	struct purchase_input input;
	struct search_result result;
	struct curve curve = {0};
	struct outputs outputs = {0};
	struct sheet sheet = {0}, short_sheet = {0}, report = {0}, why = {0}, curve_sheet = {0};
	struct sheet shares = {0}, surplus = {0};
	const char **carry;
	size_t short_lots, carried;
	int64_t unused;
	bool incomplete;

	carry = carried_columns(&set, &in.arena, &carried);
	purchase_files_read(&in, &set.purchase, &set.form, carry, carried, set.quiet);
	input = purchase_files_input(&in, &set.purchase);
	purchase_init(&purchase, &input);
	search(&set, &purchase, &result, &curve);
	kept_lines_use(&purchase, &result.plan);
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
	tell_later();
	tell_unmet(&result.plan, short_lots, set.short_file != NULL);
	kept_lines_pieces(&purchase, &result.plan, &unused, true);
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
	outputs_write(&outputs, &sheet);

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
	purchase_files_free(&in);
	purchase_options_free(&set.purchase);
	return incomplete ? EXIT_DIFFERS : EXIT_DONE;
}
