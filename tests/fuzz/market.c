#include "market.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

struct drawing {
	struct market *market;
	struct fuzz_input *in;
	const struct market_size *size;
	bool currencies, classes, conditions;
	unsigned large; /* zeros that amounts get */
};

static unsigned
below(struct drawing *d, unsigned n)
{
	return fuzz_below(d->in, n);
}

static bool
one_in(struct drawing *d, unsigned n)
{
	return below(d, n) == n - 1;
}

static const char *
one_of(struct drawing *d, const char *const *words, size_t count)
{
	return words[below(d, (unsigned)count)];
}

#define ONE_OF(d, ...)                                                                             \
	one_of((d), (const char *const[]){__VA_ARGS__}, COUNT(((const char *const[]){__VA_ARGS__})))

/* An amount of money that is a whole number where nothing may be rounded. */
static void
add_money(struct drawing *d, struct fuzz_bytes *out, unsigned most)
{
	unsigned whole = below(d, most + 1), rest = d->market->round ? 0 : below(d, 256);

	fuzz_printf(out, "%u", whole);
	for (unsigned i = 0; i < d->large; i++)
		fuzz_adds(out, "0");
	if (rest % 4 == 1)
		fuzz_printf(out, ".%u", rest / 4);
	else if (rest % 4 == 2)
		fuzz_printf(out, ".%02u", rest / 4);
	else if (rest % 4 == 3)
		fuzz_printf(out, ".%06u", rest * 977);
}

static struct fuzz_bytes *
start_file(struct market *market, const char *name, const char *option, const char *header)
{
	struct market_file *file = &market->file[market->files++];

	FUZZ_CHECK(market->files <= MARKET_FILES_MOST, "files fit");
	*file = (struct market_file){.name = name, .option = option};
	fuzz_adds(&file->bytes, header);
	fuzz_adds(&file->bytes, "\n");
	return &file->bytes;
}

static void
add_option(struct market *market, const char *option, const char *value)
{
	FUZZ_CHECK(market->options + 3 < COUNT(market->option), "options fit");
	market->option[market->options++] = option;
	market->option[market->options++] = value;
}

static const char *
number_text(unsigned number)
{
	struct fuzz_bytes text = {0};

	fuzz_printf(&text, "%u", number);
	return text.bytes;
}

/* ---- the need ---- */

static const char *
part(struct drawing *d)
{
	return ONE_OF(d, "P", "P", "Q", "R");
}

static void
draw_need(struct drawing *d)
{
	struct fuzz_bytes *out =
	    start_file(d->market, "-", NULL,
	               "lot,part,color,qty,condition,not_color,penalty,worth,together,model");
	unsigned lots = 1 + below(d, d->size->lots);

	d->market->file[d->market->files - 1].order_matters = true;
	for (unsigned i = 0; i < lots; i++) {
		unsigned rows = 1 + (one_in(d, 3) ? below(d, d->size->rows) : 0);
		unsigned qty = 1 + below(d, d->size->qty);
		const char *worth = ONE_OF(d, "", "", "", "2", "0.3", "15", "0");
		const char *model = ONE_OF(d, "", "M", "N");

		for (unsigned k = 0; k < rows; k++) {
			const char *color = ONE_OF(d, "red", "red", "blue", "any", "any");

			if (rows > 1)
				fuzz_printf(out, "L%u", i);
			fuzz_printf(out, ",%s,%s,%u,%s,%s,", part(d), color, qty,
			            d->conditions ? ONE_OF(d, "", "", "new", "used", "any") : "",
			            one_in(d, 6) ? ONE_OF(d, "red", "b.*", "(?i)GR.*") : "");
			if (rows > 1 && one_in(d, 2))
				add_money(d, out, 2);
			fuzz_printf(out, ",%s,%s,%s\n", worth,
			            one_in(d, 5) ? ONE_OF(d, "t", "u") : "", model);
		}
	}
}

/* ---- the market ---- */

static void
draw_offer(struct drawing *d, struct fuzz_bytes *out, unsigned seller, unsigned number)
{
	const char *qty = ONE_OF(d, "", "1", "2", "3", "4", "5", "7", "30");
	const char *step = one_in(d, 4) ? ONE_OF(d, "2", "3", "5") : "";
	const char *color = ONE_OF(d, "red", "red", "blue", "grey");
	const char *class = d->classes ? ONE_OF(d, "", "a", "b") : "";
	const char *condition = d->conditions ? ONE_OF(d, "", "new", "used") : "";
	const char *named = part(d);
	unsigned breaks = 1 + (one_in(d, 4) ? 1 + below(d, 2) : 0), least = 0;

	for (unsigned k = 0; k < breaks; k++) {
		fuzz_printf(out, "S%u,%s,%s,%s,", seller, named, color, qty);
		add_money(d, out, 5);
		fuzz_printf(out, ",%s,%s,%s,", condition, class, step);
		if (breaks > 1 || one_in(d, 6)) {
			least += k > 0 ? 1 + below(d, 4) : below(d, 3);
			fuzz_printf(out, "%u", least);
		}
		fuzz_adds(out, ",");
		if (breaks > 1)
			fuzz_printf(out, "l%u", number);
		fuzz_adds(out, "\n");
	}
}

static void
draw_offers(struct drawing *d, unsigned sellers)
{
	struct fuzz_bytes *out =
	    start_file(d->market, "offers.csv", "-o",
	               "seller,part,color,qty,price,condition,class,step,least,listing");

	for (unsigned s = 0; s < sellers; s++) {
		unsigned listings = 1 + below(d, d->size->listings);

		for (unsigned i = 0; i < listings; i++)
			draw_offer(d, out, s, i);
	}
}

static const char *
currency(struct drawing *d)
{
	if (!d->currencies)
		return "";
	return d->market->round ? ONE_OF(d, "", "EUR", "USD")
	                        : ONE_OF(d, "", "EUR", "USD", "JPY", "KWD");
}

static const char *
taxes(struct drawing *d, bool included)
{
	if (!d->market->round)
		return ONE_OF(d, "", "", "21", "7.5", "5.3+0.7", "19", "100", "0.000001");
	return included ? ONE_OF(d, "", "25", "100") : ONE_OF(d, "", "", "10", "50", "10+20");
}

static void
draw_sellers(struct drawing *d, unsigned sellers)
{
	struct fuzz_bytes *out =
	    start_file(d->market, "sellers.csv", "-s",
	               "seller,route,currency,minimum,tax,tax_on,tariff,order_cost");

	d->market->file[d->market->files - 1].terms = true;
	for (unsigned s = 0; s < sellers; s++) {
		const char *tax_on = ONE_OF(d, "", "all", "goods", "included");

		if (s + 1 == sellers && one_in(d, 4))
			fuzz_adds(out, "*,market,");
		else
			fuzz_printf(out, "S%u,%s,", s, ONE_OF(d, "market", "direct"));
		fuzz_printf(out, "%s,", currency(d));
		if (one_in(d, 4))
			add_money(d, out, 12);
		fuzz_printf(out, ",%s,%s,%s,", taxes(d, strcmp(tax_on, "included") == 0), tax_on,
		            ONE_OF(d, "", "", "t", "u"));
		if (one_in(d, 6))
			add_money(d, out, 3);
		fuzz_adds(out, "\n");
	}
}

static const char *
percent(struct drawing *d, bool of_landed)
{
	if (!d->market->round)
		return ONE_OF(d, "", "", "5", "-5", "12.5", "0.3", "100", "-30", "33.333333",
		              "-100");
	return of_landed ? ONE_OF(d, "", "100") : ONE_OF(d, "", "", "10", "-10", "50");
}

/* A charge of one seller, tariff or all: one step or more. */
static void
draw_charge(struct drawing *d, struct fuzz_bytes *out, const char *scope, unsigned number)
{
	const char *basis = ONE_OF(d, "", "value", "weight", "pieces", "lots", "landed");
	const char *class = d->classes ? ONE_OF(d, "", "", "a", "b") : "";
	bool of_landed = strcmp(basis, "landed") == 0, by_money = *basis == '\0' || *basis == 'v';
	unsigned steps = 1 + (one_in(d, 2) ? below(d, 3) : 0), place = 0;
	const char *money = one_in(d, 6) ? currency(d) : "";

	if (of_landed && number == 0) {
		basis = "lots";
		of_landed = false;
	}
	for (unsigned k = 0; k < steps; k++) {
		bool over = one_in(d, 3);

		fuzz_printf(out, "%s,%s,c%u,%s,", scope, class, number, basis);
		place += k > 0 ? 1 + below(d, 8) : below(d, 3);
		if (place > 0) {
			fuzz_printf(out, over ? ",%u" : "%u", place);
			for (unsigned i = 0; i < d->large && (by_money || of_landed); i++)
				fuzz_adds(out, "0");
			fuzz_adds(out, over ? "," : ",,");
		} else {
			fuzz_adds(out, ",,");
		}
		if (one_in(d, 9))
			fuzz_adds(out, "no");
		else if (one_in(d, 8))
			fuzz_printf(out, "-%u", below(d, 3));
		else
			add_money(d, out, 6);
		fuzz_printf(out, ",%s,%s,%s,", percent(d, of_landed), money,
		            one_in(d, 5) ? ONE_OF(d, "yes", "no") : "");
		for (unsigned i = 0; of_landed && i < number; i++)
			fuzz_printf(out, i > 0 ? "|c%u" : "c%u", i);
		fuzz_adds(out, "\n");
	}
}

static void
draw_charges(struct drawing *d, unsigned sellers)
{
	struct fuzz_bytes *out = start_file(
	    d->market, "charges.csv", "-c",
	    "seller,tariff,class,charge,basis,from,over,amount,percent,currency,taxed,after");
	struct fuzz_bytes scope;

	d->market->file[d->market->files - 1].terms = true;
	for (unsigned s = 0; s < sellers + 3; s++) {
		unsigned charges = s < sellers && one_in(d, 2) ? 0 : below(d, 4);

		scope = (struct fuzz_bytes){0};
		if (s < sellers)
			fuzz_printf(&scope, "S%u,", s);
		else
			fuzz_adds(&scope, s == sellers ? ",t" : s == sellers + 1 ? ",u" : "*,");
		if (s == sellers + 2 && charges == 0)
			fuzz_adds(out, "*,,,c0,lots,,,0,,,,\n");
		for (unsigned i = 0; i < charges; i++)
			draw_charge(d, out, scope.bytes, i);
		if (charges > d->market->charges)
			d->market->charges = charges;
	}
}

static void
draw_rates(struct drawing *d)
{
	struct fuzz_bytes *out = start_file(d->market, "rates.csv", "-x", "from,to,rate,fee");

	d->market->file[d->market->files - 1].terms = true;
	if (d->market->round) {
		fuzz_adds(out, one_in(d, 2) ? "EUR,USD,0.5,\n" : "USD,EUR,2,\n");
		return;
	}
	fuzz_printf(out, "%s,%s\n",
	            ONE_OF(d, "EUR,USD,1.1", "USD,EUR,0.9", "USD,EUR,7", "EUR,USD,3"),
	            ONE_OF(d, "", "", "1.5"));
	fuzz_printf(out, "%s,\n", ONE_OF(d, "EUR,JPY,160", "JPY,USD,0.006", "JPY,EUR,0.007"));
	fuzz_printf(out, "%s,\n", ONE_OF(d, "EUR,KWD,0.33", "KWD,EUR,3"));
}

static void
draw_weights(struct drawing *d)
{
	struct fuzz_bytes *out = start_file(d->market, "weights.csv", "-w", "part,grams");

	d->market->file[d->market->files - 1].terms = true;
	fuzz_printf(out, "P,%s\nQ,%s\nR,%s\n", ONE_OF(d, "1", "2.5", "0"), ONE_OF(d, "1", "0.75"),
	            ONE_OF(d, "3", "0.000001"));
}

static void
draw_stock(struct drawing *d)
{
	struct fuzz_bytes *out =
	    start_file(d->market, "stock.csv", "-k", "part,color,qty,condition");
	unsigned rows = 1 + below(d, 3);

	for (unsigned i = 0; i < rows; i++)
		fuzz_printf(out, "%s,%s,%u,%s\n", part(d), ONE_OF(d, "red", "blue"), below(d, 4),
		            d->conditions ? ONE_OF(d, "", "used") : "");
}

/* Orders under way: paid, in the basket, or to be made afresh. */
static void
draw_kept(struct drawing *d, unsigned sellers)
{
	struct fuzz_bytes *out =
	    start_file(d->market, "keep.csv", "--keep",
	               "seller,class,lot,part,color,condition,qty,price,state");
	unsigned rows = 1 + below(d, 3);

	d->market->kept = true;
	for (unsigned i = 0; i < rows; i++) {
		fuzz_printf(out, "S%u,%s,,%s,%s,%s,%u,", below(d, sellers),
		            d->classes ? ONE_OF(d, "", "a") : "", part(d), ONE_OF(d, "red", "blue"),
		            d->conditions ? ONE_OF(d, "", "new") : "", below(d, 4));
		add_money(d, out, 4);
		fuzz_printf(out, ",%s\n", ONE_OF(d, "open", "paid", "new", ""));
	}
	if (one_in(d, 2))
		add_option(d->market, "--stay", ONE_OF(d, "1", "0.25", "20"));
}

void
market_draw(struct market *market, struct fuzz_input *in, const struct market_size *size)
{
	struct drawing d = {.market = market, .in = in, .size = size};
	unsigned sellers, kinds = fuzz_byte(in), more = fuzz_byte(in);

	*market = (struct market){.round = kinds & 1};
	d.currencies = kinds & 2;
	d.classes = kinds & 4;
	d.conditions = kinds & 8;
	if (more % 16 == 15)
		d.large = 2 + below(&d, 11);
	market->large = d.large > 4;
	sellers = 1 + below(&d, size->sellers);
	draw_need(&d);
	draw_offers(&d, sellers);
	draw_sellers(&d, sellers);
	if (kinds & 16)
		draw_charges(&d, sellers);
	if (d.currencies)
		draw_rates(&d);
	draw_weights(&d);
	if (kinds & 32)
		draw_stock(&d);
	if (kinds & 64)
		draw_kept(&d, sellers);
	add_option(market, "-C", "EUR");
	if (more & 16)
		add_option(market, "--order-cost", ONE_OF(&d, "0.5", "2", "100"));
	if (more & 32)
		add_option(market, "--max-orders", number_text(below(&d, sellers + 1)));
	if ((more & 192) == 192)
		add_option(market, "--without", "S0");
	market->args[0] = "lot-split";
	market_args(market, false, market->args, 1);
	fuzz_say_args(market->args);
	market_put(market, false);
}

/* The rows after the header, the last one first; no field here holds a line feed. */
static struct fuzz_bytes
turned_rows(struct fuzz_bytes bytes)
{
	struct fuzz_bytes out = {0};
	const char *rows = strchr(bytes.bytes, '\n') + 1, *end = bytes.bytes + bytes.length;

	fuzz_add(&out, bytes.bytes, (size_t)(rows - bytes.bytes));
	while (end > rows) {
		const char *start = end - 1;

		while (start > rows && start[-1] != '\n')
			start--;
		fuzz_add(&out, start, (size_t)(end - start));
		end = start;
	}
	return out;
}

void
market_put(const struct market *market, bool turned)
{
	for (size_t i = 0; i < market->files; i++) {
		const struct market_file *file = &market->file[i];

		fuzz_put_file(file->name, turned && !file->order_matters ? turned_rows(file->bytes)
		                                                         : file->bytes);
	}
}

size_t
market_args(const struct market *market, bool of_total, const char **args, size_t count)
{
	for (size_t i = 0; i < market->files; i++) {
		const struct market_file *file = &market->file[i];

		if (file->option == NULL || (of_total && !file->terms))
			continue;
		args[count++] = file->option;
		args[count++] = file->name;
	}
	for (size_t i = 0; i < market->options; i += 2)
		if (!of_total || strcmp(market->option[i], "-C") == 0) {
			args[count++] = market->option[i];
			args[count++] = market->option[i + 1];
		}
	args[count] = NULL;
	return count;
}
