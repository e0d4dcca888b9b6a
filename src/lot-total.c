/*
 * lot-total: totals orders, or the models they are for, with charges, tax and currency.
 */
#include "base/err.h"
#include "base/opts.h"
#include "trade/model_totals.h"
#include "trade/shares.h"
#include "trade/terms_files.h"
#include "trade/totals.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	KEY_EACH = OPT_LONG,
	KEY_ROUND,
	KEY_ROUND_BY,
	KEY_TAX_BY,
	KEY_CASH,
	KEY_OTHERS,
	KEY_SHARES,
	KEY_BY
};

static const struct opt opts[] = {
    OPTS_COMMON,
    OPTS_TERMS,
    {KEY_EACH, "each-charge", NULL, "a column for each charge in place of charges", false},
    {KEY_ROUND, "round", "HOW", "sellers round half-away (default) or half-even", false},
    {KEY_ROUND_BY, "round-by", "WHAT", "round the goods by order (default) or by line", false},
    {KEY_TAX_BY, "tax-by", "WHAT", "round the tax by order (default) or by line", false},
    {KEY_CASH, "cash", "M", "round the home total to multiples of M", false},
    {KEY_OTHERS, "others", "FILE", "costs that are no order, such as instructions", false},
    {KEY_SHARES, "shares", "FILE", "who gets what of the orders, as lot-split writes it", false},
    {KEY_BY, "by", "model", "a row for each model in place of each order, by --shares", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-total",
    .purpose = "Totals orders with charges, tax and currency.",
    .synopsis = "[-q] [-D C] [--encoding NAME] [-s FILE] [-c FILE] [-x FILE] [-w FILE]\n"
                "                 [-C CODE] [option...] "
                "< orders.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 1 an order is below its seller's minimum or is not shipped,\n"
             "2 trouble. The figures are estimates: the seller's invoice and local rules decide.",
};

struct settings {
	struct terms_options terms;
	const char *others, *shares;
	bool by_model;
	bool each_charge, goods_by_line, tax_by_line, quiet;
	enum rounding rounding;
	int64_t cash;           /* micro; 0: not given */
	struct table_form form; /* of stdin */
};

/* Is it the other word, not the one of the default? */
static bool
read_either(const char *option, const char *value, const char *usual, const char *other)
{
	struct arena arena = {0};

	if (strcmp(value, usual) != 0 && strcmp(value, other) != 0)
		opts_usage("--%s \"%s\" is not known: it is %s or %s", option,
		           text_show(&arena, value), usual, other);
	return strcmp(value, other) == 0;
}

static int64_t
read_cash(const char *value)
{
	struct arena arena = {0};
	int64_t cash;
	enum dec_fault why = dec_parse_micro(value, false, &cash);

	if (why != DEC_OK)
		opts_usage("--cash \"%s\" %s", text_show(&arena, value), dec_fault_text(why));
	if (cash == 0)
		opts_usage("--cash takes an amount above 0, such as 0.05");
	return cash;
}

static void
check_by(const struct settings *set)
{
	if (set->by_model && set->shares == NULL)
		opts_usage("--by model goes by who gets what: --shares FILE");
	if (set->shares != NULL && !set->by_model)
		opts_usage("--shares is for --by model");
	if (set->by_model && set->each_charge)
		opts_usage("--each-charge is of orders, not --by model");
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {0};
	struct opt_reader reader;
	const char *value;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		switch (key) {
		case KEY_EACH:
			set.each_charge = true;
			break;
		case KEY_TAX_BY:
			set.tax_by_line = read_either("tax-by", value, "order", "line");
			break;
		case KEY_ROUND_BY:
			set.goods_by_line = read_either("round-by", value, "order", "line");
			break;
		case KEY_ROUND:
			set.rounding = read_either("round", value, "half-away", "half-even")
			                   ? ROUND_HALF_EVEN
			                   : ROUND_HALF_AWAY;
			break;
		case KEY_CASH:
			set.cash = read_cash(value);
			break;
		case KEY_OTHERS:
			set.others = opts_file(&reader, value);
			break;
		case KEY_SHARES:
			set.shares = opts_file(&reader, value);
			break;
		case KEY_BY:
			if (strcmp(value, "model") != 0)
				opts_usage("--by takes model");
			set.by_model = true;
			break;
		default:
			if (!table_option(&set.form, key, value))
				terms_option(&set.terms, &reader, key, value);
		}
	terms_options_end(&set.terms);
	check_by(&set);
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the order lines come from stdin, there are no operands");
	return set;
}

/* ---- the files ---- */

struct files {
	struct orders orders;
	struct terms_files terms;
	struct extras extras;
	struct shares shares;
};

/* Reads what the settings name and points the input at it. */
static void
read_files(const struct settings *set, struct files *files, struct totals_input *input)
{
	terms_files_read(&files->terms, &set->terms);
	*input = (struct totals_input){.orders = &files->orders,
	                               .sellers = files->terms.sellers,
	                               .charges = files->terms.charges,
	                               .rates = files->terms.rates,
	                               .weights = files->terms.weights,
	                               .currency = set->terms.currency,
	                               .goods_by_line = set->goods_by_line,
	                               .tax_by_line = set->tax_by_line,
	                               .rounding = set->rounding,
	                               .cash = set->cash};
	if (set->others != NULL) {
		extras_read(&files->extras, table_open(set->others, NULL));
		input->extras = &files->extras;
	}
	if (set->shares != NULL)
		shares_read(&files->shares, table_open(set->shares, NULL));
	orders_read(&files->orders, table_open("-", &set->form));
	if (set->shares != NULL)
		shares_check(&files->shares, &files->orders);
}

static void
free_files(struct files *files)
{
	orders_free(&files->orders);
	terms_files_free(&files->terms);
	extras_free(&files->extras);
	shares_free(&files->shares);
}

/* ---- the table ---- */

static const char *const columns_before[] = {"seller", "route",    "lots",
                                             "pieces", "currency", "goods"};
static const char *const columns_after[] = {
    "tax", "total", "home_currency", "home_goods", "home_charges", "home_tax", "rounding", "home"};

enum {
	BEFORE = sizeof columns_before / sizeof *columns_before,
	AFTER = sizeof columns_after / sizeof *columns_after
};

static const char *const columns_estimated[] = {"home_estimated", "estimated_percent"};

enum { ESTIMATED = sizeof columns_estimated / sizeof *columns_estimated };

#define TAX_COLUMN "tax " /* and the percent */

/* What --each-charge adds to the table. */
struct detail {
	bool each_charge;
	size_t charges, taxes, estimates; /* columns */
};

static struct detail
detail_of(const struct totals *totals, bool each_charge)
{
	if (!each_charge)
		return (struct detail){0};
	return (struct detail){.each_charge = true,
	                       .charges = totals->charges,
	                       .taxes = totals->several_taxes ? totals->rates : 0,
	                       .estimates = totals->estimates ? ESTIMATED : 0};
}

static bool
is_column(const char *name)
{
	bool found = strncmp(name, TAX_COLUMN, sizeof TAX_COLUMN - 1) == 0;

	for (size_t i = 0; i < BEFORE; i++)
		found = found || text_equal_fold(name, columns_before[i]);
	for (size_t i = 0; i < AFTER; i++)
		found = found || text_equal_fold(name, columns_after[i]);
	for (size_t i = 0; i < ESTIMATED; i++)
		found = found || text_equal_fold(name, columns_estimated[i]);
	return found;
}

/* A charge named as another column would make a table that nobody can read by name. */
static void
check_charge_names(const struct totals *totals, const char *file)
{
	struct arena arena = {0};

	for (size_t c = 0; c < totals->charges; c++)
		if (is_column(totals->charge[c]))
			die("%s: a charge is named \"%s\", as a column of the totals is: "
			    "rename it for --each-charge",
			    text_show(&arena, file), text_show(&arena, totals->charge[c]));
}

static void
tax_column(struct sheet *sheet, int64_t percent)
{
	struct text name = {0};

	text_adds(&name, TAX_COLUMN);
	dec_add_text(&name, percent, MICRO_DECIMALS, 0);
	sheet_field(sheet, name.bytes);
	text_free(&name);
}

static void
write_header(struct sheet *sheet, const struct totals *totals, const struct detail *detail)
{
	sheet_fields(sheet, columns_before, BEFORE);
	if (!detail->each_charge)
		sheet_field(sheet, "charges");
	for (size_t i = 0; i < detail->charges; i++)
		sheet_field(sheet, totals->charge[i]);
	for (size_t i = 0; i < detail->taxes; i++)
		tax_column(sheet, totals->rate[i]);
	sheet_fields(sheet, columns_after, AFTER);
	sheet_fields(sheet, columns_estimated, detail->estimates);
	sheet_end_row(sheet);
}

/* An amount in minor units, all its decimals shown. */
static void
write_money(struct sheet *sheet, wide amount, unsigned decimals)
{
	sheet_decimal(sheet, amount, decimals, decimals);
}

/* The figures in order currency. */
static void
write_own(struct sheet *sheet, const struct total_row *row, const struct detail *detail)
{
	write_money(sheet, row->goods, row->decimals);
	if (!detail->each_charge)
		write_money(sheet, row->charges, row->decimals);
	for (size_t i = 0; i < detail->charges; i++)
		write_money(sheet, row->each[i], row->decimals);
	for (size_t i = 0; i < detail->taxes; i++)
		write_money(sheet, row->tax_of[i], row->decimals);
	write_money(sheet, row->tax, row->decimals);
	write_money(sheet, row->total, row->decimals);
}

enum { SHARE_DECIMALS = 2 }; /* of a percent */

/* Which part of the row's home total is estimated, in percent x 10^2. */
static wide
estimated_share(const struct total_row *row)
{
	struct arena shown = {0};
	wide part, whole = row->home;

	if (whole == 0)
		return 0;
	if (!wide_mul(row->home_estimated, 100 * wide_power10(SHARE_DECIMALS), &part))
		die("%s: the figures are too large to count exactly",
		    text_show(&shown, row->seller));
	return whole > 0 ? wide_div_round(part, whole, ROUND_HALF_AWAY)
	                 : wide_div_round(-part, -whole, ROUND_HALF_AWAY);
}

/* The columns from currency on. */
static void
write_figures(struct sheet *sheet, const struct totals *totals, const struct total_row *row,
              bool mixed, const struct detail *detail)
{
	const size_t own = 3 + (detail->each_charge ? detail->charges + detail->taxes : 1);
	const wide home[] = {row->home_goods, row->home_charges, row->home_tax, row->rounding,
	                     row->home};

	sheet_field(sheet, mixed ? "" : row->currency);
	if (!mixed)
		write_own(sheet, row, detail);
	for (size_t i = 0; mixed && i < own; i++)
		sheet_field(sheet, "");
	sheet_field(sheet, totals->home);
	for (size_t i = 0; i < sizeof home / sizeof *home; i++)
		write_money(sheet, home[i], totals->home_decimals);
	if (detail->estimates > 0) {
		write_money(sheet, row->home_estimated, totals->home_decimals);
		write_money(sheet, estimated_share(row), SHARE_DECIMALS);
	}
	sheet_end_row(sheet);
}

static void
write_row(struct sheet *sheet, const struct totals *totals, const struct total_row *row, bool mixed,
          const struct detail *detail)
{
	sheet_field(sheet, row->seller);
	sheet_field(sheet, row->route);
	sheet_qty(sheet, row->lots);
	sheet_qty(sheet, row->pieces);
	write_figures(sheet, totals, row, mixed, detail);
}

static void
write_totals(struct sheet *sheet, const struct totals *totals, bool each_charge)
{
	const struct detail detail = detail_of(totals, each_charge);

	write_header(sheet, totals, &detail);
	for (size_t i = 0; i < totals->count; i++)
		write_row(sheet, totals, &totals->row[i], false, &detail);
	write_row(sheet, totals, &totals->sum, totals->mixed, &detail);
}

/* ---- the table by model ---- */

static void
write_model(struct sheet *sheet, const struct totals *totals, const struct total_row *row,
            bool mixed)
{
	sheet_field(sheet, row->seller);
	sheet_field(sheet, row->route);
	sheet_qty(sheet, row->pieces);
	write_figures(sheet, totals, row, mixed, &(struct detail){0});
}

/* Models, what is beyond the need, the costs that are no order, all. */
static void
write_by_model(struct sheet *sheet, const struct totals *totals, const struct shares *shares)
{
	static const char *const before[] = {"model",    "kind",  "pieces",
	                                     "currency", "goods", "charges"};
	struct model_totals models = {0};

	model_totals_make(&models, totals, shares);
	sheet_fields(sheet, before, sizeof before / sizeof *before);
	sheet_fields(sheet, columns_after, AFTER);
	sheet_end_row(sheet);
	for (size_t i = 0; i < models.count; i++)
		write_model(sheet, totals, &models.row[i], totals->mixed);
	for (size_t i = totals->orders; i < totals->count; i++)
		write_model(sheet, totals, &totals->row[i], false);
	write_model(sheet, totals, &totals->sum, totals->mixed);
	model_totals_free(&models);
}

/* ---- what is told ---- */

/* How much of the total is an estimate; part: its share. */
static void
tell_estimate(const struct totals *totals, wide part)
{
	struct text amount = {0}, share = {0};

	if (!totals->estimates)
		return;
	dec_add_text(&amount, totals->sum.home_estimated, totals->home_decimals,
	             totals->home_decimals);
	dec_add_text(&share, part, SHARE_DECIMALS, SHARE_DECIMALS);
	tell("%s%s%s of the total, %s %%, is an estimate", amount.bytes,
	     *totals->home != '\0' ? " " : "", totals->home, share.bytes);
	text_free(&amount);
	text_free(&share);
}

static void
tell_summary(const struct totals *totals)
{
	struct text line = {0};
	size_t extras = totals->count - totals->orders;

	dec_add_text(&line, (wide)totals->orders, 0, 0);
	text_adds(&line, totals->orders == 1 ? " order, " : " orders, ");
	dec_add_text(&line, totals->sum.pieces, 0, 0);
	text_adds(&line, totals->sum.pieces == 1 ? " piece, " : " pieces, ");
	if (extras > 0) {
		dec_add_text(&line, (wide)extras, 0, 0);
		text_adds(&line, extras == 1 ? " other cost, " : " other costs, ");
	}
	dec_add_text(&line, totals->sum.home, totals->home_decimals, totals->home_decimals);
	if (*totals->home != '\0')
		text_addc(&line, ' ');
	text_adds(&line, totals->home);
	if (totals->owned > 0) {
		text_adds(&line, "; and ");
		dec_add_text(&line, totals->owned, 0, 0);
		text_adds(&line, totals->owned == 1 ? " piece owned" : " pieces owned");
	}
	tell("%s", line.bytes);
	text_free(&line);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct files files = {0};
	struct totals_input input;
	struct totals totals = {0};
	struct sheet sheet = {0};
	struct outputs outputs = {0};
	wide share;
	int status;

	read_files(&set, &files, &input);
	totals_make(&totals, &input);
	/* Said or not, so that a total is refused with --quiet too. */
	share = estimated_share(&totals.sum);
	if (set.each_charge)
		check_charge_names(&totals, set.terms.charges != NULL ? set.terms.charges : "");
	if (set.by_model)
		write_by_model(&sheet, &totals, &files.shares);
	else
		write_totals(&sheet, &totals, set.each_charge);
	tell_later();
	status = totals_tell_unplaced(&totals, files.orders.file) ? EXIT_DIFFERS : EXIT_DONE;
	if (!set.quiet && files.terms.rates != NULL)
		rates_tell(files.terms.rates);
	if (!set.quiet) {
		tell_estimate(&totals, share);
		tell_summary(&totals);
	}
	outputs_write(&outputs, &sheet);
	sheet_free(&sheet);
	totals_free(&totals);
	free_files(&files);
	return status;
}
