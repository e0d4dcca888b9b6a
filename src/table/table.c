#include "table/table.h"

#include "base/file.h"
#include "base/opts.h"
#include "table/encoding.h"

#include <csv.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A few bytes where the reading itself is tested. */
#ifndef TABLE_WINDOW
#define TABLE_WINDOW (256 * 1024)
#endif

enum { FIELD_BLOCK = 4096, WINDOW = TABLE_WINDOW, HEADERS_TOLD = 30 };

#define MORE_NEEDED SIZE_MAX

/* A row that was given. */
struct made_row {
	struct row row;
	const char *why;
};

struct table {
	const char *name;
	struct faults faults;
	struct arena arena;
	int fd;            /* -1: read to the end */
	size_t size;       /* of the file, as far as it is known beforehand */
	struct text bytes; /* of the file, as UTF-8, from the row in hand on */
	size_t row_start;  /* in bytes: where the row in hand starts */
	size_t at;         /* in bytes: what is not yet given to the parser */
	size_t checked;    /* in bytes: UTF-8 without NUL so far */
	bool unclean;      /* some byte is no such text: look at every field */
	bool has_cr;       /* some line may end in CR */
	size_t line;       /* physical line of at */
	struct csv_parser parser;
	unsigned char delimiter;
	bool ended;
	const char *stray; /* what is wrong with the quotes of the row, or NULL */
	/* The row being put together: text of all fields, and where each starts. */
	struct text fields;
	size_t *start;
	size_t count, room;
	bool complete;
	char **field; /* pointers into fields, once it is complete */
	size_t field_room;
	char **header, **header_as_read;
	size_t columns, header_line;
	bool is_made;
	struct made_row *made; /* owned */
	size_t made_count, made_room, made_at;
};

/* ---- options ---- */

static char
delimiter_named(const char *value)
{
	if (strcmp(value, "tab") == 0)
		return '\t';
	if (strlen(value) != 1 || (unsigned char)value[0] >= 0x80 ||
	    strchr("\"\r\n", value[0]) != NULL)
		opts_usage("a delimiter is one byte of ASCII and no quote, or \"tab\"");
	return value[0];
}

bool
table_option(struct table_form *form, int key, const char *value)
{
	switch (key) {
	case 'D':
		form->delimiter = delimiter_named(value);
		return true;
	case OPT_ENCODING:
		form->encoding = value;
		return true;
	default:
		return false;
	}
}

static void
close_file(struct table *table)
{
	if (table->fd > STDIN_FILENO)
		file_close(table->fd);
	table->fd = -1;
}

/* Reads on: at least a window, or as much again as there is, so that a long row costs no more
 * than twice its length. What lies before the row in hand is let go. */
static void
read_on(struct table *table)
{
	struct text *bytes = &table->bytes;
	size_t used = table->row_start, want;

	if (used > 0) {
		memmove(bytes->bytes, bytes->bytes + used, bytes->length - used);
		bytes->length -= used;
		table->at -= used;
		table->checked -= used;
		table->row_start = 0;
	}
	want = bytes->length > WINDOW ? bytes->length : WINDOW;
	text_reserve(bytes, want);
	while (want > 0 && table->fd >= 0) {
		ssize_t got = file_read(table->fd, bytes->bytes + bytes->length, want);

		if (got < 0)
			die_errno("%s", table->name);
		if (got == 0)
			close_file(table);
		bytes->length += (size_t)got;
		want -= (size_t)got;
	}
	bytes->bytes[bytes->length] = '\0';
}

/* May the bytes be the start of a sequence that was cut? No line ends within one. */
static bool
waits_for_more(const struct table *table, const char *bytes, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if ((unsigned char)bytes[i] < 0x80)
			return false;
	return table->fd >= 0 && length < 4;
}

/* Checks what was read last: a sequence cut by its end waits for more. */
static void
check_bytes(struct table *table)
{
	const char *from = table->bytes.bytes + table->checked;
	size_t length = table->bytes.length - table->checked;
	size_t bad = table->unclean ? length : text_utf8_bad(from, length);

	table->has_cr = table->has_cr || memchr(from, '\r', length) != NULL;
	if (memchr(from, '\0', length) != NULL ||
	    (bad < length && !waits_for_more(table, from + bad, length - bad)))
		table->unclean = true;
	table->checked += table->unclean ? length : bad;
}

static bool
starts_as_utf16(const struct text *bytes)
{
	return bytes->length >= 2 && (memcmp(bytes->bytes, "\xFF\xFE", 2) == 0 ||
	                              memcmp(bytes->bytes, "\xFE\xFF", 2) == 0);
}

/* Opens the file and reads its first window, or all of it where it is not UTF-8. */
static void
load(struct table *table, const char *path, const char *encoding)
{
	struct stat status;

	table->fd = STDIN_FILENO;
	if (strcmp(path, "-") != 0) {
		table->fd = file_open(path, O_RDONLY | O_CLOEXEC, 0);
		if (table->fd < 0)
			die_errno("%s", table->name);
	}
	if (fstat(table->fd, &status) == 0 && S_ISREG(status.st_mode) && status.st_size > 0)
		table->size = (size_t)status.st_size;
	read_on(table);
	while (table->fd >= 0 && (encoding != NULL || starts_as_utf16(&table->bytes)))
		read_on(table);
	encoding_to_utf8(&table->bytes, encoding, table->name);
	check_bytes(table);
}

/* A "sep=;" first line, as spreadsheets write it: takes it off and returns the delimiter. */
static char
take_separator_line(struct table *table)
{
	const char *s = table->bytes.bytes;
	char delimiter;

	if (table->bytes.length < 5 || strncmp(s, "sep=", 4) != 0)
		return 0;
	delimiter = s[4];
	if ((unsigned char)delimiter >= 0x80 || strchr("\"\r\n", delimiter) != NULL ||
	    strchr("\r\n", s[5]) == NULL)
		return 0;
	table->at = 5;
	if (s[table->at] == '\r')
		table->at++;
	if (s[table->at] == '\n')
		table->at++;
	table->line = 2;
	return delimiter;
}

/* The delimiter that the header line holds most of, outside quotes; comma where it holds none. */
static char
detect_delimiter(struct table *table)
{
	static const char candidates[] = ",;\t|";
	size_t seen[sizeof candidates - 1] = {0}, best = 0;
	const char *s = table->bytes.bytes + table->at;
	bool quoted = false, any = false;

	for (; *s != '\0'; s++) {
		const char *found;

		if (*s == '"')
			quoted = !quoted;
		if (!quoted && (*s == '\n' || *s == '\r')) {
			if (any)
				break;
			continue;
		}
		any = true;
		found = quoted ? NULL : strchr(candidates, *s);
		if (found != NULL)
			seen[found - candidates]++;
	}
	if (*s == '\0' && table->fd >= 0) { /* a header longer than the window */
		read_on(table);
		check_bytes(table);
		return detect_delimiter(table);
	}
	for (size_t i = 1; i < sizeof candidates - 1; i++)
		if (seen[i] > seen[best])
			best = i;
	return candidates[best];
}

static int
never_blank(unsigned char c)
{
	(void)c;
	return 0;
}

static void
add_field(struct table *table, const char *bytes, size_t length)
{
	struct text *fields = &table->fields;

	MEM_ROOM(table->start, table->count, table->room);
	table->start[table->count++] = fields->length;
	if (fields->room - fields->length <= length + 1)
		text_reserve(fields, fields->room + length + 64);
	if (length > 0)
		memcpy(fields->bytes + fields->length, bytes, length);
	fields->bytes[fields->length + length] = '\0';
	fields->length += length + 1; /* past the NUL that every text ends in */
}

static void
on_field(void *bytes, size_t length, void *data)
{
	add_field(data, bytes, length);
}

static void
on_row(int c, void *data)
{
	struct table *table = data;

	(void)c;
	table->complete = true;
}

/* The end of the physical line that starts at from: past its LF, CRLF or CR; MORE_NEEDED
 * where the bytes end before one that is sure, and the file does not. */
static size_t
line_end(const struct table *table, size_t from)
{
	const char *start = table->bytes.bytes + from;
	size_t left = table->bytes.length - from;
	const char *lf = memchr(start, '\n', left);
	const char *cr =
	    table->has_cr ? memchr(start, '\r', lf ? (size_t)(lf - start) : left) : NULL;
	bool more = table->fd >= 0;

	if (cr != NULL && cr + 1 == lf)
		cr = NULL;
	if (cr != NULL && (!more || cr + 1 < start + left))
		return from + (size_t)(cr - start) + 1;
	if (lf != NULL)
		return from + (size_t)(lf - start) + 1;
	return more ? MORE_NEEDED : table->bytes.length;
}

static void
start_parser(struct table *table)
{
	csv_free(&table->parser);
	if (csv_init(&table->parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
		die("out of memory");
	csv_set_blk_size(&table->parser, FIELD_BLOCK);
	csv_set_space_func(&table->parser, never_blank);
	csv_set_delim(&table->parser, table->delimiter);
}

/* After a stray quote no one knows where its row ends. The row becomes its first physical line,
 * as one field, and reading goes on behind that line: the quote is most often a slip there. */
static void
stop_at_quote(struct table *table, size_t row_line)
{
	size_t row_start = table->row_start, end = line_end(table, row_start);

	if (csv_error(&table->parser) == CSV_ENOMEM)
		mem_out();
	if (csv_error(&table->parser) != CSV_EPARSE)
		die("%s:%zu: %s", table->name, row_line, csv_strerror(csv_error(&table->parser)));
	table->stray = table->ended
	                   ? "quoted field that is never closed: a quote inside a field is "
	                     "doubled, and the field quoted"
	                   : "stray quote: a quoted field ends at its closing quote, and a "
	                     "quote inside is doubled";
	start_parser(table);
	table->ended = false;
	table->at = end;
	table->line = row_line + 1;
	while (end > row_start && strchr("\r\n", table->bytes.bytes[end - 1]) != NULL &&
	       table->bytes.bytes[end - 1] != '\0')
		end--;
	table->fields.length = 0;
	table->count = 0;
	on_field(table->bytes.bytes + row_start, end - row_start, table);
	table->complete = true;
}

/* Points field[] at the texts of the row and pads it to the header's count. */
static void
point_fields(struct table *table, size_t least)
{
	size_t count = table->count > least ? table->count : least;

	if (count > table->field_room) {
		table->field_room = count;
		table->field = mem_resize(table->field, count, sizeof *table->field);
	}
	for (size_t i = 0; i < table->count; i++)
		table->field[i] = table->fields.bytes + table->start[i];
	for (size_t i = table->count; i < count; i++)
		table->field[i] = table->fields.bytes + table->fields.length;
}

/* Length of field i of the row, NUL bytes in it counted. */
static size_t
field_length(const struct table *table, size_t i)
{
	size_t next = i + 1 < table->count ? table->start[i + 1] : table->fields.length;

	return next - table->start[i] - 1;
}

static bool
all_empty(const struct table *table)
{
	return table->fields.length == table->count; /* nothing but the NULs between them */
}

/* The length of the next physical line, 0 at the end of the file. */
static size_t
next_line(struct table *table)
{
	size_t end;

	while ((end = line_end(table, table->at)) == MORE_NEEDED) {
		read_on(table);
		check_bytes(table);
	}
	return end - table->at;
}

/* By how much libcsv's buffer of a field grows at a time: by as much as the row has so far, so that
 * a long field is not copied time and again. */
static size_t
field_room(const struct table *table, size_t length)
{
	size_t row = table->at - table->row_start + length;

	return row > FIELD_BLOCK ? row : FIELD_BLOCK;
}

/* Feeds the parser line by line until it has a row, or the file ends; sets *line. */
static void
parse_row(struct table *table, size_t *line)
{
	table->row_start = table->at;
	*line = table->line;
	while (!table->complete && !table->ended) {
		size_t length = next_line(table);
		const char *from = table->bytes.bytes + table->at;

		if (length == 0) {
			table->ended = true;
			if (csv_fini(&table->parser, on_field, on_row, table) != 0)
				stop_at_quote(table, *line);
			return;
		}
		csv_set_blk_size(&table->parser, field_room(table, length));
		if (csv_parse(&table->parser, from, length, on_field, on_row, table) != length) {
			stop_at_quote(table, *line);
			return;
		}
		if (!table->complete && (*from == '\n' || *from == '\r') &&
		    table->row_start == table->at) { /* a blank line before the row */
			table->row_start += length;
			++*line;
		}
		table->at += length;
		table->line++;
	}
}

/* Reads one row that is not blank into fields and start; *line is where it starts. */
static bool
read_row(struct table *table, size_t *line)
{
	do {
		table->fields.length = 0;
		table->count = 0;
		table->complete = false;
		table->stray = NULL;
		parse_row(table, line);
		if (!table->complete)
			return false;
	} while (all_empty(table));
	text_addc(&table->fields, '\0');
	table->fields.length--;
	return true;
}

static void
read_header(struct table *table)
{
	bool read = read_row(table, &table->header_line);

	if (!read || table->stray != NULL) {
		fault(&table->faults, read ? table->header_line : 0, "%s",
		      read ? table->stray : "no header line: the first line names the columns");
		return;
	}
	if (table->count > TABLE_COLUMNS_MOST)
		die("%s:%zu: the header names %zu columns: %d are the most", table->name,
		    table->header_line, table->count, TABLE_COLUMNS_MOST);
	table->columns = table->count;
	table->header = mem_alloc(table->columns * sizeof *table->header);
	table->header_as_read = mem_alloc(table->columns * sizeof *table->header_as_read);
	for (size_t i = 0; i < table->columns; i++) {
		const char *field = table->fields.bytes + table->start[i];
		size_t length = field_length(table, i), bad = text_utf8_bad(field, length);

		if (bad < length)
			fault(&table->faults, table->header_line,
			      "header of column %zu is not UTF-8 at byte %zu: name its --encoding, "
			      "such as WINDOWS-1252",
			      i + 1, bad + 1);
		if (memchr(field, '\0', length) != NULL)
			fault(&table->faults, table->header_line,
			      "NUL byte in the header of column %zu: this is no text file", i + 1);
		table->header[i] = arena_copy(&table->arena, field, strlen(field));
		table->header_as_read[i] = arena_copy(&table->arena, field, strlen(field));
		text_fold_blanks(table->header[i]);
	}
}

struct table *
table_open(const char *path, const struct table_form *form)
{
	static const struct table_form nothing_said;
	struct table *table = mem_zero(1, sizeof *table);
	char said;

	if (form == NULL)
		form = &nothing_said;
	table->name = strcmp(path, "-") == 0 ? "<stdin>" : text_show_all(&table->arena, path);
	table->faults.file = table->name;
	table->faults.silent = form->silent;
	table->line = 1;
	load(table, path, form->encoding);
	said = take_separator_line(table);
	table->delimiter = (unsigned char)(form->delimiter ? form->delimiter
	                                   : said          ? said
	                                                   : detect_delimiter(table));
	start_parser(table);
	read_header(table);
	return table;
}

struct table *
table_make(const char *name, size_t header_line, const char *const *header, size_t columns)
{
	struct table *table = mem_zero(1, sizeof *table);

	table->name = name;
	table->faults.file = name;
	table->fd = -1;
	table->is_made = true;
	table->header_line = header_line;
	table->columns = columns;
	table->header = mem_alloc(columns * sizeof *table->header);
	table->header_as_read = mem_alloc(columns * sizeof *table->header_as_read);
	for (size_t i = 0; i < columns; i++) {
		table->header_as_read[i] = arena_copy(&table->arena, header[i], strlen(header[i]));
		table->header[i] = arena_copy(&table->arena, header[i], strlen(header[i]));
		text_fold_blanks(table->header[i]);
	}
	return table;
}

void
table_make_row(struct table *table, const struct row *row, const char *why)
{
	MEM_ROOM(table->made, table->made_count, table->made_room);
	table->made[table->made_count++] = (struct made_row){*row, why};
}

/* The next row that was given, padded to the header's count. */
static bool
next_made(struct table *table, struct row *row, const char **why)
{
	const struct made_row *made;

	if (table->made_at == table->made_count)
		return false;
	made = &table->made[table->made_at++];
	table->fields.length = 0;
	table->count = 0;
	for (size_t i = 0; i < table->columns; i++) {
		const char *field = i < made->row.given ? made->row.field[i] : "";

		add_field(table, field, strlen(field));
	}
	point_fields(table, table->columns);
	*row = made->row;
	row->field = table->field;
	row->count = row->given = table->columns;
	*why = made->why;
	return true;
}

void
table_close(struct table *table)
{
	if (table == NULL)
		return;
	close_file(table);
	csv_free(&table->parser);
	text_free(&table->bytes);
	text_free(&table->fields);
	free(table->start);
	free(table->field);
	free(table->header);
	free(table->header_as_read);
	free(table->made);
	arena_free(&table->arena);
	free(table);
}

const char *
table_name(const struct table *table)
{
	return table->name;
}

size_t
table_bytes(const struct table *table)
{
	return table->size;
}

size_t
table_columns(const struct table *table)
{
	return table->columns;
}

char *const *
table_header(const struct table *table)
{
	return table->header;
}

char *const *
table_header_as_read(const struct table *table)
{
	return table->header_as_read;
}

size_t
table_header_line(const struct table *table)
{
	return table->header_line;
}

struct faults *
table_faults(struct table *table)
{
	return &table->faults;
}

struct arena *
table_arena(struct table *table)
{
	return &table->arena;
}

/* Makes bytes that are no text "?", so that the field can be shown and written. */
static void
replace_bad_bytes(char *field, size_t length)
{
	size_t at = 0;

	for (size_t i = 0; i < length; i++)
		if (field[i] == '\0')
			field[i] = '?';
	while ((at += text_utf8_bad(field + at, length - at)) < length)
		field[at] = '?';
}

/* What is wrong with the bytes of field i, or NULL. */
static const char *
field_fault(struct table *table, size_t i)
{
	char *field = table->fields.bytes + table->start[i], buffer[128];
	size_t length = field_length(table, i), bad = text_utf8_bad(field, length);
	const char *nul = memchr(field, '\0', length), *kept;
	struct text why = {0};

	if (nul == NULL && bad == length)
		return NULL;
	snprintf(buffer, sizeof buffer, "column %zu", i + 1);
	text_adds(&why, buffer);
	if (i < table->columns) {
		text_adds(&why, " (");
		text_adds(&why, text_show(&table->arena, table->header[i]));
		text_adds(&why, ")");
	}
	if (nul != NULL)
		snprintf(buffer, sizeof buffer,
		         " holds a NUL byte at byte %zu: this is no text file",
		         (size_t)(nul - field) + 1);
	else
		snprintf(buffer, sizeof buffer,
		         " is not UTF-8 at byte %zu of the field: name its --encoding, such as "
		         "WINDOWS-1252",
		         bad + 1);
	text_adds(&why, buffer);
	replace_bad_bytes(field, length);
	kept = arena_copy(&table->arena, why.bytes, why.length);
	text_free(&why);
	return kept;
}

/* What is wrong with the row's shape or bytes, or NULL. */
static const char *
row_fault(struct table *table)
{
	const char *why = table->stray;
	char buffer[128];

	for (size_t i = 0; table->unclean && i < table->count; i++) {
		const char *here = field_fault(table, i);

		why = why ? why : here;
	}
	for (size_t i = table->columns; why == NULL && i < table->count; i++) {
		if (table->fields.bytes[table->start[i]] == '\0')
			continue;
		snprintf(buffer, sizeof buffer,
		         "%zu fields, but the header names %zu: quote a field that holds the "
		         "delimiter",
		         table->count, table->columns);
		why = arena_copy(&table->arena, buffer, strlen(buffer));
	}
	return why;
}

bool
table_next_any(struct table *table, struct row *row, const char **why)
{
	if (table->is_made)
		return next_made(table, row, why);
	if (table->header == NULL || !read_row(table, &row->line))
		return false;
	*why = row_fault(table);
	point_fields(table, table->columns);
	row->field = table->field;
	row->count = table->columns;
	row->given = table->count;
	row->text = NULL;
	return true;
}

bool
table_next(struct table *table, struct row *row)
{
	const char *why;

	while (table_next_any(table, row, &why)) {
		if (why == NULL)
			return true;
		fault(&table->faults, row->line, "%s", why);
	}
	return false;
}

size_t
table_column(struct table *table, const char *name)
{
	size_t found = NO_COLUMN;

	for (size_t i = 0; i < table->columns; i++) {
		if (!text_equal_fold(table->header[i], name))
			continue;
		if (found != NO_COLUMN) {
			fault(&table->faults, table->header_line,
			      "two columns are named \"%s\": rename or remove one",
			      text_show(&table->arena, name));
			return found;
		}
		found = i;
	}
	return found;
}

const char *
table_headers_seen(struct table *table)
{
	struct text list = {0};
	const char *seen;
	char more[40];

	for (size_t i = 0; i < table->columns && i < HEADERS_TOLD; i++) {
		if (i > 0)
			text_adds(&list, ", ");
		text_adds(&list, text_show(&table->arena, table->header[i]));
	}
	if (table->columns > HEADERS_TOLD) {
		snprintf(more, sizeof more, " and %zu more", table->columns - HEADERS_TOLD);
		text_adds(&list, more);
	}
	seen = arena_copy(&table->arena, list.bytes ? list.bytes : "", list.length);
	text_free(&list);
	return seen;
}

size_t
table_need_column(struct table *table, const char *name)
{
	size_t column = table_column(table, name);

	if (column == NO_COLUMN && table->header != NULL)
		fault(&table->faults, table->header_line, "no column \"%s\": there are %s",
		      text_show(&table->arena, name), table_headers_seen(table));
	return column;
}

const char *
row_field(const struct row *row, size_t column)
{
	return column == NO_COLUMN ? "" : row->field[column];
}

void
table_end(struct table *table)
{
	faults_end(&table->faults);
}
