#include "trade/orders.h"

#include "trade/amounts.h"
#include "trade/currency.h"
#include "trade/need.h"

#include <stdlib.h>
#include <string.h>

enum order_column {
	ORDER_SELLER,
	ORDER_ROUTE,
	ORDER_CLASS,
	ORDER_LOT,
	ORDER_PART,
	ORDER_COLOR,
	ORDER_CONDITION,
	ORDER_QTY,
	ORDER_PRICE,
	ORDER_CURRENCY,
	ORDER_AMOUNT,
	ORDER_SURPLUS,
	ORDER_GRAMS,
	ORDER_LISTING,
	ORDER_COLUMNS
};

static const char *const column_names[ORDER_COLUMNS] = {
    "seller", "route", "class",    "lot",    "part",    "color", "condition",
    "qty",    "price", "currency", "amount", "surplus", "grams", "listing",
};

bool
orders_has_column(const char *name)
{
	for (size_t i = 0; i < ORDER_COLUMNS; i++)
		if (text_equal_fold(column_names[i], name))
			return true;
	return false;
}

struct order_columns {
	size_t at[ORDER_COLUMNS];
	size_t *carry; /* owned */
};

static bool
is_needed(enum order_column column)
{
	return column == ORDER_SELLER || column == ORDER_PART || column == ORDER_COLOR ||
	       column == ORDER_QTY || column == ORDER_PRICE;
}

static bool
is_known(const struct order_columns *columns, size_t column)
{
	for (size_t i = 0; i < ORDER_COLUMNS; i++)
		if (columns->at[i] == column)
			return true;
	return false;
}

static struct order_columns
find_columns(struct orders *orders, struct table *table)
{
	struct order_columns columns;
	const char **names;

	for (size_t i = 0; i < ORDER_COLUMNS; i++)
		columns.at[i] = is_needed((enum order_column)i)
		                    ? table_need_column(table, column_names[i])
		                    : table_column(table, column_names[i]);
	orders->has_route = columns.at[ORDER_ROUTE] != NO_COLUMN;
	columns.carry = mem_alloc(table_columns(table) * sizeof *columns.carry);
	names = arena_alloc(&orders->arena, table_columns(table) * sizeof *names);
	for (size_t i = 0; i < table_columns(table); i++) {
		const char *name = table_header(table)[i];

		if (is_known(&columns, i))
			continue;
		names[orders->carried] = arena_copy(&orders->arena, name, strlen(name));
		columns.carry[orders->carried++] = i;
	}
	orders->carry = names;
	return columns;
}

static bool
texts_fit(struct table *table, const struct row *row, const struct order_columns *columns)
{
	static const enum order_column filled[] = {ORDER_SELLER, ORDER_PART, ORDER_COLOR};
	const char *seller = row_field(row, columns->at[ORDER_SELLER]);
	const char *route = row_field(row, columns->at[ORDER_ROUTE]);
	struct faults *faults = table_faults(table);

	for (size_t i = 0; i < sizeof filled / sizeof *filled; i++)
		if (*row_field(row, columns->at[filled[i]]) == '\0') {
			fault(faults, row->line,
			      "%s is empty: an order line names seller, part and color",
			      column_names[filled[i]]);
			return false;
		}
	if (strcmp(seller, OWNED_SELLER) != 0 && !seller_name_fits(seller)) {
		fault(faults, row->line, "a seller may not be named \"%s\": rename it", seller);
		return false;
	}
	if ((strcmp(seller, OWNED_SELLER) == 0) != (strcmp(route, OWNED_ROUTE) == 0) &&
	    *route != '\0') {
		fault(faults, row->line,
		      "seller and route are \"%s\" and \"%s\": stock in use has owned in both, "
		      "what is bought in neither",
		      text_show(table_arena(table), seller), text_show(table_arena(table), route));
		return false;
	}
	if (strcmp(route, OTHER_ROUTE) == 0) {
		fault(faults, row->line,
		      "route \"%s\" is for costs that are no order: it is direct or market", route);
		return false;
	}
	return currency_field(table, row, columns->at[ORDER_CURRENCY]);
}

/* The amount that a row gives, if any, against qty x price. */
static bool
amount_agrees(struct table *table, const struct row *row, size_t column,
              const struct order_line *line)
{
	int64_t amount, given;

	if (__builtin_mul_overflow(line->qty, line->price, &amount)) {
		fault(table_faults(table), row->line, "qty x price is too large");
		return false;
	}
	if (!amount_micro(table, row, column, NOT_NEGATIVE, amount, &given))
		return false;
	if (given != amount) {
		struct text right = {0};

		dec_add_text(&right, amount, MICRO_DECIMALS, 0);
		fault(table_faults(table), row->line,
		      "amount \"%s\" is not qty x price: %s, or leave it empty",
		      text_show(table_arena(table), row_field(row, column)), right.bytes);
		text_free(&right);
	}
	return given == amount;
}

static bool
numbers_fit(struct table *table, const struct row *row, const struct order_columns *columns,
            struct order_line *line)
{
	const size_t *at = columns->at;
	bool fit = amount_qty(table, row, at[ORDER_QTY], AMOUNT_REQUIRED, &line->qty);

	fit &=
	    amount_micro(table, row, at[ORDER_PRICE], NOT_NEGATIVE, AMOUNT_REQUIRED, &line->price);
	fit &= amount_qty(table, row, at[ORDER_SURPLUS], 0, &line->surplus);
	fit &= amount_micro(table, row, at[ORDER_GRAMS], NOT_NEGATIVE, NOT_GIVEN, &line->grams);
	return fit && amount_agrees(table, row, at[ORDER_AMOUNT], line);
}

static const char *
copy(struct orders *orders, const struct row *row, size_t column)
{
	const char *field = row_field(row, column);

	return *field == '\0' ? "" : arena_copy(&orders->arena, field, strlen(field));
}

static void
add_row(struct orders *orders, struct table *table, const struct row *row,
        const struct order_columns *columns)
{
	const size_t *at = columns->at;
	struct order_line line = {.line = row->line};
	const char **carry;

	if (!texts_fit(table, row, columns) || !numbers_fit(table, row, columns, &line))
		return;
	line.seller = copy(orders, row, at[ORDER_SELLER]);
	line.route = copy(orders, row, at[ORDER_ROUTE]);
	line.class = copy(orders, row, at[ORDER_CLASS]);
	line.lot = copy(orders, row, at[ORDER_LOT]);
	line.part = copy(orders, row, at[ORDER_PART]);
	line.color = copy(orders, row, at[ORDER_COLOR]);
	line.condition = copy(orders, row, at[ORDER_CONDITION]);
	line.currency = copy(orders, row, at[ORDER_CURRENCY]);
	line.listing = copy(orders, row, at[ORDER_LISTING]);
	carry = arena_alloc(&orders->arena, orders->carried * sizeof *carry);
	for (size_t i = 0; i < orders->carried; i++)
		carry[i] = copy(orders, row, columns->carry[i]);
	line.carry = carry;
	MEM_ROOM(orders->row, orders->count, orders->room);
	orders->row[orders->count++] = line;
}

void
orders_read(struct orders *orders, struct table *table)
{
	struct order_columns columns = find_columns(orders, table);
	struct row row;

	orders->file = arena_copy(&orders->arena, table_name(table), strlen(table_name(table)));
	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(orders, table, &row, &columns);
	table_end(table);
	free(columns.carry);
	table_close(table);
}

bool
order_line_is_owned(const struct order_line *line)
{
	return strcmp(line->seller, OWNED_SELLER) == 0;
}

bool
order_line_add_to(struct order_sum *sum, const struct order_line *line, int64_t grams, bool first)
{
	int64_t value, weight;

	sum->basis[BASIS_LOTS] += first;
	return !__builtin_add_overflow(sum->basis[BASIS_PIECES], line->qty,
	                               &sum->basis[BASIS_PIECES]) &&
	       !__builtin_mul_overflow(line->qty, line->price, &value) &&
	       !__builtin_add_overflow(sum->basis[BASIS_VALUE], value, &sum->basis[BASIS_VALUE]) &&
	       !__builtin_mul_overflow(line->qty, grams, &weight) &&
	       !__builtin_add_overflow(sum->basis[BASIS_WEIGHT], weight, &sum->basis[BASIS_WEIGHT]);
}

int
orders_compare(const struct order_line *a, const struct order_line *b)
{
	const char *const left[] = {a->route, a->seller,    a->class, a->part,
	                            a->color, a->condition, a->lot};
	const char *const right[] = {b->route, b->seller,    b->class, b->part,
	                             b->color, b->condition, b->lot};

	for (size_t i = 0; i < sizeof left / sizeof *left; i++) {
		int order = strcmp(left[i], right[i]);

		if (order != 0)
			return order;
	}
	if (a->price != b->price)
		return a->price < b->price ? -1 : 1;
	return strcmp(a->listing, b->listing);
}

/* Lines that compare equal stand by what else they say, so that no order of rows shows. */
static int
by_all(const void *a, const void *b, void *data)
{
	const struct order_line *left = a, *right = b;
	const int64_t numbers[] = {left->qty, left->surplus, left->grams};
	const int64_t others[] = {right->qty, right->surplus, right->grams};
	const struct orders *orders = data;
	int order = orders_compare(left, right);

	for (size_t i = 0; order == 0 && i < sizeof numbers / sizeof *numbers; i++)
		order = (numbers[i] > others[i]) - (numbers[i] < others[i]);
	if (order == 0)
		order = strcmp(left->currency, right->currency);
	if (order == 0 && orders->states)
		order = strcmp(left->state, right->state);
	for (size_t i = 0; order == 0 && i < orders->carried; i++)
		order = strcmp(left->carry[i], right->carry[i]);
	return order;
}

void
orders_sort(struct orders *orders)
{
	if (orders->count > 0)
		qsort_r(orders->row, orders->count, sizeof *orders->row, by_all, orders);
}

static void
write_line(struct sheet *sheet, const struct orders *orders, const struct order_line *line)
{
	sheet_field(sheet, line->seller);
	sheet_field(sheet, line->route);
	sheet_field(sheet, line->class);
	sheet_field(sheet, line->lot);
	sheet_field(sheet, line->part);
	sheet_field(sheet, line->color);
	sheet_field(sheet, line->condition);
	sheet_qty(sheet, line->qty);
	sheet_decimal(sheet, line->price, MICRO_DECIMALS, 0);
	sheet_field(sheet, line->currency);
	sheet_decimal(sheet, (wide)line->qty * line->price, MICRO_DECIMALS, 0);
	sheet_qty(sheet, line->surplus);
	if (line->grams == NOT_GIVEN)
		sheet_field(sheet, "");
	else
		sheet_decimal(sheet, line->grams, MICRO_DECIMALS, 0);
	sheet_field(sheet, line->listing);
	if (orders->states)
		sheet_field(sheet, line->state);
	for (size_t i = 0; i < orders->carried; i++)
		sheet_field(sheet, line->carry[i]);
	sheet_end_row(sheet);
}

void
orders_write(struct sheet *sheet, const struct orders *orders)
{
	for (size_t i = 0; i < ORDER_COLUMNS; i++)
		sheet_field(sheet, column_names[i]);
	if (orders->states)
		sheet_field(sheet, "state");
	for (size_t i = 0; i < orders->carried; i++)
		sheet_field(sheet, orders->carry[i]);
	sheet_end_row(sheet);
	for (size_t i = 0; i < orders->count; i++)
		write_line(sheet, orders, &orders->row[i]);
}

void
orders_free(struct orders *orders)
{
	free(orders->row);
	arena_free(&orders->arena);
	*orders = (struct orders){0};
}
