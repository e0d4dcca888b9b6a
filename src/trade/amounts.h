/*
 * Reading the numbers of canonical files from a row's fields, faults told with column and value:
 * `file:12: price "abc" is no number: ...`. Values are micro (10^-6) or whole pieces.
 */
#ifndef LOTPIPE_AMOUNTS_H
#define LOTPIPE_AMOUNTS_H

#include "table/table.h"

#include <stdint.h>

enum sign { NOT_NEGATIVE, MAY_BE_NEGATIVE };

/* Each returns false, with a fault told, where the field is not right. An empty field gives
 * `empty` where that is not AMOUNT_REQUIRED. */
#define AMOUNT_REQUIRED INT64_MIN
#define NOT_GIVEN       INT64_C(-1) /* of amounts without sign: the field is empty */
bool amount_micro(struct table *table, const struct row *row, size_t column, enum sign sign,
                  int64_t empty, int64_t *out);
bool amount_qty(struct table *table, const struct row *row, size_t column, int64_t empty,
                int64_t *out);

#endif
