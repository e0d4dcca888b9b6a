/*
 * Equal lots of a need or stock list made one: rows that are equal in every column that tells
 * lots apart (see header_words.h), quantities summed, in order of first appearance; the other
 * columns are the first row's.
 *
 * Rows that share a lot name are alternatives for one another, so that equal ones are one and must
 * agree in pieces. Owns the rows kept. Pieces are whole, a sum 0 to QTY_MOST.
 */
#ifndef LOTPIPE_EQUAL_LOTS_H
#define LOTPIPE_EQUAL_LOTS_H

#include "table/output.h"
#include "trade/canonical_row.h"

/* Zero-initialise. */
struct equal_lots {
	struct names keys; /* a lot's number is that of its key */
	struct text key;
	struct equal_lot *lot; /* owned */
	size_t room;
	struct arena arena;
};

/* Adds a row that was read at that line of a file, whose name must outlive the lots. Returns false,
 * and adds why, where it cannot be one with an equal lot before it. */
bool equal_lots_add(struct equal_lots *lots, struct canonical_row *row, const char *file,
                    size_t line, struct text *why);
/* The lots, in order; row says which cells there are. */
size_t equal_lots_count(const struct equal_lots *lots);
int64_t equal_lots_pieces(const struct equal_lots *lots, size_t lot);
const char *equal_lots_value(const struct equal_lots *lots, size_t lot, size_t cell);
void equal_lots_free(struct equal_lots *lots);

#endif
