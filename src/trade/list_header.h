/*
 * List headers: which column of somebody's list is which of ours.
 *
 * A map (`column,pattern`) comes first: the first header that the pattern matches whole becomes
 * that column. Then a header that is a canonical name, then the header words. Two headers for
 * one column, and none for one that is needed, are faults that list the headers seen.
 */
#ifndef LOTPIPE_LIST_HEADER_H
#define LOTPIPE_LIST_HEADER_H

#include "table/table.h"
#include "trade/header_words.h"

#include <stddef.h>

struct column_map;

/* Reads a map file; faults exit. path NULL: an empty map. */
struct column_map *column_map_read(const char *path);
void column_map_free(struct column_map *map);

struct list_header {
	size_t at[LIST_COLUMNS]; /* the column of the table, or NO_COLUMN */
	enum list_column *is;    /* by column of the table; LIST_COLUMNS: not known; owned */
};

/* Finds the columns of a table without faults. with_code: a column of order codes is needed, and
 * part and color are not. What is wrong is told as faults of the table. */
void list_header_find(struct list_header *header, struct table *table, enum list_kind kind,
                      bool with_code, const struct column_map *map);
void list_header_free(struct list_header *header);

#endif
