/*
 * Command lines: POSIX utility syntax with GNU-style long options. One table per program is both
 * what is parsed and what --help prints, so that they cannot drift apart. -h, -V and -q are in
 * every program; an option given twice is an error unless its row says many.
 */
#ifndef LOTPIPE_OPTS_H
#define LOTPIPE_OPTS_H

#include <stdbool.h>
#include <stddef.h>

#define LOTPIPE_VERSION "0.1.0"

/* Keys of options without a letter start at OPT_LONG; those of tables that programs share, at
 * OPT_SHARED. */
enum { OPT_END = -1, OPT_LONG = 256, OPT_SHARED = 512 };
enum {
	OPT_RATES_BASE = OPT_SHARED,
	OPT_ON,
	OPT_KEEP,
	OPT_WAS,
	OPT_STAY,
	OPT_ORDER_COST,
	OPT_MAX_ORDERS,
	OPT_ROUTE,
	OPT_WITHOUT,
	OPT_ENCODING
};

struct opt {
	int key;           /* the letter, or OPT_LONG + n */
	const char *name;  /* long name, without dashes */
	const char *value; /* how help names its value; NULL: takes none */
	const char *help;  /* one line */
	bool many;         /* may be given several times */
};

/* The options that mean the same in every program; each table starts with OPTS_COMMON. */
#define OPTS_COMMON                                                                                \
	{'h', "help", NULL, "print this help and exit", false},                                    \
	    {'V', "version", NULL, "print name and version and exit", false},                      \
	{                                                                                          \
		'q', "quiet", NULL, "no summary on stderr (errors still)", false                   \
	}
/* Those of the programs that know the market's terms. */
#define OPTS_TERMS                                                                                 \
	{'s', "sellers", "FILE", "sellers: route, currency, minimum, tax", false},                 \
	    {'c', "charges", "FILE", "charges: handling, shipping, rebates; default: none",        \
	     false},                                                                               \
	    {'x', "rates", "FILE", "exchange rates", false},                                       \
	    {OPT_RATES_BASE, "rates-base", "CODE", "rates are a column a currency, for one CODE",  \
	     false},                                                                               \
	    {OPT_ON, "on", "DATE", "rates of that day, or the last before; default: newest",       \
	     false},                                                                               \
	    {'w', "weights", "FILE", "weight of a piece where a row gives none", false},           \
	{                                                                                          \
		'C', "currency", "CODE", "home currency; default: the only one in use", false      \
	}
/* Those of the programs that plan a purchase (purchase/purchase_files.h), and parts of them. */
#define OPT_OFFERS                                                                                 \
	{                                                                                          \
		'o', "offers", "FILE", "offers; may be given several times", true                  \
	}
#define OPTS_LIMITS                                                                                \
	{OPT_ORDER_COST, "order-cost", "M", "what one more order is worth avoiding", false},       \
	    {OPT_MAX_ORDERS, "max-orders", "N", "at most N orders", false},                        \
	    {OPT_ROUTE, "route", "NAME", "only sellers of that route", false},                     \
	{                                                                                          \
		OPT_WITHOUT, "without", "A,B", "not these sellers", false                          \
	}
#define OPTS_PURCHASE                                                                              \
	OPT_OFFERS, OPTS_TERMS,                                                                    \
	    {'k', "stock", "FILE",                                                                 \
	     "owned stock, used where it saves most; may be given several times", true},           \
	    {OPT_KEEP, "keep", "FILE",                                                             \
	     "order lines of before with a state: paid, open (may grow), new", false},             \
	    {OPT_WAS, "was", "FILE", "order lines of before, for --stay", false},                  \
	    {OPT_STAY, "stay", "M",                                                                \
	     "what each seller dropped from or added to those of before counts", false},           \
	    OPTS_LIMITS
/* Those that say what a table on stdin is like (table/table.h: table_option). */
#define OPTS_TABLE                                                                                 \
	{'D', "delimiter", "C", "input field delimiter (\"tab\" is a tab); default: detected",     \
	 false},                                                                                   \
	{                                                                                          \
		OPT_ENCODING, "encoding", "NAME",                                                  \
		    "input encoding, as iconv names it; default: UTF-8", false                     \
	}

struct tool {
	const char *name;
	const char *purpose;  /* one line */
	const char *synopsis; /* after the name, e.g. "[-q] -r FILE < need.csv" */
	const struct opt *opts;
	size_t count;
	const char *notes; /* printed after the options; NULL: none */
};

struct opt_reader {
	const struct tool *tool;
	int argc;
	char **argv;
	unsigned char *seen;         /* by row of the table; owned */
	struct option *getopt_table; /* owned */
	char *letters;               /* owned */
	bool stdin_taken;            /* the program's own input, or a FILE "-" */
	bool quiet;
};

/* Starts reading; sets the program's name for diagnostics. reads_stdin: the program's input is
 * stdin, so that no FILE may be "-". */
void opts_start(struct opt_reader *reader, const struct tool *tool, int argc, char **argv,
                bool reads_stdin);
/* The key of the next option and its value, or OPT_END. Serves -h and -V (exit 0) and -q itself. */
int opts_next(struct opt_reader *reader, const char **value);
/* A FILE value: "-" may be given once. Returns the value. */
const char *opts_file(struct opt_reader *reader, const char *value);
/* The operands that are left, after OPT_END; frees the reader's memory. */
size_t opts_operands(struct opt_reader *reader, char ***operands);
/* The same of a program that takes none: dies with that usage message where there are some. */
void opts_no_operands(struct opt_reader *reader, const char *message);
/* Dies with a usage message: "what: try 'NAME --help'". */
void opts_usage(const char *format, ...) __attribute__((format(printf, 1, 2), __noreturn__));

#endif
