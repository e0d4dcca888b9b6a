#include "base/err.h"

#include "base/escape.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_ROOM = 4096, BRIEF = 1024 };

static const char *program = "lotpipe";

/* A message as it is put together, so that most reach stderr in one piece. */
struct line {
	char bytes[LINE_ROOM];
	size_t length;
};

/* What waits to be told. */
static struct {
	bool waits;
	char *bytes; /* owned */
	size_t length, room;
} held;

void
err_program(const char *name)
{
	program = name;
}

const char *
err_program_name(void)
{
	return program;
}

static void
forget_held(void)
{
	free(held.bytes);
	memset(&held, 0, sizeof held);
}

static void
hold(const struct line *line)
{
	if (held.room - held.length < line->length) {
		size_t room = 2 * (held.length + line->length);
		char *bytes = realloc(held.bytes, room);

		if (bytes == NULL)
			die("out of memory");
		held.bytes = bytes;
		held.room = room;
	}
	memcpy(held.bytes + held.length, line->bytes, line->length);
	held.length += line->length;
}

static void
put_line(struct line *line)
{
	if (held.waits)
		hold(line);
	else
		fwrite(line->bytes, 1, line->length, stderr);
	line->length = 0;
}

void
tell_later(void)
{
	held.waits = true;
}

void
tell_now(void)
{
	if (held.length > 0)
		fwrite(held.bytes, 1, held.length, stderr);
	forget_held();
}

static void
add_escaped(struct line *line, const char *text, size_t length)
{
	for (size_t at = 0, written; at < length;) {
		if (LINE_ROOM - line->length < ESCAPE_ROOM)
			put_line(line);
		at += escape_next(text + at, length - at, line->bytes + line->length, &written);
		line->length += written;
	}
}

static void
add_string(struct line *line, const char *string)
{
	add_escaped(line, string, strlen(string));
}

static void
add_formatted(struct line *line, const char *format, va_list args)
{
	char brief[BRIEF] = "", *all = brief;
	va_list again;
	int length;

	va_copy(again, args);
	length = vsnprintf(brief, sizeof brief, format, args);
	if (length >= BRIEF) {
		all = malloc((size_t)length + 1);
		if (all != NULL)
			vsnprintf(all, (size_t)length + 1, format, again);
		else
			all = brief;
	}
	va_end(again);
	add_string(line, all);
	if (all != brief)
		free(all);
}

static void
end_line(struct line *line)
{
	if (line->length == LINE_ROOM)
		put_line(line);
	line->bytes[line->length++] = '\n';
	put_line(line);
}

static void
start_line(struct line *line)
{
	line->length = 0;
	add_string(line, program);
	add_string(line, ": ");
}

static void
start_line_at(struct line *line, const char *file, size_t number)
{
	char place[32];

	start_line(line);
	add_string(line, file);
	snprintf(place, sizeof place, number > 0 ? ":%zu: " : ": ", number);
	add_string(line, place);
}

void
die(const char *format, ...)
{
	struct line line;
	va_list args;

	forget_held();
	start_line(&line);
	va_start(args, format);
	add_formatted(&line, format, args);
	va_end(args);
	end_line(&line);
	exit(EXIT_TROUBLE);
}

void
die_errno(const char *format, ...)
{
	const char *why = strerror(errno);
	struct line line;
	va_list args;

	forget_held();
	start_line(&line);
	va_start(args, format);
	add_formatted(&line, format, args);
	va_end(args);
	add_string(&line, ": ");
	add_string(&line, why);
	end_line(&line);
	exit(EXIT_TROUBLE);
}

void
die_usage(const char *format, va_list args)
{
	struct line line;

	forget_held();
	start_line(&line);
	add_formatted(&line, format, args);
	add_string(&line, ": try '");
	add_string(&line, program);
	add_string(&line, " --help'");
	end_line(&line);
	exit(EXIT_TROUBLE);
}

void
die_at(const char *file, size_t number, const char *format, ...)
{
	struct line line;
	va_list args;

	forget_held();
	start_line_at(&line, file, number);
	va_start(args, format);
	add_formatted(&line, format, args);
	va_end(args);
	end_line(&line);
	exit(EXIT_TROUBLE);
}

void
tell(const char *format, ...)
{
	struct line line;
	va_list args;

	start_line(&line);
	va_start(args, format);
	add_formatted(&line, format, args);
	va_end(args);
	end_line(&line);
}

void
tell_at(const char *file, size_t number, const char *format, ...)
{
	struct line line;
	va_list args;

	start_line_at(&line, file, number);
	va_start(args, format);
	add_formatted(&line, format, args);
	va_end(args);
	end_line(&line);
}

void
fault(struct faults *faults, size_t number, const char *format, ...)
{
	struct line line;
	va_list args;

	if (faults->count++ >= FAULTS_TOLD || faults->silent)
		return;
	forget_held();
	start_line_at(&line, faults->file, number);
	va_start(args, format);
	add_formatted(&line, format, args);
	va_end(args);
	end_line(&line);
}

void
faults_end(struct faults *faults)
{
	if (faults->count == 0)
		return;
	if (faults->count > FAULTS_TOLD)
		tell_at(faults->file, 0, "and %zu more faults", faults->count - FAULTS_TOLD);
	exit(EXIT_TROUBLE);
}
