/*
 * Fuzz target: tables, as table.h reads them and output.h writes them: dialects, encodings,
 * windows.
 *
 * Input: choices (the delimiter that is said, the encoding that is said, the piece that reads give;
 * then the dialect and the encoding it is written in again), then the file.
 *
 * Holds: whatever the bytes, the same is read through windows and pieces of any size; fields are
 * UTF-8; what was read, written and read again is the same, in our own form, in any dialect with
 * everything quoted, and in any encoding that can say it.
 */
#include "harness.h"

#include "small_window.h"
#include "table/output.h"
#include "table/table.h"

#include <iconv.h>
#include <stdio.h>
#include <string.h>

static const struct table_reader usual = {
    .open = table_open,
    .close = table_close,
    .next_any = table_next_any,
    .columns = table_columns,
    .header_as_read = table_header_as_read,
    .faults = table_faults,
};

static const char *const encodings[] = {
    NULL,           "UTF-8",      "UTF-16",      "UTF-16LE", "UTF-16BE", "UTF-32",
    "WINDOWS-1252", "ISO-8859-1", "CP1255",      "CP1258",   "UTF-7",    "SHIFT_JIS",
    "EUC-JISX0213", "BIG5-HKSCS", "ISO-2022-JP", "GB18030",  "IBM037",   "no such",
};
enum { ENCODINGS = sizeof encodings / sizeof *encodings };

/* A reading and what came of it, in one text to be compared; of rows that are right, and of what
 * is wrong with the others. */
struct reading {
	const struct table_reader *reader;
	struct table_form form;
	struct fuzz_bytes got;
	bool has_header;
	size_t rows, faults;
	struct sheet *sheet; /* gets what is right; NULL: is not wanted */
	bool in_table;       /* of in.csv, else of standard input */
};

static void
add_field(struct reading *reading, const char *field)
{
	size_t length = strlen(field);

	FUZZ_CHECK(text_utf8_bad(field, length) == length, "a field is UTF-8");
	fuzz_add(&reading->got, field, length + 1);
	if (reading->sheet != NULL)
		sheet_field(reading->sheet, field);
}

static void
end_row(struct reading *reading)
{
	fuzz_adds(&reading->got, "\n");
	if (reading->sheet != NULL)
		sheet_end_row(reading->sheet);
}

static void
read_all(void *data)
{
	struct reading *reading = data;
	const struct table_reader *reader = reading->reader;
	struct table *table = reader->open(reading->in_table ? "in.csv" : "-", &reading->form);
	size_t columns = reader->columns(table), line = 0;
	const char *why;
	struct row row;

	reading->faults = reader->faults(table)->count;
	reading->has_header = columns > 0 && reading->faults == 0;
	for (size_t i = 0; reading->has_header && i < columns; i++)
		add_field(reading, reader->header_as_read(table)[i]);
	if (reading->has_header)
		end_row(reading);
	while (reader->next_any(table, &row, &why)) {
		FUZZ_CHECK(row.count == columns, "a row has as many fields as the header");
		FUZZ_CHECK(row.line > line, "rows stand one under the other");
		line = row.line;
		reading->faults += why != NULL;
		for (size_t i = 0; i < row.given || i < row.count; i++)
			FUZZ_CHECK(text_utf8_bad(row.field[i], strlen(row.field[i])) ==
			               strlen(row.field[i]),
			           "a field is UTF-8, of a faulty row too");
		if (why != NULL) {
			fuzz_adds(&reading->got, why);
			fuzz_adds(&reading->got, "\n");
			continue;
		}
		reading->rows++;
		for (size_t i = 0; reading->has_header && i < row.count; i++)
			add_field(reading, row.field[i]);
		if (reading->has_header)
			end_row(reading);
	}
	reader->close(table);
}

static struct fuzz_result
read_with(struct reading *reading, const struct table_reader *reader, const struct table_form *form)
{
	*reading = (struct reading){.reader = reader, .form = *form};
	return fuzz_run(read_all, reading);
}

static void
check_same_reading(const struct fuzz_result *one, const struct reading *a,
                   const struct fuzz_result *other, const struct reading *b)
{
	FUZZ_CHECK(one->status == other->status, "both readings end alike");
	FUZZ_CHECK(fuzz_same(a->got, b->got), "both readings read the same");
	FUZZ_CHECK(fuzz_same(one->err, other->err), "both readings tell the same");
}

/* The rows that were right, as our programs write them. */
struct writing {
	struct reading reading;
	struct fuzz_bytes csv;
};

static void
write_all(void *data)
{
	struct writing *writing = data;
	struct sheet sheet = {0};

	writing->reading.sheet = &sheet;
	read_all(&writing->reading);
	writing->csv = fuzz_of(sheet.text.bytes, sheet.text.length);
	sheet_free(&sheet);
}

static void
add_quoted(struct fuzz_bytes *out, const char *field)
{
	fuzz_adds(out, "\"");
	for (; *field != '\0'; field++) {
		if (*field == '"')
			fuzz_adds(out, "\"");
		fuzz_add(out, field, 1);
	}
	fuzz_adds(out, "\"");
}

/* The table in another dialect, everything quoted. */
static struct fuzz_bytes
written_anew(const struct fuzz_table *table, char delimiter, const char *line_end, bool says)
{
	struct fuzz_bytes out = {0};

	if (says) {
		fuzz_adds(&out, "sep=");
		fuzz_add(&out, &delimiter, 1);
		fuzz_adds(&out, line_end);
	}
	for (size_t i = 0; i < table->rows; i++) {
		for (size_t k = 0; k < table->columns; k++) {
			if (k > 0)
				fuzz_add(&out, &delimiter, 1);
			add_quoted(&out, table->field[i][k]);
		}
		fuzz_adds(&out, line_end);
	}
	return out;
}

/* Converted, or no bytes where it cannot be. */
static struct fuzz_bytes
converted(struct fuzz_bytes text, const char *to, const char *from)
{
	iconv_t coding = iconv_open(to, from);
	struct fuzz_bytes out = {0};
	char *at = (char *)(uintptr_t)text.bytes, piece[256];
	size_t left = text.length, got = 0;

	FUZZ_CHECK(coding != (iconv_t)-1, "the C library has the encoding");
	for (bool flush = false; got != (size_t)-1;) {
		char *end = piece;
		size_t room = sizeof piece;

		got = iconv(coding, flush ? NULL : &at, flush ? NULL : &left, &end, &room);
		fuzz_add(&out, piece, (size_t)(end - piece));
		if (got == (size_t)-1 && end != piece)
			got = 0; /* no room: on with the next piece */
		else if (got == (size_t)-1)
			out = (struct fuzz_bytes){0};
		else if (flush)
			break;
		else
			flush = left == 0;
	}
	iconv_close(coding);
	return out;
}

/* What was written, in another encoding, where that can say it all; without the last line end too,
 * as some encodings hold the last character back until more comes. */
static void
check_encoding(struct fuzz_bytes csv, const struct reading *due, const char *encoding)
{
	struct fuzz_bytes bytes = converted(csv, encoding, "UTF-8"), back;
	struct table_form form = {.delimiter = ',', .encoding = encoding};
	struct reading reading;

	if (bytes.length == 0)
		return;
	back = converted(bytes, "UTF-8", encoding);
	if (!fuzz_same(back, csv))
		return;
	fuzz_put_file("-", bytes);
	read_with(&reading, &usual, &form);
	FUZZ_CHECK(reading.faults == 0, "what was written in an encoding is read without fault");
	FUZZ_CHECK(fuzz_same(reading.got, due->got), "what was written in an encoding is the same");
}

static void
check_round_trip(struct fuzz_input *in, const struct table_form *form)
{
	static const char delimiters[] = ",;\t|", *const ends[] = {"\r\n", "\r", "\n"};
	static const struct table_form nothing_said;
	struct writing writing = {.reading = {.reader = &usual, .form = *form}};
	struct reading again;
	struct fuzz_table table;
	struct fuzz_bytes anew;
	char delimiter;
	const char *encoding;
	bool says;

	fuzz_run(write_all, &writing);
	table = fuzz_table(writing.csv);
	fuzz_put_file("-", writing.csv);
	read_with(&again, &usual, &nothing_said);
	FUZZ_CHECK(again.faults == 0, "what was written is read without fault");
	FUZZ_CHECK(again.rows == writing.reading.rows, "all rows that were written are read");
	if (writing.reading.faults == 0)
		FUZZ_CHECK(fuzz_same(again.got, writing.reading.got), "what was written is read");

	delimiter = delimiters[fuzz_choice(in, sizeof delimiters - 1)];
	says = fuzz_choice(in, 2);
	anew = written_anew(&table, delimiter, ends[fuzz_choice(in, 3)], says);
	fuzz_put_file("-", anew);
	if (table.columns > 1 || says) {
		struct reading other;

		read_with(&other, &usual, &nothing_said);
		FUZZ_CHECK(other.faults == 0, "another dialect is read without fault");
		FUZZ_CHECK(fuzz_same(other.got, again.got), "another dialect is the same table");
	}
	encoding = encodings[1 + fuzz_choice(in, ENCODINGS - 2)];
	check_encoding(writing.csv, &again, encoding);
	check_encoding(fuzz_of(writing.csv.bytes, writing.csv.length - 1), &again, encoding);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const char said[] = {0, 0, ',', ';', '\t', '|', 'x', ' '};
	struct fuzz_input in = fuzz_start_choices(data, size);
	struct table_form form = {.delimiter = said[fuzz_choice(&in, sizeof said)]};
	struct fuzz_bytes file = {(const char *)in.next, (size_t)(in.end - in.next), 0};
	struct reading once, small, chopped;
	struct fuzz_result first, other;

	form.encoding = encodings[fuzz_choice(&in, ENCODINGS)];
	file = fuzz_of(file.bytes, file.length);
	fuzz_put_file("-", file);
	first = read_with(&once, &usual, &form);
	FUZZ_CHECK(first.status == -1 || first.status == 2, "a reading ends, or with 2");
	other = read_with(&small, &small_window, &form);
	check_same_reading(&first, &once, &other, &small);
	fuzz_chop(1 + fuzz_choice(&in, 9));
	other = read_with(&chopped, &small_window, &form);
	check_same_reading(&first, &once, &other, &chopped);
	fuzz_chop(0);
	if (first.status == -1 && once.has_header)
		check_round_trip(&in, &form);
	return 0;
}
