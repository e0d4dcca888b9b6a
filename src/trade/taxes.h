/*
 * Reading the taxes of an order from a field: percent, several of them as `5.3+0.7`.
 */
#ifndef LOTPIPE_TAXES_H
#define LOTPIPE_TAXES_H

#include "table/table.h"
#include "trade/landed.h"

/* Empty: none. False, a fault told, where the field is not right. */
bool taxes_field(struct table *table, const struct row *row, size_t column, struct taxes *out);
/* Their sum, micro percent. */
int64_t taxes_sum(const struct taxes *taxes);
/* Total order: by each percent in turn. */
int taxes_compare(const struct taxes *a, const struct taxes *b);

#endif
