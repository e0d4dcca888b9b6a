/*
 * lot-price: prices a need list, and ranks what drives the cost.
 */
#include "base/err.h"
#include "base/opts.h"
#include "table/output.h"
#include "trade/pricing.h"

#include <stdlib.h>
#include <string.h>

enum { KEY_PRICES = OPT_LONG, KEY_AT, KEY_DEAR, KEY_SCARCE, KEY_BANDS };

static const struct opt opts[] = {
    OPTS_COMMON,
    {KEY_PRICES, "prices", "FILE", "price list, as lot-market writes it", false},
    {'o', "offers", "FILE", "count the sellers in these offers (may be repeated)", true},
    {KEY_AT, "at", "WHAT", "price at min, median (default), mean, p90 or max", false},
    {KEY_DEAR, "dear", "N", "dear: over N times the part's median in other colors; default: 3",
     false},
    {KEY_SCARCE, "scarce", "N", "scarce: fewer than N sellers have the quantity; default: 3",
     false},
    {KEY_BANDS, "bands", "A,B", "percent of the cost where bands A and B end; default: 80,95",
     false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-price",
    .purpose = "Prices a need list by a price list, the costliest lots first, and says for which\n"
               "of them a swap is worth looking for.",
    .synopsis = "[-q] [-D C] [--encoding NAME] --prices FILE [-o FILE]... [--at WHAT]\n"
                "                 [--dear N] [--scarce N] [--bands A,B] < need.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 1 the price list lacks a lot, 2 trouble. The figures are\n"
             "estimates, without charges, and without tax that comes on top.",
};

struct settings {
	const char *prices;
	const char **offers; /* owned */
	size_t files, room;
	enum price_at at;
	struct pricing_options pricing;
	struct table_form form; /* of stdin */
	bool quiet;
};

/* ---- options ---- */

static enum price_at
read_at(const char *value)
{
	struct arena arena = {0};

	for (size_t i = 0; i < PRICES; i++)
		if (strcmp(value, price_names[i]) == 0)
			return (enum price_at)i;
	opts_usage("--at \"%s\" is not known: it is min, median, mean, p90 or max",
	           text_show(&arena, value));
}

static int64_t
read_times(const char *value)
{
	struct arena arena = {0};
	int64_t times;
	enum dec_fault why = dec_parse_micro(value, false, &times);

	if (why != DEC_OK)
		opts_usage("--dear \"%s\" %s", text_show(&arena, value), dec_fault_text(why));
	if (times == 0)
		opts_usage("--dear takes a number above 0, such as 3 or 1.5");
	return times;
}

static int64_t
read_sellers(const char *value)
{
	struct arena arena = {0};
	int64_t sellers;
	enum dec_fault why = dec_parse_qty(value, &sellers);

	if (why != DEC_OK)
		opts_usage("--scarce \"%s\" %s", text_show(&arena, value), dec_fault_text(why));
	return sellers;
}

static void
read_bands(const char *value, int64_t band[2])
{
	struct arena arena = {0};
	size_t count;
	const char **text = text_list(&arena, value, &count);
	bool fit = count == 2;

	for (size_t i = 0; fit && i < count; i++)
		fit = dec_parse_micro(text[i], false, &band[i]) == DEC_OK && band[i] <= 100 * MICRO;
	if (!fit || band[0] > band[1])
		opts_usage("--bands \"%s\": give two percentages, the first no more than the "
		           "second, such as 80,95",
		           text_show(&arena, value));
	arena_free(&arena);
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {
	    .at = PRICE_MEDIAN,
	    .pricing = {.dear = 3 * MICRO, .scarce = 3, .band = {80 * MICRO, 95 * MICRO}}};
	struct opt_reader reader;
	const char *value;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		switch (key) {
		case KEY_PRICES:
			set.prices = opts_file(&reader, value);
			break;
		case 'o':
			MEM_ROOM(set.offers, set.files, set.room);
			set.offers[set.files++] = opts_file(&reader, value);
			break;
		case KEY_AT:
			set.at = read_at(value);
			break;
		case KEY_DEAR:
			set.pricing.dear = read_times(value);
			break;
		case KEY_SCARCE:
			set.pricing.scarce = read_sellers(value);
			break;
		case KEY_BANDS:
			read_bands(value, set.pricing.band);
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the need list comes from stdin, there are no operands");
	if (set.prices == NULL)
		opts_usage("no prices: --prices FILE");
	return set;
}

/* ---- the table ---- */

static const char *const columns[] = {"price", "amount",  "share", "cumulative",
                                      "band",  "sellers", "dear"};

enum { COLUMNS = sizeof columns / sizeof *columns, PERCENT_DECIMALS = 2 };

static void
write_percent(struct sheet *sheet, wide part, wide whole)
{
	wide hundredths;

	if (!wide_mul(part, 100 * wide_power10(PERCENT_DECIMALS), &hundredths))
		die("the amounts are too large to be added up");
	sheet_decimal(sheet, wide_div_round(hundredths, whole, ROUND_HALF_AWAY), PERCENT_DECIMALS,
	              PERCENT_DECIMALS);
}

static void
write_figures(struct sheet *sheet, const struct priced_row *row, wide total)
{
	static const char *const bands[] = {
	    [BAND_NONE] = "", [BAND_A] = "A", [BAND_B] = "B", [BAND_C] = "C"};

	if (row->price != NULL)
		sheet_decimal(sheet, row->price->asked, MICRO_DECIMALS, 0);
	else
		sheet_field(sheet, "");
	if (row->price != NULL && row->counts)
		sheet_decimal(sheet, row->amount, MICRO_DECIMALS, 0);
	else
		sheet_field(sheet, "");
	if (row->band != BAND_NONE) {
		write_percent(sheet, row->amount, total);
		write_percent(sheet, row->cumulative, total);
	} else {
		sheet_field(sheet, "");
		sheet_field(sheet, "");
	}
	sheet_field(sheet, bands[row->band]);
	if (row->sellers != NOT_GIVEN)
		sheet_qty(sheet, row->sellers);
	else
		sheet_field(sheet, "");
	sheet_field(sheet, row->is_dear && row->is_scarce ? "both"
	                   : row->is_dear                 ? "price"
	                   : row->is_scarce               ? "scarce"
	                                                  : "");
}

static void
write_list(struct sheet *sheet, const struct need *need, const struct pricing *pricing)
{
	struct need_form form = need_form(need, columns, COLUMNS);

	need_write_header(sheet, need, &form);
	sheet_fields(sheet, columns, COLUMNS);
	sheet_end_row(sheet);
	for (size_t i = 0; i < pricing->count; i++) {
		const struct priced_row *row = &pricing->row[i];

		need_write_row(sheet, need, &form, row->row);
		write_figures(sheet, row, pricing->total);
		sheet_end_row(sheet);
	}
	need_form_free(&form);
}

/* ---- what is told ---- */

static int
by_line(const void *a, const void *b)
{
	const struct priced_row *left = *(const struct priced_row *const *)a;
	const struct priced_row *right = *(const struct priced_row *const *)b;

	return (left->row->line > right->row->line) - (left->row->line < right->row->line);
}

/* Tells which lots have no price, by a row each, and returns the exit status. */
static int
tell_unpriced(const struct pricing *pricing, const struct price_list *list, struct need *need)
{
	const struct priced_row **row = mem_alloc(pricing->count * sizeof *row);
	size_t count = 0;

	for (size_t i = 0; i < pricing->count; i++)
		if (pricing->row[i].counts && pricing->row[i].price == NULL)
			row[count++] = &pricing->row[i];
	if (count > 0)
		qsort(row, count, sizeof *row, by_line);
	for (size_t i = 0; i < count && i < FAULTS_TOLD; i++)
		tell_at(need->file, row[i]->row->line, "%s has no price for %s", list->file,
		        text_show(&need->arena, need_lot_name(row[i]->row, &need->arena)));
	if (count > FAULTS_TOLD)
		tell("%s has no price for %zu more lots", list->file, count - FAULTS_TOLD);
	free(row);
	return count > 0 ? EXIT_DIFFERS : EXIT_DONE;
}

static const char *
plural(int64_t count)
{
	return count == 1 ? "" : "s";
}

static void
tell_summary(const struct pricing *pricing, const struct need *need, enum price_at at)
{
	static const char *const prices[PRICES] = {"lowest price", "median", "mean", "p90",
	                                           "highest price"};
	size_t bands[BAND_C + 1] = {0}, dear = 0, scarce = 0, lots = need_lots(need);
	int64_t pieces = need_pieces(need);
	struct text total = {0};

	for (size_t i = 0; i < pricing->count; i++) {
		bands[pricing->row[i].band]++;
		dear += pricing->row[i].is_dear;
		scarce += pricing->row[i].is_scarce;
	}
	dec_add_text(&total, pricing->total, MICRO_DECIMALS, 0);
	tell("%zu lot%s, %lld piece%s: %s at the %s; %zu in A, %zu in B, %zu in C; %zu dear, %zu "
	     "scarce",
	     lots, plural((int64_t)lots), (long long)pieces, plural(pieces), total.bytes,
	     prices[at], bands[BAND_A], bands[BAND_B], bands[BAND_C], dear, scarce);
	text_free(&total);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct price_list list = {0};
	struct market market = {0};
	struct pricing pricing;
	struct sheet sheet = {0};
	struct outputs outputs = {0};
	struct need *need;
	int status;

	price_list_read(&list, table_open(set.prices, NULL), set.at);
	for (size_t i = 0; i < set.files; i++)
		market_read(&market, table_open(set.offers[i], NULL));
	if (set.files > 0)
		market_end(&market, set.quiet);
	need = need_read(table_open("-", &set.form));
	pricing_make(&pricing, need, &list, set.files > 0 ? &market : NULL, &set.pricing);
	write_list(&sheet, need, &pricing);
	tell_later();
	status = tell_unpriced(&pricing, &list, need);
	if (!set.quiet)
		tell_summary(&pricing, need, set.at);
	outputs_write(&outputs, &sheet);
	sheet_free(&sheet);
	pricing_free(&pricing);
	need_free(need);
	market_free(&market);
	price_list_free(&list);
	free(set.offers);
	return status;
}
