#include "trade/check.h"

#include "base/err.h"
#include "trade/flow.h"
#include "trade/need.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define NONE SIZE_MAX

/* A key that pieces of a bundle have, or may have. */
struct option {
	size_t bundle, key, base;
	const struct counted_row *like;
	size_t next_in_bundle, next_of_key, next_of_base;
	size_t first_match, last_match; /* of an option of found */
	int64_t matched;
};

/* Pieces that are one count: rows of one key, or the rows of a lot. */
struct bundle {
	int64_t qty, surplus, matched;
	size_t first, last; /* options */
	bool is_lot;
	const char *currency; /* of its prices; NULL: none yet */
	bool currencies;      /* several */
};

struct side {
	const struct counted *list;
	struct bundle *bundle; /* owned */
	size_t bundles, bundle_room;
	struct option *option; /* owned */
	size_t options, option_room;
	size_t *bundle_of; /* by row; owned */
};

/* A place where options may match. */
struct match {
	size_t expected, found; /* options */
	size_t next;            /* of the found option */
	size_t arc;
	bool is_free; /* the color or the condition is another */
};

struct model {
	const struct counted_by *by;
	size_t color, condition; /* in the key; NONE: not in it */
	bool exact;
	struct side expected, found;
	struct names bases; /* keys without color and condition */
	size_t *first_of_key, *last_of_key, *first_of_base, *last_of_base; /* of found; owned */
	struct match *match;                                               /* owned */
	size_t matches, match_room;
	struct arena arena; /* of messages */
};

/* ---- keys ---- */

static const char *
key_color(const struct model *model, size_t key)
{
	return model->color == NONE ? "" : counted_key_field(model->by->keys, key, model->color);
}

static const char *
key_condition(const struct model *model, size_t key)
{
	return model->condition == NONE ? ""
	                                : counted_key_field(model->by->keys, key, model->condition);
}

static bool
color_is_free(const struct model *model, size_t key)
{
	return !model->exact && strcmp(key_color(model, key), ANY_COLOR) == 0;
}

static bool
condition_is_free(const struct model *model, size_t key)
{
	return !model->exact && model->condition != NONE && *key_condition(model, key) == '\0';
}

static size_t
base_of(struct model *model, size_t key)
{
	struct text base = {0};
	size_t number;

	text_addc(&base, '\0');
	for (size_t i = 0; i < model->by->count; i++) {
		const char *field = counted_key_field(model->by->keys, key, i);

		if (i != model->color && i != model->condition)
			text_add(&base, field, strlen(field) + 1);
	}
	number = names_add_bytes(&model->bases, base.bytes, base.length);
	text_free(&base);
	return number;
}

static size_t
column_in_key(const struct counted_by *by, enum counted_column column)
{
	for (size_t i = 0; i < by->count; i++)
		if (text_equal_fold(by->name[i], counted_column_names[column]))
			return i;
	return NONE;
}

/* ---- bundles ---- */

/* What rows of one bundle have in common. */
static void
bundle_name(const struct model *model, const struct counted *list, const struct counted_row *row,
            struct text *name)
{
	text_clear(name);
	if (!model->exact && *row->lot != '\0') {
		text_addc(name, 'l');
		text_adds(name, row->lot);
		return;
	}
	text_addc(name, 'k');
	text_add(name, (const char *)&row->key, sizeof row->key);
	if (color_is_free(model, row->key))
		text_adds(name, counted_field(list, row, COUNTED_NOT_COLOR));
}

/* Is the row's key, with what its color may not be, new to the bundle? `options` holds those that
 * are not the first of their bundle. */
static bool
is_new_option(const struct side *side, struct names *options, size_t bundle,
              const struct counted_row *row)
{
	const uintptr_t name[] = {bundle, row->key, (uintptr_t)row->not_color};
	size_t first = side->bundle[bundle].first, known = options->count;

	if (first == NONE)
		return true;
	if (side->option[first].key == row->key &&
	    side->option[first].like->not_color == row->not_color)
		return false;
	return names_add_bytes(options, (const char *)name, sizeof name) == known;
}

static void
add_option(struct model *model, struct side *side, size_t bundle, const struct counted_row *row)
{
	struct bundle *of = &side->bundle[bundle];

	MEM_ROOM(side->option, side->options, side->option_room);
	side->option[side->options] = (struct option){.bundle = bundle,
	                                              .key = row->key,
	                                              .base = base_of(model, row->key),
	                                              .like = row,
	                                              .next_in_bundle = NONE,
	                                              .next_of_key = NONE,
	                                              .next_of_base = NONE,
	                                              .first_match = NONE};
	if (of->first == NONE)
		of->first = side->options;
	else
		side->option[of->last].next_in_bundle = side->options;
	of->last = side->options++;
}

static void
add_currency(const struct counted *list, struct bundle *bundle, const struct counted_row *row)
{
	const char *currency = counted_field(list, row, COUNTED_CURRENCY);

	if (row->price == NOT_GIVEN || row->qty == 0)
		return;
	if (bundle->currency == NULL)
		bundle->currency = currency;
	else if (strcmp(bundle->currency, currency) != 0)
		bundle->currencies = true;
}

static void
add_row(struct model *model, struct side *side, struct names *names, struct names *options,
        size_t number)
{
	const struct counted_row *row = &side->list->row[number];
	struct text name = {0};
	struct bundle *bundle;
	size_t known = names->count, at;

	bundle_name(model, side->list, row, &name);
	at = names_add_bytes(names, name.bytes, name.length);
	text_free(&name);
	if (at == known) {
		MEM_ROOM(side->bundle, side->bundles, side->bundle_room);
		side->bundle[side->bundles++] = (struct bundle){
		    .first = NONE, .last = NONE, .is_lot = !model->exact && *row->lot != '\0'};
	}
	assert(at < side->bundles); /* a new name is numbered next */
	bundle = &side->bundle[at];
	side->bundle_of[number] = at;
	if (!bundle->is_lot || at == known)
		bundle->qty += row->qty;
	bundle->surplus += row->surplus;
	add_currency(side->list, bundle, row);
	if (is_new_option(side, options, at, row))
		add_option(model, side, at, row);
}

static void
build_side(struct model *model, struct side *side, const struct counted *list)
{
	struct names names = {0}, options = {0};

	side->list = list;
	side->bundle_of = mem_alloc(list->count * sizeof *side->bundle_of);
	for (size_t i = 0; i < list->count; i++)
		add_row(model, side, &names, &options, i);
	names_free(&names);
	names_free(&options);
}

/* ---- what may match ---- */

static size_t *
all_none(size_t count)
{
	size_t *list = mem_alloc(count * sizeof *list);

	for (size_t i = 0; i < count; i++)
		list[i] = NONE;
	return list;
}

/* Lists of found options by key and by base, in their order. */
static void
index_found(struct model *model)
{
	struct option *option = model->found.option;

	model->first_of_key = all_none(model->by->keys->count);
	model->last_of_key = all_none(model->by->keys->count);
	model->first_of_base = all_none(model->bases.count);
	model->last_of_base = all_none(model->bases.count);
	for (size_t i = 0; i < model->found.options; i++) {
		size_t key = option[i].key, base = option[i].base;

		if (model->first_of_key[key] == NONE)
			model->first_of_key[key] = i;
		else
			option[model->last_of_key[key]].next_of_key = i;
		model->last_of_key[key] = i;
		if (model->first_of_base[base] == NONE)
			model->first_of_base[base] = i;
		else
			option[model->last_of_base[base]].next_of_base = i;
		model->last_of_base[base] = i;
	}
}

static bool
color_is_allowed(struct model *model, const struct counted_row *row, const char *color)
{
	const struct counted *list = model->expected.list;
	enum pattern_result result;
	const char *why;

	if (row->not_color == NULL)
		return true;
	result = pattern_matches(row->not_color, color, &model->arena, &why);
	if (result == PATTERN_FAULT) {
		tell_at(list->file, row->line, "not_color \"%s\" on color \"%s\": %s",
		        text_show(&model->arena, counted_field(list, row, COUNTED_NOT_COLOR)),
		        text_show(&model->arena, color), why);
		exit(EXIT_TROUBLE);
	}
	return result == PATTERN_NO;
}

/* Does a found key of the same base fit? */
static bool
fits_freely(struct model *model, const struct option *expected, size_t found)
{
	const char *color = key_color(model, found), *due = key_color(model, expected->key);
	bool same = strcmp(key_condition(model, found), key_condition(model, expected->key)) == 0;

	if (!same && !condition_is_free(model, expected->key))
		return false;
	if (strcmp(color, due) == 0)
		return true;
	return color_is_free(model, expected->key) &&
	       color_is_allowed(model, expected->like, color);
}

static void
add_match(struct model *model, size_t expected, size_t found, bool is_free)
{
	struct option *of = &model->found.option[found];

	MEM_ROOM(model->match, model->matches, model->match_room);
	model->match[model->matches] =
	    (struct match){.expected = expected, .found = found, .next = NONE, .is_free = is_free};
	if (of->first_match == NONE)
		of->first_match = model->matches;
	else
		model->match[of->last_match].next = model->matches;
	of->last_match = model->matches++;
}

static void
find_matches(struct model *model, size_t expected)
{
	const struct option *option = &model->expected.option[expected], *all = model->found.option;

	if (!color_is_free(model, option->key) && !condition_is_free(model, option->key)) {
		for (size_t i = model->first_of_key[option->key]; i != NONE; i = all[i].next_of_key)
			add_match(model, expected, i, false);
		return;
	}
	for (size_t i = model->first_of_base[option->base]; i != NONE; i = all[i].next_of_base)
		if (all[i].key == option->key)
			add_match(model, expected, i, false);
		else if (fits_freely(model, option, all[i].key))
			add_match(model, expected, i, true);
}

/* ---- the most that can match ---- */

/* Least where a key stands for itself, outside lots. */
static wide
match_cost(const struct model *model, const struct match *match)
{
	const struct option *expected = &model->expected.option[match->expected];
	const struct option *found = &model->found.option[match->found];
	wide cost = model->expected.bundle[expected->bundle].is_lot ||
	            model->found.bundle[found->bundle].is_lot;

	if (strcmp(key_condition(model, expected->key), key_condition(model, found->key)) != 0)
		cost += 2;
	if (strcmp(key_color(model, expected->key), key_color(model, found->key)) != 0)
		cost += 4;
	return cost;
}

static void
take_flow(struct model *model, const struct flow *flow, struct check *check)
{
	for (size_t i = 0; i < model->matches; i++) {
		const struct match *match = &model->match[i];
		struct option *expected = &model->expected.option[match->expected];
		struct option *found = &model->found.option[match->found];
		int64_t pieces = flow_on(flow, match->arc);

		expected->matched += pieces;
		found->matched += pieces;
		model->expected.bundle[expected->bundle].matched += pieces;
		model->found.bundle[found->bundle].matched += pieces;
		if (match->is_free)
			check->freely += pieces;
	}
}

static void
find_most(struct model *model, struct check *check)
{
	const struct side *expected = &model->expected, *found = &model->found;
	enum { SOURCE, SINK, FIRST };
	size_t options = FIRST + expected->bundles, others = options + expected->options,
	       last = others + found->options;
	struct flow *flow = flow_new(last + found->bundles);

	for (size_t i = 0; i < expected->bundles; i++)
		flow_arc(flow, SOURCE, FIRST + i, expected->bundle[i].qty, 0);
	for (size_t i = 0; i < expected->options; i++)
		flow_arc(flow, FIRST + expected->option[i].bundle, options + i,
		         expected->bundle[expected->option[i].bundle].qty, 0);
	for (size_t i = 0; i < model->matches; i++) {
		struct match *match = &model->match[i];

		match->arc = flow_arc(flow, options + match->expected, others + match->found,
		                      INT64_MAX / 2, match_cost(model, match));
	}
	for (size_t i = 0; i < found->options; i++)
		flow_arc(flow, others + i, last + found->option[i].bundle,
		         found->bundle[found->option[i].bundle].qty, 0);
	for (size_t i = 0; i < found->bundles; i++)
		flow_arc(flow, last + i, SINK, found->bundle[i].qty, 0);
	flow_solve(flow, SOURCE, SINK);
	take_flow(model, flow, check);
	flow_free(flow);
}

/* ---- rows ---- */

/* Pieces expected and matched, by key; what of a lot is missing stands at its first key. */
static void
count_expected(struct model *model, struct check_row *row)
{
	const struct side *side = &model->expected;

	for (size_t i = 0; i < side->options; i++) {
		const struct option *option = &side->option[i];
		const struct bundle *bundle = &side->bundle[option->bundle];

		row[option->key].asked |= bundle->qty > 0;
		row[option->key].found += option->matched;
		row[option->key].expected += option->matched;
		if (bundle->first == i)
			row[option->key].expected += bundle->qty - bundle->matched;
	}
}

/* A key of some row that a found option fits, and that is not short for want of other pieces. */
static size_t
key_it_fits(const struct model *model, const struct option *option, const struct check_row *row)
{
	for (size_t i = option->first_match; i != NONE; i = model->match[i].next) {
		size_t key = model->expected.option[model->match[i].expected].key;

		if (row[key].asked && row[key].found >= row[key].expected)
			return key;
	}
	return NONE;
}

/* Where pieces count that nothing expected takes. */
static size_t
surplus_key(const struct model *model, const struct bundle *bundle, const struct check_row *row)
{
	const struct option *option = model->found.option;
	size_t key;

	for (size_t i = bundle->first; i != NONE; i = option[i].next_in_bundle)
		if (row[option[i].key].asked)
			return option[i].key;
	for (size_t i = bundle->first; i != NONE; i = option[i].next_in_bundle)
		if ((key = key_it_fits(model, &option[i], row)) != NONE)
			return key;
	return option[bundle->first].key;
}

static void
count_surplus(const struct model *model, struct check_row *row)
{
	for (size_t i = 0; i < model->found.bundles; i++) {
		const struct bundle *bundle = &model->found.bundle[i];

		if (bundle->qty > bundle->matched)
			row[surplus_key(model, bundle, row)].found += bundle->qty - bundle->matched;
	}
}

/* Adds the missing pieces of one row of the list. */
static void
add_amount(const struct bundle *bundle, const struct counted *list, const struct counted_row *from,
           int64_t pieces, struct check_row *row)
{
	const char *currency = counted_field(list, from, COUNTED_CURRENCY);

	if (from->price == NOT_GIVEN) {
		if (row->known == CHECK_EXACT)
			row->known = CHECK_NO_PRICE;
		return;
	}
	if (bundle->currencies || (row->currency != NULL && strcmp(row->currency, currency) != 0))
		row->known = CHECK_CURRENCIES;
	row->currency = currency;
	row->amount += (wide)pieces * from->price;
}

static int64_t
take_at_most(int64_t *left, int64_t most)
{
	int64_t taken = *left < most ? *left : most;

	*left -= taken;
	return taken;
}

/* Which rows' pieces are missing, which are still needed. */
static void
share_missing(const struct model *model, struct check *check, struct check_row *row)
{
	const struct side *side = &model->expected;
	int64_t *missing = mem_alloc(side->bundles * sizeof *missing);
	int64_t *needed = mem_alloc(side->bundles * sizeof *needed);

	for (size_t i = 0; i < side->bundles; i++) {
		const struct bundle *bundle = &side->bundle[i];

		missing[i] = bundle->qty - bundle->matched;
		needed[i] = missing[i] > bundle->surplus ? missing[i] - bundle->surplus : 0;
	}
	for (size_t i = 0; i < side->list->count; i++) {
		const struct counted_row *from = &side->list->row[i];
		size_t at = side->bundle_of[i];
		int64_t pieces = take_at_most(&missing[at], from->qty);

		if (pieces > 0)
			add_amount(&side->bundle[at], side->list, from, pieces, &row[from->key]);
		check->needed[i] = side->bundle[at].is_lot
		                       ? needed[at]
		                       : take_at_most(&needed[at], from->qty - from->surplus);
	}
	free(missing);
	free(needed);
}

static int
compare_rows(const void *left, const void *right, void *keys)
{
	const struct check_row *a = left, *b = right;

	return counted_compare_keys(keys, a->key, b->key);
}

static void
make_rows(struct model *model, struct check *check)
{
	size_t keys = model->by->keys->count;

	check->row = mem_zero(keys, sizeof *check->row);
	for (size_t i = 0; i < keys; i++)
		check->row[i].key = i;
	count_expected(model, check->row);
	count_surplus(model, check->row);
	share_missing(model, check, check->row);
	for (size_t i = 0; i < keys; i++)
		if (check->row[i].expected > 0 || check->row[i].found > 0)
			check->row[check->count++] = check->row[i];
	if (check->count > 0)
		qsort_r(check->row, check->count, sizeof *check->row, compare_rows,
		        model->by->keys);
}

static void
free_side(struct side *side)
{
	free(side->bundle);
	free(side->option);
	free(side->bundle_of);
}

static void
free_model(struct model *model)
{
	free_side(&model->expected);
	free_side(&model->found);
	names_free(&model->bases);
	free(model->first_of_key);
	free(model->last_of_key);
	free(model->first_of_base);
	free(model->last_of_base);
	free(model->match);
	arena_free(&model->arena);
}

struct check *
check_lists(const struct counted *expected, const struct counted *found,
            const struct counted_by *by, bool exact)
{
	struct model model = {.by = by,
	                      .color = column_in_key(by, COUNTED_COLOR),
	                      .condition = column_in_key(by, COUNTED_CONDITION),
	                      .exact = exact};
	struct check *check = mem_zero(1, sizeof *check);

	check->needed = mem_zero(expected->count, sizeof *check->needed);
	build_side(&model, &model.expected, expected);
	build_side(&model, &model.found, found);
	index_found(&model);
	for (size_t i = 0; i < model.expected.options; i++)
		find_matches(&model, i);
	find_most(&model, check);
	make_rows(&model, check);
	free_model(&model);
	return check;
}

void
check_free(struct check *check)
{
	free(check->row);
	free(check->needed);
	free(check);
}
