#include "trade/rates.h"

#include "base/err.h"
#include "trade/amounts.h"
#include "trade/currency.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CODE_LETTERS = 3, PERCENT_DECIMALS = MICRO_DECIMALS + 2 };

/* What a wide file has in the place of a rate that nobody has quoted. */
#define NOT_QUOTED "N/A"

struct rate_columns {
	size_t from, to, rate, date, fee;
};

/* A column of a wide file that is a currency. */
struct quote {
	size_t column;
	const char *code;
};

/* ---- rows ---- */

static bool
read_date(struct table *table, const struct row *row, size_t column, int32_t *out)
{
	const char *said = row_field(row, column);

	*out = NO_DATE;
	if (column == NO_COLUMN || date_parse(said, out))
		return true;
	fault(table_faults(table), row->line, "date \"%s\" is no date: write it as 2026-01-31",
	      text_show(table_arena(table), said));
	return false;
}

/* What a row says of all its rates. */
static bool
read_terms(struct table *table, const struct row *row, const struct rate_columns *columns,
           struct rate *made)
{
	bool fit = read_date(table, row, columns->date, &made->date);

	return amount_micro(table, row, columns->fee, NOT_NEGATIVE, 0, &made->fee) && fit;
}

static bool
read_rate(struct table *table, const struct row *row, size_t column, struct rate *made)
{
	if (!amount_micro(table, row, column, NOT_NEGATIVE, AMOUNT_REQUIRED, &made->rate))
		return false;
	if (made->rate == 0)
		fault(table_faults(table), row->line, "%s is 0: it must be more than 0",
		      table_header(table)[column]);
	return made->rate != 0;
}

static bool
codes_fit(struct table *table, const struct row *row, const struct rate_columns *columns)
{
	const char *from = row_field(row, columns->from), *to = row_field(row, columns->to);
	struct faults *faults = table_faults(table);

	if (*from == '\0' || *to == '\0') {
		fault(faults, row->line, "%s is empty: name a currency, such as EUR",
		      *from == '\0' ? "from" : "to");
		return false;
	}
	if (!currency_field(table, row, columns->from) || !currency_field(table, row, columns->to))
		return false;
	if (strcmp(from, to) == 0)
		fault(faults, row->line, "from and to are both %s: a rate is between two", from);
	return strcmp(from, to) != 0;
}

static void
add_rate(struct rates *rates, const struct rate *made)
{
	MEM_ROOM(rates->rate, rates->count, rates->room);
	rates->rate[rates->count++] = *made;
}

static void
add_pair(struct rates *rates, struct table *table, const struct row *row,
         const struct rate_columns *columns)
{
	const char *from = row_field(row, columns->from), *to = row_field(row, columns->to);
	struct rate made = {.line = row->line};

	if (!codes_fit(table, row, columns) || !read_terms(table, row, columns, &made) ||
	    !read_rate(table, row, columns->rate, &made))
		return;
	made.from = arena_copy(&rates->arena, from, strlen(from));
	made.to = arena_copy(&rates->arena, to, strlen(to));
	add_rate(rates, &made);
}

/* One unit of the base is 1 in the base. */
static void
check_base(struct table *table, const struct row *row, size_t column, const char *base)
{
	struct rate made = {0};

	if (read_rate(table, row, column, &made) && made.rate != MICRO)
		fault(table_faults(table), row->line,
		      "%s is the base, and stands at \"%s\": it must be 1, or another is the base",
		      base, text_show(table_arena(table), row_field(row, column)));
}

static void
add_quotes(struct rates *rates, struct table *table, const struct row *row, const char *base,
           const struct rate_columns *columns, const struct quote *quote, size_t quotes)
{
	struct rate made = {.from = base, .line = row->line};

	if (!read_terms(table, row, columns, &made))
		return;
	for (size_t i = 0; i < quotes; i++) {
		const char *said = row_field(row, quote[i].column);

		if (*said == '\0' || text_equal_fold(said, NOT_QUOTED))
			continue;
		if (strcmp(quote[i].code, base) == 0) {
			check_base(table, row, quote[i].column, base);
			continue;
		}
		made.to = quote[i].code;
		if (read_rate(table, row, quote[i].column, &made))
			add_rate(rates, &made);
	}
}

/* ---- the columns of a wide file ---- */

/* The code that a header is, in capitals, or NULL. A header that looks like one is a slip. */
static const char *
code_of_header(struct rates *rates, struct table *table, size_t column)
{
	const char *header = table_header(table)[column];
	char code[CODE_LETTERS + 1] = "";
	bool capitals = true;
	unsigned decimals;

	if (strlen(header) != CODE_LETTERS)
		return NULL;
	for (size_t i = 0; i < CODE_LETTERS; i++) {
		bool small = header[i] >= 'a' && header[i] <= 'z';

		code[i] = (char)(small ? header[i] - 'a' + 'A' : header[i]);
		capitals = capitals && header[i] >= 'A' && header[i] <= 'Z';
	}
	if (currency_decimals(code, &decimals))
		return arena_copy(&rates->arena, code, CODE_LETTERS);
	if (capitals)
		fault(table_faults(table), table_header_line(table),
		      "column \"%s\" is no currency code of ISO 4217%s", header,
		      currency_hint(table_arena(table), code));
	return NULL;
}

/* The columns that are currencies; owned by the caller. */
static struct quote *
find_quotes(struct rates *rates, struct table *table, const struct rate_columns *columns,
            size_t *count)
{
	struct quote *quote = mem_alloc(table_columns(table) * sizeof *quote);

	*count = 0;
	for (size_t i = 0; i < table_columns(table); i++) {
		const char *code;

		if (i == columns->date || i == columns->fee)
			continue;
		code = code_of_header(rates, table, i);
		/* Two of one name are told by table_column, once. */
		if (code != NULL && table_column(table, code) == i)
			quote[(*count)++] = (struct quote){i, code};
	}
	if (*count == 0)
		fault(table_faults(table), table_header_line(table),
		      "no column is a currency code: there are %s", table_headers_seen(table));
	return quote;
}

/* ---- the file ---- */

static int
by_pair_and_date(const void *a, const void *b)
{
	const struct rate *left = a, *right = b;
	int order = strcmp(left->from, right->from);

	if (order == 0)
		order = strcmp(left->to, right->to);
	if (order == 0)
		order = (left->date > right->date) - (left->date < right->date);
	return order != 0 ? order : (left->line > right->line) - (left->line < right->line);
}

static bool
same_pair(const struct rate *a, const struct rate *b)
{
	return strcmp(a->from, b->from) == 0 && strcmp(a->to, b->to) == 0;
}

static void
check_once(const struct rates *rates, struct table *table)
{
	for (size_t i = 1; i < rates->count; i++) {
		const struct rate *one = &rates->rate[i - 1], *other = &rates->rate[i];

		if (same_pair(one, other) && one->date == other->date &&
		    (one->rate != other->rate || one->fee != other->fee))
			fault(table_faults(table), other->line,
			      "%s to %s has another %s at line %zu: keep one", other->from,
			      other->to, one->rate != other->rate ? "rate" : "fee", one->line);
	}
}

/* Rates of one pair, both ways, stand together: by the code that is first in byte order. */
static int
by_codes(const void *a, const void *b)
{
	const struct rate *left = a, *right = b;
	bool turn_left = strcmp(left->from, left->to) > 0;
	bool turn_right = strcmp(right->from, right->to) > 0;
	int order = strcmp(turn_left ? left->to : left->from, turn_right ? right->to : right->from);

	if (order == 0)
		order =
		    strcmp(turn_left ? left->from : left->to, turn_right ? right->from : right->to);
	if (order == 0) /* the newest first */
		order = (left->date < right->date) - (left->date > right->date);
	return order != 0 ? order : by_pair_and_date(a, b);
}

static bool
same_codes(const struct rate *a, const struct rate *b)
{
	return same_pair(a, b) || (strcmp(a->from, b->to) == 0 && strcmp(a->to, b->from) == 0);
}

/* Forgets what is later than the day, and of each pair all but the newest. */
static void
keep_newest(struct rates *rates)
{
	size_t kept = 0;

	if (rates->count > 0)
		qsort(rates->rate, rates->count, sizeof *rates->rate, by_codes);
	for (size_t i = 0; i < rates->count; i++) {
		const struct rate *rate = &rates->rate[i];
		const struct rate *newest = kept > 0 ? &rates->rate[kept - 1] : NULL;

		if (rates->on != NO_DATE && rate->date > rates->on)
			continue;
		if (newest != NULL && same_codes(newest, rate) &&
		    (newest->date != rate->date || same_pair(newest, rate)))
			continue;
		rates->rate[kept++] = *rate;
	}
	rates->count = kept;
	if (kept > 0)
		qsort(rates->rate, kept, sizeof *rates->rate, by_pair_and_date);
}

static void
find_columns(struct table *table, const struct rates_form *form, struct rate_columns *columns)
{
	*columns = (struct rate_columns){.date = table_column(table, "date"),
	                                 .fee = table_column(table, "fee")};
	if (form->base == NULL && table_column(table, "from") == NO_COLUMN &&
	    table_column(table, "to") == NO_COLUMN) {
		fault(table_faults(table), table_header_line(table),
		      "no columns \"from\" and \"to\": there are %s; where each column is a "
		      "currency, name their base with --rates-base",
		      table_headers_seen(table));
	} else if (form->base == NULL) {
		columns->from = table_need_column(table, "from");
		columns->to = table_need_column(table, "to");
		columns->rate = table_need_column(table, "rate");
	}
	if (form->on != NO_DATE && columns->date == NO_COLUMN)
		fault(table_faults(table), table_header_line(table),
		      "there is no column \"date\", so no rate is of a day: leave --on out");
}

void
rates_read(struct rates *rates, struct table *table, const struct rates_form *form)
{
	struct rate_columns columns;
	struct quote *quote = NULL;
	size_t quotes = 0;
	struct row row;

	*rates = (struct rates){.on = form->on};
	rates->file = arena_copy(&rates->arena, table_name(table), strlen(table_name(table)));
	find_columns(table, form, &columns);
	rates->dated = columns.date != NO_COLUMN;
	if (form->base != NULL && table_faults(table)->count == 0)
		quote = find_quotes(rates, table, &columns, &quotes);
	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		if (quote != NULL)
			add_quotes(rates, table, &row, form->base, &columns, quote, quotes);
		else
			add_pair(rates, table, &row, &columns);
	if (rates->count > 0)
		qsort(rates->rate, rates->count, sizeof *rates->rate, by_pair_and_date);
	check_once(rates, table);
	table_end(table);
	table_close(table);
	free(quote);
	keep_newest(rates);
}

/* ---- conversions ---- */

/* A rate that leads from one currency to another, and which way. */
struct leg {
	struct rate *rate;
	bool reverse;
};

static struct rate *
find_given(const struct rates *rates, const char *from, const char *to)
{
	for (size_t i = 0; i < rates->count; i++)
		if (strcmp(rates->rate[i].from, from) == 0 && strcmp(rates->rate[i].to, to) == 0)
			return &rates->rate[i];
	return NULL;
}

/* A pair that is given, as it stands or the other way round. */
static bool
find_leg(const struct rates *rates, const char *from, const char *to, struct leg *out)
{
	*out = (struct leg){.rate = find_given(rates, from, to)};
	if (out->rate == NULL)
		*out = (struct leg){find_given(rates, to, from), true};
	return out->rate != NULL;
}

/* What one unit becomes on the leg, more by the bank's fee where one is paid. */
static bool
take_leg(struct leg leg, enum rate_use use, struct fraction *amount)
{
	const wide whole = wide_power10(PERCENT_DECIMALS);
	struct fraction rate = leg.reverse ? fraction_reduced(MICRO, leg.rate->rate)
	                                   : fraction_reduced(leg.rate->rate, MICRO);

	leg.rate->used = true;
	if (!fraction_multiply(*amount, rate, amount))
		return false;
	return use == RATE_BARE ||
	       fraction_multiply(*amount, fraction_reduced(whole + leg.rate->fee, whole), amount);
}

static const char *
explain(struct arena *arena, const char *format, ...)
{
	va_list args, again;
	char *said;
	int length;

	va_start(args, format);
	va_copy(again, args);
	length = vsnprintf(NULL, 0, format, args);
	va_end(args);
	said = arena_alloc(arena, (size_t)length + 1);
	vsnprintf(said, (size_t)length + 1, format, again);
	va_end(again);
	return said;
}

static const char *
no_rate(const struct rates *rates, const char *from, const char *to, struct arena *arena)
{
	struct text day = {0};
	const char *why;

	if (rates->on != NO_DATE) {
		text_adds(&day, " on or before ");
		date_add_text(&day, rates->on);
	}
	why = explain(arena, "no rate from %s to %s in %s%s: add a row", from, to, rates->file,
	              day.length > 0 ? day.bytes : "");
	text_free(&day);
	return why;
}

/* The least code in byte order, after `after`, that both have a pair with; NULL: none. So that
 * the order of rows does not show in a message either. */
static const char *
next_between(const struct rates *rates, const char *from, const char *to, const char *after)
{
	const char *least = NULL;
	struct leg unused;

	for (size_t i = 0; i < 2 * rates->count; i++) {
		const struct rate *given = &rates->rate[i / 2];
		const char *code = i % 2 == 0 ? given->from : given->to;

		if (strcmp(code, from) == 0 || strcmp(code, to) == 0 || strcmp(code, after) <= 0 ||
		    (least != NULL && strcmp(code, least) >= 0))
			continue;
		if (find_leg(rates, from, code, &unused) && find_leg(rates, code, to, &unused))
			least = code;
	}
	return least;
}

/* The legs from one currency to another, one or two; 0, *why set, where there is no one way. */
static size_t
find_way(const struct rates *rates, const char *from, const char *to, struct leg leg[2],
         const char **why, struct arena *arena)
{
	const char *between, *other;

	if (find_leg(rates, from, to, &leg[0]))
		return 1;
	between = next_between(rates, from, to, "");
	if (between == NULL) {
		*why = no_rate(rates, from, to, arena);
		return 0;
	}
	other = next_between(rates, from, to, between);
	if (other != NULL) {
		*why = explain(arena,
		               "several ways from %s to %s in %s, through %s and through %s: "
		               "add a row for the pair itself",
		               from, to, rates->file, between, other);
		return 0;
	}
	find_leg(rates, from, between, &leg[0]);
	find_leg(rates, between, to, &leg[1]);
	assert(leg[0].rate != NULL && leg[1].rate != NULL); /* or next_between had passed it over */
	return 2;
}

bool
rates_find(const struct rates *rates, const char *from, const char *to, enum rate_use use,
           struct fraction *out, const char **why, struct arena *arena)
{
	struct leg leg[2];
	size_t legs;

	*out = (struct fraction){1, 1};
	if (strcmp(from, to) == 0)
		return true;
	if (rates == NULL) {
		*why = explain(arena, "no rate from %s to %s: give a file of rates", from, to);
		return false;
	}
	legs = find_way(rates, from, to, leg, why, arena);
	for (size_t i = 0; i < legs; i++)
		if (!take_leg(leg[i], use, out)) {
			*why = explain(arena, "the rates from %s to %s in %s have too many digits",
			               from, to, rates->file);
			return false;
		}
	return legs > 0;
}

void
rates_tell(const struct rates *rates)
{
	for (size_t i = 0; rates->dated && i < rates->count; i++) {
		const struct rate *rate = &rates->rate[i];
		struct text said = {0};

		if (!rate->used)
			continue;
		dec_add_text(&said, rate->rate, MICRO_DECIMALS, 0);
		text_addc(&said, ' ');
		text_adds(&said, rate->to);
		text_adds(&said, ", rate of ");
		date_add_text(&said, rate->date);
		if (rate->fee > 0) {
			text_adds(&said, ", fee ");
			dec_add_text(&said, rate->fee, MICRO_DECIMALS, 0);
			text_adds(&said, " %");
		}
		tell_at(rates->file, rate->line, "1 %s = %s", rate->from, said.bytes);
		text_free(&said);
	}
}

void
rates_free(struct rates *rates)
{
	free(rates->rate);
	arena_free(&rates->arena);
	*rates = (struct rates){0};
}
