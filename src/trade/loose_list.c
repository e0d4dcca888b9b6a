#include "trade/loose_list.h"

#include "base/err.h"
#include "base/pattern.h"
#include "base/width.h"
#include "table/lines.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- own patterns ---- */

struct loose_pattern {
	struct pattern *pattern;    /* owned */
	size_t group[LIST_COLUMNS]; /* its number; 0: none */
};

/* Has a list of this kind, asked for in this way, the column? */
static bool
has_column(enum list_kind kind, bool with_code, enum list_column column)
{
	if (column == COLUMN_CODE)
		return with_code;
	return column < LIST_COLUMNS && (list_columns[column].lists & kind) != 0;
}

/* What is wrong with the names of the groups, or NULL; notes their numbers. */
static const char *
name_groups(struct loose_pattern *pattern, enum list_kind kind, bool with_code, struct arena *arena)
{
	enum list_column first = with_code ? COLUMN_CODE : COLUMN_PART;
	struct pattern_group *group;
	size_t count = pattern_named(pattern->pattern, arena, &group);

	for (size_t i = 0; i < count; i++) {
		enum list_column column = list_column_named(group[i].name);
		const char *nearest = list_column_nearest(group[i].name);
		char why[160];

		if (has_column(kind, with_code, column)) {
			pattern->group[column] = group[i].number;
			continue;
		}
		snprintf(why, sizeof why, "group \"%.32s\" is no column of such a list%s%s%s",
		         group[i].name,
		         column == LIST_COLUMNS && nearest ? ": did you mean \"" : "",
		         column == LIST_COLUMNS && nearest ? nearest : "",
		         column == LIST_COLUMNS && nearest ? "\"?" : "");
		return arena_copy(arena, why, strlen(why));
	}
	if (pattern->group[first] == 0 && pattern->group[COLUMN_PART] == 0)
		return with_code ? "no group is named code or part, as in (?<code>[0-9]+)"
		                 : "no group is named part, as in (?<part>.+)";
	return NULL;
}

const char *
loose_patterns_add(struct loose_patterns *patterns, const char *text, enum list_kind kind,
                   bool with_code)
{
	struct loose_pattern pattern = {0};
	const char *why;

	pattern.pattern = pattern_new(text, &patterns->arena, &why);
	if (pattern.pattern == NULL)
		return why;
	MEM_ROOM(patterns->pattern, patterns->count, patterns->room);
	why = name_groups(&pattern, kind, with_code, &patterns->arena);
	patterns->pattern[patterns->count++] = pattern;
	return why;
}

void
loose_patterns_free(struct loose_patterns *patterns)
{
	for (size_t i = 0; i < patterns->count; i++)
		pattern_free(patterns->pattern[i].pattern);
	free(patterns->pattern);
	arena_free(&patterns->arena);
}

/* ---- the list ---- */

/* A column of the table that comes out. */
struct made_column {
	enum list_column is; /* LIST_COLUMNS: not known */
	const char *header;
};

struct loose_row {
	struct row row; /* fields in the arena, as many as given */
	const char *why;
};

struct loose_list {
	const struct loose_form *form;
	struct arena *arena;
	struct lines lines;
	struct made_column *column; /* owned */
	size_t columns, column_room;
	struct loose_row *row; /* owned */
	size_t rows, row_room;
};

/* The cells of a line of a table. */
struct cells {
	char **cell; /* in the arena */
	size_t count;
};

/* A table within the text. */
struct inner {
	char sign;     /* what parts its cells */
	size_t line;   /* of its header */
	size_t *place; /* by column: that of the list; in the arena */
	size_t columns;
};

static size_t
add_column(struct loose_list *list, enum list_column is, const char *header)
{
	MEM_ROOM(list->column, list->columns, list->column_room);
	list->column[list->columns] = (struct made_column){is, header};
	return list->columns++;
}

static size_t
known_column(struct loose_list *list, enum list_column is)
{
	for (size_t i = 0; i < list->columns; i++)
		if (list->column[i].is == is)
			return i;
	return add_column(list, is, list_columns[is].name);
}

/* The column of an unknown header that is none of those places, which the same table has. */
static size_t
unknown_column(struct loose_list *list, const char *header, const size_t *place, size_t places)
{
	for (size_t i = 0; i < list->columns; i++) {
		size_t used = 0;

		if (list->column[i].is < LIST_COLUMNS ||
		    !text_equal_fold(list->column[i].header, header))
			continue;
		while (used < places && place[used] != i)
			used++;
		if (used == places)
			return i;
	}
	return add_column(list, LIST_COLUMNS, header);
}

static void
add_row(struct loose_list *list, size_t at, char **field, size_t fields, const char *why)
{
	struct row row = {.field = field, .given = fields, .line = at + 1};

	row.text = list->lines.line[at].text;
	MEM_ROOM(list->row, list->rows, list->row_room);
	list->row[list->rows++] = (struct loose_row){row, why};
}

/* Fields by column of the list, all of them empty as yet. */
static char **
new_fields(struct loose_list *list)
{
	static char empty[] = "";
	char **field = arena_alloc(list->arena, (list->columns + 1) * sizeof *field);

	for (size_t i = 0; i < list->columns; i++)
		field[i] = empty;
	return field;
}

static char *
keep(struct loose_list *list, const char *text)
{
	return arena_copy(list->arena, text, strlen(text));
}

/* ---- lines ---- */

/* Does an own pattern take the line? Then it is a row. */
static bool
take_by_pattern(struct loose_list *list, size_t at, const char *text)
{
	struct loose_patterns *patterns = list->form->patterns;
	const char **took, *why;
	char **field;

	for (size_t i = 0; i < patterns->count; i++) {
		const struct loose_pattern *own = &patterns->pattern[i];

		switch (pattern_take(own->pattern, text, list->arena, &took, &why)) {
		case PATTERN_NO:
			continue;
		case PATTERN_FAULT:
			die("%s:%zu: \"%s\", --pattern %zu: %s", list->lines.name, at + 1,
			    text_show(list->arena, text), i + 1, why);
		case PATTERN_YES:
			break;
		}
		for (size_t c = 0; c < LIST_COLUMNS; c++)
			if (own->group[c] > 0)
				known_column(list, (enum list_column)c);
		field = new_fields(list);
		for (size_t c = 0; c < LIST_COLUMNS; c++)
			if (own->group[c] > 0)
				field[known_column(list, (enum list_column)c)] =
				    keep(list, took[own->group[c]]);
		add_row(list, at, field, list->columns, NULL);
		return true;
	}
	return false;
}

static void
take_line(struct loose_list *list, size_t at)
{
	const struct loose_form *form = list->form;
	struct loose_reader reader = {form->mark,       form->with_code, form->known, form->rules,
	                              list->lines.name, at + 1,          list->arena};
	char *folded = keep(list, list->lines.line[at].text);
	struct loose_line line;
	const char *why = list->lines.line[at].why;
	char **field;

	text_fold_blanks(folded);
	if (why == NULL && take_by_pattern(list, at, folded))
		return;
	if (why == NULL) {
		char *text = keep(list, list->lines.line[at].text);

		text_plain_blanks(text);
		why = loose_line_read(&reader, text_trim(text), &line);
	}
	if (why != NULL) {
		add_row(list, at, NULL, 0, why);
		return;
	}
	if (form->with_code) {
		known_column(list, COLUMN_CODE);
	} else {
		known_column(list, COLUMN_PART);
		known_column(list, COLUMN_COLOR);
	}
	known_column(list, COLUMN_QTY);
	field = new_fields(list);
	if (form->with_code) {
		field[known_column(list, COLUMN_CODE)] = keep(list, line.code);
	} else {
		field[known_column(list, COLUMN_PART)] = keep(list, line.part);
		field[known_column(list, COLUMN_COLOR)] = keep(list, line.color);
	}
	field[known_column(list, COLUMN_QTY)] = keep(list, line.qty);
	add_row(list, at, field, list->columns, NULL);
}

/* ---- tables ---- */

/* Past blanks and the signs of a quoted mail. */
static const char *
past_quote(const char *s)
{
	while (*s == '>' || *s == ' ')
		s++;
	return s;
}

static bool
is_punctuation(char c)
{
	return c != '\0' && strchr("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~", c) != NULL;
}

/* A cell without what Markdown puts around and into it: bold, code, backslashes. */
static char *
plain_cell(struct loose_list *list, const char *start, const char *end, char sign)
{
	static const char *const marks[] = {"**", "__", "`"};
	char *cell = arena_copy(list->arena, start, (size_t)(end - start)), *out;

	cell = text_trim(cell);
	if (sign != '|')
		return cell;
	for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
		size_t mark = strlen(marks[i]), length = strlen(cell);

		if (length <= 2 * mark || strncmp(cell, marks[i], mark) != 0 ||
		    strcmp(cell + length - mark, marks[i]) != 0)
			continue;
		cell[length - mark] = '\0';
		cell = text_trim(cell + mark);
	}
	out = cell;
	for (const char *s = cell; *s != '\0'; s++)
		*out++ = *s == '\\' && is_punctuation(s[1]) ? *++s : *s;
	*out = '\0';
	return cell;
}

/* The cells of a line; those between bars have a bar before the first and behind the last, or
 * not. */
static struct cells
cells_of(struct loose_list *list, const char *text, char sign)
{
	struct cells cells = {0};
	const char *s, *start;
	size_t length;

	if (sign == '|') {
		text = past_quote(text);
		text += *text == '|';
	}
	length = strlen(text);
	while (sign == '|' && length > 0 && text_is_blank_byte(text[length - 1]))
		length--;
	if (sign == '|' && length > 0 && text[length - 1] == '|' &&
	    !(length > 1 && text[length - 2] == '\\'))
		length--;
	cells.cell = arena_alloc(list->arena, (length + 1) * sizeof *cells.cell);
	for (s = start = text;; s++) {
		if (sign == '|' && *s == '\\' && s + 1 < text + length) {
			s++;
			continue;
		}
		if (s < text + length && *s != sign)
			continue;
		cells.cell[cells.count++] = plain_cell(list, start, s, sign);
		if (s == text + length)
			return cells;
		start = s + 1;
	}
}

/* ":--", "---": a cell of the row below a Markdown header. */
static bool
is_rule_cell(const char *cell)
{
	size_t hyphens;

	cell += *cell == ':';
	hyphens = strspn(cell, "-");
	cell += hyphens;
	cell += *cell == ':';
	return hyphens > 0 && *cell == '\0';
}

static bool
is_markdown(struct loose_list *list, size_t at)
{
	struct cells header, rule;

	if (at + 1 >= list->lines.count || strchr(list->lines.line[at].text, '|') == NULL ||
	    strchr(list->lines.line[at + 1].text, '-') == NULL)
		return false;
	header = cells_of(list, list->lines.line[at].text, '|');
	rule = cells_of(list, list->lines.line[at + 1].text, '|');
	if (header.count != rule.count)
		return false;
	for (size_t i = 0; i < rule.count; i++)
		if (!is_rule_cell(rule.cell[i]))
			return false;
	return true;
}

/* A table of the cells as header, to find its columns. */
static struct table *
header_table(struct loose_list *list, size_t at, const struct cells *cells, bool silent)
{
	struct table *table =
	    table_make(list->lines.name, at + 1, (const char *const *)cells->cell, cells->count);

	table_faults(table)->silent = silent;
	return table;
}

/* Do header words stand there for a part (or order code) and a quantity? */
static bool
is_header(struct loose_list *list, size_t at, const struct cells *cells)
{
	const struct loose_form *form = list->form;
	struct list_header header = {0};
	struct table *table = header_table(list, at, cells, true);
	bool is;

	list_header_find(&header, table, form->kind, form->with_code, form->map);
	is = header.at[COLUMN_QTY] != NO_COLUMN &&
	     (header.at[COLUMN_PART] != NO_COLUMN || header.at[COLUMN_CODE] != NO_COLUMN);
	list_header_free(&header);
	table_close(table);
	return is;
}

/* Does a table start at the line? */
static bool
starts_table(struct loose_list *list, size_t at, struct inner *inner)
{
	static const char signs[] = "\t|";
	const char *text = list->lines.line[at].text;

	inner->line = at + 1;
	inner->sign = '|';
	if (list->lines.line[at].why != NULL)
		return false;
	if (is_markdown(list, at))
		return true;
	for (size_t i = 0; i < sizeof signs - 1; i++) {
		struct cells cells;

		if (strchr(text, signs[i]) == NULL)
			continue;
		cells = cells_of(list, text, signs[i]);
		inner->sign = signs[i];
		if (is_header(list, at, &cells))
			return true;
	}
	return false;
}

/* Finds the columns of a table and gives each its place; what it lacks is told. */
static void
place_columns(struct loose_list *list, size_t at, struct inner *inner)
{
	const struct loose_form *form = list->form;
	struct cells cells = cells_of(list, list->lines.line[at].text, inner->sign);
	struct table *table = header_table(list, at, &cells, false);
	struct list_header header = {0};

	list_header_find(&header, table, form->kind, form->with_code, form->map);
	table_end(table);
	inner->columns = cells.count;
	inner->place = arena_alloc(list->arena, cells.count * sizeof *inner->place);
	for (size_t i = 0; i < cells.count; i++)
		inner->place[i] = header.is[i] == LIST_COLUMNS
		                      ? unknown_column(list, cells.cell[i], inner->place, i)
		                      : known_column(list, header.is[i]);
	list_header_free(&header);
	table_close(table);
}

static void
take_table_row(struct loose_list *list, size_t at, const struct inner *inner)
{
	struct cells cells = cells_of(list, list->lines.line[at].text, inner->sign);
	const char *why = list->lines.line[at].why;
	char **field = new_fields(list), buffer[128];

	for (size_t i = 0; i < cells.count; i++) {
		if (i < inner->columns) {
			field[inner->place[i]] = cells.cell[i];
			continue;
		}
		if (*cells.cell[i] == '\0' || why != NULL)
			continue;
		snprintf(buffer, sizeof buffer, "%zu cells, but the header in line %zu names %zu",
		         cells.count, inner->line, inner->columns);
		why = keep(list, buffer);
	}
	add_row(list, at, field, list->columns, why);
}

/* Blanks, punctuation and drawings, of Unicode's blocks of those; ASCII's aside. */
static bool
is_sign(uint32_t point)
{
	static const struct {
		uint32_t first, last;
	} signs[] = {
	    {0x80, 0xA9},     {0xAB, 0xB1},     {0xB4, 0xB4},     {0xB6, 0xB8},
	    {0xBB, 0xBB},     {0xBF, 0xBF},     {0xD7, 0xD7},     {0xF7, 0xF7},
	    {0x2000, 0x206F}, {0x2190, 0x23FF}, {0x2500, 0x2775}, {0x2794, 0x27BF},
	    {0x3000, 0x3003}, {0xFE0E, 0xFE0F}, {0xFEFF, 0xFEFF}, {0x1F300, 0x1FAFF},
	};

	for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
		if (point >= signs[i].first && point <= signs[i].last)
			return true;
	return false;
}

/* No letter, no digit: a blank line, a rule. Text that is none says something. */
static bool
says_nothing(const struct line *line)
{
	size_t length;

	if (line->why != NULL)
		return false;
	for (const char *s = line->text; *s != '\0'; s += length) {
		uint32_t point = width_point(s, &length);

		if (point >= 0x80
		        ? !is_sign(point)
		        : (*s >= '0' && *s <= '9') || ((*s | 0x20) >= 'a' && (*s | 0x20) <= 'z'))
			return false;
	}
	return true;
}

/* Reads the table that starts at the line; returns the first line behind it. */
static size_t
take_table(struct loose_list *list, size_t at, struct inner *inner)
{
	place_columns(list, at, inner);
	for (at++; at < list->lines.count; at++) {
		const char *text = list->lines.line[at].text;

		if (strchr(text, inner->sign) == NULL)
			break;
		if (!says_nothing(&list->lines.line[at]))
			take_table_row(list, at, inner);
	}
	return at;
}

/* ---- what comes out ---- */

/* The columns that no list of the kind can do without. */
static void
add_needed(struct loose_list *list)
{
	const struct loose_form *form = list->form;

	if (form->with_code)
		known_column(list, COLUMN_CODE);
	for (size_t i = 0; i < LIST_COLUMNS; i++) {
		bool by_code = form->with_code && (i == COLUMN_PART || i == COLUMN_COLOR);

		if ((list_columns[i].needed & form->kind) != 0 && !by_code)
			known_column(list, (enum list_column)i);
	}
}

static struct table *
make_table(struct loose_list *list, struct list_header *header)
{
	const char **names = mem_alloc(list->columns * sizeof *names);
	struct table *table;

	header->is = mem_alloc(list->columns * sizeof *header->is);
	for (size_t i = 0; i < LIST_COLUMNS; i++)
		header->at[i] = NO_COLUMN;
	for (size_t i = 0; i < list->columns; i++) {
		names[i] = list->column[i].header;
		header->is[i] = list->column[i].is;
		if (header->is[i] < LIST_COLUMNS)
			header->at[header->is[i]] = i;
	}
	table = table_make(list->lines.name, 1, names, list->columns);
	for (size_t i = 0; i < list->rows; i++)
		table_make_row(table, &list->row[i].row, list->row[i].why);
	free(names);
	return table;
}

struct table *
loose_list_open(const char *path, const struct loose_form *form, struct list_header *header,
                struct arena *arena)
{
	struct loose_list list = {.form = form, .arena = arena};
	struct inner inner;
	struct table *table;

	lines_read(&list.lines, path, form->encoding, arena);
	for (size_t at = 0; at < list.lines.count;) {
		if (says_nothing(&list.lines.line[at]))
			at++;
		else if (starts_table(&list, at, &inner))
			at = take_table(&list, at, &inner);
		else
			take_line(&list, at++);
	}
	add_needed(&list);
	table = make_table(&list, header);
	lines_free(&list.lines);
	free(list.column);
	free(list.row);
	return table;
}
