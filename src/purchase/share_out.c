#include "purchase/share_out.h"

#include <stdlib.h>
#include <string.h>

/* Pieces of a line for a row of the need. */
struct part_of_line {
	size_t need_row, line;
	int64_t qty;
};

struct sharing {
	const struct purchase *purchase;
	struct names lots;         /* a lot's number is that of its name */
	int64_t *missing;          /* by need row: pieces it has not got yet; owned */
	struct part_of_line *part; /* owned */
	size_t parts, room;
};

static bool
is_named(const struct purchase *p, size_t lot)
{
	return *p->input.need->row[p->lot[lot].need_row[0]].text[NEED_LOT] != '\0';
}

static struct sharing
start(const struct purchase *p)
{
	struct sharing s = {.purchase = p};

	s.missing = mem_zero(p->input.need->count, sizeof *s.missing);
	for (size_t i = 0; i < p->model.lots; i++) {
		const struct purchase_lot *lot = &p->lot[i];

		names_add(&s.lots, lot->name);
		for (size_t k = 0; k < (is_named(p, i) ? 1 : lot->need_rows); k++)
			s.missing[lot->need_row[k]] = p->input.need->row[lot->need_row[k]].qty;
	}
	return s;
}

static void
share_line(struct sharing *s, const struct order_line *line, size_t number)
{
	const struct purchase_lot *lot;
	int64_t pieces = line->qty - line->surplus;

	if (pieces == 0) /* a kept line may serve no lot at all */
		return;
	lot = &s->purchase->lot[names_find(&s->lots, line->lot)];
	for (size_t k = 0; k < lot->need_rows && pieces > 0; k++) {
		int64_t *missing = &s->missing[lot->need_row[k]];
		int64_t qty = pieces < *missing ? pieces : *missing;

		if (qty == 0)
			continue;
		MEM_ROOM(s->part, s->parts, s->room);
		s->part[s->parts++] = (struct part_of_line){lot->need_row[k], number, qty};
		*missing -= qty;
		pieces -= qty;
	}
}

static int
by_need_row(const void *left, const void *right)
{
	const struct part_of_line *a = left, *b = right;

	if (a->need_row != b->need_row)
		return a->need_row < b->need_row ? -1 : 1;
	return (a->line > b->line) - (a->line < b->line);
}

/* A share of a line that serves nobody as yet. */
static struct share
share_of(const struct order_line *line, int64_t qty)
{
	return (struct share){.model = "",
	                      .group = "",
	                      .lot = "",
	                      .part = line->part,
	                      .color = line->color,
	                      .condition = line->condition,
	                      .seller = line->seller,
	                      .qty = qty,
	                      .amount = (wide)qty * line->price};
}

void
share_out(const struct purchase *purchase, const struct orders *orders, struct shares *shares)
{
	struct sharing s = start(purchase);

	for (size_t i = 0; i < orders->count; i++)
		share_line(&s, &orders->row[i], i);
	if (s.parts > 0)
		qsort(s.part, s.parts, sizeof *s.part, by_need_row);
	for (size_t i = 0; i < s.parts; i++) {
		const struct need_row *row = &purchase->input.need->row[s.part[i].need_row];
		const struct order_line *line = &orders->row[s.part[i].line];
		struct share share = share_of(line, s.part[i].qty);

		share.model = row->text[NEED_MODEL];
		share.group = row->text[NEED_GROUP];
		share.lot = line->lot;
		shares_add(shares, &share);
	}
	for (size_t i = 0; i < orders->count; i++)
		if (orders->row[i].surplus > 0) {
			struct share share = share_of(&orders->row[i], orders->row[i].surplus);

			shares_add(shares, &share);
		}
	names_free(&s.lots);
	free(s.missing);
	free(s.part);
}
