/*
 * lot-owned: nets a need list against owned stock.
 */
#include "base/err.h"
#include "base/opts.h"
#include "trade/cover.h"
#include "trade/need.h"
#include "trade/stock.h"

#include <stdlib.h>
#include <string.h>

enum { KEY_TAKEN = OPT_LONG, KEY_LEFT };

static const struct opt opts[] = {
    OPTS_COMMON,
    {'k', "stock", "FILE", "owned stock, or order lines; may be given several times", true},
    {KEY_TAKEN, "taken", "FILE", "write what is taken, from where, for which lot", false},
    {KEY_LEFT, "left", "FILE", "write the stock that remains", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-owned",
    .purpose = "Nets a need list against owned stock, and against what is under way.",
    .synopsis = "[-q] [-D C] [--encoding NAME] -k FILE [-k FILE]... [--taken FILE]\n"
                "                 [--left FILE] < need.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 2 trouble.",
};

struct settings {
	const char **stock; /* owned */
	size_t stocks, stock_room;
	const char *taken, *left;
	struct table_form form; /* of stdin */
	bool quiet;
};

static void
add_stock(struct settings *set, const char *path)
{
	for (size_t i = 0; i < set->stocks; i++)
		if (strcmp(set->stock[i], path) == 0)
			opts_usage("stock %s is given twice, its pieces would count twice", path);
	MEM_ROOM(set->stock, set->stocks, set->stock_room);
	set->stock[set->stocks++] = path;
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {0};
	struct opt_reader reader;
	const char *value;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		switch (key) {
		case 'k':
			add_stock(&set, opts_file(&reader, value));
			break;
		case KEY_TAKEN:
			set.taken = value;
			break;
		case KEY_LEFT:
			set.left = value;
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the need list comes from stdin, there are no operands");
	if (set.stocks == 0)
		opts_usage("no stock: -k FILE");
	return set;
}

/* In the order of the stock, for whoever goes from place to place. */
static int
compare_takes(const void *left, const void *right)
{
	const struct cover_take *a = left, *b = right;

	if (a->stock_row != b->stock_row)
		return a->stock_row < b->stock_row ? -1 : 1;
	return (a->need_row > b->need_row) - (a->need_row < b->need_row);
}

static void
write_taken(struct sheet *sheet, const struct cover *cover, struct need *need,
            const struct stock *stock)
{
	static const char *const header[] = {"stock", "place", "part",  "color", "condition",
	                                     "qty",   "lot",   "group", "model"};
	struct cover_take *take = mem_alloc(cover->count * sizeof *take);

	sheet_fields(sheet, header, sizeof header / sizeof *header);
	sheet_end_row(sheet);
	if (cover->count > 0) {
		memcpy(take, cover->take, cover->count * sizeof *take);
		qsort(take, cover->count, sizeof *take, compare_takes);
	}
	for (size_t i = 0; i < cover->count; i++) {
		const struct stock_row *from = &stock->row[take[i].stock_row];
		const struct need_row *for_row = &need->row[take[i].need_row];

		sheet_field(sheet, stock->file[from->file]);
		sheet_field(sheet, from->place);
		sheet_field(sheet, from->part);
		sheet_field(sheet, from->color);
		sheet_field(sheet, from->condition);
		sheet_qty(sheet, take[i].qty);
		sheet_field(sheet, need_lot_name(for_row, &need->arena));
		sheet_field(sheet, for_row->text[NEED_GROUP]);
		sheet_field(sheet, for_row->text[NEED_MODEL]);
		sheet_end_row(sheet);
	}
	free(take);
}

static const char *
plural(int64_t count)
{
	return count == 1 ? "" : "s";
}

static void
tell_cover(const struct cover *cover, struct need *need)
{
	size_t lots = need_lots(need);
	int64_t pieces = need_pieces(need);

	for (size_t i = 0; i < cover->ruled_out_count; i++)
		tell("together \"%s\": its rows are left out, since stock fills part of its lots "
		     "otherwise",
		     text_show(&need->arena, cover->ruled_out[i]));
	tell("%lld piece%s from stock, for %zu lot%s; %zu lot%s, %lld piece%s remain",
	     (long long)cover->pieces, plural(cover->pieces), cover->lots,
	     plural((int64_t)cover->lots), lots, plural((int64_t)lots), (long long)pieces,
	     plural(pieces));
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct sheet remains = {0}, taken = {0}, left = {0};
	struct outputs outputs = {0};
	struct stock stock = {0};
	struct cover *cover;
	struct need *need;

	for (size_t i = 0; i < set.stocks; i++)
		stock_read(&stock, table_open(set.stock[i], NULL));
	need = need_read(table_open("-", &set.form));
	cover = cover_find(need, &stock);
	write_taken(&taken, cover, need, &stock);
	cover_apply(cover, need, &stock);
	need_write(&remains, need);
	stock_write(&left, &stock);
	outputs_add(&outputs, set.taken, &taken);
	outputs_add(&outputs, set.left, &left);
	tell_later();
	if (!set.quiet) {
		stock_tell_in_use(&stock);
		tell_cover(cover, need);
	}
	outputs_write(&outputs, &remains);
	sheet_free(&remains);
	sheet_free(&taken);
	sheet_free(&left);
	cover_free(cover);
	need_free(need);
	stock_free(&stock);
	free(set.stock);
	return EXIT_DONE;
}
