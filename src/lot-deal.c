/*
 * lot-deal: one file per seller, and an index of them.
 */
#include "base/err.h"
#include "base/opts.h"
#include "table/file_names.h"
#include "table/folder.h"
#include "trade/deal.h"

#include <stdlib.h>
#include <string.h>

#define INDEX_NAME "index"
#define INDEX_FILE INDEX_NAME FILE_ENDING

enum { KEY_BY = OPT_LONG, KEY_FORCE };

static const struct opt opts[] = {
    OPTS_COMMON,
    {'d', "dir", "DIR", "the directory for the files; made if it is not there", false},
    {KEY_BY, "by", "COL", "a file for each value of that column; default: seller", false},
    {KEY_FORCE, "force", NULL, "replace files that are not of an earlier run, too", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-deal",
    .purpose = "Deals order lines into one file per seller, with an index of the files.",
    .synopsis = "[-q] [-D C] [--encoding NAME] -d DIR [--by COL] [--force] < orders.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 2 trouble.",
};

struct settings {
	const char *path, *by;
	struct table_form form; /* of stdin */
	bool force, quiet;
};

static void
check_by(const char *by)
{
	static const char *const not [] = {"qty",  "price", "amount", "surplus", "grams",
	                                   "file", "lots",  "pieces", "goods"};
	for (size_t i = 0; i < sizeof not / sizeof *not ; i++)
		if (text_equal_fold(by, not [i]))
			opts_usage("--by: \"%s\" is counted, or told of a file; name a column that "
			           "sorts lines, such as model",
			           not [i]);
	if (*by == '\0')
		opts_usage("--by: name a column, such as model");
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {.by = "seller"};
	struct opt_reader reader;
	const char *value;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		switch (key) {
		case 'd':
			set.path = value;
			break;
		case KEY_BY:
			set.by = value;
			break;
		case KEY_FORCE:
			set.force = true;
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "order lines come from stdin, there are no operands");
	if (set.path == NULL || *set.path == '\0')
		opts_usage("no directory for the files: -d DIR");
	check_by(set.by);
	return set;
}

/* ---- the new files ---- */

struct dealt {
	struct deal deal;
	const char **file;   /* names, by pile */
	struct sheet *sheet; /* by pile; owned */
	struct sheet index;
	struct arena arena;
};

static bool
has_currency(const struct settings *set, const struct deal *deal)
{
	return deal->at[DEAL_CURRENCY] != NO_COLUMN && !text_equal_fold(set->by, "currency");
}

static void
write_index(struct sheet *sheet, const struct settings *set, const struct dealt *dealt)
{
	static const char *const columns[] = {"file", "lots", "pieces", "goods"};
	bool currency = has_currency(set, &dealt->deal);

	sheet_field(sheet, set->by);
	sheet_fields(sheet, columns, sizeof columns / sizeof *columns);
	if (currency)
		sheet_field(sheet, "currency");
	sheet_end_row(sheet);
	for (size_t i = 0; i < dealt->deal.piles; i++) {
		const struct deal_pile *pile = &dealt->deal.pile[i];

		sheet_field(sheet, pile->name);
		sheet_field(sheet, dealt->file[i]);
		sheet_qty(sheet, (int64_t)pile->lots);
		sheet_qty(sheet, pile->pieces);
		deal_goods(sheet, pile);
		if (currency)
			sheet_field(sheet, pile->currencies ? "" : pile->currency);
		sheet_end_row(sheet);
	}
}

static void
deal_out(struct dealt *dealt, const struct settings *set)
{
	struct deal *deal = &dealt->deal;
	const char **value;

	deal_read(deal, table_open("-", &set->form), set->by);
	value = arena_alloc(&dealt->arena, deal->piles * sizeof *value);
	for (size_t i = 0; i < deal->piles; i++)
		value[i] = deal->pile[i].name;
	dealt->file = file_names(&dealt->arena, value, deal->piles, INDEX_NAME);
	dealt->sheet = mem_zero(deal->piles, sizeof *dealt->sheet);
	for (size_t i = 0; i < deal->piles; i++)
		deal_write(&dealt->sheet[i], deal, &deal->pile[i]);
	write_index(&dealt->index, set, dealt);
}

/* ---- an earlier run ---- */

enum index_column { INDEX_VALUE, INDEX_AT, INDEX_LOTS, INDEX_PIECES, INDEX_GOODS, INDEX_COLUMNS };

struct earlier_file {
	const char *field[INDEX_COLUMNS];
};

/* What the index in the directory says, if it is one of ours. */
struct earlier {
	const char *by;            /* NULL: there is none */
	struct earlier_file *file; /* owned */
	size_t count, room;
	struct arena arena;
};

/* A silent look at what may be anybody's file. A mark of UTF-16 would be converted, or told. */
static struct table *
open_quietly(struct folder *folder, const char *name)
{
	static const struct table_form silent = {.delimiter = ',', .silent = true};
	struct table *table = NULL;
	struct text bytes = {0};

	if (folder_read(folder, name, &bytes) && bytes.length > 0 &&
	    (unsigned char)bytes.bytes[0] < 0xFE)
		table = table_open(folder_path(folder, name), &silent);
	text_free(&bytes);
	return table;
}

static bool
is_index_header(const struct table *table)
{
	static const char *const columns[] = {"file", "lots", "pieces", "goods", "currency"};
	size_t count = table_columns(table);

	if (count != INDEX_COLUMNS && count != INDEX_COLUMNS + 1)
		return false;
	for (size_t i = 1; i < count; i++)
		if (strcmp(table_header(table)[i], columns[i - 1]) != 0)
			return false;
	return true;
}

static bool
read_earlier_rows(struct earlier *earlier, struct table *table)
{
	struct row row;

	while (table_next(table, &row)) {
		struct earlier_file new;

		if (!file_name_fits(row.field[INDEX_AT], INDEX_NAME))
			return false;
		for (size_t i = 0; i < INDEX_COLUMNS; i++)
			new.field[i] =
			    arena_copy(&earlier->arena, row.field[i], strlen(row.field[i]));
		MEM_ROOM(earlier->file, earlier->count, earlier->room);
		earlier->file[earlier->count++] = new;
	}
	return table_faults(table)->count == 0;
}

static void
read_earlier(struct earlier *earlier, struct folder *folder)
{
	struct table *table = open_quietly(folder, INDEX_FILE);

	if (table == NULL)
		return;
	if (is_index_header(table) && read_earlier_rows(earlier, table)) {
		const char *by = table_header(table)[0];

		earlier->by = arena_copy(&earlier->arena, by, strlen(by));
	} else {
		earlier->count = 0;
	}
	table_close(table);
}

/* Does the only pile of a file count up to what the index says? */
static bool
counts_agree(const struct deal *deal, const struct earlier_file *file)
{
	const struct deal_pile *pile = deal->pile;
	struct sheet due = {0}, said = {0};
	bool agree;

	if (deal->piles != 1 || strcmp(pile->name, file->field[INDEX_VALUE]) != 0)
		return false;
	sheet_qty(&due, (int64_t)pile->lots);
	sheet_qty(&due, pile->pieces);
	deal_goods(&due, pile);
	sheet_fields(&said, &file->field[INDEX_LOTS], INDEX_COLUMNS - INDEX_LOTS);
	agree = strcmp(due.text.bytes, said.text.bytes) == 0;
	sheet_free(&due);
	sheet_free(&said);
	return agree;
}

/* Is a file as the earlier run left it, by what its index says? */
static bool
is_as_left(const struct earlier *earlier, struct folder *folder, const struct earlier_file *file)
{
	struct table *table = open_quietly(folder, file->field[INDEX_AT]);
	struct deal deal = {0};
	bool as_left;

	if (table == NULL)
		return false;
	as_left = deal_read(&deal, table, earlier->by) && counts_agree(&deal, file);
	deal_free(&deal);
	return as_left;
}

static const struct earlier_file *
find_earlier(const struct earlier *earlier, const char *name)
{
	for (size_t i = 0; i < earlier->count; i++)
		if (strcmp(earlier->file[i].field[INDEX_AT], name) == 0)
			return &earlier->file[i];
	return NULL;
}

/* ---- what may be replaced ---- */

static bool
is_same(const struct folder *folder, const char *name, const struct sheet *sheet)
{
	struct text bytes = {0};
	bool same = folder_read(folder, name, &bytes) && bytes.length == sheet->text.length &&
	            memcmp(bytes.bytes, sheet->text.bytes, bytes.length) == 0;

	text_free(&bytes);
	return same;
}

static void
place_file(struct folder *folder, const struct settings *set, const struct earlier *earlier,
           const char *name, const struct sheet *sheet, struct faults *faults)
{
	enum folder_entry there = folder_look(folder, name);
	const struct earlier_file *file = find_earlier(earlier, name);

	if (is_same(folder, name, sheet))
		return;
	if (there == ENTRY_OTHER)
		fault(faults, 0, "%s is no file: move it away", name);
	else if (there == ENTRY_LINK && !set->force)
		fault(faults, 0, "%s is a link: move it away, or --force replaces it", name);
	else if (there == ENTRY_FILE && !set->force && file == NULL)
		fault(faults, 0,
		      "%s is there already, and not of an earlier run: move it away, or --force "
		      "replaces it",
		      name);
	else if (there == ENTRY_FILE && !set->force && !is_as_left(earlier, folder, file))
		fault(faults, 0,
		      "%s was changed since an earlier run wrote it: move it away, or --force "
		      "replaces it",
		      name);
	folder_put(folder, name, sheet);
}

static void
place_index(struct folder *folder, const struct settings *set, const struct earlier *earlier,
            const struct sheet *sheet, struct faults *faults)
{
	enum folder_entry there = folder_look(folder, INDEX_FILE);

	if (is_same(folder, INDEX_FILE, sheet))
		return;
	if (there == ENTRY_OTHER)
		fault(faults, 0, "%s is no file: move it away", INDEX_FILE);
	else if (there == ENTRY_LINK && !set->force)
		fault(faults, 0, "%s is a link: move it away, or --force replaces it", INDEX_FILE);
	else if (there == ENTRY_FILE && !set->force && earlier->by == NULL)
		fault(faults, 0,
		      "%s is there already, and not of an earlier run: move it away, or --force "
		      "replaces it",
		      INDEX_FILE);
	else if (there == ENTRY_FILE && !set->force && !text_equal_fold(earlier->by, set->by))
		fault(faults, 0,
		      "the files are by %s: name another directory for those by %s, or --force "
		      "replaces them",
		      text_show(&folder->arena, earlier->by), text_show(&folder->arena, set->by));
	folder_put(folder, INDEX_FILE, sheet);
}

/* Files of an earlier run that no line goes to any more. */
static void
remove_stale(struct folder *folder, const struct earlier *earlier, const struct names *placed)
{
	for (size_t i = 0; i < earlier->count; i++) {
		const struct earlier_file *file = &earlier->file[i];
		const char *name = file->field[INDEX_AT];

		if (names_find(placed, name) != SIZE_MAX || folder_look(folder, name) == ENTRY_NONE)
			continue;
		if (is_as_left(earlier, folder, file))
			folder_remove(folder, name);
		else
			tell("%s: %s was changed since an earlier run wrote it, and stays, though "
			     "nothing is left of %s \"%s\"",
			     folder->shown, name, earlier->by,
			     text_show(&folder->arena, file->field[INDEX_VALUE]));
	}
}

/* Decides for each file before any is written. */
static void
place_all(struct folder *folder, const struct settings *set, const struct dealt *dealt)
{
	struct faults faults = {.file = folder->shown};
	struct earlier earlier = {0};
	struct names placed = {0};

	read_earlier(&earlier, folder);
	for (size_t i = 0; i < dealt->deal.piles; i++) {
		place_file(folder, set, &earlier, dealt->file[i], &dealt->sheet[i], &faults);
		names_add(&placed, dealt->file[i]);
	}
	place_index(folder, set, &earlier, &dealt->index, &faults);
	faults_end(&faults);
	remove_stale(folder, &earlier, &placed);
	names_free(&placed);
	free(earlier.file);
	arena_free(&earlier.arena);
}

/* ---- what is told ---- */

static const char *
plural(int64_t count)
{
	return count == 1 ? "" : "s";
}

static void
tell_deal(const struct deal *deal, struct folder *folder, const char *by)
{
	int64_t pieces = 0, lots = 0;

	for (size_t i = 0; i < deal->piles; i++) {
		pieces += deal->pile[i].pieces;
		lots += (int64_t)deal->pile[i].lots;
		if (deal->pile[i].currencies)
			tell("%s \"%s\" has lines in several currencies: its goods have no sum", by,
			     text_show(&folder->arena, deal->pile[i].name));
	}
	for (size_t i = 0; i < folder->removals; i++)
		tell("%s: %s of an earlier run is removed, nothing goes there any more",
		     folder->shown, folder->removed[i]);
	if (deal->left_out > 0)
		tell("%lld piece%s of stock in use are left out", (long long)deal->left_out,
		     plural(deal->left_out));
	tell("%zu file%s in %s, by %s: %lld lot%s, %lld piece%s", deal->piles,
	     plural((int64_t)deal->piles), folder->shown, by, (long long)lots, plural(lots),
	     (long long)pieces, plural(pieces));
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct dealt dealt = {0};
	struct folder folder;

	deal_out(&dealt, &set);
	folder_open(&folder, set.path);
	place_all(&folder, &set, &dealt);
	tell_later();
	if (!set.quiet)
		tell_deal(&dealt.deal, &folder, set.by);
	folder_write(&folder);
	for (size_t i = 0; i < dealt.deal.piles; i++)
		sheet_free(&dealt.sheet[i]);
	free(dealt.sheet);
	sheet_free(&dealt.index);
	deal_free(&dealt.deal);
	arena_free(&dealt.arena);
	folder_free(&folder);
	return EXIT_DONE;
}
