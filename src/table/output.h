/*
 * Output: tables put together in memory, then written all or nothing. What is no regular file (a
 * device, a pipe) is written straight, first. The other side files go to temporaries beside them
 * (temporary.h) and are renamed once all of them are whole; signals wait so long. Then stdout. A
 * file that is replaced keeps its permissions, as with a redirection of the shell, and one that may
 * not be written is not replaced. Any failing write is told, EXIT_TROUBLE.
 * RFC 4180 quoting, comma, LF, UTF-8.
 */
#ifndef LOTPIPE_OUTPUT_H
#define LOTPIPE_OUTPUT_H

#include "base/dec.h"
#include "base/text.h"

#include <stdbool.h>
#include <stdint.h>

/* A table to be written. Zero-initialise. */
struct sheet {
	struct text text;
	size_t fields; /* in the row begun */
	bool headed;   /* the header, which is the first row, is done */
};

/* Makes room for about that many bytes: a matter of speed alone. */
void sheet_reserve(struct sheet *sheet, size_t bytes);
void sheet_field(struct sheet *sheet, const char *string);
/* Several fields in a row, such as a header's. */
void sheet_fields(struct sheet *sheet, const char *const *strings, size_t count);
void sheet_qty(struct sheet *sheet, int64_t qty);
/* Decimals x 10^-scale, trailing zeros off down to least decimals. */
void sheet_decimal(struct sheet *sheet, wide value, unsigned scale, unsigned least);
void sheet_end_row(struct sheet *sheet);
void sheet_free(struct sheet *sheet);

/* The outputs of a run: stdout and the side files. Zero-initialise. */
struct outputs {
	struct side_file *side; /* owned */
	size_t count, room;
};

/* Notes a side file; the sheet must live until outputs_write. path NULL: nothing to do. Two
 * side files of one path are a usage error. */
void outputs_add(struct outputs *outputs, const char *path, const struct sheet *sheet);
/* A file that is read and that no side file noted so far may be: dies where one is. NULL: nothing
 * to do. */
void outputs_spare(const struct outputs *outputs, const char *input);
/* Writes the side files, then stdout; sheet NULL: nothing on stdout. Then what waited is told
 * (err.h). Frees the list. */
void outputs_write(struct outputs *outputs, const struct sheet *standard);

#endif
