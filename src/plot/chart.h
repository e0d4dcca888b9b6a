/*
 * Charts: figures drawn as stacked bars, as lines, or as a Pareto chart, in SVG (svg.h).
 *
 * Positions are reckoned in whole numbers from exact values, so that the same table is the same
 * bytes everywhere. What a text could take is reckoned from above (label.h): names under the bars
 * stand level where all of them fit, else turned by 45 degrees, cut where they are long, and only
 * every so many where they would touch.
 */
#ifndef LOTPIPE_PLOT_CHART_H
#define LOTPIPE_PLOT_CHART_H

#include "plot/chart_figures.h"

#include <stdint.h>

enum { WIDTH_LEAST = 240, HEIGHT_LEAST = 200, SIZE_MOST = 10000 };

struct chart_settings {
	enum chart_kind kind;
	const char *title, *unit; /* NULL: none */
	int64_t width, height;    /* pixels */
	size_t most;              /* of a Pareto chart: rows with a bar of their own; 0: all */
	char mark;                /* before decimals */
};

/* What a chart says in words, for a summary. */
struct chart_told {
	size_t left_out; /* of a Pareto chart: rows without an amount */
	size_t gathered; /* rows that share the last bar */
	size_t vital;    /* rows, the largest first, that make up 80 % of the sum; 0: no share */
};

/* A chart for which there is no room is a usage error. The figures of a Pareto chart are sorted. */
void chart_draw(struct text *out, struct figures *figures, const struct chart_settings *settings,
                struct chart_told *told);

#endif
