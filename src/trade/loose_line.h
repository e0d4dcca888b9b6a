/*
 * A loose line: how many of which part in which color, as people write it in a mail or a post:
 * `12x 2x4 plate, red`, `K1042 black 8 pcs`, `(4) tile 1x2 ..... white`.
 *
 * The rules, which take no line that could be meant in two ways:
 *
 * - Separators, from strong to weak: a tab; leader dots (three or more, or an ellipsis); ";" or
 *   "|"; a dash with blanks around it; a comma that is not inside a number, or a colon before a
 *   blank. They part the line into segments.
 * - The quantity is marked: with "x" or a multiplication sign, a word for pieces, or brackets. It
 *   stands at the start or the end of the line, or is a segment of its own. Where no quantity is
 *   marked, a bare number that is the first or the last segment is it, if only one of them is one.
 *   Two are a fault, and so is none. "2 x 4" is a size, "1 200 pcs" may be two things: neither is a
 *   quantity.
 * - What is left is parted into part and color at its strongest separator, of which there must be
 *   one. The part comes first, unless only the other one is a known color. It is not certain, and
 *   a fault, where the color has a digit and the part has none, or a weaker separator in it.
 * - Without a separator, the longest known color at the end or the start is the color, if there is
 *   one at one of them alone; else the line must be two words, the first with a digit and the
 *   second without: a part number and a color.
 * - Brackets around the color are none of it; nor is a full stop behind it, if it is known without.
 *
 * Source: common practice, no source.
 */
#ifndef LOTPIPE_LOOSE_LINE_H
#define LOTPIPE_LOOSE_LINE_H

#include "base/text.h"
#include "trade/known_names.h"
#include "trade/loose_number.h"

#include <stdbool.h>

/* How lines are read, and where. */
struct loose_reader {
	enum decimal_mark mark;
	bool with_code;            /* what is left is an order code, not part and color */
	struct known_names *known; /* borrowed */
	struct name_rules *rules;  /* borrowed; colors are known under all their names */
	const char *file;
	size_t line;
	struct arena *arena;
};

/* What a line says; in the arena. */
struct loose_line {
	const char *part, *color, *code, *qty; /* "" where it says none */
};

/* Reads a line; what is wrong with it, or NULL. */
const char *loose_line_read(const struct loose_reader *reader, const char *text,
                            struct loose_line *line);

#endif
