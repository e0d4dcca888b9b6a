/*
 * Order lines: what is bought from whom, one row per offer and lot that it serves. Prices,
 * amounts and grams are micro (10^-6), quantities whole pieces.
 */
#ifndef LOTPIPE_ORDERS_H
#define LOTPIPE_ORDERS_H

#include "table/output.h"
#include "table/table.h"
#include "trade/landed.h"
#include "trade/sellers.h"

#include <stdint.h>

struct order_line {
	const char *seller, *route, *class, *lot, *part, *color, *condition, *currency, *listing;
	int64_t qty, price, surplus;
	int64_t grams;            /* a piece; or NOT_GIVEN (-1) */
	const char *const *carry; /* fields of the carried columns */
	const char *state;        /* NULL: not told */
	size_t line;              /* in the file read; 0 else */
};

struct orders {
	const char *file;
	struct order_line *row; /* owned */
	size_t count, room;
	const char *const *carry; /* names of carried columns */
	size_t carried;
	bool has_route; /* the file read has the column */
	bool states;    /* lines are written with their state */
	struct arena arena;
};

/* Reads a whole file and closes it. Needed columns: seller, part, color, qty, price; the others
 * where they are; columns that are not known are carried. amount, where given, must be
 * qty x price, and both must fit 64 bits of micro. Rows of no pieces stand. Faults exit. */
void orders_read(struct orders *orders, struct table *table);
/* Is it the name of one of their own columns, letter case aside? */
bool orders_has_column(const char *name);
/* Stock that is used: no tax, no order. */
bool order_line_is_owned(const struct order_line *line);
/* Adds the line, of so many grams a piece, to what its order or class adds up to; first: the first
 * of its kind there, which counts as a lot. False: past 64 bits. */
bool order_line_add_to(struct order_sum *sum, const struct order_line *line, int64_t grams,
                       bool first);
/* Sorted by route, seller, class, part, color, condition, lot, price, listing, byte order,
 * numbers by value. */
void orders_sort(struct orders *orders);
/* Byte order of two lines as orders_sort has it. */
int orders_compare(const struct order_line *a, const struct order_line *b);
void orders_write(struct sheet *sheet, const struct orders *orders);
void orders_free(struct orders *orders);

#endif
