#include "plot/chart_figures.h"

#include "base/opts.h"
#include "show/columns_named.h"
#include "show/number.h"
#include "show/total_line.h"
#include "show/visible.h"

#include <stdlib.h>
#include <string.h>

enum { DIGITS = 22, COLUMNS_MOST = 8 };

/* A row as read, in all columns of the table. */
struct source_row {
	const char **field;
	size_t line;
};

struct source {
	struct figures *figures;
	const struct figures_choice *choice;
	struct table *table;
	struct source_row *row; /* owned */
	size_t count, room;
	size_t *label, labels; /* owned */
	size_t *value, values; /* owned */
};

/* ---- numbers ---- */

static bool
is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static const char *
behind_sign(const char *field)
{
	return field + (*field == '-' || *field == '+');
}

/* The power of ten above a number's first digit that is not 0: 3 of 102.03, -1 of 0.05; false: the
 * number is zero. */
static bool
magnitude_of(const char *field, int *magnitude)
{
	const char *s = behind_sign(field);
	int place = (int)number_whole(s);

	for (; *s != '\0'; s++) {
		if (is_digit(*s) && *s != '0') {
			*magnitude = place;
			return true;
		}
		place -= is_digit(*s);
	}
	return false;
}

/* Digits behind the point; significant: without zeros at the end. */
static unsigned
decimals_of(const char *field, bool significant)
{
	const char *point = strchr(field, '.');
	size_t count = point != NULL ? strlen(point + 1) : 0;

	while (significant && count > 0 && point[count] == '0')
		count--;
	return (unsigned)count;
}

/* The number as a whole number of 10^exponent, halves away from zero. */
static wide
value_of(const char *field, int exponent)
{
	const char *s = behind_sign(field);
	int place = (int)number_whole(s);
	wide value = 0;

	for (; *s != '\0' && place >= exponent; s++) {
		if (!is_digit(*s))
			continue;
		place--;
		if (place >= exponent)
			value = 10 * value + (*s - '0');
		else
			value += *s >= '5';
	}
	for (; value != 0 && place > exponent; place--)
		value *= 10;
	return *field == '-' ? -value : value;
}

wide
measure_one(const struct measure *measure)
{
	return measure->exponent > 0 || measure->exponent < -36
	           ? 0
	           : wide_power10((unsigned)-measure->exponent);
}

/* What a measure is learnt from, number by number. */
struct gauge {
	bool any;
	int magnitude;
	unsigned decimals, significant;
};

static void
gauge_add(struct gauge *gauge, const char *field)
{
	const unsigned decimals = decimals_of(field, false);
	const unsigned significant = decimals_of(field, true);
	int magnitude;

	if (decimals > gauge->decimals)
		gauge->decimals = decimals;
	if (significant > gauge->significant)
		gauge->significant = significant;
	if (magnitude_of(field, &magnitude) && (!gauge->any || magnitude > gauge->magnitude)) {
		gauge->magnitude = magnitude;
		gauge->any = true;
	}
}

static struct measure
measure_of(const struct gauge *gauge)
{
	const int exponent = gauge->magnitude - DIGITS;

	return (struct measure){
	    .exponent = exponent,
	    .decimals = gauge->decimals,
	    .exact = (int)gauge->significant <= -exponent,
	    .whole = gauge->significant == 0,
	};
}

static struct figure
figure_of(const char *field, const struct measure *measure)
{
	const bool there = *field != '\0';

	return (struct figure){
	    .there = there,
	    .value = there ? value_of(field, measure->exponent) : 0,
	    .field = field,
	};
}

/* ---- what was chosen ---- */

static bool
is_among(const size_t *list, size_t count, size_t at)
{
	for (size_t i = 0; i < count; i++)
		if (list[i] == at)
			return true;
	return false;
}

/* Those that --columns names. */
static void
choose_named_values(struct source *source)
{
	source->value = columns_named(source->table, &source->figures->arena, "--columns",
	                              source->choice->columns, "goods,tax", &source->values);
	if (source->values > COLUMNS_MOST)
		opts_usage("--columns: more than %d cannot be told apart", COLUMNS_MOST);
	if (source->choice->kind == CHART_PARETO && source->values > 1)
		opts_usage("--columns: --kind pareto is of one column of amounts");
}

/* Without --label, the first column that is not drawn; none: rows are numbered. */
static void
choose_label(struct source *source)
{
	const size_t all = table_columns(source->table);

	source->label = columns_named(source->table, &source->figures->arena, "--label",
	                              source->choice->label, "goods,tax", &source->labels);
	if (source->choice->label != NULL)
		return;
	free(source->label);
	source->label = mem_zero(1, sizeof *source->label);
	for (size_t i = 0; all > 1 && i < all && source->labels == 0; i++)
		if (!is_among(source->value, source->values, i))
			source->label[source->labels++] = i;
}

static bool
is_label(const struct source *source, size_t at)
{
	return is_among(source->label, source->labels, at);
}

static void
take_column(struct source *source, size_t at)
{
	source->value[source->values++] = at;
}

static bool
is_all_zero(const struct source *source, size_t at)
{
	int magnitude;

	for (size_t i = 0; i < source->count; i++) {
		const char *field = source->row[i].field[at];

		if (!number_is(field) ? *field != '\0' : magnitude_of(field, &magnitude))
			return false;
	}
	return true;
}

static size_t
find_column(const struct source *source, const char *name)
{
	char *const *header = table_header(source->table);

	for (size_t i = 0; i < table_columns(source->table); i++)
		if (text_equal_fold(header[i], name) && !is_label(source, i))
			return i;
	return NO_COLUMN;
}

/* Columns of this family of programs that a chart of some kind is of: the first group of which the
 * first is there. Of the others those that are; what few tables have an amount in, the fourth and
 * fifth, only where not all is zero. */
enum { GROUP_MOST = 5, GROUP_ALWAYS = 3 };

struct known_group {
	enum chart_kind kind;
	const char *name[GROUP_MOST];
};

static const struct known_group known_groups[] = {
    {CHART_BARS, {"home_goods", "home_charges", "home_tax", "rounding"}},
    {CHART_BARS, {"goods", "charges", "tax", "others", "rounding"}},
    {CHART_LINES, {"cost", "bound"}},
    {CHART_PARETO, {"amount"}},
    {CHART_PARETO, {"home"}},
};

static bool
choose_known(struct source *source)
{
	const struct known_group *group = known_groups;
	const size_t groups = sizeof known_groups / sizeof *known_groups;

	for (size_t i = 0; i < groups; i++, group++)
		if (group->kind == source->choice->kind &&
		    find_column(source, group->name[0]) != NO_COLUMN)
			break;
	if (group == known_groups + groups)
		return false;
	for (size_t i = 0; i < GROUP_MOST && group->name[i] != NULL; i++) {
		const size_t at = find_column(source, group->name[i]);

		if (at != NO_COLUMN && (i < GROUP_ALWAYS || !is_all_zero(source, at)))
			take_column(source, at);
	}
	return true;
}

static bool
is_of_numbers(const struct source *source, size_t at)
{
	bool any = false;

	for (size_t i = 0; i < source->count; i++) {
		const char *field = source->row[i].field[at];

		if (*field != '\0' && !number_is(field))
			return false;
		any = any || *field != '\0';
	}
	return any || source->count == 0;
}

/* The names of the columns that could be meant, for a message. */
static const char *
names_of_numbers(const struct source *source)
{
	struct arena *arena = &source->figures->arena;
	struct text out = {0};
	const char *names;

	for (size_t i = 0; i < table_columns(source->table); i++)
		if (!is_label(source, i) && is_of_numbers(source, i)) {
			text_adds(&out, out.length > 0 ? ", " : "");
			text_adds(&out, text_show(arena, table_header(source->table)[i]));
		}
	names = arena_copy(arena, out.bytes ? out.bytes : "", out.length);
	text_free(&out);
	return names;
}

/* The only column of numbers. */
static void
choose_only(struct source *source)
{
	size_t count = 0, only = 0;

	for (size_t i = 0; i < table_columns(source->table); i++)
		if (!is_label(source, i) && is_of_numbers(source, i)) {
			only = i;
			count++;
		}
	if (count == 1 || (count > 1 && source->count == 0))
		take_column(source, only);
	else if (count == 0)
		fault(table_faults(source->table), table_header_line(source->table),
		      "no column is of numbers: --columns says which are drawn");
	else
		fault(table_faults(source->table), table_header_line(source->table),
		      "which columns are drawn? --columns says: of numbers are %s",
		      names_of_numbers(source));
}

static void
choose_values(struct source *source)
{
	free(source->value);
	source->value = mem_zero(GROUP_MOST, sizeof *source->value);
	if (!choose_known(source))
		choose_only(source);
}

/* ---- the rows ---- */

static void
read_rows(struct source *source)
{
	struct arena *arena = &source->figures->arena;
	const size_t all = table_columns(source->table);
	struct row row;

	while (table_next(source->table, &row)) {
		struct source_row new = {.line = row.line};

		if (total_line_is(table_header(source->table), (const char *const *)row.field,
		                  all)) {
			source->figures->totals++;
			continue;
		}
		new.field = arena_alloc(arena, all * sizeof *new.field);
		for (size_t i = 0; i < all; i++)
			new.field[i] = arena_copy(arena, row.field[i], strlen(row.field[i]));
		MEM_ROOM(source->row, source->count, source->room);
		source->row[source->count++] = new;
	}
}

static void
check_numbers(struct source *source, struct gauge *gauge)
{
	struct arena *arena = &source->figures->arena;

	for (size_t i = 0; i < source->count; i++)
		for (size_t j = 0; j < source->values; j++) {
			const size_t at = source->value[j];
			const char *field = source->row[i].field[at];

			if (number_is(field))
				gauge_add(gauge, field);
			else if (*field == '\0')
				source->figures->missing++;
			else
				fault(table_faults(source->table), source->row[i].line,
				      "%s \"%s\" is no number: digits, with a point before "
				      "decimals and without grouping, or an empty field",
				      text_show(arena, table_header(source->table)[at]),
				      text_show(arena, field));
		}
}

/* The fields that name a row, or the headers of these, with blanks between; where there are none,
 * a number. */
static const char *
label_of(struct source *source, const char *const *field, size_t number)
{
	struct arena *arena = &source->figures->arena;
	struct text out = {0};
	const char *label;

	for (size_t i = 0; i < source->labels; i++) {
		const char *part = field[source->label[i]];

		text_adds(&out, out.length > 0 && *part != '\0' ? " " : "");
		text_adds(&out, part);
	}
	if (source->labels == 0 && number > 0)
		dec_add_text(&out, (wide)number, 0, 0);
	label =
	    visible(arena, arena_copy(arena, out.bytes ? out.bytes : "", out.length), BREAKS_SHOWN);
	text_free(&out);
	return label;
}

/* Do all rows stand at numbers, not all at one? */
static bool
is_by_number(const struct source *source, struct gauge *gauge)
{
	const size_t at = source->label[0];
	bool differ = false;

	if (source->choice->kind != CHART_LINES || source->labels != 1)
		return false;
	for (size_t i = 0; i < source->count; i++) {
		const char *field = source->row[i].field[at];

		if (!number_is(field))
			return false;
		gauge_add(gauge, field);
	}
	for (size_t i = 1; i < source->count && !differ; i++) {
		const struct measure measure = measure_of(gauge);

		differ = value_of(source->row[0].field[at], measure.exponent) !=
		         value_of(source->row[i].field[at], measure.exponent);
	}
	return differ;
}

static void
take_rows(struct source *source)
{
	struct figures *figures = source->figures;

	figures->row = mem_zero(source->count, sizeof *figures->row);
	figures->rows = source->count;
	for (size_t i = 0; i < source->count; i++) {
		const struct source_row *from = &source->row[i];
		struct figures_row *row = &figures->row[i];

		row->label = label_of(source, from->field, i + 1);
		if (figures->by_number)
			row->x = figure_of(from->field[source->label[0]], &figures->x);
		row->value = arena_alloc(&figures->arena, source->values * sizeof *row->value);
		for (size_t j = 0; j < source->values; j++)
			row->value[j] = figure_of(from->field[source->value[j]], &figures->y);
	}
}

static void
take_names(struct source *source)
{
	struct figures *figures = source->figures;
	char *const *header = table_header(source->table);

	figures->columns = source->values;
	figures->column = arena_alloc(&figures->arena, source->values * sizeof *figures->column);
	for (size_t i = 0; i < source->values; i++) {
		const char *name = header[source->value[i]];

		figures->column[i] = visible(
		    &figures->arena, arena_copy(&figures->arena, name, strlen(name)), BREAKS_SHOWN);
	}
	figures->label = label_of(source, (const char *const *)header, 0);
}

/* By x; rows of one x stay as they were. Merged from halves, which keeps that. */
static void
sort_by_x(struct figures_row *row, size_t count, struct figures_row *spare)
{
	const size_t half = count / 2;
	size_t left = 0, right = half;

	if (count < 2)
		return;
	sort_by_x(row, half, spare);
	sort_by_x(row + half, count - half, spare);
	for (size_t i = 0; i < count; i++)
		spare[i] =
		    right == count || (left < half && row[left].x.value <= row[right].x.value)
		        ? row[left++]
		        : row[right++];
	memcpy(row, spare, count * sizeof *row);
}

void
figures_read(struct figures *figures, struct table *table, const struct figures_choice *choice)
{
	struct source source = {.figures = figures, .choice = choice, .table = table};
	struct gauge y = {0}, x = {0};

	*figures = (struct figures){0};
	choose_named_values(&source);
	choose_label(&source);
	read_rows(&source);
	if (table_faults(table)->count == 0 && choice->columns == NULL)
		choose_values(&source);
	if (table_faults(table)->count == 0)
		check_numbers(&source, &y);
	table_end(table);
	figures->y = measure_of(&y);
	figures->by_number = is_by_number(&source, &x);
	figures->x = measure_of(&x);
	take_names(&source);
	take_rows(&source);
	if (figures->by_number) {
		struct figures_row *spare = mem_zero(figures->rows, sizeof *spare);

		sort_by_x(figures->row, figures->rows, spare);
		free(spare);
	}
	table_close(table);
	free(source.row);
	free(source.label);
	free(source.value);
}

void
figures_free(struct figures *figures)
{
	free(figures->row);
	arena_free(&figures->arena);
	*figures = (struct figures){0};
}
