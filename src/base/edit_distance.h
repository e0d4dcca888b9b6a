/*
 * Edit distance of names: the least number of characters to insert, delete or replace that makes
 * one text of the other. Characters are Unicode code points; letter case counts.
 *
 * Source: V. I. Levenshtein, Binary codes capable of correcting deletions, insertions, and
 * reversals, Soviet Physics Doklady 10 (1966); by rows, as R. A. Wagner and M. J. Fischer, The
 * string-to-string correction problem, Journal of the ACM 21 (1974).
 */
#ifndef LOTPIPE_EDIT_DISTANCE_H
#define LOTPIPE_EDIT_DISTANCE_H

#include "base/mem.h"

#include <stddef.h>
#include <stdint.h>

/* A text as code points. */
struct code_points {
	uint32_t *point; /* in an arena */
	size_t count;
};

/* The code points of valid UTF-8. */
struct code_points code_points_of(const char *text, struct arena *arena);

/* Room to work in, kept from one call to the next. Zero-initialise. */
struct edit_work {
	size_t *row; /* owned */
	size_t room;
};

/* The distance, or most + 1 where it is more than most (which must be below SIZE_MAX). */
size_t edit_distance(const struct code_points *a, const struct code_points *b, size_t most,
                     struct edit_work *work);
void edit_work_free(struct edit_work *work);

#endif
