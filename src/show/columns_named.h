/*
 * The columns of a table that an option names, such as --columns part,color. A name that is empty,
 * or named twice, is a usage error; one that the table lacks is a fault of the table.
 */
#ifndef LOTPIPE_COLUMNS_NAMED_H
#define LOTPIPE_COLUMNS_NAMED_H

#include "table/table.h"

/* In the order of the list (NULL: none); the caller frees them. NO_COLUMN stands for one that the
 * table lacks. example: a list as it could be, for the message. */
size_t *columns_named(struct table *table, struct arena *arena, const char *option,
                      const char *list, const char *example, size_t *count);

#endif
