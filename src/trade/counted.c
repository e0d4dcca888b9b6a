#include "trade/counted.h"

#include "base/err.h"
#include "trade/currency.h"
#include "trade/need.h"
#include "trade/sellers.h"

#include <stdlib.h>
#include <string.h>

const char *const counted_column_names[COUNTED_COLUMNS] = {
    [COUNTED_PART] = "part",           [COUNTED_COLOR] = "color",   [COUNTED_QTY] = "qty",
    [COUNTED_CONDITION] = "condition", [COUNTED_SELLER] = "seller", [COUNTED_LOT] = "lot",
    [COUNTED_NOT_COLOR] = "not_color", [COUNTED_PRICE] = "price",   [COUNTED_CURRENCY] = "currency",
    [COUNTED_SURPLUS] = "surplus",     [COUNTED_PLACE] = "place",   [COUNTED_GRAMS] = "grams",
};

/* Columns that say nothing of pieces found, and may hold anything there. */
static bool
is_of_expected(enum counted_column column)
{
	return column == COUNTED_NOT_COLOR || column == COUNTED_PRICE ||
	       column == COUNTED_CURRENCY || column == COUNTED_SURPLUS;
}

static const char *
copy(struct counted *list, const char *field)
{
	return *field == '\0' ? "" : arena_copy(&list->arena, field, strlen(field));
}

/* ---- the header ---- */

static void
read_header(struct counted *list, struct table *table, enum counted_side side)
{
	const char **header;

	for (size_t i = 0; i < COUNTED_COLUMNS; i++)
		if (i <= COUNTED_QTY)
			list->at[i] = table_need_column(table, counted_column_names[i]);
		else if (side == SIDE_FOUND && is_of_expected((enum counted_column)i))
			list->at[i] = NO_COLUMN;
		else
			list->at[i] = table_column(table, counted_column_names[i]);
	list->orders = list->at[COUNTED_SELLER] != NO_COLUMN;
	list->headers = table_columns(table);
	header = arena_alloc(&list->arena, list->headers * sizeof *header);
	for (size_t i = 0; i < list->headers; i++)
		header[i] = copy(list, table_header(table)[i]);
	list->header = header;
}

static void
check_by(struct table *table, const struct counted_by *by)
{
	for (size_t i = 0; i < by->count; i++)
		table_need_column(table, by->name[i]);
}

/* ---- a row ---- */

static struct pattern *
read_pattern(struct counted *list, struct table *table, const struct row *row)
{
	const char *text = row_field(row, list->at[COUNTED_NOT_COLOR]), *why;
	size_t known = list->pattern_names.count, number;

	if (*text == '\0')
		return NULL;
	number = names_add(&list->pattern_names, text);
	if (number < known)
		return list->patterns[number];
	list->patterns = mem_resize(list->patterns, known + 1, sizeof(struct pattern *));
	list->patterns[number] = pattern_new(text, &list->arena, &why);
	if (list->patterns[number] == NULL)
		fault(table_faults(table), row->line, "not_color \"%s\" is no PCRE2 pattern: %s",
		      text_show(&list->arena, text), why);
	return list->patterns[number];
}

static void
read_numbers(struct counted *list, struct table *table, const struct row *row,
             struct counted_row *new)
{
	const size_t *at = list->at;
	int64_t grams;

	if (!amount_qty(table, row, at[COUNTED_QTY], AMOUNT_REQUIRED, &new->qty))
		return;
	amount_micro(table, row, at[COUNTED_PRICE], NOT_NEGATIVE, NOT_GIVEN, &new->price);
	amount_micro(table, row, at[COUNTED_GRAMS], NOT_NEGATIVE, NOT_GIVEN, &grams);
	if (list->orders && amount_qty(table, row, at[COUNTED_SURPLUS], 0, &new->surplus) &&
	    new->surplus > new->qty)
		fault(table_faults(table), row->line,
		      "surplus is %lld of %lld pieces: it is a part of qty",
		      (long long)new->surplus, (long long)new->qty);
}

static void
check_texts(struct counted *list, struct table *table, const struct row *row)
{
	struct faults *faults = table_faults(table);

	if (*row->field[list->at[COUNTED_PART]] == '\0')
		fault(faults, row->line, "part is empty: name one");
	if (*row->field[list->at[COUNTED_COLOR]] == '\0')
		fault(faults, row->line, "color is empty: name one");
	if (list->at[COUNTED_CURRENCY] != NO_COLUMN)
		currency_field(table, row, list->at[COUNTED_CURRENCY]);
}

static void
read_row(struct counted *list, struct table *table, const struct row *row)
{
	struct counted_row new = {.line = row->line, .price = NOT_GIVEN, .lot = ""};
	const char **field = arena_alloc(&list->arena, row->count * sizeof *field);

	for (size_t i = 0; i < row->count; i++)
		field[i] = copy(list, row->field[i]);
	new.field = field;
	check_texts(list, table, row);
	read_numbers(list, table, row, &new);
	new.not_color = read_pattern(list, table, row);
	if (!list->orders)
		new.lot = counted_field(list, &new, COUNTED_LOT);
	new.condition = counted_field(list, &new, COUNTED_CONDITION);
	if (strcmp(new.condition, ANY_CONDITION) == 0)
		new.condition = "";
	if (strcmp(counted_field(list, &new, COUNTED_SELLER), OWNED_SELLER) == 0) {
		list->left_out += new.qty;
		return;
	}
	MEM_ROOM(list->row, list->count, list->room);
	list->row[list->count++] = new;
}

/* ---- the list ---- */

static void
check_lots(struct counted *list, struct table *table)
{
	struct names lots = {0};
	size_t *first = mem_alloc(list->count * sizeof *first);

	for (size_t i = 0; i < list->count; i++) {
		const struct counted_row *row = &list->row[i];
		size_t known = lots.count, lot;

		if (*row->lot == '\0')
			continue;
		lot = names_add(&lots, row->lot);
		if (lot == known)
			first[lot] = i;
		else if (list->row[first[lot]].qty != row->qty)
			fault(table_faults(table), row->line,
			      "qty of lot \"%s\" is not that of line %zu: the rows of a lot are "
			      "alternatives, and it needs so many pieces in all",
			      text_show(&list->arena, row->lot), list->row[first[lot]].line);
	}
	free(first);
	names_free(&lots);
}

void
counted_read(struct counted *list, struct table *table, enum counted_side side,
             const struct counted_by *by)
{
	struct row row;

	list->file = copy(list, table_name(table));
	check_by(table, by);
	read_header(list, table, side);
	table_end(table);
	while (table_next(table, &row))
		read_row(list, table, &row);
	table_end(table);
	check_lots(list, table);
	table_end(table);
	table_close(table);
	counted_set_keys(list, by);
}

/* ---- keys ---- */

static size_t
column_named(const struct counted *list, const char *name)
{
	size_t i = 0;

	while (!text_equal_fold(list->header[i], name))
		i++;
	return i;
}

static size_t
key_of(const struct counted *list, const struct counted_row *row, const struct counted_by *by,
       const size_t *at)
{
	struct text key = {0};
	size_t number;

	for (size_t i = 0; i < by->count; i++) {
		const char *field =
		    at[i] == list->at[COUNTED_CONDITION] ? row->condition : row->field[at[i]];

		text_add(&key, field, strlen(field) + 1);
	}
	number = names_add_bytes(by->keys, key.bytes, key.length);
	text_free(&key);
	return number;
}

struct sorting {
	const struct counted *list;
	const struct names *keys;
};

static int
compare_rows(const void *left, const void *right, void *data)
{
	const struct counted_row *a = left, *b = right;
	const struct sorting *sorting = data;
	int order = counted_compare_keys(sorting->keys, a->key, b->key);

	if (order == 0)
		order = (a->price < b->price) - (a->price > b->price);
	for (size_t i = 0; order == 0 && i < sorting->list->headers; i++)
		order = strcmp(a->field[i], b->field[i]);
	return order != 0 ? order : (a->line > b->line) - (a->line < b->line);
}

void
counted_set_keys(struct counted *list, const struct counted_by *by)
{
	struct sorting sorting = {.list = list, .keys = by->keys};
	size_t *at = mem_alloc(by->count * sizeof *at);

	for (size_t i = 0; i < by->count; i++)
		at[i] = column_named(list, by->name[i]);
	for (size_t i = 0; i < list->count; i++)
		list->row[i].key = key_of(list, &list->row[i], by, at);
	free(at);
	if (list->count > 0)
		qsort_r(list->row, list->count, sizeof *list->row, compare_rows, &sorting);
}

const char *
counted_field(const struct counted *list, const struct counted_row *row, enum counted_column column)
{
	return list->at[column] == NO_COLUMN ? "" : row->field[list->at[column]];
}

const char *
counted_key_field(const struct names *keys, size_t key, size_t i)
{
	const char *field = keys->name[key];

	while (i-- > 0)
		field += strlen(field) + 1;
	return field;
}

int
counted_compare_keys(const struct names *keys, size_t a, size_t b)
{
	size_t length = keys->length[a] < keys->length[b] ? keys->length[a] : keys->length[b];

	/* A field ends in NUL, which no byte of a field is below. */
	return a == b ? 0 : memcmp(keys->name[a], keys->name[b], length);
}

void
counted_free(struct counted *list)
{
	for (size_t i = 0; i < list->pattern_names.count; i++)
		pattern_free(list->patterns[i]);
	free(list->patterns);
	names_free(&list->pattern_names);
	free(list->row);
	arena_free(&list->arena);
	*list = (struct counted){0};
}
