#include "plot/label.h"

#include "base/width.h"

#include <string.h>

#define ELLIPSIS "\u2026"

/* Thousandths of the font's size. */
enum {
	EM_NARROW = 610,
	EM_BROAD = 920,
	EM_BROADEST = 1130,
	EM_FOREIGN = 1150,
	EM_DOUBLE = 1800,
	EM_CLUSTER = 2000,
	EM_WIDE = 1400,
	EM_MARK = 800,
	EM_SENTENCE = 14000
};

/* clang-format off */

/* From U+0020 on, in hundredths of the size. */
static const unsigned char ascii[] = {
	/*  !"#$%&'()*+,-./ */
	61, 61, 61, 84, 64, 108, 89, 61, 61, 61, 64, 84, 61, 61, 61, 61,
	/* 0123456789:;<=>? */
	64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 61, 61, 84, 84, 84, 61,
	/* @ABCDEFGHIJKLMNO */
	102, 73, 74, 77, 81, 73, 70, 80, 88, 61, 61, 75, 67, 103, 88, 82,
	/* PQRSTUVWXYZ[\]^_ */
	68, 82, 76, 69, 67, 85, 73, 103, 72, 67, 70, 61, 61, 61, 84, 64,
	/* `abcdefghijklmno */
	61, 62, 64, 61, 64, 62, 61, 64, 66, 61, 61, 62, 61, 98, 66, 62,
	/* pqrstuvwxyz{|}~ */
	64, 64, 61, 61, 61, 68, 61, 86, 61, 61, 61, 64, 61, 64, 84,
};

/* clang-format on */

/* Characters out of the usual: the first that holds the point counts. */
static const struct {
	uint32_t first, last;
	unsigned em;
} classes[] = {
    {0xA0, 0xA0, EM_NARROW},                          /* no-break space */
    {0x1C4, 0x1CC, EM_DOUBLE},                        /* digraphs */
    {0x1F1, 0x1F3, EM_DOUBLE},     {0x300, 0x36F, 0}, /* marks on Latin letters */
    {0x400, 0x52F, 1400},                             /* Cyrillic */
    {0x370, 0x3FF, EM_FOREIGN},                       /* Greek */
    {0x530, 0x5FF, EM_FOREIGN},                       /* Armenian, Hebrew */
    {0x600, 0x6FF, EM_WIDE},                          /* Arabic */
    {0x1E00, 0x1FFF, EM_WIDE},                        /* more Latin and Greek */
    {0x700, 0x1DFF, EM_CLUSTER},   /* scripts of the Near East, of India, ...: clusters */
    {0x200B, 0x200F, 0},           /* joiners */
    {0x2010, 0x2027, EM_BROADEST}, /* punctuation */
    {0x2200, 0x24FF, 1800},        /* signs of mathematics, in circles, ... */
    {0x2E3A, 0x2E3A, 2200},        /* two-em dash */
    {0x2E3B, 0x2E3B, 3300},        /* three-em dash */
    {0xA640, 0xABFF, 2600},        {0xFB00, 0xFB4F, EM_DOUBLE},
    {0xFB50, 0xFDF9, EM_CLUSTER},  {0xFDFA, 0xFDFD, EM_SENTENCE}, /* ligatures that are sentences */
    {0xFE00, 0xFE0F, 0},                                          /* choice of a variant */
    {0xFE10, 0xFEFF, EM_CLUSTER},  {0x10000, 0x1254F, 4000},      /* scripts of old */
};

static unsigned
em_of(uint32_t point)
{
	if (point < 0x80)
		return point < 0x20 || point == 0x7F ? EM_BROAD : 10u * ascii[point - 0x20];
	if (point == 0x2212)
		return EM_BROAD;
	for (size_t i = 0; i < sizeof classes / sizeof *classes; i++)
		if (point >= classes[i].first && point <= classes[i].last)
			return classes[i].em;
	switch (width_of_point(point)) {
	case 0:
		return EM_MARK;
	case 2:
		return EM_WIDE;
	default:
		return point < 0x250 ? EM_FOREIGN : EM_DOUBLE;
	}
}

/* The part of the string that fits; *end gets the bytes. */
static int64_t
measure(const char *string, int64_t size, int64_t most, size_t *end)
{
	int64_t width = 0;
	size_t at = 0, length;

	for (; string[at] != '\0'; at += length) {
		int64_t more = (em_of(width_point(string + at, &length)) * size + 999) / 1000;

		if (width + more > most)
			break;
		width += more;
	}
	*end = at;
	return width;
}

int64_t
label_width(const char *string, int64_t size)
{
	size_t end;

	return measure(string, size, INT64_MAX / 2, &end);
}

/* Not between a letter and the marks on it. */
static size_t
before_marks(const char *string, size_t end)
{
	size_t length;

	while (end > 0 && width_of_point(width_point(string + end, &length)) == 0) {
		do
			end--;
		while (end > 0 && ((unsigned char)string[end] & 0xC0) == 0x80);
	}
	return end;
}

static size_t
without_blanks(const char *string, size_t end)
{
	while (end > 0 && text_is_blank_byte(string[end - 1]))
		end--;
	return end;
}

static const char *
with_ellipsis(struct arena *arena, const char *string, size_t length)
{
	struct text out = {0};
	const char *made;

	text_add(&out, string, length);
	text_adds(&out, ELLIPSIS);
	made = arena_copy(arena, out.bytes, out.length);
	text_free(&out);
	return made;
}

const char *
label_cut(struct arena *arena, const char *string, int64_t size, int64_t most)
{
	const int64_t ellipsis = label_width(ELLIPSIS, size);
	size_t end;

	measure(string, size, most, &end);
	if (string[end] == '\0')
		return string;
	if (most < ellipsis)
		return "";
	measure(string, size, most - ellipsis, &end);
	end = without_blanks(string, before_marks(string, end));
	return with_ellipsis(arena, string, end);
}

size_t
label_wrap(struct arena *arena, const char *string, int64_t size, int64_t most, const char **line,
           size_t lines)
{
	size_t count = 0, end;

	while (count < lines && *string != '\0') {
		measure(string, size, most, &end);
		if (string[end] == '\0' || count + 1 == lines) {
			line[count++] = label_cut(arena, string, size, most);
			break;
		}
		if (string[end] != ' ') {
			size_t blank = end;

			while (blank > 0 && string[blank] != ' ')
				blank--;
			end = blank > 0 ? blank : before_marks(string, end);
		}
		if (end == 0)
			break;
		line[count++] = arena_copy(arena, string, end);
		for (string += end; *string == ' '; string++)
			;
	}
	return count;
}
