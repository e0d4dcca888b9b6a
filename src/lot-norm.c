/*
 * lot-norm: turn any parts, stock or offers list into canonical lots.
 *
 * Reads the whole list, or several as one, puts each row's fields into canonical form, merges equal
 * lots and writes canonical CSV. Other columns and remarks pass through as they are.
 */
#include "base/err.h"
#include "base/opts.h"
#include "base/pattern.h"
#include "table/output.h"
#include "table/table.h"
#include "trade/canonical_row.h"
#include "trade/equal_lots.h"
#include "trade/known_names.h"
#include "trade/list_header.h"
#include "trade/loose_list.h"
#include "trade/name_rules.h"
#include "trade/order_codes.h"
#include "trade/sellers.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	KEY_CODES = OPT_LONG,
	KEY_DECIMAL,
	KEY_ONLY,
	KEY_EXCEPT,
	KEY_KEEP_ROWS,
	KEY_MODEL,
	KEY_REJECTS,
	KEY_KNOWN,
	KEY_UNKNOWN,
	KEY_LOOSE,
	KEY_PATTERN
};

static const struct opt options[] = {
    OPTS_COMMON,
    OPTS_TABLE,
    {'m', "map", "FILE", "column,pattern: which header is which column", false},
    {'n', "names", "FILE", "column,pattern,name: one name for many ways to write it", true},
    {KEY_LOOSE, "loose", NULL, "lines as people write them: 12x 2x4 plate, red", false},
    {KEY_PATTERN, "pattern", "PATTERN", "a loose line, with named groups: part, color, qty", true},
    {KEY_CODES, "codes", "FILE", "code,part,color: order codes for part and color", false},
    {KEY_DECIMAL, "decimal", "MARK", "decimal mark, point (default) or comma", false},
    {KEY_ONLY, "only", "COL=PATTERN", "keep only rows whose field matches whole", false},
    {KEY_EXCEPT, "except", "COL=PATTERN", "leave out rows whose field matches whole", false},
    {KEY_KEEP_ROWS, "keep-rows", NULL, "do not merge equal lots", false},
    {KEY_MODEL, "model", "NAME", "the model that every row is for", false},
    {KEY_REJECTS, "rejects", "FILE", "write bad rows there, with why, and go on (exit 1)", false},
    {KEY_KNOWN, "known", "FILE", "offers, stock: their parts and colors are known", true},
    {KEY_UNKNOWN, "unknown", "FILE", "write names not known there, as --names to complete", false},
};

static const struct tool tool = {
    .name = "lot-norm",
    .purpose = "Turn any parts, stock or offers list into canonical lots.",
    .synopsis = "[options] [need|stock|offers] [FILE]... > canonical.csv",
    .opts = options,
    .count = sizeof options / sizeof options[0],
    .notes =
        "The kind of list is need, unless said otherwise. Several files become one list; without\n"
        "any, or for -, it is standard input. Columns are found by --map, by their canonical\n"
        "names, or by ordinary header words in several languages.",
};

/* The values of an option that may be given several times. */
struct values {
	const char **value; /* owned */
	size_t count, room;
};

/* --only or --except. */
struct filter {
	const char *said;        /* COL=PATTERN; NULL: not given */
	struct pattern *pattern; /* owned */
	size_t cell;             /* the column asked for */
};

struct settings {
	enum list_kind kind;
	char *const *list; /* paths, in argv; "-": stdin */
	size_t lists;
	struct table_form form;
	enum decimal_mark mark;
	const char *map, *codes, *rejects, *unknown; /* paths or NULL */
	struct values names, known, pattern;
	const char *model; /* NULL: as the rows say */
	struct filter only, except;
	bool keep_rows, loose, quiet;
};

/* Names that one list may have and another not; for each, the list that had it last. */
struct owners {
	struct names names;
	size_t *list; /* owned */
	size_t room;
};

struct norm {
	const struct settings *settings;
	struct table **list; /* owned */
	size_t at;           /* the list that is read */
	struct table *table; /* the same */
	struct canonical_row row;
	struct text why; /* what is wrong with the row in hand */
	struct equal_lots lots;
	struct known_names *known; /* borrowed; NULL: none asks for it */
	struct loose_patterns patterns;
	struct owners lots_of, models_of;
	size_t renamed; /* rows that said another model */
	/* Offers: sellers met, and the currency that each one's prices name. */
	struct names sellers;
	char (*seller_code)[CURRENCY_CODE_SIZE]; /* owned */
	size_t seller_room;
	struct sheet out, rejects, unknown;
	size_t rejected;
	/* For the summary. */
	size_t count; /* offers or lots */
	int64_t pieces;
	struct names lot_names;
	struct arena arena;
};

static void
add_value(struct values *values, const char *value)
{
	MEM_ROOM(values->value, values->count, values->room);
	values->value[values->count++] = value;
}

static void
take_option(struct settings *s, struct opt_reader *reader, int key, const char *value)
{
	switch (key) {
	case 'm':
		s->map = opts_file(reader, value);
		break;
	case 'n':
		add_value(&s->names, opts_file(reader, value));
		break;
	case KEY_CODES:
		s->codes = opts_file(reader, value);
		break;
	case KEY_DECIMAL:
		if (strcmp(value, "comma") == 0)
			s->mark = MARK_COMMA;
		else if (strcmp(value, "point") != 0)
			opts_usage("--decimal is point or comma");
		break;
	case KEY_ONLY:
		s->only.said = value;
		break;
	case KEY_EXCEPT:
		s->except.said = value;
		break;
	case KEY_KEEP_ROWS:
		s->keep_rows = true;
		break;
	case KEY_MODEL:
		s->model = value;
		break;
	case KEY_REJECTS:
		s->rejects = value;
		break;
	case KEY_KNOWN:
		add_value(&s->known, opts_file(reader, value));
		break;
	case KEY_UNKNOWN:
		s->unknown = value;
		break;
	case KEY_LOOSE:
		s->loose = true;
		break;
	case KEY_PATTERN:
		add_value(&s->pattern, value);
		break;
	default:
		table_option(&s->form, key, value);
	}
}

/* The kind that a word says; false: it is none. */
static bool
read_kind(const char *word, enum list_kind *kind)
{
	if (strcmp(word, "need") == 0)
		*kind = LIST_NEED;
	else if (strcmp(word, "stock") == 0)
		*kind = LIST_STOCK;
	else if (strcmp(word, "offers") == 0)
		*kind = LIST_OFFERS;
	else
		return false;
	return true;
}

static void
take_operands(struct settings *s, char **operands, size_t count)
{
	static char standard_input[] = "-";
	static char *const only[] = {standard_input};
	enum list_kind other;
	size_t first;

	s->kind = LIST_NEED;
	first = count > 0 && read_kind(operands[0], &s->kind);
	s->list = count > first ? operands + first : only;
	s->lists = count > first ? count - first : 1;
	for (size_t i = 0; i < s->lists; i++) {
		if (read_kind(s->list[i], &other))
			opts_usage("one kind of list at a time, need, stock or offers, before the "
			           "files; a file of that name is ./%s",
			           s->list[i]);
		for (size_t k = 0; k < i; k++)
			if (strcmp(s->list[i], s->list[k]) == 0)
				opts_usage("list %s is given twice, its rows would count twice",
				           s->list[i]);
	}
	if (s->lists > 1 && s->rejects != NULL)
		opts_usage("--rejects is for one list at a time");
}

/* The name as a row would have it. */
static void
check_model(struct settings *s, struct arena *arena)
{
	char *name;

	if (s->model == NULL)
		return;
	if (s->kind == LIST_OFFERS)
		opts_usage("--model is for need and stock lists: offers are for any model");
	if (text_utf8_bad(s->model, strlen(s->model)) < strlen(s->model))
		die("--model: the name is not UTF-8");
	name = arena_copy(arena, s->model, strlen(s->model));
	text_fold_blanks(name);
	if (*name == '\0')
		opts_usage("--model: the name is empty");
	if (strcmp(name, TOTAL_SELLER) == 0)
		opts_usage("--model: a model may not be named %s, as the row of all is", name);
	s->model = name;
}

/* Options that only mean something with another, or nothing with it. */
static void
check_together(const struct settings *s)
{
	if (s->known.count > 0 && s->unknown == NULL && !s->loose)
		opts_usage("--known is for --unknown and --loose");
	if (s->pattern.count > 0 && !s->loose)
		opts_usage("--pattern is for --loose");
	if (s->loose && s->form.delimiter != 0)
		opts_usage("--delimiter is for CSV: the tables of --loose have bars or tabs");
}

static void
read_command_line(struct settings *s, int argc, char **argv, struct arena *arena)
{
	struct opt_reader reader;
	const char *value;
	char **operands;
	size_t count;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		take_option(s, &reader, key, value);
	s->quiet = reader.quiet;
	count = opts_operands(&reader, &operands);
	take_operands(s, operands, count);
	check_together(s);
	check_model(s, arena);
}

/* Compiles the pattern of a filter; its column is looked for when the header is known. */
static void
compile_filter(struct filter *filter, const char *option, struct arena *arena)
{
	const char *equals, *why;

	if (filter->said == NULL)
		return;
	equals = strchr(filter->said, '=');
	if (equals == NULL || equals == filter->said)
		opts_usage("%s takes COL=PATTERN", option);
	if (text_utf8_bad(equals, strlen(equals)) < strlen(equals))
		die("%s: the pattern is not UTF-8", option);
	filter->pattern = pattern_new(equals + 1, arena, &why);
	if (filter->pattern == NULL)
		die("%s: pattern \"%s\": %s", option, text_show(arena, equals + 1), why);
}

static void
compile_patterns(struct norm *norm)
{
	const struct settings *s = norm->settings;

	for (size_t i = 0; i < s->pattern.count; i++) {
		const char *text = s->pattern.value[i], *why;

		if (text_utf8_bad(text, strlen(text)) < strlen(text))
			die("--pattern: the pattern is not UTF-8");
		why = loose_patterns_add(&norm->patterns, text, s->kind, s->codes != NULL);
		if (why != NULL)
			die("--pattern \"%s\": %s", text_show(&norm->arena, text), why);
	}
}

/* The cell whose column has that header in one of the lists, or NO_COLUMN. */
static size_t
cell_headed(const struct norm *norm, const char *name)
{
	for (size_t list = 0; list < norm->settings->lists; list++)
		for (size_t i = 0; i < norm->row.cells; i++) {
			size_t at = norm->row.cell[i].ats[list];

			if (at != NO_COLUMN &&
			    text_equal_fold(table_header(norm->list[list])[at], name))
				return i;
		}
	return NO_COLUMN;
}

/* The column of a filter: a canonical name first, then a header as the list has it. */
static void
find_filter_column(struct norm *norm, struct filter *filter, const char *option)
{
	struct text name = {0};
	enum list_column column;

	if (filter->said == NULL)
		return;
	text_add(&name, filter->said, (size_t)(strchr(filter->said, '=') - filter->said));
	text_fold_blanks(name.bytes);
	column = list_column_named(name.bytes);
	filter->cell = column < LIST_COLUMNS ? norm->row.cell_of[column] : NO_COLUMN;
	if (filter->cell == NO_COLUMN)
		filter->cell = cell_headed(norm, name.bytes);
	if (filter->cell == NO_COLUMN)
		fault(table_faults(norm->table), table_header_line(norm->table),
		      "no column \"%s\" for %s: the headers are %s",
		      text_show(&norm->arena, name.bytes), option, table_headers_seen(norm->table));
	text_free(&name);
}

static void
begin_sheets(struct norm *norm)
{
	size_t bytes = 0;

	for (size_t i = 0; i < norm->settings->lists; i++)
		bytes += table_bytes(norm->list[i]);
	sheet_reserve(&norm->out, bytes);
	for (size_t i = 0; i < norm->row.cells; i++)
		sheet_field(&norm->out, norm->row.cell[i].header);
	sheet_end_row(&norm->out);
	if (norm->settings->loose)
		sheet_field(&norm->rejects, "text");
	for (size_t i = 0; !norm->settings->loose && i < table_columns(norm->table); i++)
		sheet_field(&norm->rejects, table_header_as_read(norm->table)[i]);
	sheet_field(&norm->rejects, "line");
	sheet_field(&norm->rejects, "why");
	sheet_end_row(&norm->rejects);
}

static bool
filter_matches(struct norm *norm, const struct filter *filter, const struct row *row)
{
	const struct cell *cell = &norm->row.cell[filter->cell];
	const char *why;
	enum pattern_result result =
	    pattern_matches(filter->pattern, cell->value, &norm->arena, &why);

	if (result == PATTERN_FAULT)
		die("%s:%zu: %s \"%s\", %s: %s", table_name(norm->table), row->line, cell->header,
		    text_show(&norm->arena, cell->value),
		    filter == &norm->settings->only ? "--only" : "--except", why);
	return result == PATTERN_YES;
}

static bool
is_wanted(struct norm *norm, const struct row *row)
{
	const struct settings *s = norm->settings;

	return (s->only.said == NULL || filter_matches(norm, &s->only, row)) &&
	       (s->except.said == NULL || !filter_matches(norm, &s->except, row));
}

/* The sign or code in a price is dropped, so it must not say other than the currency column does,
 * or than the seller's other prices do. */
static void
check_price_code(struct norm *norm)
{
	const char *code = norm->row.price_code;
	const char *currency = canonical_row_value(&norm->row, COLUMN_CURRENCY);
	size_t before = norm->sellers.count, seller;

	if (code[0] != '\0' && *currency != '\0' && !text_equal_fold(currency, code)) {
		canonical_row_add_why(&norm->row, &norm->why, "price", code,
		                      "is not the currency of the currency column");
		return;
	}
	seller = names_add(&norm->sellers, canonical_row_value(&norm->row, COLUMN_SELLER));
	if (seller == before) {
		MEM_ROOM(norm->seller_code, seller, norm->seller_room);
		norm->seller_code[seller][0] = '\0';
	}
	if (code[0] == '\0' || *currency != '\0')
		return;
	if (norm->seller_code[seller][0] == '\0')
		memcpy(norm->seller_code[seller], code, CURRENCY_CODE_SIZE);
	else if (strcmp(norm->seller_code[seller], code) != 0)
		canonical_row_add_why(&norm->row, &norm->why, "price", code,
		                      "is not the currency of the seller's prices so far: give a "
		                      "currency column");
}

static void
reject(struct norm *norm, const struct row *row)
{
	if (norm->settings->rejects == NULL) {
		fault(table_faults(norm->table), row->line, "%s", norm->why.bytes);
		return;
	}
	norm->rejected++;
	if (row->text != NULL)
		sheet_field(&norm->rejects, row->text);
	for (size_t i = 0; row->text == NULL && i < row->count; i++)
		sheet_field(&norm->rejects, row->field[i]);
	sheet_qty(&norm->rejects, (int64_t)row->line);
	sheet_field(&norm->rejects, norm->why.bytes);
	sheet_end_row(&norm->rejects);
}

/* Counts for the summary: a named lot is one, whatever its rows. */
static void
count_lot(struct norm *norm, const char *name, int64_t pieces)
{
	size_t before = norm->lot_names.count;

	if (*name != '\0' && names_add(&norm->lot_names, name) < before)
		return;
	norm->count++;
	norm->pieces += pieces;
}

static void
write_row(struct norm *norm)
{
	for (size_t i = 0; i < norm->row.cells; i++)
		sheet_field(&norm->out, norm->row.cell[i].value);
	sheet_end_row(&norm->out);
}

static void
write_lots(struct norm *norm)
{
	const struct equal_lots *lots = &norm->lots;
	size_t name = norm->row.cell_of[COLUMN_LOT];

	for (size_t lot = 0; lot < equal_lots_count(lots); lot++) {
		int64_t pieces = equal_lots_pieces(lots, lot);

		for (size_t i = 0; i < norm->row.cells; i++)
			if (i == norm->row.cell_of[COLUMN_QTY])
				sheet_qty(&norm->out, pieces);
			else
				sheet_field(&norm->out, equal_lots_value(lots, lot, i));
		sheet_end_row(&norm->out);
		count_lot(norm, name == NO_COLUMN ? "" : equal_lots_value(lots, lot, name), pieces);
	}
}

/* Adds to why where another list has had the name; once a list. */
static void
check_owner(struct norm *norm, struct owners *owners, enum list_column column, const char *what)
{
	const char *name = canonical_row_value(&norm->row, column);
	size_t before = owners->names.count, number;
	struct text why = {0};

	if (norm->settings->lists == 1 || *name == '\0')
		return;
	number = names_add(&owners->names, name);
	if (number == before) {
		MEM_ROOM(owners->list, number, owners->room);
		owners->list[number] = norm->at;
	}
	if (owners->list[number] == norm->at)
		return;
	text_adds(&why, "is in ");
	text_adds(&why, text_show_all(&norm->arena, table_name(norm->list[owners->list[number]])));
	text_adds(&why, what);
	canonical_row_add_why(&norm->row, &norm->why, list_columns[column].name, name, why.bytes);
	owners->list[number] = norm->at;
	text_free(&why);
}

/* What one list may not have with another: lots and, where each is for its own, models. */
static void
check_owners(struct norm *norm)
{
	if (norm->settings->kind != LIST_NEED)
		return;
	check_owner(norm, &norm->lots_of, COLUMN_LOT,
	            " too: rows of a lot are alternatives; rename it with --names");
	if (norm->settings->model == NULL)
		check_owner(norm, &norm->models_of, COLUMN_MODEL,
		            " too, a model twice: --model NAME gives a list another");
}

/* Notes the row's part or color, if no one knows it. */
static void
note_unknown(struct norm *norm, enum list_column column, size_t line)
{
	if (norm->settings->unknown != NULL)
		known_names_note(norm->known, column, canonical_row_value(&norm->row, column),
		                 table_name(norm->table), line);
}

/* Those of a row that is written. */
static void
note_names(struct norm *norm, size_t line)
{
	note_unknown(norm, COLUMN_PART, line);
	note_unknown(norm, COLUMN_COLOR, line);
}

/* Merges the row into its lot, if rows are merged; false: they are not, or it does not fit. */
static bool
merge(struct norm *norm, const struct row *row)
{
	if (norm->settings->kind == LIST_OFFERS || norm->settings->keep_rows)
		return false;
	return equal_lots_add(&norm->lots, &norm->row, table_name(norm->table), row->line,
	                      &norm->why);
}

/* A row whose shape is right: read, asked for, checked, and then written or merged. */
static void
take_row(struct norm *norm, const struct row *row)
{
	bool offers = norm->settings->kind == LIST_OFFERS;

	canonical_row_read(&norm->row, norm->table, row);
	if (!is_wanted(norm, row))
		return;
	norm->renamed += !canonical_row_set_model(&norm->row);
	text_clear(&norm->why);
	canonical_row_check(&norm->row, &norm->why);
	check_owners(norm);
	if (norm->why.length == 0 && offers)
		check_price_code(norm);
	if (norm->why.length == 0 && merge(norm, row)) {
		note_names(norm, row->line);
		return;
	}
	if (norm->why.length > 0) {
		if (norm->row.part_spoiled) /* a name rule is what mends it */
			note_unknown(norm, COLUMN_PART, row->line);
		reject(norm, row);
		return;
	}
	note_names(norm, row->line);
	write_row(norm);
	if (offers)
		norm->count++;
	else
		count_lot(norm, canonical_row_value(&norm->row, COLUMN_LOT),
		          norm->row.cell[norm->row.cell_of[COLUMN_QTY]].pieces);
}

/* A row whose shape is wrong. Surplus fields have no column in the rejects: they go with why. */
static void
take_misshapen(struct norm *norm, const struct row *row, const char *why)
{
	text_clear(&norm->why);
	text_adds(&norm->why, why);
	if (norm->settings->rejects != NULL && row->given > row->count) {
		text_adds(&norm->why, "; the surplus:");
		for (size_t i = row->count; i < row->given; i++) {
			text_adds(&norm->why, " ");
			text_adds(&norm->why, row->field[i]);
		}
	}
	reject(norm, row);
}

/* The rows of a list to come are read from here on. */
static void
turn_to(struct norm *norm, size_t list)
{
	norm->at = list;
	norm->table = norm->list[list];
	canonical_row_turn(&norm->row, list);
}

static void
read_lists(struct norm *norm)
{
	struct row row;
	const char *why;

	for (size_t i = 0; i < norm->settings->lists; i++) {
		turn_to(norm, i);
		while (table_next_any(norm->table, &row, &why))
			if (why != NULL)
				take_misshapen(norm, &row, why);
			else
				take_row(norm, &row);
		table_end(norm->table);
	}
	write_lots(norm);
}

/* Opens a list and finds its columns. */
static struct table *
open_list(struct norm *norm, const char *path, const struct canon *canon,
          const struct column_map *map, struct list_header *header)
{
	const struct settings *s = norm->settings;
	bool with_code = canon->codes != NULL;
	struct table *table;

	if (s->loose)
		return loose_list_open(path,
		                       &(struct loose_form){s->form.encoding, s->kind, s->mark,
		                                            with_code, map, &norm->patterns,
		                                            norm->known, canon->rules},
		                       header, &norm->arena);
	table = table_open(path, &s->form);
	table_end(table);
	list_header_find(header, table, s->kind, with_code, map);
	table_end(table);
	return table;
}

/* Opens the lists and lays out what is written. */
static void
open_lists(struct norm *norm, struct settings *settings, const struct canon *canon,
           const struct column_map *map)
{
	struct list_header *header = mem_zero(settings->lists, sizeof *header);

	norm->list = mem_zero(settings->lists, sizeof(struct table *));
	for (size_t i = 0; i < settings->lists; i++)
		norm->list[i] = open_list(norm, settings->list[i], canon, map, &header[i]);
	norm->table = norm->list[0];
	canonical_row_begin(&norm->row, canon, norm->list, header, settings->lists,
	                    settings->quiet);
	for (size_t i = 0; i < settings->lists; i++)
		list_header_free(&header[i]);
	free(header);
	find_filter_column(norm, &settings->only, "--only");
	find_filter_column(norm, &settings->except, "--except");
	table_end(norm->table);
	begin_sheets(norm);
}

/* A file that is read is not written over: its rows and rules would be gone. */
static void
spare_inputs(const struct settings *s, const struct outputs *outputs)
{
	for (size_t i = 0; i < s->lists; i++)
		outputs_spare(outputs, s->list[i]);
	for (size_t i = 0; i < s->names.count; i++)
		outputs_spare(outputs, s->names.value[i]);
	for (size_t i = 0; i < s->known.count; i++)
		outputs_spare(outputs, s->known.value[i]);
	outputs_spare(outputs, s->map);
	outputs_spare(outputs, s->codes);
}

static void
tell_renamed(const struct norm *norm)
{
	if (norm->renamed > 0)
		tell("%zu row%s named another model than --model, which takes its place",
		     norm->renamed, norm->renamed == 1 ? "" : "s");
}

static void
sum_up(const struct norm *norm)
{
	bool offers = norm->settings->kind == LIST_OFFERS;
	long long second = offers ? (long long)norm->sellers.count : (long long)norm->pieces;
	char rejected[64] = "", unknown[64] = "";

	if (norm->settings->quiet)
		return;
	tell_renamed(norm);
	if (norm->rejected > 0)
		snprintf(rejected, sizeof rejected, ", %zu row%s rejected", norm->rejected,
		         norm->rejected == 1 ? "" : "s");
	if (norm->settings->unknown != NULL)
		snprintf(unknown, sizeof unknown, ", %zu unknown name%s",
		         known_names_unknown(norm->known),
		         known_names_unknown(norm->known) == 1 ? "" : "s");
	tell("%zu %s%s, %lld %s%s%s%s", norm->count, offers ? "offer" : "lot",
	     norm->count == 1 ? "" : "s", second, offers ? "seller" : "piece",
	     second == 1 ? "" : "s", rejected, unknown);
}

static void
release(struct norm *norm)
{
	free(norm->seller_code);
	text_free(&norm->why);
	equal_lots_free(&norm->lots);
	canonical_row_free(&norm->row);
	loose_patterns_free(&norm->patterns);
	names_free(&norm->sellers);
	names_free(&norm->lot_names);
	sheet_free(&norm->out);
	sheet_free(&norm->rejects);
	sheet_free(&norm->unknown);
	for (size_t i = 0; i < norm->settings->lists; i++)
		table_close(norm->list[i]);
	free(norm->list);
	names_free(&norm->lots_of.names);
	names_free(&norm->models_of.names);
	free(norm->lots_of.list);
	free(norm->models_of.list);
	arena_free(&norm->arena);
}

int
main(int argc, char **argv)
{
	struct settings settings = {.mark = MARK_POINT};
	struct norm norm = {.settings = &settings};
	struct outputs outputs = {0};
	struct column_map *map;
	struct name_rules *rules;
	struct order_codes *codes;

	read_command_line(&settings, argc, argv, &norm.arena);
	compile_filter(&settings.only, "--only", &norm.arena);
	compile_filter(&settings.except, "--except", &norm.arena);
	compile_patterns(&norm);
	map = column_map_read(settings.map);
	rules = name_rules_read(settings.names.value, settings.names.count);
	if (settings.unknown != NULL || settings.loose)
		norm.known = known_names_read(settings.known.value, settings.known.count, rules);
	codes = settings.codes ? order_codes_read(settings.codes) : NULL;

	open_lists(&norm, &settings,
	           &(struct canon){settings.kind, settings.mark, rules, codes, settings.model},
	           map);
	read_lists(&norm);
	outputs_add(&outputs, settings.rejects, &norm.rejects);
	if (settings.unknown != NULL)
		known_names_write(norm.known, &norm.unknown);
	outputs_add(&outputs, settings.unknown, &norm.unknown);
	spare_inputs(&settings, &outputs);
	tell_later();
	sum_up(&norm);
	outputs_write(&outputs, &norm.out);

	release(&norm);
	column_map_free(map);
	known_names_free(norm.known);
	name_rules_free(rules);
	free(settings.names.value);
	free(settings.known.value);
	free(settings.pattern.value);
	order_codes_free(codes);
	pattern_free(settings.only.pattern);
	pattern_free(settings.except.pattern);
	return norm.rejected > 0 ? EXIT_DIFFERS : EXIT_DONE;
}
