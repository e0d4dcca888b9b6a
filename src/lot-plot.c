/*
 * lot-plot: a chart of any CSV.
 */
#include "base/err.h"
#include "base/opts.h"
#include "plot/chart.h"
#include "show/locale.h"
#include "show/visible.h"
#include "table/output.h"

#include <stdlib.h>
#include <string.h>

enum { USUAL_WIDTH = 720, USUAL_HEIGHT = 450, ROWS_MOST = 1000000 };

enum {
	KEY_KIND = OPT_LONG,
	KEY_LABEL,
	KEY_COLUMNS,
	KEY_MOST,
	KEY_TITLE,
	KEY_UNIT,
	KEY_WIDTH,
	KEY_HEIGHT,
	KEY_LOCALE
};

static const char *const kind_names[CHART_KINDS] = {"bars", "lines", "pareto"};

static const struct opt opts[] = {
    OPTS_COMMON,
    {KEY_KIND, "kind", "KIND", "bars, lines or pareto; default: bars", false},
    {KEY_LABEL, "label", "A,B", "what names the rows; default: the first column", false},
    {KEY_COLUMNS, "columns", "A,B", "the columns that are drawn; default: known amounts", false},
    {KEY_MOST, "most", "N", "--kind pareto: so many rows, the others in one bar", false},
    {KEY_TITLE, "title", "TEXT", "title above the chart", false},
    {KEY_UNIT, "unit", "TEXT", "unit of the figures, above their axis", false},
    {KEY_WIDTH, "width", "N", "width in pixels; default: 720", false},
    {KEY_HEIGHT, "height", "N", "height in pixels; default: 450", false},
    {KEY_LOCALE, "locale", "NAME", "whose decimal mark; default: en", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-plot",
    .purpose = "Draws a chart of any CSV, as SVG: stacked bars, lines, or a Pareto chart.",
    .synopsis = "[-q] [-D C] [--encoding NAME] [--kind KIND] [--label A,B] [--columns A,B]\n"
                "                [--most N] [--title TEXT] [--unit TEXT] [--width N] [--height N]\n"
                "                [--locale NAME] < table.csv > chart.svg",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 2 trouble.",
};

struct settings {
	struct figures_choice choice;
	struct chart_settings chart;
	struct table_form form; /* of stdin */
	bool quiet;
};

/* ---- the options ---- */

static enum chart_kind
kind_named(const char *name)
{
	struct arena arena = {0};
	const char *near;

	for (size_t i = 0; i < CHART_KINDS; i++)
		if (strcmp(name, kind_names[i]) == 0)
			return (enum chart_kind)i;
	near = text_nearest(name, kind_names, CHART_KINDS);
	if (near != NULL)
		opts_usage("--kind: there is no chart \"%s\", but \"%s\"", text_show(&arena, name),
		           near);
	opts_usage("--kind: there is no chart \"%s\": bars, lines or pareto",
	           text_show(&arena, name));
}

/* A whole number within limits. */
static int64_t
number_option(const char *option, const char *value, int64_t least, int64_t most)
{
	struct arena arena = {0};
	int64_t number;

	if (dec_parse_qty(value, &number) != DEC_OK || number < least || number > most)
		opts_usage("%s \"%s\" is no whole number from %lld to %lld", option,
		           text_show(&arena, value), (long long)least, (long long)most);
	return number;
}

/* Text for the drawing, in the arena. */
static const char *
text_option(struct arena *arena, const char *option, const char *value)
{
	char *copy = arena_copy(arena, value, strlen(value));

	if (text_utf8_bad(value, strlen(value)) < strlen(value))
		opts_usage("%s is not UTF-8", option);
	text_fold_blanks(copy);
	return visible(arena, copy, BREAKS_SHOWN);
}

static char
mark_of(const char *name)
{
	struct arena arena = {0};
	const char *why;
	const struct locale *found = locale_find(name, &arena, &why);

	if (found == NULL)
		opts_usage("--locale: \"%s\" is none known here: %s", text_show(&arena, name), why);
	arena_free(&arena);
	return found->decimal;
}

static void
check_options(const struct settings *set)
{
	if (set->chart.most > 0 && set->chart.kind != CHART_PARETO)
		opts_usage("--most is for --kind pareto");
}

static struct settings
read_options(int argc, char **argv, struct arena *arena)
{
	struct settings set = {
	    .chart = {.width = USUAL_WIDTH, .height = USUAL_HEIGHT, .mark = '.'},
	};
	struct opt_reader reader;
	const char *value;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		switch (key) {
		case KEY_KIND:
			set.chart.kind = set.choice.kind = kind_named(value);
			break;
		case KEY_LABEL:
			set.choice.label = value;
			break;
		case KEY_COLUMNS:
			set.choice.columns = value;
			break;
		case KEY_MOST:
			set.chart.most = (size_t)number_option("--most", value, 1, ROWS_MOST);
			break;
		case KEY_TITLE:
			set.chart.title = text_option(arena, "--title", value);
			break;
		case KEY_UNIT:
			set.chart.unit = text_option(arena, "--unit", value);
			break;
		case KEY_WIDTH:
			set.chart.width = number_option("--width", value, WIDTH_LEAST, SIZE_MOST);
			break;
		case KEY_HEIGHT:
			set.chart.height =
			    number_option("--height", value, HEIGHT_LEAST, SIZE_MOST);
			break;
		case KEY_LOCALE:
			set.chart.mark = mark_of(value);
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the table comes from stdin, there are no operands");
	check_options(&set);
	return set;
}

/* ---- what is told ---- */

static void
add_told(struct text *out, size_t count, const char *one, const char *many)
{
	if (count == 0)
		return;
	text_adds(out, ", ");
	dec_add_text(out, (wide)count, 0, 0);
	text_addc(out, ' ');
	text_adds(out, count == 1 ? one : many);
}

static void
tell_chart(const struct settings *set, const struct figures *figures, const struct chart_told *told)
{
	static const char *const things[CHART_KINDS] = {"stacked column", "line", "column"};
	const bool pareto = set->chart.kind == CHART_PARETO;
	struct text rest = {0};

	add_told(&rest, told->vital, "of them makes up 80 % of the sum",
	         "of them make up 80 % of the sum");
	add_told(&rest, told->gathered, "gathered in the last", "gathered in the last");
	add_told(&rest, told->left_out, "without an amount left out", "without an amount left out");
	add_told(&rest, pareto ? 0 : figures->missing, "empty field", "empty fields");
	add_told(&rest, figures->totals, "total line left out", "total lines left out");
	tell("%zu row%s, %zu %s%s%s", figures->rows, figures->rows == 1 ? "" : "s",
	     figures->columns, things[set->chart.kind], figures->columns == 1 ? "" : "s",
	     rest.bytes != NULL ? rest.bytes : "");
	text_free(&rest);
}

int
main(int argc, char **argv)
{
	struct arena arena = {0};
	struct settings set = read_options(argc, argv, &arena);
	struct outputs outputs = {0};
	struct figures figures;
	struct chart_told told;
	struct sheet drawn = {0};

	figures_read(&figures, table_open("-", &set.form), &set.choice);
	chart_draw(&drawn.text, &figures, &set.chart, &told);
	tell_later();
	if (!set.quiet)
		tell_chart(&set, &figures, &told);
	outputs_write(&outputs, &drawn);
	sheet_free(&drawn);
	figures_free(&figures);
	arena_free(&arena);
	return EXIT_DONE;
}
