#include "trade/swaps_relax.h"

#include "base/dec.h"
#include "base/err.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A lot that undecided rules touch: all rows that it may come to have. */
struct item {
	struct need_row *row; /* owned */
	size_t count, room;
	int64_t least, most; /* pieces that it may come to need */
	int64_t worth;
	int64_t parts; /* rows that an `of` may have made of one, at most */
};

struct relaxing {
	struct swaps *swaps;
	size_t rows_most, rows; /* of items: that rules may make, and have made */
	struct names known;     /* rows of items, by item and what tells them apart */
	size_t *place;          /* by number of those: the row in its item; owned */
	size_t place_room;
	struct text key;   /* scratch */
	struct need *sure; /* rows as they are in every subset */
	struct item *item; /* owned */
	size_t items, room;
	const enum ruling *ruling;
	bool *touched; /* scratch: by lot of sure */
	struct swap_touch *touches;
};

static int64_t
at_most(wide pieces)
{
	return pieces > QTY_MOST ? QTY_MOST : (int64_t)pieces;
}

/* Adds a row that the lot may have; of equal ones the least penalty counts. Is it new? */
static bool
add_row(struct relaxing *r, struct item *item, const struct need_row *row)
{
	static const enum need_column same[] = {NEED_PART,      NEED_COLOR, NEED_CONDITION,
	                                        NEED_NOT_COLOR, NEED_GROUP, NEED_MODEL};
	size_t before = r->known.count, number;
	struct need_row *old;

	text_clear(&r->key);
	dec_add_text(&r->key, item - r->item, 0, 0);
	text_addc(&r->key, ' ');
	dec_add_text(&r->key, row->grams, 0, 0);
	for (size_t k = 0; k < sizeof same / sizeof *same; k++) {
		text_addc(&r->key, '\0');
		text_adds(&r->key, row->text[same[k]]);
	}
	number = names_add_bytes(&r->known, r->key.bytes, r->key.length);
	if (number < before) {
		old = &item->row[r->place[number]];
		if (row->penalty < old->penalty)
			old->penalty = row->penalty;
		return false;
	}
	MEM_ROOM(r->place, before, r->place_room);
	r->place[number] = item->count;
	MEM_ROOM(item->row, item->count, item->room);
	item->row[item->count] = *row;
	item->row[item->count++].text[NEED_TOGETHER] = "";
	return true;
}

static struct item *
new_item(struct relaxing *r)
{
	MEM_ROOM(r->item, r->items, r->room);
	r->item[r->items] = (struct item){.worth = NOT_GIVEN, .parts = 1};
	return &r->item[r->items++];
}

/* ---- what a step matches ---- */

static bool
matches_sure(const struct relaxing *r, const struct swap_step *step)
{
	for (size_t i = 0; i < r->sure->count; i++)
		if (swap_step_matches(r->swaps, step, &r->sure->row[i]))
			return true;
	return false;
}

static bool
matches_item(const struct relaxing *r, const struct swap_step *step)
{
	for (size_t i = 0; i < r->items; i++)
		for (size_t k = 0; k < r->item[i].count; k++)
			if (swap_step_matches(r->swaps, step, &r->item[i].row[k]))
				return true;
	return false;
}

/* In which of the subsets the rule's steps all match. */
enum matching { NEVER, PERHAPS, ALWAYS };

static enum matching
matching_of(const struct relaxing *r, size_t rule, bool *items)
{
	enum matching all = ALWAYS;

	*items = false;
	for (size_t i = r->swaps->rule[rule].first; i != SIZE_MAX; i = r->swaps->step[i].next) {
		const struct swap_step *step = &r->swaps->step[i];
		bool item;

		if (step->kind == SWAP_ADD)
			continue;
		item = matches_item(r, step);
		*items = *items || item;
		if (matches_sure(r, step))
			continue;
		if (!item)
			return NEVER;
		all = PERHAPS;
	}
	return all;
}

/* Does a step that may still come match the row? */
static bool
comes_later(const struct relaxing *r, size_t rule, const struct need_row *row)
{
	for (size_t i = 0; i < r->swaps->steps; i++) {
		const struct swap_step *step = &r->swaps->step[i];

		if (step->rule > rule && r->ruling[step->rule] != RULE_OFF &&
		    step->kind != SWAP_ADD && swap_step_matches(r->swaps, step, row))
			return true;
	}
	return false;
}

/* Marks the lots of sure rows that the rule's steps match. Returns each row's lot; the caller frees
 * it. */
static size_t *
mark_touched(struct relaxing *r, size_t rule)
{
	size_t lots, *number = need_lot_numbers(r->sure, &lots);

	r->touched = mem_resize(r->touched, lots + 1, sizeof *r->touched);
	memset(r->touched, 0, (lots + 1) * sizeof *r->touched);
	for (size_t s = r->swaps->rule[rule].first; s != SIZE_MAX; s = r->swaps->step[s].next) {
		const struct swap_step *step = &r->swaps->step[s];

		if (step->kind == SWAP_ADD)
			continue;
		for (size_t i = 0; i < r->sure->count; i++)
			if (!r->touched[number[i]])
				r->touched[number[i]] =
				    swap_step_matches(r->swaps, step, &r->sure->row[i]);
	}
	return number;
}

/* Does the rule give options alone, on lots that nothing touches after it? Then the list with them
 * is one for those who do without, too. */
static bool
gives_options(struct relaxing *r, size_t rule)
{
	size_t *number = mark_touched(r, rule);
	bool options = true;

	for (size_t s = r->swaps->rule[rule].first; s != SIZE_MAX && options;
	     s = r->swaps->step[s].next) {
		const struct swap_step *step = &r->swaps->step[s];

		options = step->kind == SWAP_MAY;
		for (size_t i = 0; i < r->sure->count && options; i++) {
			const struct need_row *row = &r->sure->row[i];
			struct need_row new;

			if (!r->touched[number[i]])
				continue;
			options = !comes_later(r, rule, row) &&
			          (!swap_step_matches(r->swaps, step, row) ||
			           (swap_step_change(r->swaps, &r->sure->arena, step, row, &new) ==
			                SWAP_FIELDS &&
			            !comes_later(r, rule, &new)));
		}
	}
	free(number);
	return options;
}

/* ---- what a rule may do ---- */

/* The lots that the rule touches are no longer sure. */
static void
make_items(struct relaxing *r, size_t rule)
{
	size_t *number = mark_touched(r, rule), kept = 0, lots = 0;
	size_t *item_of;

	for (size_t i = 0; i < r->sure->count; i++)
		if (number[i] >= lots)
			lots = number[i] + 1;
	item_of = mem_alloc((lots + 1) * sizeof *item_of);
	for (size_t l = 0; l < lots; l++)
		item_of[l] = SIZE_MAX;
	for (size_t i = 0; i < r->sure->count; i++) {
		struct need_row row = r->sure->row[i];
		size_t lot = number[i];

		if (!r->touched[lot]) {
			r->sure->row[kept++] = row;
			continue;
		}
		if (item_of[lot] == SIZE_MAX) {
			struct item *item = new_item(r);

			item_of[lot] = r->items - 1;
			item->least = item->most = row.qty;
			item->worth = row.worth;
		}
		assert(item_of[lot] < r->items);
		(void)add_row(r, &r->item[item_of[lot]], &row);
	}
	r->sure->count = kept;
	free(number);
	free(item_of);
}

/* What a step may make of a row that it matches. */
static void
touch_row(struct relaxing *r, struct item *item, const struct swap_step *step,
          const struct need_row *row)
{
	struct need_row new;

	if ((step->kind != SWAP_USE && step->kind != SWAP_MAY) ||
	    swap_step_change(r->swaps, &r->sure->arena, step, row, &new) != SWAP_FIELDS)
		return;
	if (step->kind == SWAP_MAY)
		new.penalty = step->penalty;
	r->rows += add_row(r, item, &new);
	if (r->rows > r->rows_most)
		die_at(r->swaps->file, step->line,
		       "rule \"%s\" and others may make more than %zu rows of a list of %zu: that "
		       "many are the most; take fewer of them together",
		       text_show(&r->sure->arena, r->swaps->rule[step->rule].name), r->rows_most,
		       r->sure->read);
}

/* What a step may do to the pieces that a lot needs. */
static void
touch_quantity(struct item *item, const struct swap_step *step)
{
	if (step->kind == SWAP_DROP) {
		wide gone = step->of == NOT_GIVEN ? item->least : (wide)step->of * item->parts;

		item->least = gone >= item->least ? 0 : item->least - (int64_t)gone;
	} else if (step->kind == SWAP_USE) {
		item->most = at_most((wide)item->most * step->qty);
	} else if (step->kind == SWAP_SPARE) {
		wide more = step->percent ? wide_div_ceil((wide)item->most * step->qty, 100 * MICRO)
		                          : step->qty;

		item->most = at_most(item->most + (more + 1) * item->parts);
	}
	if (step->of != NOT_GIVEN && item->parts < QTY_MOST)
		item->parts *= 2;
}

static void
touch_item(struct relaxing *r, struct item *item, size_t rule)
{
	size_t before = item->count;

	for (size_t s = r->swaps->rule[rule].first; s != SIZE_MAX; s = r->swaps->step[s].next) {
		const struct swap_step *step = &r->swaps->step[s];
		bool any = false;

		if (step->kind == SWAP_ADD)
			continue;
		for (size_t i = 0; i < before; i++) {
			struct need_row row = item->row[i]; /* the rows may move */

			if (!swap_step_matches(r->swaps, step, &row))
				continue;
			touch_row(r, item, step, &row);
			any = true;
		}
		if (any)
			touch_quantity(item, step);
	}
}

/* Lots that the rule's `add` steps may add. */
static void
may_add(struct relaxing *r, size_t rule)
{
	for (size_t s = r->swaps->rule[rule].first; s != SIZE_MAX; s = r->swaps->step[s].next) {
		const struct swap_step *step = &r->swaps->step[s];
		struct need_row nothing = {.worth = NOT_GIVEN, .grams = NOT_GIVEN}, new;
		struct item *item;

		if (step->kind != SWAP_ADD)
			continue;
		for (size_t i = 0; i < NEED_COLUMNS; i++)
			nothing.text[i] = "";
		if (swap_step_change(r->swaps, &r->sure->arena, step, &nothing, &new) !=
		    SWAP_FIELDS)
			continue;
		item = new_item(r);
		item->most = step->qty;
		(void)add_row(r, item, &new);
	}
}

static enum rule_role
take_rule(struct relaxing *r, size_t rule)
{
	enum matching matching;
	bool items, options;

	if (r->ruling[rule] == RULE_OFF)
		return ROLE_NEVER;
	matching = matching_of(r, rule, &items);
	if (matching == NEVER)
		return ROLE_NEVER;
	options = matching == ALWAYS && !items && gives_options(r, rule);
	if (matching == ALWAYS && (r->ruling[rule] == RULE_ON || options)) {
		for (size_t i = 0; i < r->items; i++)
			touch_item(r, &r->item[i], rule);
		(void)swaps_apply(r->swaps, rule, r->sure, r->touches);
		return options ? ROLE_OPTION : ROLE_CHANGE;
	}
	make_items(r, rule);
	for (size_t i = 0; i < r->items; i++)
		touch_item(r, &r->item[i], rule);
	may_add(r, rule);
	return ROLE_CHANGE;
}

/* ---- the list ---- */

/* A name that no lot of the list has. */
static const char *
item_name(struct names *taken, struct arena *arena, size_t number)
{
	char name[40];
	size_t before = taken->count;

	for (size_t n = 0; taken->count == before; n++) {
		snprintf(name, sizeof name, "?%zu.%zu", number, n);
		names_add(taken, name);
	}
	return arena_copy(arena, name, strlen(name));
}

static void
add_item(struct need *need, const struct item *item, const char *name)
{
	bool must = item->worth == NOT_GIVEN && item->least > 0;

	if (item->most == 0)
		return;
	for (size_t i = 0; i < item->count; i++) {
		struct need_row row = item->row[i];

		row.text[NEED_LOT] = name;
		row.qty = must ? item->least : item->most;
		row.worth = must || item->worth != NOT_GIVEN ? item->worth : 0;
		need_add(need, &row);
	}
}

struct need *
swaps_relax(struct swaps *swaps, const struct need *need, const enum ruling *ruling,
            enum rule_role *role)
{
	struct relaxing r = {.swaps = swaps,
	                     .sure = need_copy(need),
	                     .ruling = ruling,
	                     .rows_most = swaps_most_rows(need)};
	struct names taken = {0};

	r.touches = mem_zero(swaps->steps, sizeof *r.touches);
	for (size_t rule = 0; rule < swaps->rules; rule++) {
		enum rule_role found = take_rule(&r, rule);

		if (role != NULL)
			role[rule] = found;
	}
	for (size_t i = 0; i < r.sure->count; i++)
		names_add(&taken, r.sure->row[i].text[NEED_LOT]);
	for (size_t i = 0; i < r.items; i++) {
		add_item(r.sure, &r.item[i], item_name(&taken, &r.sure->arena, i));
		free(r.item[i].row);
	}
	names_free(&taken);
	free(r.item);
	names_free(&r.known);
	free(r.place);
	text_free(&r.key);
	free(r.touched);
	free(r.touches);
	return r.sure;
}
