/*
 * Fuzz target: lot-split on small markets, and lot-total on what it makes of them.
 *
 * Input: bytes that a market is drawn from (market.h).
 *
 * Holds: the cost is never below the bound, and what its parts add up to; what is proved is, and
 * nothing else; a search that is cut short is dearer or bounds lower, and neither contradicts the
 * other; pieces, lots and orders are those of the order lines; each piece is for a row or beyond
 * the need; what lot-total makes of the order lines agrees, to the cent, and exactly where nothing
 * is rounded; models add up to it; fewer orders cost no less; the order of rows in files is no
 * matter.
 */
#include "market.h"

#include <string.h>

#define NANO 9
#define CENT ((fuzz_wide)10000000) /* nano */

struct report {
	struct fuzz_table table;
	bool proved;
	fuzz_wide cost, landed, bound, orders, lots, pieces, surplus, unmet;
};

static const char *
metric(const struct report *report, const char *name)
{
	for (size_t i = 1; i < report->table.rows; i++)
		if (strcmp(report->table.field[i][0], name) == 0)
			return report->table.field[i][1];
	return "";
}

static fuzz_wide
money(const struct report *report, const char *name)
{
	return fuzz_number(metric(report, name), NANO);
}

static void
read_report(struct report *report)
{
	report->table = fuzz_table(fuzz_file("report.csv"));
	report->proved = strcmp(metric(report, "proved"), "yes") == 0;
	report->cost = money(report, "cost");
	report->landed = money(report, "landed");
	report->bound = money(report, "bound");
	report->orders = fuzz_number(metric(report, "orders"), 0);
	report->lots = fuzz_number(metric(report, "lots"), 0);
	report->pieces = fuzz_number(metric(report, "pieces"), 0);
	report->surplus = fuzz_number(metric(report, "surplus"), 0);
	report->unmet = fuzz_number(metric(report, "unmet"), 0);
	FUZZ_CHECK(report->cost == report->landed + money(report, "penalties") +
	                               money(report, "order_cost") + money(report, "stay") -
	                               money(report, "worth"),
	           "the parts of the cost add up");
	FUZZ_CHECK(report->bound <= report->cost, "the cost is not below the bound");
	FUZZ_CHECK(report->proved == (2 * (report->cost - report->bound) < CENT) ||
	               (!report->proved && report->unmet > 0),
	           "proved is a bound within half a cent, and no more to be met");
}

static struct fuzz_result
split(const struct market *market, const char *effort, bool turned, bool curve)
{
	const char *args[64] = {"lot-split",   "--effort",  effort,     "--report",   "report.csv",
	                        "--short",     "short.csv", "--shares", "shares.csv", "--surplus",
	                        "surplus.csv", "--why",     "why.csv"};
	size_t count = 13;

	if (curve) {
		args[count++] = "--curve";
		args[count++] = "curve.csv";
	}
	market_args(market, false, args, count);
	market_put(market, turned);
	return fuzz_program_run(lot_split_main, args);
}

static fuzz_wide
sum_of(const struct fuzz_table *table, const char *column)
{
	fuzz_wide sum = 0;

	for (size_t i = 1; i < table->rows; i++)
		sum += fuzz_number(fuzz_field(table, i, column), 0);
	return sum;
}

/* Of order lines, those that a paid or open order of before has already. */
static bool
is_before(const struct fuzz_table *orders, size_t row)
{
	size_t state = fuzz_column(orders, "state");

	return state != SIZE_MAX && (strcmp(orders->field[row][state], "paid") == 0 ||
	                             strcmp(orders->field[row][state], "open") == 0);
}

static void
check_orders(const struct market *market, const struct report *report,
             const struct fuzz_table *orders)
{
	struct fuzz_table short_table = fuzz_table(fuzz_file("short.csv"));
	struct fuzz_table shares = fuzz_table(fuzz_file("shares.csv"));
	struct fuzz_table surplus = fuzz_table(fuzz_file("surplus.csv"));
	fuzz_wide pieces = 0, beyond = 0;
	size_t lot = fuzz_column(&short_table, "lot"), qty = fuzz_column(&short_table, "qty");

	for (size_t i = 1; i < orders->rows; i++) {
		fuzz_wide amount = fuzz_number(fuzz_field(orders, i, "amount"), NANO);
		fuzz_wide of_line = fuzz_number(fuzz_field(orders, i, "qty"), 0);
		fuzz_wide left = fuzz_number(fuzz_field(orders, i, "surplus"), 0);

		FUZZ_CHECK(amount == of_line * fuzz_number(fuzz_field(orders, i, "price"), NANO),
		           "an amount is quantity times price");
		FUZZ_CHECK(left >= 0 && left <= of_line, "no more is beyond the need than bought");
		if (is_before(orders, i))
			continue;
		FUZZ_CHECK(of_line > 0, "a line is of some pieces");
		pieces += of_line;
		beyond += left;
	}
	FUZZ_CHECK(pieces == report->pieces, "the pieces are those of the order lines");
	FUZZ_CHECK(market->kept || beyond == report->surplus, "the surplus is that of the lines");
	FUZZ_CHECK(sum_of(&shares, "qty") == sum_of(orders, "qty"),
	           "everything is shared out, and nothing else");
	FUZZ_CHECK(sum_of(&surplus, "qty") == sum_of(orders, "surplus"),
	           "the surplus as stock is all of it");
	/* Of rows that are alternatives, each stands there with what is missing of the lot. */
	pieces = 0;
	for (size_t i = 1; i < short_table.rows; i++) {
		bool before = false;

		for (size_t k = 1; k < i && lot != SIZE_MAX; k++)
			before = before || (*short_table.field[i][lot] != '\0' &&
			                    strcmp(short_table.field[i][lot],
			                           short_table.field[k][lot]) == 0);
		if (!before)
			pieces += fuzz_number(short_table.field[i][qty], 0);
	}
	FUZZ_CHECK(pieces == report->unmet, "what is missing is listed");
	(void)fuzz_table(fuzz_file("why.csv"));
}

/* lot-total, on the order lines: agrees with the search. */
static void
check_total(const struct market *market, const struct report *report, struct fuzz_bytes orders)
{
	const char *args[64] = {"lot-total"};
	struct fuzz_bytes shares = fuzz_file("shares.csv");
	struct fuzz_result result, models;
	struct fuzz_table table, by_model;
	fuzz_wide home, off, most;
	size_t count = market_args(market, true, args, 1), last;

	fuzz_put_file("-", orders);
	result = fuzz_program_run(lot_total_main, args);
	FUZZ_CHECK(market->kept || result.status == 0, "orders of a plan can be placed");
	if (result.status == 2)
		return;
	table = fuzz_table(result.out);
	last = table.rows - 1;
	home = fuzz_number(fuzz_field(&table, last, "home"), NANO);
	if (!market->kept) {
		FUZZ_CHECK((fuzz_wide)table.rows - 2 == report->orders,
		           "lot-total finds as many orders");
		FUZZ_CHECK(fuzz_number(fuzz_field(&table, last, "lots"), 0) == report->lots,
		           "lot-total finds as many lots");
		off = home - report->landed;
		off = off < 0 ? -off : off;
		/* Each goods, charge and tax is off by half a unit of its currency at most, and the
		 * tax on them again by as much; the dearest unit here is 7 EUR, of 100ths. */
		most = report->orders * (fuzz_wide)(market->charges + 3) * 2 * 7 * CENT;
		FUZZ_CHECK(off <= (market->round ? 0 : most), "lot-total agrees on what is landed");
	}
	args[count++] = "--shares";
	args[count++] = "shares.csv";
	args[count++] = "--by";
	args[count++] = "model";
	args[count] = NULL;
	fuzz_put_file("shares.csv", shares);
	fuzz_put_file("-", orders);
	models = fuzz_program_run(lot_total_main, args);
	FUZZ_CHECK(models.status == result.status, "models can be totalled as orders can");
	by_model = fuzz_table(models.out);
	FUZZ_CHECK(fuzz_number(fuzz_field(&by_model, by_model.rows - 1, "home"), NANO) == home,
	           "models cost what the orders do");
}

static void
check_curve(const struct report *report)
{
	struct fuzz_table curve = fuzz_table(fuzz_file("curve.csv"));
	fuzz_wide cost = 0;

	for (size_t i = 1; i < curve.rows; i++) {
		fuzz_wide here = fuzz_number(fuzz_field(&curve, i, "cost"), NANO);
		fuzz_wide bound = fuzz_number(fuzz_field(&curve, i, "bound"), NANO);

		FUZZ_CHECK(bound <= here, "a point of the curve is not below its bound");
		FUZZ_CHECK(i == 1 || here <= cost, "more orders cost no more");
		FUZZ_CHECK(fuzz_number(fuzz_field(&curve, i, "orders"), 0) <= report->orders,
		           "the curve ends at the orders of the plan");
		cost = here;
	}
	FUZZ_CHECK(curve.rows == 1 || cost == report->cost, "the curve ends at the plan");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct market_size most = {
	    .lots = 5, .rows = 3, .sellers = 5, .listings = 4, .qty = 9};
	struct fuzz_input in = fuzz_start(data, size);
	struct fuzz_result whole, turned, cut;
	struct report full = {0}, other = {0};
	struct fuzz_table orders;
	struct market market;
	const char *effort;
	bool curve;

	if (size > 600)
		return -1;
	curve = fuzz_byte(&in) % 4 == 1;
	effort = (const char *const[]){"1", "20", "300", "5000"}[fuzz_byte(&in) % 4];
	market_draw(&market, &in, &most);
	whole = split(&market, "400000", false, curve);
	if (whole.status == 2)
		return 0;
	read_report(&full);
	orders = fuzz_table(whole.out);
	check_orders(&market, &full, &orders);
	if (curve)
		check_curve(&full);
	check_total(&market, &full, whole.out);
	turned = split(&market, "400000", true, curve);
	FUZZ_CHECK(turned.status == whole.status && fuzz_same(turned.out, whole.out),
	           "the order of rows is no matter");
	cut = split(&market, effort, false, false);
	FUZZ_CHECK(cut.status != 2, "less effort is no trouble");
	read_report(&other);
	check_orders(&market, &other, &(struct fuzz_table[]){fuzz_table(cut.out)}[0]);
	if (other.unmet == full.unmet)
		FUZZ_CHECK(other.bound <= full.cost && full.bound <= other.cost,
		           "no cost is below the bound of another search");
	FUZZ_CHECK(other.unmet >= full.unmet || !full.proved, "nothing more is met with less");
	return 0;
}
