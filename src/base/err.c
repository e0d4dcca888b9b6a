#include "base/err.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *program = "lotpipe";

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

void
die(const char *format, ...)
{
	va_list args;

	fprintf(stderr, "%s: ", program);
	va_start(args, format);
	vfprintf(stderr, format, args);
	va_end(args);
	fputc('\n', stderr);
	exit(EXIT_TROUBLE);
}

void
die_errno(const char *format, ...)
{
	const char *why = strerror(errno);
	va_list args;

	fprintf(stderr, "%s: ", program);
	va_start(args, format);
	vfprintf(stderr, format, args);
	va_end(args);
	fprintf(stderr, ": %s\n", why);
	exit(EXIT_TROUBLE);
}

void
tell(const char *format, ...)
{
	va_list args;

	fprintf(stderr, "%s: ", program);
	va_start(args, format);
	vfprintf(stderr, format, args);
	va_end(args);
	fputc('\n', stderr);
}

static void
print_place(const char *file, size_t line)
{
	if (line > 0)
		fprintf(stderr, "%s: %s:%zu: ", program, file, line);
	else
		fprintf(stderr, "%s: %s: ", program, file);
}

void
tell_at(const char *file, size_t line, const char *format, ...)
{
	va_list args;

	print_place(file, line);
	va_start(args, format);
	vfprintf(stderr, format, args);
	va_end(args);
	fputc('\n', stderr);
}

void
fault(struct faults *faults, size_t line, const char *format, ...)
{
	va_list args;

	if (faults->count++ >= FAULTS_TOLD || faults->silent)
		return;
	print_place(faults->file, line);
	va_start(args, format);
	vfprintf(stderr, format, args);
	va_end(args);
	fputc('\n', stderr);
}

void
faults_end(struct faults *faults)
{
	if (faults->count == 0)
		return;
	if (faults->count > FAULTS_TOLD)
		fprintf(stderr, "%s: %s: and %zu more faults\n", program, faults->file,
		        faults->count - FAULTS_TOLD);
	exit(EXIT_TROUBLE);
}
