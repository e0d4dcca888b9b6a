/*
 * Stock: pieces already owned, by part, color, condition and place. Order lines are stock too
 * (they have the columns it needs). Quantities are whole pieces, grams micro (10^-6).
 */
#ifndef LOTPIPE_STOCK_H
#define LOTPIPE_STOCK_H

#include "table/output.h"
#include "table/table.h"

#include <stdint.h>

struct stock_row {
	const char *part, *color, *condition, *place, *grams_text;
	int64_t qty;
	int64_t grams;            /* micro, or NOT_GIVEN (see need.h) */
	char *const *field;       /* all fields as read, for writing what is left */
	size_t line, file;        /* which of the files */
};

struct stock {
	struct stock_row *row; /* owned; in the order of files and rows */
	size_t count, room;
	const char **file;     /* names, for messages; owned */
	size_t files;
	char *const *header;   /* of the first file */
	size_t headers, qty_column;
	struct arena arena;
};

/* Adds a whole file and closes it; faults exit. */
void stock_read(struct stock *stock, struct table *table);
void stock_free(struct stock *stock);

#endif
