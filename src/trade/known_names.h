/*
 * Known names: the parts and colors that offers, stock or name rules know, and those of a list that
 * none of them does, as name rules ready to complete.
 *
 * Owns the names of the files (any table with a column part or color, canonical), with those that
 * name rules give as they stand. Letter case counts, as it does when lots are matched. Color `any`
 * is always known, and never near to another. Faults of a file are told and exit.
 */
#ifndef LOTPIPE_KNOWN_NAMES_H
#define LOTPIPE_KNOWN_NAMES_H

#include "table/output.h"
#include "trade/name_rules.h"

#include <stdbool.h>
#include <stddef.h>

struct known_names;

/* Reads the files; the rules must outlive the result. */
struct known_names *known_names_read(const char *const *path, size_t count,
                                     struct name_rules *rules);
void known_names_free(struct known_names *known); /* NULL is fine */

/* Is the value known? column is COLUMN_PART or COLUMN_COLOR; file and line are the row's. */
bool known_names_has(struct known_names *known, enum list_column column, const char *value,
                     const char *file, size_t line);
/* The same for files and names of rules alone, letter case (ASCII) aside. */
bool known_names_has_fold(const struct known_names *known, enum list_column column,
                          const char *value);
/* Notes a value of a row, if it is not known and not empty. */
void known_names_note(struct known_names *known, enum list_column column, const char *value,
                      const char *file, size_t line);
/* How many different values were noted. */
size_t known_names_unknown(const struct known_names *known);
/* Writes what was noted as `column,pattern,name` with the three nearest known names, parts first,
 * in order of appearance; the names are written as those of rules are, "$" as "$$". Of names as
 * near as each other the first in byte order is first. */
void known_names_write(const struct known_names *known, struct sheet *sheet);

#endif
