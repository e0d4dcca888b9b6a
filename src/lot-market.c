/*
 * lot-market: sums up offers as a reference price list.
 */
#include "base/err.h"
#include "base/opts.h"
#include "table/output.h"
#include "trade/market.h"

#include <stdlib.h>

static const struct opt opts[] = {
    OPTS_COMMON,
    {'o', "offers", "FILE", "read these offers in place of stdin (may be repeated)", true},
    {'s', "sellers", "FILE", "sellers: the currency of offers that name none", false},
    {'x', "rates", "FILE", "exchange rates", false},
    {OPT_RATES_BASE, "rates-base", "CODE", "rates are a column a currency, for one CODE", false},
    {OPT_ON, "on", "DATE", "rates of that day, or the last before; default: newest", false},
    {'C', "currency", "CODE", "home currency; default: the only one in use", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-market",
    .purpose =
        "Sums up offers as a price list: for each part, color and condition how many sellers\n"
        "and pieces there are, and the least, median, mean, 90 % and highest price of a piece.",
    .synopsis = "[-q] [-D C] [--encoding NAME] [-s FILE] [-x FILE] [-C CODE]\n"
                "                  [-o FILE]... [< offers.csv]",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Median and mean count every piece. Exit status: 0 done, 2 trouble.\n"
             "The prices are those asked, without charges, and without tax that comes on top.",
};

struct settings {
	struct terms_options terms;
	const char **offers; /* owned */
	size_t files, room;
	struct table_form form;
	bool quiet;
};

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {0};
	struct opt_reader reader;
	const char *value;
	int key;

	opts_start(&reader, &tool, argc, argv, false);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		switch (key) {
		case 'o':
			MEM_ROOM(set.offers, set.files, set.room);
			set.offers[set.files++] = opts_file(&reader, value);
			break;
		default:
			if (!table_option(&set.form, key, value))
				terms_option(&set.terms, &reader, key, value);
		}
	terms_options_end(&set.terms);
	if (set.files == 0) {
		MEM_ROOM(set.offers, set.files, set.room);
		set.offers[set.files++] = opts_file(&reader, "-");
	}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "offers come from stdin, or -o FILE: there are no operands");
	return set;
}

static void
write_lot(struct sheet *sheet, const struct market_lot *lot)
{
	const wide price[] = {lot->min, lot->median, lot->mean, lot->p90, lot->max};

	sheet_field(sheet, lot->part);
	sheet_field(sheet, lot->color);
	sheet_field(sheet, lot->condition);
	sheet_qty(sheet, (int64_t)lot->sellers);
	if (lot->pieces == QTY_UNLIMITED)
		sheet_field(sheet, "");
	else
		sheet_qty(sheet, lot->pieces);
	for (size_t i = 0; i < sizeof price / sizeof *price; i++)
		sheet_decimal(sheet, price[i], MICRO_DECIMALS, 0);
	sheet_end_row(sheet);
}

static void
write_list(struct sheet *sheet, struct market *market)
{
	static const char *const columns[] = {"part", "color",  "condition", "sellers", "pieces",
	                                      "min",  "median", "mean",      "p90",     "max"};
	struct market_lot lot;

	sheet_fields(sheet, columns, sizeof columns / sizeof *columns);
	sheet_end_row(sheet);
	while (market_next(market, &lot))
		write_lot(sheet, &lot);
}

static const char *
plural(size_t count)
{
	return count == 1 ? "" : "s";
}

static void
tell_summary(const struct market *market, const struct rates *rates)
{
	size_t offers = market->count;

	if (rates != NULL)
		rates_tell(rates);
	if (market->nothing > 0)
		tell("%zu offer%s left out: fewer pieces than the least that is sold",
		     market->nothing, plural(market->nothing));
	tell("%zu lot%s, %zu seller%s, %zu offer%s%s%s", market->lots, plural(market->lots),
	     market->selling, plural(market->selling), offers, plural(offers),
	     *market->home != '\0' ? ", prices in " : "", market->home);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct outputs outputs = {0};
	struct terms_files terms;
	struct market market = {0};
	struct sheet sheet = {0};

	terms_files_read(&terms, &set.terms);
	for (size_t i = 0; i < set.files; i++)
		market_read(&market, table_open(set.offers[i], &set.form));
	market_end(&market, set.quiet);
	market_settle(&market, &terms, set.terms.currency);
	write_list(&sheet, &market);
	tell_later();
	if (!set.quiet)
		tell_summary(&market, terms.rates);
	outputs_write(&outputs, &sheet);
	sheet_free(&sheet);
	market_free(&market);
	terms_files_free(&terms);
	free(set.offers);
	return EXIT_DONE;
}
