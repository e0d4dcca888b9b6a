#include "trade/offers.h"

#include <stdlib.h>
#include <string.h>

/* Of one offer: its texts, as numbers of offers.texts while reading, as ranks in byte order
 * while sorting; and what the columns say that nobody asked for, so that only rows equal in every
 * column count once. */
struct offer_key {
	uint32_t text[OFFER_TEXTS];
	const char *rest;
};

void
offers_carry(struct offers *offers, const char *const *names, size_t count)
{
	offers->carry = names;
	offers->carried = count;
	offers->carry_seen = mem_zero(count, sizeof *offers->carry_seen);
}

/* ---- reading ---- */

/* The columns to carry, as the file has them; owned by the caller. */
static size_t *
find_carried(struct offers *offers, struct table *table)
{
	size_t *carry = mem_alloc(offers->carried * sizeof *carry);

	for (size_t i = 0; i < offers->carried; i++) {
		carry[i] = table_column(table, offers->carry[i]);
		offers->carry_seen[i] = offers->carry_seen[i] || carry[i] != NO_COLUMN;
	}
	return carry;
}

static const char *const *
copy_carried(struct offers *offers, const struct row *row, const size_t *column)
{
	const char **carry;

	if (offers->carried == 0)
		return NULL;
	carry = arena_alloc(&offers->arena, offers->carried * sizeof *carry);
	for (size_t i = 0; i < offers->carried; i++) {
		size_t text = names_add(&offers->texts, row_field(row, column[i]));

		carry[i] = offers->texts.name[text];
	}
	return carry;
}

/* The unknown columns that are not empty, with their names, as one text. */
static const char *
copy_rest(struct offers *offers, struct table *table, const struct row *row,
          const struct offer_columns *columns, struct text *buffer)
{
	text_clear(buffer);
	for (size_t i = 0; i < columns->rests; i++) {
		const char *field = row_field(row, columns->rest[i]);

		if (*field == '\0')
			continue;
		text_adds(buffer, table_header(table)[columns->rest[i]]);
		text_addc(buffer, '\n');
		text_adds(buffer, field);
		text_addc(buffer, '\n');
	}
	if (buffer->length == 0)
		return "";
	return arena_copy(&offers->arena, buffer->bytes, buffer->length);
}

/* A text's number; most often it is that of the row before. */
static uint32_t
text_number(struct offers *offers, size_t which, const char *text)
{
	if (offers->count > 0) {
		uint32_t before = offers->key[offers->count - 1].text[which];

		if (strcmp(offers->texts.name[before], text) == 0)
			return before;
	}
	return (uint32_t)names_add(&offers->texts, text);
}

static void
add_row(struct offers *offers, struct table *table, const struct row *row,
        const struct offer_columns *columns, const size_t *carried, const char *file,
        struct text *buffer)
{
	struct offer offer = {.file = file, .line = row->line};
	struct offer_numbers numbers;
	struct offer_key key;
	const char *text[OFFER_TEXTS] = {0};

	if (!offer_row_read(table, row, columns, &numbers))
		return;
	/* Their numbers are of 32 bits. */
	if (offers->count == UINT32_MAX)
		mem_out();
	offer.qty = numbers.qty;
	offer.price = numbers.price;
	offer.step = numbers.step;
	offer.least = numbers.least;
	offer.grams = numbers.grams;
	for (size_t i = 0; i < OFFER_TEXTS; i++) {
		key.text[i] = text_number(offers, i, row_field(row, columns->text[i]));
		text[i] = offers->texts.name[key.text[i]];
	}
	offer.part = text[OFFER_PART];
	offer.color = text[OFFER_COLOR];
	offer.condition = text[OFFER_CONDITION];
	offer.class = text[OFFER_CLASS];
	offer.listing = text[OFFER_LISTING];
	offer.carry = copy_carried(offers, row, carried);
	key.rest = copy_rest(offers, table, row, columns, buffer);
	if (offers->count == offers->key_room) {
		offers->key_room = offers->key_room ? 2 * offers->key_room : 64;
		offers->key = mem_resize(offers->key, offers->key_room, sizeof *offers->key);
	}
	offers->key[offers->count] = key;
	MEM_ROOM(offers->offer, offers->count, offers->room);
	offers->offer[offers->count++] = offer;
}

void
offers_read(struct offers *offers, struct table *table)
{
	struct offer_columns columns = offer_columns_find(table);
	size_t *carried = find_carried(offers, table);
	const char *name = table_name(table);
	const char *file = arena_copy(&offers->arena, name, strlen(name));
	struct text buffer = {0};
	struct row row;

	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(offers, table, &row, &columns, carried, file, &buffer);
	table_end(table);
	text_free(&buffer);
	offer_columns_free(&columns);
	free(carried);
	table_close(table);
}

/* ---- sorting ---- */

static int
by_text(const void *a, const void *b, void *data)
{
	char *const *name = data;

	return strcmp(name[*(const uint32_t *)a], name[*(const uint32_t *)b]);
}

/* Turns the numbers of the keys' texts into ranks in byte order, so that sorting compares
 * numbers, and returns the text of each rank (borrowed from the names). */
static const char **
rank_texts(struct offers *offers)
{
	size_t count = offers->texts.count;
	uint32_t *order = mem_alloc(count * sizeof *order);
	uint32_t *rank = mem_alloc(count * sizeof *rank);
	const char **ranked = mem_alloc(count * sizeof *ranked);

	for (size_t i = 0; i < count; i++)
		order[i] = (uint32_t)i;
	if (count > 0)
		qsort_r(order, count, sizeof *order, by_text, offers->texts.name);
	for (size_t i = 0; i < count; i++) {
		rank[order[i]] = (uint32_t)i;
		ranked[i] = offers->texts.name[order[i]];
	}
	for (size_t i = 0; i < offers->count; i++)
		for (size_t k = 0; k < OFFER_TEXTS; k++)
			offers->key[i].text[k] = rank[offers->key[i].text[k]];
	free(order);
	free(rank);
	return ranked;
}

static int
compare_numbers(const struct offer *a, const struct offer *b)
{
	const int64_t left[] = {a->price, a->least, a->step, a->qty, a->grams};
	const int64_t right[] = {b->price, b->least, b->step, b->qty, b->grams};

	for (size_t i = 0; i < sizeof left / sizeof *left; i++)
		if (left[i] != right[i])
			return left[i] < right[i] ? -1 : 1;
	return 0;
}

/* By everything the rows say; 0: equal in every column. */
static int
compare_offers(const struct offers *offers, size_t a, size_t b)
{
	const struct offer_key *left = &offers->key[a], *right = &offers->key[b];
	const struct offer *one = &offers->offer[a], *other = &offers->offer[b];
	int order;

	for (size_t i = 0; i <= OFFER_LISTING; i++)
		if (left->text[i] != right->text[i])
			return left->text[i] < right->text[i] ? -1 : 1;
	order = compare_numbers(one, other);
	for (size_t i = 0; order == 0 && i < offers->carried; i++)
		if (one->carry[i] != other->carry[i])
			order = strcmp(one->carry[i], other->carry[i]);
	if (order == 0 && left->text[OFFER_CURRENCY] != right->text[OFFER_CURRENCY])
		order = left->text[OFFER_CURRENCY] < right->text[OFFER_CURRENCY] ? -1 : 1;
	return order != 0 ? order : strcmp(left->rest, right->rest);
}

/* Equal rows keep the order they were read in, for what is told of them. */
static int
by_content(const void *a, const void *b, void *data)
{
	uint32_t left = *(const uint32_t *)a, right = *(const uint32_t *)b;
	int order = compare_offers(data, left, right);

	return order != 0 ? order : (left > right) - (left < right);
}

static struct offer_place
place_of(const struct offer *offer)
{
	return (struct offer_place){offer->file, offer->line};
}

/* The offers in sorted order, as indices: *count of them, then those that equal one of these. */
static uint32_t *
sorted_once(struct offers *offers, size_t *count, bool quiet)
{
	uint32_t *order = mem_alloc(offers->count * sizeof *order);
	size_t kept = 0, first = SIZE_MAX;

	for (size_t i = 0; i < offers->count; i++)
		order[i] = (uint32_t)i;
	if (offers->count > 0)
		qsort_r(order, offers->count, sizeof *order, by_content, offers);
	for (size_t i = 0; i < offers->count; i++) {
		uint32_t one = order[i];

		if (kept > 0 && compare_offers(offers, order[kept - 1], one) == 0) {
			first = one < first ? one : first;
		} else {
			order[i] = order[kept];
			order[kept++] = one;
		}
	}
	if (kept < offers->count && !quiet)
		offer_tell_equal(place_of(&offers->offer[first]), offers->count - kept);
	*count = kept;
	return order;
}

/* Puts offers and keys in the order of the indices, in place, round by round of those that take
 * each other's places. Order is no more one then. */
static void
rearrange(struct offers *offers, uint32_t *order)
{
	for (size_t start = 0; start < offers->count; start++) {
		struct offer offer = offers->offer[start];
		struct offer_key key = offers->key[start];
		size_t at = start;

		while (order[at] != start && order[at] != at) {
			size_t from = order[at];

			offers->offer[at] = offers->offer[from];
			offers->key[at] = offers->key[from];
			order[at] = (uint32_t)at;
			at = from;
		}
		offers->offer[at] = offer;
		offers->key[at] = key;
		order[at] = (uint32_t)at;
	}
}

/* ---- across rows ---- */

static void
add_seller(struct offers *offers, const char *name, size_t *room)
{
	if (offers->sellers == *room) {
		*room = *room ? 2 * *room : 16;
		offers->seller = mem_resize(offers->seller, *room, sizeof *offers->seller);
		offers->currency = mem_resize(offers->currency, *room, sizeof *offers->currency);
		offers->unsaid = mem_resize(offers->unsaid, *room, sizeof *offers->unsaid);
	}
	offers->seller[offers->sellers] = name;
	offers->currency[offers->sellers] = "";
	offers->unsaid[offers->sellers++] = false;
}

/* Numbers the sellers, in byte order, and notes their currencies. */
static void
number_sellers(struct offers *offers, const char *const *ranked, struct faults *faults)
{
	size_t room = 0, first = 0;

	for (size_t i = 0; i < offers->count; i++) {
		const struct offer_key *key = &offers->key[i];
		const char *currency = ranked[key->text[OFFER_CURRENCY]];
		size_t seller;

		if (i == 0 || key->text[OFFER_SELLER] != offers->key[i - 1].text[OFFER_SELLER])
			add_seller(offers, ranked[key->text[OFFER_SELLER]], &room);
		seller = offers->sellers - 1;
		offers->offer[i].seller = seller;
		if (*currency == '\0') {
			offers->unsaid[seller] = true;
		} else if (*offers->currency[seller] == '\0') {
			offers->currency[seller] = currency;
			first = i;
		} else if (currency != offers->currency[seller]) {
			offer_currencies_differ(faults, offers->seller[seller],
			                        place_of(&offers->offer[i]),
			                        place_of(&offers->offer[first]));
		}
	}
}

static int
by_listing(const void *a, const void *b, void *data)
{
	const struct offers *offers = data;
	uint32_t left = *(const uint32_t *)a, right = *(const uint32_t *)b;
	const uint32_t *one = offers->key[left].text, *other = offers->key[right].text;

	if (one[OFFER_SELLER] != other[OFFER_SELLER])
		return one[OFFER_SELLER] < other[OFFER_SELLER] ? -1 : 1;
	if (one[OFFER_LISTING] != other[OFFER_LISTING])
		return one[OFFER_LISTING] < other[OFFER_LISTING] ? -1 : 1;
	if (offers->offer[left].least != offers->offer[right].least)
		return offers->offer[left].least < offers->offer[right].least ? -1 : 1;
	return (left > right) - (left < right);
}

static struct offer_break
break_of(const struct offers *offers, size_t i)
{
	const struct offer *offer = &offers->offer[i];
	const uint32_t *text = offers->key[i].text;

	return (struct offer_break){.part = text[OFFER_PART],
	                            .color = text[OFFER_COLOR],
	                            .condition = text[OFFER_CONDITION],
	                            .class = text[OFFER_CLASS],
	                            .qty = offer->qty,
	                            .step = offer->step,
	                            .least = offer->least};
}

static void
check_listings(const struct offers *offers, struct faults *faults)
{
	uint32_t *order = mem_alloc(offers->count * sizeof *order);
	size_t count = 0;

	for (size_t i = 0; i < offers->count; i++)
		if (*offers->offer[i].listing != '\0')
			order[count++] = (uint32_t)i;
	if (count > 0)
		qsort_r(order, count, sizeof *order, by_listing, (void *)offers);
	for (size_t i = 1; i < count; i++) {
		const struct offer *one = &offers->offer[order[i - 1]];
		const struct offer *other = &offers->offer[order[i]];
		struct offer_break left = break_of(offers, order[i - 1]);
		struct offer_break right = break_of(offers, order[i]);
		const char *what;

		if (one->seller != other->seller || one->listing != other->listing)
			continue;
		what = offer_break_fault(&left, &right);
		if (what != NULL)
			offer_disagree(faults, "rows of listing", one->listing, what, place_of(one),
			               place_of(other));
	}
	free(order);
}

/* Breaks of one listing stand together: they agree in all that is sorted by before price. */
static void
number_listings(struct offers *offers)
{
	for (size_t i = 0; i < offers->count; i++) {
		struct offer *offer = &offers->offer[i];
		bool same = i > 0 && *offer->listing != '\0' &&
		            offer->listing == offer[-1].listing &&
		            offer->seller == offer[-1].seller;

		if (!same)
			offers->listings++;
		offer->listing_number = offers->listings - 1;
	}
}

void
offers_end(struct offers *offers, bool quiet)
{
	struct faults faults = {0};
	const char **ranked = rank_texts(offers);
	uint32_t *order;
	size_t count;

	for (size_t i = 0; i < offers->carried; i++)
		if (!offers->carry_seen[i])
			die("no offers file has the column \"%s\" that is to be carried",
			    text_show(&offers->arena, offers->carry[i]));
	order = sorted_once(offers, &count, quiet);
	rearrange(offers, order);
	offers->count = count;
	free(order);
	number_sellers(offers, ranked, &faults);
	check_listings(offers, &faults);
	faults_end(&faults);
	number_listings(offers);
	free(ranked);
	free(offers->key);
	offers->key = NULL;
	offers->key_room = 0;
}

void
offers_settle(struct offers *offers, const struct sellers *sellers, const char *home)
{
	bool wrong = false;

	for (size_t i = 0; i < offers->sellers; i++) {
		const char *currency = offer_currency(offers->seller[i], offers->currency[i],
		                                      offers->unsaid[i], sellers, home);

		wrong = wrong || currency == NULL;
		offers->currency[i] = currency != NULL ? currency : "";
	}
	if (wrong)
		exit(EXIT_TROUBLE);
}

void
offers_free(struct offers *offers)
{
	free(offers->offer);
	free(offers->seller);
	free(offers->currency);
	free(offers->unsaid);
	free(offers->carry_seen);
	free(offers->key);
	names_free(&offers->texts);
	arena_free(&offers->arena);
	*offers = (struct offers){0};
}
