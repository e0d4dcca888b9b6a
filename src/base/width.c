#include "base/width.h"

#include "base/width_table.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

uint32_t
width_point(const char *s, size_t *length)
{
	const unsigned char *byte = (const unsigned char *)s;
	uint32_t point;

	if (byte[0] < 0x80) {
		*length = 1;
		return byte[0];
	}
	*length = byte[0] < 0xE0 ? 2 : byte[0] < 0xF0 ? 3 : 4;
	point = byte[0] & (0xFFu >> (*length + 1));
	for (size_t i = 1; i < *length; i++)
		point = point << 6 | (byte[i] & 0x3F);
	return point;
}

static bool
is_among(const struct points *points, size_t count, uint32_t point)
{
	size_t low = 0, high = count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (point > points[middle].last)
			low = middle + 1;
		else
			high = middle;
	}
	return low < count && point >= points[low].first;
}

unsigned
width_of_point(uint32_t point)
{
	if (point < zero_points[0].first)
		return 1;
	if (is_among(zero_points, COUNT(zero_points), point))
		return 0;
	return is_among(wide_points, COUNT(wide_points), point) ? 2 : 1;
}

bool
width_is_hidden(uint32_t point)
{
	return is_among(hidden_points, COUNT(hidden_points), point);
}

size_t
width_of(const char *s)
{
	size_t cells = 0, length;

	for (; *s != '\0'; s += length)
		cells += width_of_point(width_point(s, &length));
	return cells;
}
