#include "purchase/purchase.h"

#include "base/err.h"
#include "plan/cell.h"
#include "purchase/kept_lines.h"
#include "purchase/magnitude.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- lots ---- */

/* What makes rows outside lots one: part, color, condition, not_color, worth, together. */
static const char *
row_key(const struct need_row *row, struct arena *arena)
{
	static const enum need_column parts[] = {NEED_PART, NEED_COLOR, NEED_NOT_COLOR,
	                                         NEED_TOGETHER};
	struct text key = {0};
	const char *copy;
	char worth[32];

	for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
		text_adds(&key, row->text[parts[i]]);
		text_addc(&key, '\x1F');
	}
	text_adds(&key, need_condition_is_any(row) ? "" : row->text[NEED_CONDITION]);
	snprintf(worth, sizeof worth, "\x1F%lld", (long long)row->worth);
	text_adds(&key, worth);
	copy = arena_copy(arena, key.bytes, key.length);
	text_free(&key);
	return copy;
}

static void
add_need_row(struct purchase_lot *lot, size_t row, struct arena *arena)
{
	if ((lot->need_rows & (lot->need_rows - 1)) ==
	    0) { /* a power of two: there is no more room */
		size_t room = lot->need_rows ? 2 * lot->need_rows : 1;
		size_t *more = arena_alloc(arena, room * sizeof *more);

		if (lot->need_rows > 0)
			memcpy(more, lot->need_row, lot->need_rows * sizeof *more);
		lot->need_row = more;
	}
	lot->need_row[lot->need_rows++] = row;
}

static size_t
label_of(struct names *labels, const struct need_row *row)
{
	const char *label = row->text[NEED_TOGETHER];

	return *label == '\0' ? NO_LABEL : names_add(labels, label);
}

static void
check_alike(const struct need *need, size_t one, size_t other, struct faults *faults)
{
	const struct need_row *a = &need->row[one], *b = &need->row[other];

	if (a->penalty != b->penalty)
		fault(faults, b->line,
		      "penalty differs from that of line %zu, which asks for the "
		      "same: make them agree",
		      a->line);
	if (a->grams != NOT_GIVEN && b->grams != NOT_GIVEN && a->grams != b->grams)
		fault(faults, b->line,
		      "grams differ from those of line %zu, which asks for the "
		      "same: make them agree",
		      a->line);
}

struct lot_builder {
	struct purchase *purchase;
	struct need *need;
	struct names keys; /* of lots: "L" and name, or "R" and key of a row outside lots */
	struct names labels, taken;
	size_t *lot_of_key;
	size_t lots, rows, lot_room, row_room;
	struct faults faults;
};

static size_t
new_lot(struct lot_builder *b, const struct need_row *row)
{
	struct purchase *p = b->purchase;

	if (b->lots == b->lot_room) {
		b->lot_room = b->lot_room ? 2 * b->lot_room : 64;
		p->lot = mem_resize(p->lot, b->lot_room, sizeof *p->lot);
		p->model.lot = mem_resize(p->model.lot, b->lot_room, sizeof *p->model.lot);
		b->lot_of_key = mem_resize(b->lot_of_key, b->lot_room, sizeof *b->lot_of_key);
	}
	p->lot[b->lots] = (struct purchase_lot){0};
	p->model.lot[b->lots] = (struct model_lot){
	    .must = row->worth == NOT_GIVEN, .worth = row->worth == NOT_GIVEN ? 0 : row->worth};
	return b->lots++;
}

static void
find_lots(struct lot_builder *b)
{
	struct need *need = b->need;
	struct text key = {0};

	for (size_t r = 0; r < need->count; r++) {
		const struct need_row *row = &need->row[r];
		const char *name = row->text[NEED_LOT];
		size_t number, lot, before = b->keys.count;
		bool named = *name != '\0';

		if (row->qty == 0)
			continue;
		text_clear(&key);
		text_addc(&key, named ? 'L' : 'R');
		text_adds(&key, named ? name : row_key(row, &b->purchase->arena));
		number = names_add(&b->keys, key.bytes);
		if (number == before) {
			lot = new_lot(b, row);
			b->lot_of_key[number] = lot;
			b->purchase->model.lot[lot].need = row->qty;
		} else {
			lot = b->lot_of_key[number];
			if (!named) {
				check_alike(need, b->purchase->lot[lot].need_row[0], r, &b->faults);
				b->purchase->model.lot[lot].need += row->qty;
				if (b->purchase->model.lot[lot].need > QTY_MOST)
					fault(&b->faults, row->line,
					      "quantities of the same lot add up to more than "
					      "999999999");
			}
		}
		add_need_row(&b->purchase->lot[lot], r, &b->purchase->arena);
	}
	text_free(&key);
}

/* Takes the name with #2, or the first number behind it that is free. */
static void
number_name(struct lot_builder *b, struct numbering *numbering, const char *name, struct text *out)
{
	size_t *number = numbering_next(numbering, name), before = b->taken.count;

	do {
		text_clear(out);
		text_adds(out, name);
		numbering_add(out, number);
		names_add(&b->taken, out->bytes);
	} while (b->taken.count == before);
}

/* Named lots bear their names; others are called after the row, with #2 and so on where that is
 * taken already. */
static void
name_lots(struct lot_builder *b)
{
	struct purchase *p = b->purchase;
	struct numbering numbering = {0};

	for (int named = 1; named >= 0; named--)
		for (size_t i = 0; i < b->lots; i++) {
			const struct need_row *row = &b->need->row[p->lot[i].need_row[0]];
			const char *name = need_lot_name(row, &p->arena);
			struct text text = {0};
			size_t before = b->taken.count;

			if ((*row->text[NEED_LOT] != '\0') != named)
				continue;
			names_add(&b->taken, name);
			if (b->taken.count == before)
				number_name(b, &numbering, name, &text);
			p->lot[i].name = b->taken.count > before && text.length > 0
			                     ? arena_copy(&p->arena, text.bytes, text.length)
			                     : name;
			text_free(&text);
		}
	numbering_free(&numbering);
}

static void
add_model_row(struct lot_builder *b, size_t lot, size_t need_row)
{
	struct purchase *p = b->purchase;
	const struct need_row *row = &b->need->row[need_row];

	if (b->rows == b->row_room) {
		b->row_room = b->row_room ? 2 * b->row_room : 64;
		p->model.row = mem_resize(p->model.row, b->row_room, sizeof *p->model.row);
		p->row_need = mem_resize(p->row_need, b->row_room, sizeof *p->row_need);
	}
	p->model.row[b->rows] = (struct model_row){
	    .lot = lot, .penalty = row->penalty, .label = label_of(&b->labels, row)};
	p->row_need[b->rows++] = need_row;
}

static void
build_rows(struct lot_builder *b)
{
	struct purchase *p = b->purchase;

	for (size_t i = 0; i < b->lots; i++) {
		bool named = *b->need->row[p->lot[i].need_row[0]].text[NEED_LOT] != '\0';

		p->model.lot[i].row = b->rows;
		for (size_t k = 0; k < (named ? p->lot[i].need_rows : 1); k++)
			add_model_row(b, i, p->lot[i].need_row[k]);
		p->model.lot[i].rows = b->rows - p->model.lot[i].row;
		for (size_t k = p->model.lot[i].row; k + 1 < b->rows; k++)
			for (size_t n = k + 1; n < b->rows; n++)
				if (p->model.row[k].label != NO_LABEL &&
				    p->model.row[k].label == p->model.row[n].label)
					fault(
					    &b->faults, b->need->row[p->row_need[n]].line,
					    "two rows of lot \"%s\" share a label in \"together\": "
					    "only one of them can be taken in full",
					    text_show(&p->arena, p->lot[i].name));
	}
}

static void
build_lots(struct purchase *purchase, struct need *need)
{
	struct lot_builder b = {.purchase = purchase, .need = need, .faults.file = need->file};

	find_lots(&b);
	name_lots(&b);
	build_rows(&b);
	purchase->model.lots = b.lots;
	purchase->model.rows = b.rows;
	purchase->model.labels = b.labels.count;
	faults_end(&b.faults);
	names_free(&b.keys);
	names_free(&b.labels);
	names_free(&b.taken);
	free(b.lot_of_key);
}

/* ---- listings ---- */

struct listing_builder {
	struct purchase *p;
	const struct purchase_input *in;
	struct names parts;    /* of the need */
	size_t **rows_of_part; /* model rows, by part; ended by SIZE_MAX; owned by the arena */
	size_t listings, breaks, edges, sellers;
	size_t listing_room, brk_room, edge_room, seller_room;
	size_t unweighed; /* offers whose weight nothing says */
	struct faults faults;
};

static void
index_parts(struct listing_builder *b)
{
	const struct model *model = &b->p->model;
	size_t *count;

	for (size_t r = 0; r < model->rows; r++)
		names_add(&b->parts, b->in->need->row[b->p->row_need[r]].text[NEED_PART]);
	count = mem_zero(b->parts.count, sizeof *count);
	for (size_t r = 0; r < model->rows; r++)
		count[names_find(&b->parts, b->in->need->row[b->p->row_need[r]].text[NEED_PART])]++;
	b->rows_of_part = arena_alloc(&b->p->arena, (b->parts.count + 1) * sizeof *b->rows_of_part);
	for (size_t k = 0; k < b->parts.count; k++) {
		b->rows_of_part[k] =
		    arena_alloc(&b->p->arena, (count[k] + 1) * sizeof **b->rows_of_part);
		b->rows_of_part[k][count[k]] = SIZE_MAX;
		count[k] = 0;
	}
	for (size_t r = 0; r < model->rows; r++) {
		size_t k =
		    names_find(&b->parts, b->in->need->row[b->p->row_need[r]].text[NEED_PART]);

		b->rows_of_part[k][count[k]++] = r;
	}
	free(count);
}

static void
add_edge(struct listing_builder *b, size_t row)
{
	struct model *model = &b->p->model;

	MEM_ROOM(model->edge, b->edges, b->edge_room);
	model->edge[b->edges++] = row;
}

/* Edges of a listing; returns how many rows it fits. */
static size_t
add_edges(struct listing_builder *b, const char *part, const char *color, const char *condition)
{
	size_t k = names_find(&b->parts, part), before = b->edges;

	if (k == SIZE_MAX)
		return 0;
	for (const size_t *r = b->rows_of_part[k]; *r != SIZE_MAX; r++)
		if (need_fits(b->in->need, &b->in->need->row[b->p->row_need[*r]], part, color,
		              condition))
			add_edge(b, *r);
	return b->edges - before;
}

/* Grams of a piece that the rows from edge `first` on agree on, or NOT_GIVEN. */
static int64_t
need_grams(struct listing_builder *b, size_t first, const char *part)
{
	int64_t grams = NOT_GIVEN;
	const struct need_row *said = NULL;

	for (size_t e = first; e < b->edges; e++) {
		size_t lot = b->p->model.row[b->p->model.edge[e]].lot;

		for (size_t k = 0; k < b->p->lot[lot].need_rows; k++) {
			const struct need_row *row = &b->in->need->row[b->p->lot[lot].need_row[k]];

			if (row->grams == NOT_GIVEN || strcmp(row->text[NEED_PART], part) != 0)
				continue;
			if (said != NULL && row->grams != grams)
				fault(&b->faults, row->line,
				      "grams differ from those of line %zu, for a piece that fits "
				      "both: make them agree",
				      said->line);
			said = row;
			grams = row->grams;
		}
	}
	return grams;
}

static int64_t
piece_grams(struct listing_builder *b, int64_t offered, size_t first, const char *part)
{
	int64_t grams = offered;

	if (grams == NOT_GIVEN)
		grams = need_grams(b, first, part);
	if (grams == NOT_GIVEN && b->in->weights != NULL)
		grams = weights_find(b->in->weights, part);
	return grams;
}

static struct model_listing *
new_listing(struct listing_builder *b)
{
	struct purchase *p = b->p;

	if (b->listings == b->listing_room) {
		b->listing_room =
		    b->listing_room ? 2 * b->listing_room : b->in->offers->count + 256;
		p->model.listing =
		    mem_resize(p->model.listing, b->listing_room, sizeof *p->model.listing);
		p->listing = mem_resize(p->listing, b->listing_room, sizeof *p->listing);
	}
	p->model.listing[b->listings] = (struct model_listing){.brk = b->breaks, .edge = b->edges};
	p->listing[b->listings] = (struct purchase_listing){.kept_line = SIZE_MAX};
	return &p->model.listing[b->listings++];
}

static void
new_seller(struct listing_builder *b)
{
	struct purchase *p = b->p;

	if (b->sellers == b->seller_room) {
		b->seller_room = b->seller_room ? 2 * b->seller_room : 64;
		p->model.seller =
		    mem_resize(p->model.seller, b->seller_room, sizeof *p->model.seller);
		p->terms = mem_resize(p->terms, b->seller_room, sizeof *p->terms);
	}
	p->model.seller[b->sellers] = (struct model_seller){.listing = b->listings};
	p->terms[b->sellers++] = (struct seller_terms){0};
}

static void
add_break(struct listing_builder *b, int64_t least, int64_t price)
{
	struct model *model = &b->p->model;

	MEM_ROOM(model->brk, b->breaks, b->brk_room);
	model->brk[b->breaks++] = (struct model_break){least, price};
}

/* Numbers the kinds (part, color, condition) of the seller that was just built. */
static void
number_kinds(struct listing_builder *b)
{
	struct model_seller *seller = &b->p->model.seller[b->sellers - 1];

	for (size_t j = seller->listing; j < b->listings; j++) {
		const struct purchase_listing *here = &b->p->listing[j];
		const struct purchase_listing *last = j > seller->listing ? here - 1 : NULL;

		if (last == NULL || strcmp(here->part, last->part) != 0 ||
		    strcmp(here->color, last->color) != 0 ||
		    strcmp(here->condition, last->condition) != 0)
			seller->kinds++;
		b->p->model.listing[j].kind = seller->kinds - 1;
	}
	seller->listings = b->listings - seller->listing;
}

/* ---- owned stock ---- */

static int
compare_stock(const void *a, const void *b)
{
	const struct stock_row *x = *(const struct stock_row *const *)a;
	const struct stock_row *y = *(const struct stock_row *const *)b;
	int order = strcmp(x->part, y->part);

	if (order == 0)
		order = strcmp(x->color, y->color);
	if (order == 0)
		order = strcmp(x->condition, y->condition);
	return order;
}

static void
add_owned(struct listing_builder *b, const struct stock *stock)
{
	const struct stock_row **row = mem_alloc((stock->count + 1) * sizeof *row);

	b->p->owned = b->sellers;
	new_seller(b);
	for (size_t i = 0; i < stock->count; i++)
		row[i] = &stock->row[i];
	qsort(row, stock->count, sizeof *row, compare_stock);
	for (size_t i = 0; i < stock->count; i++) {
		const struct stock_row *s = row[i];
		struct model_listing *l;
		int64_t sum = s->qty;

		while (i + 1 < stock->count && compare_stock(&row[i], &row[i + 1]) == 0)
			sum += row[++i]->qty;
		if (sum == 0)
			continue;
		l = new_listing(b);
		l->seller = b->sellers - 1;
		l->most = sum;
		l->step = 1;
		l->edges = add_edges(b, s->part, s->color, s->condition);
		if (l->edges == 0) {
			b->listings--;
			continue;
		}
		add_break(b, 1, 0);
		l->breaks = 1;
		b->p->listing[b->listings - 1] =
		    (struct purchase_listing){.kept_line = SIZE_MAX,
		                              .part = s->part,
		                              .color = s->color,
		                              .condition = s->condition,
		                              .grams = piece_grams(b, s->grams, l->edge, s->part)};
	}
	number_kinds(b);
	free(row);
}

/* ---- what is kept of an earlier plan ---- */

/* Its pieces are there for any row that they fit, whatever row they were bought for. */
static void
add_kept(struct listing_builder *b)
{
	const struct kept *kept = b->in->kept;

	b->p->kept = b->sellers;
	new_seller(b);
	for (size_t i = 0; i < kept->orders.count; i++) {
		const struct order_line *line = &kept->orders.row[i];
		struct model_listing *l;

		if (kept->state[i] == KEPT_AFRESH)
			continue;
		l = new_listing(b);
		l->seller = b->sellers - 1;
		l->most = line->qty;
		l->step = 1;
		l->edges = add_edges(b, line->part, line->color, line->condition);
		if (l->edges == 0) {
			b->listings--;
			continue;
		}
		b->p->fits[i] = true;
		add_break(b, 1, 0);
		l->breaks = 1;
		b->p->listing[b->listings - 1] =
		    (struct purchase_listing){.kept_line = i,
		                              .part = line->part,
		                              .color = line->color,
		                              .condition = line->condition,
		                              .grams = line->grams};
	}
	number_kinds(b);
	if (b->p->model.seller[b->sellers - 1].listings == 0) {
		b->sellers--;
		b->p->kept = SIZE_MAX;
	}
}

/* ---- offers ---- */

bool
purchase_leaves_out(const struct purchase_input *in, const char *seller)
{
	const struct seller_row *row;

	for (size_t i = 0; i < in->withouts; i++)
		if (strcmp(in->without[i], seller) == 0)
			return true;
	if (in->route == NULL)
		return false;
	row = sellers_find(in->book->sellers, seller);
	return row == NULL || strcmp(row->route, in->route) != 0;
}

static void
add_class(const char **class, size_t *count, const char *name)
{
	size_t at = 0;

	if (*name == '\0')
		return;
	while (at < *count && strcmp(class[at], name) < 0)
		at++;
	if (at < *count && strcmp(class[at], name) == 0)
		return;
	memmove(&class[at + 1], &class[at], (*count - at) * sizeof *class);
	class[at] = name;
	++*count;
}

/* The different classes among a seller's offers and open lines, in byte order. */
static const char **
classes_of(struct listing_builder *b, size_t first, size_t last, size_t *count)
{
	const struct offers *offers = b->in->offers;
	const struct kept *kept = b->in->kept;
	size_t lines = kept == NULL ? 0 : kept->orders.count;
	const char **class = arena_alloc(&b->p->arena, (last - first + lines + 1) * sizeof *class);

	*count = 0;
	for (size_t i = first; i < last; i++)
		add_class(class, count, offers->offer[i].class);
	for (size_t i = 0; i < lines; i++)
		if (kept->state[i] == KEPT_OPEN &&
		    strcmp(kept->orders.row[i].seller,
		           offers->seller[offers->offer[first].seller]) == 0)
			add_class(class, count, kept->orders.row[i].class);
	return class;
}

static int
compare_breaks(const void *a, const void *b)
{
	const struct offer *x = *(const struct offer *const *)a,
	                   *y = *(const struct offer *const *)b;

	return x->least < y->least ? -1 : x->least > y->least;
}

/* One listing: the offers first .. last of one number (they stand together). */
static void
add_listing(struct listing_builder *b, const struct seller_terms *terms, const size_t *offer,
            size_t count)
{
	const struct offers *offers = b->in->offers;
	const struct offer *first = &offers->offer[offer[0]];
	const struct offer **sorted;
	struct model_listing *l = new_listing(b);
	struct purchase_listing *pl;
	int64_t grams;
	bool weighs = terms_weighs(terms, first->class);

	l->edges = add_edges(b, first->part, first->color, first->condition);
	if (l->edges == 0) {
		b->listings--;
		return;
	}
	sorted = arena_alloc(&b->p->arena, count * sizeof *sorted);
	for (size_t i = 0; i < count; i++)
		sorted[i] = &offers->offer[offer[i]];
	qsort(sorted, count, sizeof *sorted, compare_breaks);
	l->seller = b->sellers - 1;
	l->sum = terms_sum(terms, first->class);
	l->most = first->qty == QTY_UNLIMITED ? INT64_MAX : first->qty;
	l->step = first->step;
	l->breaks = count;
	pl = &b->p->listing[b->listings - 1];
	pl->of_break = arena_alloc(&b->p->arena, count * sizeof *pl->of_break);
	for (size_t i = 0; i < count; i++) {
		add_break(b, sorted[i]->least, sorted[i]->price);
		pl->of_break[i] = (size_t)(sorted[i] - offers->offer);
	}
	grams = piece_grams(b, first->grams, l->edge, first->part);
	if (weighs && grams == NOT_GIVEN && b->in->weighed_alone) {
		b->listings--;
		b->edges = l->edge;
		b->breaks = l->brk;
		return;
	}
	if (weighs && grams == NOT_GIVEN && b->unweighed++ < FAULTS_TOLD)
		tell_at(first->file, first->line,
		        "seller \"%s\" charges by weight, and nothing says what a piece of \"%s\" "
		        "weighs: add grams to the offer or the need, or give --weights",
		        text_show(&b->p->arena, offers->seller[first->seller]),
		        text_show(&b->p->arena, first->part));
	l->grams = weighs && grams != NOT_GIVEN ? grams : 0;
	pl->offer = first;
	pl->part = first->part;
	pl->color = first->color;
	pl->condition = first->condition;
	pl->grams = grams;
}

/* Does any offer of these fit the need at all? */
static bool
any_fits(struct listing_builder *b, size_t first, size_t last)
{
	for (size_t i = first; i < last; i++)
		if (names_find(&b->parts, b->in->offers->offer[i].part) != SIZE_MAX)
			return true;
	return false;
}

static bool
is_old(const struct purchase_input *in, const char *seller)
{
	return in->old_sellers != NULL && names_find(in->old_sellers, seller) != SIZE_MAX;
}

/* What buying from the seller adds to what --stay counts: nothing where an order is kept, less
 * where the old plan bought there, too. Micro home. */
static int64_t
stay_of(const struct purchase *p, const char *seller)
{
	const struct purchase_input *in = &p->input;

	if (kept_lines_have(p, seller))
		return 0;
	return is_old(in, seller) ? -in->stay : in->stay;
}

/* What --stay counts for buying from the seller or not is part of what an order of it costs. */
static void
count_staying(struct listing_builder *b)
{
	struct seller_terms *terms = &b->p->terms[b->sellers - 1];

	terms->terms.order_cost += stay_of(b->p, terms->name);
}

static bool
add_seller(struct listing_builder *b, size_t first, size_t last)
{
	const struct offers *offers = b->in->offers;
	size_t seller = offers->offer[first].seller, classes, listings = b->listings;
	const char *name = offers->seller[seller];
	const char **class;
	bool fits = true;
	size_t *group = mem_alloc((last - first) * sizeof *group);
	struct seller_terms terms;

	class = classes_of(b, first, last, &classes);
	if (!terms_compile(b->in->book, name, offers->currency[seller], class, classes,
	                   offers->offer[first].file, offers->offer[first].line, &b->p->arena,
	                   &terms)) {
		free(group);
		return false;
	}
	if (!purchase_leaves_out(b->in, name) && any_fits(b, first, last)) {
		new_seller(b);
		b->p->terms[b->sellers - 1] = terms;
		for (size_t i = first, count; i < last; i += count) {
			count = 0;
			/* Price breaks of one listing stand together. */
			for (size_t k = i; k < last && offers->offer[k].listing_number ==
			                                   offers->offer[i].listing_number;
			     k++)
				group[count++] = k;
			add_listing(b, &terms, group, count);
		}
		if (b->listings == listings) {
			b->sellers--;
		} else {
			number_kinds(b);
			fits = b->in->kept == NULL || kept_lines_set_basket(b->p, b->sellers - 1);
			count_staying(b);
		}
	}
	free(group);
	return fits;
}

/* May the percents that a seller takes off come to all that its goods cost? */
static bool
has_large_rebates(const struct terms *terms)
{
	wide off = 0;

	for (size_t c = 0; c < terms->charges; c++) {
		const struct charge *charge = &terms->charge[c];
		int64_t least = 0;

		for (size_t k = 0; k < charge->steps; k++)
			if (charge->step[k].percent < least)
				least = charge->step[k].percent;
		/* Of landed cost, which may be many times the goods, any percent may. */
		off += charge->basis == BASIS_LANDED && least < 0 ? INT64_MIN : least;
	}
	return off < -100 * (wide)MICRO;
}

/* Tells what sellers would pay for being bought from, the more the better. */
static bool
check_rebates(const struct purchase *purchase)
{
	const struct model *model = &purchase->model;
	struct arena arena = {0};
	bool fits = true;

	for (size_t s = 0; s < model->sellers; s++) {
		const struct model_seller *seller = &model->seller[s];
		const struct offer *offer;

		if (seller->terms == NULL || !has_large_rebates(seller->terms) ||
		    !cells_pay_for_goods(model, s))
			continue;
		offer = purchase->listing[seller->listing].offer;
		tell_at(offer->file, offer->line,
		        "the rebates of seller \"%s\" can come to more than its goods cost, and a "
		        "piece to less than nothing: lower a percent of its charges",
		        text_show(&arena, purchase->terms[s].name));
		fits = false;
	}
	arena_free(&arena);
	return fits;
}

/* Of the sellers from an offer on it is said how many they are. */
static void
tell_rest(const struct offers *offers, size_t from)
{
	size_t count = 0;

	for (size_t i = from; i < offers->count; i++)
		count += offers->offer[i].seller != offers->offer[i - 1].seller;
	if (count > 0)
		tell("%zu more seller%s not looked at", count, count > 1 ? "s were" : " was");
}

static void
build_listings(struct purchase *purchase)
{
	const struct offers *offers = purchase->input.offers;
	struct listing_builder b = {.p = purchase, .in = &purchase->input};
	size_t bad = 0;

	b.faults.file = purchase->input.need->file;
	index_parts(&b);
	purchase->owned = purchase->kept = SIZE_MAX;
	if (purchase->input.stock != NULL && purchase->input.stock->count > 0)
		add_owned(&b, purchase->input.stock);
	if (purchase->input.kept != NULL) {
		bad += !kept_lines_start(purchase);
		add_kept(&b);
	}
	for (size_t first = 0, last; first < offers->count; first = last) {
		for (last = first + 1; last < offers->count &&
		                       offers->offer[last].seller == offers->offer[first].seller;
		     last++)
			;
		if (!add_seller(&b, first, last) && ++bad == FAULTS_TOLD) {
			tell_rest(offers, last);
			break;
		}
	}
	faults_end(&b.faults);
	if (bad > 0 || b.unweighed > 0)
		exit(EXIT_TROUBLE);
	purchase->model.sellers = b.sellers;
	purchase->model.listings = b.listings;
	purchase->model.breaks = b.breaks;
	purchase->model.edges = b.edges;
	for (size_t s = 0; s < b.sellers; s++)
		if (s != purchase->owned && s != purchase->kept)
			purchase->model.seller[s].terms = &purchase->terms[s].terms;
	names_free(&b.parts);
	if (!check_rebates(purchase))
		exit(EXIT_TROUBLE);
}

void
purchase_init(struct purchase *purchase, const struct purchase_input *input)
{
	*purchase = (struct purchase){.input = *input};
	purchase->no_carry =
	    arena_alloc(&purchase->arena, input->offers->carried * sizeof *purchase->no_carry);
	for (size_t i = 0; i < input->offers->carried; i++)
		purchase->no_carry[i] = "";
	build_lots(purchase, input->need);
	build_listings(purchase);
	purchase->model.max_orders = input->max_orders;
	purchase->model.home_decimals = input->home_decimals;
	if (!magnitude_fits(purchase))
		exit(EXIT_TROUBLE);
}

void
purchase_free(struct purchase *purchase)
{
	struct model *model = &purchase->model;

	free(model->lot);
	free(model->row);
	free(model->seller);
	free(model->listing);
	free(model->brk);
	free(model->edge);
	free(purchase->lot);
	free(purchase->row_need);
	free(purchase->listing);
	free(purchase->terms);
	names_free(&purchase->kept_sellers);
	arena_free(&purchase->arena);
}

/* ---- from a plan ---- */

/* ---- staying with the old plan's sellers ---- */

wide
purchase_stay_constant(const struct purchase *purchase)
{
	const struct purchase_input *in = &purchase->input;
	wide all = 0;

	for (size_t i = 0; in->old_sellers != NULL && i < in->old_sellers->count; i++)
		if (!kept_lines_have(purchase, in->old_sellers->name[i]))
			all += (wide)in->stay * (NANO / MICRO);
	return all;
}

wide
purchase_stay(const struct purchase *purchase, const struct plan *plan)
{
	wide all = purchase_stay_constant(purchase);

	for (size_t s = 0; s < purchase->model.sellers; s++)
		if (purchase->model.seller[s].terms != NULL && plan_buys(plan, &purchase->model, s))
			all += (wide)stay_of(purchase, purchase->terms[s].name) * (NANO / MICRO);
	return all;
}

/* The line of a listing that serves a lot, as yet without quantity. */
static struct order_line
line_of(const struct purchase *p, const struct plan *plan, size_t j, size_t lot)
{
	const struct model_listing *l = &p->model.listing[j];
	const struct purchase_listing *pl = &p->listing[j];
	const struct seller_terms *terms = &p->terms[l->seller];
	const struct offer *offer;
	struct order_line line = {.lot = p->lot[lot].name,
	                          .part = pl->part,
	                          .color = pl->color,
	                          .condition = pl->condition,
	                          .grams = pl->grams,
	                          .class = "",
	                          .listing = "",
	                          .seller = OWNED_SELLER,
	                          .route = OWNED_ROUTE,
	                          .currency = p->input.book->home,
	                          .state = ""};

	if (pl->kept_line != SIZE_MAX)
		return kept_lines_written(p, pl->kept_line, line.lot);
	if (pl->offer == NULL) {
		line.carry = p->no_carry;
		return line;
	}
	offer = &p->input.offers->offer[pl->of_break[plan->chosen[j]]];
	line.class = offer->class;
	line.listing = offer->listing;
	line.carry = offer->carry;
	line.price = offer->price;
	line.seller = terms->name;
	line.route = terms->row->route;
	line.currency = terms->currency;
	line.state = kept_state_name(KEPT_AFRESH);
	return line;
}

static void
add_line(struct orders *orders, const struct order_line *line)
{
	MEM_ROOM(orders->row, orders->count, orders->room);
	orders->row[orders->count++] = *line;
}

/* Of a kept line all pieces are there, used or not. */
static int64_t
pieces_of(const struct purchase *p, const struct plan *plan, size_t j)
{
	return p->listing[j].kept_line != SIZE_MAX ? p->model.listing[j].most : plan->bought[j];
}

/* The lines of one listing: a line a lot, the surplus on the last of them as they are sorted. */
static void
add_lines(const struct purchase *p, const struct plan *plan, size_t j, struct orders *orders)
{
	const struct model_listing *l = &p->model.listing[j];
	size_t first = orders->count, last;
	int64_t surplus = pieces_of(p, plan, j);

	for (size_t e = l->edge; e < l->edge + l->edges; e++) {
		size_t lot = p->model.row[p->model.edge[e]].lot, at = first;
		struct order_line line;

		if (plan->used[e] == 0)
			continue;
		surplus -= plan->used[e];
		line = line_of(p, plan, j, lot);
		while (at < orders->count && strcmp(orders->row[at].lot, line.lot) != 0)
			at++;
		if (at < orders->count) {
			orders->row[at].qty += plan->used[e];
			continue;
		}
		line.qty = plan->used[e];
		add_line(orders, &line);
	}
	if (surplus == 0)
		return;
	if (orders->count == first) {
		struct order_line line =
		    line_of(p, plan, j, p->model.row[p->model.edge[l->edge]].lot);

		add_line(orders, &line);
	}
	last = first;
	for (size_t i = first + 1; i < orders->count; i++)
		if (orders_compare(&orders->row[i], &orders->row[last]) > 0)
			last = i;
	orders->row[last].qty += surplus;
	orders->row[last].surplus += surplus;
}

void
purchase_orders(const struct purchase *purchase, const struct plan *plan, struct orders *orders)
{
	const struct kept *kept = purchase->input.kept;

	*orders = (struct orders){.carry = purchase->input.offers->carry,
	                          .carried = purchase->input.offers->carried,
	                          .states = kept != NULL};
	for (size_t j = 0; j < purchase->model.listings; j++)
		if (pieces_of(purchase, plan, j) > 0)
			add_lines(purchase, plan, j, orders);
	for (size_t i = 0; kept != NULL && i < kept->orders.count; i++)
		if (kept->state[i] != KEPT_AFRESH && !purchase->fits[i]) {
			struct order_line line = kept_lines_written(purchase, i, "");

			line.qty = line.surplus = kept->orders.row[i].qty;
			add_line(orders, &line);
		}
	orders_sort(orders);
}

void
purchase_write(const struct purchase *purchase, const struct plan *plan, struct sheet *sheet)
{
	struct orders orders;

	purchase_orders(purchase, plan, &orders);
	orders_write(sheet, &orders);
	orders_free(&orders);
}

int
purchase_compare(const struct purchase *purchase, const struct plan *a, const struct plan *b)
{
	struct sheet one = {0}, other = {0};
	int order;

	purchase_write(purchase, a, &one);
	purchase_write(purchase, b, &other);
	order = strcmp(one.text.bytes, other.text.bytes);
	sheet_free(&one);
	sheet_free(&other);
	return order;
}

size_t
purchase_order_lots(const struct purchase *purchase, const struct plan *plan)
{
	const struct model *model = &purchase->model;
	size_t lots = 0;

	for (size_t s = 0; s < model->sellers; s++) {
		const struct model_seller *seller = &model->seller[s];
		unsigned char *seen;

		if (seller->terms == NULL)
			continue;
		seen = mem_zero(seller->kinds, 1);
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++)
			if (plan->bought[j] > 0 && !seen[model->listing[j].kind]) {
				seen[model->listing[j].kind] = 1;
				lots++;
			}
		free(seen);
	}
	return lots;
}

/* The rows of one lot that stay unmet: of alternatives all, of rows taken as one the last. */
static size_t
add_short(const struct purchase *p, size_t lot, int64_t unmet, struct need *out)
{
	const struct purchase_lot *pl = &p->lot[lot];
	const struct need *need = p->input.need;
	bool named = *need->row[pl->need_row[0]].text[NEED_LOT] != '\0';

	for (size_t k = pl->need_rows; k-- > 0 && unmet > 0;) {
		struct need_row row = need->row[pl->need_row[k]];

		if (named || row.qty > unmet)
			row.qty = unmet;
		need_add(out, &row);
		if (!named)
			unmet -= row.qty;
	}
	return 1;
}

static int
compare_lines(const void *a, const void *b)
{
	const struct need_row *x = a, *y = b;

	return x->line < y->line ? -1 : x->line > y->line;
}

size_t
purchase_short(const struct purchase *purchase, const struct plan *plan, struct sheet *sheet)
{
	const struct model *model = &purchase->model;
	const struct need *need = purchase->input.need;
	int64_t *filled = mem_zero(model->lots, sizeof *filled);
	struct need out = *need; /* the same columns, other rows */
	size_t lots = 0;

	out.row = NULL;
	out.count = out.room = 0;
	for (size_t e = 0; e < model->edges; e++)
		filled[model->row[model->edge[e]].lot] += plan->used[e];
	for (size_t i = 0; i < model->lots; i++)
		if (model->lot[i].must && filled[i] < model->lot[i].need)
			lots += add_short(purchase, i, model->lot[i].need - filled[i], &out);
	if (out.count > 0)
		qsort(out.row, out.count, sizeof *out.row, compare_lines);
	need_write(sheet, &out);
	free(out.row);
	free(filled);
	return lots;
}
