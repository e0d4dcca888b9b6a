/*
 * What the fuzz targets share: the programs and their parts run inside one process, thousands of
 * times a second, in a box that gives and takes all that they have of the system.
 *
 * - Files are texts in memory: what is read, what is written, standard input and output. Reads may
 *   come in small pieces.
 * - An end of the program (exit) comes back to the target. What was allocated by then is freed; a
 *   program or part that ends by itself must have freed all, or the target fails.
 * - What is told on standard error is kept. It must be lines of UTF-8 without any control byte, at
 *   least one where the exit status is 2.
 *
 * The linker puts the box in the place of malloc, open, exit and the others (the Makefile's
 * FUZZ_WRAPPED), in the programs, in libcsv and in PCRE2, which are linked statically for that.
 *
 * An input of a target is text, as far as it can be: a first line of digits and letters, each a
 * choice, then the files, parted by lines of "----".
 */
#ifndef LOTPIPE_FUZZ_HARNESS_H
#define LOTPIPE_FUZZ_HARNESS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

/* Else the target fails, with the place and what did not hold. */
#define FUZZ_CHECK(holds, what)                                                                    \
	do {                                                                                       \
		if (!(holds)) {                                                                    \
			fuzz_fail(__FILE__, __LINE__, (what));                                     \
			abort(); /* cppcheck does not know that nothing comes back */              \
		}                                                                                  \
	} while (0)
_Noreturn void fuzz_fail(const char *file, int line, const char *what);

/* Bytes that live until the next input. */
struct fuzz_bytes {
	const char *bytes; /* a NUL stands behind them */
	size_t length;
	size_t room; /* of those that are added to; else 0 */
};

void *fuzz_keep(size_t size);
struct fuzz_bytes fuzz_of(const char *bytes, size_t length);
bool fuzz_same(struct fuzz_bytes a, struct fuzz_bytes b);
/* Adds to bytes that were started as {0}, or by fuzz_of. */
void fuzz_add(struct fuzz_bytes *to, const char *bytes, size_t length);
void fuzz_adds(struct fuzz_bytes *to, const char *text);
void fuzz_printf(struct fuzz_bytes *to, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* ---- the input ---- */

struct fuzz_input {
	const unsigned char *next, *end;
	const unsigned char *choices_end; /* of the first line, for fuzz_choice */
	const unsigned char *choice;
};

/* Starts an input: forgets all of the one before. */
struct fuzz_input fuzz_start(const uint8_t *data, size_t size);
/* The same, with a first line of choices. */
struct fuzz_input fuzz_start_choices(const uint8_t *data, size_t size);
/* The next choice, below n; 0 where there are no more. */
unsigned fuzz_choice(struct fuzz_input *in, unsigned n);
/* The bytes up to a line of "----", or to the end. */
struct fuzz_bytes fuzz_section(struct fuzz_input *in);
/* The next byte, 0 where there are no more. */
unsigned fuzz_byte(struct fuzz_input *in);
/* A number below n, out of one byte, or two where n is above 256. */
unsigned fuzz_below(struct fuzz_input *in, unsigned n);

/* ---- the box ---- */

/* A file that can be read; "-" is standard input. A second of a name takes its place. */
void fuzz_put_file(const char *name, struct fuzz_bytes bytes);
/* What was written to a file, or put there; bytes NULL: there is none. */
struct fuzz_bytes fuzz_file(const char *name);
/* Reads give no more than that many bytes; 0: all that was asked for. */
void fuzz_chop(size_t most);
/* Standard output is a terminal of that many columns; NULL: it is none. */
void fuzz_terminal(const char *columns);

struct fuzz_result {
	int status;
	struct fuzz_bytes out, err;
};

/* Runs a part; the status with which it ended the program, or -1 where it returned. */
struct fuzz_result fuzz_run(void (*part)(void *data), void *data);

/* What is shown as the command line where a target fails; fuzz_program_run says it itself. */
void fuzz_say_args(const char *const *args);

typedef int fuzz_program(int argc, char **argv);

/* Runs a program with these arguments, the last NULL, its name first. Checks what is so of all of
 * them: the exit status is 0, 1 or 2, and with 2 nothing is written and something told. */
struct fuzz_result fuzz_program_run(fuzz_program *program, const char *const *args);

/* The programs' main functions; compiled under these names. */
fuzz_program lot_norm_main, lot_swap_main, lot_split_main, lot_total_main, lot_show_main,
    lot_plot_main;

/* ---- tables that came out ---- */

struct fuzz_table {
	char ***field; /* by row, the header first */
	size_t rows, columns;
};

/* Reads canonical CSV with a reader of its own, strictly: comma, LF, as many fields in each row as
 * in the header. What does not fit fails the target. */
struct fuzz_table fuzz_table(struct fuzz_bytes csv);
/* The column's number, or SIZE_MAX; letter case and blanks around it aside. */
size_t fuzz_column(const struct fuzz_table *table, const char *name);
/* Field of a row (1 is the first under the header) and a column that must be there. */
const char *fuzz_field(const struct fuzz_table *table, size_t row, const char *column);

__extension__ typedef __int128 fuzz_wide;

/* [-]digits[.digits] x 10^decimals, which must be whole; fails the target where it is no number.
 * "" is 0. */
fuzz_wide fuzz_number(const char *text, unsigned decimals);

#endif
