#include "trade/canonical_row.h"

#include "base/dec.h"
#include "trade/spoiled.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Adds a cell that no list has a column for as yet. */
static struct cell *
add_cell(struct canonical_row *row, const char *header, enum list_column column, size_t lists)
{
	struct cell *cell = &row->cell[row->cells];

	*cell = (struct cell){.header = header, .seen = header, .column = column};
	cell->holds = FIELD_REMARK;
	cell->ats = arena_alloc(&row->arena, lists * sizeof *cell->ats);
	for (size_t i = 0; i < lists; i++)
		cell->ats[i] = NO_COLUMN;
	if (column < LIST_COLUMNS) {
		row->cell_of[column] = row->cells;
		cell->holds = list_columns[column].holds;
		cell->renamed = name_rules_has(row->canon.rules, column);
	}
	row->cells++;
	return cell;
}

static void
add_known(struct canonical_row *row, enum list_column column, size_t lists)
{
	if (row->cell_of[column] == NO_COLUMN)
		add_cell(row, list_columns[column].name, column, lists);
}

/* The cell of a column that is not known: by its header, once a list. */
static struct cell *
unknown_cell(struct canonical_row *row, const struct table *table, size_t column, size_t list,
             size_t lists)
{
	const char *seen = table_header(table)[column];
	struct cell *cell;

	for (size_t i = 0; i < row->cells; i++) {
		cell = &row->cell[i];
		if (cell->column == LIST_COLUMNS && cell->ats[list] == NO_COLUMN &&
		    text_equal_fold(cell->seen, seen))
			return cell;
	}
	cell = add_cell(row, table_header_as_read(table)[column], LIST_COLUMNS, lists);
	cell->seen = seen;
	cell->from = list;
	return cell;
}

static bool
is_taken(const struct canonical_row *row, const char *header, size_t but)
{
	for (size_t i = 0; i < row->cells; i++)
		if (i != but && text_equal_fold(row->cell[i].header, header))
			return true;
	return false;
}

/* An unknown column that is named like a canonical one taken from elsewhere gets a number, or
 * the output would have two columns of one name. */
static void
rename_clash(struct canonical_row *row, size_t at, const struct table *table, bool quiet)
{
	struct cell *cell = &row->cell[at];
	const char *trimmed = cell->seen;
	enum list_column column = list_column_named(trimmed);
	struct text name = {0};

	if (column == LIST_COLUMNS || row->cell_of[column] == NO_COLUMN)
		return;
	for (int number = 2; name.length == 0 || is_taken(row, name.bytes, at); number++) {
		char digits[16];

		snprintf(digits, sizeof digits, " %d", number);
		text_clear(&name);
		text_adds(&name, trimmed);
		text_adds(&name, digits);
	}
	cell->header = arena_copy(&row->arena, name.bytes, name.length);
	text_free(&name);
	if (!quiet)
		tell_at(table_name(table), table_header_line(table),
		        "header \"%s\" is passed on as \"%s\": another one is the %s column",
		        trimmed, cell->header, list_columns[column].name);
}

/* A cell for each column of a list that has none yet. */
static void
add_list(struct canonical_row *row, const struct table *table, const struct list_header *header,
         size_t list, size_t lists)
{
	for (size_t i = 0; i < table_columns(table); i++) {
		enum list_column column = header->is[i];

		if (column == COLUMN_CODE && header->at[COLUMN_PART] == NO_COLUMN)
			add_known(row, COLUMN_PART, lists);
		if (column == COLUMN_CODE && header->at[COLUMN_COLOR] == NO_COLUMN)
			add_known(row, COLUMN_COLOR, lists);
		if (column == LIST_COLUMNS) {
			unknown_cell(row, table, i, list, lists)->ats[list] = i;
			continue;
		}
		add_known(row, column, lists);
		row->cell[row->cell_of[column]].ats[list] = i;
	}
}

static bool
any_has(const struct list_header *header, size_t lists, enum list_column column)
{
	for (size_t i = 0; i < lists; i++)
		if (header[i].at[column] != NO_COLUMN)
			return true;
	return false;
}

void
canonical_row_begin(struct canonical_row *row, const struct canon *canon, struct table *const *list,
                    const struct list_header *header, size_t lists, bool quiet)
{
	size_t columns = 3; /* that may be added: part, color, model */

	*row = (struct canonical_row){.canon = *canon};
	for (size_t i = 0; i < lists; i++)
		columns += table_columns(list[i]);
	row->cell = mem_zero(columns, sizeof *row->cell);
	for (size_t i = 0; i < LIST_COLUMNS; i++)
		row->cell_of[i] = NO_COLUMN;
	if (canon->model != NULL && !any_has(header, lists, COLUMN_MODEL))
		add_known(row, COLUMN_MODEL, lists);
	for (size_t i = 0; i < lists; i++)
		add_list(row, list[i], &header[i], i, lists);
	for (size_t i = 0; i < row->cells; i++)
		if (row->cell[i].column == LIST_COLUMNS)
			rename_clash(row, i, list[row->cell[i].from], quiet);
	canonical_row_turn(row, 0);
}

void
canonical_row_turn(struct canonical_row *row, size_t list)
{
	for (size_t i = 0; i < row->cells; i++)
		row->cell[i].at = row->cell[i].ats[list];
}

void
canonical_row_free(struct canonical_row *row)
{
	for (size_t i = 0; i < row->cells; i++) {
		text_free(&row->cell[i].folded);
		text_free(&row->cell[i].cleaned);
	}
	free(row->cell);
	arena_free(&row->arena);
}

const char *
canonical_row_value(const struct canonical_row *row, enum list_column column)
{
	return row->cell_of[column] == NO_COLUMN ? "" : row->cell[row->cell_of[column]].value;
}

/* Is there a blank that folding would change, or a byte that may start a no-break one? */
static bool
may_fold(const char *s)
{
	bool blank = true;

	for (; *s != '\0'; s++) {
		if ((unsigned char)*s > ' ' && *s != '\xC2' && *s != '\xE2')
			blank = false;
		else if (blank || *s != ' ')
			return true;
		else
			blank = true;
	}
	return blank;
}

static const char *
without_blanks(struct cell *cell, const char *field)
{
	if (cell->holds == FIELD_REMARK || *field == '\0' || !may_fold(field))
		return field;
	text_clear(&cell->folded);
	text_adds(&cell->folded, field);
	if (cell->holds == FIELD_PATTERN)
		return text_trim(cell->folded.bytes);
	text_fold_blanks(cell->folded.bytes);
	return cell->folded.bytes;
}

static void
rename_value(struct canonical_row *row, struct cell *cell, const char *file, size_t line)
{
	if (cell->renamed)
		cell->value =
		    name_rules_apply(row->canon.rules, cell->column, cell->value, file, line);
}

/* Part and color from the order code, if the row has one. */
static void
decode(struct canonical_row *row, const char *file, size_t line)
{
	struct cell *code, *part, *color;
	const char *for_part, *for_color;

	if (row->canon.codes == NULL)
		return;
	code = &row->cell[row->cell_of[COLUMN_CODE]];
	part = &row->cell[row->cell_of[COLUMN_PART]];
	color = &row->cell[row->cell_of[COLUMN_COLOR]];
	rename_value(row, code, file, line);
	if (*code->value == '\0')
		return;
	if (!order_codes_find(row->canon.codes, code->value, &for_part, &for_color)) {
		code->why = "is no known order code: add it to the --codes file";
		return;
	}
	if (*for_part != '\0')
		part->value = for_part;
	if (*for_color != '\0')
		color->value = for_color;
}

/* Is it digits alone, no zero before them, few enough to be in range? Then it is canonical. */
static bool
is_plain(const char *text, int64_t *pieces)
{
	int64_t value = 0;
	size_t count = 0;

	for (; text[count] >= '0' && text[count] <= '9' && count < 10; count++)
		value = value * 10 + (text[count] - '0');
	if (text[count] != '\0' || count == 0 || count > 9 || (count > 1 && text[0] == '0'))
		return false;
	*pieces = value;
	return true;
}

static void
clean_pieces(struct canonical_row *row, struct cell *cell)
{
	if (is_plain(cell->value, &cell->pieces))
		return;
	cell->why = loose_pieces(cell->value, row->canon.mark, &cell->pieces);
	if (cell->why != NULL)
		return;
	text_clear(&cell->cleaned);
	dec_add_text(&cell->cleaned, cell->pieces, 0, 0);
	cell->value = cell->cleaned.bytes;
}

/* The same for decimals: digits, perhaps a point and up to 6 more, the last of them no zero. */
static bool
is_plain_decimal(const char *text, enum decimal_mark mark)
{
	size_t whole = 0, decimals = 0;

	while (text[whole] >= '0' && text[whole] <= '9' && whole < 10)
		whole++;
	if (whole == 0 || whole > 9 || (whole > 1 && text[0] == '0'))
		return false;
	if (text[whole] == '\0')
		return true;
	if (text[whole] != '.' || mark != MARK_POINT)
		return false;
	for (text += whole + 1; text[decimals] >= '0' && text[decimals] <= '9' && decimals < 7;)
		decimals++;
	return text[decimals] == '\0' && decimals > 0 && decimals <= 6 && text[decimals - 1] != '0';
}

static void
clean_decimal(struct canonical_row *row, struct cell *cell)
{
	char code[CURRENCY_CODE_SIZE];

	if (is_plain_decimal(cell->value, row->canon.mark))
		return;
	cell->why = loose_decimal(cell->value, row->canon.mark, &cell->cleaned, code);
	if (cell->why != NULL)
		return;
	cell->value = cell->cleaned.bytes;
	if (cell->column == COLUMN_PRICE)
		memcpy(row->price_code, code, sizeof code);
}

/* A part that a spreadsheet made a number or a date of, unless a name rule says it is one. */
static void
check_part(struct canonical_row *row, struct cell *part, const char *file, size_t line)
{
	const char *why = spoiled_part(part->value);

	if (why != NULL &&
	    !name_rules_knows(row->canon.rules, COLUMN_PART, part->value, file, line))
		part->why = why;
	row->part_spoiled = part->why != NULL;
}

/* Names and numbers into canonical form. */
static void
clean(struct canonical_row *row, struct cell *cell, const char *file, size_t line)
{
	if (cell->column != COLUMN_CODE)
		rename_value(row, cell, file, line);
	if (*cell->value == '\0')
		return;
	if (cell->holds == FIELD_PIECES)
		clean_pieces(row, cell);
	else if (cell->holds == FIELD_DECIMAL)
		clean_decimal(row, cell);
	else if (cell->column == COLUMN_PART)
		check_part(row, cell, file, line);
}

void
canonical_row_read(struct canonical_row *row, const struct table *table, const struct row *read)
{
	const char *file = table_name(table);

	row->price_code[0] = '\0';
	row->part_spoiled = false;
	for (size_t i = 0; i < row->cells; i++) {
		struct cell *cell = &row->cell[i];

		cell->why = NULL;
		cell->pieces = 0;
		cell->value =
		    cell->at == NO_COLUMN ? "" : without_blanks(cell, read->field[cell->at]);
	}
	decode(row, file, read->line);
	for (size_t i = 0; i < row->cells; i++)
		clean(row, &row->cell[i], file, read->line);
}

void
canonical_row_add_why(struct canonical_row *row, struct text *why, const char *column,
                      const char *value, const char *what)
{
	if (why->length > 0)
		text_adds(why, "; ");
	text_adds(why, column);
	if (value != NULL) {
		text_adds(why, " \"");
		text_adds(why, text_show(&row->arena, value));
		text_adds(why, "\"");
	}
	text_adds(why, " ");
	text_adds(why, what);
}

bool
canonical_row_set_model(struct canonical_row *row)
{
	struct cell *cell;
	bool same;

	if (row->canon.model == NULL)
		return true;
	cell = &row->cell[row->cell_of[COLUMN_MODEL]];
	same = *cell->value == '\0' || strcmp(cell->value, row->canon.model) == 0;
	cell->value = row->canon.model;
	cell->why = NULL;
	return same;
}

static bool
may_be_empty(const struct canonical_row *row, const struct cell *cell)
{
	if (cell->column == LIST_COLUMNS)
		return true;
	if (row->canon.kind == LIST_OFFERS && cell->column == COLUMN_QTY)
		return true; /* unlimited */
	return (list_columns[cell->column].needed & row->canon.kind) == 0;
}

void
canonical_row_check(struct canonical_row *row, struct text *why)
{
	for (size_t i = 0; i < row->cells; i++) {
		const struct cell *cell = &row->cell[i];
		const char *what = NULL;

		if (cell->why != NULL)
			canonical_row_add_why(row, why, cell->header, cell->value, cell->why);
		else if (*cell->value == '\0' && !may_be_empty(row, cell))
			what = cell->column == COLUMN_COLOR ? "is empty: give the color, or any"
			                                    : "is empty: give it";
		else if (cell->column == COLUMN_STEP && *cell->value != '\0' && cell->pieces == 0)
			what = "is 0: give 1 or more, or leave it empty";
		if (what != NULL)
			canonical_row_add_why(row, why, cell->header, NULL, what);
	}
}
