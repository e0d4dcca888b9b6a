#include "trade/weights.h"

#include "trade/amounts.h"

#include <stdlib.h>

static void
add_row(struct weights *weights, struct table *table, const struct row *row, size_t part_column,
        size_t grams_column)
{
	const char *part = row_field(row, part_column);
	size_t before = weights->parts.count, number;
	int64_t grams;

	if (*part == '\0') {
		fault(table_faults(table), row->line,
		      "part is empty: name the part that weighs this");
		return;
	}
	if (!amount_micro(table, row, grams_column, NOT_NEGATIVE, AMOUNT_REQUIRED, &grams))
		return;
	number = names_add(&weights->parts, part);
	if (number < before) {
		if (weights->grams[number] != grams)
			fault(table_faults(table), row->line,
			      "part \"%s\" has other grams in a row before: keep one",
			      text_show(table_arena(table), part));
		return;
	}
	MEM_ROOM(weights->grams, number, weights->room);
	weights->grams[number] = grams;
}

void
weights_read(struct weights *weights, struct table *table)
{
	size_t part = table_need_column(table, "part");
	size_t grams = table_need_column(table, "grams");
	struct row row;

	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(weights, table, &row, part, grams);
	table_end(table);
	table_close(table);
}

int64_t
weights_find(const struct weights *weights, const char *part)
{
	size_t number = names_find(&weights->parts, part);

	return number == SIZE_MAX ? -1 : weights->grams[number];
}

void
weights_free(struct weights *weights)
{
	names_free(&weights->parts);
	free(weights->grams);
	*weights = (struct weights){0};
}
