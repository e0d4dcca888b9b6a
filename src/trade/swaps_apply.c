#include "trade/swaps.h"

#include "base/err.h"

#include <stdlib.h>
#include <string.h>

static const enum need_column need_field[SWAP_FIELDS] = {
    [SWAP_PART] = NEED_PART,
    [SWAP_COLOR] = NEED_COLOR,
    [SWAP_CONDITION] = NEED_CONDITION,
    [SWAP_GROUP] = NEED_GROUP,
};

static const char *const field_names[SWAP_FIELDS] = {"part", "color", "condition", "group"};

/* Rules that double the rows one after the other would fill any memory: they may make so many of
 * each row of the file, and so many besides. */
enum { ROWS_EACH = 100, ROWS_BESIDES = 100000 };

size_t
swaps_most_rows(const struct need *need)
{
	return ROWS_EACH * need->read + ROWS_BESIDES;
}

/* A row at work: one of the list, or an alternative that a may step put beside one. */
struct work_row {
	struct need_row row;
	size_t origin;   /* the row of the list it is, or stands beside */
	bool original;   /* it is that row: steps match it */
	bool done, gone; /* taken by a step; dropped */
	int64_t factor;  /* pieces of it for one piece of its portion */
	size_t line;     /* of the step that set the factor */
};

/* Some pieces of a lot, with all the rows that can fill them. */
struct portion {
	struct work_row *row; /* owned */
	size_t count, room;
	int64_t qty;
};

/* A lot at work: portions, in the order they are written; the last is what no `of` has split off.
 */
struct work_lot {
	struct portion *portion; /* owned */
	size_t count, room;
};

struct work {
	struct swaps *swaps;
	const struct swap_rule *rule;
	struct need *need;
	struct work_lot *lot; /* owned */
	size_t lots;
	size_t rows;        /* of all lots */
	size_t *number;     /* the lot of each row; owned */
	struct names taken; /* lot names in use */
	struct numbering numbering;
	struct need_row *added;
	size_t added_count, added_room;
};

static const char *
copy(struct arena *arena, const char *text)
{
	return *text == '\0' ? "" : arena_copy(arena, text, strlen(text));
}

static noreturn void
stop(const struct swap_step *step, const struct swaps *swaps, size_t field, const char *subject,
     const char *why)
{
	struct arena arena = {0};

	die_at(swaps->file, step->line, "%s \"%s\" on \"%s\": %s", field_names[field],
	       text_show(&arena, step->pattern_text[field]), text_show(&arena, subject), why);
}

bool
swap_step_matches(struct swaps *swaps, const struct swap_step *step, const struct need_row *row)
{
	for (size_t i = 0; i < SWAP_FIELDS; i++) {
		const char *subject = row->text[need_field[i]];
		const char *why;
		enum pattern_result result;

		if (step->pattern[i] == NULL)
			continue;
		result = pattern_matches(step->pattern[i], subject, &swaps->arena, &why);
		if (result == PATTERN_FAULT)
			stop(step, swaps, i, subject, why);
		if (result == PATTERN_NO)
			return false;
	}
	return true;
}

/* Which rows the step matches; false if none. The caller frees *matched. */
static bool
match_all(struct swaps *swaps, const struct swap_step *step, const struct need *need,
          bool **matched)
{
	bool any = false;

	*matched = mem_zero(need->count, sizeof **matched);
	for (size_t i = 0; i < need->count; i++) {
		(*matched)[i] = swap_step_matches(swaps, step, &need->row[i]);
		any |= (*matched)[i];
	}
	return any;
}

static noreturn void
too_many(const struct work *work, size_t line, const struct need_row *row, wide pieces)
{
	struct text number = {0};
	struct arena arena = {0};

	dec_add_text(&number, pieces, 0, 0);
	die_at(work->swaps->file, line,
	       "rule \"%s\" makes %s pieces of %s, %s: at most %lld are possible",
	       text_show(&arena, work->rule->name), number.bytes,
	       text_show(&arena, row->text[NEED_PART]), text_show(&arena, row->text[NEED_COLOR]),
	       (long long)QTY_MOST);
}

static struct work_row *
add_work_row(struct portion *portion, const struct work_row *row)
{
	struct work_row new = *row;

	MEM_ROOM(portion->row, portion->count, portion->room);
	portion->row[portion->count++] = new;
	return &portion->row[portion->count - 1];
}

static struct work
start_work(struct swaps *swaps, size_t rule, struct need *need)
{
	struct work work = {.swaps = swaps, .rule = &swaps->rule[rule], .need = need};

	work.rows = need->count;
	work.number = need_lot_numbers(need, &work.lots);
	work.lot = mem_zero(work.lots, sizeof *work.lot);
	for (size_t i = 0; i < need->count; i++) {
		struct work_lot *lot = &work.lot[work.number[i]];
		struct work_row row = {
		    .row = need->row[i], .origin = i, .original = true, .factor = 1};

		if (lot->count == 0) {
			MEM_ROOM(lot->portion, lot->count, lot->room);
			lot->portion[lot->count++] = (struct portion){.qty = row.row.qty};
		}
		add_work_row(&lot->portion[0], &row);
		if (*row.row.text[NEED_LOT] != '\0')
			names_add(&work.taken, row.row.text[NEED_LOT]);
	}
	return work;
}

static void
end_work(struct work *work)
{
	for (size_t i = 0; i < work->lots; i++) {
		for (size_t j = 0; j < work->lot[i].count; j++)
			free(work->lot[i].portion[j].row);
		free(work->lot[i].portion);
	}
	free(work->lot);
	free(work->number);
	free(work->added);
	names_free(&work->taken);
	numbering_free(&work->numbering);
}

/* Is the row one that the step may still touch? */
static bool
is_open(const struct work_row *row, const bool *matched)
{
	return row->original && !row->done && matched[row->origin];
}

static bool
is_portion_open(const struct portion *portion, const bool *matched)
{
	for (size_t i = 0; i < portion->count; i++)
		if (is_open(&portion->row[i], matched))
			return true;
	return false;
}

/* Splits off the first pieces of a portion as a portion of their own, before it. */
static void
split(struct work_lot *lot, size_t at, int64_t pieces)
{
	struct portion first = {.qty = pieces};

	for (size_t i = 0; i < lot->portion[at].count; i++)
		add_work_row(&first, &lot->portion[at].row[i]);
	MEM_ROOM(lot->portion, lot->count, lot->room);
	memmove(lot->portion + at + 1, lot->portion + at, (lot->count - at) * sizeof *lot->portion);
	lot->portion[at] = first;
	lot->portion[at + 1].qty -= pieces;
	lot->count++;
}

/* What a to_ column makes of the row's field; NULL: nothing, where a lot needs something. */
static const char *
replacement(struct swaps *swaps, struct arena *arena, const struct swap_step *step,
            const struct need_row *row, size_t field)
{
	const char *subject = row->text[need_field[field]];
	const char *result, *why;

	if (*step->to[field] == '\0')
		return subject;
	if (pattern_replace(swap_pattern(swaps, step, field), subject, step->to[field], arena,
	                    &result, &why) != PATTERN_YES)
		stop(step, swaps, field, subject, why);
	return *result == '\0' && field != SWAP_CONDITION ? NULL : result;
}

static noreturn void
no_replacement(struct swaps *swaps, const struct swap_step *step, const struct need_row *row,
               size_t field)
{
	die_at(swaps->file, step->line,
	       "to_%s \"%s\" gives nothing for %s \"%s\": a lot needs a %s", field_names[field],
	       text_show(&swaps->arena, step->to[field]), field_names[field],
	       text_show(&swaps->arena, row->text[need_field[field]]), field_names[field]);
}

size_t
swap_step_change(struct swaps *swaps, struct arena *arena, const struct swap_step *step,
                 const struct need_row *row, struct need_row *new)
{
	*new = *row;
	for (size_t i = 0; i < SWAP_REPLACED; i++) {
		new->text[need_field[i]] = replacement(swaps, arena, step, row, i);
		if (new->text[need_field[i]] == NULL)
			return i;
	}
	/* Another part has another weight, and not_color speaks of any color alone. */
	if (strcmp(new->text[NEED_PART], row->text[NEED_PART]) != 0) {
		new->text[NEED_GRAMS] = "";
		new->grams = NOT_GIVEN;
	}
	if (!need_color_is_any(new)) {
		new->text[NEED_NOT_COLOR] = "";
		new->not_color = NULL;
	}
	return SWAP_FIELDS;
}

static struct need_row
changed(struct work *work, const struct swap_step *step, const struct need_row *row)
{
	struct need_row new;
	size_t field = swap_step_change(work->swaps, &work->need->arena, step, row, &new);

	if (field != SWAP_FIELDS)
		no_replacement(work->swaps, step, row, field);
	return new;
}

static bool
is_same_lot(const struct need_row *a, const struct need_row *b)
{
	for (size_t i = 0; i < SWAP_REPLACED; i++)
		if (strcmp(a->text[need_field[i]], b->text[need_field[i]]) != 0)
			return false;
	return true;
}

/* Of alternatives that are to be taken together, in full, a lot can have one. */
static void
check_one_together(const struct work *work, const struct swap_step *step,
                   const struct portion *portion)
{
	struct arena arena = {0};

	if (!work->rule->together)
		return;
	for (size_t i = 0; i < portion->count; i++) {
		const struct need_row *row = &portion->row[i].row;

		if (portion->row[i].original)
			continue;
		die_at(work->swaps->file, step->line,
		       "rule \"%s\" is together, but offers two alternatives for one lot, %s: one "
		       "can fill it in full; make it two rules",
		       text_show(&arena, work->rule->name),
		       text_show(&arena, need_lot_name(row, &arena)));
	}
}

static void
offer_alternative(struct work *work, const struct swap_step *step, struct portion *portion,
                  size_t at)
{
	struct arena *arena = &work->need->arena;
	struct work_row new = portion->row[at];

	new.row = changed(work, step, &new.row);
	if (is_same_lot(&new.row, &portion->row[at].row))
		return;
	check_one_together(work, step, portion);
	new.original = false;
	new.row.penalty = step->penalty;
	new.row.text[NEED_PENALTY] = copy(arena, step->penalty_text);
	new.row.text[NEED_TOGETHER] = work->rule->together ? copy(arena, work->rule->name) : "";
	add_work_row(portion, &new);
}

/* Does what the step says to its open rows of one portion. */
static void
touch_portion(struct work *work, const struct swap_step *step, const bool *matched,
              struct portion *portion)
{
	size_t count = portion->count;

	for (size_t i = 0; i < count; i++) {
		struct work_row *row = &portion->row[i];

		if (!is_open(row, matched))
			continue;
		row->done = step->kind != SWAP_MAY || step->of != NOT_GIVEN;
		if (step->kind == SWAP_DROP) {
			row->gone = true;
		} else if (step->kind == SWAP_USE) {
			row->row = changed(work, step, &row->row);
			row->factor = step->qty;
			row->line = step->line;
		} else {
			offer_alternative(work, step, portion, i);
		}
	}
}

static size_t
rows_of(const struct work_lot *lot)
{
	size_t rows = 0;

	for (size_t i = 0; i < lot->count; i++)
		rows += lot->portion[i].count;
	return rows;
}

static void
check_rows(const struct work *work, const struct swap_step *step)
{
	size_t most = swaps_most_rows(work->need);
	struct arena arena = {0};

	if (work->rows > most)
		die_at(
		    work->swaps->file, step->line,
		    "rule \"%s\" makes more than %zu rows of a list of %zu: that many are the most",
		    text_show(&arena, work->rule->name), most, work->need->read);
}

/* What use, may or drop does to a lot: `of` pieces of it, or all. */
static void
touch_lot(struct work *work, const struct swap_step *step, const bool *matched,
          struct work_lot *lot, struct swap_touch *touched)
{
	int64_t left = step->of == NOT_GIVEN ? INT64_MAX : step->of;
	size_t before = rows_of(lot);
	bool any = false;

	for (size_t i = 0; i < lot->count && left > 0; i++) {
		int64_t pieces;

		if (!is_portion_open(&lot->portion[i], matched))
			continue;
		if (lot->portion[i].qty > left)
			split(lot, i, left);
		pieces = lot->portion[i].qty;
		left -= pieces;
		touch_portion(work, step, matched, &lot->portion[i]);
		if (step->kind == SWAP_USE && pieces * step->qty > QTY_MOST)
			too_many(work, step->line, &lot->portion[i].row[0].row,
			         (wide)pieces * step->qty);
		touched->before += pieces;
		touched->after += step->kind == SWAP_DROP  ? 0
		                  : step->kind == SWAP_USE ? pieces * step->qty
		                                           : pieces;
		any = true;
	}
	touched->lots += any;
	work->rows += rows_of(lot) - before;
	check_rows(work, step);
}

/* Raises a lot, all its rows with it: once, however many of them the step matches. */
static void
spare_lot(struct work *work, const struct swap_step *step, const bool *matched,
          struct work_lot *lot, struct swap_touch *touched)
{
	struct portion *last = NULL;
	int64_t pieces = 0, more;
	wide sum;

	for (size_t i = 0; i < lot->count; i++) {
		if (!is_portion_open(&lot->portion[i], matched))
			continue;
		last = &lot->portion[i];
		pieces += last->qty;
	}
	if (last == NULL)
		return;
	if (step->of != NOT_GIVEN && pieces > step->of)
		pieces = step->of;
	sum = step->percent ? wide_div_ceil((wide)pieces * step->qty, 100 * MICRO) : step->qty;
	if (last->qty + sum > QTY_MOST)
		too_many(work, step->line, &last->row[0].row, last->qty + sum);
	more = (int64_t)sum;
	last->qty += more;
	touched->lots++;
	touched->before += pieces;
	touched->after += pieces + more;
}

static void
add_lot(struct work *work, const struct swap_step *step, struct swap_touch *touched)
{
	struct need_row new = {.qty = step->qty, .worth = NOT_GIVEN, .grams = NOT_GIVEN};
	struct need_row nothing = {0};

	for (size_t i = 0; i < NEED_COLUMNS; i++)
		new.text[i] = nothing.text[i] = "";
	for (size_t i = 0; i < SWAP_REPLACED; i++) {
		new.text[need_field[i]] =
		    replacement(work->swaps, &work->need->arena, step, &nothing, i);
		if (new.text[need_field[i]] == NULL)
			no_replacement(work->swaps, step, &nothing, i);
	}
	MEM_ROOM(work->added, work->added_count, work->added_room);
	work->added[work->added_count++] = new;
	touched->lots = 1;
	touched->before = touched->after = step->qty;
}

static void
apply_step(struct work *work, const struct swap_step *step, const bool *matched,
           struct swap_touch *touched)
{
	*touched = (struct swap_touch){0};
	if (step->kind == SWAP_ADD) {
		add_lot(work, step, touched);
		return;
	}
	for (size_t i = 0; i < work->lots; i++)
		if (step->kind == SWAP_SPARE)
			spare_lot(work, step, matched, &work->lot[i], touched);
		else
			touch_lot(work, step, matched, &work->lot[i], touched);
}

/* base~rule, with #2 and so on where that is taken. */
static const char *
new_lot_name(struct work *work, const char *base)
{
	struct text name = {0};
	const char *result;
	size_t length, *number;

	text_adds(&name, base);
	text_addc(&name, '~');
	text_adds(&name, work->rule->name);
	length = name.length;
	number = numbering_next(&work->numbering, name.bytes);
	while (names_find(&work->taken, name.bytes) != SIZE_MAX) {
		name.length = length;
		numbering_add(&name, number);
	}
	names_add(&work->taken, name.bytes);
	result = copy(&work->need->arena, name.bytes);
	text_free(&name);
	return result;
}

static size_t
rows_left(const struct portion *portion)
{
	size_t count = 0;

	for (size_t i = 0; i < portion->count; i++)
		count += !portion->row[i].gone;
	return count;
}

/* The lot name of a portion: a split-off part of a lot has a new one, so has a row that got
 * alternatives; else it is as it was. */
static const char *
portion_lot_name(struct work *work, const struct work_lot *lot, size_t at)
{
	const struct portion *portion = &lot->portion[at];
	const struct need_row *first = &work->need->row[portion->row[0].origin];
	const char *name = first->text[NEED_LOT];
	struct text base = {0};

	if (*name != '\0')
		return at + 1 == lot->count ? name : new_lot_name(work, name);
	if (rows_left(portion) < 2)
		return "";
	text_adds(&base, first->text[NEED_PART]);
	text_addc(&base, '/');
	text_adds(&base, first->text[NEED_COLOR]);
	name = new_lot_name(work, base.bytes);
	text_free(&base);
	return name;
}

/* Alternatives are one for one, so no row of a lot may be multiplied alone. */
static void
settle_portion(struct work *work, struct portion *portion, const char *name)
{
	const struct work_row *other = NULL;
	struct arena arena = {0};

	for (size_t i = 0; i < portion->count; i++) {
		struct work_row *row = &portion->row[i];
		wide qty = (wide)portion->qty * row->factor;

		if (row->gone)
			continue;
		if (qty > QTY_MOST)
			too_many(work, row->line, &row->row, qty);
		if (other != NULL && other->factor != row->factor) {
			die_at(work->swaps->file, row->factor > 1 ? row->line : other->line,
			       "rule \"%s\" multiplies one row of lot \"%s\" alone: the rows of a "
			       "lot are alternatives, one piece for one piece",
			       text_show(&arena, work->rule->name), text_show(&arena, name));
		}
		other = row;
		row->row.qty = (int64_t)qty;
		row->row.text[NEED_LOT] = name;
	}
}

static void
settle(struct work *work)
{
	for (size_t i = 0; i < work->lots; i++)
		for (size_t j = 0; j < work->lot[i].count; j++)
			if (rows_left(&work->lot[i].portion[j]) > 0)
				settle_portion(work, &work->lot[i].portion[j],
				               portion_lot_name(work, &work->lot[i], j));
}

static void
write_added(struct work *work)
{
	for (size_t i = 0; i < work->added_count; i++)
		need_add(work->need, &work->added[i]);
}

/* Puts the rows back into the list: each with what became of it, in its place. */
static void
write_back(struct work *work)
{
	struct need *need = work->need;
	size_t before = need->count, total = 0;
	size_t *place = mem_zero(before + 1, sizeof *place); /* of what comes of each row */

	for (size_t i = 0; i < work->lots; i++)
		for (size_t j = 0; j < work->lot[i].count; j++)
			for (size_t k = 0; k < work->lot[i].portion[j].count; k++)
				place[work->lot[i].portion[j].row[k].origin] +=
				    !work->lot[i].portion[j].row[k].gone;
	for (size_t i = 0; i < before; i++) {
		size_t rows = place[i];

		place[i] = total;
		total += rows;
	}
	free(need->row);
	need->row = mem_alloc(total * sizeof *need->row);
	need->count = need->room = total;
	for (size_t i = 0; i < work->lots; i++)
		for (size_t j = 0; j < work->lot[i].count; j++)
			for (size_t k = 0; k < work->lot[i].portion[j].count; k++) {
				const struct work_row *row = &work->lot[i].portion[j].row[k];

				if (!row->gone)
					need->row[place[row->origin]++] = row->row;
			}
	write_added(work);
	free(place);
}

/* What the rule's steps match, by step of the rule, in *matched; the first that matches no row, or
 * NULL. The caller frees it. */
static const struct swap_step *
match_steps(struct swaps *swaps, size_t rule, const struct need *need, bool ***matched)
{
	const struct swap_step *unmatched = NULL;
	size_t count = 0;

	for (size_t i = swaps->rule[rule].first; i != SIZE_MAX; i = swaps->step[i].next)
		count++;
	*matched = mem_zero(count, sizeof **matched);
	count = 0;
	for (size_t i = swaps->rule[rule].first; i != SIZE_MAX; i = swaps->step[i].next, count++) {
		const struct swap_step *step = &swaps->step[i];

		if (step->kind != SWAP_ADD && !match_all(swaps, step, need, &(*matched)[count]) &&
		    unmatched == NULL)
			unmatched = step;
	}
	return unmatched;
}

bool
swaps_only_adds(const struct swaps *swaps, size_t rule)
{
	for (size_t i = swaps->rule[rule].first; i != SIZE_MAX; i = swaps->step[i].next)
		if (swaps->step[i].kind != SWAP_ADD)
			return false;
	return true;
}

void
swaps_add(struct swaps *swaps, size_t rule, struct need *need, struct swap_touch *touched)
{
	struct work work = {.swaps = swaps, .rule = &swaps->rule[rule], .need = need};

	for (size_t i = swaps->rule[rule].first; i != SIZE_MAX; i = swaps->step[i].next) {
		touched[i] = (struct swap_touch){0};
		add_lot(&work, &swaps->step[i], &touched[i]);
	}
	write_added(&work);
	end_work(&work);
}

const struct swap_step *
swaps_apply(struct swaps *swaps, size_t rule, struct need *need, struct swap_touch *touched)
{
	bool **matched;
	const struct swap_step *unmatched = match_steps(swaps, rule, need, &matched);
	size_t count = 0;

	if (unmatched == NULL) {
		struct work work = start_work(swaps, rule, need);

		for (size_t i = swaps->rule[rule].first; i != SIZE_MAX; i = swaps->step[i].next)
			apply_step(&work, &swaps->step[i], matched[count++], &touched[i]);
		settle(&work);
		write_back(&work);
		end_work(&work);
		need_merge(need);
	}
	count = 0;
	for (size_t i = swaps->rule[rule].first; i != SIZE_MAX; i = swaps->step[i].next)
		free(matched[count++]);
	free(matched);
	return unmatched;
}
