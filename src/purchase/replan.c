#include "purchase/replan.h"

#include "base/err.h"
#include "purchase/kept_lines.h"

#include <stdlib.h>
#include <string.h>

/* ---- the need behind order lines ---- */

/* What the rows of a need are made of. */
struct rebuilder {
	const struct orders *orders;
	struct need *need;
	struct names keys;  /* of rows: lot, part, color, condition */
	struct names parts; /* and what a piece of them weighs, NOT_GIVEN where lines differ: */
	int64_t *grams;
	struct numbering numbering;
	struct names lots, named; /* what the lines call lots, and what rows are called */
};

static void
weigh_parts(struct rebuilder *b)
{
	const struct orders *orders = b->orders;

	b->grams = mem_alloc((orders->count + 1) * sizeof *b->grams);
	for (size_t i = 0; i < orders->count; i++) {
		const struct order_line *line = &orders->row[i];
		size_t before = b->parts.count, part = names_add(&b->parts, line->part);

		if (b->parts.count > before)
			b->grams[part] = line->grams;
		else if (b->grams[part] != line->grams)
			b->grams[part] = NOT_GIVEN;
	}
}

static size_t
key_of(struct rebuilder *b, const struct order_line *line)
{
	const char *const part[] = {line->lot, line->part, line->color, line->condition};
	struct text key = {0};
	size_t number;

	for (size_t i = 0; i < sizeof part / sizeof *part; i++) {
		text_adds(&key, part[i]);
		text_addc(&key, '\x1F');
	}
	number = names_add_bytes(&b->keys, key.bytes, key.length);
	text_free(&key);
	return number;
}

/* The lot's name for the first of its kinds; then with #2, #3, ... behind it, where no lot is
 * called so. */
static const char *
free_name(struct rebuilder *b, const char *lot)
{
	struct text name = {0};
	size_t before = b->named.count, *number = numbering_next(&b->numbering, lot);
	const char *copy;

	text_adds(&name, lot);
	names_add(&b->named, lot);
	while (b->named.count == before) {
		text_clear(&name);
		text_adds(&name, lot);
		numbering_add(&name, number);
		if (names_find(&b->lots, name.bytes) == SIZE_MAX)
			names_add(&b->named, name.bytes);
	}
	copy = arena_copy(&b->need->arena, name.bytes, name.length);
	text_free(&name);
	return copy;
}

static void
add_need_row(struct rebuilder *b, const struct order_line *line)
{
	struct need_row row = {.worth = NOT_GIVEN,
	                       .grams = b->grams[names_find(&b->parts, line->part)],
	                       .line = line->line};

	for (size_t i = 0; i < NEED_COLUMNS; i++)
		row.text[i] = "";
	row.text[NEED_LOT] = *line->lot != '\0' ? free_name(b, line->lot) : "";
	row.text[NEED_PART] = line->part;
	row.text[NEED_COLOR] = line->color;
	row.text[NEED_CONDITION] = line->condition;
	need_add(b->need, &row);
}

struct need *
replan_need(const struct orders *orders)
{
	struct rebuilder b = {.orders = orders, .need = mem_zero(1, sizeof *b.need)};

	b.need->file = orders->file;
	for (size_t i = 0; i < NEED_COLUMNS; i++)
		b.need->column[i] = NO_COLUMN;
	weigh_parts(&b);
	for (size_t i = 0; i < orders->count; i++)
		names_add(&b.lots, orders->row[i].lot);
	for (size_t i = 0; i < orders->count; i++) {
		const struct order_line *line = &orders->row[i];
		size_t before = b.keys.count, key;

		if (line->qty == line->surplus)
			continue;
		key = key_of(&b, line);
		if (b.keys.count > before)
			add_need_row(&b, line);
		b.need->row[key].qty += line->qty - line->surplus;
		if (b.need->row[key].qty > QTY_MOST)
			die("%s:%zu: the lines of this lot have more than %lld pieces together",
			    orders->file, line->line, (long long)QTY_MOST);
	}
	names_free(&b.keys);
	names_free(&b.parts);
	names_free(&b.lots);
	names_free(&b.named);
	numbering_free(&b.numbering);
	free(b.grams);
	return b.need;
}

/* ---- the search ---- */

static int
compare_written(void *data, const struct plan *a, const struct plan *b)
{
	return purchase_compare(data, a, b);
}

void
replan_search(struct replan *replan, const struct purchase_input *input, uint64_t effort)
{
	const struct search_options options = {
	    .effort = effort, .compare = compare_written, .data = &replan->purchase};
	const struct plan *plan = &replan->result.plan;

	purchase_init(&replan->purchase, input);
	search_plan(&replan->purchase.model, &options, &replan->result);
	kept_lines_use(&replan->purchase, &replan->result.plan);
	purchase_orders(&replan->purchase, plan, &replan->orders);
	replan->penalties = plan->penalties;
	replan->worth = plan->worth;
	replan->cost = plan->cost;
	replan->unmet = plan->unmet;
}

void
replan_free(struct replan *replan)
{
	orders_free(&replan->orders);
	plan_free(&replan->result.plan);
	purchase_free(&replan->purchase);
}
