#include "plan/simplex.h"

#include "base/mem.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FEASIBLE  1e-9
#define PIVOT     1e-8
#define UNLIMITED 1e29

enum { FRESH_EVERY = 120, PIVOTS_MOST = 5000 };

void
lp_init(struct lp *lp, size_t rows, size_t columns, size_t entries)
{
	size_t all = rows + columns;

	*lp = (struct lp){.rows = rows, .columns = columns};
	lp->cost = mem_zero(all, sizeof *lp->cost);
	lp->least = mem_zero(all, sizeof *lp->least);
	lp->most = mem_zero(all, sizeof *lp->most);
	lp->start = mem_zero(columns + 1, sizeof *lp->start);
	lp->row = mem_zero(entries, sizeof *lp->row);
	lp->entry = mem_zero(entries, sizeof *lp->entry);
	lp->inverse = mem_zero(rows * rows, sizeof *lp->inverse);
	lp->basic = mem_zero(rows, sizeof *lp->basic);
	lp->place = mem_zero(all, sizeof *lp->place);
	lp->at_most = mem_zero(all, sizeof *lp->at_most);
	lp->x = mem_zero(all, sizeof *lp->x);
	lp->reduced = mem_zero(all, sizeof *lp->reduced);
	lp->price = mem_zero(rows, sizeof *lp->price);
	lp->ray = mem_zero(rows, sizeof *lp->ray);
	lp->work_row = mem_zero(all, sizeof *lp->work_row);
	lp->work_column = mem_zero(rows, sizeof *lp->work_column);
	for (size_t j = 0; j < all; j++)
		lp->place[j] = j < columns ? -1 : (int)(j - columns);
	for (size_t i = 0; i < rows; i++) {
		lp->basic[i] = columns + i;
		lp->inverse[i * rows + i] = -1; /* a logical's column is minus a unit */
	}
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
	free(lp->basic);
	free(lp->place);
	free(lp->at_most);
	free(lp->x);
	free(lp->reduced);
	free(lp->price);
	free(lp->ray);
	free(lp->work_row);
	free(lp->work_column);
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

/* out = inverse x column j */
static void
solve_column(const struct lp *lp, size_t j, double *out)
{
	size_t m = lp->rows;

	if (j >= lp->columns) {
		for (size_t i = 0; i < m; i++)
			out[i] = -lp->inverse[i * m + (j - lp->columns)];
		return;
	}
	for (size_t i = 0; i < m; i++) {
		const double *line = lp->inverse + i * m;
		double sum = 0;

		for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
			sum += line[lp->row[k]] * lp->entry[k];
		out[i] = sum;
	}
}

/* Inverts the basis anew by Gauss-Jordan with row exchanges; false where it is singular. */
static bool
fresh_inverse(struct lp *lp)
{
	size_t m = lp->rows;
	double *base = mem_zero(m * m, sizeof *base), *inverse = lp->inverse;
	bool regular = true;

	for (size_t c = 0; c < m; c++) {
		size_t j = lp->basic[c];

		if (j >= lp->columns) {
			base[(j - lp->columns) * m + c] = -1;
			continue;
		}
		for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
			base[lp->row[k] * m + c] += lp->entry[k];
	}
	memset(inverse, 0, m * m * sizeof *inverse);
	for (size_t i = 0; i < m; i++)
		inverse[i * m + i] = 1;
	for (size_t c = 0; c < m && regular; c++) {
		size_t pivot = c;
		double scale;

		for (size_t i = c + 1; i < m; i++)
			if (fabs(base[i * m + c]) > fabs(base[pivot * m + c]))
				pivot = i;
		if (fabs(base[pivot * m + c]) < 1e-11) {
			regular = false;
			break;
		}
		for (size_t k = 0; pivot != c && k < m; k++) {
			double t = base[c * m + k];

			base[c * m + k] = base[pivot * m + k];
			base[pivot * m + k] = t;
			t = inverse[c * m + k];
			inverse[c * m + k] = inverse[pivot * m + k];
			inverse[pivot * m + k] = t;
		}
		scale = 1 / base[c * m + c];
		for (size_t k = 0; k < m; k++) {
			base[c * m + k] *= scale;
			inverse[c * m + k] *= scale;
		}
		for (size_t i = 0; i < m; i++) {
			double f = base[i * m + c];

			if (i == c || f == 0)
				continue;
			for (size_t k = c; k < m; k++)
				base[i * m + k] -= f * base[c * m + k];
			for (size_t k = 0; k < m; k++)
				inverse[i * m + k] -= f * inverse[c * m + k];
		}
	}
	lp->work += m * m * (m / 8 + 1) / 8;
	lp->pivots = 0;
	free(base);
	return regular;
}

static void
logical_basis(struct lp *lp)
{
	size_t m = lp->rows;

	memset(lp->inverse, 0, m * m * sizeof *lp->inverse);
	for (size_t j = 0; j < lp->columns; j++)
		lp->place[j] = -1;
	for (size_t i = 0; i < m; i++) {
		lp->basic[i] = lp->columns + i;
		lp->place[lp->columns + i] = (int)i;
		lp->inverse[i * m + i] = -1;
	}
	lp->pivots = 0;
}

/* Prices, reduced costs, sides and values from the basis. */
static void
compute_all(struct lp *lp)
{
	size_t m = lp->rows, all = m + lp->columns;

	memset(lp->price, 0, m * sizeof *lp->price);
	for (size_t i = 0; i < m; i++) {
		double cost = lp->cost[lp->basic[i]];

		if (cost != 0)
			for (size_t k = 0; k < m; k++)
				lp->price[k] += cost * lp->inverse[i * m + k];
	}
	memset(lp->work_column, 0, m * sizeof *lp->work_column);
	for (size_t j = 0; j < all; j++) {
		if (lp->place[j] >= 0) {
			lp->reduced[j] = 0;
			continue;
		}
		lp->reduced[j] = lp->cost[j] - times_column(lp, lp->price, j);
		if (lp->reduced[j] > 1e-12 || lp->most[j] > UNLIMITED)
			lp->at_most[j] = false;
		else if (lp->reduced[j] < -1e-12 || lp->least[j] < -UNLIMITED)
			lp->at_most[j] = true;
		lp->x[j] = lp->at_most[j] ? lp->most[j] : lp->least[j];
		if (lp->x[j] == 0)
			continue;
		if (j >= lp->columns)
			lp->work_column[j - lp->columns] += lp->x[j];
		else
			for (size_t k = lp->start[j]; k < lp->start[j + 1]; k++)
				lp->work_column[lp->row[k]] -= lp->x[j] * lp->entry[k];
	}
	for (size_t i = 0; i < m; i++) {
		const double *line = lp->inverse + i * m;
		double sum = 0;

		for (size_t k = 0; k < m; k++)
			sum += line[k] * lp->work_column[k];
		lp->x[lp->basic[i]] = sum;
	}
	lp->work += (m * m + all * 3) / 8;
}

/* The basic variable that is furthest outside its bounds, for its size. */
static size_t
leaving_row(const struct lp *lp, bool *below)
{
	size_t found = SIZE_MAX;
	double worst = 0;

	for (size_t i = 0; i < lp->rows; i++) {
		size_t j = lp->basic[i];
		double slack = FEASIBLE * (1 + fabs(lp->x[j]));
		double under = lp->least[j] - lp->x[j], over = lp->x[j] - lp->most[j];

		if (under > slack && under > worst) {
			worst = under;
			found = i;
			*below = true;
		}
		if (over > slack && over > worst) {
			worst = over;
			found = i;
			*below = false;
		}
	}
	return found;
}

/* Ratio test: the variable that enters; its side's reduced cost reaches zero first. */
static size_t
entering(struct lp *lp, const double *line, bool below)
{
	size_t all = lp->rows + lp->columns, found = SIZE_MAX;
	double least = INFINITY, size = 0;

	for (size_t j = 0; j < all; j++) {
		double alpha, toward, ratio;

		if (lp->place[j] >= 0)
			continue;
		alpha = times_column(lp, line, j);
		lp->work_row[j] = alpha;
		if (lp->least[j] == lp->most[j])
			continue;
		toward = below ? alpha : -alpha;
		/* At its least it can grow, at its most shrink. */
		if (lp->at_most[j] ? toward < PIVOT : toward > -PIVOT)
			continue;
		ratio = fabs(lp->reduced[j]) / fabs(alpha);
		if (ratio < least - 1e-12 || (ratio < least + 1e-12 && fabs(alpha) > size)) {
			if (ratio < least)
				least = ratio;
			size = fabs(alpha);
			found = j;
		}
	}
	return found;
}

static void
pivot(struct lp *lp, size_t r, size_t q, bool below)
{
	size_t m = lp->rows, all = m + lp->columns, p = lp->basic[r];
	double *column = lp->work_column;
	double alpha, bound = below ? lp->least[p] : lp->most[p], move, dual;

	solve_column(lp, q, column);
	alpha = column[r];
	move = (lp->x[p] - bound) / alpha;
	dual = lp->reduced[q] / alpha;
	for (size_t j = 0; j < all; j++)
		if (lp->place[j] < 0)
			lp->reduced[j] -= dual * lp->work_row[j];
	lp->reduced[q] = 0;
	lp->reduced[p] = -dual;
	for (size_t k = 0; k < m; k++)
		lp->price[k] += dual * lp->inverse[r * m + k];
	for (size_t i = 0; i < m; i++)
		lp->x[lp->basic[i]] -= move * column[i];
	lp->x[q] += move;
	lp->x[p] = bound;
	for (size_t k = 0; k < m; k++)
		lp->inverse[r * m + k] /= alpha;
	for (size_t i = 0; i < m; i++) {
		double f = column[i];

		if (i == r || f == 0)
			continue;
		for (size_t k = 0; k < m; k++)
			lp->inverse[i * m + k] -= f * lp->inverse[r * m + k];
	}
	lp->basic[r] = q;
	lp->place[q] = (int)r;
	lp->place[p] = -1;
	lp->at_most[p] = !below;
	lp->pivots++;
	lp->work += (m * m + all * 4) / 8;
}

double
lp_objective(const struct lp *lp)
{
	double sum = 0;

	for (size_t j = 0; j < lp->rows + lp->columns; j++)
		sum += lp->cost[j] * lp->x[j];
	return sum;
}

enum lp_end
lp_solve(struct lp *lp, double enough)
{
	if (lp->pivots > FRESH_EVERY && !fresh_inverse(lp))
		logical_basis(lp);
	compute_all(lp);
	for (size_t n = 0; n < PIVOTS_MOST; n++) {
		bool below = false;
		size_t r, q;

		if (lp->pivots > FRESH_EVERY) {
			if (!fresh_inverse(lp))
				logical_basis(lp);
			compute_all(lp);
		}
		if (n % 8 == 7 && lp_objective(lp) > enough)
			return LP_ENOUGH;
		r = leaving_row(lp, &below);
		if (r == SIZE_MAX)
			return LP_BEST;
		q = entering(lp, lp->inverse + r * lp->rows, below);
		if (q == SIZE_MAX) {
			for (size_t k = 0; k < lp->rows; k++)
				lp->ray[k] = (below ? -1 : 1) * lp->inverse[r * lp->rows + k];
			return LP_NONE;
		}
		pivot(lp, r, q, below);
	}
	return LP_TROUBLE;
}
