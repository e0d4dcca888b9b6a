#include "base/fraction.h"

#include "base/mem.h"

#include <assert.h>
#include <stdlib.h>

struct fraction
fraction_reduced(wide top, wide bottom)
{
	wide divisor = wide_common_divisor(top, bottom);

	return (struct fraction){top / divisor, bottom / divisor};
}

bool
fraction_add(struct fraction a, struct fraction b, struct fraction *out)
{
	wide shared = wide_common_divisor(a.bottom, b.bottom), left, right, bottom;

	if (!wide_mul(a.top, b.bottom / shared, &left) ||
	    !wide_mul(b.top, a.bottom / shared, &right) || !wide_add(left, right, &left) ||
	    !wide_mul(a.bottom / shared, b.bottom, &bottom))
		return false;
	*out = fraction_reduced(left, bottom);
	return true;
}

bool
fraction_multiply(struct fraction a, struct fraction b, struct fraction *out)
{
	/* Crosswise first, so that what is left is in lowest terms and as small as can be. */
	struct fraction one = fraction_reduced(a.top, b.bottom);
	struct fraction other = fraction_reduced(b.top, a.bottom);
	struct fraction product;

	if (!wide_mul(one.top, other.top, &product.top) ||
	    !wide_mul(one.bottom, other.bottom, &product.bottom))
		return false;
	*out = product;
	return true;
}

/* What the floor of top / bottom leaves, 0 or more. */
static wide
rest_of(wide top, wide bottom)
{
	wide rest = top % bottom;

	return rest < 0 ? rest + bottom : rest;
}

int
fraction_compare(struct fraction a, struct fraction b)
{
	int sign = 1;

	/* Whole parts first, then the reciprocals of what is left: a continued fraction. */
	for (;;) {
		wide left = wide_div_floor(a.top, a.bottom),
		     right = wide_div_floor(b.top, b.bottom);

		if (left != right)
			return left < right ? -sign : sign;
		a.top = rest_of(a.top, a.bottom);
		b.top = rest_of(b.top, b.bottom);
		if (a.top == 0 || b.top == 0)
			return a.top == b.top ? 0 : a.top == 0 ? -sign : sign;
		a = (struct fraction){a.bottom, a.top};
		b = (struct fraction){b.bottom, b.top};
		sign = -sign;
	}
}

static unsigned
bits_of(wide number)
{
	unsigned bits = 0;

	for (; number > 0; number /= 2)
		bits++;
	return bits;
}

/* Doubles fractions below 1, takes off what is whole then, and returns the sum of that. */
static int64_t
double_rests(struct fraction *rest, size_t count)
{
	int64_t whole = 0;

	for (size_t i = 0; i < count; i++) {
		wide lack = rest[i].bottom - rest[i].top;

		if (rest[i].top >= lack) {
			rest[i].top -= lack;
			whole++;
		} else {
			rest[i].top += rest[i].top;
		}
	}
	return whole;
}

/* The whole part of a sum of fractions below 1, by its binary digits. Where it is within the
 * fractions' own room below a whole number, more digits decide; where more of them than the
 * product of all denominators has do not, it is that number. bits: of that product. */
static int64_t
whole_of_rests(struct fraction *rest, size_t count, size_t bits)
{
	enum { AT_ONCE = 64 };
	wide sum = 0, lack;
	int64_t least, most;

	for (int i = 0; i < AT_ONCE; i++)
		sum = 2 * sum + double_rests(rest, count);
	least = (int64_t)(sum >> AT_ONCE);
	most = (int64_t)((sum + (wide)count - 1) >> AT_ONCE);
	lack = ((wide)most << AT_ONCE) - sum;
	for (size_t i = AT_ONCE; least < most; i++) {
		if (lack <= 0 || i > bits)
			return most;
		if (lack >= (wide)count)
			return least;
		lack = 2 * lack - double_rests(rest, count);
	}
	return least;
}

bool
fraction_sum_round(const struct fraction *term, size_t count, wide *out)
{
	struct fraction *rest = mem_alloc((count + 1) * sizeof *rest);
	wide whole = 0;
	size_t rests = 0, bits = bits_of((wide)count + 1) + 1;
	bool holds = true;

	for (size_t i = 0; i < count; i++) {
		assert(term[i].top >= 0 && term[i].bottom > 0);
		holds = holds && wide_add(whole, term[i].top / term[i].bottom, &whole);
		if (term[i].top % term[i].bottom == 0)
			continue;
		rest[rests++] = (struct fraction){term[i].top % term[i].bottom, term[i].bottom};
		bits += bits_of(term[i].bottom);
	}
	if (rests > 0) { /* and a half, so that the whole part is the sum rounded */
		rest[rests++] = (struct fraction){1, 2};
		bits += bits_of(2);
		holds = holds && wide_add(whole, whole_of_rests(rest, rests, bits), &whole);
	}
	free(rest);
	if (holds)
		*out = whole;
	return holds;
}
