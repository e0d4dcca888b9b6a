#include "trade/extras.h"

#include "trade/amounts.h"
#include "trade/currency.h"
#include "trade/sellers.h"
#include "trade/taxes.h"

#include <stdlib.h>
#include <string.h>

struct extra_columns {
	size_t item, amount, currency, tax;
};

static void
add_row(struct extras *extras, struct table *table, const struct row *row,
        const struct extra_columns *columns)
{
	const char *item = row_field(row, columns->item);
	const char *currency = row_field(row, columns->currency);
	struct extra made = {.line = row->line};
	bool fit = currency_field(table, row, columns->currency);

	if (*item == '\0' || strcmp(item, TOTAL_SELLER) == 0) {
		fault(table_faults(table), row->line, "item is %s: say what it is",
		      *item == '\0' ? "empty" : "named " TOTAL_SELLER);
		fit = false;
	}
	fit &= amount_micro(table, row, columns->amount, MAY_BE_NEGATIVE, AMOUNT_REQUIRED,
	                    &made.amount);
	fit &= taxes_field(table, row, columns->tax, &made.taxes);
	if (!fit)
		return;
	made.item = arena_copy(&extras->arena, item, strlen(item));
	made.currency = arena_copy(&extras->arena, currency, strlen(currency));
	MEM_ROOM(extras->row, extras->count, extras->room);
	extras->row[extras->count++] = made;
}

static int
by_content(const void *a, const void *b)
{
	const struct extra *left = a, *right = b;
	int order = strcmp(left->item, right->item);

	if (order == 0)
		order = strcmp(left->currency, right->currency);
	if (order == 0)
		order = (left->amount > right->amount) - (left->amount < right->amount);
	return order != 0 ? order : taxes_compare(&left->taxes, &right->taxes);
}

void
extras_read(struct extras *extras, struct table *table)
{
	struct extra_columns columns = {
	    .item = table_need_column(table, "item"),
	    .amount = table_need_column(table, "amount"),
	    .currency = table_column(table, "currency"),
	    .tax = table_column(table, "tax"),
	};
	struct row row;

	extras->file = arena_copy(&extras->arena, table_name(table), strlen(table_name(table)));
	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(extras, table, &row, &columns);
	table_end(table);
	table_close(table);
	if (extras->count > 0)
		qsort(extras->row, extras->count, sizeof *extras->row, by_content);
}

void
extras_free(struct extras *extras)
{
	free(extras->row);
	arena_free(&extras->arena);
	*extras = (struct extras){0};
}
