#include "show/visible.h"

#include "base/width.h"

#include <string.h>

#define LINE_BREAK  "\u2424"
#define REPLACEMENT "\uFFFD"
#define MARK_BASE   "\u25CC"

static bool
is_plain(const char *field)
{
	size_t length;

	if (*field == '\0')
		return true;
	if (width_of_point(width_point(field, &length)) == 0)
		return false;
	for (; *field != '\0'; field += length)
		if (width_is_hidden(width_point(field, &length)))
			return false;
	return true;
}

static void
add_hidden(struct text *out, uint32_t point)
{
	if (point < 0x20) {
		const char picture[] = {'\xE2', '\x90', (char)(0x80 + point), '\0'};

		text_adds(out, picture);
	} else {
		text_adds(out, point == 0x7F ? "\u2421" : REPLACEMENT);
	}
}

const char *
visible(struct arena *arena, const char *field, enum visible_breaks breaks)
{
	struct text out = {0};
	const char *shown;
	size_t length;

	if (is_plain(field))
		return field;
	if (width_of_point(width_point(field, &length)) == 0)
		text_adds(&out, MARK_BASE);
	for (const char *s = field; *s != '\0'; s += length) {
		uint32_t point = width_point(s, &length);

		if (point == '\r' && s[1] == '\n')
			continue;
		if (point == '\r' || point == '\n')
			text_adds(&out, breaks == BREAKS_KEPT ? "\n" : LINE_BREAK);
		else if (width_is_hidden(point))
			add_hidden(&out, point);
		else
			text_add(&out, s, length);
	}
	shown = arena_copy(arena, out.bytes, out.length);
	text_free(&out);
	return shown;
}
