/*
 * lot-gain: says what each swap rule is worth, alone and with the others, and which are best.
 */
#include "base/err.h"
#include "base/interrupt.h"
#include "base/opts.h"
#include "base/workers.h"
#include "purchase/figures.h"
#include "purchase/purchase_files.h"
#include "purchase/subsets.h"
#include "trade/charges.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { KEY_ONLY = OPT_LONG, KEY_EXCEPT, KEY_EFFORT, KEY_JOBS };

static const struct opt opts[] = {
    OPTS_COMMON,
    {'r', "rules", "FILE", "swap rules", false},
    {KEY_ONLY, "only", "A,B", "count these rules alone", false},
    {KEY_EXCEPT, "except", "A,B", "do not count these rules", false},
    OPTS_PURCHASE,
    {KEY_EFFORT, "effort", "N", "work limit of the first search, the others' are parts of it",
     false},
    {KEY_JOBS, "jobs", "N", "searches at the same time; default: one a processor", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-gain",
    .purpose =
        "Says what each swap rule is worth: what the list costs as it stands, with each rule\n"
        "alone, with all, with all but one, and with the best of all subsets of the rules.",
    .synopsis = "-r FILE -o FILE... -s FILE [-c FILE] [-x FILE] [-w FILE] [-C CODE]\n"
                "                [-k FILE...] [option...] < parts.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 1 need that the best subset leaves unmet, a rule that must be\n"
             "applied and is not, or a search cut short, 2 trouble.\n"
             "Costs are estimates: the seller's invoice and local tax rules decide.",
};

/* That of lot-split, for the list as it stands. */
#define EFFORT_DEFAULT UINT64_C(3000000000)

struct settings {
	struct purchase_options purchase;
	const char *rules, *only, *except;
	uint64_t effort;
	size_t jobs;
	struct table_form form; /* of stdin */
	bool quiet, effort_given;
};

static void
take_option(struct settings *set, struct opt_reader *reader, int key, const char *value)
{
	switch (key) {
	case 'r':
		set->rules = opts_file(reader, value);
		break;
	case KEY_ONLY:
		set->only = value;
		break;
	case KEY_EXCEPT:
		set->except = value;
		break;
	case KEY_EFFORT:
		set->effort = option_effort(value);
		set->effort_given = true;
		break;
	case KEY_JOBS:
		set->jobs = (size_t)option_whole("jobs", value, 1);
		break;
	default:
		if (!table_option(&set->form, key, value))
			purchase_option(&set->purchase, reader, key, value);
	}
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {.effort = EFFORT_DEFAULT};
	struct opt_reader reader;
	const char *value;
	int key;

	purchase_options_start(&set.purchase);
	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		take_option(&set, &reader, key, value);
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the parts list comes from stdin, there are no operands");
	if (set.rules == NULL)
		opts_usage("no swap rules: -r FILE");
	purchase_options_end(&set.purchase);
	if (set.jobs == 0)
		set.jobs = workers_processors();
	return set;
}

/* ---- while it works ---- */

struct watch {
	struct timespec start;
	bool shown;
};

/* One line on a terminal, rewritten in place: for the eye alone. */
static void
show_progress(void *data, const char *what, size_t done, size_t jobs,
              const struct search_news *news)
{
	struct watch *watch = data;
	struct text line = {0};

	if (clock_since(&watch->start) <= 1)
		return;
	watch->shown = true;
	dec_add_text(&line, (wide)clock_since(&watch->start), 0, 0);
	text_adds(&line, " s, ");
	text_adds(&line, what);
	if (jobs > 1) {
		text_adds(&line, ": ");
		dec_add_text(&line, (wide)done, 0, 0);
		text_adds(&line, " of ");
		dec_add_text(&line, (wide)jobs, 0, 0);
	}
	if (news != NULL) {
		figure_add(&line, "best", news->cost);
		figure_add(&line, "bound", news->bound);
	}
	fprintf(stderr, "\r%s\033[K", line.bytes);
	fflush(stderr);
	text_free(&line);
}

static bool
weighs(const struct charges *charges)
{
	for (size_t i = 0; charges != NULL && i < charges->count; i++)
		if (charges->row[i].basis == BASIS_WEIGHT)
			return true;
	return false;
}

static void
find(const struct settings *set, const struct subsets_options *given, struct subsets *subsets)
{
	static struct subsets_options options; /* outlives the call: subsets keeps it */
	struct watch watch = {.start = clock_start()};

	options = *given;
	if (!set->quiet && isatty(STDERR_FILENO)) {
		options.tick = show_progress;
		options.data = &watch;
	}
	interrupt_start();
	subsets_find(subsets, &options);
	interrupt_end();
	if (watch.shown)
		fprintf(stderr, "\r\033[K");
}

/* ---- the table ---- */

struct table_of {
	const struct subsets *subsets;
	const struct swaps *swaps;
	unsigned decimals; /* of money, at least */
	struct sheet sheet;
};

/* Names of the rules that are picked and applied, or picked and not, as --only takes them. */
static void
rules_field(struct table_of *table, const struct subset *subset, bool applied)
{
	struct text text = {0};

	for (size_t i = 0; i < table->swaps->rules; i++) {
		if (!subset->on[i] || subset->applied[i] != applied)
			continue;
		if (text.length > 0)
			text_addc(&text, ',');
		text_adds(&text, table->swaps->rule[i].name);
	}
	sheet_field(&table->sheet, text.length > 0 ? text.bytes : "");
	text_free(&text);
}

static void
money_field(struct table_of *table, wide nano)
{
	sheet_decimal(&table->sheet, nano, NANO_DECIMALS, table->decimals);
}

/* rule: its number, or SIZE_MAX. bound NULL: not known. */
static void
write_row(struct table_of *table, const char *scenario, size_t rule, const struct subset *subset,
          const wide *bound, bool proved)
{
	const struct outcome *outcome = subsets_outcome(table->subsets, subset);
	const struct outcome *as_is = subsets_outcome(table->subsets, &table->subsets->as_is);
	const int64_t counts[] = {(int64_t)outcome->orders, (int64_t)outcome->lots, outcome->pieces,
	                          outcome->unmet};
	const wide amounts[] = {outcome->landed, outcome->penalties, outcome->order_cost,
	                        outcome->worth, outcome->cost};
	struct sheet *sheet = &table->sheet;

	sheet_field(sheet, scenario);
	sheet_field(sheet, rule == SIZE_MAX ? "" : table->swaps->rule[rule].name);
	rules_field(table, subset, true);
	rules_field(table, subset, false);
	for (size_t i = 0; i < sizeof counts / sizeof *counts; i++)
		sheet_decimal(sheet, counts[i], 0, 0);
	for (size_t i = 0; i < sizeof amounts / sizeof *amounts; i++)
		money_field(table, amounts[i]);
	if (outcome->unmet == as_is->unmet)
		money_field(table, as_is->cost - outcome->cost);
	else
		sheet_field(sheet, "");
	if (bound != NULL) {
		money_field(table, *bound);
		sheet_decimal(sheet, figure_gap(outcome->cost, *bound), 3, 3);
	} else {
		sheet_field(sheet, "");
		sheet_field(sheet, "");
	}
	sheet_field(sheet, proved ? "yes" : "no");
	sheet_end_row(sheet);
}

static void
write_subset(struct table_of *table, const char *scenario, size_t rule, const struct subset *subset)
{
	const struct outcome *outcome = subsets_outcome(table->subsets, subset);

	write_row(table, scenario, rule, subset, &outcome->bound, outcome->proved);
}

static void
write_table(struct table_of *table)
{
	static const char *const column[] = {
	    "scenario", "rule",   "applied", "not_applied", "orders",     "lots",
	    "pieces",   "unmet",  "landed",  "penalties",   "order_cost", "worth",
	    "cost",     "saving", "bound",   "gap_percent", "proved"};
	const struct subsets *subsets = table->subsets;

	sheet_fields(&table->sheet, column, sizeof column / sizeof *column);
	sheet_end_row(&table->sheet);
	write_subset(table, "as-is", SIZE_MAX, &subsets->as_is);
	for (size_t i = 0; i < subsets->rules; i++)
		write_subset(table, "alone", subsets->rule[i], &subsets->alone[i]);
	write_subset(table, "all", SIZE_MAX, &subsets->all);
	for (size_t i = 0; i < subsets->rules; i++)
		write_subset(table, "without", subsets->rule[i], &subsets->without[i]);
	write_row(table, "best", SIZE_MAX, &subsets->best,
	          subsets->bounded ? &subsets->bound : NULL, subsets->proved);
}

/* ---- what is told ---- */

/* Rules that match nothing, alone and with all the others. Returns whether one of them must. */
static bool
tell_not_applied(const struct subsets *subsets, struct swaps *swaps)
{
	bool must = false;

	for (size_t i = 0; i < subsets->rules; i++) {
		const struct swap_rule *rule = &swaps->rule[subsets->rule[i]];
		bool alone = subsets->alone[i].applied[subsets->rule[i]];
		bool all = subsets->all.applied[subsets->rule[i]];

		if (alone && all)
			continue;
		tell_at(swaps->file, rule->line,
		        "rule \"%s\" is not applied%s%s: a step of it matches no row",
		        text_show(&swaps->arena, rule->name),
		        all     ? " alone"
		        : alone ? " with all the others"
		                : "",
		        rule->must && !all ? ", but must be" : "");
		must = must || (rule->must && !all);
	}
	return must;
}

/* How many of the rows are not proved, the last one, `best`, aside. */
static size_t
count_unproved(const struct subsets *subsets, size_t *rows, bool *stopped, bool *asked)
{
	size_t unproved = 0;

	*rows = 2 + 2 * subsets->rules;
	for (size_t i = 0; i < *rows; i++) {
		const struct subset *subset = i == 0   ? &subsets->as_is
		                              : i == 1 ? &subsets->all
		                              : i < 2 + subsets->rules
		                                  ? &subsets->alone[i - 2]
		                                  : &subsets->without[i - 2 - subsets->rules];
		const struct outcome *outcome = subsets_outcome(subsets, subset);

		if (outcome->proved)
			continue;
		unproved++;
		*stopped = *stopped || outcome->stopped;
		*asked = *asked || outcome->asked_to_stop;
	}
	return unproved;
}

static void
tell_best_gap(const struct subsets *subsets, unsigned decimals)
{
	const struct outcome *best = subsets_outcome(subsets, &subsets->best);
	struct arena arena = {0};
	struct text gap = {0};

	if (subsets->proved)
		return;
	if (!subsets->bounded) {
		tell("whether another subset is better is not known");
		return;
	}
	dec_add_text(&gap, figure_gap(best->cost, subsets->bound), 3, 3);
	tell("the best subset was found with a gap of %s %%: cost %s, no subset that meets as much "
	     "costs less than %s",
	     gap.bytes, figure_money(&arena, best->cost, decimals, false),
	     figure_money(&arena, subsets->bound, decimals, true));
	text_free(&gap);
	arena_free(&arena);
}

static void
tell_summary(const struct subsets *subsets, struct swaps *swaps, const char *home,
             unsigned decimals)
{
	const struct outcome *best = subsets_outcome(subsets, &subsets->best);
	const struct outcome *as_is = subsets_outcome(subsets, &subsets->as_is);
	struct arena arena = {0};
	struct text names = {0};

	for (size_t i = 0; i < swaps->rules; i++)
		if (subsets->best.applied[i]) {
			text_adds(&names, names.length > 0 ? "," : "");
			text_adds(&names, swaps->rule[i].name);
		}
	tell("%zu rule%s, %zu list%s searched: best with %s%s%s: %s%s%s, %s%s%s less than as it "
	     "stands, %s",
	     subsets->rules, figure_plural((int64_t)subsets->rules), subsets->searches,
	     figure_plural((int64_t)subsets->searches), names.length > 0 ? "\"" : "",
	     names.length > 0 ? text_show_all(&arena, names.bytes) : "no rule",
	     names.length > 0 ? "\"" : "", figure_money(&arena, best->cost, decimals, false),
	     *home ? " " : "", home,
	     figure_money(&arena, as_is->cost - best->cost, decimals, false), *home ? " " : "",
	     home, subsets->proved ? "proved least" : "not proved");
	text_free(&names);
	arena_free(&arena);
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct purchase_files in = {0};
	struct swaps *swaps = swaps_read(table_open(set.rules, NULL));
	bool *picks = swaps_pick(swaps, set.only, set.except);
	struct subsets subsets;
	struct table_of table = {.subsets = &subsets, .swaps = swaps};
	struct outputs outputs = {0};
	bool stopped = false, asked, must;
	int64_t unmet;
	size_t rows, unproved;

	purchase_files_read(&in, &set.purchase, &set.form, NULL, 0, set.quiet);
	find(&set,
	     &(struct subsets_options){.swaps = swaps,
	                               .picks = picks,
	                               .input = purchase_files_input(&in, &set.purchase),
	                               .weighed = weighs(in.terms.charges),
	                               .effort = set.effort,
	                               .jobs = set.jobs},
	     &subsets);
	table.decimals = in.home_decimals;
	write_table(&table);
	tell_later();
	must = tell_not_applied(&subsets, swaps);
	unmet = subsets_outcome(&subsets, &subsets.best)->unmet;
	if (unmet > 0)
		tell("%lld piece%s unmet whatever rules are applied", (long long)unmet,
		     unmet == 1 ? " stays" : "s stay");
	asked = subsets.asked_to_stop;
	unproved = count_unproved(&subsets, &rows, &stopped, &asked);
	stopped = stopped || (!subsets.proved && subsets.stopped);
	if (unproved > 0)
		tell("%zu of %zu plans are not proved least: their rows say with what gap",
		     unproved, rows);
	tell_best_gap(&subsets, in.home_decimals);
	if (!set.quiet && in.terms.rates != NULL)
		rates_tell(in.terms.rates);
	if (!set.quiet)
		stock_tell_in_use(&in.stock);
	if (!set.quiet)
		tell_summary(&subsets, swaps, in.book.home, in.home_decimals);
	outputs_write(&outputs, &table.sheet);

	subsets_free(&subsets);
	sheet_free(&table.sheet);
	free(picks);
	swaps_free(swaps);
	purchase_files_free(&in);
	purchase_options_free(&set.purchase);
	return unmet > 0 || must || asked || (stopped && set.effort_given) ? EXIT_DIFFERS
	                                                                   : EXIT_DONE;
}
