/*
 * The frame of a chart: everything around what is drawn. Title, legend, axes with their grid and
 * labels, and where in it a value and a row stand.
 *
 * The frame is laid out from the outside in, each text with the room that it could take; what is
 * left is for the drawing. If that is less than AREA_LEAST, the chart is too small: a usage error.
 *
 * Units: hundredths of a pixel, y downward, as in svg.h.
 */
#ifndef LOTPIPE_PLOT_FRAME_H
#define LOTPIPE_PLOT_FRAME_H

#include "plot/axis.h"
#include "plot/chart.h"
#include "plot/svg.h"

struct series {
	const char *name;
	enum svg_color color;
	bool line;
	size_t look; /* mark.h */
};

struct frame {
	/* What the caller says. */
	const struct chart_settings *settings;
	const struct figures *figures;
	const struct series *series;
	size_t series_count;
	wide low, high; /* values to be shown, low < high */
	bool loose;     /* the axis ends on round numbers */
	wide share;     /* the largest share (pareto.h); 0: no axis of shares */
	/* What stands over each bar, or NULL. Set to NULL where there is no room for all. */
	const char **over;

	/* What the layout makes of it. */
	struct axis y, x, shares;
	int64_t left, right, top, bottom; /* of the drawing */
	const char *title_line[2];
	size_t title_lines;
	int64_t legend_top;
	int bands;    /* lines above the drawing: the unit, what stands over bars, or both in one */
	size_t every; /* row labels: one in so many is shown; 0: none */
	bool turned;  /* by 45 degrees */
	int64_t drop; /* of a turned label below the drawing */
	int64_t length; /* of a turned label, at most */
	int64_t labels; /* height of all of them */
	struct arena arena;
};

enum { FONT_SIZE = 13 * PX, SMALL_SIZE = 12 * PX };

void frame_make(struct frame *frame);
void frame_free(struct frame *frame);

/* Title, legend, grid, axes and their labels. */
void frame_draw(struct text *out, const struct frame *frame);
/* The line at 0, if the axis has it: over the bars. */
void frame_draw_zero(struct text *out, const struct frame *frame);

int64_t frame_y(const struct frame *frame, wide value);
int64_t frame_share_y(const struct frame *frame, wide share);
/* Where a row stands, its middle; and the line between a row and the one before. */
int64_t frame_x(const struct frame *frame, size_t row);
int64_t frame_edge(const struct frame *frame, size_t row);

#endif
