#include "table/lines.h"

#include "base/err.h"
#include "base/file.h"
#include "table/encoding.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PIECE = 64 * 1024 };

static void
read_bytes(struct text *bytes, const char *path, const char *name)
{
	int fd = STDIN_FILENO;
	ssize_t got;

	if (strcmp(path, "-") != 0)
		fd = file_open(path, O_RDONLY | O_CLOEXEC, 0);
	if (fd < 0)
		die_errno("%s", name);
	do {
		if (bytes->room - bytes->length <= PIECE)
			text_reserve(bytes, bytes->length + PIECE); /* twice what there is */
		got = file_read(fd, bytes->bytes + bytes->length, PIECE);
		if (got < 0)
			die_errno("%s", name);
		if (got > 0)
			bytes->length += (size_t)got;
	} while (got != 0);
	bytes->bytes[bytes->length] = '\0';
	if (fd != STDIN_FILENO)
		file_close(fd);
}

/* What is wrong with the bytes of a line, or NULL; they are made text. */
static const char *
mend(char *text, size_t length, struct arena *arena)
{
	const char *nul = memchr(text, '\0', length);
	size_t bad = text_utf8_bad(text, length);
	char why[128];

	if (nul == NULL && bad == length)
		return NULL;
	if (nul != NULL)
		snprintf(why, sizeof why, "NUL byte at byte %zu: this is no text file",
		         (size_t)(nul - text) + 1);
	else
		snprintf(why, sizeof why,
		         "not UTF-8 at byte %zu: name its --encoding, such as WINDOWS-1252",
		         bad + 1);
	for (size_t i = 0; i < length; i++)
		if (text[i] == '\0')
			text[i] = '?';
	for (size_t at = 0; (at += text_utf8_bad(text + at, length - at)) < length;)
		text[at] = '?';
	return arena_copy(arena, why, strlen(why));
}

static void
add_line(struct lines *lines, const char *text, size_t length, struct arena *arena)
{
	char *copy = arena_alloc(arena, length + 1);

	memcpy(copy, text, length);
	copy[length] = '\0';
	MEM_ROOM(lines->line, lines->count, lines->room);
	lines->line[lines->count++] = (struct line){copy, mend(copy, length, arena)};
}

/* Bytes to the end of the line, without it. */
static size_t
line_length(const char *s, size_t left)
{
	size_t length = 0;

	while (length < left && s[length] != '\n' && s[length] != '\r')
		length++;
	return length;
}

void
lines_read(struct lines *lines, const char *path, const char *encoding, struct arena *arena)
{
	struct text bytes = {0};
	size_t at = 0;

	*lines = (struct lines){0};
	lines->name = strcmp(path, "-") == 0 ? "<stdin>" : text_show_all(arena, path);
	read_bytes(&bytes, path, lines->name);
	encoding_to_utf8(&bytes, encoding, lines->name);
	while (at < bytes.length) {
		size_t length = line_length(bytes.bytes + at, bytes.length - at);

		add_line(lines, bytes.bytes + at, length, arena);
		at += length;
		if (at < bytes.length)
			at += bytes.bytes[at] == '\r' && bytes.bytes[at + 1] == '\n' ? 2 : 1;
	}
	text_free(&bytes);
}

void
lines_free(struct lines *lines)
{
	free(lines->line);
	*lines = (struct lines){0};
}
