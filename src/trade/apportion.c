#include "trade/apportion.h"

#include <stdlib.h>

struct remainder {
	wide left; /* of total x weight, modulo the sum of weights */
	size_t party;
};

static int
largest_first(const void *a, const void *b)
{
	const struct remainder *x = a, *y = b;

	if (x->left != y->left)
		return x->left > y->left ? -1 : 1;
	return (x->party > y->party) - (x->party < y->party);
}

bool
apportion(wide total, const wide *weight, size_t count, wide *share)
{
	wide sum = 0, units = total < 0 ? -total : total, left = units, sign = total < 0 ? -1 : 1;
	struct remainder *remainder;
	bool fits = true;

	for (size_t i = 0; i < count; i++) {
		share[i] = 0;
		fits = fits && wide_add(sum, weight[i], &sum);
	}
	if (!fits || count == 0)
		return fits;
	if (sum == 0) {
		share[0] = total;
		return true;
	}
	remainder = mem_alloc(count * sizeof *remainder);
	for (size_t i = 0; i < count && fits; i++) {
		wide quota = 0;

		fits = wide_mul(units, weight[i], &quota);
		share[i] = quota / sum;
		left -= share[i];
		remainder[i] = (struct remainder){quota % sum, i};
	}
	if (fits)
		qsort(remainder, count, sizeof *remainder, largest_first);
	for (size_t i = 0; fits && left > 0; i++, left--)
		share[remainder[i].party]++;
	for (size_t i = 0; i < count; i++)
		share[i] *= sign;
	free(remainder);
	return fits;
}
