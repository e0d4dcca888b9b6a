/*
 * Lines: a text file as its physical lines, LF, CRLF or CR at their ends; UTF-8, UTF-16 by its
 * byte-order mark, or an encoding that is named. For lists that are no tables.
 *
 * A file that cannot be read is told, EXIT_TROUBLE. Bytes that are no text are wrong with their
 * line alone, and become "?".
 */
#ifndef LOTPIPE_LINES_H
#define LOTPIPE_LINES_H

#include "base/text.h"

struct line {
	char *text;      /* in the arena that was given */
	const char *why; /* what is wrong with its bytes, or NULL */
};

struct lines {
	const char *name;  /* for messages; "<stdin>" */
	struct line *line; /* that of number i + 1 is line[i]; owned */
	size_t count, room;
};

/* Reads a whole file ("-": stdin). encoding NULL: nothing was said of it. arena keeps the texts. */
void lines_read(struct lines *lines, const char *path, const char *encoding, struct arena *arena);
void lines_free(struct lines *lines);

#endif
