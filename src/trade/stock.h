/*
 * Stock: pieces already owned, by part, color, condition and place. Order lines are stock too, on
 * its way: a file with a column `seller` is one of them. The seller is the place, where the row
 * names none; lines of seller `owned` are pieces of other stock in use, and are left out, lest
 * they count twice. Quantities are whole pieces, grams micro (10^-6).
 *
 * Owns the rows of one or more files, in the order of the files and, within a file, in byte order
 * of part, color, condition, place, then the other fields: a shuffled file is the same stock. The
 * header is that of the first file, then the columns that only later files have; every field
 * passes through.
 */
#ifndef LOTPIPE_STOCK_H
#define LOTPIPE_STOCK_H

#include "table/output.h"
#include "table/table.h"
#include "trade/amounts.h"

#include <stdint.h>

struct stock_row {
	const char *part, *color, *condition, *place; /* "" where empty */
	int64_t qty;              /* also of what is left: the field itself is stale */
	int64_t grams;            /* micro, or NOT_GIVEN */
	const char *const *field; /* as read, by column of the header; the first `fields` of them */
	size_t fields;
	size_t line, file; /* which of the files */
	int64_t read;      /* qty as read */
	bool ordered;      /* the row is an order line */
};

struct stock {
	struct stock_row *row; /* owned */
	size_t count, room;
	const char **file; /* names, for messages; owned */
	size_t files, file_room;
	const char **header; /* owned */
	size_t headers, header_room, qty_column;
	int64_t in_use;     /* pieces of order lines of seller owned: left out */
	struct arena arena; /* owns every text */
};

/* Adds a whole file and closes it; faults exit. */
void stock_read(struct stock *stock, struct table *table);
void stock_free(struct stock *stock);
/* Header and rows to a sheet; rows of quantity 0 are left out. Of order lines that gave pieces,
 * amount and surplus are empty. */
void stock_write(struct sheet *sheet, const struct stock *stock);
/* Tells what was left out, if anything. */
void stock_tell_in_use(const struct stock *stock);

#endif
