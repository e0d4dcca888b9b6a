/*
 * Figures: what a chart draws, out of a table. Which columns are drawn and which name the rows,
 * and their numbers, exact.
 *
 * Total lines (show/total_line.h) are left out. An empty field is no figure; a field that is no
 * number (show/number.h) is a fault of the file. Without a choice the columns are those that this
 * family of programs has amounts in, or the only one of numbers.
 *
 * Units: the values of a measure are whole numbers of 10^exponent, 22 digits for the one farthest
 * from zero. What of another number does not fit that is rounded off, which no drawing shows;
 * the measure is not exact then. Sums of 10^7 values fit into 128 bits with room for 9 more digits.
 */
#ifndef LOTPIPE_PLOT_CHART_FIGURES_H
#define LOTPIPE_PLOT_CHART_FIGURES_H

#include "base/dec.h"
#include "table/table.h"

#include <stdbool.h>
#include <stddef.h>

enum chart_kind { CHART_BARS, CHART_LINES, CHART_PARETO, CHART_KINDS };

/* Lists of names as options have them; NULL: nothing was said. */
struct figures_choice {
	enum chart_kind kind;
	const char *label, *columns;
};

struct measure {
	int exponent;
	unsigned decimals; /* the most that a number is written with */
	bool exact;
	bool whole; /* all are whole numbers */
};

struct figure {
	bool there;
	wide value;
	const char *field; /* as read; in the arena, as all texts here */
};

struct figures_row {
	const char *label; /* made visible */
	struct figure x;
	struct figure *value; /* a column each */
};

struct figures {
	const char **column; /* names, made visible */
	size_t columns;
	const char *label; /* what the rows are named by, made visible; "": they are numbered */
	struct figures_row *row; /* owned */
	size_t rows;
	bool by_number; /* lines: rows stand where their label's number does, in its order */
	struct measure y, x;
	size_t totals;  /* total lines, left out */
	size_t missing; /* empty fields */
	struct arena arena;
};

/* The value of 1 in a measure; 0 where its unit is larger. */
wide measure_one(const struct measure *measure);

/* Reads the table to its end and closes it; faults are told, EXIT_TROUBLE. */
void figures_read(struct figures *figures, struct table *table,
                  const struct figures_choice *choice);
void figures_free(struct figures *figures);

#endif
