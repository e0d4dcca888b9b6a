#include "purchase/figures.h"

wide
figure_gap(wide cost, wide bound)
{
	wide gap = cost - bound, base = cost < 0 ? -cost : cost;

	if (gap <= 0)
		return 0;
	if (base == 0)
		return 100000;
	return wide_div_ceil(gap * 100000, base);
}

const char *
figure_money(struct arena *arena, wide nano, unsigned decimals, bool down)
{
	wide unit = wide_power10(NANO_DECIMALS - decimals);
	struct text text = {0};
	const char *copy;

	dec_add_text(
	    &text, down ? wide_div_floor(nano, unit) : wide_div_round(nano, unit, ROUND_HALF_AWAY),
	    decimals, decimals);
	copy = arena_copy(arena, text.bytes, text.length);
	text_free(&text);
	return copy;
}

const char *
figure_plural(int64_t count)
{
	return count == 1 ? "" : "s";
}

/* What the search does not know yet, it gives as something beyond all amounts. */
bool
figure_is_known(double amount)
{
	return amount < 1e15 && amount > -1e15;
}

void
figure_add(struct text *line, const char *name, double amount)
{
	if (!figure_is_known(amount))
		return;
	text_adds(line, ", ");
	text_adds(line, name);
	text_adds(line, " ");
	dec_add_text(line, (wide)(amount * 100), 2, 2);
}
