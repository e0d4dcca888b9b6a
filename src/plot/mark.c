#include "plot/mark.h"

/* Around 0 0, in hundredths of a pixel as all numbers; about one area each. */
static const struct {
	int64_t first[2];
	int64_t step[7][2]; /* each from the point before; 0 0: no more */
} points[] = {
    {{-400, -400}, {{800, 0}, {0, 800}, {-800, 0}}},      /* square */
    {{0, -560}, {{560, 560}, {-560, 560}, {-560, -560}}}, /* diamond */
    {{0, -520}, {{540, 940}, {-1080, 0}}},                /* triangle */
    {{0, 520}, {{540, -940}, {-1080, 0}}},                /* the other way round */
    {{-200, -480}, {{400, 0}, {280, 480}, {-280, 480}, {-400, 0}, {-280, -480}}}, /* hexagon */
    {{-520, 0}, {{940, -540}, {0, 1080}}},                                        /* to the left */
    {{520, 0}, {{-940, -540}, {0, 1080}}},                                        /* to the right */
    {{-250, -560}, {{500, 0}, {0, 1120}, {-500, 0}}},                             /* upright */
};

static const char *const dashes[] = {NULL,  "7 4",  "2 3",         "9 3 2 3",
                                     "4 2", "12 4", "7 3 2 3 2 3", "14 3"};

static void
add_pair(struct text *out, char command, const int64_t pair[2])
{
	text_addc(out, command);
	svg_number(out, pair[0]);
	text_addc(out, ' ');
	svg_number(out, pair[1]);
}

void
mark_point(struct text *out, enum svg_color color, size_t series, int64_t x, int64_t y)
{
	const size_t shape = series % (sizeof points / sizeof *points);

	text_adds(out, "<path");
	svg_fill(out, color);
	if (color == SVG_YELLOW)
		svg_outline(out);
	text_adds(out, " d=\"");
	add_pair(out, 'M',
	         (const int64_t[2]){x + points[shape].first[0], y + points[shape].first[1]});
	for (size_t i = 0; points[shape].step[i][0] != 0 || points[shape].step[i][1] != 0; i++)
		add_pair(out, 'l', points[shape].step[i]);
	text_adds(out, "z\"");
}

void
mark_line(struct text *out, enum svg_color color, size_t series)
{
	const char *dash = dashes[series % (sizeof dashes / sizeof *dashes)];

	svg_stroke(out, color);
	text_adds(out, " fill=\"none\" stroke-width=\"2.5\" stroke-linejoin=\"round\"");
	if (dash != NULL) {
		text_adds(out, " stroke-dasharray=\"");
		text_adds(out, dash);
		text_addc(out, '"');
	}
}
