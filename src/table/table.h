/*
 * Tables: CSV in, row by row, as RFC 4180 has it and as spreadsheets really write it (over
 * libcsv): LF, CRLF or CR line ends, a byte-order mark, UTF-16, a "sep=;" first line, delimiter
 * comma, semicolon, tab or bar told from the header line, blank lines, a missing last line end.
 *
 * A table is read as it is handed out, row by row; the line of a row is the physical line it
 * starts at. Trouble in the file's shape (a stray quote, a NUL byte, too many fields,
 * bytes that are not UTF-8, no header) is told as a fault of table->faults, the row is skipped
 * and reading goes on; after a stray quote, behind the first physical line of its row.
 */
#ifndef LOTPIPE_TABLE_H
#define LOTPIPE_TABLE_H

#include "base/err.h"
#include "base/text.h"

#include <stdbool.h>
#include <stddef.h>

#define NO_COLUMN ((size_t)-1)

/* As many as the usual spreadsheets have. Short rows are padded to the header, so that without a
 * limit a small file could take any amount of memory. */
enum { TABLE_COLUMNS_MOST = 16384 };

/* What the user said of an input's form. Zero: detect the delimiter, UTF-8 or UTF-16. */
struct table_form {
	char delimiter;       /* 0: detect */
	const char *encoding; /* NULL: UTF-8, or UTF-16 by its mark */
	bool silent;          /* faults are counted, and not told: whose file is it? */
};

/* Takes an option of OPTS_TABLE (base/opts.h); false: it is another. */
bool table_option(struct table_form *form, int key, const char *value);

struct table;

struct row {
	char **field; /* columns of them, each NUL-terminated, valid until the next row is read */
	size_t count; /* always the header's count: short rows are padded */
	size_t given; /* fields the file has in this row; surplus ones follow the count */
	size_t line;  /* physical line where the row starts */
	/* The whole line, of a table that was made out of lines; else NULL. */
	const char *text;
};

/* Opens path ("-": stdin); form NULL: nothing was said of it, all is told from the file. A file
 * that cannot be read is told, EXIT_TROUBLE. A file without a header line is a fault. */
struct table *table_open(const char *path, const struct table_form *form);
void table_close(struct table *table); /* NULL is fine */

/* A table without a file of its own, whose rows are given: out of a text that is no CSV. */
struct table *table_make(const char *name, size_t header_line, const char *const *header,
                         size_t columns);
/* Adds a row. why: what is wrong with it, or NULL; all texts must outlive the table, as name must.
 */
void table_make_row(struct table *table, const struct row *row, const char *why);

const char *table_name(const struct table *table); /* for messages; "<stdin>" */
size_t table_bytes(const struct table *table);     /* of the whole file; 0: not known beforehand */
size_t table_columns(const struct table *table);
char *const *table_header(const struct table *table); /* blanks trimmed and folded */
/* To pass on what is not known, unchanged. */
char *const *table_header_as_read(const struct table *table);
size_t table_header_line(const struct table *table);
struct faults *table_faults(struct table *table);
struct arena *table_arena(struct table *table); /* for text_show in messages */

/* The next row, blank ones skipped; false at the end. */
bool table_next(struct table *table, struct row *row);
/* The next row, also where its shape is wrong: *why is then what is wrong, else NULL. The fields
 * of such a row are what could be read: bytes that are no text as "?", and of a row with a stray
 * quote its first physical line, as one field. */
bool table_next_any(struct table *table, struct row *row, const char **why);

/* The column of that name, letter case and surrounding blanks aside, or NO_COLUMN. Two of the
 * name are a fault. */
size_t table_column(struct table *table, const char *name);
/* The same for a column that must be there: its absence is a fault that lists the headers seen. */
size_t table_need_column(struct table *table, const char *name);
/* The headers as a list for messages: the first of them, and how many more. */
const char *table_headers_seen(struct table *table);

/* The field of an optional column: "" where the column is NO_COLUMN. */
const char *row_field(const struct row *row, size_t column);

/* Tells the faults of the file, if any, and exits then. Call when all was read. */
void table_end(struct table *table);

#endif
