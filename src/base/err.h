/*
 * Diagnostics, as the contract has them: "program: file:line: what is wrong, and what would be
 * right".
 *
 * Owns the program's name (set once by err_program) and the counting of faults: up to
 * FAULTS_TOLD faults of a file are told, then how many more. A message is one line, whatever it
 * quotes: its text is escaped here (escape.h), so that nothing of a stranger's reaches a terminal
 * that the terminal would obey. (text_show() also cuts what is long.) It takes no memory but where
 * it is long, and is cut where there is none.
 */
#ifndef LOTPIPE_ERR_H
#define LOTPIPE_ERR_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdnoreturn.h>

/* Exit statuses, as grep and diff have them. */
enum { EXIT_DONE = 0, EXIT_DIFFERS = 1, EXIT_TROUBLE = 2 };

enum { FAULTS_TOLD = 20 };

#define PRINTF_LIKE(fmt, args) __attribute__((format(printf, fmt, args)))

/* The name every message starts with; the string must outlive the program. */
void err_program(const char *name);
const char *err_program_name(void);

/* Tells what is wrong and exits with EXIT_TROUBLE. */
noreturn void die(const char *format, ...) PRINTF_LIKE(1, 2);
/* The same, with ": " and the text of errno at the end. */
noreturn void die_errno(const char *format, ...) PRINTF_LIKE(1, 2);
/* The same, "program: file:line: ...". */
noreturn void die_at(const char *file, size_t line, const char *format, ...) PRINTF_LIKE(3, 4);
/* One line on stderr, and on we go: a summary or a note. */
void tell(const char *format, ...) PRINTF_LIKE(1, 2);
/* The same, "program: file:line: ...". */
void tell_at(const char *file, size_t line, const char *format, ...) PRINTF_LIKE(3, 4);

/* What is told from here on waits until tell_now(), and is lost where the program dies before, or a
 * fault is told: what a program tells of its results is put together before they are written, when
 * want of memory is still no harm, and told when they are. (outputs_write and folder_write end with
 * tell_now.) */
void tell_later(void);
void tell_now(void);

/* A usage error: the message, and where the usage is told; EXIT_TROUBLE. */
noreturn void die_usage(const char *format, va_list args) PRINTF_LIKE(1, 0);

/* The faults of one file. Zero-initialise with {.file = name}. */
struct faults {
	const char *file; /* borrowed */
	size_t count;
	bool silent; /* they are counted, and not told */
};

/* Tells a fault of the file at a line (0: of the file as a whole). */
void fault(struct faults *faults, size_t line, const char *format, ...) PRINTF_LIKE(3, 4);
/* Tells how many more there were, and exits with EXIT_TROUBLE if there was any. */
void faults_end(struct faults *faults);

#endif
