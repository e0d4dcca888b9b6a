#include "trade/market.h"

#include "base/err.h"
#include "trade/rates.h"
#include "trade/terms.h"

#include <stdlib.h>
#include <string.h>

enum { NO_TEXT = 0 }; /* the empty one */

void
market_read(struct market *market, struct table *table)
{
	packed_offers_read(&market->offers, table);
}

static const char *
text_of(const struct market *market, size_t number)
{
	return market->offers.texts.name[number];
}

static struct offer_place
place_of(const struct market *market, const struct packed_offer *offer)
{
	return (struct offer_place){text_of(market, offer->file), offer->line};
}

/* ---- order ---- */

static int
by_text(const void *a, const void *b, void *data)
{
	char *const *name = data;

	return strcmp(name[*(const uint32_t *)a], name[*(const uint32_t *)b]);
}

static void
rank_texts(struct market *market)
{
	size_t count = market->offers.texts.count;
	uint32_t *order = mem_alloc(count * sizeof *order);

	market->rank = mem_alloc(count * sizeof *market->rank);
	for (size_t i = 0; i < count; i++)
		order[i] = (uint32_t)i;
	if (count > 0)
		qsort_r(order, count, sizeof *order, by_text, market->offers.texts.name);
	for (size_t i = 0; i < count; i++)
		market->rank[order[i]] = (uint32_t)i;
	free(order);
}

static int
compare_sizes(size_t a, size_t b)
{
	return (a > b) - (a < b);
}

static int
compare_amounts(int64_t a, int64_t b)
{
	return (a > b) - (a < b);
}

static int
compare_texts(const struct market *market, size_t a, size_t b)
{
	return (market->rank[a] > market->rank[b]) - (market->rank[a] < market->rank[b]);
}

static int
compare_bytes(const unsigned char *a, size_t a_length, const unsigned char *b, size_t b_length)
{
	size_t shared = a_length < b_length ? a_length : b_length;
	int order = shared > 0 ? memcmp(a, b, shared) : 0;

	return order != 0 ? order : compare_sizes(a_length, b_length);
}

static int
compare_listings(const struct packed_offer *a, const struct packed_offer *b)
{
	return compare_bytes(a->listing, a->listing_length, b->listing, b->listing_length);
}

/* By all that two rows of one seller say, the breaks of a listing together, by least; 0: they are
 * equal in every column. */
static int
compare_rows(const struct market *market, const struct packed_offer *a,
             const struct packed_offer *b)
{
	int order = compare_listings(a, b);

	order = order ? order : compare_amounts(a->least, b->least);
	order = order ? order : compare_texts(market, a->part, b->part);
	order = order ? order : compare_texts(market, a->color, b->color);
	order = order ? order : compare_texts(market, a->condition, b->condition);
	order = order ? order : compare_texts(market, a->class, b->class);
	order = order ? order : compare_amounts(a->price, b->price);
	order = order ? order : compare_amounts(a->qty, b->qty);
	order = order ? order : compare_amounts(a->step, b->step);
	order = order ? order : compare_amounts(a->grams, b->grams);
	order = order ? order : compare_texts(market, a->currency, b->currency);
	return order ? order : compare_bytes(a->rest, a->rest_length, b->rest, b->rest_length);
}

static int
by_row(const void *a, const void *b, void *data)
{
	const struct market *market = data;
	size_t left = *(const size_t *)a, right = *(const size_t *)b;
	struct packed_offer one, other;
	int order;

	packed_offer_at(&market->offers, left, &one);
	packed_offer_at(&market->offers, right, &other);
	order = compare_rows(market, &one, &other);
	return order != 0 ? order : compare_sizes(left, right);
}

static size_t
currency_of(const struct market *market, const struct packed_offer *offer)
{
	return market->seller[market->seller_of[offer->seller]].currency;
}

/* What a piece of the offer costs, micro of home currency. */
static struct fraction
home_price(const struct market *market, const struct packed_offer *offer)
{
	struct fraction rate = market->rate[currency_of(market, offer)];
	wide top;

	if (!wide_mul(offer->price, rate.top, &top))
		die("%s:%zu: the price is too large to be converted", text_of(market, offer->file),
		    offer->line);
	return (struct fraction){top, rate.bottom};
}

static int
compare_prices(const struct market *market, const struct packed_offer *a,
               const struct packed_offer *b)
{
	if (currency_of(market, a) == currency_of(market, b))
		return compare_amounts(a->price, b->price);
	return fraction_compare(home_price(market, a), home_price(market, b));
}

static int
compare_lots(const struct market *market, const struct packed_offer *a,
             const struct packed_offer *b)
{
	int order = compare_texts(market, a->part, b->part);

	order = order ? order : compare_texts(market, a->color, b->color);
	return order ? order : compare_texts(market, a->condition, b->condition);
}

static int
by_lot_and_price(const void *a, const void *b, void *data)
{
	const struct market *market = data;
	size_t left = *(const size_t *)a, right = *(const size_t *)b;
	struct packed_offer one, other;
	int order;

	packed_offer_at(&market->offers, left, &one);
	packed_offer_at(&market->offers, right, &other);
	order = compare_lots(market, &one, &other);
	order = order ? order : compare_prices(market, &one, &other);
	return order ? order : compare_sizes(left, right);
}

static size_t
seller_text(const struct packed_offer *offer)
{
	return offer->seller;
}

static size_t
part_text(const struct packed_offer *offer)
{
	return offer->part;
}

/* Puts the offers that count in the order of one text, and within it as compare has it: first by
 * counting, so that what is left to sort are many small groups. */
static void
arrange(struct market *market, size_t (*text)(const struct packed_offer *),
        int (*compare)(const void *, const void *, void *))
{
	const struct packed_offers *offers = &market->offers;
	size_t texts = offers->texts.count;
	size_t *end = mem_zero(texts + 1, sizeof *end);
	struct packed_offer offer;

	for (size_t place = 0, next; place < offers->length; place = next) {
		next = packed_offer_at(offers, place, &offer);
		end[market->rank[text(&offer)] + 1] += !offer.left_out;
	}
	for (size_t i = 0; i < texts; i++)
		end[i + 1] += end[i];
	market->count = end[texts];
	for (size_t place = 0, next; place < offers->length; place = next) {
		next = packed_offer_at(offers, place, &offer);
		if (!offer.left_out)
			market->place[end[market->rank[text(&offer)]]++] = place;
	}
	/* Now end[i] is where group i ends, and group i + 1 starts. */
	for (size_t i = 0, start = 0; i < texts; start = end[i++])
		if (end[i] - start > 1)
			qsort_r(market->place + start, end[i] - start, sizeof *market->place,
			        compare, market);
	free(end);
}

/* ---- across the rows of a seller ---- */

static void
add_seller(struct market *market, const struct packed_offer *offer)
{
	MEM_ROOM(market->seller, market->sellers, market->room);
	market->seller_of[offer->seller] = (uint32_t)market->sellers;
	market->seller[market->sellers++] =
	    (struct market_seller){.name = offer->seller, .first_place = SIZE_MAX};
}

static void
note_currency(struct market *market, const struct packed_offer *offer, size_t place,
              struct faults *faults)
{
	struct market_seller *seller = &market->seller[market->sellers - 1];
	struct packed_offer first;

	if (place < seller->first_place)
		seller->first_place = place;
	if (offer->currency == NO_TEXT) {
		seller->unsaid = true;
	} else if (seller->said == NO_TEXT) {
		seller->said = offer->currency;
		seller->first = place;
	} else if (offer->currency != seller->said) {
		packed_offer_at(&market->offers, seller->first, &first);
		offer_currencies_differ(faults, text_of(market, seller->name),
		                        place_of(market, &first), place_of(market, offer));
	}
}

static struct offer_break
break_of(const struct packed_offer *offer)
{
	return (struct offer_break){.part = offer->part,
	                            .color = offer->color,
	                            .condition = offer->condition,
	                            .class = offer->class,
	                            .qty = offer->qty,
	                            .step = offer->step,
	                            .least = offer->least};
}

static void
check_breaks(struct market *market, const struct packed_offer *a, const struct packed_offer *b,
             struct faults *faults)
{
	struct offer_break left = break_of(a), right = break_of(b);
	const char *what = offer_break_fault(&left, &right);
	char *name;

	if (what == NULL)
		return;
	name = arena_copy(&market->arena, (const char *)a->listing, a->listing_length);
	offer_disagree(faults, "rows of listing", name, what, place_of(market, a),
	               place_of(market, b));
}

/* Can anything be bought of it? The fewest pieces are the first multiple of step from least on. */
static bool
can_be_bought(const struct packed_offer *offer)
{
	int64_t fewest = (offer->least + offer->step - 1) / offer->step * offer->step;

	return offer->qty == QTY_UNLIMITED || fewest <= offer->qty;
}

/* The rows equal to another, as they are found. */
struct equals {
	size_t count, first; /* place */
};

static void
look_at(struct market *market, size_t i, const struct packed_offer *before, struct equals *equals,
        struct faults *faults)
{
	size_t place = market->place[i];
	struct packed_offer offer;
	bool same;

	packed_offer_at(&market->offers, place, &offer);
	same = before != NULL && before->seller == offer.seller;
	if (!same)
		add_seller(market, &offer);
	if (same && compare_rows(market, before, &offer) == 0) {
		equals->first = place < equals->first ? place : equals->first;
		equals->count++;
		packed_offer_leave_out(&market->offers, place);
		return;
	}
	note_currency(market, &offer, place, faults);
	if (same && offer.listing_length > 0 && compare_listings(before, &offer) == 0) {
		check_breaks(market, before, &offer, faults);
		packed_offer_leave_out(&market->offers, place);
	} else if (!can_be_bought(&offer)) {
		market->nothing++;
		packed_offer_leave_out(&market->offers, place);
	}
}

void
market_end(struct market *market, bool quiet)
{
	struct equals equals = {.first = SIZE_MAX};
	struct packed_offer before, first;
	struct faults faults = {0};

	rank_texts(market);
	market->place = mem_alloc(market->offers.count * sizeof *market->place);
	market->seller_of = mem_zero(market->offers.texts.count, sizeof *market->seller_of);
	arrange(market, seller_text, by_row);
	for (size_t i = 0; i < market->count; i++) {
		if (i > 0)
			packed_offer_at(&market->offers, market->place[i - 1], &before);
		look_at(market, i, i > 0 ? &before : NULL, &equals, &faults);
	}
	faults_end(&faults);
	if (equals.count > 0 && !quiet) {
		packed_offer_at(&market->offers, equals.first, &first);
		offer_tell_equal(place_of(market, &first), equals.count);
	}
}

bool
market_next_offer(const struct market *market, size_t *at, struct packed_offer *out)
{
	while (*at < market->count) {
		packed_offer_at(&market->offers, market->place[(*at)++], out);
		if (!out->left_out)
			return true;
	}
	return false;
}

/* ---- currencies ---- */

static const char *
find_home(struct market *market, const struct terms_files *terms, const char *given)
{
	struct tariff_book book = {.sellers = terms->sellers};
	struct names used = {0};
	const char *home;

	for (size_t i = 0; i < market->sellers; i++)
		terms_uses(&book, text_of(market, market->seller[i].name),
		           text_of(market, market->seller[i].said), &used);
	home = terms_home(given, (const char *const *)used.name, used.count);
	home = arena_copy(&market->arena, home, strlen(home));
	names_free(&used);
	return home;
}

/* Does a row of sellers speak for it, where there are any? If not, that is told. */
static bool
is_known(struct market *market, const struct market_seller *seller, const struct sellers *sellers)
{
	const char *name = text_of(market, seller->name);
	struct offer_place place;
	struct packed_offer offer;

	if (sellers == NULL || sellers_find(sellers, name) != NULL)
		return true;
	packed_offer_at(&market->offers, seller->first_place, &offer);
	place = place_of(market, &offer);
	tell_at(place.file, place.line,
	        "no row of %s speaks for seller \"%s\": add one, or one for *", sellers->file,
	        text_show(&market->arena, name));
	return false;
}

/* Numbers a currency, with its rate to home; a rate that is not there is told, and false. */
static bool
add_currency(struct market *market, const char *currency, const struct rates *rates,
             struct market_seller *seller)
{
	size_t known = market->currency.count;
	const char *why;

	seller->currency = names_add(&market->currency, currency);
	if (seller->currency < known)
		return true;
	market->rate = mem_resize(market->rate, known + 1, sizeof *market->rate);
	if (rates_find(rates, currency, market->home, RATE_PAID, &market->rate[known], &why,
	               &market->arena))
		return true;
	tell("%s", why);
	return false;
}

void
market_settle(struct market *market, const struct terms_files *terms, const char *given)
{
	bool fit = true;

	market->home = find_home(market, terms, given);
	for (size_t i = 0; i < market->sellers; i++) {
		struct market_seller *seller = &market->seller[i];
		const char *currency;

		if (!is_known(market, seller, terms->sellers)) {
			fit = false;
			continue;
		}
		currency =
		    offer_currency(text_of(market, seller->name), text_of(market, seller->said),
		                   seller->unsaid, terms->sellers, market->home);
		fit =
		    currency != NULL && add_currency(market, currency, terms->rates, seller) && fit;
	}
	if (!fit)
		exit(EXIT_TROUBLE);
	market->sum = mem_zero(market->currency.count, sizeof *market->sum);
	arrange(market, part_text, by_lot_and_price);
}

/* ---- lots ---- */

/* The offers of a lot, from first on, past excluded, and how its pieces count. */
struct lot_range {
	size_t first, past;
	int64_t largest;  /* what an offer without limit counts for */
	int64_t counting; /* pieces, those of offers without limit as they count */
};

static int64_t
counts_for(const struct packed_offer *offer, const struct lot_range *range)
{
	return offer->qty == QTY_UNLIMITED ? range->largest : offer->qty;
}

static void
count_seller(struct market *market, const struct packed_offer *offer, struct market_lot *out)
{
	struct market_seller *seller = &market->seller[market->seller_of[offer->seller]];

	if (seller->lot == market->lots)
		return;
	market->selling += seller->lot == 0;
	seller->lot = market->lots;
	out->sellers++;
}

/* Finds the lot that starts at market->at; what can be counted without prices. */
static struct lot_range
find_lot(struct market *market, struct market_lot *out)
{
	struct lot_range range = {.first = market->at, .past = market->at, .largest = 1};
	struct packed_offer first, offer;
	int64_t limited = 0;
	size_t unlimited = 0;

	packed_offer_at(&market->offers, market->place[market->at], &first);
	*out = (struct market_lot){.part = text_of(market, first.part),
	                           .color = text_of(market, first.color),
	                           .condition = text_of(market, first.condition)};
	market->lots++;
	for (; range.past < market->count; range.past++) {
		packed_offer_at(&market->offers, market->place[range.past], &offer);
		if (compare_lots(market, &first, &offer) != 0)
			break;
		count_seller(market, &offer, out);
		if (offer.qty == QTY_UNLIMITED) {
			unlimited++;
			continue;
		}
		limited += offer.qty;
		range.largest = offer.qty > range.largest ? offer.qty : range.largest;
	}
	out->pieces = unlimited > 0 ? QTY_UNLIMITED : limited;
	range.counting = limited + (int64_t)unlimited * range.largest;
	return range;
}

static noreturn void
too_large(const struct market_lot *lot)
{
	struct arena shown = {0};

	die("%s, %s: the prices are too large to be summed up", text_show(&shown, lot->part),
	    text_show(&shown, lot->color));
}

static wide
rounded(const struct market_lot *lot, const struct fraction *term, size_t count)
{
	wide sum;

	if (count == 1)
		return wide_div_round(term->top, term->bottom, ROUND_HALF_AWAY);
	if (!fraction_sum_round(term, count, &sum))
		too_large(lot);
	return sum;
}

/* Half of each of two prices, together. */
static wide
middle(const struct market_lot *lot, struct fraction low, struct fraction high)
{
	const struct fraction half = {1, 2};
	struct fraction term[2];

	if (!fraction_multiply(low, half, &term[0]) || !fraction_multiply(high, half, &term[1]))
		too_large(lot);
	return rounded(lot, term, 2);
}

/* The mean price, from the sums in each currency. */
static wide
mean_of(struct market *market, const struct market_lot *lot, int64_t pieces)
{
	size_t count = market->currency.count;
	struct fraction *term = mem_alloc(count * sizeof *term);
	wide mean;

	for (size_t i = 0; i < count; i++) {
		struct fraction each = fraction_reduced(market->sum[i], pieces);

		if (!fraction_multiply(each, market->rate[i], &term[i]))
			too_large(lot);
	}
	mean = rounded(lot, term, count);
	free(term);
	return mean;
}

/* Goes over the pieces by price, once. */
static void
price_lot(struct market *market, const struct lot_range *range, struct market_lot *out)
{
	const int64_t all = range->counting;
	const int64_t low_rank = (all + 1) / 2, high_rank = all / 2 + 1;
	const int64_t p90_rank = all - all / 10; /* 90 %, rounded up */
	struct fraction low = {0, 1}, high = {0, 1}, price = {0, 1};
	int64_t passed = 0;

	memset(market->sum, 0, market->currency.count * sizeof *market->sum);
	for (size_t i = range->first; i < range->past; i++) {
		struct packed_offer offer;
		int64_t pieces, from;
		wide *sum;

		packed_offer_at(&market->offers, market->place[i], &offer);
		pieces = counts_for(&offer, range);
		price = home_price(market, &offer);
		sum = &market->sum[currency_of(market, &offer)];
		*sum += (wide)offer.price * pieces; /* below 10^19 x 10^9 an offer */
		from = passed;
		passed += pieces;
		if (i == range->first)
			out->min = rounded(out, &price, 1);
		if (from < low_rank && low_rank <= passed)
			low = price;
		if (from < high_rank && high_rank <= passed)
			high = price;
		if (from < p90_rank && p90_rank <= passed)
			out->p90 = rounded(out, &price, 1);
	}
	out->max = rounded(out, &price, 1);
	out->median = middle(out, low, high);
	out->mean = mean_of(market, out, all);
}

bool
market_next(struct market *market, struct market_lot *out)
{
	struct lot_range range;

	if (market->at == market->count)
		return false;
	range = find_lot(market, out);
	price_lot(market, &range, out);
	market->at = range.past;
	return true;
}

void
market_free(struct market *market)
{
	packed_offers_free(&market->offers);
	free(market->rank);
	free(market->place);
	free(market->seller_of);
	free(market->seller);
	names_free(&market->currency);
	free(market->rate);
	free(market->sum);
	arena_free(&market->arena);
	*market = (struct market){0};
}
