#include "base/escape.h"

#include "base/text.h"
#include "base/width.h"

#include <string.h>

static size_t
escape_byte(unsigned char byte, char *out)
{
	static const char digits[] = "0123456789ABCDEF", known[] = "\n\r\t", letter[] = "nrt";
	const char *found = byte != 0 ? strchr(known, byte) : NULL;

	out[0] = '\\';
	if (found != NULL) {
		out[1] = letter[found - known];
		return 2;
	}
	out[1] = 'x';
	out[2] = digits[byte / 16];
	out[3] = digits[byte % 16];
	return 4;
}

size_t
escape_next(const char *s, size_t left, char out[ESCAPE_ROOM], size_t *length)
{
	size_t step = text_utf8_step(s, left), ignored;

	*length = 0;
	if (step > 0 && !width_is_hidden(width_point(s, &ignored))) {
		memcpy(out, s, step);
		*length = step;
		return step;
	}
	if (step == 0)
		step = 1;
	for (size_t i = 0; i < step; i++)
		*length += escape_byte((unsigned char)s[i], out + *length);
	return step;
}
