#include "trade/list_header.h"

#include "base/pattern.h"

#include <stdlib.h>
#include <string.h>

struct map_row {
	enum list_column column;
	struct pattern *pattern; /* owned */
	size_t line;
};

struct column_map {
	const char *file;
	struct map_row *row; /* owned */
	size_t count, room;
	struct arena arena;
};

/* What finding the columns of one table works on. */
struct search {
	struct list_header *header;
	struct table *table;
	unsigned kind;
	bool with_code;
};

static void
read_map_row(struct column_map *map, struct table *table, const struct row *row, size_t column_at,
             size_t pattern_at)
{
	struct arena *arena = table_arena(table);
	const char *column = text_trim(row->field[column_at]), *why;
	struct map_row mapped = {.column = list_column_named(column), .line = row->line};

	if (mapped.column == LIST_COLUMNS) {
		const char *nearest = list_column_nearest(column);

		fault(table_faults(table), row->line, "no column is named \"%s\"%s%s%s",
		      text_show(arena, column), nearest ? ": did you mean \"" : "",
		      nearest ? nearest : "", nearest ? "\"?" : "");
		return;
	}
	mapped.pattern = pattern_new(row->field[pattern_at], arena, &why);
	if (mapped.pattern == NULL) {
		fault(table_faults(table), row->line, "pattern \"%s\": %s",
		      text_show(arena, row->field[pattern_at]), why);
		return;
	}
	MEM_ROOM(map->row, map->count, map->room);
	map->row[map->count++] = mapped;
}

struct column_map *
column_map_read(const char *path)
{
	struct column_map *map = mem_zero(1, sizeof *map);
	struct table *table;
	struct row row;
	size_t column_at, pattern_at;

	if (path == NULL)
		return map;
	table = table_open(path, NULL);
	column_at = table_need_column(table, "column");
	pattern_at = table_need_column(table, "pattern");
	if (table_faults(table)->count == 0)
		while (table_next(table, &row))
			read_map_row(map, table, &row, column_at, pattern_at);
	table_end(table);
	map->file = arena_copy(&map->arena, table_name(table), strlen(table_name(table)));
	table_close(table);
	return map;
}

void
column_map_free(struct column_map *map)
{
	for (size_t i = 0; i < map->count; i++)
		pattern_free(map->row[i].pattern);
	free(map->row);
	arena_free(&map->arena);
	free(map);
}

/* Does this kind of list, asked for in this way, have the column? */
static bool
has_column(const struct search *search, enum list_column column)
{
	if (column == COLUMN_CODE)
		return search->with_code;
	return (list_columns[column].lists & search->kind) != 0;
}

static bool
needs_column(const struct search *search, enum list_column column)
{
	if (search->with_code && (column == COLUMN_PART || column == COLUMN_COLOR))
		return false;
	if (column == COLUMN_CODE)
		return search->with_code;
	return (list_columns[column].needed & search->kind) != 0;
}

static bool
is_open(const struct search *search, enum list_column column)
{
	return has_column(search, column) && search->header->at[column] == NO_COLUMN;
}

static void
assign(struct search *search, enum list_column column, size_t at)
{
	search->header->at[column] = at;
	search->header->is[at] = column;
}

static void
find_mapped(struct search *search, const struct column_map *map, const struct map_row *row)
{
	struct table *table = search->table;
	struct arena *arena = table_arena(table);

	if (!is_open(search, row->column))
		return;
	for (size_t i = 0; i < table_columns(table); i++) {
		const char *seen = table_header(table)[i], *why;
		enum pattern_result result = pattern_matches(row->pattern, seen, arena, &why);

		if (result == PATTERN_FAULT)
			die("%s:%zu: header \"%s\", rule at %s:%zu: %s", table_name(table),
			    table_header_line(table), text_show(arena, seen), map->file, row->line,
			    why);
		if (result == PATTERN_NO)
			continue;
		if (search->header->is[i] == LIST_COLUMNS)
			assign(search, row->column, i);
		else
			fault(table_faults(table), table_header_line(table),
			      "header \"%s\" is both %s and %s (%s:%zu): make a pattern stricter",
			      text_show(arena, seen), list_columns[search->header->is[i]].name,
			      list_columns[row->column].name, map->file, row->line);
		return;
	}
}

/* The headers left that match in the given way: how many, and the first. */
static size_t
matching(struct search *search, enum list_column column, char *const *headers,
         bool (*matches)(enum list_column column, const char *header), size_t *first)
{
	size_t count = 0;

	for (size_t i = 0; i < table_columns(search->table); i++)
		if (search->header->is[i] == LIST_COLUMNS && matches(column, headers[i]) &&
		    count++ == 0)
			*first = i;
	return count;
}

static bool
is_name_of(enum list_column column, const char *header)
{
	return text_equal_fold(header, list_columns[column].name);
}

static void
find_named(struct search *search, enum list_column column)
{
	size_t first, count;

	if (!is_open(search, column))
		return;
	count = matching(search, column, table_header(search->table), is_name_of, &first);
	if (count > 0)
		assign(search, column, first);
	if (count > 1)
		fault(table_faults(search->table), table_header_line(search->table),
		      "%zu columns are named \"%s\": rename or remove all but one; the headers "
		      "are %s",
		      count, list_columns[column].name, table_headers_seen(search->table));
}

static void
find_worded(struct search *search, enum list_column column, char *const *normal)
{
	struct table *table = search->table;
	const char *name = list_columns[column].name;
	size_t first, count;

	if (!is_open(search, column))
		return;
	count = matching(search, column, normal, header_is_word_of, &first);
	if (count == 1)
		assign(search, column, first);
	else if (count > 1)
		fault(table_faults(table), table_header_line(table),
		      "%zu headers may be the %s column: say which with --map; the headers are %s",
		      count, name, table_headers_seen(table));
	else if (needs_column(search, column))
		fault(table_faults(table), table_header_line(table),
		      "no header is known to be the %s column: say which with --map; the headers "
		      "are %s",
		      name, table_headers_seen(table));
}

void
list_header_find(struct list_header *header, struct table *table, enum list_kind kind,
                 bool with_code, const struct column_map *map)
{
	size_t columns = table_columns(table);
	struct search search = {header, table, kind, with_code};
	struct text normal = {0};
	char **normals = mem_alloc(columns * sizeof *normals);

	header->is = mem_alloc(columns * sizeof *header->is);
	for (size_t i = 0; i < columns; i++) {
		header->is[i] = LIST_COLUMNS;
		text_clear(&normal);
		header_normal(&normal, table_header(table)[i]);
		normals[i] = arena_copy(table_arena(table), normal.bytes, normal.length);
	}
	for (size_t i = 0; i < LIST_COLUMNS; i++)
		header->at[i] = NO_COLUMN;
	for (size_t i = 0; i < map->count; i++)
		find_mapped(&search, map, &map->row[i]);
	for (size_t i = 0; i < LIST_COLUMNS; i++)
		find_named(&search, (enum list_column)i);
	for (size_t i = 0; i < LIST_COLUMNS; i++)
		find_worded(&search, (enum list_column)i, normals);
	text_free(&normal);
	free(normals);
}

void
list_header_free(struct list_header *header)
{
	free(header->is);
}
