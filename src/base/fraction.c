#include "base/fraction.h"

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
		a.top -= left * a.bottom;
		b.top -= right * b.bottom;
		if (a.top == 0 || b.top == 0)
			return a.top == b.top ? 0 : a.top == 0 ? -sign : sign;
		a = (struct fraction){a.bottom, a.top};
		b = (struct fraction){b.bottom, b.top};
		sign = -sign;
	}
}
