/*
 * Weights: `part,grams`, the weight of one piece where a row gives none. Grams are micro (10^-6).
 */
#ifndef LOTPIPE_WEIGHTS_H
#define LOTPIPE_WEIGHTS_H

#include "table/table.h"

#include <stdint.h>

struct weights {
	struct names parts;
	int64_t *grams; /* by part number; owned */
	size_t room;
};

/* Reads a whole file and closes it; faults exit (a part twice with different grams is one). */
void weights_read(struct weights *weights, struct table *table);
/* Grams of a piece, micro, or -1. */
int64_t weights_find(const struct weights *weights, const char *part);
void weights_free(struct weights *weights);

#endif
