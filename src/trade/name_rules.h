/*
 * Name rules: one name for what people write in many ways. A file `column,pattern,name`; a rule
 * whose PCRE2 pattern matches a field of its column whole replaces it by its name, $1 standing for
 * captures. Rules run in file order, each on the result of those before.
 *
 * Owns the rules and what they made of each different text so far (a list has few different
 * names and many rows). A pattern that hits its match limit is trouble: told with rule, value and
 * the row's place, EXIT_TROUBLE.
 */
#ifndef LOTPIPE_NAME_RULES_H
#define LOTPIPE_NAME_RULES_H

#include "trade/header_words.h"

#include <stddef.h>

struct name_rules;

/* Reads whole files, one after the other; faults exit. A rule for part or color without a name does
 * nothing: it has still to be given one. */
struct name_rules *name_rules_read(const char *const *path, size_t count);
void name_rules_free(struct name_rules *rules);

/* Is there a rule for the column? */
bool name_rules_has(const struct name_rules *rules, enum list_column column);
/* Does a rule say that the text is a name: is it the name that a rule gives, without captures, or
 * does the pattern of a rule match it whose name is $0, which leaves it as it is? file and line as
 * below. */
bool name_rules_knows(struct name_rules *rules, enum list_column column, const char *text,
                      const char *file, size_t line);
/* Adds the names of the column that rules give without captures. */
void name_rules_names(const struct name_rules *rules, enum list_column column, struct names *names);
/* What the rules make of a text; lives as long as they do. file and line are the row's. */
const char *name_rules_apply(struct name_rules *rules, enum list_column column, const char *text,
                             const char *file, size_t line);

#endif
