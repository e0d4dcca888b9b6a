/*
 * The look of a series beside its color, so that series differ in print and to everybody: what
 * stands at the points of a line, and how the line is dashed.
 */
#ifndef LOTPIPE_PLOT_MARK_H
#define LOTPIPE_PLOT_MARK_H

#include "base/text.h"
#include "plot/svg.h"

/* The start of a path of the series' point; what follows is up to the caller: "/>", or a title. */
void mark_point(struct text *out, enum svg_color color, size_t series, int64_t x, int64_t y);
/* Attributes of the series' line: no fill, color, width, dashes. */
void mark_line(struct text *out, enum svg_color color, size_t series);

#endif
