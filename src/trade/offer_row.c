#include "trade/offer_row.h"

#include "trade/amounts.h"
#include "trade/currency.h"

#include <stdlib.h>
#include <string.h>

static const char *const text_columns[OFFER_TEXTS] = {"seller", "part",    "color",   "condition",
                                                      "class",  "listing", "currency"};

/* ---- columns ---- */

static bool
is_known(const struct offer_columns *columns, size_t column)
{
	for (size_t i = 0; i < OFFER_TEXTS; i++)
		if (columns->text[i] == column)
			return true;
	return column == columns->qty || column == columns->price || column == columns->step ||
	       column == columns->least || column == columns->grams;
}

static int
by_header(const void *a, const void *b, void *data)
{
	char *const *header = data;
	const size_t *left = a, *right = b;
	int order = strcmp(header[*left], header[*right]);

	return order != 0 ? order : (*left > *right) - (*left < *right);
}

struct offer_columns
offer_columns_find(struct table *table)
{
	struct offer_columns columns = {0};

	for (size_t i = 0; i < OFFER_TEXTS; i++)
		columns.text[i] = i <= OFFER_COLOR ? table_need_column(table, text_columns[i])
		                                   : table_column(table, text_columns[i]);
	columns.qty = table_need_column(table, "qty");
	columns.price = table_need_column(table, "price");
	columns.step = table_column(table, "step");
	columns.least = table_column(table, "least");
	columns.grams = table_column(table, "grams");
	columns.rest = mem_alloc(table_columns(table) * sizeof *columns.rest);
	for (size_t i = 0; i < table_columns(table); i++)
		if (!is_known(&columns, i))
			columns.rest[columns.rests++] = i;
	if (columns.rests > 0)
		qsort_r(columns.rest, columns.rests, sizeof *columns.rest, by_header,
		        (void *)table_header(table));
	return columns;
}

void
offer_columns_free(struct offer_columns *columns)
{
	free(columns->rest);
	*columns = (struct offer_columns){0};
}

/* ---- a row ---- */

/* Is each text fit to be what its column says? */
static bool
texts_fit(struct table *table, const struct row *row, const struct offer_columns *columns)
{
	const char *seller = row_field(row, columns->text[OFFER_SELLER]);
	struct faults *faults = table_faults(table);

	for (size_t i = 0; i <= OFFER_COLOR; i++)
		if (*row_field(row, columns->text[i]) == '\0') {
			fault(faults, row->line,
			      "%s is empty: an offer names seller, part and color",
			      text_columns[i]);
			return false;
		}
	if (!seller_name_fits(seller)) {
		fault(faults, row->line, "a seller may not be named \"%s\": rename it",
		      text_show(table_arena(table), seller));
		return false;
	}
	return currency_field(table, row, columns->text[OFFER_CURRENCY]);
}

static bool
numbers_fit(struct table *table, const struct row *row, const struct offer_columns *columns,
            struct offer_numbers *out)
{
	bool fit = amount_qty(table, row, columns->qty, QTY_UNLIMITED, &out->qty);

	fit &= amount_micro(table, row, columns->price, NOT_NEGATIVE, AMOUNT_REQUIRED, &out->price);
	fit &= amount_qty(table, row, columns->step, 1, &out->step);
	fit &= amount_qty(table, row, columns->least, 1, &out->least);
	fit &= amount_micro(table, row, columns->grams, NOT_NEGATIVE, NOT_GIVEN, &out->grams);
	if (fit && out->step == 0) {
		fault(table_faults(table), row->line,
		      "step is 0: give 1 or more, or leave it empty");
		return false;
	}
	if (out->least == 0)
		out->least = 1;
	return fit;
}

bool
offer_row_read(struct table *table, const struct row *row, const struct offer_columns *columns,
               struct offer_numbers *out)
{
	*out = (struct offer_numbers){0};
	return texts_fit(table, row, columns) && numbers_fit(table, row, columns, out);
}

/* ---- across rows ---- */

bool
offer_is_later(struct offer_place a, struct offer_place b)
{
	int order = a.file == b.file ? 0 : strcmp(a.file, b.file);

	return order != 0 ? order > 0 : a.line > b.line;
}

void
offer_disagree(struct faults *faults, const char *kind, const char *name, const char *what,
               struct offer_place a, struct offer_place b)
{
	struct offer_place blamed = offer_is_later(a, b) ? a : b;
	struct offer_place other = offer_is_later(a, b) ? b : a;
	struct arena shown = {0};

	faults->file = blamed.file;
	fault(faults, blamed.line, "%s \"%s\" %s (see %s:%zu)", kind, text_show(&shown, name), what,
	      other.file, other.line);
	arena_free(&shown);
}

void
offer_currencies_differ(struct faults *faults, const char *seller, struct offer_place a,
                        struct offer_place b)
{
	offer_disagree(faults, "offers of", seller, "are in different currencies: a seller has one",
	               a, b);
}

void
offer_tell_equal(struct offer_place first, size_t count)
{
	tell_at(first.file, first.line,
	        "equals another offer in every column: counted once (%zu such rows in all)", count);
}

const char *
offer_break_fault(const struct offer_break *a, const struct offer_break *b)
{
	if (a->part != b->part)
		return "differ in part: a listing is one part";
	if (a->color != b->color)
		return "differ in color: a listing is one color";
	if (a->condition != b->condition)
		return "differ in condition: a listing is one condition";
	if (a->class != b->class)
		return "differ in class: a listing is of one class";
	if (a->qty != b->qty)
		return "differ in qty: price breaks of a listing share its pieces";
	if (a->step != b->step)
		return "differ in step: price breaks of a listing share it";
	if (a->least == b->least)
		return "have the same least: price breaks of a listing differ in it";
	return NULL;
}

const char *
offer_currency(const char *seller, const char *said, bool unsaid, const struct sellers *sellers,
               const char *home)
{
	const struct seller_row *row = sellers_find(sellers, seller);
	const char *own = row != NULL && *row->currency != '\0' ? row->currency : home;
	struct arena shown = {0};

	if (*said == '\0')
		return own;
	if (!unsaid || strcmp(said, own) == 0)
		return said;
	tell("offers of \"%s\" name %s as their currency, or none where the seller's is %s: a "
	     "seller has one",
	     text_show(&shown, seller), said, *own != '\0' ? own : "not known");
	arena_free(&shown);
	return NULL;
}
