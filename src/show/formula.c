#include "show/formula.h"

#include "base/width.h"
#include "show/number.h"

#include <string.h>

/* White space beyond ASCII: U+00A0, U+1680, U+2000 to U+200A, U+202F, U+205F, U+3000. */
static bool
is_space(uint32_t point)
{
	return point == ' ' || point == 0xA0 || point == 0x1680 ||
	       (point >= 0x2000 && point <= 0x200A) || point == 0x202F || point == 0x205F ||
	       point == 0x3000;
}

static bool
is_control(uint32_t point)
{
	return point < 0x20;
}

static bool
is_sign(uint32_t point)
{
	static const uint32_t signs[] = {
	    '=',    '+',    '-',    '@',    0xFF1D, 0xFF0B, 0xFF0D, 0xFF20, /* full-width */
	    0xFE66, 0xFE62, 0xFE63, 0xFE6B, 0x2212,                         /* small; minus */
	};

	for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
		if (point == signs[i])
			return true;
	return false;
}

/* A sign, then digits parted by points and commas: a number somewhere, and no formula anywhere. */
static bool
is_number_somewhere(const char *field)
{
	static const char digits[] = "0123456789";
	size_t run;

	if (number_is(field))
		return true;
	field += *field == '-' || *field == '+';
	run = strspn(field, digits);
	if (run == 0 || (run > 1 && *field == '0'))
		return false;
	for (field += run; *field == '.' || *field == ','; field += run) {
		field++;
		run = strspn(field, digits);
		if (run == 0)
			return false;
	}
	return *field == '\0';
}

bool
formula_like(const char *field)
{
	uint32_t point;
	size_t length;

	if (is_number_somewhere(field))
		return false;
	for (; *field != '\0'; field += length) {
		point = width_point(field, &length);
		if (is_sign(point) || is_control(point))
			return true;
		if (!is_space(point) && point != '"' && !width_is_hidden(point) &&
		    width_of_point(point) > 0)
			return false;
	}
	return false;
}

const char *
formula_guard(struct arena *arena, const char *field)
{
	struct text out = {0};
	const char *guarded;

	if (!formula_like(field))
		return field;
	text_addc(&out, FORMULA_GUARD);
	text_adds(&out, field);
	guarded = arena_copy(arena, out.bytes, out.length);
	text_free(&out);
	return guarded;
}
