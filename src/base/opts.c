#include "base/opts.h"

#include "base/err.h"
#include "base/file.h"
#include "base/mem.h"
#include "base/text.h"

#include <getopt.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void
close_stdout(void)
{
	if (fflush(stdout) != 0 || ferror(stdout))
		die_errno("<stdout>");
}

static noreturn void
print_help(const struct tool *tool)
{
	printf("usage: %s %s\n\n%s\n\n", tool->name, tool->synopsis, tool->purpose);
	for (size_t i = 0; i < tool->count; i++) {
		const struct opt *opt = &tool->opts[i];
		int width = printf(opt->key < OPT_LONG ? "  -%c, " : "      ", opt->key);

		width += printf("--%s%s%s", opt->name, opt->value ? " " : "",
		                opt->value ? opt->value : "");
		if (width >= 28)
			width = printf("\n") - 1;
		printf("%*s%s\n", 28 - width, "", opt->help);
	}
	if (tool->notes != NULL)
		printf("\n%s\n", tool->notes);
	printf("\nThe manual has the rest: man %s, man 5 lotpipe, man 7 lotpipe.\n", tool->name);
	close_stdout();
	exit(EXIT_DONE);
}

void
opts_usage(const char *format, ...)
{
	va_list args;

	va_start(args, format);
	die_usage(format, args); /* and no va_end: it does not return */
	                         /* cppcheck-suppress va_end_missing */
}

void
opts_start(struct opt_reader *reader, const struct tool *tool, int argc, char **argv,
           bool reads_stdin)
{
	size_t at = 1;

	err_program(tool->name);
	file_begin();
	*reader = (struct opt_reader){.tool = tool, .argc = argc, .argv = argv};
	reader->stdin_taken = reads_stdin;
	reader->seen = mem_zero(tool->count, 1);
	reader->getopt_table = mem_zero(tool->count + 1, sizeof *reader->getopt_table);
	reader->letters = mem_zero(2 * tool->count + 2, 1);
	reader->letters[0] = ':';
	for (size_t i = 0; i < tool->count; i++) {
		const struct opt *opt = &tool->opts[i];

		reader->getopt_table[i] = (struct option){
		    opt->name, opt->value ? required_argument : no_argument, NULL, opt->key};
		if (opt->key >= OPT_LONG)
			continue;
		reader->letters[at++] = (char)opt->key;
		if (opt->value != NULL)
			reader->letters[at++] = ':';
	}
	opterr = 0;
	optind = 1;
}

static size_t
row_of(const struct tool *tool, int key)
{
	size_t i = 0;

	while (i < tool->count && tool->opts[i].key != key)
		i++;
	return i;
}

/* What getopt could not take, named as the user typed it. */
static noreturn void
bad_option(const struct opt_reader *reader, int got)
{
	size_t row = optopt ? row_of(reader->tool, optopt) : reader->tool->count;
	const char *typed = reader->argv[optind - 1];
	struct arena arena = {0};

	if (got == ':' && row < reader->tool->count)
		opts_usage("option --%s needs a value", reader->tool->opts[row].name);
	if (row < reader->tool->count)
		opts_usage("option --%s takes no value", reader->tool->opts[row].name);
	if (strncmp(typed, "--", 2) == 0)
		opts_usage("unknown or ambiguous option %s", text_show(&arena, typed));
	opts_usage("unknown option -%s", text_show(&arena, (char[]){(char)optopt, '\0'}));
}

int
opts_next(struct opt_reader *reader, const char **value)
{
	for (;;) {
		int key = getopt_long(reader->argc, reader->argv, reader->letters,
		                      reader->getopt_table, NULL);
		size_t row;

		if (key == -1)
			return OPT_END;
		if (key == '?' || key == ':')
			bad_option(reader, key);
		row = row_of(reader->tool, key);
		if (reader->seen[row]++ && !reader->tool->opts[row].many)
			opts_usage("option --%s is given twice", reader->tool->opts[row].name);
		reader->seen[row] = 1;
		*value = optarg;
		if (key == 'h')
			print_help(reader->tool);
		if (key == 'V') {
			printf("%s %s\n", reader->tool->name, LOTPIPE_VERSION);
			close_stdout();
			exit(EXIT_DONE);
		}
		if (key != 'q')
			return key;
		reader->quiet = true;
	}
}

const char *
opts_file(struct opt_reader *reader, const char *value)
{
	if (strcmp(value, "-") == 0) {
		if (reader->stdin_taken)
			opts_usage("stdin is already an input, another FILE cannot be \"-\"");
		reader->stdin_taken = true;
	}
	return value;
}

size_t
opts_operands(struct opt_reader *reader, char ***operands)
{
	free(reader->seen);
	free(reader->getopt_table);
	free(reader->letters);
	reader->seen = NULL;
	reader->getopt_table = NULL;
	reader->letters = NULL;
	*operands = reader->argv + optind;
	/* A program may be started without even a name. */
	return reader->argc > optind ? (size_t)(reader->argc - optind) : 0;
}

void
opts_no_operands(struct opt_reader *reader, const char *message)
{
	char **operands;

	if (opts_operands(reader, &operands) > 0)
		opts_usage("%s", message);
}
