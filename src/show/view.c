#include "show/view.h"

#include "base/opts.h"
#include "show/columns_named.h"
#include "show/number.h"
#include "show/total_line.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define TOTAL    "TOTAL"
#define SUBTOTAL "subtotal"

enum kind {
	KIND_OTHER,
	KIND_NAME,       /* names things: never a number */
	KIND_COUNT,      /* adds up */
	KIND_MONEY,      /* adds up within a currency */
	KIND_HOME_MONEY, /* adds up within a home currency */
	KIND_CURRENCY,
	KIND_HOME_CURRENCY
};

static const struct {
	const char *name;
	enum kind kind;
} known_columns[] = {
    {"part", KIND_NAME},
    {"color", KIND_NAME},
    {"lot", KIND_NAME},
    {"group", KIND_NAME},
    {"model", KIND_NAME},
    {"seller", KIND_NAME},
    {"scenario", KIND_NAME},
    {"listing", KIND_NAME},
    {"class", KIND_NAME},
    {"condition", KIND_NAME},
    {"place", KIND_NAME},
    {"rule", KIND_NAME},
    {"qty", KIND_COUNT},
    {"lots", KIND_COUNT},
    {"pieces", KIND_COUNT},
    {"orders", KIND_COUNT},
    {"surplus", KIND_COUNT},
    {"expected", KIND_COUNT},
    {"found", KIND_COUNT},
    {"difference", KIND_COUNT},
    {"amount", KIND_MONEY},
    {"goods", KIND_MONEY},
    {"charges", KIND_MONEY},
    {"tax", KIND_MONEY},
    {"total", KIND_MONEY},
    {"home_goods", KIND_HOME_MONEY},
    {"home_charges", KIND_HOME_MONEY},
    {"home_tax", KIND_HOME_MONEY},
    {"rounding", KIND_HOME_MONEY},
    {"home", KIND_HOME_MONEY},
    {"currency", KIND_CURRENCY},
    {"home_currency", KIND_HOME_CURRENCY},
};

/* A row as read, in all columns of the table. */
struct source_row {
	const char **field;
	size_t line;
	bool total;
};

struct source {
	struct view *view;
	struct table *table;
	struct source_row *row; /* owned */
	size_t count, room;
	size_t *at;      /* of the view's columns, in the table's; owned */
	enum kind *kind; /* of the table's columns; owned */
	bool *summed;    /* of the table's columns; owned */
	bool *failed;    /* of the table's columns: told already; owned */
	size_t group;
	bool sums_chosen;
};

static enum kind
kind_of(const char *name)
{
	for (size_t i = 0; i < sizeof known_columns / sizeof *known_columns; i++)
		if (text_equal_fold(name, known_columns[i].name))
			return known_columns[i].kind;
	return KIND_OTHER;
}

static bool
adds_up(enum kind kind)
{
	return kind == KIND_COUNT || kind == KIND_MONEY || kind == KIND_HOME_MONEY;
}

/* ---- what was chosen ---- */

static void
choose_group(struct source *source, const char *name)
{
	size_t count, *at;

	source->group = NO_COLUMN;
	if (name == NULL)
		return;
	at = columns_named(source->table, &source->view->arena, "--group", name, "part,color",
	                   &count);
	if (count != 1)
		opts_usage("--group: rows are grouped by one column");
	source->group = at[0];
	if (at[0] != NO_COLUMN)
		source->view->group = table_header(source->table)[at[0]];
	free(at);
}

static void
choose_columns(struct source *source, const char *list)
{
	struct view *view = source->view;
	size_t count, all = table_columns(source->table);
	size_t *named = columns_named(source->table, &source->view->arena, "--columns", list,
	                              "part,color", &count);

	source->at = mem_zero(list ? count : all, sizeof *source->at);
	for (size_t i = 0; i < (list ? count : all); i++) {
		size_t at = list ? named[i] : i;

		if (at != source->group && at != NO_COLUMN)
			source->at[view->columns++] = at;
	}
	free(named);
	if (view->columns == 0 && source->group != NO_COLUMN &&
	    table_faults(source->table)->count == 0)
		opts_usage("no column is left beside that of --group");
	view->column = arena_alloc(&view->arena, view->columns * sizeof *view->column);
	for (size_t i = 0; i < view->columns; i++) {
		const char *name = table_header(source->table)[source->at[i]];

		view->column[i] = (struct view_column){
		    .name = arena_copy(&view->arena, name, strlen(name)),
		    .named = source->kind[source->at[i]] == KIND_NAME,
		};
	}
}

static void
choose_sums(struct source *source, const char *list)
{
	size_t all = table_columns(source->table), count;
	size_t *named =
	    columns_named(source->table, &source->view->arena, "--sum", list, "part,color", &count);

	source->sums_chosen = list != NULL;
	source->summed = mem_zero(all, sizeof *source->summed);
	source->failed = mem_zero(all, sizeof *source->failed);
	for (size_t i = 0; i < count; i++)
		if (named[i] != NO_COLUMN)
			source->summed[named[i]] = true;
	for (size_t i = 0; list == NULL && i < all; i++)
		source->summed[i] = adds_up(source->kind[i]);
	free(named);
}

static void
choose(struct source *source, const struct view_choice *choice)
{
	size_t all = table_columns(source->table);

	source->kind = mem_zero(all, sizeof *source->kind);
	for (size_t i = 0; i < all; i++)
		source->kind[i] = kind_of(table_header(source->table)[i]);
	choose_group(source, choice->group);
	choose_columns(source, choice->columns);
	choose_sums(source, choice->sums);
}

/* ---- the rows ---- */

static void
read_rows(struct source *source)
{
	struct arena *arena = &source->view->arena;
	size_t all = table_columns(source->table);
	struct row row;

	while (table_next(source->table, &row)) {
		struct source_row new = {.line = row.line};

		new.field = arena_alloc(arena, all * sizeof *new.field);
		for (size_t i = 0; i < all; i++)
			new.field[i] = arena_copy(arena, row.field[i], strlen(row.field[i]));
		new.total = total_line_is(table_header(source->table), new.field, all);
		MEM_ROOM(source->row, source->count, source->room);
		source->row[source->count++] = new;
	}
	source->view->rows = source->count;
}

static bool
is_of_numbers(const struct source *source, size_t at)
{
	size_t numbers = 0, others = 0;

	if (source->kind[at] == KIND_NAME)
		return false;
	for (size_t i = 0; i < source->count; i++) {
		const char *field = source->row[i].field[at];

		if (number_is(field))
			numbers++;
		else
			others += *field != '\0';
	}
	return numbers > others;
}

/* ---- blocks ---- */

static struct view_block *
new_block(struct view *view, const char *name)
{
	MEM_ROOM(view->block, view->blocks, view->block_room);
	view->block[view->blocks] = (struct view_block){.name = name};
	return &view->block[view->blocks++];
}

static void
block_add(struct view_block *block, struct view_row *row)
{
	MEM_ROOM(block->row, block->count, block->room);
	block->row[block->count++] = row;
}

static struct view_row *
row_of(struct source *source, const struct source_row *from)
{
	struct view *view = source->view;
	struct view_row *row = arena_alloc(&view->arena, sizeof *row);

	row->total = from->total;
	row->field = arena_alloc(&view->arena, view->columns * sizeof *row->field);
	for (size_t i = 0; i < view->columns; i++)
		row->field[i] = from->field[source->at[i]];
	return row;
}

/* ---- sums ---- */

/* Rows that are summed up. */
struct pile {
	const char *name;              /* of their group */
	const struct source_row **row; /* owned */
	size_t count, room;
};

static void
pile_add(struct pile *pile, const struct source_row *row)
{
	MEM_ROOM(pile->row, pile->count, pile->room);
	pile->row[pile->count++] = row;
}

/* What a column says in all rows of the pile, or NULL. */
static const char *
said_by_all(const struct pile *pile, size_t at)
{
	for (size_t i = 1; i < pile->count; i++)
		if (strcmp(pile->row[0]->field[at], pile->row[i]->field[at]) != 0)
			return NULL;
	return pile->count > 0 ? pile->row[0]->field[at] : NULL;
}

/* Is the currency of a sum one? Yes where there is no column for it. */
static bool
one_currency(const struct source *source, const struct pile *pile, enum kind of)
{
	enum kind currency = of == KIND_MONEY        ? KIND_CURRENCY
	                     : of == KIND_HOME_MONEY ? KIND_HOME_CURRENCY
	                                             : KIND_OTHER;

	for (size_t i = 0; currency != KIND_OTHER && i < table_columns(source->table); i++)
		if (source->kind[i] == currency && said_by_all(pile, i) == NULL)
			return false;
	return true;
}

static void
tell_failed(struct source *source, size_t at, const struct source_row *row)
{
	struct arena *arena = &source->view->arena;
	const char *name = text_show(arena, table_header(source->table)[at]);

	source->view->incomplete = true;
	if (source->failed[at])
		return;
	source->failed[at] = true;
	if (number_is(row->field[at]))
		tell_at(table_name(source->table), row->line,
		        "the sum of %s is too large: it is "
		        "left empty",
		        name);
	else
		tell_at(table_name(source->table), row->line,
		        "%s \"%s\" is no number: its sums are left empty; numbers have a point "
		        "before decimals, and no grouping",
		        name, text_show(arena, row->field[at]));
}

static const char *
sum_of(struct source *source, const struct pile *pile, size_t at)
{
	struct number_sum sum = {0};
	struct text out = {0};
	const char *shown;
	bool any = false;

	if (!one_currency(source, pile, source->kind[at]))
		return "";
	for (size_t i = 0; i < pile->count; i++) {
		const char *field = pile->row[i]->field[at];

		if (*field == '\0')
			continue;
		any = true;
		if (!number_is(field) || !number_add(&sum, field)) {
			tell_failed(source, at, pile->row[i]);
			return "";
		}
	}
	if (!any)
		return "";
	number_add_text(&out, &sum);
	shown = arena_copy(&source->view->arena, out.bytes, out.length);
	text_free(&out);
	return shown;
}

static bool
is_currency(enum kind kind)
{
	return kind == KIND_CURRENCY || kind == KIND_HOME_CURRENCY;
}

/* The sums of a pile; the label stands in the first column that could not have any. */
static struct view_row *
row_of_sums(struct source *source, const struct pile *pile, const char *label)
{
	struct view *view = source->view;
	struct view_row *row = arena_alloc(&view->arena, sizeof *row);
	bool labelled = false;

	row->total = true;
	row->field = arena_alloc(&view->arena, view->columns * sizeof *row->field);
	for (size_t i = 0; i < view->columns; i++) {
		size_t at = source->at[i];
		const char *said = is_currency(source->kind[at]) ? said_by_all(pile, at) : NULL;

		row->field[i] = source->summed[at] ? sum_of(source, pile, at) : said ? said : "";
		if (!labelled && !source->summed[at] && !is_currency(source->kind[at]) &&
		    !view->column[i].number) {
			row->field[i] = label;
			labelled = true;
		}
	}
	return row;
}

/* ---- putting it together ---- */

/* The total lines: those that the table has, else one of sums. */
static void
add_totals(struct source *source, struct view_block *block)
{
	struct pile all = {0};
	bool any = false;

	for (size_t i = 0; i < source->count; i++)
		if (source->row[i].total) {
			block_add(block, row_of(source, &source->row[i]));
			any = true;
		} else {
			pile_add(&all, &source->row[i]);
		}
	if (!any)
		block_add(block, row_of_sums(source, &all, TOTAL));
	free(all.row);
}

static bool
has_totals(const struct source *source)
{
	for (size_t i = 0; i < source->count; i++)
		if (source->row[i].total)
			return true;
	return false;
}

static void
make_one_block(struct source *source)
{
	struct view_block *block = new_block(source->view, NULL);

	for (size_t i = 0; i < source->count; i++)
		block_add(block, row_of(source, &source->row[i]));
	if (source->sums_chosen && !has_totals(source))
		add_totals(source, block);
}

/* The rows by group, in order of appearance, total lines aside. */
static struct pile *
pile_up(struct source *source, size_t *count)
{
	struct names groups = {0};
	struct pile *pile = NULL;
	size_t room = 0;

	*count = 0;
	for (size_t i = 0; i < source->count; i++) {
		const struct source_row *row = &source->row[i];
		const char *name = row->field[source->group];
		size_t group;

		if (row->total)
			continue;
		group = names_add(&groups, name);
		assert(group <= *count); /* a new name is numbered next */
		if (group == *count) {
			MEM_ROOM(pile, *count, room);
			pile[(*count)++] = (struct pile){.name = name};
		}
		pile_add(&pile[group], row);
	}
	names_free(&groups);
	return pile;
}

static void
make_blocks(struct source *source)
{
	struct view *view = source->view;
	size_t count;
	struct pile *pile = pile_up(source, &count);

	for (size_t i = 0; i < count; i++) {
		struct view_block *block = new_block(view, pile[i].name);

		for (size_t j = 0; j < pile[i].count; j++)
			block_add(block, row_of(source, pile[i].row[j]));
		block_add(block, row_of_sums(source, &pile[i], SUBTOTAL));
		free(pile[i].row);
	}
	free(pile);
	if (count != 1 || has_totals(source))
		add_totals(source, new_block(view, NULL));
}

void
view_read(struct view *view, struct table *table, const struct view_choice *choice)
{
	struct source source = {.view = view, .table = table};

	*view = (struct view){0};
	choose(&source, choice);
	read_rows(&source);
	table_end(table);
	if (view->group != NULL)
		view->group = arena_copy(&view->arena, view->group, strlen(view->group));
	for (size_t i = 0; i < view->columns; i++)
		view->column[i].number = is_of_numbers(&source, source.at[i]);
	if (view->group != NULL)
		make_blocks(&source);
	else
		make_one_block(&source);
	free(source.row);
	free(source.at);
	free(source.kind);
	free(source.summed);
	free(source.failed);
	table_close(table);
}

void
view_free(struct view *view)
{
	for (size_t i = 0; i < view->blocks; i++)
		free(view->block[i].row);
	free(view->block);
	arena_free(&view->arena);
	*view = (struct view){0};
}
