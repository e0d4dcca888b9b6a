#include "plot/frame.h"

#include "base/opts.h"
#include "plot/label.h"
#include "plot/mark.h"
#include "plot/pareto.h"

#include <string.h>

enum {
	MARGIN = 14 * PX,
	AREA_LEAST = 60 * PX,
	TITLE_SIZE = 17 * PX,
	TITLE_LINE = 23 * PX,
	TITLE_LINES = 2,
	LEGEND_LINE = 20 * PX,
	BOX = 12 * PX,         /* in the legend: the sample of a bar */
	SAMPLE = 30 * PX,      /* of a line */
	GAP = 6 * PX,          /* between a sample or a tick and its text */
	LINE_EACH_MOST = 3,    /* entries of the legend that may have a line each */
	APART = 18 * PX,       /* between entries of the legend */
	LINE = 17 * PX,        /* height of a line of labels */
	BAND = 20 * PX,        /* above the drawing: unit, what stands over bars */
	ASCENT = 13 * PX,      /* above a baseline, at most */
	MIDDLE = 45 * PX / 10, /* a baseline below the middle of its letters */
	TICK_ROOM = 70 * PX,   /* height of the chart for each tick */
	TICK_LEAST = 18 * PX,
	TICKS_MOST = 10,
	X_ROOM = 60 * PX,
	X_INSET = 12 * PX,
	TURNED_STEP = 25 * PX, /* between turned labels, so that their lines do not touch */
	SLANT_TOP = 7072,      /* sine of 45 degrees, from above, in 10^-4 */
	SLANT_BOTTOM = 10000
};

static int64_t
slanted(int64_t length)
{
	return (length * SLANT_TOP + SLANT_BOTTOM - 1) / SLANT_BOTTOM;
}

static int64_t
inner_width(const struct frame *frame)
{
	return frame->settings->width * PX - 2 * MARGIN;
}

static const char *
kept(struct frame *frame, struct text *out)
{
	const char *copy = arena_copy(&frame->arena, out->bytes ? out->bytes : "", out->length);

	text_free(out);
	return copy;
}

/* ---- where things stand ---- */

/* part x length / whole, rounded. */
static int64_t
share_of(wide part, int64_t length, wide whole)
{
	return (int64_t)wide_div_round(part * length, whole, ROUND_HALF_AWAY);
}

int64_t
frame_y(const struct frame *frame, wide value)
{
	return frame->bottom - share_of(value - frame->y.low, frame->bottom - frame->top,
	                                frame->y.high - frame->y.low);
}

int64_t
frame_share_y(const struct frame *frame, wide share)
{
	const int64_t zero = frame_y(frame, 0);

	return zero - share_of(share, zero - frame->top, frame->shares.high);
}

int64_t
frame_edge(const struct frame *frame, size_t row)
{
	return frame->left + (frame->right - frame->left) * (int64_t)row /
	                         (int64_t)(frame->figures->rows > 0 ? frame->figures->rows : 1);
}

static int64_t
x_of(const struct frame *frame, wide value)
{
	return frame->left + X_INSET +
	       share_of(value - frame->x.low, frame->right - frame->left - 2 * X_INSET,
	                frame->x.high - frame->x.low);
}

int64_t
frame_x(const struct frame *frame, size_t row)
{
	if (frame->figures->by_number)
		return x_of(frame, frame->figures->row[row].x.value);
	return (frame_edge(frame, row) + frame_edge(frame, row + 1)) / 2;
}

/* ---- the labels of ticks ---- */

static const char *
tick_label(struct frame *frame, const struct axis *axis, wide tick)
{
	struct text out = {0};

	axis_add_label(&out, axis, tick * axis->step, frame->settings->mark);
	return kept(frame, &out);
}

static const char *
share_label(struct frame *frame, wide tick)
{
	struct text out = {0};

	axis_add_label(&out, &frame->shares, tick * frame->shares.step, frame->settings->mark);
	text_adds(&out, "\u00A0%");
	return kept(frame, &out);
}

static int64_t
wider(int64_t a, int64_t b)
{
	return a > b ? a : b;
}

static int64_t
widest_tick(struct frame *frame, const struct axis *axis)
{
	int64_t widest = 0;

	for (wide tick = axis_first(axis); tick <= axis_last(axis); tick++)
		widest = wider(widest, label_width(tick_label(frame, axis, tick), SMALL_SIZE));
	return widest;
}

static int64_t
widest_share(struct frame *frame)
{
	int64_t widest = 0;

	for (wide tick = 0; tick <= axis_last(&frame->shares); tick++)
		widest = wider(widest, label_width(share_label(frame, tick), SMALL_SIZE));
	return widest;
}

/* "10" and the power in small raised digits, and the unit. */
static const char *
unit_label(struct frame *frame, const struct axis *axis, const char *unit)
{
	static const char *const raised[] = {"\u2070", "\u00B9", "\u00B2", "\u00B3", "\u2074",
	                                     "\u2075", "\u2076", "\u2077", "\u2078", "\u2079"};
	struct text out = {0}, power = {0};

	if (axis->shift != 0) {
		text_adds(&out, "\u00D710");
		dec_add_text(&power, axis->shift, 0, 0);
		for (const char *s = power.bytes; *s != '\0'; s++)
			text_adds(&out, *s == '-' ? "\u207B" : raised[*s - '0']);
		text_free(&power);
	}
	if (unit != NULL && *unit != '\0') {
		text_adds(&out, out.length > 0 ? " " : "");
		text_adds(&out, unit);
	}
	return kept(frame, &out);
}

/* ---- the layout, from the outside in ---- */

static int64_t
sample_width(const struct series *series)
{
	return series->line ? SAMPLE : BOX;
}

/* The most that the name of a series may take: half of a line where there are many. */
static int64_t
name_most(const struct frame *frame, const struct series *series)
{
	int64_t room = inner_width(frame);

	if (frame->series_count > LINE_EACH_MOST)
		room = (room - APART) / 2;
	return room - sample_width(series) - GAP;
}

/* The entries of the legend, drawn or only counted: the height. */
static int64_t
legend(struct text *out, const struct frame *frame, int64_t top)
{
	struct arena arena = {0};
	int64_t x = MARGIN, y = top;

	for (size_t i = 0; i < frame->series_count; i++) {
		const struct series *series = &frame->series[i];
		const char *name =
		    label_cut(&arena, series->name, FONT_SIZE, name_most(frame, series));
		const int64_t sample = sample_width(series);
		const int64_t width = sample + GAP + label_width(name, FONT_SIZE);
		const int64_t middle = y + LEGEND_LINE / 2;

		if (x > MARGIN && x + width > MARGIN + inner_width(frame)) {
			x = MARGIN;
			y += LEGEND_LINE;
			i--;
			continue;
		}
		if (out != NULL && series->line) {
			text_adds(out, "<path");
			mark_line(out, series->color, series->look);
			text_adds(out, " d=\"M");
			svg_number(out, x);
			text_addc(out, ' ');
			svg_number(out, middle);
			text_addc(out, 'h');
			svg_number(out, SAMPLE);
			text_adds(out, "\"/>\n");
			mark_point(out, series->color, series->look, x + SAMPLE / 2, middle);
			text_adds(out, "/>\n");
		} else if (out != NULL) {
			text_adds(out, "<rect");
			svg_fill(out, series->color);
			if (series->color == SVG_YELLOW)
				svg_outline(out);
			svg_attribute(out, "x", x);
			svg_attribute(out, "y", middle - BOX / 2);
			svg_attribute(out, "width", BOX);
			svg_attribute(out, "height", BOX);
			text_adds(out, "/>\n");
		}
		if (out != NULL)
			svg_text(out, x + sample + GAP, middle + MIDDLE, SVG_START, false, name,
			         series->name);
		x += width + APART;
	}
	arena_free(&arena);
	return frame->series_count > 0 ? y + LEGEND_LINE - top : 0;
}

/* Must the unit stand on a line of its own? Not beside what stands over the first bar. */
static bool
needs_band(struct frame *frame)
{
	const char *unit = unit_label(frame, &frame->y, frame->settings->unit);
	const int64_t end = MARGIN + label_width(unit, SMALL_SIZE) + GAP;

	if (*unit == '\0')
		return false;
	return frame->over == NULL || frame->figures->rows == 0 ||
	       frame_x(frame, 0) - label_width(frame->over[0], SMALL_SIZE) / 2 < end;
}

static void
lay_out_top(struct frame *frame)
{
	const char *title = frame->settings->title;
	int64_t y = MARGIN;

	frame->title_lines = title == NULL
	                         ? 0
	                         : label_wrap(&frame->arena, title, TITLE_SIZE, inner_width(frame),
	                                      frame->title_line, TITLE_LINES);
	y += (int64_t)frame->title_lines * TITLE_LINE;
	y += frame->title_lines > 0 ? 4 * PX : 0;
	frame->legend_top = y;
	y += legend(NULL, frame, y);
	frame->bands = (frame->over != NULL) + needs_band(frame);
	frame->top = y + frame->bands * BAND + GAP + LINE / 2;
}

static int64_t
row_width(const struct frame *frame)
{
	const size_t rows = frame->figures->rows;

	return (frame->right - frame->left) / (int64_t)(rows > 0 ? rows : 1);
}

static bool
all_level(const struct frame *frame)
{
	for (size_t i = 0; i < frame->figures->rows; i++)
		if (label_width(frame->figures->row[i].label, SMALL_SIZE) + 2 * GAP >
		    row_width(frame))
			return false;
	return true;
}

/* What a turned label may take: it starts within the paper. */
static int64_t
turned_most(const struct frame *frame, size_t row)
{
	const int64_t room = frame_x(frame, row) - MARGIN / 2 - LINE;
	const int64_t most = room * SLANT_BOTTOM / SLANT_TOP;

	return most < frame->length ? most : frame->length;
}

static void
lay_out_turned(struct frame *frame)
{
	const struct figures *figures = frame->figures;
	const int64_t height = frame->settings->height * PX,
	              most_left = frame->settings->width * 20;
	int64_t first, longest = 0;

	frame->turned = true;
	frame->length = (height * 3 / 10 - LINE) * SLANT_BOTTOM / SLANT_TOP;
	/* A bit more room to the left, for the first. */
	first = label_width(figures->row[0].label, SMALL_SIZE);
	first = slanted(first < frame->length ? first : frame->length) + MARGIN / 2 + LINE;
	first = first < most_left ? first : most_left;
	/* As rows get narrower with it, the first comes back a little. */
	while (frame_x(frame, 0) < first && frame->left < first)
		frame->left += first - frame_x(frame, 0);
	frame->every = 1;
	while ((frame->right - frame->left) * (int64_t)frame->every <
	       TURNED_STEP * (int64_t)figures->rows)
		frame->every++;
	for (size_t i = 0; i < figures->rows; i += frame->every) {
		int64_t width = label_width(figures->row[i].label, SMALL_SIZE);
		const int64_t most = turned_most(frame, i);

		longest = wider(longest, width < most ? width : most);
	}
	/* The first passes below the lowest tick's label. */
	frame->drop = wider(GAP + MIDDLE, LINE + PX - (frame_x(frame, 0) - frame->left));
	frame->labels = slanted(longest) + frame->drop + GAP;
}

/* Ticks of numbers below: fewer, until they stand apart. */
static void
lay_out_numbers(struct frame *frame)
{
	const struct figures *figures = frame->figures;
	const int64_t width = frame->right - frame->left - 2 * X_INSET;
	unsigned most = (unsigned)(width / X_ROOM);
	int64_t half;

	axis_make(&frame->x, figures->row[0].x.value, figures->row[figures->rows - 1].x.value,
	          figures->x.exponent,
	          most < 2            ? 2
	          : most > TICKS_MOST ? TICKS_MOST
	                              : most,
	          figures->x.whole ? measure_one(&figures->x) : 0, false);
	while (axis_last(&frame->x) > axis_first(&frame->x) &&
	       x_of(frame, frame->x.step) - x_of(frame, 0) <
	           widest_tick(frame, &frame->x) + 2 * GAP)
		axis_coarser(&frame->x, false);
	/* The last one must not leave the paper. */
	half = widest_tick(frame, &frame->x) / 2;
	if (half > MARGIN + X_INSET)
		frame->right -= half - MARGIN - X_INSET;
	frame->labels = LINE + GAP;
}

static void
lay_out_labels(struct frame *frame)
{
	frame->turned = false;
	frame->every = frame->figures->rows > 0;
	frame->labels = frame->figures->rows > 0 ? LINE + GAP : 0;
	if (frame->figures->by_number)
		lay_out_numbers(frame);
	else if (frame->figures->rows > 0 && !all_level(frame))
		lay_out_turned(frame);
}

static void
lay_out_sides(struct frame *frame)
{
	frame->left = MARGIN + widest_tick(frame, &frame->y) + GAP;
	frame->right = frame->settings->width * PX - MARGIN;
	if (frame->share > 0)
		frame->right -= widest_share(frame) + GAP;
}

static bool
have_room(const struct frame *frame)
{
	for (size_t i = 0; frame->over != NULL && i < frame->figures->rows; i++)
		if (label_width(frame->over[i], SMALL_SIZE) + GAP > row_width(frame))
			return false;
	return true;
}

static void
lay_out_with(struct frame *frame, unsigned ticks)
{
	const struct figures *figures = frame->figures;

	axis_make(&frame->y, frame->low, frame->high, figures->y.exponent, ticks,
	          figures->y.whole ? measure_one(&figures->y) : 0, frame->loose);
	if (frame->share > 0)
		axis_make(&frame->shares, 0, frame->share, SHARE_PERCENT_EXPONENT,
		          ticks < 6 ? ticks : 6, 0, true);
	lay_out_sides(frame);
	if (!have_room(frame))
		frame->over = NULL;
	lay_out_labels(frame);
	if (!have_room(frame))
		frame->over = NULL;
	lay_out_top(frame);
	frame->bottom = frame->settings->height * PX - MARGIN - frame->labels -
	                (*figures->label != '\0' ? LINE + 3 * PX : 0);
}

static bool
ticks_stand_apart(const struct frame *frame)
{
	const int64_t height = frame->bottom - frame->top;
	const struct axis *y = &frame->y;

	if (share_of(y->step, height, y->high - y->low) < TICK_LEAST)
		return false;
	return frame->share == 0 || share_of(frame->shares.step, frame_y(frame, 0) - frame->top,
	                                     frame->shares.high) >= TICK_LEAST;
}

static void
check_room(const struct frame *frame)
{
	const long height = (long)((frame->bottom - frame->top) / PX);
	const int64_t width = frame->right - frame->left, rows = (int64_t)frame->figures->rows;

	if (frame->bottom - frame->top < AREA_LEAST)
		opts_usage("--height %ld is too little for title, legend and labels: %ld would do",
		           (long)frame->settings->height,
		           (long)frame->settings->height + AREA_LEAST / PX - height);
	if (width < AREA_LEAST)
		opts_usage("--width %ld is too little for the labels: %ld would do",
		           (long)frame->settings->width,
		           (long)(frame->settings->width + (AREA_LEAST - width + PX - 1) / PX));
	/* A row is at least a tenth of a pixel wide. */
	if (!frame->figures->by_number && rows * PX > width * 10)
		opts_usage("%lld rows are too many for a width of %ld", (long long)rows,
		           (long)frame->settings->width);
}

static void
lay_out(struct frame *frame)
{
	unsigned ticks = (unsigned)(frame->settings->height * PX / TICK_ROOM);

	ticks = ticks < 3 ? 3 : ticks > TICKS_MOST ? TICKS_MOST : ticks;
	do
		lay_out_with(frame, ticks--);
	while (ticks >= 2 && !ticks_stand_apart(frame));
}

void
frame_make(struct frame *frame)
{
	lay_out(frame);
	/* Rather nothing over the bars than no bars. */
	if (frame->over != NULL && frame->bottom - frame->top < AREA_LEAST) {
		frame->over = NULL;
		lay_out(frame);
	}
	check_room(frame);
}

void
frame_free(struct frame *frame)
{
	arena_free(&frame->arena);
}

/* ---- drawing ---- */

static void
draw_title(struct text *out, const struct frame *frame)
{
	if (frame->title_lines == 0)
		return;
	svg_texts(out, "ink", TITLE_SIZE);
	for (size_t i = 0; i < frame->title_lines; i++)
		svg_text(out, MARGIN, MARGIN + TITLE_SIZE + (int64_t)i * TITLE_LINE, SVG_START,
		         false, frame->title_line[i], frame->title_line[i]);
	svg_end_group(out);
}

static void
draw_ticks(struct text *out, struct frame *frame)
{
	const struct axis *y = &frame->y;

	for (wide tick = axis_first(y); tick <= axis_last(y); tick++) {
		const int64_t at = frame_y(frame, tick * y->step);

		svg_line(out, "grid", frame->left, at, frame->right, at);
	}
	svg_texts(out, "soft", SMALL_SIZE);
	for (wide tick = axis_first(y); tick <= axis_last(y); tick++) {
		const char *label = tick_label(frame, y, tick);

		svg_text(out, frame->left - GAP, frame_y(frame, tick * y->step) + MIDDLE, SVG_END,
		         false, label, label);
	}
	for (wide tick = 0; frame->share > 0 && tick <= axis_last(&frame->shares); tick++) {
		const char *label = share_label(frame, tick);

		svg_text(out, frame->right + GAP,
		         frame_share_y(frame, tick * frame->shares.step) + MIDDLE, SVG_START, false,
		         label, label);
	}
}

/* Unit above the axis, in the group of the ticks. */
static void
draw_unit(struct text *out, struct frame *frame)
{
	const char *unit = unit_label(frame, &frame->y, frame->settings->unit);
	const char *cut = label_cut(&frame->arena, unit, SMALL_SIZE, inner_width(frame));

	svg_text(out, MARGIN, frame->top - LINE / 2 - GAP - (frame->bands > 1 ? BAND : 0),
	         SVG_START, false, cut, unit);
}

static void
draw_number_labels(struct text *out, struct frame *frame)
{
	const struct axis *x = &frame->x;

	for (wide tick = axis_first(x); tick <= axis_last(x); tick++) {
		const char *label = tick_label(frame, x, tick);
		const int64_t at = x_of(frame, tick * x->step);

		svg_line(out, "axis", at, frame->bottom, at, frame->bottom + GAP / 2);
		svg_text(out, at, frame->bottom + GAP + ASCENT, SVG_MIDDLE, false, label, label);
	}
}

static void
draw_row_labels(struct text *out, struct frame *frame)
{
	const struct figures *figures = frame->figures;

	for (size_t i = 0; frame->every > 0 && i < figures->rows; i += frame->every) {
		const char *label = figures->row[i].label, *cut;
		const int64_t x = frame_x(frame, i);

		if (!frame->turned) {
			svg_text(out, x, frame->bottom + GAP + ASCENT, SVG_MIDDLE, false, label,
			         label);
			continue;
		}
		cut = label_cut(&frame->arena, label, SMALL_SIZE, turned_most(frame, i));
		svg_text(out, x + MIDDLE, frame->bottom + frame->drop, SVG_END, true, cut, label);
	}
}

/* What the rows are named by, below everything. */
static void
draw_caption(struct text *out, struct frame *frame)
{
	struct text caption = {0};
	const char *full, *power = "";

	if (frame->figures->by_number)
		power = unit_label(frame, &frame->x, NULL);
	text_adds(&caption, frame->figures->label);
	if (*power != '\0') {
		text_adds(&caption, ", ");
		text_adds(&caption, power);
	}
	full = kept(frame, &caption);
	svg_text(out, (frame->left + frame->right) / 2, frame->settings->height * PX - MARGIN,
	         SVG_MIDDLE, false,
	         label_cut(&frame->arena, full, SMALL_SIZE, frame->right - frame->left), full);
}

void
frame_draw(struct text *out, const struct frame *made)
{
	struct frame frame = *made;

	frame.arena = (struct arena){0};
	draw_title(out, &frame);
	svg_texts(out, "ink", FONT_SIZE);
	legend(out, &frame, frame.legend_top);
	svg_end_group(out);
	draw_ticks(out, &frame);
	draw_unit(out, &frame);
	if (frame.figures->by_number)
		draw_number_labels(out, &frame);
	else
		draw_row_labels(out, &frame);
	draw_caption(out, &frame);
	svg_end_group(out);
	arena_free(&frame.arena);
}

void
frame_draw_zero(struct text *out, const struct frame *frame)
{
	if (frame->y.low <= 0 && frame->y.high >= 0)
		svg_line(out, "axis", frame->left, frame_y(frame, 0), frame->right,
		         frame_y(frame, 0));
}
