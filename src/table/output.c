#include "table/output.h"

#include "base/err.h"
#include "base/file.h"
#include "table/temporary.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct side_file {
	const char *path; /* borrowed */
	const struct sheet *sheet;
	char *target;  /* the path with links followed; owned */
	bool straight; /* no regular file: without a temporary */
	bool replaces; /* one that is there: */
	struct stat old;
	struct temporary temporary;
};

/* Adds the bytes in quotes, those inside doubled. */
static void
add_quoted(struct text *text, const char *string)
{
	text_addc(text, '"');
	for (; *string != '\0'; string++) {
		if (*string == '"')
			text_addc(text, '"');
		text_addc(text, *string);
	}
	text_addc(text, '"');
}

/* Of the header: would whoever reads it take this for a mark, a "sep=;" line or another delimiter
 * than the comma, if it were not quoted? table.h looks for all of them there. */
static bool
is_taken_amiss(const struct sheet *sheet, const char *string)
{
	return strpbrk(string, ";\t|") != NULL ||
	       (sheet->fields == 0 &&
	        (strncmp(string, "sep=", 4) == 0 || strncmp(string, "\xEF\xBB\xBF", 3) == 0));
}

void
sheet_field(struct sheet *sheet, const char *string)
{
	struct text *text = &sheet->text;
	size_t length = strlen(string);
	char *to;

	if (!sheet->headed && is_taken_amiss(sheet, string)) {
		if (sheet->fields++ > 0)
			text_addc(text, ',');
		add_quoted(text, string);
		return;
	}
	if (text->room - text->length <= length + 1)
		text_reserve(text, length + text->room + 64);
	to = text->bytes + text->length;
	if (sheet->fields++ > 0)
		*to++ = ',';
	text->length = (size_t)(to - text->bytes);
	for (size_t i = 0; i < length; i++) {
		if (string[i] == ',' || string[i] == '"' || string[i] == '\n' ||
		    string[i] == '\r') {
			add_quoted(text, string);
			return;
		}
		to[i] = string[i];
	}
	to[length] = '\0';
	text->length += length;
}

void
sheet_reserve(struct sheet *sheet, size_t bytes)
{
	text_reserve(&sheet->text, bytes);
}

void
sheet_decimal(struct sheet *sheet, wide value, unsigned scale, unsigned least)
{
	if (sheet->fields++ > 0)
		text_addc(&sheet->text, ',');
	dec_add_text(&sheet->text, value, scale, least);
}

void
sheet_fields(struct sheet *sheet, const char *const *strings, size_t count)
{
	for (size_t i = 0; i < count; i++)
		sheet_field(sheet, strings[i]);
}

void
sheet_qty(struct sheet *sheet, int64_t qty)
{
	sheet_decimal(sheet, qty, 0, 0);
}

void
sheet_end_row(struct sheet *sheet)
{
	const struct text *text = &sheet->text;

	/* A lone empty field is quoted, or the row would read as a blank line. */
	if (sheet->fields == 1 && (text->length == 0 || text->bytes[text->length - 1] == '\n'))
		text_adds(&sheet->text, "\"\"");
	text_addc(&sheet->text, '\n');
	sheet->fields = 0;
	sheet->headed = true;
}

void
sheet_free(struct sheet *sheet)
{
	text_free(&sheet->text);
}

void
outputs_add(struct outputs *outputs, const char *path, const struct sheet *sheet)
{
	if (path == NULL)
		return;
	for (size_t i = 0; i < outputs->count; i++)
		if (strcmp(outputs->side[i].path, path) == 0)
			die("%s: named for two outputs, one would replace the other", path);
	MEM_ROOM(outputs->side, outputs->count, outputs->room);
	outputs->side[outputs->count++] =
	    (struct side_file){.path = path, .sheet = sheet, .temporary.fd = -1};
}

static bool
is_one(const struct stat *a, const struct stat *b)
{
	return a->st_dev == b->st_dev && a->st_ino == b->st_ino;
}

/* Do the paths lead to one regular file? */
static bool
is_same_file(const char *a, const char *b)
{
	struct stat first, second;

	return stat(a, &first) == 0 && stat(b, &second) == 0 && S_ISREG(first.st_mode) &&
	       is_one(&first, &second);
}

void
outputs_spare(const struct outputs *outputs, const char *input)
{
	for (size_t i = 0; input != NULL && i < outputs->count; i++)
		if (is_same_file(outputs->side[i].path, input))
			die("%s: is read here, and would be replaced: name another file to write",
			    outputs->side[i].path);
}

/* Of places to write, links followed: are they one, whatever way leads there? Files that are hard
 * links to one another are replaced each for itself. */
static bool
is_same_place(const struct side_file *a, const struct side_file *b)
{
	const char *one = a->target + a->temporary.directory;
	const char *other = b->target + b->temporary.directory;
	struct stat first, second;

	if (a->straight || b->straight || strcmp(one, other) != 0)
		return false;
	/* A temporary's path begins with the directory, and ends there until it has a name. */
	return stat(a->temporary.directory > 0 ? a->temporary.path : ".", &first) == 0 &&
	       stat(b->temporary.directory > 0 ? b->temporary.path : ".", &second) == 0 &&
	       is_one(&first, &second);
}

/* Is the file, which is replaced, the one that standard output goes to? */
static bool
is_standard(const struct side_file *side)
{
	struct stat standard;

	return side->replaces && fstat(STDOUT_FILENO, &standard) == 0 &&
	       is_one(&standard, &side->old);
}

/* What is written is to be found afterwards: no file takes another's place, or that of standard
 * output. */
static void
check_places(const struct outputs *outputs)
{
	for (size_t i = 0; i < outputs->count; i++) {
		const struct side_file *side = &outputs->side[i];

		for (size_t j = 0; j < i; j++)
			if (is_same_place(&outputs->side[j], side))
				die("%s: is the file that %s is: one would replace the other",
				    side->path, outputs->side[j].path);
		if (is_standard(side))
			die("%s: is where standard output goes, and would be replaced: name "
			    "another file",
			    side->path);
	}
}

static noreturn void
fail(struct outputs *outputs, const char *path)
{
	int why = errno;

	for (size_t i = 0; i < outputs->count; i++)
		if (outputs->side[i].temporary.fd >= 0)
			unlink(outputs->side[i].temporary.path);
	errno = why;
	die_errno("%s", path);
}

/* Decides where the file goes: a temporary beside it, unless it is a device or a pipe. */
static void
place(struct outputs *outputs, struct side_file *side)
{
	side->target = realpath(side->path, NULL);
	if (side->target == NULL) {
		if (errno != ENOENT)
			fail(outputs, side->path);
		side->target = mem_alloc(strlen(side->path) + 1);
		strcpy(side->target, side->path);
	} else {
		if (stat(side->target, &side->old) != 0 ||
		    faccessat(AT_FDCWD, side->target, W_OK, AT_EACCESS) != 0)
			fail(outputs, side->path);
		side->replaces = S_ISREG(side->old.st_mode);
		side->straight = !side->replaces;
	}
	temporary_plan(&side->temporary, side->target);
}

static void
write_straight(struct outputs *outputs, const struct side_file *side)
{
	const struct text *text = &side->sheet->text;
	int fd = file_open(side->target, O_WRONLY | O_NOCTTY | O_CLOEXEC, 0);

	if (fd < 0 || !file_write(fd, text->bytes, text->length) || !file_close(fd))
		fail(outputs, side->path);
}

static void
write_temporary(struct outputs *outputs, struct side_file *side)
{
	const struct text *text = &side->sheet->text;
	struct temporary *temporary = &side->temporary;

	if (!temporary_make_file(temporary, side->replaces ? side->old.st_mode & 0666 : 0666))
		fail(outputs, side->path);
	if (side->replaces)
		temporary_become(temporary->fd, &side->old);
	if (!file_write(temporary->fd, text->bytes, text->length) || !file_flush(temporary->fd))
		fail(outputs, side->path);
}

static void
write_sides(struct outputs *outputs)
{
	sigset_t before;

	for (size_t i = 0; i < outputs->count; i++)
		place(outputs, &outputs->side[i]);
	check_places(outputs);
	for (size_t i = 0; i < outputs->count; i++)
		if (outputs->side[i].straight)
			write_straight(outputs, &outputs->side[i]);
	file_hold_signals(&before);
	for (size_t i = 0; i < outputs->count; i++)
		if (!outputs->side[i].straight)
			temporary_clear_left(&outputs->side[i].temporary);
	for (size_t i = 0; i < outputs->count; i++)
		if (!outputs->side[i].straight)
			write_temporary(outputs, &outputs->side[i]);
	for (size_t i = 0; i < outputs->count; i++) {
		struct side_file *side = &outputs->side[i];

		if (!side->straight && rename(side->temporary.path, side->target) != 0)
			fail(outputs, side->path);
		temporary_end(&side->temporary);
		free(side->target);
	}
	file_release_signals(&before);
}

void
outputs_write(struct outputs *outputs, const struct sheet *standard)
{
	write_sides(outputs);
	free(outputs->side);
	*outputs = (struct outputs){0};
	if (standard != NULL &&
	    (!file_write(STDOUT_FILENO, standard->text.bytes, standard->text.length) ||
	     !file_close(STDOUT_FILENO)))
		die_errno("<stdout>");
	tell_now();
}
