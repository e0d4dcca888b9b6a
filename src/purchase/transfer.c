#include "purchase/transfer.h"

#include <stdlib.h>
#include <string.h>

/* ---- who is who ---- */

/* Offers by their number, kept lines by theirs, owned stock by where its first row's text lives. */
static uint64_t
listing_key(const struct purchase *p, size_t j)
{
	const struct purchase_listing *pl = &p->listing[j];

	if (pl->kept_line != SIZE_MAX)
		return (uint64_t)pl->kept_line * 4 + 1;
	if (pl->offer == NULL)
		return (uint64_t)(uintptr_t)pl->part * 4 + 2;
	return (uint64_t)pl->of_break[0] * 4;
}

/* FNV-1a (Fowler, Noll, Vo), 64 bits; the end of the string counts. */
static uint64_t
add_print(uint64_t print, const char *string)
{
	for (size_t i = 0;; i++) {
		print = (print ^ (unsigned char)string[i]) * UINT64_C(1099511628211);
		if (string[i] == '\0')
			return print;
	}
}

static uint64_t
kind_print(const struct purchase *p, size_t row)
{
	const struct need_row *need = &p->input.need->row[p->row_need[row]];
	uint64_t print = UINT64_C(14695981039346656037);

	print = add_print(print, need->text[NEED_PART]);
	print = add_print(print, need->text[NEED_COLOR]);
	return add_print(print, need->text[NEED_CONDITION]);
}

static uint64_t
row_print(const struct purchase *p, size_t row)
{
	return add_print(kind_print(p, row), p->lot[p->model.row[row].lot].name);
}

/* ---- taking ---- */

static int
compare_prices(const void *a, const void *b)
{
	const struct transfer_price *x = a, *y = b;

	if (x->row != y->row)
		return x->row < y->row ? -1 : 1;
	return x->price < y->price ? -1 : x->price > y->price;
}

static void
take_prices(struct transfer *transfer, const struct purchase *purchase, const double *price)
{
	const struct model *model = &purchase->model;

	transfer->price = mem_alloc((model->rows + 1) * sizeof *transfer->price);
	for (size_t r = 0; r < model->rows; r++)
		transfer->price[transfer->prices++] =
		    (struct transfer_price){kind_print(purchase, r), price[model->row[r].lot]};
	qsort(transfer->price, transfer->prices, sizeof *transfer->price, compare_prices);
}

static int
compare_uses(const void *a, const void *b)
{
	const struct transfer_use *x = a, *y = b;

	if (x->listing != y->listing)
		return x->listing < y->listing ? -1 : 1;
	return x->row < y->row ? -1 : x->row > y->row;
}

void
transfer_take(struct transfer *transfer, const struct purchase *purchase, const struct plan *plan,
              const double *price)
{
	const struct model *model = &purchase->model;

	for (size_t j = 0; j < model->listings; j++) {
		const struct model_listing *l = &model->listing[j];

		if (plan->bought[j] == 0)
			continue;
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			if (plan->used[e] == 0)
				continue;
			MEM_ROOM(transfer->use, transfer->uses, transfer->room);
			transfer->use[transfer->uses++] =
			    (struct transfer_use){.listing = listing_key(purchase, j),
			                          .row = row_print(purchase, model->edge[e]),
			                          .bought = plan->bought[j],
			                          .used = plan->used[e],
			                          .chosen = plan->chosen[j]};
		}
	}
	if (transfer->uses > 0)
		qsort(transfer->use, transfer->uses, sizeof *transfer->use, compare_uses);
	take_prices(transfer, purchase, price);
}

void
transfer_pack(const struct transfer *transfer, struct text *bytes)
{
	const size_t counts[] = {transfer->uses, transfer->prices};

	text_add(bytes, (const char *)counts, sizeof counts);
	if (transfer->uses > 0)
		text_add(bytes, (const char *)transfer->use,
		         transfer->uses * sizeof *transfer->use);
	if (transfer->prices > 0)
		text_add(bytes, (const char *)transfer->price,
		         transfer->prices * sizeof *transfer->price);
}

bool
transfer_unpack(struct transfer *transfer, const char *bytes, size_t length)
{
	size_t counts[2];

	if (length < sizeof counts)
		return false;
	memcpy(counts, bytes, sizeof counts);
	bytes += sizeof counts;
	if (length !=
	    sizeof counts + counts[0] * sizeof *transfer->use + counts[1] * sizeof *transfer->price)
		return false;
	*transfer = (struct transfer){.use = mem_copy(bytes, counts[0], sizeof *transfer->use),
	                              .uses = counts[0],
	                              .room = counts[0],
	                              .price = mem_copy(bytes + counts[0] * sizeof *transfer->use,
	                                                counts[1], sizeof *transfer->price),
	                              .prices = counts[1]};
	return true;
}

void
transfer_free(struct transfer *transfer)
{
	free(transfer->use);
	free(transfer->price);
	*transfer = (struct transfer){0};
}

/* ---- putting ---- */

/* The first use of a listing, or NULL; *count of them. */
static const struct transfer_use *
uses_of(const struct transfer *transfer, uint64_t listing, size_t *count)
{
	size_t low = 0, high = transfer->uses;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (transfer->use[middle].listing < listing)
			low = middle + 1;
		else
			high = middle;
	}
	*count = 0;
	while (low + *count < transfer->uses && transfer->use[low + *count].listing == listing)
		++*count;
	return *count > 0 ? &transfer->use[low] : NULL;
}

struct putting {
	const struct transfer *transfer;
	const struct purchase *p;
	struct plan *plan;
	int64_t *room;   /* by lot: pieces that it still lacks */
	int64_t *left;   /* by listing: pieces for rows that are not there any more */
	uint64_t *print; /* by row */
};

static void
use(struct putting *put, size_t edge, int64_t pieces)
{
	int64_t *room = &put->room[put->p->model.row[put->p->model.edge[edge]].lot];

	if (pieces > *room)
		pieces = *room;
	put->plan->used[edge] += pieces;
	*room -= pieces;
}

/* Uses the pieces for the rows that they were bought for. */
static void
put_as_before(struct putting *put, size_t j)
{
	const struct model_listing *l = &put->p->model.listing[j];
	size_t count;
	const struct transfer_use *first = uses_of(put->transfer, listing_key(put->p, j), &count);

	if (first == NULL)
		return;
	put->plan->bought[j] = first->bought;
	put->plan->chosen[j] = first->chosen;
	for (size_t k = 0; k < count; k++) {
		put->left[j] += first[k].used;
		for (size_t e = l->edge; e < l->edge + l->edges; e++) {
			int64_t was = put->plan->used[e];

			if (put->print[put->p->model.edge[e]] != first[k].row)
				continue;
			use(put, e, first[k].used);
			put->left[j] -= put->plan->used[e] - was;
			break;
		}
	}
}

/* Uses what is left for rows that lack pieces. */
static void
put_elsewhere(struct putting *put, size_t j)
{
	const struct model_listing *l = &put->p->model.listing[j];

	for (size_t e = l->edge; e < l->edge + l->edges && put->left[j] > 0; e++) {
		int64_t was = put->plan->used[e];

		if (put->p->model.row[put->p->model.edge[e]].label != NO_LABEL)
			continue;
		use(put, e, put->left[j]);
		put->left[j] -= put->plan->used[e] - was;
	}
}

void
transfer_put(const struct transfer *transfer, const struct purchase *purchase, struct plan *plan)
{
	const struct model *model = &purchase->model;
	struct putting put = {.transfer = transfer, .p = purchase, .plan = plan};

	plan_init(plan, model);
	put.room = mem_alloc((model->lots + 1) * sizeof *put.room);
	put.left = mem_zero(model->listings + 1, sizeof *put.left);
	put.print = mem_alloc((model->rows + 1) * sizeof *put.print);
	for (size_t i = 0; i < model->lots; i++)
		put.room[i] = model->lot[i].need;
	for (size_t r = 0; r < model->rows; r++)
		put.print[r] = row_print(purchase, r);
	for (size_t j = 0; j < model->listings; j++)
		put_as_before(&put, j);
	for (size_t j = 0; j < model->listings; j++)
		put_elsewhere(&put, j);
	free(put.room);
	free(put.left);
	free(put.print);
}

/* The first price of a row like this, or NULL. */
static const double *
price_of(const struct transfer *transfer, uint64_t row)
{
	size_t low = 0, high = transfer->prices;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (transfer->price[middle].row < row)
			low = middle + 1;
		else
			high = middle;
	}
	return low < transfer->prices && transfer->price[low].row == row
	           ? &transfer->price[low].price
	           : NULL;
}

void
transfer_prices(const struct transfer *transfer, const struct purchase *purchase, double *price)
{
	const struct model *model = &purchase->model;

	for (size_t i = 0; i < model->lots; i++) {
		const double *least = NULL;

		for (size_t r = model->lot[i].row; r < model->lot[i].row + model->lot[i].rows;
		     r++) {
			const double *here = price_of(transfer, kind_print(purchase, r));

			if (here != NULL && (least == NULL || *here < *least))
				least = here;
		}
		if (least != NULL)
			price[i] = *least;
	}
}
