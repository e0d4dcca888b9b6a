/*
 * Axes with round numbers: steps of 1, 2 or 5 times a power of ten.
 *
 * Source: Paul S. Heckbert, "Nice Numbers for Graph Labels", Graphics Gems (1990), pages 61-63 and
 * 657-659: the step is the nice number nearest to a tick's share of the range, and a loose axis
 * ends on multiples of it. The share is of the range as it is, not rounded up first as there, which
 * left bars at half the height; and all is in whole numbers, so that an axis is the same
 * everywhere.
 *
 * Units: values are whole numbers of 10^exponent, below 10^30.
 */
#ifndef LOTPIPE_PLOT_AXIS_H
#define LOTPIPE_PLOT_AXIS_H

#include "base/dec.h"

struct axis {
	wide low, high; /* low < high */
	wide step;
	int exponent;      /* of the values' unit */
	int shift;         /* labels are of 10^shift: 0 unless they would be long */
	unsigned decimals; /* of a label */
};

/* About most ticks, no step below least (0: any). Loose: low and high are widened to multiples of
 * the step; else they stay, and the ticks are what lies between. */
void axis_make(struct axis *axis, wide low, wide high, int exponent, unsigned most, wide least,
               bool loose);
/* The next larger step; a loose axis is widened to it. */
void axis_coarser(struct axis *axis, bool loose);

/* The ticks are first x step to last x step. */
wide axis_first(const struct axis *axis);
wide axis_last(const struct axis *axis);

/* A tick's value as its label has it. */
void axis_add_label(struct text *out, const struct axis *axis, wide value, char mark);
/* value x 10^exponent as people read it: mark before decimals (so many at least), a minus sign,
 * no-break spaces between groups of three from five digits on. */
void axis_add_number(struct text *out, wide value, int exponent, unsigned least, char mark);

#endif
