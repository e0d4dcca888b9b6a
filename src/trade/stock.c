#include "trade/stock.h"

#include "trade/sellers.h"

#include <stdlib.h>
#include <string.h>

/* Where a file's columns stand. */
struct layout {
	size_t part, color, qty, condition, place, grams;
	size_t seller; /* NO_COLUMN: the rows are no order lines */
	size_t *to;    /* the stock's column for each of the file's; owned */
};

static const char *
copy(struct stock *stock, const char *field)
{
	return *field == '\0' ? "" : arena_copy(&stock->arena, field, strlen(field));
}

/* The stock's column for a header; taken: columns that an earlier header of the file has. */
static size_t
header_column(struct stock *stock, const char *name, const bool *taken)
{
	for (size_t i = 0; i < stock->headers; i++)
		if (!taken[i] && text_equal_fold(stock->header[i], name))
			return i;
	MEM_ROOM(stock->header, stock->headers, stock->header_room);
	stock->header[stock->headers] = copy(stock, name);
	return stock->headers++;
}

static struct layout
read_layout(struct stock *stock, struct table *table)
{
	struct layout layout = {
	    .part = table_need_column(table, "part"),
	    .color = table_need_column(table, "color"),
	    .qty = table_need_column(table, "qty"),
	    .condition = table_column(table, "condition"),
	    .place = table_column(table, "place"),
	    .grams = table_column(table, "grams"),
	    .seller = table_column(table, "seller"),
	};
	size_t columns = table_columns(table);
	bool *taken = mem_zero(stock->headers + columns, sizeof *taken);

	table_end(table);
	layout.to = mem_alloc(columns * sizeof *layout.to);
	for (size_t i = 0; i < columns; i++) {
		layout.to[i] = header_column(stock, table_header(table)[i], taken);
		taken[layout.to[i]] = true;
	}
	stock->qty_column = layout.to[layout.qty];
	free(taken);
	return layout;
}

static void
check_named(struct table *table, const struct row *row, size_t column)
{
	if (*row_field(row, column) == '\0')
		fault(table_faults(table), row->line, "%s is empty: name one",
		      table_header(table)[column]);
}

static void
add_row(struct stock *stock, struct table *table, const struct layout *at, const struct row *row)
{
	const char *seller = row_field(row, at->seller);
	struct stock_row new = {.line = row->line, .file = stock->files, .fields = stock->headers};
	const char **field = arena_alloc(&stock->arena, stock->headers * sizeof *field);

	for (size_t i = 0; i < stock->headers; i++)
		field[i] = "";
	for (size_t i = 0; i < row->count; i++)
		field[at->to[i]] = copy(stock, row->field[i]);
	new.field = field;
	new.part = field[at->to[at->part]];
	new.color = field[at->to[at->color]];
	new.condition = at->condition == NO_COLUMN ? "" : field[at->to[at->condition]];
	new.place = at->place == NO_COLUMN ? "" : field[at->to[at->place]];
	check_named(table, row, at->part);
	check_named(table, row, at->color);
	amount_qty(table, row, at->qty, AMOUNT_REQUIRED, &new.qty);
	amount_micro(table, row, at->grams, NOT_NEGATIVE, NOT_GIVEN, &new.grams);
	if (strcmp(seller, OWNED_SELLER) == 0) {
		stock->in_use += new.qty;
		return;
	}
	if (*new.place == '\0' && at->seller != NO_COLUMN)
		new.place = field[at->to[at->seller]];
	new.read = new.qty;
	new.ordered = at->seller != NO_COLUMN;
	MEM_ROOM(stock->row, stock->count, stock->room);
	stock->row[stock->count++] = new;
}

static int
compare_rows(const void *left, const void *right)
{
	const struct stock_row *a = left, *b = right;
	const char *const of_a[] = {a->part, a->color, a->condition, a->place};
	const char *const of_b[] = {b->part, b->color, b->condition, b->place};

	for (size_t i = 0; i < sizeof of_a / sizeof *of_a; i++) {
		int order = strcmp(of_a[i], of_b[i]);

		if (order != 0)
			return order;
	}
	for (size_t i = 0; i < a->fields && i < b->fields; i++) {
		int order = strcmp(a->field[i], b->field[i]);

		if (order != 0)
			return order;
	}
	return (a->line > b->line) - (a->line < b->line);
}

void
stock_read(struct stock *stock, struct table *table)
{
	struct layout layout = read_layout(stock, table);
	size_t first = stock->count;
	struct row row;

	while (table_next(table, &row))
		add_row(stock, table, &layout, &row);
	table_end(table);
	free(layout.to);
	MEM_ROOM(stock->file, stock->files, stock->file_room);
	stock->file[stock->files++] = copy(stock, table_name(table));
	if (stock->count > first)
		qsort(stock->row + first, stock->count - first, sizeof *stock->row, compare_rows);
	table_close(table);
}

void
stock_free(struct stock *stock)
{
	free(stock->row);
	free(stock->file);
	free(stock->header);
	arena_free(&stock->arena);
	*stock = (struct stock){0};
}

/* What the field of a column is now. Of an order line that gave pieces, amount and surplus would
 * be those of before. */
static void
write_field(struct sheet *sheet, const struct stock *stock, const struct stock_row *row,
            size_t column)
{
	const char *name = stock->header[column];
	bool gave = row->ordered && row->qty != row->read;

	if (column == stock->qty_column)
		sheet_qty(sheet, row->qty);
	else if (text_equal_fold(name, "place"))
		sheet_field(sheet, row->place);
	else if (gave && (text_equal_fold(name, "amount") || text_equal_fold(name, "surplus")))
		sheet_field(sheet, "");
	else
		sheet_field(sheet, column < row->fields ? row->field[column] : "");
}

void
stock_write(struct sheet *sheet, const struct stock *stock)
{
	for (size_t i = 0; i < stock->headers; i++)
		sheet_field(sheet, stock->header[i]);
	sheet_end_row(sheet);
	for (size_t i = 0; i < stock->count; i++) {
		const struct stock_row *row = &stock->row[i];

		if (row->qty == 0)
			continue;
		for (size_t j = 0; j < stock->headers; j++)
			write_field(sheet, stock, row, j);
		sheet_end_row(sheet);
	}
}

void
stock_tell_in_use(const struct stock *stock)
{
	if (stock->in_use > 0)
		tell("%lld piece%s in order lines of seller owned: left out, they are pieces of "
		     "other stock",
		     (long long)stock->in_use, stock->in_use == 1 ? "" : "s");
}
