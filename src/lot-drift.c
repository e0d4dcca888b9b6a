/*
 * lot-drift: re-prices standing orders against new offers, and says what moved.
 */
#include "base/err.h"
#include "base/opts.h"
#include "purchase/afresh.h"
#include "purchase/figures.h"
#include "purchase/purchase_files.h"

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
	KEY_REPLAN
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
    OPTS_TABLE,
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
	default:
		if (!table_option(&set->form, key, value))
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
	int key;

	purchase_options_start(&set.purchase);
	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		take_option(&set, &reader, key, value);
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the order lines come from stdin, there are no operands");
	purchase_options_end(&set.purchase);
	check_was(&set);
	if (set.no_plan && set.need != NULL)
		opts_usage("--need is what to plan afresh for, and --no-plan plans nothing");
	if (set.no_plan && set.replan != NULL)
		opts_usage("--replan is the plan made afresh, and --no-plan plans nothing");
	return set;
}

/* ---- reading ---- */

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

/* ---- the table ---- */

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
write_row(struct sheet *sheet, const struct inputs *in, const struct drift_input *drift,
          const struct repriced *row)
{
	const struct order_line *line = row->line;
	const char *const texts[] = {line->seller, line->route, line->class,    line->lot,
	                             line->part,   line->color, line->condition};

	sheet_fields(sheet, texts, sizeof texts / sizeof *texts);
	sheet_qty(sheet, row->qty);
	sheet_field(sheet, row->pieces == row->qty ? "yes" : row->pieces > 0 ? "fewer" : "no");
	sheet_qty(sheet, row->pieces);
	sheet_decimal(sheet, line->price, MICRO_DECIMALS, 0);
	sheet_field(sheet, drift_currency(drift, line));
	sheet_decimal(sheet, (wide)row->qty * line->price, MICRO_DECIMALS, 0);
	sheet_field(sheet, line->listing);
	write_new(sheet, &in->market.offers, row);
	sheet_decimal(sheet, drift_change(drift, row), MICRO_DECIMALS, 0);
	for (size_t i = 0; i < in->orders.carried; i++)
		sheet_field(sheet, line->carry[i]);
	sheet_end_row(sheet);
}

static void
write_table(struct sheet *sheet, const struct inputs *in, const struct drift_input *drift)
{
	const struct repricing *repricing = drift->repricing;

	sheet_fields(sheet, columns, COLUMNS);
	sheet_fields(sheet, in->orders.carry, in->orders.carried);
	sheet_end_row(sheet);
	for (size_t i = 0; i < repricing->count; i++) {
		struct repriced row = repricing->row[i];

		for (; i + 1 < repricing->count && is_alike(&row, &repricing->row[i + 1]); i++) {
			row.qty += repricing->row[i + 1].qty;
			row.pieces += repricing->row[i + 1].pieces;
		}
		write_row(sheet, in, drift, &row);
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

static const char *const step_names[DRIFT_STEPS] = {"was", "gone", "prices", "charges", "rates"};

/* What a step adds to the total. */
static struct sum
part_of(const struct drift *drift, int step)
{
	return sum_difference(drift->after[step], drift->after[step - 1]);
}

/* afresh NULL: nothing was planned. */
static void
write_summary(struct sheet *sheet, const struct inputs *in, const struct drift *drift,
              const struct afresh *afresh)
{
	static const char *const header[] = {"item",   "amount", "currency",
	                                     "orders", "pieces", "unmet"};
	const struct sum *is = &drift->after[DRIFT_RATES];
	const struct way *kept, *plan;

	sheet_fields(sheet, header, sizeof header / sizeof *header);
	sheet_end_row(sheet);
	write_item(sheet, in, step_names[DRIFT_WAS], drift->after[DRIFT_WAS], NULL);
	for (int i = DRIFT_GONE; i < DRIFT_STEPS; i++)
		write_item(sheet, in, step_names[i], part_of(drift, i), NULL);
	write_item(sheet, in, "is", *is, NULL);
	if (afresh == NULL)
		return;
	kept = &afresh->kept;
	plan = afresh_plan(afresh);
	write_item(sheet, in, "again", sum_difference(kept->sum, *is), NULL);
	write_item(sheet, in, "kept", kept->sum, &kept->unmet);
	write_item(sheet, in, "afresh", plan->sum, &plan->unmet);
	write_item(sheet, in, "saving", sum_difference(kept->sum, plan->sum), NULL);
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
tell_gone(const struct repricing *repricing)
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
	return pieces > 0;
}

/* The gap of a plan that is not proved. Was its search cut short, as --effort asked? */
static bool
tell_gap(struct inputs *in, const struct settings *set, const char *what, wide cost,
         const struct search_result *result)
{
	struct text gap = {0};

	dec_add_text(&gap, figure_gap(cost, result->bound), 3, 3);
	tell("%s %s with a gap of %s %%: cost %s, no plan that meets as much costs less than %s",
	     what, result->stopped ? "was cut short" : "ended", gap.bytes,
	     figure_money(&in->arena, cost, in->market.home_decimals, false),
	     figure_money(&in->arena, result->bound, in->market.home_decimals, true));
	text_free(&gap);
	return result->stopped && set->effort_given;
}

/* Is the answer incomplete? */
static bool
tell_plan(struct inputs *in, const struct settings *set, const struct afresh *afresh)
{
	const struct way *plan = afresh_plan(afresh);
	const struct search_result *again = &afresh->again.result;
	bool incomplete = plan->unmet > 0;

	if (!afresh_is_proved(afresh))
		incomplete |=
		    tell_gap(in, set, "planning afresh", plan->cost, &afresh->fresh.result);
	if (afresh->may_lack && !again->proved)
		incomplete |=
		    tell_gap(in, set, "buying again what is missing", again->plan.cost, again);
	if (plan->unmet > 0)
		tell("%lld piece%s of the need cannot be bought of anybody", (long long)plan->unmet,
		     figure_plural(plan->unmet));
	return incomplete;
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
tell_summary(struct inputs *in, const struct drift *drift, const struct afresh *afresh)
{
	const char *home = in->market.book.home, *mark = ": ";
	struct text line = {0};

	text_adds(&line, money(in, drift->after[DRIFT_WAS].amount));
	text_adds(&line, " is now ");
	text_adds(&line, money(in, drift->after[DRIFT_RATES].amount));
	text_adds(&line, *home != '\0' ? " " : "");
	text_adds(&line, home);
	for (int i = DRIFT_GONE; i < DRIFT_STEPS; i++) {
		wide part = part_of(drift, i).amount;

		if (part == 0)
			continue;
		text_adds(&line, mark);
		text_adds(&line, step_names[i]);
		text_adds(&line, part > 0 ? " +" : " ");
		text_adds(&line, money(in, part));
		mark = ", ";
	}
	if (afresh != NULL) {
		text_adds(&line, "; planning afresh saves ");
		text_adds(&line,
		          money(in, afresh->kept.sum.amount - afresh_plan(afresh)->sum.amount));
	}
	tell("%s", line.bytes);
	text_free(&line);
}

/* ---- planning afresh ---- */

/* Is every line to be had in full? */
static bool
is_whole(const struct repricing *repricing)
{
	for (size_t i = 0; i < repricing->count; i++)
		if (repricing->row[i].pieces < repricing->row[i].qty)
			return false;
	return true;
}

/* What the true need asks for more than the lines are for cannot be told from them. */
static void
plan_afresh(struct inputs *in, const struct settings *set, const struct drift_input *drifting,
            const struct drift *drift, struct afresh *afresh)
{
	struct afresh_input input = {.purchase = purchase_files_input(&in->market, &set->purchase),
	                             .drift = drifting,
	                             .standing = drift,
	                             .orders = &in->orders,
	                             .may_lack =
	                                 set->need != NULL || !is_whole(drifting->repricing),
	                             .effort = set->effort};

	if (set->need == NULL)
		in->market.need = replan_need(&in->orders);
	input.purchase.need = in->market.need;
	input.purchase.stock = &in->owned;
	input.purchase.kept = in->paid.orders.count > 0 ? &in->paid : NULL;
	afresh_make(afresh, &input);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct inputs in;
	struct repricing repricing;
	struct drift_input drifting;
	struct drift drift;
	struct afresh made = {0}, *afresh = set.no_plan ? NULL : &made;
	struct sheet sheet = {0}, summary = {0}, replan = {0};
	struct outputs outputs = {0};
	bool incomplete;

	read_inputs(&set, &in);
	reprice(&repricing, in.standing, in.standings, &in.market.offers);
	drifting = (struct drift_input){.line = in.standing,
	                                .lines = in.standings,
	                                .repricing = &repricing,
	                                .offers = &in.market.offers,
	                                .was = in.was,
	                                .now = in.now,
	                                .weights = in.market.terms.weights,
	                                .home = in.market.book.home,
	                                .file = in.orders.file};
	drift_make(&drift, &drifting);
	if (afresh != NULL)
		plan_afresh(&in, &set, &drifting, &drift, afresh);

	write_table(&sheet, &in, &drifting);
	write_summary(&summary, &in, &drift, afresh);
	if (afresh != NULL)
		orders_write(&replan, &afresh_plan(afresh)->orders);
	outputs_add(&outputs, set.summary, &summary);
	outputs_add(&outputs, set.replan, &replan);
	tell_later();

	incomplete = tell_gone(&repricing);
	incomplete |= totals_tell_unplaced(&drift.totals, in.orders.file);
	if (afresh != NULL)
		incomplete |= tell_plan(&in, &set, afresh);
	if (!set.quiet && in.market.terms.rates != NULL)
		rates_tell(in.market.terms.rates);
	if (!set.quiet && in.was_files.rates != NULL)
		rates_tell(in.was_files.rates);
	if (!set.quiet) {
		tell_passed_over(&in);
		tell_summary(&in, &drift, afresh);
	}
	outputs_write(&outputs, &sheet);

	if (afresh != NULL)
		afresh_free(afresh);
	drift_free(&drift);
	repricing_free(&repricing);
	sheet_free(&sheet);
	sheet_free(&summary);
	sheet_free(&replan);
	free_inputs(&in);
	purchase_options_free(&set.purchase);
	return incomplete ? EXIT_DIFFERS : EXIT_DONE;
}
