/*
 * lot-compare: puts several totals side by side as scenarios.
 */
#include "base/err.h"
#include "base/opts.h"
#include "table/output.h"
#include "trade/currency.h"
#include "trade/scenario.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KEY_BASE = OPT_LONG };

static const struct opt opts[] = {
    OPTS_COMMON,
    {KEY_BASE, "base", "NAME", "savings are on this scenario; default: the first", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-compare",
    .purpose = "Puts several totals side by side as scenarios, with what each saves.",
    .synopsis = "[-q] [-D C] [--encoding NAME] [--base NAME] NAME=totals.csv...",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Each operand names a scenario and a file that lot-total wrote; without NAME=, the\n"
             "file's name is the scenario's. Exit status: 0 done, 2 trouble.",
};

struct settings {
	const char *base; /* NULL: the first */
	struct table_form form;
	char **operands;
	size_t count;
	bool quiet;
};

static struct settings
read_options(struct opt_reader *reader, int argc, char **argv)
{
	struct settings set = {0};
	const char *value;
	int key;

	opts_start(reader, &tool, argc, argv, false);
	while ((key = opts_next(reader, &value)) != OPT_END)
		switch (key) {
		case KEY_BASE:
			set.base = value;
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader->quiet;
	set.count = opts_operands(reader, &set.operands);
	if (set.count == 0)
		opts_usage("no totals to compare: NAME=FILE...");
	return set;
}

/* ---- the scenarios ---- */

struct scenarios {
	struct scenario *row; /* owned */
	size_t count;
	const struct scenario *base;
	unsigned decimals; /* of the home currency */
	struct arena arena;
};

/* The name in "NAME=FILE", else the file's own, without directory and .csv; *file gets the rest. */
static const char *
name_of(struct arena *arena, const char *operand, const char **file)
{
	static const char ending[] = ".csv";
	const char *equals = strchr(operand, '='), *slash;
	size_t length;

	if (equals != NULL) {
		*file = equals + 1;
		if (equals == operand || **file == '\0')
			opts_usage("operand \"%s\" is not NAME=FILE", text_show(arena, operand));
		return arena_copy(arena, operand, (size_t)(equals - operand));
	}
	*file = operand;
	if (strcmp(operand, "-") == 0)
		opts_usage("a scenario from stdin has no name: NAME=-");
	slash = strrchr(operand, '/');
	operand = slash != NULL ? slash + 1 : operand;
	length = strlen(operand);
	if (length >= sizeof ending && strcmp(operand + length + 1 - sizeof ending, ending) == 0)
		length -= sizeof ending - 1;
	return arena_copy(arena, operand, length);
}

static void
check_names(const struct scenarios *all, const char *name)
{
	struct arena arena = {0};

	for (size_t i = 0; i < all->count; i++)
		if (strcmp(all->row[i].name, name) == 0)
			opts_usage("two scenarios are named \"%s\": NAME=FILE names them",
			           text_show(&arena, name));
}

/* Sums in two currencies cannot be set against one another. */
static void
check_currencies(const struct scenarios *all)
{
	const struct scenario *first = &all->row[0];
	struct arena arena = {0};

	for (size_t i = 1; i < all->count; i++)
		if (strcmp(all->row[i].currency, first->currency) != 0)
			die("%s: the home currency is \"%s\", and that of %s is \"%s\": scenarios "
			    "are compared in one",
			    text_show(&arena, all->row[i].file), all->row[i].currency,
			    text_show(&arena, first->file), first->currency);
}

static const struct scenario *
find_base(const struct scenarios *all, const char *name)
{
	struct arena arena = {0};
	const char **names, *near;

	if (name == NULL)
		return &all->row[0];
	names = arena_alloc(&arena, all->count * sizeof *names);
	for (size_t i = 0; i < all->count; i++) {
		names[i] = all->row[i].name;
		if (strcmp(name, names[i]) == 0) {
			arena_free(&arena);
			return &all->row[i];
		}
	}
	near = text_nearest(name, names, all->count);
	opts_usage("--base: no scenario is named \"%s\"%s%s%s", text_show(&arena, name),
	           near ? ", did you mean \"" : "", near ? text_show(&arena, near) : "",
	           near ? "\"?" : "");
}

static void
read_scenarios(struct scenarios *all, const struct settings *set, struct opt_reader *reader)
{
	const char **file = arena_alloc(&all->arena, set->count * sizeof *file);

	all->row = mem_zero(set->count, sizeof *all->row);
	for (size_t i = 0; i < set->count; i++) {
		const char *name = name_of(&all->arena, set->operands[i], &file[i]);

		check_names(all, name);
		opts_file(reader, file[i]);
		all->row[all->count++].name = name;
	}
	all->base = find_base(all, set->base);
	for (size_t i = 0; i < set->count; i++)
		scenario_read(&all->row[i], all->row[i].name, table_open(file[i], &set->form),
		              &all->arena);
	check_currencies(all);
	if (!currency_decimals(all->row[0].currency, &all->decimals))
		all->decimals = 2;
}

/* ---- the table ---- */

enum { PERCENT_DECIMALS = 2 };

static const char *const columns[] = {
    "scenario", "orders",   "lots",  "pieces", "goods",          "charges",  "tax",
    "others",   "rounding", "total", "saving", "saving_percent", "per_piece"};

/* top / bottom rounded half away from zero, whatever the sign of either. */
static wide
quotient(wide top, wide bottom)
{
	return bottom < 0 ? wide_div_round(-top, -bottom, ROUND_HALF_AWAY)
	                  : wide_div_round(top, bottom, ROUND_HALF_AWAY);
}

/* Of amounts of totals files, 64 bits each, and differences of two: 10000 times that fits. */
static void
write_percent(struct sheet *sheet, wide part, wide whole)
{
	if (whole == 0)
		sheet_field(sheet, "");
	else
		sheet_decimal(sheet, quotient(part * 100 * wide_power10(PERCENT_DECIMALS), whole),
		              PERCENT_DECIMALS, PERCENT_DECIMALS);
}

static void
write_row(struct sheet *sheet, const struct scenarios *all, const struct scenario *row)
{
	const wide saving = all->base->total - row->total;
	const wide money[] = {row->goods,  row->charges,  row->tax,
	                      row->others, row->rounding, row->total};

	sheet_field(sheet, row->name);
	sheet_decimal(sheet, row->orders, 0, 0);
	sheet_decimal(sheet, row->lots, 0, 0);
	sheet_decimal(sheet, row->pieces, 0, 0);
	for (size_t i = 0; i < sizeof money / sizeof *money; i++)
		sheet_decimal(sheet, money[i], MICRO_DECIMALS, all->decimals);
	sheet_decimal(sheet, saving, MICRO_DECIMALS, all->decimals);
	write_percent(sheet, saving, all->base->total);
	if (row->pieces == 0)
		sheet_field(sheet, "");
	else
		sheet_decimal(sheet, quotient(row->total, row->pieces), MICRO_DECIMALS,
		              all->decimals);
	sheet_end_row(sheet);
}

static void
write_table(struct sheet *sheet, const struct scenarios *all)
{
	sheet_fields(sheet, columns, sizeof columns / sizeof *columns);
	sheet_end_row(sheet);
	for (size_t i = 0; i < all->count; i++)
		write_row(sheet, all, &all->row[i]);
}

static void
tell_summary(const struct scenarios *all)
{
	const struct scenario *best = &all->row[0];
	struct text total = {0}, saving = {0};
	struct arena arena = {0};
	bool better;

	for (size_t i = 1; i < all->count; i++)
		if (all->row[i].total < best->total)
			best = &all->row[i];
	better = best->total < all->base->total;
	dec_add_text(&total, best->total, MICRO_DECIMALS, all->decimals);
	dec_add_text(&saving, all->base->total - best->total, MICRO_DECIMALS, all->decimals);
	tell("%zu scenario%s, least is \"%s\" at %s%s%s%s%s%s%s%s", all->count,
	     all->count == 1 ? "" : "s", text_show(&arena, best->name), total.bytes,
	     *best->currency != '\0' ? " " : "", best->currency, better ? ", " : "",
	     better ? saving.bytes : "", better ? " less than \"" : "",
	     better ? text_show(&arena, all->base->name) : "", better ? "\"" : "");
	text_free(&total);
	text_free(&saving);
	arena_free(&arena);
}

int
main(int argc, char **argv)
{
	struct opt_reader reader;
	struct settings set = read_options(&reader, argc, argv);
	struct scenarios all = {0};
	struct sheet sheet = {0};
	struct outputs outputs = {0};

	read_scenarios(&all, &set, &reader);
	write_table(&sheet, &all);
	tell_later();
	if (!set.quiet)
		tell_summary(&all);
	outputs_write(&outputs, &sheet);
	sheet_free(&sheet);
	free(all.row);
	arena_free(&all.arena);
	return EXIT_DONE;
}
