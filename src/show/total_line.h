/*
 * Total lines: rows that sum up others. A row is one if the first of its fields that is not empty,
 * or that in a column seller, scenario or model, is TOTAL, letter case aside.
 */
#ifndef LOTPIPE_SHOW_TOTAL_LINE_H
#define LOTPIPE_SHOW_TOTAL_LINE_H

#include <stdbool.h>
#include <stddef.h>

/* header and field: as many as columns says. */
bool total_line_is(char *const *header, const char *const *field, size_t columns);

#endif
