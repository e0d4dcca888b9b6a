/*
 * The need list (and parts list): what a model asks for, row by row.
 *
 * Owns the typed view of a list and its pass-through: columns that are not known stay in their
 * place; known columns that the header lacks are appended, in the order below, when a row uses
 * them. Quantities are whole pieces, 0 to QTY_MOST; penalty, worth (home currency) and grams are
 * micro (10^-6). Faults of the file are told by the table; need_read never returns with any.
 */
#ifndef LOTPIPE_NEED_H
#define LOTPIPE_NEED_H

#include "base/pattern.h"
#include "table/output.h"
#include "table/table.h"
#include "trade/amounts.h"

#include <stdint.h>

enum need_column {
	NEED_LOT,
	NEED_GROUP,
	NEED_MODEL,
	NEED_PART,
	NEED_COLOR,
	NEED_NOT_COLOR,
	NEED_CONDITION,
	NEED_QTY,
	NEED_PENALTY,
	NEED_WORTH,
	NEED_TOGETHER,
	NEED_GRAMS,
	NEED_NOTE,
	NEED_COLUMNS
};

extern const char *const need_column_names[NEED_COLUMNS];

#define ANY_COLOR     "any"
#define ANY_CONDITION "any"

struct need_row {
	const char *text[NEED_COLUMNS]; /* "" where empty; text[NEED_QTY] is stale: qty counts */
	int64_t qty;
	int64_t penalty;           /* micro; 0 where empty */
	int64_t worth;             /* micro, or NOT_GIVEN: a must */
	int64_t grams;             /* micro, or NOT_GIVEN */
	struct pattern *not_color; /* borrowed from the list; NULL where empty */
	const char *const *other;  /* the fields of unknown columns, as many as the list has */
	size_t line;               /* 0: the row was not in the file */
};

struct need {
	const char *file;
	size_t column[NEED_COLUMNS]; /* in the header, or NO_COLUMN */
	const char *const *header;   /* as read */
	size_t headers;
	size_t others;        /* columns that are not known */
	struct need_row *row; /* owned */
	size_t count, room;
	size_t read;               /* rows of the file */
	struct pattern **patterns; /* owned: one per different not_color text */
	struct names pattern_names;
	struct arena arena; /* owns every text of the list */
};

/* Reads a whole list from an open table and closes it. Checks all that one row can show wrong
 * (numbers, patterns, an empty part or color) and that rows of one lot agree in qty, group,
 * model and worth. Rows of quantity 0 are kept. Faults exit. */
struct need *need_read(struct table *table);
/* A list with rows of its own, whose texts and patterns are those of the first, which must outlive
 * it. */
struct need *need_copy(const struct need *need);
void need_free(struct need *need);

/* Appends a copy of a row; its texts must live in the need's arena. */
void need_add(struct need *need, const struct need_row *row);
/* The lot each row belongs to, numbered from 0 in order of first appearance: rows that share a
 * lot name share the number, any other row has one of its own. The caller frees it. */
size_t *need_lot_numbers(const struct need *need, size_t *lots);
/* What a row outside lots is called: part/color, and /condition where one is asked for; a row of
 * a lot by the lot's name. In the arena given. */
const char *need_lot_name(const struct need_row *row, struct arena *arena);
/* Merges rows that became the same: every known column but qty and note equal (group, model and
 * lot included), quantities summed, the first one's place, note and unknown columns kept.
 * Rows that belong to a lot are alternatives: equal ones are one, their qty not summed. A sum
 * past QTY_MOST is told, EXIT_TROUBLE. */
void need_merge(struct need *need);
/* Header and rows to a sheet, rows of quantity 0 too. */
void need_write(struct sheet *sheet, const struct need *need);
/* The same in steps, for who adds columns: the header's fields or a row's, and no end of the row.
 * Columns that are not known and are named in left_out are not written. */
struct need_form {
	bool appended[NEED_COLUMNS]; /* known columns that the header lacks */
	bool *left_out;              /* by place in the header; owned */
};
struct need_form need_form(const struct need *need, const char *const *left_out, size_t count);
void need_form_free(struct need_form *form);
void need_write_header(struct sheet *sheet, const struct need *need, const struct need_form *form);
void need_write_row(struct sheet *sheet, const struct need *need, const struct need_form *form,
                    const struct need_row *row);

bool need_color_is_any(const struct need_row *row);
bool need_condition_is_any(const struct need_row *row); /* blank or "any" */
/* Does a piece of this part, color and condition fit the row? A pattern that hits its limit is
 * told with the row's line, EXIT_TROUBLE. */
bool need_fits(struct need *need, const struct need_row *row, const char *part, const char *color,
               const char *condition);
/* Pieces the list asks for, and lots: rows of one named lot count once, rows of quantity 0 never.
 */
int64_t need_pieces(const struct need *need);
size_t need_lots(const struct need *need);

#endif
