#include "trade/rates.h"

#include "trade/amounts.h"
#include "trade/currency.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct rate_columns {
	size_t from, to, rate;
};

static const struct rate *
find_given(const struct rates *rates, const char *from, const char *to)
{
	for (size_t i = 0; i < rates->count; i++)
		if (strcmp(rates->rate[i].from, from) == 0 && strcmp(rates->rate[i].to, to) == 0)
			return &rates->rate[i];
	return NULL;
}

static bool
row_fits(struct table *table, const struct row *row, const struct rate_columns *columns,
         int64_t *rate)
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
	if (!amount_micro(table, row, columns->rate, NOT_NEGATIVE, AMOUNT_REQUIRED, rate))
		return false;
	if (*rate == 0) {
		fault(faults, row->line, "rate is 0: it must be more than 0");
		return false;
	}
	if (strcmp(from, to) == 0) {
		fault(faults, row->line, "from and to are both %s: a rate is between two", from);
		return false;
	}
	return true;
}

static void
add_row(struct rates *rates, struct table *table, const struct row *row,
        const struct rate_columns *columns)
{
	const char *from = row_field(row, columns->from), *to = row_field(row, columns->to);
	const struct rate *before;
	int64_t rate;

	if (!row_fits(table, row, columns, &rate))
		return;
	before = find_given(rates, from, to);
	if (before != NULL) {
		if (before->rate != rate)
			fault(table_faults(table), row->line,
			      "%s to %s has another rate at line %zu: keep one", from, to,
			      before->line);
		return;
	}
	MEM_ROOM(rates->rate, rates->count, rates->room);
	rates->rate[rates->count++] = (struct rate){
	    .from = arena_copy(&rates->arena, from, strlen(from)),
	    .to = arena_copy(&rates->arena, to, strlen(to)),
	    .rate = rate,
	    .line = row->line,
	};
}

void
rates_read(struct rates *rates, struct table *table)
{
	struct rate_columns columns = {
	    .from = table_need_column(table, "from"),
	    .to = table_need_column(table, "to"),
	    .rate = table_need_column(table, "rate"),
	};
	struct row row;

	rates->file = arena_copy(&rates->arena, table_name(table), strlen(table_name(table)));
	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(rates, table, &row, &columns);
	table_end(table);
	table_close(table);
}

struct fraction
fraction_reduced(wide top, wide bottom)
{
	wide a = top < 0 ? -top : top, b = bottom;

	while (b != 0) {
		wide rest = a % b;

		a = b;
		b = rest;
	}
	return (struct fraction){top / a, bottom / a};
}

/* The fraction of a pair that is given, as it stands or the other way round. */
static bool
find_pair(const struct rates *rates, const char *from, const char *to, struct fraction *out)
{
	const struct rate *given = find_given(rates, from, to);

	if (given != NULL) {
		*out = fraction_reduced(given->rate, MICRO);
		return true;
	}
	given = find_given(rates, to, from);
	if (given != NULL)
		*out = fraction_reduced(MICRO, given->rate);
	return given != NULL;
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

/* The least code in byte order, after `after`, that both have a pair with; NULL: none. So that
 * the order of rows does not show in a message either. */
static const char *
next_between(const struct rates *rates, const char *from, const char *to, const char *after)
{
	const char *least = NULL;
	struct fraction unused;

	for (size_t i = 0; i < 2 * rates->count; i++) {
		const struct rate *given = &rates->rate[i / 2];
		const char *code = i % 2 == 0 ? given->from : given->to;

		if (strcmp(code, from) == 0 || strcmp(code, to) == 0 || strcmp(code, after) <= 0 ||
		    (least != NULL && strcmp(code, least) >= 0))
			continue;
		if (find_pair(rates, from, code, &unused) && find_pair(rates, code, to, &unused))
			least = code;
	}
	return least;
}

bool
rates_find(const struct rates *rates, const char *from, const char *to, struct fraction *out,
           const char **why, struct arena *arena)
{
	const char *between, *other;
	struct fraction first, second;

	if (strcmp(from, to) == 0) {
		*out = (struct fraction){1, 1};
		return true;
	}
	if (rates == NULL) {
		*why = explain(arena, "no rate from %s to %s: give a file of rates", from, to);
		return false;
	}
	if (find_pair(rates, from, to, out))
		return true;
	between = next_between(rates, from, to, "");
	if (between == NULL) {
		*why =
		    explain(arena, "no rate from %s to %s in %s: add a row", from, to, rates->file);
		return false;
	}
	other = next_between(rates, from, to, between);
	if (other != NULL) {
		*why = explain(arena,
		               "several ways from %s to %s in %s, through %s and through %s: "
		               "add a row for the pair itself",
		               from, to, rates->file, between, other);
		return false;
	}
	find_pair(rates, from, between, &first);
	find_pair(rates, between, to, &second);
	/* Each is in lowest terms of 64 bits: the products fit 128. */
	*out = fraction_reduced(first.top * second.top, first.bottom * second.bottom);
	return true;
}

void
rates_free(struct rates *rates)
{
	free(rates->rate);
	arena_free(&rates->arena);
	*rates = (struct rates){0};
}
