#include "plan/simplex.h"

#include "base/mem.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FEASIBLE   1e-9
#define PIVOT      1e-7
#define HAIR       1e-9
#define WORN       1e-6
#define NEARLY     1e-7 /* of what is out of bounds: no more is left of it but what rounding did */
#define UNLIMITED  1e29
#define TINY       1e-14
#define IMPROVES   1e-9
#define NORM_LEAST 1e-8

enum {
	FRESH_EVERY = 120,
	COMPUTE_EVERY = 15,
	RESOLVE_MOST = 60,
	FEW_PART = 8, /* of the rows: fewer are gone through one by one */
	PIVOTS_MOST = 5000,
	FAILURES_MOST = 20
};

/* The variables that have a part: columns that are used, then logicals. */
static size_t
first_variable(const struct lp *lp)
{
	return lp->used > 0 ? 0 : lp->columns;
}

static size_t
next_variable(const struct lp *lp, size_t j)
{
	return j + 1 == lp->used ? lp->columns : j + 1;
}

static size_t
variables(const struct lp *lp)
{
	return lp->used + lp->rows;
}

static void
logical_basis(struct lp *lp)
{
	size_t m = lp->rows;

	memset(lp->inverse, 0, m * m * sizeof *lp->inverse);
	for (size_t j = 0; j < lp->columns; j++)
		lp->place[j] = -1;
	lp->norms_known = true;
	for (size_t i = 0; i < m; i++) {
		lp->basic[i] = lp->columns + i;
		lp->place[lp->columns + i] = (int)i;
		lp->norm[i] = 1;
		lp->inverse[i * m + i] = -1; /* a logical's column is minus a unit */
	}
	lp->pivots = 0;
	lp->computed = SIZE_MAX;
}

void
lp_init(struct lp *lp, size_t rows, size_t columns, size_t entries)
{
	size_t all = rows + columns;

	*lp = (struct lp){.rows = rows, .columns = columns, .used = columns, .rows_room = rows};
	lp->cost = mem_zero(all, sizeof *lp->cost);
	lp->least = mem_zero(all, sizeof *lp->least);
	lp->most = mem_zero(all, sizeof *lp->most);
	lp->start = mem_zero(columns + 1, sizeof *lp->start);
	lp->row = mem_zero(entries, sizeof *lp->row);
	lp->entry = mem_zero(entries, sizeof *lp->entry);
	lp->inverse = mem_alloc(rows * rows * sizeof *lp->inverse);
	lp->line = mem_zero(rows, sizeof *lp->line);
	lp->along = mem_zero(rows, sizeof *lp->along);
	lp->norm = mem_zero(rows, sizeof *lp->norm);
	lp->basic = mem_zero(rows, sizeof *lp->basic);
	lp->place = mem_zero(all, sizeof *lp->place);
	lp->at_most = mem_zero(all, sizeof *lp->at_most);
	lp->x = mem_zero(all, sizeof *lp->x);
	lp->left_out = mem_zero(all, sizeof *lp->left_out);
	lp->reduced = mem_zero(all, sizeof *lp->reduced);
	lp->price = mem_zero(rows, sizeof *lp->price);
	lp->ray = mem_zero(rows, sizeof *lp->ray);
	lp->work_row = mem_zero(all, sizeof *lp->work_row);
	lp->ratio = mem_zero(all, sizeof *lp->ratio);
	lp->work_column = mem_zero(rows, sizeof *lp->work_column);
	lp->work_index = mem_zero(rows, sizeof *lp->work_index);
	lp->helper = mem_zero(all, sizeof *lp->helper);
	logical_basis(lp);
}

void
lp_free(struct lp *lp)
{
	free(lp->cost);
	free(lp->least);
	free(lp->most);
	free(lp->start);
	free(lp->row);
	free(lp->entry);
	free(lp->inverse);
	free(lp->line);
	free(lp->along);
	free(lp->norm);
	free(lp->basic);
	free(lp->place);
	free(lp->at_most);
	free(lp->x);
	free(lp->left_out);
	free(lp->reduced);
	free(lp->price);
	free(lp->ray);
	free(lp->work_row);
	free(lp->ratio);
	free(lp->work_column);
	free(lp->work_index);
	free(lp->helper);
}

void
lp_restart(struct lp *lp, size_t rows, size_t columns, size_t used)
{
	size_t all = rows + columns;

	lp->rows = rows;
	lp->columns = columns;
	lp->used = used;
	memset(lp->cost, 0, all * sizeof *lp->cost);
	memset(lp->least, 0, all * sizeof *lp->least);
	memset(lp->most, 0, all * sizeof *lp->most);
	memset(lp->start, 0, (columns + 1) * sizeof *lp->start);
	memset(lp->at_most, 0, all * sizeof *lp->at_most);
	memset(lp->x, 0, all * sizeof *lp->x);
	logical_basis(lp);
}

void
lp_add_rows(struct lp *lp, size_t count)
{
	assert(lp->rows + count <= lp->rows_room);
	for (size_t i = lp->rows; i < lp->rows + count; i++) {
		size_t j = lp->columns + i;

		lp->cost[j] = lp->x[j] = 0;
		lp->at_most[j] = false;
		lp->basic[i] = j;
		lp->place[j] = (int)i;
	}
	lp->rows += count;
	lp->pivots = FRESH_EVERY + 1; /* the inverse is no longer one */
	lp->computed = SIZE_MAX;
}

/* values . column j */
static double
times_column(const struct lp *lp, const double *values, size_t j)
{
	double sum = 0;

	if (j >= lp->columns)
		return -values[j - lp->columns];
	for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
		sum += values[lp->row[k]] * lp->entry[k];
	return sum;
}

/* ---- the inverse, column by column: all that runs over it runs down columns ---- */

/* to += by x from */
static void
add_times(double *restrict to, double by, const double *restrict from, size_t count)
{
	for (size_t i = 0; i < count; i++)
		to[i] += by * from[i];
}

/* The same, and along gets what `from` has in common with what `to` was: the sum of products. */
static void
add_times_along(double *restrict to, double by, const double *restrict from, double *restrict along,
                size_t count)
{
	for (size_t i = 0; i < count; i++) {
		along[i] += by * to[i];
		to[i] += by * from[i];
	}
}

double
dot(const double *a, const double *b, size_t count)
{
	double sum[4] = {0, 0, 0, 0};
	size_t i = 0;

	for (; i + 4 <= count; i += 4)
		for (size_t k = 0; k < 4; k++)
			sum[k] += a[i + k] * b[i + k];
	for (; i < count; i++)
		sum[0] += a[i] * b[i];
	return sum[0] + sum[1] + (sum[2] + sum[3]);
}

/* to += by x from; norm += from's squares */
static void
add_column(double *restrict to, double by, const double *restrict from, double *restrict norm,
           size_t count)
{
	for (size_t i = 0; i < count; i++) {
		to[i] += by * from[i];
		norm[i] += from[i] * from[i];
	}
}

static double *
inverse_column(const struct lp *lp, size_t k)
{
	return lp->inverse + k * lp->rows;
}

/* Row r of the inverse, into line. */
static void
take_line(struct lp *lp, size_t r)
{
	for (size_t k = 0; k < lp->rows; k++)
		lp->line[k] = lp->inverse[k * lp->rows + r];
}

/* out = inverse x column j */
static void
solve_column(const struct lp *lp, size_t j, double *out)
{
	size_t m = lp->rows;

	memset(out, 0, m * sizeof *out);
	if (j >= lp->columns) {
		add_times(out, -1, inverse_column(lp, j - lp->columns), m);
		return;
	}
	for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
		add_times(out, lp->entry[k], inverse_column(lp, lp->row[k]), m);
}

/* What of the inverse's columns an elimination touches: all rows, or those listed, few. */
struct touched {
	const double *column;
	const uint32_t *row;
	size_t rows;
	bool few;
};

static void
subtract_times(const struct touched *at, double by, double *restrict to, double *restrict along,
               size_t count)
{
	if (!at->few) {
		if (along != NULL)
			add_times_along(to, -by, at->column, along, count);
		else
			add_times(to, -by, at->column, count);
		return;
	}
	for (size_t n = 0; n < at->rows; n++) {
		size_t i = at->row[n];

		if (along != NULL)
			along[i] -= by * to[i];
		to[i] -= by * at->column[i];
	}
}

/* One elimination step: row r of the inverse, in line, becomes that of a column whose image is in
 * work_column. With norms, those are kept up: |a - f b|^2 = |a|^2 - 2 f a.b + f^2 |b|^2. */
static void
eliminate(struct lp *lp, size_t r, bool norms)
{
	size_t m = lp->rows, count = 0;
	double *column = lp->work_column, alpha = column[r], norm = 0;
	struct touched at = {.column = column, .row = lp->work_index};

	column[r] = 0;
	for (size_t i = 0; i < m; i++)
		if (column[i] != 0)
			lp->work_index[at.rows++] = (uint32_t)i;
	at.few = at.rows < m / FEW_PART;
	if (norms)
		memset(lp->along, 0, m * sizeof *lp->along);
	for (size_t k = 0; k < m; k++) {
		double *to = inverse_column(lp, k), scaled = lp->line[k] / alpha;

		if (lp->line[k] == 0)
			continue;
		to[r] = fabs(scaled) < TINY ? 0 : scaled;
		if (to[r] == 0)
			continue;
		norm += scaled * scaled;
		count++;
		subtract_times(&at, scaled, to, norms ? lp->along : NULL, m);
	}
	column[r] = alpha;
	lp->work += at.rows * count / 16 + m / 8;
	if (!norms)
		return;
	lp->norm[r] = norm;
	for (size_t n = 0; n < at.rows; n++) {
		size_t i = at.row[n];
		double f = column[i], now = lp->norm[i] + 2 * f * lp->along[i] + f * f * norm;

		lp->norm[i] = now > NORM_LEAST ? now : NORM_LEAST;
	}
}

/* Inverts the basis anew: from the logicals, each column of the basis takes the row where it is
 * largest among those whose logical is to leave. A column that fits nowhere is left out. */
static void
fresh_inverse(struct lp *lp)
{
	size_t m = lp->rows, count = 0;
	size_t *wanted = mem_alloc(m * sizeof *wanted);
	bool *stays = mem_zero(m, sizeof *stays);

	for (size_t i = 0; i < m; i++)
		if (lp->basic[i] < lp->columns)
			wanted[count++] = lp->basic[i];
		else
			stays[lp->basic[i] - lp->columns] = true;
	logical_basis(lp);
	for (size_t n = 0; n < count; n++) {
		size_t q = wanted[n], r = SIZE_MAX;
		double largest = 1e-9;

		solve_column(lp, q, lp->work_column);
		for (size_t i = 0; i < m; i++)
			if (lp->basic[i] >= lp->columns && !stays[lp->basic[i] - lp->columns] &&
			    fabs(lp->work_column[i]) > largest) {
				largest = fabs(lp->work_column[i]);
				r = i;
			}
		if (r == SIZE_MAX)
			continue;
		take_line(lp, r);
		eliminate(lp, r, false);
		lp->place[lp->basic[r]] = -1;
		lp->basic[r] = q;
		lp->place[q] = (int)r;
	}
	free(wanted);
	free(stays);
}

/* A column that is nothing but 0: it has no part in anything. */
static bool
is_void(const struct lp *lp, size_t j)
{
	return lp->least[j] == 0 && lp->most[j] == 0;
}

/* Which bound a variable that is not basic rests on, for the basis to be dual feasible. */
static bool
rests_at_most(const struct lp *lp, size_t j)
{
	if (lp->most[j] > UNLIMITED)
		return false;
	if (lp->least[j] < -UNLIMITED)
		return true;
	return fabs(lp->reduced[j]) > 1e-12 ? lp->reduced[j] < 0 : lp->at_most[j];
}

/* Prices, reduced costs and values from the basis; sides too, such that the basis is dual
 * feasible, unless they are to be kept. */
static void
compute_all(struct lp *lp, bool keep_sides)
{
	size_t m = lp->rows, all = m + lp->columns;

	for (size_t i = 0; i < m; i++)
		lp->along[i] = lp->cost[lp->basic[i]];
	for (size_t k = 0; k < m; k++)
		lp->price[k] = dot(lp->along, inverse_column(lp, k), m);
	memset(lp->work_column, 0, m * sizeof *lp->work_column);
	for (size_t j = first_variable(lp); j < all; j = next_variable(lp, j)) {
		if (lp->place[j] >= 0) {
			lp->reduced[j] = 0;
			continue;
		}
		lp->left_out[j] = is_void(lp, j);
		if (lp->left_out[j]) {
			lp->x[j] = 0;
			continue;
		}
		lp->reduced[j] = lp->cost[j] - times_column(lp, lp->price, j);
		if (lp->most[j] > UNLIMITED)
			lp->at_most[j] = false;
		else if (!keep_sides || lp->least[j] < -UNLIMITED)
			lp->at_most[j] = rests_at_most(lp, j);
		lp->x[j] = lp->at_most[j] ? lp->most[j] : lp->least[j];
		if (lp->x[j] == 0)
			continue;
		if (j >= lp->columns)
			lp->work_column[j - lp->columns] += lp->x[j];
		else
			for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
				lp->work_column[lp->row[k]] -= lp->x[j] * lp->entry[k];
	}
	memset(lp->along, 0, m * sizeof *lp->along);
	memset(lp->norm, 0, m * sizeof *lp->norm);
	for (size_t k = 0; k < m; k++)
		add_column(lp->along, lp->work_column[k], inverse_column(lp, k), lp->norm, m);
	for (size_t i = 0; i < m; i++) {
		if (lp->norm[i] < NORM_LEAST)
			lp->norm[i] = NORM_LEAST;
		lp->x[lp->basic[i]] = lp->along[i];
	}
	lp->norms_known = true;
	lp->computed = lp->pivots;
	lp->work += (m * m + variables(lp) * 3) / 16;
}

/* The basic variable that is furthest outside its bounds, for the steepness of its edge. */
static size_t
leaving_row(const struct lp *lp, bool *below)
{
	size_t found = SIZE_MAX;
	double worst = 0;

	for (size_t i = 0; i < lp->rows; i++) {
		size_t j = lp->basic[i];
		double slack = FEASIBLE * (1 + fabs(lp->x[j]));
		double under = lp->least[j] - lp->x[j], over = lp->x[j] - lp->most[j];
		double out = under > over ? under : over;

		if (out > slack && out * out > worst * lp->norm[i]) {
			worst = out * out / lp->norm[i];
			found = i;
			*below = under > over;
		}
	}
	return found;
}

/* Those that can take the place of a basic variable that is below (above) its bounds, into helper:
 * what at its bound can move it toward them. At its least a variable can grow, at its most shrink.
 */
static size_t
list_entering(struct lp *lp, const double *line, bool below)
{
	size_t all = lp->rows + lp->columns, count = 0;

	for (size_t j = first_variable(lp); j < all; j = next_variable(lp, j)) {
		double entry, toward;

		if (lp->place[j] >= 0 || is_void(lp, j))
			continue;
		entry = lp->work_row[j] = times_column(lp, line, j);
		toward = below == lp->at_most[j] ? entry : -entry;
		if (toward < PIVOT || lp->least[j] == lp->most[j])
			continue;
		lp->ratio[j] = fabs(lp->reduced[j]) / toward;
		lp->helper[count++] = (uint32_t)j;
	}
	return count;
}

/* A variable that is not basic takes another value; what that does to the rows' sums is added to
 * work_column. */
static void
move_to(struct lp *lp, size_t j, double to)
{
	double by = to - lp->x[j];

	if (by == 0)
		return;
	lp->x[j] = to;
	if (j >= lp->columns)
		lp->work_column[j - lp->columns] += by;
	else
		for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
			lp->work_column[lp->row[k]] -= by * lp->entry[k];
}

static void
change_over(struct lp *lp, size_t j)
{
	lp->at_most[j] = !lp->at_most[j];
	move_to(lp, j, lp->at_most[j] ? lp->most[j] : lp->least[j]);
}

/* The basic variables after changes of those at bounds that are added up in work_column. */
static void
follow_changes(struct lp *lp)
{
	size_t m = lp->rows, count = 0;

	memset(lp->along, 0, m * sizeof *lp->along);
	for (size_t k = 0; k < m; k++) {
		if (lp->work_column[k] == 0)
			continue;
		add_times(lp->along, lp->work_column[k], inverse_column(lp, k), m);
		count++;
	}
	for (size_t i = 0; i < m; i++)
		lp->x[lp->basic[i]] += lp->along[i];
	lp->work += m * count / 16;
}

/* Ratio test in two passes (Harris 1973): how far the multipliers can go if reduced costs may
 * pass zero by a hair, then the variable with the largest entry within that. Where the leaving
 * variable would still be out of its bounds (by `out`) with all of those changed over to their
 * other bounds, they are, and the test goes on from there. */
static size_t
entering(struct lp *lp, const double *line, bool below, double out)
{
	size_t count = list_entering(lp, line, below);
	bool changed = false;

	for (;;) {
		double reach = INFINITY, size = 0, taken = 0;
		size_t found = SIZE_MAX, kept = 0;

		for (size_t i = 0; i < count; i++) {
			size_t j = lp->helper[i];
			double hair = lp->ratio[j] + HAIR / fabs(lp->work_row[j]);

			if (hair < reach)
				reach = hair;
		}
		for (size_t i = 0; i < count; i++) {
			size_t j = lp->helper[i];
			double entry = fabs(lp->work_row[j]);

			if (lp->ratio[j] > reach)
				continue;
			taken += entry * (lp->most[j] - lp->least[j]);
			if (entry > size) {
				size = entry;
				found = j;
			}
		}
		if (found == SIZE_MAX || taken >= out - NEARLY * (1 + out)) {
			if (changed)
				follow_changes(lp);
			return found;
		}
		if (!changed)
			memset(lp->work_column, 0, lp->rows * sizeof *lp->work_column);
		changed = true;
		out -= taken;
		for (size_t i = 0; i < count; i++)
			if (lp->ratio[lp->helper[i]] <= reach)
				change_over(lp, lp->helper[i]);
			else
				lp->helper[kept++] = lp->helper[i];
		count = kept;
	}
}

/* Exchanges the basic variable of row r, whose line is taken, for q. False, nothing changed, where
 * row and column do not agree on the pivot: the inverse has worn. */
static bool
pivot(struct lp *lp, size_t r, size_t q, bool below, bool norms)
{
	size_t m = lp->rows, all = m + lp->columns, p = lp->basic[r];
	double *column = lp->work_column;
	double alpha, bound = below ? lp->least[p] : lp->most[p], move, dual;

	solve_column(lp, q, column);
	alpha = column[r];
	if (fabs(alpha - lp->work_row[q]) > WORN * (1 + fabs(alpha)))
		return false;
	move = (lp->x[p] - bound) / alpha;
	dual = lp->reduced[q] / alpha;
	for (size_t j = first_variable(lp); j < all; j = next_variable(lp, j))
		if (lp->place[j] < 0 && !is_void(lp, j))
			lp->reduced[j] -= dual * lp->work_row[j];
	lp->reduced[q] = 0;
	lp->reduced[p] = -dual;
	for (size_t k = 0; k < m; k++)
		lp->price[k] += dual * lp->line[k];
	for (size_t i = 0; i < m; i++)
		lp->x[lp->basic[i]] -= move * column[i];
	lp->x[q] += move;
	lp->x[p] = bound;
	eliminate(lp, r, norms);
	lp->norms_known = norms;
	lp->basic[r] = q;
	lp->place[q] = (int)r;
	lp->place[p] = -1;
	lp->at_most[p] = !below;
	lp->left_out[p] = is_void(lp, p);
	lp->pivots++;
	lp->work += variables(lp) / 2;
	return true;
}

/* By the multipliers: true whatever the basic variables' values have come to. */
double
lp_objective(const struct lp *lp)
{
	double sum = 0;

	for (size_t j = first_variable(lp); j < lp->rows + lp->columns; j = next_variable(lp, j))
		if (lp->place[j] < 0 && lp->x[j] != 0)
			sum += lp->reduced[j] * lp->x[j];
	return sum;
}

/* Do the values add up to the rows' sums? Else the inverse has worn. */
static bool
adds_up(struct lp *lp)
{
	double *sum = lp->work_column;

	memset(sum, 0, lp->rows * sizeof *sum);
	for (size_t j = 0; j < lp->used; j++)
		if (lp->x[j] != 0)
			for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
				sum[lp->row[k]] += lp->x[j] * lp->entry[k];
	for (size_t i = 0; i < lp->rows; i++)
		if (fabs(sum[i] - lp->x[lp->columns + i]) > WORN * (1 + fabs(sum[i])))
			return false;
	return true;
}

static void
start_afresh(struct lp *lp)
{
	fresh_inverse(lp);
	compute_all(lp, false);
}

/* Puts every variable that is not basic on its bound, where bounds have changed. */
static void
follow_bounds(struct lp *lp)
{
	size_t all = lp->rows + lp->columns;

	memset(lp->work_column, 0, lp->rows * sizeof *lp->work_column);
	for (size_t j = first_variable(lp); j < all; j = next_variable(lp, j)) {
		if (lp->place[j] >= 0)
			continue;
		if (lp->left_out[j] && !is_void(lp, j))
			lp->reduced[j] = lp->cost[j] - times_column(lp, lp->price, j);
		lp->left_out[j] = is_void(lp, j);
		lp->at_most[j] = rests_at_most(lp, j);
		move_to(lp, j, lp->at_most[j] ? lp->most[j] : lp->least[j]);
	}
	lp->work += variables(lp) / 16;
	follow_changes(lp);
}

static enum lp_end
go_on(struct lp *lp, double enough)
{
	size_t failures = 0;

	for (size_t n = 0; n < PIVOTS_MOST; n++) {
		bool below = false;
		size_t r, q, p;

		if (lp->pivots > FRESH_EVERY)
			start_afresh(lp);
		if (n % 8 == 7 && lp_objective(lp) > enough) {
			compute_all(lp, false);
			if (lp_objective(lp) > enough)
				return LP_ENOUGH;
		}
		r = leaving_row(lp, &below);
		if (r == SIZE_MAX) {
			if (adds_up(lp))
				return LP_BEST;
			if (failures++ >= FAILURES_MOST)
				return LP_TROUBLE;
			start_afresh(lp);
			continue;
		}
		p = lp->basic[r];
		take_line(lp, r);
		q = entering(lp, lp->line, below,
		             below ? lp->least[p] - lp->x[p] : lp->x[p] - lp->most[p]);
		if (q == SIZE_MAX) {
			if (lp->pivots > 0 && failures++ < FAILURES_MOST) {
				start_afresh(lp);
				continue;
			}
			for (size_t k = 0; k < lp->rows; k++)
				lp->ray[k] = (below ? -1 : 1) * lp->line[k];
			return LP_NONE;
		}
		if (pivot(lp, r, q, below, true))
			continue;
		if (failures++ >= FAILURES_MOST)
			return LP_TROUBLE;
		start_afresh(lp);
	}
	return LP_TROUBLE;
}

enum lp_end
lp_solve(struct lp *lp, double enough)
{
	if (lp->pivots > FRESH_EVERY)
		fresh_inverse(lp);
	compute_all(lp, false);
	return go_on(lp, enough);
}

enum lp_end
lp_resolve(struct lp *lp, double enough)
{
	if (lp->pivots > FRESH_EVERY || !lp->norms_known || lp->computed == SIZE_MAX ||
	    lp->pivots - lp->computed > RESOLVE_MOST)
		return lp_solve(lp, enough);
	follow_bounds(lp);
	return go_on(lp, enough);
}

/* ---- a basis to come back to ---- */

void
lp_keep_basis(const struct lp *lp, struct lp_basis *kept)
{
	size_t m = lp->rows, all = m + lp->columns;

	if (kept->rows != m || kept->variables != all) {
		lp_free_basis(kept);
		*kept = (struct lp_basis){.rows = m, .variables = all};
		kept->inverse = mem_alloc(m * m * sizeof *kept->inverse);
		kept->basic = mem_alloc(m * sizeof *kept->basic);
		kept->at_most = mem_alloc(all * sizeof *kept->at_most);
	}
	memcpy(kept->inverse, lp->inverse, m * m * sizeof *kept->inverse);
	memcpy(kept->basic, lp->basic, m * sizeof *kept->basic);
	memcpy(kept->at_most, lp->at_most, all * sizeof *kept->at_most);
	kept->pivots = lp->pivots;
}

void
lp_return_to(struct lp *lp, const struct lp_basis *kept)
{
	size_t m = lp->rows, all = m + lp->columns;

	memcpy(lp->inverse, kept->inverse, m * m * sizeof *kept->inverse);
	memcpy(lp->basic, kept->basic, m * sizeof *kept->basic);
	memcpy(lp->at_most, kept->at_most, all * sizeof *kept->at_most);
	for (size_t j = 0; j < all; j++)
		lp->place[j] = -1;
	for (size_t i = 0; i < m; i++)
		lp->place[lp->basic[i]] = (int)i;
	lp->pivots = kept->pivots;
	lp->computed = SIZE_MAX;
	lp->work += m * m / 16;
}

void
lp_free_basis(struct lp_basis *kept)
{
	free(kept->inverse);
	free(kept->basic);
	free(kept->at_most);
	*kept = (struct lp_basis){0};
}

/* ---- the primal method ---- */

void
lp_price_column(struct lp *lp, size_t j)
{
	if (lp->used <= j)
		lp->used = j + 1;
	lp->place[j] = -1;
	lp->at_most[j] = false;
	lp->x[j] = 0;
	lp->reduced[j] = lp->cost[j] - times_column(lp, lp->price, j);
}

/* The variable at a bound whose way from it lowers the cost fastest. */
static size_t
improving(const struct lp *lp)
{
	size_t found = SIZE_MAX;
	double most = IMPROVES;

	for (size_t j = first_variable(lp); j < lp->rows + lp->columns; j = next_variable(lp, j)) {
		double gain;

		if (lp->place[j] >= 0 || lp->least[j] == lp->most[j])
			continue;
		gain = lp->at_most[j] ? lp->reduced[j] : -lp->reduced[j];
		if (gain > most) {
			most = gain;
			found = j;
		}
	}
	return found;
}

/* How far a basic variable can go that changes by `change` for each unit of the entering one. */
static double
room_of(const struct lp *lp, size_t j, double change, double hair)
{
	double room = change > 0 ? lp->most[j] - lp->x[j] : lp->x[j] - lp->least[j];

	if (fabs(change) < PIVOT || room > UNLIMITED)
		return INFINITY;
	return (room > 0 ? room + hair : hair) / fabs(change);
}

/* The row whose variable stops the entering one (direction 1 up, -1 down), in two passes like
 * entering(); SIZE_MAX: its own other bound comes first. */
static size_t
stopping_row(const struct lp *lp, size_t q, double direction)
{
	double reach = INFINITY, size = 0, own = lp->most[q] - lp->least[q];
	size_t found = SIZE_MAX;

	for (size_t i = 0; i < lp->rows; i++) {
		double room = room_of(lp, lp->basic[i], -direction * lp->work_column[i], FEASIBLE);

		if (room < reach)
			reach = room;
	}
	if (own <= reach)
		return SIZE_MAX;
	for (size_t i = 0; i < lp->rows; i++)
		if (room_of(lp, lp->basic[i], -direction * lp->work_column[i], 0) <= reach &&
		    fabs(lp->work_column[i]) > size) {
			size = fabs(lp->work_column[i]);
			found = i;
		}
	return found;
}

static void
turn_over(struct lp *lp, size_t q, double direction)
{
	double range = lp->most[q] - lp->least[q];

	for (size_t i = 0; i < lp->rows; i++)
		lp->x[lp->basic[i]] -= direction * range * lp->work_column[i];
	lp->x[q] += direction * range;
	lp->at_most[q] = !lp->at_most[q];
}

enum lp_end
lp_improve(struct lp *lp)
{
	size_t m = lp->rows;

	if (lp->pivots > FRESH_EVERY)
		fresh_inverse(lp);
	if (lp->pivots == 0 || lp->computed == SIZE_MAX ||
	    lp->pivots - lp->computed > COMPUTE_EVERY)
		compute_all(lp, true);
	for (size_t n = 0; n < PIVOTS_MOST; n++) {
		size_t q = improving(lp), r;
		double direction;
		bool below;

		if (q == SIZE_MAX)
			return LP_BEST;
		direction = lp->at_most[q] ? -1 : 1;
		solve_column(lp, q, lp->work_column);
		lp->work += m / 4;
		r = stopping_row(lp, q, direction);
		if (r == SIZE_MAX) {
			if (lp->most[q] - lp->least[q] > UNLIMITED)
				return LP_TROUBLE;
			turn_over(lp, q, direction);
			continue;
		}
		below = direction * lp->work_column[r] > 0;
		take_line(lp, r);
		for (size_t j = first_variable(lp); j < m + lp->columns; j = next_variable(lp, j))
			if (lp->place[j] < 0 && !is_void(lp, j))
				lp->work_row[j] = times_column(lp, lp->line, j);
		if (!pivot(lp, r, q, below, false)) {
			if (lp->pivots == 0)
				return LP_TROUBLE;
			fresh_inverse(lp);
			compute_all(lp, true);
		}
	}
	return LP_TROUBLE;
}
