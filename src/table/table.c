#include "table/table.h"

#include "table/encoding.h"

#include <csv.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FIELD_BLOCK = 4096 };

struct table {
	const char *name;
	struct faults faults;
	struct arena arena;
	struct text bytes; /* the whole file, as UTF-8 */
	size_t at;         /* the first byte not yet given to the parser */
	size_t line;       /* physical line of that byte */
	struct csv_parser parser;
	bool ended, broken;
	/* The row being put together: text of all fields, and where each starts. */
	struct text fields;
	size_t *start;
	size_t count, room;
	bool complete;
	char **field; /* pointers into fields, once it is complete */
	size_t field_room;
	char **header;
	size_t columns, header_line;
};

static void
read_all(struct table *table, int fd)
{
	size_t room = 1 << 16;
	struct text *bytes = &table->bytes;
	ssize_t got;

	for (;;) {
		if (bytes->room - bytes->length < room + 1) {
			bytes->room = bytes->room * 2 + room + 1;
			bytes->bytes = mem_resize(bytes->bytes, bytes->room, 1);
		}
		got = read(fd, bytes->bytes + bytes->length, bytes->room - bytes->length - 1);
		if (got == 0)
			break;
		if (got < 0) {
			if (errno == EINTR)
				continue;
			die_errno("%s", table->name);
		}
		bytes->length += (size_t)got;
	}
	bytes->bytes[bytes->length] = '\0';
}

static void
load(struct table *table, const char *path, const char *encoding)
{
	int fd = STDIN_FILENO;

	if (strcmp(path, "-") != 0) {
		fd = open(path, O_RDONLY | O_CLOEXEC);
		if (fd < 0)
			die_errno("%s", table->name);
	}
	read_all(table, fd);
	if (fd != STDIN_FILENO)
		close(fd);
	encoding_to_utf8(&table->bytes, encoding, table->name);
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
	if (s[5] != '\r' && s[5] != '\n' && s[5] != '\0')
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
detect_delimiter(const struct table *table)
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
on_field(void *bytes, size_t length, void *data)
{
	struct table *table = data;

	MEM_ROOM(table->start, table->count, table->room);
	table->start[table->count++] = table->fields.length;
	text_add(&table->fields, bytes, length);
	text_addc(&table->fields, '\0');
}

static void
on_row(int c, void *data)
{
	struct table *table = data;

	(void)c;
	table->complete = true;
}

/* The end of the physical line that starts at from: past its LF, CRLF or CR. */
static size_t
line_end(const struct table *table, size_t from)
{
	const char *start = table->bytes.bytes + from;
	size_t left = table->bytes.length - from;
	const char *lf = memchr(start, '\n', left);
	const char *cr = memchr(start, '\r', lf ? (size_t)(lf - start) : left);

	if (cr != NULL && cr + 1 == lf)
		return from + (size_t)(lf - start) + 1;
	if (cr != NULL)
		return from + (size_t)(cr - start) + 1;
	return lf ? from + (size_t)(lf - start) + 1 : table->bytes.length;
}

static void
tell_parser_fault(struct table *table, size_t row_line)
{
	table->broken = table->ended = true;
	if (csv_error(&table->parser) == CSV_EPARSE)
		fault(&table->faults, row_line,
		      "stray quote: a quoted field ends at its closing quote, and a quote inside "
		      "is doubled");
	else
		die("%s:%zu: %s", table->name, row_line, csv_strerror(csv_error(&table->parser)));
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

static bool
all_empty(const struct table *table)
{
	for (size_t i = 0; i < table->count; i++)
		if (table->fields.bytes[table->start[i]] != '\0')
			return false;
	return true;
}

/* Reads one row that is not blank into fields and start; *line is where it starts. */
static bool
read_row(struct table *table, size_t *line)
{
	do {
		table->fields.length = 0;
		table->count = 0;
		table->complete = false;
		*line = table->line;
		while (!table->complete && !table->ended) {
			size_t end;

			if (table->at == table->bytes.length) {
				table->ended = true;
				if (csv_fini(&table->parser, on_field, on_row, table) != 0)
					tell_parser_fault(table, *line);
				break;
			}
			end = line_end(table, table->at);
			if (csv_parse(&table->parser, table->bytes.bytes + table->at,
				      end - table->at, on_field, on_row,
				      table) != end - table->at) {
				tell_parser_fault(table, *line);
				break;
			}
			table->at = end;
			table->line++;
			if (!table->complete && table->count == 0 && table->fields.length == 0 &&
			    table->parser.pstate == 0)
				*line = table->line; /* a blank line before the row */
		}
		if (!table->complete || table->broken)
			return false;
	} while (all_empty(table));
	text_addc(&table->fields, '\0');
	table->fields.length--;
	return true;
}

static void
read_header(struct table *table)
{
	if (!read_row(table, &table->header_line)) {
		if (!table->broken)
			fault(&table->faults, 0,
			      "no header line: the first line names the columns");
		return;
	}
	table->columns = table->count;
	table->header = mem_alloc(table->columns * sizeof *table->header);
	for (size_t i = 0; i < table->columns; i++) {
		const char *field = table->fields.bytes + table->start[i];
		char *name = arena_copy(&table->arena, field, strlen(field));

		if (text_utf8_bad(name, strlen(name)) < strlen(name))
			fault(&table->faults, table->header_line,
			      "header of column %zu is not UTF-8: name its --encoding", i + 1);
		text_fold_blanks(name);
		table->header[i] = name;
	}
}

struct table *
table_open(const char *path, const struct table_form *form)
{
	struct table *table = mem_zero(1, sizeof *table);
	char said;

	table->name = strcmp(path, "-") == 0 ? "<stdin>" : text_show(&table->arena, path);
	table->faults.file = table->name;
	table->line = 1;
	load(table, path, form->encoding);
	said = take_separator_line(table);
	if (csv_init(&table->parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
		die("out of memory");
	csv_set_blk_size(&table->parser, FIELD_BLOCK);
	csv_set_space_func(&table->parser, never_blank);
	csv_set_delim(&table->parser, (unsigned char)(form->delimiter ? form->delimiter
						      : said		? said
									: detect_delimiter(table)));
	read_header(table);
	return table;
}

void
table_close(struct table *table)
{
	if (table == NULL)
		return;
	csv_free(&table->parser);
	text_free(&table->bytes);
	text_free(&table->fields);
	free(table->start);
	free(table->field);
	free(table->header);
	arena_free(&table->arena);
	free(table);
}

const char *
table_name(const struct table *table)
{
	return table->name;
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

static const char *
message(struct table *table, const char *format, size_t a, size_t b)
{
	char buffer[160];

	snprintf(buffer, sizeof buffer, format, a, b);
	return arena_copy(&table->arena, buffer, strlen(buffer));
}

/* What is wrong with the row's shape or bytes, or NULL. */
static const char *
row_fault(struct table *table)
{
	size_t end = table->fields.length;

	for (size_t i = table->columns; i < table->count; i++)
		if (table->fields.bytes[table->start[i]] != '\0')
			return message(table,
				       "%zu fields, but the header names %zu: quote a field that "
				       "holds the delimiter",
				       table->count, table->columns);
	for (size_t i = 0; i < table->count; i++) {
		const char *field = table->fields.bytes + table->start[i];
		size_t length = (i + 1 < table->count ? table->start[i + 1] : end) -
				table->start[i] - 1;
		size_t bad;

		if (memchr(field, '\0', length) != NULL)
			return message(table, "NUL byte in column %zu: this is no text file", i + 1,
				       0);
		bad = text_utf8_bad(field, length);
		if (bad < length)
			return message(table,
				       "column %zu is not UTF-8 at byte %zu of the field: name its "
				       "--encoding",
				       i + 1, bad + 1);
	}
	return NULL;
}

bool
table_next_any(struct table *table, struct row *row, const char **why)
{
	if (table->header == NULL || table->broken || !read_row(table, &row->line))
		return false;
	*why = row_fault(table);
	point_fields(table, table->columns);
	row->field = table->field;
	row->count = table->columns;
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
			      "two columns are named \"%s\": rename or remove one", name);
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

	for (size_t i = 0; i < table->columns; i++) {
		if (i > 0)
			text_adds(&list, ", ");
		text_adds(&list, text_show(&table->arena, table->header[i]));
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
		fault(&table->faults, table->header_line, "no column \"%s\": there are %s", name,
		      table_headers_seen(table));
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
