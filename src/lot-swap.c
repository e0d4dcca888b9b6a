/*
 * lot-swap: applies part, color and condition swaps, drops and options to a need list.
 */
#include "base/err.h"
#include "base/opts.h"
#include "trade/need.h"
#include "trade/swaps.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KEY_ONLY = OPT_LONG, KEY_EXCEPT };

static const struct opt opts[] = {
    OPTS_COMMON,
    {'r', "rules", "FILE", "swap rules", false},
    {KEY_ONLY, "only", "A,B", "apply these rules alone", false},
    {KEY_EXCEPT, "except", "A,B", "do not apply these rules", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-swap",
    .purpose = "Applies part, color and condition swaps, drops and options to a need list.",
    .synopsis = "[-q] [-D C] [--encoding NAME] -r FILE [--only A,B] [--except A,B] < parts.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 1 a rule that must be applied matched nothing, 2 trouble.",
};

struct settings {
	const char *rules, *only, *except;
	struct table_form form; /* of stdin */
	bool quiet;
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
		case 'r':
			set.rules = opts_file(&reader, value);
			break;
		case KEY_ONLY:
			set.only = value;
			break;
		case KEY_EXCEPT:
			set.except = value;
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the parts list comes from stdin, there are no operands");
	if (set.rules == NULL)
		opts_usage("no swap rules: -r FILE");
	return set;
}

static const char *
plural(int64_t count)
{
	return count == 1 ? "" : "s";
}

static void
tell_step(struct swaps *swaps, const struct swap_step *step, const struct swap_touch *touch)
{
	const char *rule = text_show(&swaps->arena, swaps->rule[step->rule].name);
	const char *does = swap_do_names[step->kind];

	if (touch->after == touch->before || step->kind == SWAP_DROP)
		tell_at(swaps->file, step->line, "rule \"%s\": %s: %zu lot%s, %lld piece%s", rule,
		        does, touch->lots, plural((int64_t)touch->lots), (long long)touch->before,
		        plural(touch->before));
	else
		tell_at(swaps->file, step->line,
		        "rule \"%s\": %s: %zu lot%s, %lld piece%s become %lld", rule, does,
		        touch->lots, plural((int64_t)touch->lots), (long long)touch->before,
		        plural(touch->before), (long long)touch->after);
}

static void
tell_steps(struct swaps *swaps, size_t rule, const struct swap_touch *touched)
{
	for (size_t i = swaps->rule[rule].first; i != SIZE_MAX; i = swaps->step[i].next)
		tell_step(swaps, &swaps->step[i], &touched[i]);
}

static void
tell_unmatched(struct swaps *swaps, const struct swap_step *step)
{
	const struct swap_rule *rule = &swaps->rule[step->rule];

	tell_at(swaps->file, step->line, "rule \"%s\" is not applied%s: its %s step matches no row",
	        text_show(&swaps->arena, rule->name), rule->must ? ", but must be" : "",
	        swap_do_names[step->kind]);
}

/* Applies the picked rules in order; returns the exit status. */
static int
apply(struct swaps *swaps, const bool *picks, struct need *need, bool quiet)
{
	struct swap_touch *touched = mem_zero(swaps->steps, sizeof *touched);
	size_t applied = 0, not_applied = 0;
	bool to_merge = false;
	int status = EXIT_DONE;

	for (size_t i = 0; i < swaps->rules; i++) {
		const struct swap_step *unmatched = NULL;
		bool only_adds = swaps_only_adds(swaps, i);

		if (!picks[i])
			continue;
		if (to_merge && !only_adds)
			need_merge(need);
		to_merge = only_adds;
		if (only_adds)
			swaps_add(swaps, i, need, touched);
		else
			unmatched = swaps_apply(swaps, i, need, touched);
		if (unmatched == NULL) {
			applied++;
			if (!quiet)
				tell_steps(swaps, i, touched);
			continue;
		}
		not_applied++;
		tell_unmatched(swaps, unmatched);
		if (swaps->rule[i].must)
			status = EXIT_DIFFERS;
	}
	if (to_merge)
		need_merge(need);
	if (!quiet)
		tell("%zu rule%s applied, %zu not: %zu lot%s, %lld piece%s", applied,
		     plural((int64_t)applied), not_applied, need_lots(need),
		     plural((int64_t)need_lots(need)), (long long)need_pieces(need),
		     plural(need_pieces(need)));
	free(touched);
	return status;
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct swaps *swaps = swaps_read(table_open(set.rules, NULL));
	struct need *need = need_read(table_open("-", &set.form));
	bool *picks = swaps_pick(swaps, set.only, set.except);
	struct outputs outputs = {0};
	struct sheet sheet = {0};
	int status;

	tell_later();
	status = apply(swaps, picks, need, set.quiet);
	need_write(&sheet, need);
	outputs_write(&outputs, &sheet);
	sheet_free(&sheet);
	free(picks);
	need_free(need);
	swaps_free(swaps);
	return status;
}
