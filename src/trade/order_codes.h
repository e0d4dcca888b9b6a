/*
 * Order codes: a code that stands for a part and a color together. A file `code,part,color`,
 * blanks folded; a part or color left empty says nothing of it.
 */
#ifndef LOTPIPE_ORDER_CODES_H
#define LOTPIPE_ORDER_CODES_H

#include <stdbool.h>

struct order_codes;

/* Reads a whole file; faults exit (a code twice that stands for two things, an empty code). */
struct order_codes *order_codes_read(const char *path);
void order_codes_free(struct order_codes *codes); /* NULL is fine */

/* What a code stands for; texts live as long as the codes do. */
bool order_codes_find(const struct order_codes *codes, const char *code, const char **part,
                      const char **color);

#endif
