/*
 * A view: a table arranged for eyes, before any form is given to it. Which columns in which order,
 * which rows are totals, which columns are of numbers, and with a group the blocks and their sums.
 *
 * Owns copies of all fields, as read. A row is a total if the first of its fields that is not
 * empty, or that in a column seller, scenario or model, is TOTAL, letter case aside. A column is of
 * numbers if most of its fields that are not empty are (number.h); the columns that this family of
 * programs names things in (part, lot, model, ...) never are.
 *
 * Sums are exact, over the rows of a block that are no totals. Without a choice they are those of
 * the columns of this family of programs that can be added up: pieces, lots and money. Sums of
 * money are made where its currency is one, as the table's column currency (for home money
 * home_currency) says. A sum that fails, because a field is no number or 128 bits do not hold it,
 * is told, left empty, and makes the view incomplete.
 */
#ifndef LOTPIPE_SHOW_VIEW_H
#define LOTPIPE_SHOW_VIEW_H

#include "table/table.h"

#include <stdbool.h>
#include <stddef.h>

/* Lists of names as options have them; NULL: nothing was said. */
struct view_choice {
	const char *columns, *group, *sums;
};

struct view_column {
	const char *name; /* as the header has it, blanks folded */
	bool number;
	bool named; /* this family of programs names things in it */
};

struct view_row {
	const char **field; /* of the view's columns */
	bool total;
};

struct view_block {
	const char *name; /* the group's value; NULL: the rows that are totals of all */
	struct view_row **row;
	size_t count, room;
};

struct view {
	struct view_column *column; /* in the arena, as all here that is not said to be owned */
	size_t columns;
	const char *group;        /* header of the column; NULL: one block, without a name */
	struct view_block *block; /* owned, and its rows */
	size_t blocks, block_room;
	size_t rows; /* read */
	bool incomplete;
	struct arena arena;
};

/* Reads a whole table and closes it; faults exit. */
void view_read(struct view *view, struct table *table, const struct view_choice *choice);
void view_free(struct view *view);

#endif
