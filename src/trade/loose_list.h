/*
 * Loose lists: lists as people paste them, made a table that reads on as any other.
 *
 * A text is lines and tables in any mix. A table is a Markdown one (GitHub Flavored Markdown, the
 * tables extension: a header, a row of hyphens, rows with "|"), or rows with tabs or bars whose
 * first has header words for part (or order code) and quantity. It ends at a line that is blank or
 * has no such sign. Any other line is read by the own patterns, in order, then as a loose line
 * (loose_line.h). Blank lines and lines without letter and digit are passed over.
 *
 * The table that comes out has the columns of all, in order of appearance, those that the kind of
 * list cannot do without in any case; what no pattern takes are rows with what is wrong with them.
 * Each has its line, and the text of it.
 */
#ifndef LOTPIPE_LOOSE_LIST_H
#define LOTPIPE_LOOSE_LIST_H

#include "trade/list_header.h"
#include "trade/loose_line.h"

/* Patterns of one's own, with named groups. */
struct loose_patterns {
	struct loose_pattern *pattern; /* owned */
	size_t count, room;
	struct arena arena;
};

/* Adds a pattern, of a list of that kind, whose groups are named like its columns. What is wrong
 * with it, in the arena of the patterns, or NULL. */
const char *loose_patterns_add(struct loose_patterns *patterns, const char *text,
                               enum list_kind kind, bool with_code);
void loose_patterns_free(struct loose_patterns *patterns);

/* How a loose list is read. */
struct loose_form {
	const char *encoding; /* NULL: nothing was said */
	enum list_kind kind;
	enum decimal_mark mark;
	bool with_code;
	const struct column_map *map; /* of the headers of tables; borrowed, as all here */
	struct loose_patterns *patterns;
	struct known_names *known;
	struct name_rules *rules;
};

/* Reads the list; fills in its header, which is to be freed. arena keeps the texts and must outlive
 * the table. A table in it without the columns it needs is told, EXIT_TROUBLE, and so is a pattern
 * that hits a limit. */
struct table *loose_list_open(const char *path, const struct loose_form *form,
                              struct list_header *header, struct arena *arena);

#endif
