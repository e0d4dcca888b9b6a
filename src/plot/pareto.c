#include "plot/pareto.h"

#include "base/err.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int
compare(const void *a, const void *b)
{
	const struct figures_row *left = a, *right = b;

	if (left->value->value != right->value->value)
		return left->value->value > right->value->value ? -1 : 1;
	if (strcmp(left->label, right->label) != 0)
		return strcmp(left->label, right->label);
	return strcmp(left->value->field, right->value->field);
}

static void
leave_out_empty(struct pareto *pareto, struct figures *figures)
{
	size_t kept = 0;

	for (size_t i = 0; i < figures->rows; i++)
		if (figures->row[i].value->there)
			figures->row[kept++] = figures->row[i];
	pareto->left_out = figures->rows - kept;
	figures->rows = kept;
}

static wide
sum_of(const struct figures *figures, size_t first, size_t end)
{
	wide sum = 0;

	for (size_t i = first; i < end; i++)
		sum += figures->row[i].value->value;
	return sum;
}

/* part / whole in 10^-9, halves away from zero; both above zero. Digit by digit, so that nothing
 * grows past ten times the whole: 128 bits have that of more rows than any memory. */
static wide
share_of(wide part, wide whole)
{
	wide share = part / whole, rest = part % whole;

	for (wide one = 1; one < SHARE_ONE; one *= 10) {
		const wide digit = 10 * rest / whole;

		share = 10 * share + digit;
		rest = 10 * rest - digit * whole;
	}
	return rest >= whole - rest ? share + 1 : share;
}

/* From high to low, all sums on the way to one above zero are above zero themselves. */
static void
find_shares(struct pareto *pareto, const struct figures *figures)
{
	const wide sum = sum_of(figures, 0, figures->rows);
	wide so_far = 0;

	if (sum <= 0)
		return;
	pareto->share = mem_zero(figures->rows, sizeof *pareto->share);
	for (size_t i = 0; i < figures->rows; i++) {
		so_far += figures->row[i].value->value;
		if (so_far / sum >= wide_power10(SHARES_MOST_DIGITS))
			die("the amounts above zero are 10^%d times the sum of all or more, since "
			    "others are below zero: such shares cannot be drawn, but --kind bars "
			    "can",
			    SHARES_MOST_DIGITS);
		pareto->share[i] = share_of(so_far, sum);
		if (pareto->share[i] > pareto->largest)
			pareto->largest = pareto->share[i];
		/* By the exact sums: a share may have been rounded up. */
		if (pareto->vital == 0 && so_far * 10 >= sum * 8)
			pareto->vital = i + 1;
	}
}

/* The shares are of all rows; that of the last, which stands for several, is that of all. */
static void
gather(struct pareto *pareto, struct figures *figures, size_t most)
{
	struct figures_row *last;
	char label[40];

	if (most == 0 || figures->rows <= most + 1)
		return;
	pareto->gathered = figures->rows - most;
	last = &figures->row[most];
	last->value->value = sum_of(figures, most, figures->rows);
	last->value->field = NULL;
	snprintf(label, sizeof label, "%zu others", pareto->gathered);
	last->label = arena_copy(&figures->arena, label, strlen(label));
	if (pareto->share != NULL)
		pareto->share[most] = pareto->share[figures->rows - 1];
	figures->rows = most + 1;
}

void
pareto_make(struct pareto *pareto, struct figures *figures, size_t most)
{
	*pareto = (struct pareto){0};
	leave_out_empty(pareto, figures);
	qsort(figures->row, figures->rows, sizeof *figures->row, compare);
	find_shares(pareto, figures);
	gather(pareto, figures, most);
}

void
pareto_free(struct pareto *pareto)
{
	free(pareto->share);
	*pareto = (struct pareto){0};
}
