#include "trade/price_list.h"

#include "base/dec.h"
#include "trade/amounts.h"
#include "trade/offer_row.h"

#include <stdlib.h>
#include <string.h>

const char *const price_names[PRICES] = {"min", "median", "mean", "p90", "max"};

struct price_columns {
	size_t part, color, condition, sellers, pieces, asked, median;
};

static const char *
copy(struct price_list *list, const struct row *row, size_t column)
{
	const char *field = row_field(row, column);

	return *field == '\0' ? "" : arena_copy(&list->arena, field, strlen(field));
}

static bool
texts_fit(struct table *table, const struct row *row, const struct price_columns *columns)
{
	const char *part = row_field(row, columns->part);

	if (*part != '\0' && *row_field(row, columns->color) != '\0')
		return true;
	fault(table_faults(table), row->line, "%s is empty: a price is of a part and a color",
	      *part == '\0' ? "part" : "color");
	return false;
}

/* All sellers together may have more pieces than one may. */
static bool
read_pieces(struct table *table, const struct row *row, size_t column, int64_t *out)
{
	if (dec_parse_qty(row_field(row, column), out) != DEC_LARGE)
		return amount_qty(table, row, column, QTY_UNLIMITED, out);
	*out = QTY_UNLIMITED - 1;
	return true;
}

static void
add_row(struct price_list *list, struct table *table, const struct row *row,
        const struct price_columns *columns)
{
	struct price made = {.line = row->line};
	bool fit = texts_fit(table, row, columns);

	fit &= amount_qty(table, row, columns->sellers, NOT_GIVEN, &made.sellers);
	fit &= read_pieces(table, row, columns->pieces, &made.pieces);
	fit &= amount_micro(table, row, columns->asked, NOT_NEGATIVE, AMOUNT_REQUIRED, &made.asked);
	fit &=
	    columns->median == columns->asked ||
	    amount_micro(table, row, columns->median, NOT_NEGATIVE, AMOUNT_REQUIRED, &made.median);
	if (!fit)
		return;
	if (columns->median == columns->asked)
		made.median = made.asked;
	made.part = copy(list, row, columns->part);
	made.color = copy(list, row, columns->color);
	made.condition = copy(list, row, columns->condition);
	MEM_ROOM(list->price, list->count, list->room);
	list->price[list->count++] = made;
}

static int
compare_lots(const struct price *a, const struct price *b)
{
	int order = strcmp(a->part, b->part);

	order = order ? order : strcmp(a->color, b->color);
	return order ? order : strcmp(a->condition, b->condition);
}

static int
by_lot(const void *a, const void *b)
{
	const struct price *left = a, *right = b;
	int order = compare_lots(left, right);

	return order ? order : (left->line > right->line) - (left->line < right->line);
}

static void
check_once(const struct price_list *list, struct table *table)
{
	for (size_t i = 1; i < list->count; i++) {
		const struct price *one = &list->price[i - 1], *other = &list->price[i];

		if (compare_lots(one, other) == 0)
			fault(table_faults(table), other->line,
			      "%s, %s has a price at line %zu already: keep one",
			      text_show(table_arena(table), other->part),
			      text_show(table_arena(table), other->color), one->line);
	}
}

void
price_list_read(struct price_list *list, struct table *table, enum price_at at)
{
	struct price_columns columns = {.part = table_need_column(table, "part"),
	                                .color = table_need_column(table, "color"),
	                                .condition = table_column(table, "condition"),
	                                .sellers = table_column(table, "sellers"),
	                                .pieces = table_column(table, "pieces"),
	                                .median =
	                                    table_need_column(table, price_names[PRICE_MEDIAN])};
	struct row row;

	columns.asked =
	    at == PRICE_MEDIAN ? columns.median : table_need_column(table, price_names[at]);
	list->file = arena_copy(&list->arena, table_name(table), strlen(table_name(table)));
	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(list, table, &row, &columns);
	if (list->count > 0)
		qsort(list->price, list->count, sizeof *list->price, by_lot);
	check_once(list, table);
	table_end(table);
	table_close(table);
}

size_t
price_list_part(const struct price_list *list, const char *part, const struct price **first)
{
	size_t low = 0, high = list->count, past;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (strcmp(list->price[middle].part, part) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	for (past = low; past < list->count && strcmp(list->price[past].part, part) == 0; past++)
		;
	*first = past > low ? &list->price[low] : NULL;
	return past - low;
}

void
price_list_free(struct price_list *list)
{
	free(list->price);
	arena_free(&list->arena);
	*list = (struct price_list){0};
}
