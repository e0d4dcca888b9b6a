/*
 * lot-check: compares what was expected with what was found.
 */
#include "base/err.h"
#include "base/opts.h"
#include "table/output.h"
#include "trade/check.h"
#include "trade/need.h"
#include "trade/tally.h"

#include <stdlib.h>
#include <string.h>

enum { KEY_BY = OPT_LONG, KEY_EXACT, KEY_ALL, KEY_SHORT, KEY_INTO };

static const struct opt opts[] = {
    OPTS_COMMON,
    {'e', "expected", "FILE", "what is expected: order lines, a need list or stock", false},
    {KEY_BY, "by", "A,B", "columns to compare by; default: see below", false},
    {KEY_EXACT, "exact", NULL, "names as written: any color is a color of its own", false},
    {KEY_ALL, "all", NULL, "write rows that agree, too", false},
    {KEY_SHORT, "short", "FILE", "write what is still needed, as a need list", false},
    {KEY_INTO, "into", "FILE", "write what was found, as stock", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-check",
    .purpose = "Compares what was expected with what was found: a parcel with its order, a count\n"
               "with the stock list, a list with its new version.",
    .synopsis = "[-q] [-D C] [--encoding NAME] -e FILE [--by A,B] [--exact] [--all]\n"
                "                 [--short FILE] [--into FILE] < found.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Rows are compared by part, color and, where both files have them, condition and\n"
             "seller. Exit status: 0 all agree, 1 something differs, 2 trouble.",
};

struct settings {
	const char *expected, *by, *needed, *into;
	struct table_form form; /* of stdin */
	bool exact, all, quiet;
};

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
		case 'e':
			set.expected = opts_file(&reader, value);
			break;
		case KEY_BY:
			set.by = value;
			break;
		case KEY_EXACT:
			set.exact = true;
			break;
		case KEY_ALL:
			set.all = true;
			break;
		case KEY_SHORT:
			set.needed = value;
			break;
		case KEY_INTO:
			set.into = value;
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "what was found comes from stdin, there are no operands");
	if (set.expected == NULL)
		opts_usage("nothing to compare with: -e FILE");
	return set;
}

/* ---- what is compared by ---- */

static bool
has_column(const struct table *table, const char *name)
{
	for (size_t i = 0; i < table_columns(table); i++)
		if (text_equal_fold(table_header(table)[i], name))
			return true;
	return false;
}

static void
check_by(const struct counted_by *by)
{
	static const char *const own[] = {"qty",        "expected", "found",
	                                  "difference", "amount",   "verdict"};
	struct arena arena = {0};

	for (size_t i = 0; i < by->count; i++) {
		if (*by->name[i] == '\0')
			opts_usage("--by: a name is empty: part,color for instance");
		for (size_t j = 0; j < sizeof own / sizeof *own; j++)
			if (text_equal_fold(by->name[i], own[j]))
				opts_usage("--by: \"%s\" is what is compared, or told of it; "
				           "name columns that tell pieces apart",
				           own[j]);
		for (size_t j = 0; j < i; j++)
			if (text_equal_fold(by->name[i], by->name[j]))
				opts_usage("--by: \"%s\" is named twice",
				           text_show(&arena, by->name[i]));
	}
}

/* The columns that --by names. */
static void
named_by(struct counted_by *by, const char *list, struct arena *arena)
{
	const char **name = text_list(arena, list, &by->count);

	for (size_t i = 0; i < by->count; i++)
		name[i] = text_trim(arena_copy(arena, name[i], strlen(name[i])));
	by->name = name;
	check_by(by);
}

static void
usual_by(struct counted_by *by, const struct table *expected, const struct table *found,
         struct arena *arena)
{
	static const char *const usual[] = {"part", "color", "condition", "seller"};
	const char **name = arena_alloc(arena, sizeof usual);

	for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
		if (i < 2 || (has_column(expected, usual[i]) && has_column(found, usual[i])))
			name[by->count++] = usual[i];
	by->name = name;
}

/* ---- what differs ---- */

static bool
differs(const struct check_row *row)
{
	return row->expected != row->found;
}

static const char *
verdict(const struct check_row *row)
{
	if (!differs(row))
		return "same";
	if (row->found > row->expected)
		return row->asked ? "over" : "unasked";
	return row->found == 0 ? "missing" : "short";
}

static bool
has_by(const struct counted_by *by, const char *name)
{
	for (size_t i = 0; i < by->count; i++)
		if (text_equal_fold(by->name[i], name))
			return true;
	return false;
}

static void
write_row(struct sheet *sheet, const struct check_row *row, const struct counted_by *by,
          bool priced, bool currency)
{
	for (size_t i = 0; i < by->count; i++)
		sheet_field(sheet, counted_key_field(by->keys, row->key, i));
	sheet_qty(sheet, row->expected);
	sheet_qty(sheet, row->found);
	sheet_qty(sheet, row->found - row->expected);
	if (priced && row->known == CHECK_EXACT)
		sheet_decimal(sheet, row->amount, MICRO_DECIMALS, 0);
	else
		sheet_field(sheet, "");
	if (currency)
		sheet_field(
		    sheet, row->known == CHECK_EXACT && row->currency != NULL ? row->currency : "");
	sheet_field(sheet, verdict(row));
	sheet_end_row(sheet);
}

static void
write_check(struct sheet *sheet, const struct check *check, const struct counted *expected,
            const struct counted_by *by, bool all)
{
	static const char *const counts[] = {"expected", "found", "difference", "amount"};
	bool priced = expected->at[COUNTED_PRICE] != NO_COLUMN;
	bool currency = expected->at[COUNTED_CURRENCY] != NO_COLUMN && !has_by(by, "currency");

	sheet_fields(sheet, by->name, by->count);
	sheet_fields(sheet, counts, sizeof counts / sizeof *counts);
	if (currency)
		sheet_field(sheet, counted_column_names[COUNTED_CURRENCY]);
	sheet_field(sheet, "verdict");
	sheet_end_row(sheet);
	for (size_t i = 0; i < check->count; i++)
		if (all || differs(&check->row[i]))
			write_row(sheet, &check->row[i], by, priced, currency);
}

/* ---- what is still needed ---- */

/* Alternatives stay together, or the list would ask for each of them. */
static void
check_alternatives(const struct settings *set, const struct counted *expected)
{
	struct arena arena = {0};

	if (set->needed == NULL || !set->exact)
		return;
	for (size_t i = 0; i < expected->count; i++)
		if (*expected->row[i].lot != '\0')
			opts_usage(
			    "--short: the rows of lot \"%s\" are alternatives, which --exact "
			    "counts apart; leave out one of the options",
			    text_show(&arena, expected->row[i].lot));
}

/* Rows of a need list, or of stock, as they are. */
static void
write_needed_rows(struct sheet *sheet, const struct check *check, const struct counted *expected)
{
	sheet_fields(sheet, expected->header, expected->headers);
	sheet_end_row(sheet);
	for (size_t i = 0; i < expected->count; i++) {
		if (check->needed[i] == 0)
			continue;
		for (size_t j = 0; j < expected->headers; j++)
			if (j == expected->at[COUNTED_QTY])
				sheet_qty(sheet, check->needed[i]);
			else
				sheet_field(sheet, expected->row[i].field[j]);
		sheet_end_row(sheet);
	}
}

/* Which of these columns a list has. */
static size_t
columns_of(const struct counted *list, const enum counted_column *wanted, size_t count,
           enum counted_column *there)
{
	size_t found = 0;

	for (size_t i = 0; i < count; i++)
		if (list->at[wanted[i]] != NO_COLUMN)
			there[found++] = wanted[i];
	return found;
}

static void
write_needed_lines(struct sheet *sheet, const struct check *check, const struct counted *expected)
{
	static const enum counted_column wanted[] = {COUNTED_PART, COUNTED_COLOR, COUNTED_CONDITION,
	                                             COUNTED_GRAMS};
	enum { MOST = sizeof wanted / sizeof *wanted };
	enum counted_column column[MOST];
	const char *name[MOST], *field[MOST];
	struct tally tally = {.column = name, .qty_at = 2};

	tally.columns = columns_of(expected, wanted, MOST, column);
	for (size_t i = 0; i < tally.columns; i++)
		name[i] = counted_column_names[column[i]];
	for (size_t i = 0; i < expected->count; i++) {
		for (size_t j = 0; j < tally.columns; j++)
			field[j] = counted_field(expected, &expected->row[i], column[j]);
		tally_add(&tally, field, check->needed[i]);
	}
	tally_write(sheet, &tally, expected->file);
	tally_free(&tally);
}

/* Whoever sent them, and for whichever group: pieces too many make good for missing ones. */
static void
write_needed(struct sheet *sheet, struct counted *expected, struct counted *found, bool exact)
{
	static const char *const names[] = {"part", "color", "condition"};
	bool conditions = expected->at[COUNTED_CONDITION] != NO_COLUMN &&
	                  found->at[COUNTED_CONDITION] != NO_COLUMN;
	struct names keys = {0};
	struct counted_by by = {.name = names, .count = conditions ? 3 : 2, .keys = &keys};
	struct check *check;

	counted_set_keys(expected, &by);
	counted_set_keys(found, &by);
	check = check_lists(expected, found, &by, exact);
	if (expected->orders)
		write_needed_lines(sheet, check, expected);
	else
		write_needed_rows(sheet, check, expected);
	check_free(check);
	names_free(&keys);
}

/* ---- what came ---- */

static void
check_colors(const struct counted *found)
{
	struct faults faults = {.file = found->file};

	for (size_t i = 0; i < found->count; i++)
		if (strcmp(counted_field(found, &found->row[i], COUNTED_COLOR), ANY_COLOR) == 0)
			fault(&faults, found->row[i].line,
			      "color is \"%s\", and --into writes stock: name the color found",
			      ANY_COLOR);
	faults_end(&faults);
}

/* The condition in which a key was expected; NULL: in none, or in several. */
static const char **
conditions_expected(const struct counted *expected, const struct names *keys)
{
	const char **condition = mem_zero(keys->count, sizeof *condition);
	bool *several = mem_zero(keys->count, sizeof *several);

	for (size_t i = 0; i < expected->count; i++) {
		const struct counted_row *row = &expected->row[i];

		if (condition[row->key] == NULL)
			condition[row->key] = row->condition;
		else if (strcmp(condition[row->key], row->condition) != 0)
			several[row->key] = true;
	}
	for (size_t i = 0; i < keys->count; i++)
		if (several[i])
			condition[i] = NULL;
	free(several);
	return condition;
}

static void
write_stock(struct sheet *sheet, const struct counted *found, const struct counted *expected,
            const struct counted_by *by)
{
	enum { MOST = 5 };
	static const enum counted_column wanted[MOST] = {
	    COUNTED_PART, COUNTED_COLOR, COUNTED_CONDITION, COUNTED_PLACE, COUNTED_GRAMS};
	/* A count that says nothing of conditions is of what was expected. */
	bool as_expected = found->at[COUNTED_CONDITION] == NO_COLUMN &&
	                   expected->at[COUNTED_CONDITION] != NO_COLUMN;
	const char **condition = as_expected ? conditions_expected(expected, by->keys) : NULL;
	const char *name[MOST], *field[MOST];
	struct tally tally = {.column = name, .qty_at = 2};

	for (size_t i = 0; i < MOST; i++)
		if (found->at[wanted[i]] != NO_COLUMN ||
		    (wanted[i] == COUNTED_CONDITION && as_expected))
			name[tally.columns++] = counted_column_names[wanted[i]];
	for (size_t i = 0; i < found->count; i++) {
		const struct counted_row *row = &found->row[i];
		size_t fields = 0;

		for (size_t j = 0; j < MOST; j++)
			if (wanted[j] == COUNTED_CONDITION && as_expected)
				field[fields++] = condition[row->key] ? condition[row->key] : "";
			else if (wanted[j] == COUNTED_CONDITION &&
			         found->at[wanted[j]] != NO_COLUMN)
				field[fields++] = row->condition;
			else if (found->at[wanted[j]] != NO_COLUMN)
				field[fields++] = counted_field(found, row, wanted[j]);
		tally_add(&tally, field, row->qty);
	}
	tally_write(sheet, &tally, found->file);
	tally_free(&tally);
	free(condition);
}

/* ---- what is told ---- */

struct sums {
	int64_t expected, found, missing, over;
	size_t differ;
	bool unpriced; /* some missing pieces have no amount */
	struct names currency;
	wide *amount; /* by currency; owned */
	size_t room;
};

static void
add_amount(struct sums *sums, const struct check_row *row)
{
	size_t known = sums->currency.count, at = names_add(&sums->currency, row->currency);

	if (at == known) {
		MEM_ROOM(sums->amount, known, sums->room);
		sums->amount[at] = 0;
	}
	sums->amount[at] += row->amount;
}

static struct sums
sum_up(const struct check *check)
{
	struct sums sums = {0};

	for (size_t i = 0; i < check->count; i++) {
		const struct check_row *row = &check->row[i];

		sums.expected += row->expected;
		sums.found += row->found;
		sums.differ += differs(row);
		if (row->found > row->expected)
			sums.over += row->found - row->expected;
		else
			sums.missing += row->expected - row->found;
		if (row->known != CHECK_EXACT)
			sums.unpriced = true;
		else if (row->currency != NULL)
			add_amount(&sums, row);
	}
	return sums;
}

static void
add_cost(struct text *line, const struct sums *sums)
{
	for (size_t i = 0; i < sums->currency.count; i++) {
		text_adds(line, i == 0 ? "; what is missing costs " : " and ");
		dec_add_text(line, sums->amount[i], MICRO_DECIMALS, 0);
		if (*sums->currency.name[i] != '\0')
			text_addc(line, ' ');
		text_adds(line, sums->currency.name[i]);
	}
	if (sums->unpriced && sums->currency.count > 0)
		text_adds(line, ", some of it without an amount");
}

static const char *
plural(int64_t count)
{
	return count == 1 ? "" : "s";
}

/* Rows whose missing pieces have prices in several currencies. */
static void
tell_currencies(const struct check *check, const struct counted_by *by)
{
	struct arena arena = {0};
	struct text name = {0};

	for (size_t i = 0; i < check->count; i++) {
		if (check->row[i].known != CHECK_CURRENCIES)
			continue;
		text_clear(&name);
		for (size_t j = 0; j < by->count; j++) {
			const char *field = counted_key_field(by->keys, check->row[i].key, j);

			if (j > 0 && *field != '\0')
				text_addc(&name, '/');
			text_adds(&name, field);
		}
		tell("%s is priced in several currencies, so that what is missing has no amount: "
		     "compare by seller",
		     text_show(&arena, name.bytes ? name.bytes : ""));
	}
	text_free(&name);
	arena_free(&arena);
}

static void
tell_check(const struct check *check, const struct counted *expected, const struct counted *found)
{
	struct sums sums = sum_up(check);
	int64_t owned = expected->left_out + found->left_out;
	struct text more = {0};

	text_adds(&more, "");
	add_cost(&more, &sums);
	if (check->freely > 0)
		tell("%lld piece%s count where any color or condition will do",
		     (long long)check->freely, plural(check->freely));
	if (owned > 0)
		tell("%lld piece%s of stock in use are left out", (long long)owned, plural(owned));
	if (sums.differ == 0)
		tell("%lld piece%s expected, all found; %zu row%s", (long long)sums.expected,
		     plural(sums.expected), check->count,
		     check->count == 1 ? " agrees" : "s agree");
	else
		tell("%lld piece%s expected, %lld found: %lld missing, %lld too many; %zu of %zu "
		     "rows differ%s",
		     (long long)sums.expected, plural(sums.expected), (long long)sums.found,
		     (long long)sums.missing, (long long)sums.over, sums.differ, check->count,
		     more.bytes ? more.bytes : "");
	names_free(&sums.currency);
	free(sums.amount);
	text_free(&more);
}

static bool
anything_differs(const struct check *check)
{
	for (size_t i = 0; i < check->count; i++)
		if (differs(&check->row[i]))
			return true;
	return false;
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct sheet sheet = {0}, needed = {0}, stock = {0};
	struct outputs outputs = {0};
	struct counted expected = {0}, found = {0};
	struct table *table, *other;
	struct arena arena = {0};
	struct names keys = {0};
	struct counted_by by = {.keys = &keys};
	struct check *check;
	bool differ;

	if (set.by != NULL)
		named_by(&by, set.by, &arena);
	table = table_open(set.expected, NULL);
	other = table_open("-", &set.form);
	if (set.by == NULL)
		usual_by(&by, table, other, &arena);
	counted_read(&expected, table, SIDE_EXPECTED, &by);
	counted_read(&found, other, SIDE_FOUND, &by);
	check_alternatives(&set, &expected);
	if (set.into != NULL)
		check_colors(&found);
	check = check_lists(&expected, &found, &by, set.exact);
	write_check(&sheet, check, &expected, &by, set.all);
	if (set.into != NULL)
		write_stock(&stock, &found, &expected, &by);
	if (set.needed != NULL)
		write_needed(&needed, &expected, &found, set.exact);
	outputs_add(&outputs, set.needed, &needed);
	outputs_add(&outputs, set.into, &stock);
	tell_later();
	if (!set.quiet) {
		tell_currencies(check, &by);
		tell_check(check, &expected, &found);
	}
	differ = anything_differs(check);
	outputs_write(&outputs, &sheet);
	sheet_free(&sheet);
	sheet_free(&needed);
	sheet_free(&stock);
	check_free(check);
	counted_free(&expected);
	counted_free(&found);
	names_free(&keys);
	arena_free(&arena);
	return differ ? EXIT_DIFFERS : EXIT_DONE;
}
