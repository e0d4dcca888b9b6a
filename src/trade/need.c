#include "trade/need.h"

#include "base/err.h"

#include <stdlib.h>
#include <string.h>

const char *const need_column_names[NEED_COLUMNS] = {
    [NEED_LOT] = "lot",
    [NEED_GROUP] = "group",
    [NEED_MODEL] = "model",
    [NEED_PART] = "part",
    [NEED_COLOR] = "color",
    [NEED_NOT_COLOR] = "not_color",
    [NEED_CONDITION] = "condition",
    [NEED_QTY] = "qty",
    [NEED_PENALTY] = "penalty",
    [NEED_WORTH] = "worth",
    [NEED_TOGETHER] = "together",
    [NEED_GRAMS] = "grams",
    [NEED_NOTE] = "note",
};

static bool
is_required(enum need_column column)
{
	return column == NEED_PART || column == NEED_COLOR || column == NEED_QTY;
}

static const char *
copy(struct need *need, const char *field)
{
	return *field == '\0' ? "" : arena_copy(&need->arena, field, strlen(field));
}

static void
read_header(struct need *need, struct table *table)
{
	const char **header;

	for (size_t i = 0; i < NEED_COLUMNS; i++)
		need->column[i] = is_required((enum need_column)i)
		                      ? table_need_column(table, need_column_names[i])
		                      : table_column(table, need_column_names[i]);
	table_end(table);
	need->headers = need->others = table_columns(table);
	header = arena_alloc(&need->arena, need->headers * sizeof *header);
	for (size_t i = 0; i < need->headers; i++)
		header[i] = copy(need, table_header(table)[i]);
	need->header = header;
	for (size_t i = 0; i < NEED_COLUMNS; i++)
		need->others -= need->column[i] != NO_COLUMN;
}

/* Which known column stands at a place of the header, or NEED_COLUMNS. */
static enum need_column
known_at(const struct need *need, size_t place)
{
	size_t i = 0;

	while (i < NEED_COLUMNS && need->column[i] != place)
		i++;
	return (enum need_column)i;
}

/* The compiled pattern of a not_color text; one that does not compile is a fault. */
static struct pattern *
read_pattern(struct need *need, struct table *table, const struct row *row, const char *text)
{
	size_t known = need->pattern_names.count;
	size_t number;
	const char *why;

	if (*text == '\0')
		return NULL;
	number = names_add(&need->pattern_names, text);
	if (number < known)
		return need->patterns[number];
	need->patterns = mem_resize(need->patterns, known + 1, sizeof(struct pattern *));
	need->patterns[number] = pattern_new(text, &need->arena, &why);
	if (need->patterns[number] == NULL)
		fault(table_faults(table), row->line, "not_color \"%s\" is no PCRE2 pattern: %s",
		      text_show(&need->arena, text), why);
	return need->patterns[number];
}

static void
read_texts(struct need *need, const struct row *row, struct need_row *new)
{
	const char **other = arena_alloc(&need->arena, need->others * sizeof *other);
	size_t others = 0;

	for (size_t i = 0; i < NEED_COLUMNS; i++)
		new->text[i] = "";
	for (size_t i = 0; i < row->count; i++) {
		enum need_column known = known_at(need, i);
		const char *text = copy(need, row->field[i]);

		if (known < NEED_COLUMNS)
			new->text[known] = text;
		else
			other[others++] = text;
	}
	new->other = other;
}

static void
read_row(struct need *need, struct table *table, const struct row *row)
{
	struct need_row new = {.line = row->line};
	struct faults *faults = table_faults(table);

	read_texts(need, row, &new);
	if (*new.text[NEED_PART] == '\0')
		fault(faults, row->line, "part is empty: name one");
	if (*new.text[NEED_COLOR] == '\0')
		fault(faults, row->line, "color is empty: name one, or \"%s\"", ANY_COLOR);
	amount_qty(table, row, need->column[NEED_QTY], AMOUNT_REQUIRED, &new.qty);
	amount_micro(table, row, need->column[NEED_PENALTY], NOT_NEGATIVE, 0, &new.penalty);
	amount_micro(table, row, need->column[NEED_WORTH], NOT_NEGATIVE, NOT_GIVEN, &new.worth);
	amount_micro(table, row, need->column[NEED_GRAMS], NOT_NEGATIVE, NOT_GIVEN, &new.grams);
	new.not_color = read_pattern(need, table, row, new.text[NEED_NOT_COLOR]);
	need_add(need, &new);
}

/* What two rows of one lot do not agree in, or NULL. */
static const char *
disagreement(const struct need_row *a, const struct need_row *b)
{
	if (a->qty != b->qty)
		return "qty";
	if (strcmp(a->text[NEED_GROUP], b->text[NEED_GROUP]) != 0)
		return "group";
	if (strcmp(a->text[NEED_MODEL], b->text[NEED_MODEL]) != 0)
		return "model";
	return a->worth != b->worth ? "worth" : NULL;
}

static void
check_lots(struct need *need, struct table *table)
{
	struct names lots = {0};
	size_t *first = mem_alloc(need->count * sizeof *first);

	for (size_t i = 0; i < need->count; i++) {
		const struct need_row *row = &need->row[i];
		size_t known = lots.count, lot;
		const char *what;

		if (*row->text[NEED_LOT] == '\0')
			continue;
		lot = names_add(&lots, row->text[NEED_LOT]);
		if (lot == known) {
			first[lot] = i;
			continue;
		}
		what = disagreement(&need->row[first[lot]], row);
		if (what != NULL)
			fault(table_faults(table), row->line,
			      "%s of lot \"%s\" is not that of line %zu: the rows of a lot are "
			      "alternatives and share qty, group, model and worth",
			      what, text_show(&need->arena, row->text[NEED_LOT]),
			      need->row[first[lot]].line);
	}
	free(first);
	names_free(&lots);
}

struct need *
need_read(struct table *table)
{
	struct need *need = mem_zero(1, sizeof *need);
	struct row row;

	need->file = copy(need, table_name(table));
	read_header(need, table);
	while (table_next(table, &row))
		read_row(need, table, &row);
	need->read = need->count;
	table_end(table);
	check_lots(need, table);
	table_end(table);
	table_close(table);
	return need;
}

struct need *
need_copy(const struct need *need)
{
	struct need *copied = mem_zero(1, sizeof *copied);

	*copied = *need;
	copied->row = mem_copy(need->row, need->count, sizeof *need->row);
	copied->room = need->count;
	copied->patterns = NULL;
	copied->pattern_names = (struct names){0};
	copied->arena = (struct arena){0};
	return copied;
}

void
need_free(struct need *need)
{
	if (need == NULL)
		return;
	for (size_t i = 0; i < need->pattern_names.count; i++)
		pattern_free(need->patterns[i]);
	free(need->patterns);
	names_free(&need->pattern_names);
	free(need->row);
	arena_free(&need->arena);
	free(need);
}

void
need_add(struct need *need, const struct need_row *row)
{
	struct need_row new = *row;

	MEM_ROOM(need->row, need->count, need->room);
	need->row[need->count++] = new;
}

size_t *
need_lot_numbers(const struct need *need, size_t *lots)
{
	struct names names = {0};
	size_t *number = mem_alloc(need->count * sizeof *number);
	size_t *of_name = mem_alloc(need->count * sizeof *of_name);

	*lots = 0;
	for (size_t i = 0; i < need->count; i++) {
		const char *lot = need->row[i].text[NEED_LOT];
		size_t known = names.count, name;

		if (*lot == '\0') {
			number[i] = (*lots)++;
			continue;
		}
		name = names_add(&names, lot);
		if (name == known)
			of_name[name] = (*lots)++;
		number[i] = of_name[name];
	}
	free(of_name);
	names_free(&names);
	return number;
}

const char *
need_lot_name(const struct need_row *row, struct arena *arena)
{
	struct text name = {0};
	const char *copied;

	if (*row->text[NEED_LOT] != '\0')
		return row->text[NEED_LOT];
	text_adds(&name, row->text[NEED_PART]);
	text_addc(&name, '/');
	text_adds(&name, row->text[NEED_COLOR]);
	if (!need_condition_is_any(row)) {
		text_addc(&name, '/');
		text_adds(&name, row->text[NEED_CONDITION]);
	}
	copied = arena_copy(arena, name.bytes, name.length);
	text_free(&name);
	return copied;
}

/* Adds a row to one that is the same. */
static void
merge_into(struct need *need, struct need_row *kept, const struct need_row *row)
{
	if (*kept->text[NEED_LOT] != '\0')
		return;
	kept->qty += row->qty;
	if (kept->qty > QTY_MOST)
		die("%s: rows of %s, %s together need %lld pieces: at most %lld are possible",
		    need->file, text_show(&need->arena, kept->text[NEED_PART]),
		    text_show(&need->arena, kept->text[NEED_COLOR]), (long long)kept->qty,
		    (long long)QTY_MOST);
}

/* What equal rows agree in: every known column but qty and note, amounts by value. */
static void
merge_key(const struct need_row *row, struct text *key)
{
	const int64_t amounts[] = {row->penalty, row->worth, row->grams};

	text_clear(key);
	for (size_t i = 0; i < NEED_COLUMNS; i++)
		if (i != NEED_QTY && i != NEED_NOTE && i != NEED_PENALTY && i != NEED_WORTH &&
		    i != NEED_GRAMS)
			text_add(key, row->text[i], strlen(row->text[i]) + 1);
	text_add(key, (const char *)amounts, sizeof amounts);
}

void
need_merge(struct need *need)
{
	struct names keys = {0};
	struct text key = {0};
	size_t kept = 0;

	for (size_t i = 0; i < need->count; i++) {
		const struct need_row *row = &need->row[i];
		size_t same;

		merge_key(row, &key);
		same = names_add_bytes(&keys, key.bytes, key.length);
		if (same < kept)
			merge_into(need, &need->row[same], row);
		else
			need->row[kept++] = *row;
	}
	need->count = kept;
	text_free(&key);
	names_free(&keys);
}

/* Is the column, which the header lacks, to be appended? */
static bool
is_appended(const struct need *need, enum need_column column)
{
	if (need->column[column] != NO_COLUMN)
		return false;
	if (is_required(column))
		return true;
	for (size_t i = 0; i < need->count; i++)
		if (*need->row[i].text[column] != '\0')
			return true;
	return false;
}

static void
write_known(struct sheet *sheet, const struct need_row *row, enum need_column column)
{
	if (column == NEED_QTY)
		sheet_qty(sheet, row->qty);
	else
		sheet_field(sheet, row->text[column]);
}

struct need_form
need_form(const struct need *need, const char *const *left_out, size_t count)
{
	struct need_form form = {.left_out = mem_zero(need->headers, sizeof *form.left_out)};

	for (size_t i = 0; i < NEED_COLUMNS; i++)
		form.appended[i] = is_appended(need, (enum need_column)i);
	for (size_t i = 0; i < need->headers; i++)
		for (size_t j = 0; j < count && known_at(need, i) == NEED_COLUMNS; j++)
			form.left_out[i] =
			    form.left_out[i] || text_equal_fold(need->header[i], left_out[j]);
	return form;
}

void
need_form_free(struct need_form *form)
{
	free(form->left_out);
	*form = (struct need_form){0};
}

void
need_write_header(struct sheet *sheet, const struct need *need, const struct need_form *form)
{
	for (size_t i = 0; i < need->headers; i++)
		if (!form->left_out[i])
			sheet_field(sheet, need->header[i]);
	for (size_t i = 0; i < NEED_COLUMNS; i++)
		if (form->appended[i])
			sheet_field(sheet, need_column_names[i]);
}

void
need_write_row(struct sheet *sheet, const struct need *need, const struct need_form *form,
               const struct need_row *row)
{
	size_t others = 0;

	for (size_t i = 0; i < need->headers; i++) {
		enum need_column known = known_at(need, i);
		const char *other = "";

		if (known == NEED_COLUMNS && row->other != NULL)
			other = row->other[others++];
		if (known < NEED_COLUMNS)
			write_known(sheet, row, known);
		else if (!form->left_out[i])
			sheet_field(sheet, other);
	}
	for (size_t i = 0; i < NEED_COLUMNS; i++)
		if (form->appended[i])
			write_known(sheet, row, (enum need_column)i);
}

void
need_write(struct sheet *sheet, const struct need *need)
{
	struct need_form form = need_form(need, NULL, 0);

	need_write_header(sheet, need, &form);
	sheet_end_row(sheet);
	for (size_t i = 0; i < need->count; i++) {
		need_write_row(sheet, need, &form, &need->row[i]);
		sheet_end_row(sheet);
	}
	need_form_free(&form);
}

bool
need_color_is_any(const struct need_row *row)
{
	return strcmp(row->text[NEED_COLOR], ANY_COLOR) == 0;
}

bool
need_condition_is_any(const struct need_row *row)
{
	const char *condition = row->text[NEED_CONDITION];

	return *condition == '\0' || strcmp(condition, ANY_CONDITION) == 0;
}

static bool
color_fits(struct need *need, const struct need_row *row, const char *color)
{
	const char *why;
	enum pattern_result result;

	if (!need_color_is_any(row))
		return strcmp(row->text[NEED_COLOR], color) == 0;
	if (row->not_color == NULL)
		return true;
	result = pattern_matches(row->not_color, color, &need->arena, &why);
	if (result == PATTERN_FAULT) {
		tell_at(need->file, row->line, "not_color \"%s\" on color \"%s\": %s",
		        text_show(&need->arena, row->text[NEED_NOT_COLOR]),
		        text_show(&need->arena, color), why);
		exit(EXIT_TROUBLE);
	}
	return result == PATTERN_NO;
}

bool
need_fits(struct need *need, const struct need_row *row, const char *part, const char *color,
          const char *condition)
{
	return strcmp(row->text[NEED_PART], part) == 0 &&
	       (need_condition_is_any(row) || strcmp(row->text[NEED_CONDITION], condition) == 0) &&
	       color_fits(need, row, color);
}

/* Pieces and lots that ask for any, in one pass. */
static void
count_lots(const struct need *need, int64_t *pieces, size_t *count)
{
	size_t lots;
	size_t *number = need_lot_numbers(need, &lots);
	bool *seen = mem_zero(lots, sizeof *seen);

	*pieces = 0;
	*count = 0;
	for (size_t i = 0; i < need->count; i++) {
		if (seen[number[i]] || need->row[i].qty == 0)
			continue;
		seen[number[i]] = true;
		*pieces += need->row[i].qty;
		(*count)++;
	}
	free(seen);
	free(number);
}

int64_t
need_pieces(const struct need *need)
{
	int64_t pieces;
	size_t lots;

	count_lots(need, &pieces, &lots);
	return pieces;
}

size_t
need_lots(const struct need *need)
{
	int64_t pieces;
	size_t lots;

	count_lots(need, &pieces, &lots);
	return lots;
}
