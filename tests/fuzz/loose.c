/*
 * Fuzz target: lists as people write and paste them, through lot-norm, loose ones and tables.
 *
 * Input: choices (loose or a table, the kind, the decimal mark, whether bad rows go to a file, a
 * pattern), then the list, known names, name rules, order codes, a map of columns and a pattern,
 * parted by lines of "----"; an empty file is not given.
 *
 * Holds: what is written is a list that lot-norm leaves as it is; no line of a loose list is lost:
 * it is a row, or it is told why not; merging equal lots loses no piece, and refuses rows only for
 * what they come to together; line ends are no matter, nor is how the bytes come in.
 */
#include "harness.h"

#include <string.h>

enum { LIST, KNOWN, NAMES, CODES, MAP, FILES };

static const char *const names[FILES] = {"-", "known.csv", "names.csv", "codes.csv", "map.csv"};
static const char *const options[FILES] = {NULL, "--known", "-n", "--codes", "-m"};

struct drawn {
	struct fuzz_bytes file[FILES], pattern;
	const char *kind;
	bool loose, comma, rejects;
};

/* With the files and the options of the draw. */
static struct fuzz_result
norm(const struct drawn *drawn, bool keep_rows)
{
	const char *args[32] = {"lot-norm"};
	size_t count = 1;

	for (size_t i = 0; i < FILES; i++) {
		fuzz_put_file(names[i], drawn->file[i]);
		if (i == LIST || drawn->file[i].length == 0)
			continue;
		args[count++] = options[i];
		args[count++] = names[i];
		if (i == KNOWN) {
			args[count++] = "--unknown";
			args[count++] = "unknown.csv";
		}
	}
	if (drawn->loose)
		args[count++] = "--loose";
	if (drawn->loose && drawn->pattern.length > 0) {
		args[count++] = "--pattern";
		args[count++] = drawn->pattern.bytes;
	}
	if (drawn->comma) {
		args[count++] = "--decimal";
		args[count++] = "comma";
	}
	if (drawn->rejects) {
		args[count++] = "--rejects";
		args[count++] = "rejects.csv";
	}
	if (keep_rows)
		args[count++] = "--keep-rows";
	args[count++] = drawn->kind;
	return fuzz_program_run(lot_norm_main, args);
}

/* A list that came out, once more: it stays as it is. */
static void
check_canonical(const char *kind, struct fuzz_bytes list)
{
	const char *const args[] = {"lot-norm", kind, NULL};
	struct fuzz_result again;

	fuzz_put_file("-", list);
	again = fuzz_program_run(lot_norm_main, args);
	FUZZ_CHECK(again.status == 0, "what is written is a list");
	FUZZ_CHECK(fuzz_same(again.out, list), "what is written is canonical");
}

/* Lines that must be told of, and those that may be. */
static void
count_lines(struct fuzz_bytes text, size_t *must, size_t *may)
{
	bool any = false, alnum = false;

	*must = *may = 0;
	for (size_t i = 0; i <= text.length; i++) {
		char c = i < text.length ? text.bytes[i] : '\n';

		if (c == '\n' || c == '\r') {
			*must += alnum;
			*may += any;
			any = alnum = false;
			continue;
		}
		any = true;
		alnum = alnum || (c >= '0' && c <= '9') || ((c | 32) >= 'a' && (c | 32) <= 'z');
	}
}

static bool
has_byte(struct fuzz_bytes text, char c)
{
	return text.length > 0 && memchr(text.bytes, c, text.length) != NULL;
}

/* Without signs of tables, each line is a row or among the rejects. */
static void
check_lines(const struct drawn *drawn, struct fuzz_bytes out, struct fuzz_bytes rejects)
{
	struct fuzz_table table = fuzz_table(out);
	size_t must, may, lines = table.rows - 1;

	if (!drawn->loose || has_byte(drawn->file[LIST], '|') ||
	    has_byte(drawn->file[LIST], '\t') ||
	    (drawn->file[LIST].length > 1 && (unsigned char)drawn->file[LIST].bytes[0] >= 0xFE))
		return;
	if (rejects.bytes != NULL)
		lines += fuzz_table(rejects).rows - 1;
	count_lines(drawn->file[LIST], &must, &may);
	FUZZ_CHECK(lines >= must, "no line is lost");
	FUZZ_CHECK(lines <= may, "no line is made up");
}

static void
check_status(const struct fuzz_result *result, struct fuzz_bytes rejects)
{
	bool bad = rejects.bytes != NULL && fuzz_table(rejects).rows > 1;

	FUZZ_CHECK(result->status == bad, "exit status 1 is for bad rows");
}

static bool
has_lots(const struct fuzz_table *table)
{
	size_t lot = fuzz_column(table, "lot");

	for (size_t i = 1; i < table->rows && lot != SIZE_MAX; i++)
		if (*table->field[i][lot] != '\0')
			return true;
	return false;
}

static bool
starts(const char *text, const char *with)
{
	return strncmp(text, with, strlen(with)) == 0;
}

/* The pieces of a row that is right by itself, and only with its lot is not. */
static fuzz_wide
refused_with_lot(const char *why)
{
	static const char before[] = "qty \"";
	const char *qty = why + sizeof before - 1;
	size_t length;

	FUZZ_CHECK(starts(why, before), "merging refuses a row for its qty");
	length = strspn(qty, "0123456789");
	FUZZ_CHECK(starts(qty + length, "\" makes the lot of line ") ||
	               starts(qty + length, "\" is not that of line "),
	           "merging refuses a row for what its lot comes to");
	return fuzz_number(fuzz_of(qty, length).bytes, 0);
}

static bool
same_row(const struct fuzz_table *a, size_t row, const struct fuzz_table *b, size_t other)
{
	for (size_t i = 0; i < a->columns; i++)
		if (strcmp(a->field[row][i], b->field[other][i]) != 0)
			return false;
	return true;
}

/* What is rejected without merging is with it; the pieces of what merging rejects besides. */
static fuzz_wide
check_rejects(struct fuzz_bytes merged, struct fuzz_bytes kept)
{
	struct fuzz_table one, other;
	fuzz_wide pieces = 0;
	size_t next = 1;

	FUZZ_CHECK((merged.bytes == NULL) == (kept.bytes == NULL), "both write rejects, or none");
	if (merged.bytes == NULL)
		return 0;
	one = fuzz_table(merged);
	other = fuzz_table(kept);
	FUZZ_CHECK(one.columns == other.columns && same_row(&one, 0, &other, 0),
	           "rejects have the same header");
	for (size_t i = 1; i < one.rows; i++) {
		if (next < other.rows && same_row(&one, i, &other, next))
			next++;
		else
			pieces += refused_with_lot(one.field[i][one.columns - 1]);
	}
	FUZZ_CHECK(next == other.rows, "rows that are kept are as right");
	return pieces;
}

/* refused: pieces of rows that merging rejects. */
static void
check_merged(struct fuzz_bytes merged, struct fuzz_bytes kept, fuzz_wide refused)
{
	struct fuzz_table one = fuzz_table(merged), other = fuzz_table(kept);
	fuzz_wide pieces = refused, due = 0;

	/* Equal rows of a lot are alternatives, and count once; nor do offers add up. */
	if (has_lots(&other))
		return;
	for (size_t i = 1; i < one.rows; i++)
		pieces += fuzz_number(fuzz_field(&one, i, "qty"), 0);
	for (size_t i = 1; i < other.rows; i++)
		due += fuzz_number(fuzz_field(&other, i, "qty"), 0);
	FUZZ_CHECK(pieces == due, "merging loses no piece");
}

static struct fuzz_bytes
with_crlf(struct fuzz_bytes text)
{
	struct fuzz_bytes out = {0};

	for (size_t i = 0; i < text.length; i++)
		fuzz_add(&out, text.bytes[i] == '\n' ? "\r\n" : text.bytes + i,
		         text.bytes[i] == '\n' ? 2 : 1);
	return out;
}

static void
check_line_ends(const struct drawn *drawn, const struct fuzz_result *due)
{
	struct drawn other = *drawn;
	struct fuzz_result result;

	if (!drawn->loose || has_byte(drawn->file[LIST], '\r') ||
	    (drawn->file[LIST].length > 1 && (unsigned char)drawn->file[LIST].bytes[0] >= 0xFE))
		return;
	other.file[LIST] = with_crlf(drawn->file[LIST]);
	result = norm(&other, false);
	FUZZ_CHECK(result.status == due->status && fuzz_same(result.out, due->out) &&
	               fuzz_same(result.err, due->err),
	           "line ends are no matter");
}

static void
draw(struct drawn *drawn, struct fuzz_input *in)
{
	static const char *const kinds[] = {"need", "need", "stock", "offers"};

	*drawn = (struct drawn){.loose = !fuzz_choice(in, 3)};
	drawn->kind = kinds[fuzz_choice(in, 4)];
	drawn->comma = fuzz_choice(in, 2);
	drawn->rejects = fuzz_choice(in, 2);
	for (size_t i = 0; i < FILES; i++)
		drawn->file[i] = fuzz_section(in);
	drawn->pattern = fuzz_section(in);
	/* Of an argument, what is before a NUL, without the line feed at its end. */
	drawn->pattern = fuzz_of(drawn->pattern.bytes, strcspn(drawn->pattern.bytes, "\n"));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_input in = fuzz_start_choices(data, size);
	struct drawn drawn;
	struct fuzz_result result, kept, chopped;
	struct fuzz_bytes rejects, kept_rejects;
	fuzz_wide refused;

	if (size > 3000)
		return -1;
	draw(&drawn, &in);
	result = norm(&drawn, false);
	rejects = fuzz_file("rejects.csv");
	fuzz_chop(1 + size % 7);
	chopped = norm(&drawn, false);
	fuzz_chop(0);
	FUZZ_CHECK(chopped.status == result.status && fuzz_same(chopped.out, result.out) &&
	               fuzz_same(chopped.err, result.err),
	           "how bytes come in is no matter");
	check_line_ends(&drawn, &result);
	if (result.status == 2)
		return 0;
	check_status(&result, rejects);
	check_canonical(drawn.kind, result.out);
	kept = norm(&drawn, true);
	kept_rejects = fuzz_file("rejects.csv");
	check_status(&kept, kept_rejects);
	refused = check_rejects(rejects, kept_rejects);
	check_lines(&drawn, kept.out, kept_rejects);
	if (strcmp(drawn.kind, "offers") != 0)
		check_merged(result.out, kept.out, refused);
	else
		FUZZ_CHECK(refused == 0, "offers are never merged");
	return 0;
}
