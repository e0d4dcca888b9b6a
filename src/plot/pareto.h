/*
 * What a Pareto chart is of: amounts from high to low, and the share of the sum that each and all
 * before it make up (Joseph M. Juran's "vital few", Quality Control Handbook, 1951, from memory).
 *
 * Rows of one amount stand in the byte order of their labels, so that the order of rows does not
 * matter. With amounts below zero the shares pass 1 and come back; where the sum is not above zero
 * there are none. Shares of 10^21 and more, where amounts all but cancel, are more than an axis
 * holds (plot/axis.h): they are told, EXIT_TROUBLE.
 */
#ifndef LOTPIPE_PLOT_PARETO_H
#define LOTPIPE_PLOT_PARETO_H

#include "plot/chart_figures.h"

/* Shares are whole numbers of 10^-9. */
enum { SHARE_ONE = 1000000000, SHARE_PERCENT_EXPONENT = -7, SHARES_MOST_DIGITS = 21 };

struct pareto {
	wide *share; /* of the rows up to that; owned; NULL: the sum is not above zero */
	wide largest;
	size_t left_out; /* rows without an amount */
	size_t gathered; /* rows that the last one stands for, if any */
	size_t vital;    /* rows that make up 80 % */
};

/* Sorts the rows, of one column. most: the rows that are kept apart, 0 for all; of more, the
 * others become one last row. */
void pareto_make(struct pareto *pareto, struct figures *figures, size_t most);
void pareto_free(struct pareto *pareto);

#endif
