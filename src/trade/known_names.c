#include "trade/known_names.h"

#include "base/edit_distance.h"
#include "table/table.h"
#include "trade/need.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { NEAREST = 3, COMPARED_MOST = 1000 }; /* characters: what is longer is like nothing */

/* What is known, and what is not, of one column. */
struct kind_of_name {
	enum list_column column;
	struct names known, unknown;
	size_t *rows; /* that have it, by number in unknown; owned */
	size_t room;
};

struct known_names {
	struct name_rules *rules; /* borrowed */
	struct kind_of_name part, color;
};

struct near {
	const char *name;
	size_t edits;
};

static struct kind_of_name *
kind_of(struct known_names *known, enum list_column column)
{
	return column == COLUMN_PART ? &known->part : &known->color;
}

static void
add_field(struct kind_of_name *kind, const struct row *row, size_t at)
{
	if (at == NO_COLUMN)
		return;
	text_fold_blanks(row->field[at]);
	if (*row->field[at] != '\0')
		names_add(&kind->known, row->field[at]);
}

static void
read_file(struct known_names *known, const char *path)
{
	struct table *table = table_open(path, NULL);
	size_t part = table_column(table, "part"), color = table_column(table, "color");
	struct row row;

	if (part == NO_COLUMN && color == NO_COLUMN && table_faults(table)->count == 0)
		fault(table_faults(table), table_header_line(table),
		      "no column \"part\" and none \"color\": there are %s",
		      table_headers_seen(table));
	if (table_faults(table)->count == 0)
		while (table_next(table, &row)) {
			add_field(&known->part, &row, part);
			add_field(&known->color, &row, color);
		}
	table_end(table);
	table_close(table);
}

struct known_names *
known_names_read(const char *const *path, size_t count, struct name_rules *rules)
{
	struct known_names *known = mem_zero(1, sizeof *known);

	known->rules = rules;
	known->part.column = COLUMN_PART;
	known->color.column = COLUMN_COLOR;
	for (size_t i = 0; i < count; i++)
		read_file(known, path[i]);
	name_rules_names(rules, COLUMN_PART, &known->part.known);
	name_rules_names(rules, COLUMN_COLOR, &known->color.known);
	return known;
}

static void
free_kind(struct kind_of_name *kind)
{
	names_free(&kind->known);
	names_free(&kind->unknown);
	free(kind->rows);
}

void
known_names_free(struct known_names *known)
{
	if (known == NULL)
		return;
	free_kind(&known->part);
	free_kind(&known->color);
	free(known);
}

static bool
is_any(enum list_column column, const char *value)
{
	return column == COLUMN_COLOR && strcmp(value, ANY_COLOR) == 0;
}

bool
known_names_has(struct known_names *known, enum list_column column, const char *value,
                const char *file, size_t line)
{
	return is_any(column, value) ||
	       names_find(&kind_of(known, column)->known, value) != SIZE_MAX ||
	       name_rules_knows(known->rules, column, value, file, line);
}

bool
known_names_has_fold(const struct known_names *known, enum list_column column, const char *value)
{
	const struct names *names =
	    column == COLUMN_PART ? &known->part.known : &known->color.known;

	for (size_t i = 0; i < names->count; i++)
		if (text_equal_fold(names->name[i], value))
			return true;
	return false;
}

void
known_names_note(struct known_names *known, enum list_column column, const char *value,
                 const char *file, size_t line)
{
	struct kind_of_name *kind = kind_of(known, column);
	size_t before = kind->unknown.count, number;

	if (*value == '\0' || known_names_has(known, column, value, file, line))
		return;
	number = names_add(&kind->unknown, value);
	if (number == before) {
		MEM_ROOM(kind->rows, number, kind->room);
		kind->rows[number] = 0;
	}
	kind->rows[number]++;
}

size_t
known_names_unknown(const struct known_names *known)
{
	return known->part.unknown.count + known->color.unknown.count;
}

/* Writes the value with a mark before each of the signs. */
static void
write_marked(struct sheet *sheet, const char *value, const char *signs, char mark)
{
	struct text marked = {0};

	for (; *value != '\0'; value++) {
		if (strchr(signs, *value) != NULL)
			text_addc(&marked, mark);
		text_addc(&marked, *value);
	}
	sheet_field(sheet, marked.bytes);
	text_free(&marked);
}

/* The value as a pattern that matches it and nothing else. */
static void
write_pattern(struct sheet *sheet, const char *value)
{
	write_marked(sheet, value, "\\^$.[]|()?*+{}", '\\');
}

/* The value as a rule has it that gives it as a name. */
static void
write_name(struct sheet *sheet, const char *value)
{
	write_marked(sheet, value, "$", '$');
}

/* Puts a name among the nearest, which are sorted by distance, then in byte order. */
static void
insert(struct near near[NEAREST], const char *name, size_t edits)
{
	size_t at = NEAREST;

	while (at > 0 && (near[at - 1].name == NULL || edits < near[at - 1].edits ||
	                  (edits == near[at - 1].edits && strcmp(name, near[at - 1].name) < 0)))
		at--;
	if (at == NEAREST)
		return;
	memmove(&near[at + 1], &near[at], (NEAREST - 1 - at) * sizeof *near);
	near[at] = (struct near){name, edits};
}

static void
write_nearest(struct sheet *sheet, const char *value, const struct names *known,
              const struct code_points *points, struct edit_work *work)
{
	struct near near[NEAREST] = {{NULL, 0}};
	struct arena arena = {0};
	struct code_points own = code_points_of(value, &arena);

	for (size_t i = 0; i < known->count && own.count <= COMPARED_MOST; i++) {
		size_t most = near[NEAREST - 1].name ? near[NEAREST - 1].edits : SIZE_MAX - 1;
		size_t edits;

		if (points[i].count > COMPARED_MOST)
			continue;
		edits = edit_distance(&own, &points[i], most, work);

		if (edits <= most)
			insert(near, known->name[i], edits);
	}
	for (size_t i = 0; i < NEAREST; i++) {
		if (near[i].name != NULL) {
			write_name(sheet, near[i].name);
			sheet_qty(sheet, (int64_t)near[i].edits);
		} else {
			sheet_field(sheet, "");
			sheet_field(sheet, "");
		}
	}
	arena_free(&arena);
}

static void
write_kind(const struct kind_of_name *kind, struct sheet *sheet)
{
	struct names known = {0};
	struct edit_work work = {0};
	struct arena arena = {0};
	struct code_points *points;

	for (size_t i = 0; i < kind->known.count; i++)
		if (!is_any(kind->column, kind->known.name[i]))
			names_add(&known, kind->known.name[i]);
	points = mem_zero(known.count + 1, sizeof *points);
	for (size_t i = 0; i < known.count; i++)
		points[i] = code_points_of(known.name[i], &arena);
	for (size_t i = 0; i < kind->unknown.count; i++) {
		sheet_field(sheet, list_columns[kind->column].name);
		write_pattern(sheet, kind->unknown.name[i]);
		sheet_field(sheet, "");
		write_nearest(sheet, kind->unknown.name[i], &known, points, &work);
		sheet_qty(sheet, (int64_t)kind->rows[i]);
		sheet_end_row(sheet);
	}
	free(points);
	names_free(&known);
	edit_work_free(&work);
	arena_free(&arena);
}

void
known_names_write(const struct known_names *known, struct sheet *sheet)
{
	static const char *const columns[] = {"column",  "pattern",   "name",    "nearest",
	                                      "edits",   "nearest_2", "edits_2", "nearest_3",
	                                      "edits_3", "rows"};

	sheet_fields(sheet, columns, sizeof columns / sizeof *columns);
	sheet_end_row(sheet);
	write_kind(&known->part, sheet);
	write_kind(&known->color, sheet);
}
