#include "trade/equal_lots.h"

#include "base/dec.h"

#include <stdlib.h>
#include <string.h>

struct equal_lot {
	const char **value; /* by cell; in the arena */
	int64_t pieces;
	const char *file; /* of the first row; borrowed */
	size_t line;
};

/* The number of the lot that the row belongs to. */
static size_t
number_of(struct equal_lots *lots, const struct canonical_row *row)
{
	text_clear(&lots->key);
	for (size_t i = 0; i < row->cells; i++) {
		const struct cell *cell = &row->cell[i];

		if (cell->column == LIST_COLUMNS || !list_columns[cell->column].tells_apart)
			continue;
		text_adds(&lots->key, cell->value);
		text_addc(&lots->key, '\0');
	}
	return names_add_bytes(&lots->keys, lots->key.bytes, lots->key.length);
}

static void
keep(struct equal_lots *lots, size_t number, const struct canonical_row *row, int64_t pieces,
     const char *file, size_t line)
{
	struct equal_lot *lot;

	MEM_ROOM(lots->lot, number, lots->room);
	lot = &lots->lot[number];
	lot->value = arena_alloc(&lots->arena, row->cells * sizeof *lot->value);
	for (size_t i = 0; i < row->cells; i++)
		lot->value[i] =
		    arena_copy(&lots->arena, row->cell[i].value, strlen(row->cell[i].value));
	lot->pieces = pieces;
	lot->file = file;
	lot->line = line;
}

/* What is wrong with a row that is equal to a lot's first one. */
static void
add_why(struct equal_lots *lots, struct canonical_row *row, const struct equal_lot *lot, bool named,
        const char *file, struct text *why)
{
	struct text what = {0};

	text_adds(&what, named ? "is not that of line " : "makes the lot of line ");
	dec_add_text(&what, (wide)lot->line, 0, 0);
	if (strcmp(lot->file, file) != 0) {
		text_adds(&what, " of ");
		text_adds(&what, text_show_all(&lots->arena, lot->file));
	}
	text_adds(&what, named ? ", the same row of one lot: its rows have one qty"
	                       : " too large: 999,999,999 pieces are the most");
	canonical_row_add_why(row, why, "qty", canonical_row_value(row, COLUMN_QTY), what.bytes);
	text_free(&what);
}

bool
equal_lots_add(struct equal_lots *lots, struct canonical_row *row, const char *file, size_t line,
               struct text *why)
{
	int64_t pieces = row->cell[row->cell_of[COLUMN_QTY]].pieces;
	bool named = *canonical_row_value(row, COLUMN_LOT) != '\0';
	size_t before = lots->keys.count, number = number_of(lots, row);
	struct equal_lot *lot;

	if (number == before) {
		keep(lots, number, row, pieces, file, line);
		return true;
	}
	lot = &lots->lot[number];
	if (named && lot->pieces == pieces)
		return true;
	if (!named && lot->pieces + pieces <= QTY_MOST) {
		lot->pieces += pieces;
		return true;
	}
	add_why(lots, row, lot, named, file, why);
	return false;
}

size_t
equal_lots_count(const struct equal_lots *lots)
{
	return lots->keys.count;
}

int64_t
equal_lots_pieces(const struct equal_lots *lots, size_t lot)
{
	return lots->lot[lot].pieces;
}

const char *
equal_lots_value(const struct equal_lots *lots, size_t lot, size_t cell)
{
	return lots->lot[lot].value[cell];
}

void
equal_lots_free(struct equal_lots *lots)
{
	names_free(&lots->keys);
	text_free(&lots->key);
	free(lots->lot);
	arena_free(&lots->arena);
}
