/*
 * Fuzz target: what orders cost, with charges, taxes, rates, rounding and other costs, through
 * lot-total.
 *
 * Input: choices (options), then the order lines, sellers, charges, rates, weights, other costs and
 * shares, parted by lines of "----"; an empty file is not given.
 *
 * Holds: goods, charges and tax of a row are its total, and what they are at home, with what
 * rounding takes, its home total; the row of all is the sum of the rows, to what cash can pay; each
 * charge and each tax adds up; models add up to the orders; the order of rows in any file is no
 * matter.
 */
#include "harness.h"

#include "table/output.h"
#include "table/table.h"

#include <stdlib.h>
#include <string.h>

enum { ORDERS, SELLERS, CHARGES, RATES, WEIGHTS, OTHERS, SHARES, FILES };

static const char *const names[FILES] = {
    "-", "sellers.csv", "charges.csv", "rates.csv", "weights.csv", "others.csv", "shares.csv",
};
static const char *const options[FILES] = {NULL, "-s", "-c", "-x", "-w", "--others", "--shares"};

struct drawn {
	struct fuzz_bytes file[FILES];
	const char *args[48];
	size_t count;
};

static void
add_arg(struct drawn *drawn, const char *arg)
{
	FUZZ_CHECK(drawn->count + 1 < sizeof drawn->args / sizeof *drawn->args, "arguments fit");
	drawn->args[drawn->count++] = arg;
	drawn->args[drawn->count] = NULL;
}

static struct fuzz_result
total(const struct drawn *drawn, const char *more, const char *and_more)
{
	struct drawn with = *drawn;

	for (size_t i = 0; i < FILES; i++)
		fuzz_put_file(names[i], drawn->file[i]);
	if (more != NULL)
		add_arg(&with, more);
	if (and_more != NULL)
		add_arg(&with, and_more);
	return fuzz_program_run(lot_total_main, with.args);
}

/* ---- rows turned round ---- */

struct turning {
	const char *file;
	struct fuzz_bytes out;
};

/* The header, then the last row to the first. */
static void
turn_rows(void *data)
{
	struct turning *turning = data;
	struct table *table = table_open(turning->file, NULL);
	struct sheet sheet = {0}, row_sheet = {.headed = true};
	struct fuzz_bytes rows = {0}, before;
	struct row row;

	sheet_fields(&sheet, (const char *const *)table_header_as_read(table),
	             table_columns(table));
	sheet_end_row(&sheet);
	while (table_next(table, &row)) {
		text_clear(&row_sheet.text);
		sheet_fields(&row_sheet, (const char *const *)row.field, row.count);
		sheet_end_row(&row_sheet);
		before = rows;
		rows = fuzz_of(row_sheet.text.bytes, row_sheet.text.length);
		fuzz_add(&rows, before.bytes, before.length);
	}
	turning->out = fuzz_of(sheet.text.bytes, sheet.text.length);
	fuzz_add(&turning->out, rows.bytes, rows.length);
	sheet_free(&sheet);
	sheet_free(&row_sheet);
	table_close(table);
}

static void
turn_all(struct drawn *drawn)
{
	for (size_t i = 0; i < FILES; i++) {
		struct turning turning = {.file = names[i]};

		if (drawn->file[i].length == 0)
			continue;
		fuzz_put_file(names[i], drawn->file[i]);
		fuzz_run(turn_rows, &turning);
		drawn->file[i] = turning.out;
	}
}

/* ---- figures ---- */

static unsigned
decimals_of(const char *text)
{
	const char *point = strchr(text, '.');

	return point == NULL ? 0 : (unsigned)strlen(point + 1);
}

static fuzz_wide
figure(const struct fuzz_table *table, size_t row, const char *column, unsigned decimals)
{
	return fuzz_number(fuzz_field(table, row, column), decimals);
}

/* The sum of the columns from one to the one before another. */
static fuzz_wide
sum_between(const struct fuzz_table *table, size_t row, size_t from, size_t to, unsigned decimals)
{
	fuzz_wide sum = 0;

	for (size_t i = from; i < to; i++)
		sum += fuzz_number(table->field[row][i], decimals);
	return sum;
}

static bool
is_of_tax(const char *name)
{
	return strncmp(name, "tax ", 4) == 0;
}

static void
check_row(const struct fuzz_table *table, size_t row)
{
	unsigned decimals = decimals_of(fuzz_field(table, row, "total"));
	unsigned home_decimals = decimals_of(fuzz_field(table, row, "home"));
	size_t charges = fuzz_column(table, "goods") + 1, tax = fuzz_column(table, "tax"), first;
	fuzz_wide due;

	for (first = charges; first < tax && !is_of_tax(table->field[0][first]); first++)
		;
	if (*fuzz_field(table, row, "total") != '\0') {
		due = figure(table, row, "goods", decimals) + figure(table, row, "tax", decimals) +
		      sum_between(table, row, charges, first, decimals);
		FUZZ_CHECK(figure(table, row, "total", decimals) == due,
		           "goods, charges and tax are the total");
		if (first < tax)
			FUZZ_CHECK(sum_between(table, row, first, tax, decimals) ==
			               figure(table, row, "tax", decimals),
			           "the taxes are the tax");
	}
	due = figure(table, row, "home_goods", home_decimals) +
	      figure(table, row, "home_charges", home_decimals) +
	      figure(table, row, "home_tax", home_decimals) +
	      figure(table, row, "rounding", home_decimals);
	FUZZ_CHECK(figure(table, row, "home", home_decimals) == due,
	           "goods, charges, tax and rounding at home are the home total");
}

/* A column of the last row is the sum of those before it. */
static void
check_sum(const struct fuzz_table *table, const char *column, fuzz_wide less, fuzz_wide more)
{
	size_t last = table->rows - 1;
	unsigned decimals = decimals_of(fuzz_field(table, last, column));
	fuzz_wide sum = 0, due;

	for (size_t i = 1; i < last; i++)
		sum += figure(table, i, column, decimals);
	due = figure(table, last, column, decimals);
	FUZZ_CHECK(due >= sum - less && due <= sum + more, column);
}

static void
check_sums(const struct fuzz_table *table, unsigned cash)
{
	static const char *const home[] = {"home_goods", "home_charges", "home_tax"};
	static const char *const own[] = {"goods", "tax", "total"};
	size_t last = table->rows - 1;
	unsigned decimals = decimals_of(fuzz_field(table, last, "home"));
	fuzz_wide unit = 0;

	FUZZ_CHECK(last > 0, "there is a row of all");
	check_sum(table, "pieces", 0, 0);
	for (size_t i = 0; i < sizeof home / sizeof *home; i++)
		check_sum(table, home[i], 0, 0);
	if (*fuzz_field(table, last, "total") != '\0')
		for (size_t i = 0; i < sizeof own / sizeof *own; i++)
			check_sum(table, own[i], 0, 0);
	if (cash > 0)
		unit = decimals == 0 ? cash / 1000 : decimals == 2 ? cash / 10 : cash;
	check_sum(table, "rounding", unit / 2, unit / 2);
	check_sum(table, "home", unit / 2, unit / 2);
	if (unit > 0)
		FUZZ_CHECK(figure(table, last, "home", decimals) % unit == 0, "cash can pay it");
}

/* The same figures, charge by charge. */
static void
check_each(const struct fuzz_table *plain, const struct fuzz_table *each)
{
	static const char *const same[] = {"seller", "route",    "lots",         "pieces",
	                                   "goods",  "tax",      "total",        "home_goods",
	                                   "home",   "rounding", "home_charges", "home_tax"};

	FUZZ_CHECK(plain->rows == each->rows, "as many rows with each charge");
	for (size_t i = 1; i < plain->rows; i++)
		for (size_t k = 0; k < sizeof same / sizeof *same; k++)
			FUZZ_CHECK(strcmp(fuzz_field(plain, i, same[k]),
			                  fuzz_field(each, i, same[k])) == 0,
			           same[k]);
}

/* The last row by model is that by order. */
static void
check_models(const struct fuzz_table *plain, const struct fuzz_table *models)
{
	static const char *const same[] = {"pieces",     "goods",        "charges",
	                                   "tax",        "total",        "home",
	                                   "home_goods", "home_charges", "home_tax"};

	for (size_t k = 0; k < sizeof same / sizeof *same; k++)
		FUZZ_CHECK(strcmp(fuzz_field(plain, plain->rows - 1, same[k]),
		                  fuzz_field(models, models->rows - 1, same[k])) == 0,
		           same[k]);
}

/* ---- the input ---- */

static void
draw_options(struct drawn *drawn, struct fuzz_input *in, unsigned *cash)
{
	static const char *const homes[] = {NULL, NULL, "EUR", "USD", "JPY", "KWD", "ISK"};
	static const char *const coins[] = {NULL, NULL, "0.05", "1", "0.01", "0.25"};
	static const unsigned coin[] = {0, 0, 50, 1000, 10, 250};
	const char *home;
	unsigned choice;

	add_arg(drawn, "lot-total");
	if (fuzz_choice(in, 2)) {
		add_arg(drawn, "--round");
		add_arg(drawn, "half-even");
	}
	if (fuzz_choice(in, 2)) {
		add_arg(drawn, "--round-by");
		add_arg(drawn, "line");
	}
	if (fuzz_choice(in, 2)) {
		add_arg(drawn, "--tax-by");
		add_arg(drawn, "line");
	}
	choice = fuzz_choice(in, sizeof coins / sizeof *coins);
	*cash = coin[choice];
	if (coins[choice] != NULL) {
		add_arg(drawn, "--cash");
		add_arg(drawn, coins[choice]);
	}
	home = homes[fuzz_choice(in, sizeof homes / sizeof *homes)];
	if (home != NULL) {
		add_arg(drawn, "-C");
		add_arg(drawn, home);
	}
	for (size_t i = 0; i < FILES; i++) {
		drawn->file[i] = fuzz_section(in);
		if (i == ORDERS || i == SHARES || drawn->file[i].length == 0)
			continue;
		add_arg(drawn, options[i]);
		add_arg(drawn, names[i]);
	}
	choice = fuzz_choice(in, 3);
	if (drawn->file[RATES].length > 0 && choice == 1) {
		add_arg(drawn, "--rates-base");
		add_arg(drawn, "EUR");
	}
	if (drawn->file[RATES].length > 0 && fuzz_choice(in, 2)) {
		add_arg(drawn, "--on");
		add_arg(drawn, "2026-02-28");
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_input in = fuzz_start_choices(data, size);
	struct drawn drawn = {0}, turned;
	struct fuzz_result plain, each, other, models;
	struct fuzz_table table, each_table, models_table;
	unsigned cash;

	if (size > 4000)
		return -1;
	draw_options(&drawn, &in, &cash);
	plain = total(&drawn, NULL, NULL);
	if (plain.status == 2)
		return 0;
	table = fuzz_table(plain.out);
	for (size_t i = 1; i < table.rows; i++)
		check_row(&table, i);
	check_sums(&table, cash);
	each = total(&drawn, "--each-charge", NULL);
	if (each.status == 2) {
		FUZZ_CHECK(strstr(each.err.bytes, ": a charge is named") != NULL,
		           "each charge is refused only for its name");
	} else {
		each_table = fuzz_table(each.out);
		for (size_t i = 1; i < each_table.rows; i++)
			check_row(&each_table, i);
		check_sums(&each_table, cash);
		check_each(&table, &each_table);
	}
	turned = drawn;
	turn_all(&turned);
	other = total(&turned, NULL, NULL);
	FUZZ_CHECK(other.status == plain.status && fuzz_same(other.out, plain.out),
	           "the order of rows is no matter");
	if (drawn.file[SHARES].length == 0)
		return 0;
	add_arg(&drawn, options[SHARES]);
	add_arg(&drawn, names[SHARES]);
	models = total(&drawn, "--by", "model");
	if (models.status == 2)
		return 0;
	models_table = fuzz_table(models.out);
	for (size_t i = 1; i < models_table.rows; i++)
		check_row(&models_table, i);
	check_sums(&models_table, cash);
	check_models(&table, &models_table);
	return 0;
}
