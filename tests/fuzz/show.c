/*
 * Fuzz target: lot-show, its widths and what keeps fields of strangers harmless, in all forms.
 *
 * Input: choices (the form; what is a terminal, and how wide; the locale; columns, group and sums
 * by their number), then the table.
 *
 * Holds, whatever the fields: text has no control, no hidden character but the styles of a
 * terminal, and fits it; a page has no markup but its own, well nested, and a sheet no formula;
 * Markdown has no mark but those of its tables; and from each of the last three the fields can be
 * read back.
 */
#include "harness.h"

#include "base/width.h"
#include "show/formula.h"
#include "show/number.h"
#include "show/visible.h"
#include "table/table.h"

#include <stdio.h>
#include <string.h>

enum form { TEXT, MARKDOWN, HTML, SHEET };

/* The table as it was read, kept. */
struct source {
	char ***field; /* by row, the header first */
	size_t rows, columns, longest_number;
};

static void
keep_row(struct source *source, char *const *field)
{
	char **row = fuzz_keep((source->columns + 1) * sizeof *row);
	char ***grown = fuzz_keep((source->rows + 1) * sizeof *grown);

	for (size_t i = 0; i < source->columns; i++) {
		row[i] = (char *)(uintptr_t)fuzz_of(field[i], strlen(field[i])).bytes;
		if (strpbrk(field[i], "0123456789") != NULL &&
		    strlen(field[i]) > source->longest_number)
			source->longest_number = strlen(field[i]);
	}
	if (source->rows > 0)
		memcpy(grown, source->field, source->rows * sizeof *grown);
	grown[source->rows++] = row;
	source->field = grown;
}

static void
read_source(void *data)
{
	struct source *source = data;
	struct table *table = table_open("-", NULL);
	struct row row;

	source->columns = table_columns(table);
	if (source->columns > 0)
		keep_row(source, table_header(table));
	while (source->rows < 60 && table_next(table, &row))
		keep_row(source, row.field);
	table_close(table);
}

/* ---- what is so of any form ---- */

/* No point that is hidden, but those that are allowed. */
static void
check_seen(const char *text, const char *allowed)
{
	size_t length;

	FUZZ_CHECK(text_utf8_bad(text, strlen(text)) == strlen(text), "what is shown is UTF-8");
	for (; *text != '\0'; text += length) {
		uint32_t point = width_point(text, &length);

		FUZZ_CHECK(!width_is_hidden(point) ||
		               (point < 0x80 && strchr(allowed, (int)point) != NULL),
		           "nothing hidden is shown");
	}
}

/* What a field becomes where it is shown; from an arena, kept. */
struct showing {
	const char *field, *shown;
	bool guarded;
};

static void
show_field(void *data)
{
	struct showing *showing = data;
	struct arena arena = {0};
	const char *text = showing->field;

	if (showing->guarded)
		text = formula_guard(&arena, text);
	text = visible(&arena, text, BREAKS_KEPT);
	showing->shown = fuzz_of(text, strlen(text)).bytes;
	arena_free(&arena);
}

static const char *
shown(const char *field, bool guarded)
{
	struct showing showing = {field, NULL, guarded};

	fuzz_run(show_field, &showing);
	return showing.shown;
}

/* ---- text ---- */

/* Takes off the styles of a terminal. */
static const char *
without_styles(struct fuzz_bytes text)
{
	static const char *const styles[] = {"\033[1m", "\033[2m", "\033[0m"};
	struct fuzz_bytes out = {0};

	fuzz_adds(&out, "");
	for (const char *s = text.bytes; *s != '\0';) {
		size_t length = 0;

		for (size_t i = 0; i < sizeof styles / sizeof *styles; i++)
			if (strncmp(s, styles[i], strlen(styles[i])) == 0)
				length = strlen(styles[i]);
		if (length == 0)
			fuzz_add(&out, s, 1);
		s += length > 0 ? length : 1;
	}
	return out.bytes;
}

static void
check_text(struct fuzz_bytes out, const struct source *source, const char *columns, bool wide)
{
	const char *text = columns != NULL ? without_styles(out) : out.bytes, *end;
	size_t limit = 0;

	check_seen(text, "\n");
	if (columns == NULL || wide || sscanf(columns, "%zu", &limit) != 1)
		return;
	/* Numbers are never cut: one column of them, and the sign of others, may take this much. */
	if (limit < 2 * source->longest_number + 8)
		return;
	for (; *text != '\0'; text = end + 1) {
		const char *line;

		end = strchr(text, '\n');
		FUZZ_CHECK(end != NULL, "the last line ends");
		line = fuzz_of(text, (size_t)(end - text)).bytes;
		FUZZ_CHECK(width_of(line) <= limit, "lines fit the terminal");
	}
}

/* ---- Markdown ---- */

static const char *
trimmed(const char *text)
{
	size_t length;

	text += strspn(text, " ");
	for (length = strlen(text); length > 0 && text[length - 1] == ' '; length--)
		;
	return fuzz_of(text, length).bytes;
}

/* The field that a cell says. */
static const char *
of_markdown(const char *cell)
{
	struct fuzz_bytes out = {0};
	const char *s = cell;
	size_t length = strlen(cell);

	fuzz_adds(&out, "");
	if (length >= 4 && strncmp(s, "**", 2) == 0) { /* a total line */
		FUZZ_CHECK(strcmp(s + length - 2, "**") == 0, "what is bold ends so");
		s = fuzz_of(s + 2, length - 4).bytes;
		length -= 4;
	}
	if (strncmp(s, "<http", 5) == 0) { /* a link, which shows its address */
		FUZZ_CHECK(s[length - 1] == '>' && strcspn(s + 1, "<>|\\; ") == length - 2,
		           "a link is one address");
		return fuzz_of(s + 1, length - 2).bytes;
	}
	for (; *s != '\0'; s++) {
		if (strncmp(s, "<br>", 4) == 0) {
			fuzz_adds(&out, "\n");
			s += 3;
			continue;
		}
		FUZZ_CHECK(strchr("`*_[]<>|~&$", *s) == NULL, "a mark is escaped");
		FUZZ_CHECK(strncmp(s, "://", 3) != 0 && strncmp(s, "www.", 4) != 0,
		           "what would be a link is escaped");
		if (*s == '\\') {
			s++;
			FUZZ_CHECK(*s != '\0' && strchr("\\`*_[]<>|~&$#:.", *s) != NULL,
			           "what is escaped is a mark");
		}
		fuzz_add(&out, s, 1);
	}
	return out.bytes;
}

/* The cells of a line, parted at bars that are not escaped; returns how many. */
static size_t
cells_of(const char *line, const char **cell, size_t most)
{
	size_t count = 0;
	const char *from = line + 1;

	FUZZ_CHECK(*line == '|', "a row starts with a bar");
	for (const char *s = from; *s != '\0'; s++) {
		if (*s == '\\' && s[1] != '\0')
			s++;
		else if (*s == '|') {
			if (count < most)
				cell[count] = trimmed(fuzz_of(from, (size_t)(s - from)).bytes);
			count++;
			from = s + 1;
		}
	}
	FUZZ_CHECK(*from == '\0', "a row ends with a bar");
	return count;
}

static void
check_markdown(struct fuzz_bytes out, const struct source *source, bool plain)
{
	size_t row = 0, columns = 0, in_table = 0;
	const char **cell = fuzz_keep((source->columns + 1) * sizeof *cell), *end;

	check_seen(out.bytes, "\n");
	for (const char *s = out.bytes; *s != '\0'; s = end + 1) {
		const char *line;
		size_t count;

		end = strchr(s, '\n');
		FUZZ_CHECK(end != NULL, "the last line ends");
		line = fuzz_of(s, (size_t)(end - s)).bytes;
		if (*line != '|') {
			FUZZ_CHECK(*line == '\0' || strncmp(line, "### ", 4) == 0,
			           "a line is a row, a heading or blank");
			if (*line == '#')
				(void)of_markdown(line + 4 + strspn(line + 4, "#"));
			in_table = 0;
			continue;
		}
		count = cells_of(line, cell, source->columns);
		if (in_table++ == 0)
			columns = count;
		FUZZ_CHECK(count == columns, "a row has as many cells as the header");
		for (size_t i = 0; i < count && i < source->columns; i++) {
			if (in_table == 2) {
				FUZZ_CHECK(strspn(cell[i], "-:") == strlen(cell[i]),
				           "the second row is the rule");
				continue;
			}
			cell[i] = of_markdown(cell[i]);
			if (plain)
				FUZZ_CHECK(strcmp(cell[i], trimmed(shown(source->field[row][i],
				                                         false))) == 0,
				           "a cell says its field");
		}
		row += in_table != 2;
	}
	if (plain)
		FUZZ_CHECK(row == source->rows, "all rows are shown");
}

/* ---- a page ---- */

static const char *
of_html(const char *s, size_t length)
{
	static const struct {
		const char *name, *text;
	} entity[] = {
	    {"&amp;", "&"}, {"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}, {"&#39;", "'"}};
	const char *end = s + length;
	struct fuzz_bytes out = {0};

	fuzz_adds(&out, "");
	while (s < end) {
		size_t taken = 0;

		FUZZ_CHECK(strchr("<>\"'", *s) == NULL, "text of a page is escaped");
		if (*s != '&') {
			fuzz_add(&out, s++, 1);
			continue;
		}
		for (size_t i = 0; i < sizeof entity / sizeof *entity; i++)
			if (strncmp(s, entity[i].name, strlen(entity[i].name)) == 0) {
				fuzz_adds(&out, entity[i].text);
				taken = strlen(entity[i].name);
			}
		FUZZ_CHECK(taken > 0, "an ampersand is escaped");
		s += taken;
	}
	return out.bytes;
}

/* Is the text harmless where someone copies it into a spreadsheet? After a sign, digits with points
 * and commas are no formula anywhere. */
static void
check_no_formula(const char *text)
{
	const char *s = text + strspn(text, " ");
	bool digits =
	    (*text == '-' || *text == '+') && text[1 + strspn(text + 1, "0123456789.,")] == '\0';

	FUZZ_CHECK(*s == '\0' || strchr("=+-@\t\r", *s) == NULL || number_is(text) || digits,
	           "no text is a formula");
}

static bool
is_void(const char *tag)
{
	return strcmp(tag, "meta") == 0 || strcmp(tag, "link") == 0;
}

struct page {
	const char *at;
	const char *open[16]; /* elements that are open */
	size_t depth;
	const struct source *source;
	bool plain;
	size_t cells; /* seen: headers and fields */
};

/* Attributes: name="value", or name alone. Returns what is behind the tag. */
static const char *
past_attributes(const char *s)
{
	while (*s == ' ') {
		s++;
		FUZZ_CHECK(*s >= 'a' && *s <= 'z', "an attribute has a name");
		s += strspn(s, "abcdefghijklmnopqrstuvwxyz-");
		if (*s != '=')
			continue;
		FUZZ_CHECK(s[1] == '"', "a value is quoted");
		s += 2;
		FUZZ_CHECK(strchr(s, '"') != NULL, "a value is closed");
		while (*s != '"') {
			FUZZ_CHECK(*s != '<' && *s != '>', "a value is escaped");
			s++;
		}
		s++;
	}
	FUZZ_CHECK(*s == '>', "a tag is closed");
	return s + 1;
}

static void
take_tag(struct page *page)
{
	static const char *const known[] = {"html",    "head",   "meta",  "link",  "title",
	                                    "style",   "script", "body",  "h1",    "h2",
	                                    "section", "div",    "table", "thead", "tbody",
	                                    "tfoot",   "tr",     "th",    "td",    "button"};
	const char *s = page->at + 1;
	bool closes = *s == '/';
	char name[16] = "";
	size_t length, i = 0;

	if (strncmp(s, "!DOCTYPE html>", 14) == 0) {
		page->at = s + 14;
		return;
	}
	s += closes;
	length = strspn(s, "abcdefghijklmnopqrstuvwxyz0123456789");
	FUZZ_CHECK(length > 0 && length < sizeof name, "a tag has a name");
	memcpy(name, s, length);
	while (i < sizeof known / sizeof *known && strcmp(known[i], name) != 0)
		i++;
	FUZZ_CHECK(i < sizeof known / sizeof *known, "a tag is one of the page's own");
	page->at = past_attributes(s + length);
	if (closes) {
		FUZZ_CHECK(page->depth > 0 && page->open[--page->depth] == known[i],
		           "what was opened last is closed first");
	} else if (!is_void(name)) {
		FUZZ_CHECK(page->depth < 16, "a page is not deep");
		page->open[page->depth++] = known[i];
	}
	if (!closes && (strcmp(name, "style") == 0 || strcmp(name, "script") == 0)) {
		page->at = strstr(page->at, strcmp(name, "style") == 0 ? "</style>" : "</script>");
		FUZZ_CHECK(page->at != NULL, "a style and a script end");
	}
}

static void
take_cell(struct page *page, const char *text)
{
	size_t columns = page->source->columns;
	const char *field;

	check_no_formula(text);
	if (!page->plain)
		return;
	FUZZ_CHECK(page->cells < page->source->rows * columns, "no cell is made up");
	field = page->source->field[page->cells / columns][page->cells % columns];
	FUZZ_CHECK(strcmp(text, shown(field, true)) == 0, "a cell says its field");
	page->cells++;
}

static void
check_page(struct fuzz_bytes out, const struct source *source, bool plain)
{
	struct page page = {.at = out.bytes, .source = source, .plain = plain};

	check_seen(out.bytes, "\n");
	while (*page.at != '\0') {
		size_t length = strcspn(page.at, "<");
		const char *text = of_html(page.at, length), *in;

		in = page.depth > 0 ? page.open[page.depth - 1] : "";
		page.at += length;
		if (strcmp(in, "button") == 0 || strcmp(in, "td") == 0)
			take_cell(&page, text);
		else if (strcmp(in, "h1") != 0 && strcmp(in, "h2") != 0 && strcmp(in, "title") != 0)
			FUZZ_CHECK(strspn(text, "\n") == strlen(text), "text stands in its place");
		if (*page.at == '<')
			take_tag(&page);
	}
	FUZZ_CHECK(page.depth == 0, "all that was opened is closed");
	if (plain)
		FUZZ_CHECK(page.cells == source->rows * source->columns, "all cells are shown");
}

/* ---- a sheet ---- */

static void
check_cell(const struct source *source, size_t row, size_t column, const char *cell, bool quoted,
           char decimal)
{
	const char *field = source->field[row][column];
	struct fuzz_bytes number = {0};

	fuzz_adds(&number, "");
	for (const char *s = cell; *s != '\0'; s++)
		fuzz_add(&number, *s == decimal ? "." : s, 1);
	if (quoted)
		FUZZ_CHECK(strcmp(cell, field) == 0 ||
		               (*cell == FORMULA_GUARD && strcmp(cell + 1, field) == 0),
		           "a text of a sheet is its field, guarded where need be");
	else
		FUZZ_CHECK(strcmp(number.bytes, field) == 0,
		           "a number of a sheet is its field, with another mark");
}

static void
check_sheet(struct fuzz_bytes out, const struct source *source, char delimiter, char decimal,
            bool plain)
{
	const char *s = out.bytes;
	size_t row = 0, column = 0;

	FUZZ_CHECK(text_utf8_bad(out.bytes, out.length) == out.length, "a sheet is UTF-8");
	FUZZ_CHECK(strncmp(s, "\xEF\xBB\xBF", 3) == 0, "a sheet has a mark");
	for (s += 3; *s != '\0';) {
		struct fuzz_bytes cell = {0};
		bool quoted = *s == '"';

		fuzz_adds(&cell, "");
		if (quoted) {
			for (s++; *s != '"' || s[1] == '"'; s++) {
				FUZZ_CHECK(*s != '\0', "a quoted field is closed");
				s += *s == '"';
				fuzz_add(&cell, s, 1);
			}
			s++;
		} else {
			while (*s != delimiter && strncmp(s, "\r\n", 2) != 0) {
				FUZZ_CHECK(*s != '\0' && strchr("0123456789+-.,", *s) != NULL,
				           "what is not quoted is a number");
				fuzz_add(&cell, s++, 1);
			}
		}
		if (quoted)
			check_no_formula(cell.bytes);
		if (plain) {
			FUZZ_CHECK(row < source->rows && column < source->columns,
			           "no field is made up");
			check_cell(source, row, column, cell.bytes, quoted, decimal);
		}
		FUZZ_CHECK(*s == delimiter || strncmp(s, "\r\n", 2) == 0,
		           "a field ends with the delimiter or the line");
		if (*s == delimiter) {
			column++;
			s++;
			continue;
		}
		FUZZ_CHECK(!plain || column + 1 == source->columns, "a row has all fields");
		s += 2;
		row++;
		column = 0;
	}
	if (plain)
		FUZZ_CHECK(row == source->rows, "all rows are shown");
}

/* ---- the input ---- */

/* A name out of the header, as an option has it: without commas, which would part it. */
static const char *
drawn_name(struct fuzz_input *in, const struct source *source)
{
	const char *name = source->field[0][fuzz_choice(in, (unsigned)source->columns)];

	return strchr(name, ',') == NULL ? name : NULL;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const char *const forms[] = {"text", "markdown", "html", "sheet"};
	static const char *const widths[] = {NULL, "80", "40", "20", "132", "3", "1"};
	static const char *const locales[] = {NULL, "de", "fr_FR", "en", "de_CH", "sv"};
	static const char delimiters[] = ",;;,;;", decimals[] = ".,,..,";
	static const char *const choices[] = {"--group", "--columns", "--sum"};
	const char *args[16] = {"lot-show", "--to"};
	struct fuzz_input in = fuzz_start_choices(data, size);
	struct source source = {0};
	struct fuzz_result result;
	enum form form = (enum form)fuzz_choice(&in, 4);
	unsigned width = fuzz_choice(&in, 7), locale = fuzz_choice(&in, 6);
	size_t count = 3;
	bool plain = true;

	if (size > 2500)
		return -1;
	args[2] = forms[form];
	fuzz_put_file("-", fuzz_of((const char *)in.next, (size_t)(in.end - in.next)));
	fuzz_run(read_source, &source);
	if (form == TEXT && width == 6)
		args[count++] = "--wide";
	if (form == SHEET && locales[locale] != NULL) {
		args[count++] = "--locale";
		args[count++] = locales[locale];
	}
	for (size_t i = 0; i < 3 && source.columns > 0; i++) {
		const char *name;

		if (!fuzz_choice(&in, 2))
			continue;
		name = drawn_name(&in, &source);
		if (name == NULL)
			continue;
		args[count++] = choices[i];
		args[count++] = name;
		plain = false;
	}
	fuzz_terminal(widths[width]);
	result = fuzz_program_run(lot_show_main, args);
	fuzz_terminal(NULL);
	if (result.status == 2)
		return 0;
	plain = plain && source.rows < 60;
	switch (form) {
	case TEXT:
		check_text(result.out, &source, widths[width], width == 6);
		break;
	case MARKDOWN:
		check_markdown(result.out, &source, plain);
		break;
	case HTML:
		check_page(result.out, &source, plain);
		break;
	case SHEET:
		check_sheet(result.out, &source, delimiters[locale], decimals[locale], plain);
		break;
	}
	return 0;
}
