#include "trade/pricing.h"

#include "base/err.h"
#include "base/fraction.h"

#include <stdlib.h>
#include <string.h>

/* ---- the pieces to be found ---- */

static void
add_key(struct text *key, const char *text)
{
	text_add(key, text, strlen(text) + 1);
}

/* What rows agree in that are bought as one. */
static void
purchase_key(const struct need_row *row, struct text *key)
{
	text_clear(key);
	if (*row->text[NEED_LOT] != '\0') {
		add_key(key, row->text[NEED_LOT]);
		return;
	}
	add_key(key, "");
	add_key(key, row->text[NEED_PART]);
	add_key(key, row->text[NEED_COLOR]);
	add_key(key, need_condition_is_any(row) ? ANY_CONDITION : row->text[NEED_CONDITION]);
	add_key(key, row->text[NEED_NOT_COLOR]);
}

/* What is bought as one, by number. */
struct purchases {
	size_t *of_row; /* by row of the need; owned */
	int64_t *pieces;
	size_t count;
};

static struct purchases
find_purchases(const struct need *need)
{
	struct purchases all = {.of_row = mem_alloc(need->count * sizeof *all.of_row),
	                        .pieces = mem_zero(need->count, sizeof *all.pieces)};
	struct names keys = {0};
	struct text key = {0};

	for (size_t i = 0; i < need->count; i++) {
		const struct need_row *row = &need->row[i];

		purchase_key(row, &key);
		all.of_row[i] = names_add_bytes(&keys, key.bytes, key.length);
		if (*row->text[NEED_LOT] != '\0')
			all.pieces[all.of_row[i]] = row->qty;
		else
			all.pieces[all.of_row[i]] += row->qty;
	}
	all.count = keys.count;
	text_free(&key);
	names_free(&keys);
	return all;
}

/* ---- the best price ---- */

static int
compare_need_rows(const struct need_row *a, const struct need_row *b, size_t others)
{
	static const enum need_column first[] = {NEED_PART, NEED_COLOR, NEED_CONDITION,
	                                         NEED_LOT,  NEED_GROUP, NEED_MODEL};
	int order = 0;

	for (size_t i = 0; order == 0 && i < sizeof first / sizeof *first; i++)
		order = strcmp(a->text[first[i]], b->text[first[i]]);
	if (order == 0)
		order = (a->qty < b->qty) - (a->qty > b->qty);
	for (size_t i = 0; order == 0 && i < NEED_COLUMNS; i++)
		order = i == NEED_QTY ? 0 : strcmp(a->text[i], b->text[i]);
	for (size_t i = 0; order == 0 && i < others; i++)
		order = strcmp(a->other[i], b->other[i]);
	return order;
}

/* Less than 0: price a is better for so many pieces than b, of which either may be NULL. */
static int
compare_prices(const struct price *a, int64_t a_penalty, const struct price *b, int64_t b_penalty,
               int64_t pieces)
{
	bool a_has, b_has;
	wide a_cost, b_cost;

	if (a == NULL || b == NULL)
		return (a == NULL) - (b == NULL);
	a_has = a->pieces >= pieces;
	b_has = b->pieces >= pieces;
	a_cost = (wide)a->asked + a_penalty;
	b_cost = (wide)b->asked + b_penalty;
	if (a_has != b_has)
		return a_has ? -1 : 1;
	if (!a_has && a->pieces != b->pieces)
		return a->pieces > b->pieces ? -1 : 1;
	return (a_cost > b_cost) - (a_cost < b_cost);
}

/* Of equal prices the first by color and condition. */
static const struct price *
best_price(struct need *need, const struct need_row *row, const struct price_list *list,
           int64_t pieces)
{
	const struct price *price, *best = NULL;
	size_t count = price_list_part(list, row->text[NEED_PART], &price);

	for (size_t i = 0; i < count; i++)
		if (need_fits(need, row, price[i].part, price[i].color, price[i].condition) &&
		    compare_prices(&price[i], 0, best, 0, pieces) < 0)
			best = &price[i];
	return best;
}

/* Less than 0: of two alternatives the first is better. */
static int
compare_alternatives(const struct priced_row *a, const struct priced_row *b, size_t others)
{
	int order = compare_prices(a->price, a->row->penalty, b->price, b->row->penalty, a->pieces);

	return order != 0 ? order : compare_need_rows(a->row, b->row, others);
}

/* Marks the best row of each lot, and says what it costs. */
static void
choose_rows(struct pricing *pricing, size_t lots, size_t others)
{
	struct priced_row **best = mem_zero(lots, sizeof *best);

	for (size_t i = 0; i < pricing->count; i++) {
		struct priced_row *row = &pricing->row[i], **of_lot = &best[row->lot];

		if (*of_lot == NULL || compare_alternatives(row, *of_lot, others) < 0)
			*of_lot = row;
	}
	for (size_t i = 0; i < lots; i++) {
		struct priced_row *row = best[i];

		row->counts = true;
		if (row->price == NULL)
			continue;
		row->amount = (wide)row->price->asked * row->row->qty;
		if (!wide_add(pricing->total, row->amount, &pricing->total))
			die("the amounts are too large to be added up");
	}
	free(best);
}

/* ---- order ---- */

/* What rows are sorted by: their lot's best row, and what they are in it. */
struct sort_key {
	const struct priced_row *best, *row;
};

static int
by_cost(const void *a, const void *b, void *data)
{
	const struct sort_key *left = a, *right = b;
	const size_t others = ((const struct need *)data)->others;
	const struct priced_row *one = left->best, *other = right->best;
	int order = (one->price == NULL) - (other->price == NULL);

	if (order == 0)
		order = (one->amount < other->amount) - (one->amount > other->amount);
	if (order == 0)
		order = compare_need_rows(one->row, other->row, others);
	if (order == 0 && one->lot != other->lot)
		order = one->lot < other->lot ? -1 : 1;
	if (order == 0)
		order = right->row->counts - left->row->counts;
	return order != 0 ? order : compare_alternatives(left->row, right->row, others);
}

/* Sorts the rows; rows equal in all they say may stand in any order. */
static void
sort_rows(struct pricing *pricing, const struct need *need, size_t lots)
{
	const struct priced_row **best = mem_zero(lots, sizeof *best);
	struct sort_key *key = mem_alloc(pricing->count * sizeof *key);
	struct priced_row *sorted = mem_alloc(pricing->count * sizeof *sorted);

	for (size_t i = 0; i < pricing->count; i++)
		if (pricing->row[i].counts)
			best[pricing->row[i].lot] = &pricing->row[i];
	for (size_t i = 0; i < pricing->count; i++)
		key[i] = (struct sort_key){best[pricing->row[i].lot], &pricing->row[i]};
	if (pricing->count > 0)
		qsort_r(key, pricing->count, sizeof *key, by_cost, (void *)need);
	for (size_t i = 0; i < pricing->count; i++)
		sorted[i] = *key[i].row;
	free(pricing->row);
	pricing->row = sorted;
	free(key);
	free(best);
}

/* Is part / whole at most so many percent? */
static bool
is_within(wide part, wide whole, int64_t percent)
{
	const struct fraction share = {part, whole}, limit = {percent, 100 * MICRO};

	return fraction_compare(share, limit) <= 0;
}

static void
add_up(struct pricing *pricing, const int64_t band[2])
{
	wide cumulative = 0;

	for (size_t i = 0; i < pricing->count; i++) {
		struct priced_row *row = &pricing->row[i];
		bool dearest = cumulative == 0;

		if (!row->counts || row->price == NULL || pricing->total == 0)
			continue;
		cumulative += row->amount;
		row->cumulative = cumulative;
		row->band = dearest || is_within(cumulative, pricing->total, band[0]) ? BAND_A
		            : is_within(cumulative, pricing->total, band[1])          ? BAND_B
		                                                                      : BAND_C;
	}
}

/* ---- dear ---- */

static int
by_amount(const void *a, const void *b)
{
	int64_t left = *(const int64_t *)a, right = *(const int64_t *)b;

	return (left > right) - (left < right);
}

/* Is it more than so many times the median of the part's other colors? */
static bool
is_dear(const struct price_list *list, const struct price *price, int64_t times)
{
	const struct price *other;
	size_t count = price_list_part(list, price->part, &other), found = 0;
	int64_t *median = mem_alloc(count * sizeof *median);
	bool dear = false;

	for (size_t i = 0; i < count; i++)
		if (strcmp(other[i].color, price->color) != 0 &&
		    strcmp(other[i].condition, price->condition) == 0)
			median[found++] = other[i].median;
	if (found > 0) {
		wide twice;

		qsort(median, found, sizeof *median, by_amount);
		twice = (wide)median[(found - 1) / 2] + median[found / 2];
		dear = (wide)price->asked * 2 * MICRO > twice * times;
	}
	free(median);
	return dear;
}

/* The rows that ask for each part, by number of the names. */
struct wanted {
	struct names parts;
	size_t *first, *next; /* row + 1, 0: none; owned */
};

static struct wanted
find_wanted(const struct need *need)
{
	struct wanted wanted = {.first = mem_zero(need->count, sizeof *wanted.first),
	                        .next = mem_zero(need->count, sizeof *wanted.next)};

	for (size_t i = 0; i < need->count; i++) {
		size_t part = names_add(&wanted.parts, need->row[i].text[NEED_PART]);

		wanted.next[i] = wanted.first[part];
		wanted.first[part] = i + 1;
	}
	return wanted;
}

static void
wanted_free(struct wanted *wanted)
{
	names_free(&wanted->parts);
	free(wanted->first);
	free(wanted->next);
}

/* What the seller in hand has for each purchase. */
struct holding {
	size_t seller; /* the last one who had any of it */
	size_t offer;  /* the last offer counted */
	int64_t pieces;
	bool enough;
};

/* Adds an offer to what its seller has; the first time that is enough, the seller counts. */
static void
add_offer(struct holding *held, const struct packed_offer *offer, size_t at, int64_t pieces,
          int64_t *sellers)
{
	if (held->offer == at) /* it fits two rows of the purchase */
		return;
	if (held->offer == 0 || held->seller != offer->seller)
		*held = (struct holding){.seller = offer->seller};
	held->offer = at;
	if (held->enough)
		return;
	held->pieces = offer->qty == QTY_UNLIMITED ? QTY_UNLIMITED : held->pieces + offer->qty;
	held->enough = held->pieces >= pieces;
	*sellers += held->enough;
}

/* How many sellers have all pieces of each purchase; the caller frees it. */
static int64_t *
count_sellers(struct need *need, const struct purchases *purchases, const struct market *market)
{
	struct holding *held = mem_zero(purchases->count, sizeof *held);
	int64_t *sellers = mem_zero(purchases->count, sizeof *sellers);
	struct wanted wanted = find_wanted(need);
	char *const *text = market->offers.texts.name;
	struct packed_offer offer;

	for (size_t at = 0; market_next_offer(market, &at, &offer);) {
		size_t part = names_find(&wanted.parts, text[offer.part]);
		size_t i = part != SIZE_MAX ? wanted.first[part] : 0;

		for (; i > 0; i = wanted.next[i - 1]) {
			size_t purchase = purchases->of_row[i - 1];

			if (need_fits(need, &need->row[i - 1], text[offer.part], text[offer.color],
			              text[offer.condition]))
				add_offer(&held[purchase], &offer, at, purchases->pieces[purchase],
				          &sellers[purchase]);
		}
	}
	wanted_free(&wanted);
	free(held);
	return sellers;
}

/* By the list: who sells it, and how many can have all pieces of it at most. */
static int64_t
listed_sellers(const struct priced_row *row, int64_t *having)
{
	int64_t sellers = row->price != NULL ? row->price->sellers : 0;

	*having = row->price != NULL && row->price->pieces < row->pieces ? 0 : sellers;
	return sellers;
}

static void
judge(struct priced_row *row, const struct price_list *list, const int64_t *sellers,
      const struct pricing_options *options)
{
	int64_t having;

	row->sellers = listed_sellers(row, &having);
	if (sellers != NULL)
		row->sellers = having = row->counts ? *sellers : NOT_GIVEN;
	if (!row->counts || row->row->qty == 0)
		return;
	row->is_dear = row->price != NULL && is_dear(list, row->price, options->dear);
	row->is_scarce = having != NOT_GIVEN && having < options->scarce;
}

/* ---- all of it ---- */

void
pricing_make(struct pricing *pricing, struct need *need, const struct price_list *list,
             const struct market *market, const struct pricing_options *options)
{
	struct purchases purchases = find_purchases(need);
	int64_t *sellers = market != NULL ? count_sellers(need, &purchases, market) : NULL;
	size_t lots, *lot = need_lot_numbers(need, &lots);

	*pricing = (struct pricing){.row = mem_zero(need->count, sizeof *pricing->row),
	                            .count = need->count};
	for (size_t i = 0; i < need->count; i++) {
		struct priced_row *row = &pricing->row[i];

		row->row = &need->row[i];
		row->lot = lot[i];
		row->pieces = purchases.pieces[purchases.of_row[i]];
		row->price = best_price(need, row->row, list, row->pieces);
	}
	choose_rows(pricing, lots, need->others);
	for (size_t i = 0; i < need->count; i++)
		judge(&pricing->row[i], list,
		      sellers != NULL ? &sellers[purchases.of_row[i]] : NULL, options);
	sort_rows(pricing, need, lots);
	add_up(pricing, options->band);
	free(purchases.of_row);
	free(purchases.pieces);
	free(sellers);
	free(lot);
}

void
pricing_free(struct pricing *pricing)
{
	free(pricing->row);
	*pricing = (struct pricing){0};
}
