#include "trade/order_codes.h"

#include "table/table.h"

#include <stdlib.h>
#include <string.h>

struct meaning {
	size_t part, color; /* numbers in texts */
	size_t line;
};

struct order_codes {
	struct names codes, texts;
	struct meaning *meaning; /* by number in codes; owned */
	size_t room;
};

static void
read_code(struct order_codes *codes, struct table *table, const struct row *row, const size_t at[3])
{
	struct meaning meaning = {.line = row->line};
	size_t before = codes->codes.count, number;

	for (size_t i = 0; i < 3; i++)
		text_fold_blanks(row->field[at[i]]);
	if (*row->field[at[0]] == '\0') {
		fault(table_faults(table), row->line, "code is empty: give the code");
		return;
	}
	meaning.part = names_add(&codes->texts, row->field[at[1]]);
	meaning.color = names_add(&codes->texts, row->field[at[2]]);
	number = names_add(&codes->codes, row->field[at[0]]);
	if (number < before) {
		const struct meaning *other = &codes->meaning[number];

		if (other->part != meaning.part || other->color != meaning.color)
			fault(table_faults(table), row->line,
			      "code \"%s\" stands for something else on line %zu: keep one",
			      text_show(table_arena(table), row->field[at[0]]), other->line);
		return;
	}
	MEM_ROOM(codes->meaning, number, codes->room);
	codes->meaning[number] = meaning;
}

struct order_codes *
order_codes_read(const char *path)
{
	struct order_codes *codes = mem_zero(1, sizeof *codes);
	struct table *table = table_open(path, NULL);
	struct row row;
	size_t at[3];

	at[0] = table_need_column(table, "code");
	at[1] = table_need_column(table, "part");
	at[2] = table_need_column(table, "color");
	if (table_faults(table)->count == 0)
		while (table_next(table, &row))
			read_code(codes, table, &row, at);
	table_end(table);
	table_close(table);
	return codes;
}

void
order_codes_free(struct order_codes *codes)
{
	if (codes == NULL)
		return;
	names_free(&codes->codes);
	names_free(&codes->texts);
	free(codes->meaning);
	free(codes);
}

bool
order_codes_find(const struct order_codes *codes, const char *code, const char **part,
                 const char **color)
{
	size_t number = names_find(&codes->codes, code);

	if (number == SIZE_MAX)
		return false;
	*part = codes->texts.name[codes->meaning[number].part];
	*color = codes->texts.name[codes->meaning[number].color];
	return true;
}
