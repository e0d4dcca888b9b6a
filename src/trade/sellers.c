#include "trade/sellers.h"

#include "trade/amounts.h"
#include "trade/currency.h"
#include "trade/taxes.h"

#include <stdlib.h>
#include <string.h>

struct seller_columns {
	size_t seller, route, currency, tariff, minimum, tax, tax_on, order_cost;
};

bool
seller_name_fits(const char *name)
{
	return strcmp(name, OWNED_SELLER) != 0 && strcmp(name, TOTAL_SELLER) != 0 &&
	       strcmp(name, EVERY_SELLER) != 0;
}

static bool
texts_fit(struct table *table, const struct row *row, const struct seller_columns *columns)
{
	const char *seller = row_field(row, columns->seller);
	const char *route = row_field(row, columns->route);
	struct faults *faults = table_faults(table);

	if (*seller == '\0') {
		fault(faults, row->line, "seller is empty: name one, or * for all without a row");
		return false;
	}
	if (strcmp(seller, EVERY_SELLER) != 0 && !seller_name_fits(seller)) {
		fault(faults, row->line, "a seller may not be named \"%s\": rename it", seller);
		return false;
	}
	if (strcmp(route, OWNED_ROUTE) == 0 || strcmp(route, OTHER_ROUTE) == 0) {
		fault(faults, row->line,
		      "a seller's route may not be \"%s\": it is direct or market", route);
		return false;
	}
	return currency_field(table, row, columns->currency);
}

static bool
read_tax_base(struct table *table, const struct row *row, size_t column, enum tax_base *out)
{
	static const char *const words[] = {
	    [TAX_ON_ALL] = "all", [TAX_ON_GOODS] = "goods", [TAX_INCLUDED] = "included"};
	const char *said = row_field(row, column);

	*out = TAX_ON_ALL;
	if (*said == '\0')
		return true;
	for (size_t i = 0; i < sizeof words / sizeof *words; i++)
		if (strcmp(said, words[i]) == 0) {
			*out = (enum tax_base)i;
			return true;
		}
	fault(table_faults(table), row->line,
	      "tax_on \"%s\" is not known: it is goods, all or included",
	      text_show(table_arena(table), said));
	return false;
}

static const char *
copy(struct sellers *sellers, const struct row *row, size_t column)
{
	const char *field = row_field(row, column);

	return arena_copy(&sellers->arena, field, strlen(field));
}

static void
add_row(struct sellers *sellers, struct table *table, const struct row *row,
        const struct seller_columns *columns)
{
	struct seller_row made = {.line = row->line};
	bool fit = texts_fit(table, row, columns);

	fit &= amount_micro(table, row, columns->minimum, NOT_NEGATIVE, 0, &made.minimum);
	fit &= taxes_field(table, row, columns->tax, &made.taxes);
	fit &= read_tax_base(table, row, columns->tax_on, &made.tax_on);
	fit &= amount_micro(table, row, columns->order_cost, NOT_NEGATIVE, 0, &made.order_cost);
	if (!fit)
		return;
	made.seller = copy(sellers, row, columns->seller);
	made.route = copy(sellers, row, columns->route);
	made.currency = copy(sellers, row, columns->currency);
	made.tariff = copy(sellers, row, columns->tariff);
	made.has_order_cost = *row_field(row, columns->order_cost) != '\0';
	MEM_ROOM(sellers->row, sellers->count, sellers->room);
	sellers->row[sellers->count++] = made;
}

static int
by_seller(const void *a, const void *b)
{
	const struct seller_row *left = a, *right = b;
	int order = strcmp(left->seller, right->seller);

	return order != 0 ? order : (left->line > right->line) - (left->line < right->line);
}

static void
check_once(const struct sellers *sellers, struct table *table)
{
	for (size_t i = 1; i < sellers->count; i++) {
		const struct seller_row *row = &sellers->row[i];

		if (strcmp(row->seller, row[-1].seller) == 0)
			fault(table_faults(table), row->line,
			      "seller \"%s\" has a row at line %zu already: keep one",
			      text_show(table_arena(table), row->seller), row[-1].line);
	}
}

void
sellers_read(struct sellers *sellers, struct table *table)
{
	struct seller_columns columns = {
	    .seller = table_need_column(table, "seller"),
	    .route = table_column(table, "route"),
	    .currency = table_column(table, "currency"),
	    .tariff = table_column(table, "tariff"),
	    .minimum = table_column(table, "minimum"),
	    .tax = table_column(table, "tax"),
	    .tax_on = table_column(table, "tax_on"),
	    .order_cost = table_column(table, "order_cost"),
	};
	struct row row;

	sellers->file = arena_copy(&sellers->arena, table_name(table), strlen(table_name(table)));
	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(sellers, table, &row, &columns);
	if (sellers->count > 0)
		qsort(sellers->row, sellers->count, sizeof *sellers->row, by_seller);
	check_once(sellers, table);
	table_end(table);
	table_close(table);
}

static int
by_name(const void *key, const void *element)
{
	return strcmp(key, ((const struct seller_row *)element)->seller);
}

const struct seller_row *
sellers_find(const struct sellers *sellers, const char *name)
{
	const struct seller_row *found;

	if (sellers == NULL || sellers->count == 0)
		return NULL;
	found = bsearch(name, sellers->row, sellers->count, sizeof *sellers->row, by_name);
	if (found == NULL)
		found = bsearch(EVERY_SELLER, sellers->row, sellers->count, sizeof *sellers->row,
		                by_name);
	return found;
}

void
sellers_free(struct sellers *sellers)
{
	free(sellers->row);
	arena_free(&sellers->arena);
	*sellers = (struct sellers){0};
}
