/*
 * Pieces added up by some fields, such as part, color and condition: what came as stock, what is
 * still needed. Whole pieces; written in byte order of the fields, those of no pieces left out.
 */
#ifndef LOTPIPE_TALLY_H
#define LOTPIPE_TALLY_H

#include "table/output.h"

struct tally {
	const char *const *column; /* borrowed: the fields' names, then "qty" is put at qty_at */
	size_t columns, qty_at;
	struct names keys; /* fields that end in NUL each */
	int64_t *qty;      /* by key; owned */
	size_t room;
};

/* Adds pieces to those of the same fields, as many as there are columns. */
void tally_add(struct tally *tally, const char *const *field, int64_t qty);
/* Header and rows. A sum past QTY_MOST is told as one of that file, EXIT_TROUBLE. */
void tally_write(struct sheet *sheet, const struct tally *tally, const char *file);
void tally_free(struct tally *tally);

#endif
