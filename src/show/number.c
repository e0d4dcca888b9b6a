#include "show/number.h"

#include <string.h>

enum { DECIMALS_MOST = 30 };

static bool
is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool
is_sign(char c)
{
	return c == '-' || c == '+';
}

bool
number_is(const char *field)
{
	const char *s = field + is_sign(*field), *digits = s;
	size_t whole, decimals = 0;

	while (is_digit(*s))
		s++;
	whole = (size_t)(s - digits);
	if (*s == '.')
		for (s++; is_digit(*s); s++)
			decimals++;
	return *s == '\0' && whole + decimals > 0 && !(whole > 1 && *digits == '0');
}

size_t
number_whole(const char *field)
{
	return strcspn(field, ".");
}

/* The digits of a number as a whole number of 10^-decimals. */
static bool
read_number(const char *field, struct number_sum *out)
{
	bool point = false;

	*out = (struct number_sum){0};
	for (const char *s = field + is_sign(*field); *s != '\0'; s++) {
		if (*s == '.') {
			point = true;
			continue;
		}
		if (!wide_mul(out->value, 10, &out->value) ||
		    !wide_add(out->value, *s - '0', &out->value))
			return false;
		out->decimals += point;
	}
	if (*field == '-')
		out->value = -out->value;
	return out->decimals <= DECIMALS_MOST;
}

static bool
give_decimals(struct number_sum *sum, unsigned decimals)
{
	unsigned more = decimals - sum->decimals;

	sum->decimals = decimals;
	return wide_mul(sum->value, wide_power10(more), &sum->value);
}

bool
number_add(struct number_sum *sum, const char *field)
{
	struct number_sum new, old = *sum;
	unsigned decimals;

	if (!read_number(field, &new))
		return false;
	decimals = new.decimals > old.decimals ? new.decimals : old.decimals;
	if (!give_decimals(&new, decimals) || !give_decimals(&old, decimals) ||
	    !wide_add(old.value, new.value, &old.value))
		return false;
	*sum = old;
	return true;
}

void
number_add_text(struct text *out, const struct number_sum *sum)
{
	dec_add_text(out, sum->value, sum->decimals, sum->decimals);
}
