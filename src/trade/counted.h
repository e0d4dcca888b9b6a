/*
 * A list as pieces that can be counted against another: a need list, a stock list or order lines,
 * whichever it is, with a key for each row, which is what two lists are compared by.
 *
 * A key is the fields of some columns, in their order, condition `any` as the empty one it means;
 * two lists share the table of keys. A list with a column seller is order lines: its lines of
 * stock in use (seller owned) came from no one and are left out, its `lot` names what a line was
 * bought for, and `surplus` is the part of its pieces that no need asks for. In any other list rows
 * that share a lot are alternatives, and agree in qty.
 *
 * Rows stand in byte order of their keys, those of one key dearest first, then in byte order of
 * all their fields: a shuffled file is the same list. Quantities are whole pieces, prices and grams
 * micro (10^-6). What is wrong with the file is told by the table; faults exit.
 */
#ifndef LOTPIPE_COUNTED_H
#define LOTPIPE_COUNTED_H

#include "base/pattern.h"
#include "table/table.h"
#include "trade/amounts.h"

#include <stdint.h>

enum counted_column {
	COUNTED_PART,
	COUNTED_COLOR,
	COUNTED_QTY,
	COUNTED_CONDITION,
	COUNTED_SELLER,
	COUNTED_LOT,
	COUNTED_NOT_COLOR,
	COUNTED_PRICE,
	COUNTED_CURRENCY,
	COUNTED_SURPLUS,
	COUNTED_PLACE,
	COUNTED_GRAMS,
	COUNTED_COLUMNS
};

extern const char *const counted_column_names[COUNTED_COLUMNS];

/* What a list is compared by. */
struct counted_by {
	const char *const *name; /* of columns; borrowed */
	size_t count;
	struct names *keys; /* fields that end in NUL each; borrowed */
};

struct counted_row {
	const char *const *field;  /* as read, by column of the header */
	const char *lot;           /* of alternatives; "" where it has none, or in order lines */
	const char *condition;     /* "" where any does */
	struct pattern *not_color; /* borrowed from the list; NULL where empty */
	size_t key;
	int64_t qty, surplus;
	int64_t price; /* or NOT_GIVEN */
	size_t line;
};

struct counted {
	const char *file;
	const char *const *header;
	size_t headers;
	size_t at[COUNTED_COLUMNS]; /* in the header, or NO_COLUMN */
	bool orders;                /* order lines */
	struct counted_row *row;    /* owned */
	size_t count, room;
	int64_t left_out;          /* pieces of stock in use */
	struct pattern **patterns; /* owned: one per different not_color text */
	struct names pattern_names;
	struct arena arena;
};

/* What is read beside part, color, qty and the key: what makes a list of expected pieces, or of
 * pieces found. */
enum counted_side { SIDE_EXPECTED, SIDE_FOUND };

/* Reads a whole list from an open table, which must have the columns it is compared by, and
 * closes it; rows have keys then. */
void counted_read(struct counted *list, struct table *table, enum counted_side side,
                  const struct counted_by *by);
/* Gives the rows other keys, and puts them in order; the list must have the columns. */
void counted_set_keys(struct counted *list, const struct counted_by *by);
/* The field of a column that the list may lack: "" then. */
const char *counted_field(const struct counted *list, const struct counted_row *row,
                          enum counted_column column);
/* Field i of a key. */
const char *counted_key_field(const struct names *keys, size_t key, size_t i);
/* Byte order of two keys, field by field. */
int counted_compare_keys(const struct names *keys, size_t a, size_t b);
void counted_free(struct counted *list);

#endif
