#include "plot/chart.h"

#include "plot/frame.h"
#include "plot/label.h"
#include "plot/mark.h"
#include "plot/pareto.h"
#include "plot/svg.h"
#include "show/number.h"

#include <stdlib.h>
#include <string.h>

enum {
	BAR_MOST = 90 * PX,
	SPACED_FROM = 4 * PX,   /* rows narrower than that have no space between bars */
	EDGED_FROM = 8 * PX,    /* nor a line between the parts of a bar */
	POINTS_APART = 16 * PX, /* points nearer than that have no marks */
	NAME_CELLS = 400 * PX,  /* what a name may take in a description */
	LINES_ZERO = 2, /* an axis of lines has 0 if the low end is below so much of the high */
	LINES_FLAT = 1000000 /* or the difference is below so much */
};

/* Neighbours in a bar differ in lightness too; lines are of colors that stand out on white. */
static const enum svg_color bar_colors[SVG_COLORS] = {
    SVG_BLUE, SVG_ORANGE, SVG_GREEN, SVG_PURPLE, SVG_SKY, SVG_VERMILLION, SVG_YELLOW, SVG_BLACK};
static const enum svg_color line_colors[SVG_COLORS] = {
    SVG_BLUE, SVG_VERMILLION, SVG_GREEN, SVG_PURPLE, SVG_BLACK, SVG_ORANGE, SVG_SKY, SVG_YELLOW};

struct chart {
	const struct chart_settings *settings;
	struct figures *figures;
	struct frame frame;
	struct series *series; /* in the arena */
	struct pareto pareto;
	struct text description;
	struct arena arena;
};

static const char *
kept(struct chart *chart, struct text *out)
{
	const char *copy = arena_copy(&chart->arena, out->bytes ? out->bytes : "", out->length);

	text_free(out);
	return copy;
}

/* ---- numbers in words ---- */

/* A sum of values, as people read it: with two decimals where the numbers have as many. */
static void
add_value(struct text *out, const struct chart *chart, wide value)
{
	const struct measure *y = &chart->figures->y;

	axis_add_number(out, value, y->exponent, y->decimals < 2 ? y->decimals : 2,
	                chart->settings->mark);
}

/* Can sums be printed as they are? Exact ones of a usual size. */
static bool
can_print(const struct measure *y)
{
	return y->exact && y->exponent >= -36 && y->exponent <= 0 && y->decimals <= 9;
}

/* A field as read, with the reader's mark before decimals; zeros at the end off down to two. */
static void
add_field(struct text *out, const struct chart *chart, const char *field)
{
	const char *point = strchr(field, '.');
	size_t length = strlen(field);

	while (point != NULL && length > (size_t)(point - field) + 3 && field[length - 1] == '0')
		length--;
	for (size_t i = 0; i < length; i++)
		text_addc(out, field[i] == '.' ? chart->settings->mark : field[i]);
}

/* ": ", unless there is nothing before it. */
static void
add_name(struct text *out, const char *name, const char *after)
{
	if (*name == '\0')
		return;
	text_adds(out, name);
	text_adds(out, after);
}

/* "as-is, goods: 66.72", where one points at the figure. */
static void
add_tip(struct text *out, struct chart *chart, size_t row, size_t column)
{
	const struct figures *figures = chart->figures;
	const struct figure *figure = &figures->row[row].value[column];
	struct text tip = {0};

	add_name(&tip, figures->row[row].label, ", ");
	add_name(&tip, figures->column[column], ": ");
	if (figure->field != NULL)
		add_field(&tip, chart, figure->field);
	else if (can_print(&figures->y))
		add_value(&tip, chart, figure->value);
	if (chart->pareto.share != NULL) {
		text_adds(&tip, " (");
		axis_add_number(
		    &tip,
		    wide_div_round(chart->pareto.share[row], SHARE_ONE / 1000, ROUND_HALF_AWAY), -1,
		    1, chart->settings->mark);
		text_adds(&tip, "\u00A0% so far)");
	}
	svg_title(out, tip.bytes);
	text_free(&tip);
}

/* ---- bars ---- */

struct stack {
	wide above, below; /* what is above zero, and below; both count from it */
};

static struct stack
stack_of(const struct figures *figures, size_t row)
{
	struct stack stack = {0};

	for (size_t i = 0; i < figures->columns; i++) {
		const wide value = figures->row[row].value[i].value;

		*(value > 0 ? &stack.above : &stack.below) += value;
	}
	return stack;
}

static bool
is_empty(const struct figures *figures, size_t row)
{
	for (size_t i = 0; i < figures->columns; i++)
		if (figures->row[row].value[i].there)
			return false;
	return true;
}

static void
find_bars(struct chart *chart)
{
	struct frame *frame = &chart->frame;

	for (size_t i = 0; i < chart->figures->rows; i++) {
		const struct stack stack = stack_of(chart->figures, i);

		frame->high = stack.above > frame->high ? stack.above : frame->high;
		frame->low = stack.below < frame->low ? stack.below : frame->low;
	}
	frame->loose = true;
}

/* The sum over each bar. */
static void
find_sums(struct chart *chart)
{
	const size_t rows = chart->figures->rows;

	if (!can_print(&chart->figures->y) || rows == 0)
		return;
	chart->frame.over = arena_alloc(&chart->arena, rows * sizeof *chart->frame.over);
	for (size_t i = 0; i < rows; i++) {
		const struct stack stack = stack_of(chart->figures, i);
		struct text sum = {0};

		if (!is_empty(chart->figures, i))
			add_value(&sum, chart, stack.above + stack.below);
		chart->frame.over[i] = kept(chart, &sum);
	}
}

struct span {
	int64_t left, width;
};

static struct span
bar_of(const struct frame *frame, size_t row)
{
	const int64_t left = frame_edge(frame, row), width = frame_edge(frame, row + 1) - left;
	int64_t bar = width * 7 / 10;

	if (width < SPACED_FROM)
		return (struct span){left, width};
	bar = bar < BAR_MOST ? bar : BAR_MOST;
	return (struct span){left + (width - bar) / 2, bar};
}

static void
draw_part(struct text *out, struct chart *chart, size_t row, size_t column, wide from, wide to)
{
	const struct frame *frame = &chart->frame;
	const struct span bar = bar_of(frame, row);
	const int64_t a = frame_y(frame, from), b = frame_y(frame, to);

	if (a == b)
		return;
	text_adds(out, "<rect");
	svg_attribute(out, "x", bar.left);
	svg_attribute(out, "y", a < b ? a : b);
	svg_attribute(out, "width", bar.width);
	svg_attribute(out, "height", a < b ? b - a : a - b);
	text_addc(out, '>');
	add_tip(out, chart, row, column);
	text_adds(out, "</rect>\n");
}

/* What stands between the parts of a bar: paper. */
static void
open_edges(struct text *out, const struct chart *chart, enum svg_color color)
{
	const bool spaced = chart->figures->rows > 0 &&
	                    frame_edge(&chart->frame, 1) - chart->frame.left >= EDGED_FROM;

	text_adds(out, "<g");
	if (spaced && color == SVG_YELLOW)
		svg_outline(out);
	else if (spaced)
		text_adds(out, " class=\"edge\" stroke=\"#fff\"");
	text_adds(out, ">\n");
}

static void
draw_bars(struct text *out, struct chart *chart)
{
	const struct figures *figures = chart->figures;
	struct stack *stack = mem_zero(figures->rows, sizeof *stack);

	for (size_t i = 0; i < figures->columns; i++) {
		text_adds(out, "<g");
		svg_fill(out, chart->series[i].color);
		text_adds(out, ">\n");
		open_edges(out, chart, chart->series[i].color);
		for (size_t j = 0; j < figures->rows; j++) {
			const wide value = figures->row[j].value[i].value;
			wide *from = value > 0 ? &stack[j].above : &stack[j].below;

			draw_part(out, chart, j, i, *from, *from + value);
			*from += value;
		}
		text_adds(out, "</g>\n</g>\n");
	}
	free(stack);
	frame_draw_zero(out, &chart->frame);
}

static void
draw_sums(struct text *out, struct chart *chart)
{
	const struct frame *frame = &chart->frame;

	if (frame->over == NULL)
		return;
	svg_texts(out, "ink", SMALL_SIZE);
	for (size_t i = 0; i < chart->figures->rows; i++)
		svg_text(out, frame_x(frame, i),
		         frame_y(frame, stack_of(chart->figures, i).above) - 5 * PX, SVG_MIDDLE,
		         false, frame->over[i], frame->over[i]);
	svg_end_group(out);
}

/* ---- lines ---- */

static void
find_lines(struct chart *chart)
{
	const struct figures *figures = chart->figures;
	struct frame *frame = &chart->frame;
	bool any = false;

	for (size_t i = 0; i < figures->rows; i++)
		for (size_t j = 0; j < figures->columns; j++) {
			const struct figure *figure = &figures->row[i].value[j];

			if (!figure->there)
				continue;
			if (!any || figure->value > frame->high)
				frame->high = figure->value;
			if (!any || figure->value < frame->low)
				frame->low = figure->value;
			any = true;
		}
	if (frame->low >= 0 &&
	    (frame->low < frame->high / LINES_ZERO ||
	     frame->high - frame->low < frame->high / LINES_FLAT || frame->high == frame->low))
		frame->low = 0;
	else if (frame->high <= 0 &&
	         (frame->high > frame->low / LINES_ZERO ||
	          frame->high - frame->low < -frame->low / LINES_FLAT || frame->high == frame->low))
		frame->high = 0;
	frame->loose = true;
}

/* Is there a figure beside this one, so that a line leads to it? */
static bool
stands_alone(const struct figures *figures, size_t row, size_t column)
{
	if (row > 0 && figures->row[row - 1].value[column].there)
		return false;
	return row + 1 == figures->rows || !figures->row[row + 1].value[column].there;
}

static void
draw_line(struct text *out, struct chart *chart, size_t column)
{
	const struct figures *figures = chart->figures;
	bool drawn = false;

	for (size_t i = 0; i < figures->rows; i++) {
		if (!figures->row[i].value[column].there || stands_alone(figures, i, column))
			continue;
		if (!drawn) {
			text_adds(out, "<path");
			mark_line(out, chart->series[column].color, column);
			text_adds(out, " d=\"");
			drawn = true;
		}
		text_addc(out, i == 0 || !figures->row[i - 1].value[column].there ? 'M' : 'L');
		svg_number(out, frame_x(&chart->frame, i));
		text_addc(out, ' ');
		svg_number(out, frame_y(&chart->frame, figures->row[i].value[column].value));
	}
	if (drawn)
		text_adds(out, "\"/>\n");
}

static bool
points_apart(const struct chart *chart)
{
	const struct frame *frame = &chart->frame;

	return (int64_t)chart->figures->rows * POINTS_APART <= frame->right - frame->left;
}

static void
draw_points(struct text *out, struct chart *chart, size_t column)
{
	const struct figures *figures = chart->figures;
	const bool all = points_apart(chart);

	for (size_t i = 0; i < figures->rows; i++) {
		const struct figure *figure = &figures->row[i].value[column];

		if (!figure->there || (!all && !stands_alone(figures, i, column)))
			continue;
		mark_point(out, chart->series[column].color, column, frame_x(&chart->frame, i),
		           frame_y(&chart->frame, figure->value));
		text_addc(out, '>');
		add_tip(out, chart, i, column);
		text_adds(out, "</path>\n");
	}
}

/* The first column last, on top. */
static void
draw_lines(struct text *out, struct chart *chart)
{
	frame_draw_zero(out, &chart->frame);
	for (size_t i = chart->figures->columns; i-- > 0;) {
		draw_line(out, chart, i);
		draw_points(out, chart, i);
	}
}

/* ---- Pareto ---- */

static void
draw_shares(struct text *out, struct chart *chart)
{
	const struct frame *frame = &chart->frame;
	const struct series *series = &chart->series[1];

	if (chart->pareto.share == NULL)
		return;
	text_adds(out, "<path");
	mark_line(out, series->color, series->look);
	text_adds(out, " d=\"");
	for (size_t i = 0; i < chart->figures->rows; i++) {
		text_addc(out, i == 0 ? 'M' : 'L');
		svg_number(out, frame_x(frame, i));
		text_addc(out, ' ');
		svg_number(out, frame_share_y(frame, chart->pareto.share[i]));
	}
	text_adds(out, "\"/>\n");
	for (size_t i = 0; points_apart(chart) && i < chart->figures->rows; i++) {
		mark_point(out, series->color, series->look, frame_x(frame, i),
		           frame_share_y(frame, chart->pareto.share[i]));
		text_addc(out, '>');
		add_tip(out, chart, i, 0);
		text_adds(out, "</path>\n");
	}
}

/* ---- all of them ---- */

static void
make_series(struct chart *chart)
{
	const struct figures *figures = chart->figures;
	const bool lines = chart->settings->kind == CHART_LINES;
	size_t count = figures->columns;

	chart->series = arena_alloc(&chart->arena, (count + 1) * sizeof *chart->series);
	for (size_t i = 0; i < count; i++)
		chart->series[i] = (struct series){
		    .name = figures->column[i],
		    .color = lines ? line_colors[i % SVG_COLORS] : bar_colors[i % SVG_COLORS],
		    .line = lines,
		    .look = i,
		};
	if (chart->pareto.share != NULL)
		chart->series[count++] = (struct series){
		    .name = "cumulative share", .color = SVG_VERMILLION, .line = true};
	chart->frame.series = chart->series;
	chart->frame.series_count = count;
}

static void
find_values(struct chart *chart)
{
	struct frame *frame = &chart->frame;

	if (chart->settings->kind == CHART_LINES)
		find_lines(chart);
	else
		find_bars(chart);
	if (chart->settings->kind == CHART_BARS)
		find_sums(chart);
	if (chart->pareto.share != NULL)
		frame->share = chart->pareto.largest;
	/* Nothing, or nothing but zeros: from 0 to 1. */
	if (frame->low == frame->high)
		frame->high = measure_one(&chart->figures->y);
}

/* ---- in words, for those who do not see it ---- */

static void
add_count(struct text *out, size_t count, const char *one)
{
	dec_add_text(out, (wide)count, 0, 0);
	text_addc(out, ' ');
	text_adds(out, one);
	text_adds(out, count == 1 ? "" : "s");
}

/* A name in a description, cut. */
static void
add_short(struct text *out, struct chart *chart, const char *name)
{
	text_adds(out, label_cut(&chart->arena, name, FONT_SIZE, NAME_CELLS));
}

static void
add_columns(struct text *out, struct chart *chart)
{
	const struct figures *figures = chart->figures;

	for (size_t i = 0; i < figures->columns; i++) {
		text_adds(out, i == 0 ? "" : i + 1 == figures->columns ? " and " : ", ");
		add_short(out, chart, figures->column[i]);
	}
}

/* "as-is 102.03" */
static void
add_bar(struct text *out, struct chart *chart, const char *what, size_t row)
{
	const struct stack stack = stack_of(chart->figures, row);

	text_adds(out, what);
	add_short(out, chart, chart->figures->row[row].label);
	text_adds(out, *chart->figures->row[row].label != '\0' ? " " : "");
	add_value(out, chart, stack.above + stack.below);
	text_addc(out, '.');
}

static void
describe_bars(struct text *out, struct chart *chart)
{
	const struct figures *figures = chart->figures;
	size_t high = 0, low = 0;

	for (size_t i = 1; i < figures->rows; i++) {
		const struct stack stack = stack_of(figures, i), most = stack_of(figures, high),
		                   least = stack_of(figures, low);

		if (stack.above + stack.below > most.above + most.below)
			high = i;
		if (stack.above + stack.below < least.above + least.below)
			low = i;
	}
	if (figures->rows == 0 || !can_print(&figures->y))
		return;
	add_bar(out, chart, " Most: ", high);
	if (low != high)
		add_bar(out, chart, " Least: ", low);
}

static void
describe_line(struct text *out, struct chart *chart, size_t column)
{
	const struct figures *figures = chart->figures;
	size_t first = figures->rows, last = 0;

	for (size_t i = 0; i < figures->rows; i++)
		if (figures->row[i].value[column].there) {
			first = first < i ? first : i;
			last = i;
		}
	if (first == figures->rows)
		return;
	text_addc(out, ' ');
	add_short(out, chart, figures->column[column]);
	text_adds(out, " from ");
	add_field(out, chart, figures->row[first].value[column].field);
	text_adds(out, " at ");
	add_short(out, chart, figures->row[first].label);
	text_adds(out, " to ");
	add_field(out, chart, figures->row[last].value[column].field);
	text_adds(out, " at ");
	add_short(out, chart, figures->row[last].label);
	text_addc(out, '.');
}

static void
describe(struct chart *chart)
{
	static const char *const kinds[CHART_KINDS] = {"Bars", "Lines", "Pareto chart"};
	struct text *out = &chart->description;
	const struct figures *figures = chart->figures;

	text_adds(out, kinds[chart->settings->kind]);
	text_adds(out, figures->columns > 0 ? " of " : "");
	add_columns(out, chart);
	text_adds(out, ", ");
	add_count(out, figures->rows, "row");
	if (*figures->label != '\0') {
		text_adds(out, " by ");
		add_short(out, chart, figures->label);
	}
	text_addc(out, '.');
	if (chart->settings->kind == CHART_LINES)
		for (size_t i = 0; i < figures->columns; i++)
			describe_line(out, chart, i);
	else
		describe_bars(out, chart);
	if (chart->pareto.vital > 0) {
		text_addc(out, ' ');
		add_count(out, chart->pareto.vital, "row");
		text_adds(out, chart->pareto.vital == 1 ? " makes" : " make");
		text_adds(out, " up 80\u00A0% of the sum.");
	}
}

/* The title that was asked for, else what is drawn by what. */
static const char *
name_of(struct chart *chart)
{
	struct text out = {0};

	if (chart->settings->title != NULL && *chart->settings->title != '\0')
		return chart->settings->title;
	add_columns(&out, chart);
	if (*chart->figures->label != '\0') {
		text_adds(&out, out.length > 0 ? " by " : "");
		add_short(&out, chart, chart->figures->label);
	}
	if (out.length == 0)
		text_adds(&out, "chart");
	return kept(chart, &out);
}

static void
draw_nothing(struct text *out, const struct frame *frame)
{
	svg_texts(out, "soft", FONT_SIZE);
	svg_text(out, (frame->left + frame->right) / 2, (frame->top + frame->bottom) / 2,
	         SVG_MIDDLE, false, "no rows", "no rows");
	svg_end_group(out);
}

static void
draw_all(struct text *out, struct chart *chart)
{
	svg_open(out, chart->settings->width, chart->settings->height, name_of(chart),
	         chart->description.bytes);
	frame_draw(out, &chart->frame);
	if (chart->settings->kind == CHART_LINES)
		draw_lines(out, chart);
	else
		draw_bars(out, chart);
	draw_sums(out, chart);
	draw_shares(out, chart);
	if (chart->figures->rows == 0)
		draw_nothing(out, &chart->frame);
	svg_close(out);
}

void
chart_draw(struct text *out, struct figures *figures, const struct chart_settings *settings,
           struct chart_told *told)
{
	struct chart chart = {.settings = settings, .figures = figures};

	chart.frame.settings = settings;
	chart.frame.figures = figures;
	if (settings->kind == CHART_PARETO && figures->columns > 0)
		pareto_make(&chart.pareto, figures, settings->most);
	make_series(&chart);
	find_values(&chart);
	frame_make(&chart.frame);
	describe(&chart);
	draw_all(out, &chart);
	*told = (struct chart_told){
	    .left_out = chart.pareto.left_out,
	    .gathered = chart.pareto.gathered,
	    .vital = chart.pareto.vital,
	};
	pareto_free(&chart.pareto);
	frame_free(&chart.frame);
	text_free(&chart.description);
	arena_free(&chart.arena);
}
