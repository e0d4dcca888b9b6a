#include "trade/surplus.h"

#include "trade/amounts.h"

#include <stdlib.h>
#include <string.h>

static int
compare(const void *left, const void *right)
{
	const struct order_line *a = *(const struct order_line *const *)left;
	const struct order_line *b = *(const struct order_line *const *)right;
	const char *const of_a[] = {a->part, a->color, a->condition, a->seller};
	const char *const of_b[] = {b->part, b->color, b->condition, b->seller};

	for (size_t i = 0; i < sizeof of_a / sizeof *of_a; i++) {
		int order = strcmp(of_a[i], of_b[i]);

		if (order != 0)
			return order;
	}
	return (a->grams > b->grams) - (a->grams < b->grams);
}

static void
write_row(struct sheet *sheet, const struct order_line *line, int64_t qty)
{
	sheet_field(sheet, line->part);
	sheet_field(sheet, line->color);
	sheet_qty(sheet, qty);
	sheet_field(sheet, line->condition);
	sheet_field(sheet, line->seller);
	if (line->grams == NOT_GIVEN)
		sheet_field(sheet, "");
	else
		sheet_decimal(sheet, line->grams, MICRO_DECIMALS, 0);
	sheet_end_row(sheet);
}

void
surplus_write(struct sheet *sheet, const struct orders *orders)
{
	static const char *const columns[] = {"part",      "color", "qty",
	                                      "condition", "place", "grams"};
	const struct order_line **line = mem_alloc(orders->count * sizeof *line);
	size_t count = 0;

	sheet_fields(sheet, columns, sizeof columns / sizeof *columns);
	sheet_end_row(sheet);
	for (size_t i = 0; i < orders->count; i++)
		if (orders->row[i].surplus > 0)
			line[count++] = &orders->row[i];
	if (count > 0)
		qsort(line, count, sizeof *line, compare);
	for (size_t i = 0; i < count;) {
		const struct order_line *first = line[i];
		int64_t qty = 0;

		for (; i < count && compare(&first, &line[i]) == 0; i++)
			qty += line[i]->surplus;
		write_row(sheet, first, qty);
	}
	free(line);
}
