#include "trade/model_totals.h"

#include "trade/apportion.h"

#include <stdlib.h>
#include <string.h>

#define FOR_NEED    "need"
#define FOR_SURPLUS "surplus"

/* Shares by seller, then by the row that bears them. */
struct borne {
	const struct share *share;
	size_t row;
};

static noreturn void
too_large(const char *what)
{
	die("%s: the figures are too large to count exactly", what);
}

/* Rows by name, the surplus last. */
static int
by_row(const void *a, const void *b)
{
	const struct share *x = ((const struct borne *)a)->share;
	const struct share *y = ((const struct borne *)b)->share;

	if (share_is_surplus(x) != share_is_surplus(y))
		return share_is_surplus(x) ? 1 : -1;
	return strcmp(x->model, y->model);
}

static int
by_seller(const void *a, const void *b)
{
	const struct borne *x = a, *y = b;
	int order = strcmp(x->share->seller, y->share->seller);

	return order != 0 ? order : (x->row > y->row) - (x->row < y->row);
}

/* Makes a row for each model and numbers the shares by it. */
static struct borne *
make_rows(struct model_totals *models, const struct shares *shares)
{
	struct borne *borne = mem_alloc(shares->count * sizeof *borne);

	models->row = mem_alloc(shares->count * sizeof *models->row);
	for (size_t i = 0; i < shares->count; i++)
		borne[i] = (struct borne){.share = &shares->row[i]};
	if (shares->count > 0)
		qsort(borne, shares->count, sizeof *borne, by_row);
	for (size_t i = 0; i < shares->count; i++) {
		const struct share *share = borne[i].share;

		if (i == 0 || by_row(&borne[i - 1], &borne[i]) != 0)
			models->row[models->count++] = (struct total_row){
			    .seller = share->model,
			    .route = share_is_surplus(share) ? FOR_SURPLUS : FOR_NEED};
		borne[i].row = models->count - 1;
	}
	if (shares->count > 0)
		qsort(borne, shares->count, sizeof *borne, by_seller);
	return borne;
}

/* The first of a seller's shares; *past: behind the last. */
static const struct borne *
shares_of(const struct borne *borne, size_t count, const char *seller, const struct borne **past)
{
	size_t low = 0, high = count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (strcmp(borne[middle].share->seller, seller) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	*past = borne + low;
	while (*past < borne + count && strcmp((*past)->share->seller, seller) == 0)
		++*past;
	return borne + low;
}

enum figure { GOODS, CHARGES, TAX, HOME_GOODS, HOME_CHARGES, HOME_TAX, ROUNDING, FIGURES };

static wide *
figure_of(struct total_row *row, enum figure which)
{
	switch (which) {
	case GOODS:
		return &row->goods;
	case CHARGES:
		return &row->charges;
	case TAX:
		return &row->tax;
	case HOME_GOODS:
		return &row->home_goods;
	case HOME_CHARGES:
		return &row->home_charges;
	case HOME_TAX:
		return &row->home_tax;
	default:
		return &row->rounding;
	}
}

/* What rows bear of one order, in the order of the rows. */
struct bearers {
	size_t *row;  /* numbers; owned */
	wide *weight; /* owned */
	wide *share;  /* owned */
	size_t count;
};

/* One figure of an order to the rows that bear it. */
static void
spread(struct model_totals *models, wide total, enum figure which, struct bearers *bearers)
{
	if (!apportion(total, bearers->weight, bearers->count, bearers->share))
		too_large(TOTAL_SELLER);
	for (size_t i = 0; i < bearers->count; i++) {
		wide *sum = figure_of(&models->row[bearers->row[i]], which);

		if (!wide_add(*sum, bearers->share[i], sum))
			too_large(TOTAL_SELLER);
	}
}

/* Who bears an order, by its shares, which are sorted by row. Where none weighs anything, it is the
 * first row of all. */
static struct bearers
bearers_of(const struct borne *first, const struct borne *past)
{
	size_t most = (size_t)(past - first) + 1;
	struct bearers bearers = {.row = mem_alloc(most * sizeof *bearers.row),
	                          .weight = mem_zero(most, sizeof *bearers.weight),
	                          .share = mem_alloc(most * sizeof *bearers.share)};
	bool is_free = true, weighs = false;

	for (const struct borne *b = first; b < past; b++)
		is_free = is_free && b->share->amount == 0;
	for (const struct borne *b = first; b < past; b++) {
		wide weight = is_free ? b->share->qty : b->share->amount;

		if (b == first || b->row != b[-1].row)
			bearers.row[bearers.count++] = b->row;
		bearers.weight[bearers.count - 1] += weight;
		weighs |= weight != 0;
	}
	if (!weighs) {
		bearers.row[0] = 0;
		bearers.count = 1;
	}
	return bearers;
}

static void
spread_order(struct model_totals *models, struct total_row order, const struct borne *first,
             const struct borne *past)
{
	struct bearers bearers = bearers_of(first, past);

	for (const struct borne *b = first; b < past; b++)
		models->row[b->row].pieces += b->share->qty;
	for (int i = 0; models->count > 0 && i < FIGURES; i++)
		spread(models, *figure_of(&order, (enum figure)i), (enum figure)i, &bearers);
	free(bearers.row);
	free(bearers.weight);
	free(bearers.share);
}

void
model_totals_make(struct model_totals *models, const struct totals *totals,
                  const struct shares *shares)
{
	struct borne *borne = make_rows(models, shares);

	for (size_t i = 0; i < totals->orders; i++) {
		const struct borne *past;
		const struct borne *first =
		    shares_of(borne, shares->count, totals->row[i].seller, &past);

		spread_order(models, totals->row[i], first, past);
	}
	for (size_t i = 0; i < models->count; i++) {
		struct total_row *row = &models->row[i];

		row->currency = totals->sum.currency;
		row->decimals = totals->sum.decimals;
		row->total = row->goods + row->charges + row->tax;
		row->home = row->home_goods + row->home_charges + row->home_tax + row->rounding;
	}
	free(borne);
}

void
model_totals_free(struct model_totals *models)
{
	free(models->row);
	*models = (struct model_totals){0};
}
