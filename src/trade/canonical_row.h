/*
 * A row of somebody's list in canonical form: names trimmed, folded and renamed by the name
 * rules, part and color from the order code, numbers without units, signs and grouping; what is
 * not known, and remarks, as they are.
 *
 * Owns the cells: one for each column of the output, which are the columns of the list in their
 * places, and part and color before the order code where the list has none. Of several lists that
 * are read as one they are the columns of the first, then those that only later ones have, known
 * columns by what they are, others by their header. Values live until the next row is read. What
 * is wrong with a row is text, for a diagnostic or for --rejects.
 */
#ifndef LOTPIPE_CANONICAL_ROW_H
#define LOTPIPE_CANONICAL_ROW_H

#include "table/table.h"
#include "trade/list_header.h"
#include "trade/loose_number.h"
#include "trade/name_rules.h"
#include "trade/order_codes.h"

#include <stdbool.h>
#include <stdint.h>

struct cell {
	const char *header;      /* canonical, or as the list has it */
	enum list_column column; /* LIST_COLUMNS: not known, passes through */
	enum field_kind holds;
	bool renamed;     /* there are name rules for the column */
	size_t at;        /* in the list that is read; NO_COLUMN: it has none */
	size_t *ats;      /* by list; in the arena */
	const char *seen; /* the header, trimmed, where it is first met */
	size_t from;      /* that list */
	const char *value;
	const char *why; /* what is wrong with the value, or NULL */
	int64_t pieces;  /* of a column of pieces; 0 where it is empty */
	struct text folded, cleaned;
};

/* How rows are read. */
struct canon {
	enum list_kind kind;
	enum decimal_mark mark;
	struct name_rules *rules;        /* borrowed */
	const struct order_codes *codes; /* borrowed; NULL: none */
	const char *model;               /* that rows get; borrowed; NULL: as they say */
};

struct canonical_row {
	struct canon canon;
	struct cell *cell; /* owned */
	size_t cells;
	size_t cell_of[LIST_COLUMNS];        /* NO_COLUMN: the list has no such column */
	char price_code[CURRENCY_CODE_SIZE]; /* the currency that the price names, or "" */
	bool part_spoiled;                   /* by a spreadsheet, spoiled.h */
	struct arena arena;
};

/* Lays out the cells for lists, each with its header. A column for the model that rows get comes
 * first where no list has one. A column not known that is named like a canonical one taken from
 * elsewhere gets a number behind its name, which is told unless quiet. */
void canonical_row_begin(struct canonical_row *row, const struct canon *canon,
                         struct table *const *list, const struct list_header *header, size_t lists,
                         bool quiet);
/* Rows that are read now are of that list; at first, of the first. */
void canonical_row_turn(struct canonical_row *row, size_t list);
/* Fills the cells from a row of the table, whose own bytes stay as they are. */
void canonical_row_read(struct canonical_row *row, const struct table *table,
                        const struct row *read);
/* Puts the model in, where there is one for all rows; false: the row says another. */
bool canonical_row_set_model(struct canonical_row *row);
/* Adds to why what is wrong with the values, "; " between faults. */
void canonical_row_check(struct canonical_row *row, struct text *why);
/* Adds one fault: `column "value" is wrong`; value NULL: without one. */
void canonical_row_add_why(struct canonical_row *row, struct text *why, const char *column,
                           const char *value, const char *what);
/* "" where the list has no such column. */
const char *canonical_row_value(const struct canonical_row *row, enum list_column column);
void canonical_row_free(struct canonical_row *row);

#endif
