/*
 * A linear program with bounded variables, solved by the dual simplex method (Lemke 1954; with
 * boxed variables every basis is made dual feasible by the side each variable rests on, so a
 * basis stays a good start after any change of bounds).
 *
 * The leaving row is that of the steepest dual edge (Goldfarb and Forrest, Math. Programming 57
 * (1992) 341-374), and a step of the dual goes on past the points where a variable can change over
 * to its other bound, as long as the objective still rises (the long-step rule: Maros, European
 * J. of Operational Research 149 (2003) 1-16).
 *
 *     min cost . x,  least <= x <= most,  row_least <= A x <= row_most
 *
 * Dense inverse of the basis, sparse columns: made for some hundred rows. In doubles; what is
 * made of its multipliers must be checked elsewhere (leaf.c evaluates its bound in integers).
 */
#ifndef LOTPIPE_SIMPLEX_H
#define LOTPIPE_SIMPLEX_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum lp_end { LP_BEST, LP_NONE, LP_ENOUGH, LP_TROUBLE };

struct lp {
	size_t rows, columns; /* variables: columns, then one logical per row */
	size_t used;          /* columns: those behind have no part in anything yet */
	size_t rows_room;
	double *cost, *least, *most; /* by variable; a logical is its row's sum */
	size_t *start;               /* columns + 1 */
	uint32_t *row;               /* of each entry */
	double *entry;
	/* State. */
	double *inverse;     /* rows x rows, column by column */
	double *line;        /* a row of it */
	double *norm;        /* by row of the inverse: the sum of its squares */
	bool norms_known;    /* the dual method has kept them up */
	size_t *basic;       /* by row */
	int *place;          /* by variable: its row in the basis, or -1 */
	bool *at_most;       /* by variable, where not basic */
	double *x, *reduced; /* by variable */
	bool *left_out;      /* by variable: held at 0, its reduced cost is not kept up */
	double *price;       /* by row: the multipliers */
	double *ray;         /* by row: after LP_NONE, a direction in which the bound has no end */
	double *work_row, *work_column, *along, *ratio;
	uint32_t *work_index, *helper;
	size_t pivots;   /* since the last fresh inverse */
	size_t computed; /* pivots when all was last computed from the basis; SIZE_MAX: never */
	uint64_t work;
};

/* A basis to come back to. */
struct lp_basis {
	double *inverse;
	size_t *basic;
	bool *at_most; /* by variable */
	size_t rows, variables, pivots;
};

/* Room for so many rows, columns and entries, all of them used; costs, bounds and columns are then
 * filled in. */
void lp_init(struct lp *lp, size_t rows, size_t columns, size_t entries);
void lp_free(struct lp *lp);
/* For another program of no more rows, columns and entries: all is 0, the basis the logicals. The
 * first columns are used, others may be added. */
void lp_restart(struct lp *lp, size_t rows, size_t columns, size_t used);
/* More rows at the end, within the room: bounds of their logicals, and entries of columns (those
 * there too), are filled in before the next lp_solve. */
void lp_add_rows(struct lp *lp, size_t count);
/* Solves from the present basis (at first: the logicals). enough: stop once the objective is
 * surely at or above it. */
enum lp_end lp_solve(struct lp *lp, double enough);
/* The same after lp_solve, where nothing but bounds of columns has changed since. */
enum lp_end lp_resolve(struct lp *lp, double enough);
/* A column that has been filled in, or filled in anew, takes part at 0, and is used. */
void lp_price_column(struct lp *lp, size_t column);
/* Goes on from a basis whose values keep all bounds (as lp_solve left it, columns added since, at
 * 0), by the primal method. */
enum lp_end lp_improve(struct lp *lp);
/* Keeps the present basis; what it had kept is forgotten. Starts as {0}; owns its memory. */
void lp_keep_basis(const struct lp *lp, struct lp_basis *kept);
/* Back to it, for lp_solve: columns that have come since are at 0. Those that were there must not
 * have changed but in their bounds. */
void lp_return_to(struct lp *lp, const struct lp_basis *kept);
void lp_free_basis(struct lp_basis *kept);
double lp_objective(const struct lp *lp);

/* The sum of products, added up in four parts: the same everywhere. */
double dot(const double *a, const double *b, size_t count);

#endif
