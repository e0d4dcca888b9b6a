#include "trade/offers.h"

#include "trade/amounts.h"
#include "trade/currency.h"
#include "trade/need.h"

#include <stdlib.h>
#include <string.h>

/* The texts that offers are sorted by, first things first. */
enum key_text {
	KEY_SELLER,
	KEY_PART,
	KEY_COLOR,
	KEY_CONDITION,
	KEY_CLASS,
	KEY_LISTING,
	KEY_CURRENCY,
	KEY_TEXTS
};

/* Of one offer: its texts, as numbers of offers.texts while reading, as ranks in byte order
 * while sorting; and what the columns say that nobody asked for, so that only rows equal in every
 * column count once. */
struct offer_key {
	uint32_t text[KEY_TEXTS];
	const char *rest;
};

static const char *const text_columns[KEY_TEXTS] = {"seller", "part",    "color",   "condition",
                                                    "class",  "listing", "currency"};

struct offer_columns {
	size_t text[KEY_TEXTS];
	size_t qty, price, step, least, grams;
	size_t *carry; /* owned */
	size_t *rest;  /* columns that are not known, by name in byte order; owned */
	size_t rests;
};

void
offers_carry(struct offers *offers, const char *const *names, size_t count)
{
	offers->carry = names;
	offers->carried = count;
	offers->carry_seen = mem_zero(count, sizeof *offers->carry_seen);
}

/* ---- reading ---- */

static bool
is_known(const struct offer_columns *columns, size_t column)
{
	for (size_t i = 0; i < KEY_TEXTS; i++)
		if (columns->text[i] == column)
			return true;
	return column == columns->qty || column == columns->price || column == columns->step ||
	       column == columns->least || column == columns->grams;
}

static int
by_header(const void *a, const void *b, void *data)
{
	char *const *header = data;
	const size_t *left = a, *right = b;
	int order = strcmp(header[*left], header[*right]);

	return order != 0 ? order : (*left > *right) - (*left < *right);
}

static struct offer_columns
find_columns(struct offers *offers, struct table *table)
{
	struct offer_columns columns = {0};

	for (size_t i = 0; i < KEY_TEXTS; i++)
		columns.text[i] = i <= KEY_COLOR ? table_need_column(table, text_columns[i])
		                                 : table_column(table, text_columns[i]);
	columns.qty = table_need_column(table, "qty");
	columns.price = table_need_column(table, "price");
	columns.step = table_column(table, "step");
	columns.least = table_column(table, "least");
	columns.grams = table_column(table, "grams");
	columns.carry = mem_alloc(offers->carried * sizeof *columns.carry);
	for (size_t i = 0; i < offers->carried; i++) {
		columns.carry[i] = table_column(table, offers->carry[i]);
		offers->carry_seen[i] = offers->carry_seen[i] || columns.carry[i] != NO_COLUMN;
	}
	columns.rest = mem_alloc(table_columns(table) * sizeof *columns.rest);
	for (size_t i = 0; i < table_columns(table); i++)
		if (!is_known(&columns, i))
			columns.rest[columns.rests++] = i;
	if (columns.rests > 0)
		qsort_r(columns.rest, columns.rests, sizeof *columns.rest, by_header,
		        (void *)table_header(table));
	return columns;
}

/* Is each text fit to be what its column says? */
static bool
texts_fit(struct table *table, const struct row *row, const struct offer_columns *columns)
{
	const char *seller = row_field(row, columns->text[KEY_SELLER]);
	struct faults *faults = table_faults(table);

	for (size_t i = 0; i <= KEY_COLOR; i++)
		if (*row_field(row, columns->text[i]) == '\0') {
			fault(faults, row->line,
			      "%s is empty: an offer names seller, part and color",
			      text_columns[i]);
			return false;
		}
	if (!seller_name_fits(seller)) {
		fault(faults, row->line, "a seller may not be named \"%s\": rename it",
		      text_show(table_arena(table), seller));
		return false;
	}
	return currency_field(table, row, columns->text[KEY_CURRENCY]);
}

static bool
numbers_fit(struct table *table, const struct row *row, const struct offer_columns *columns,
            struct offer *offer)
{
	bool fit = amount_qty(table, row, columns->qty, QTY_UNLIMITED, &offer->qty);

	fit &=
	    amount_micro(table, row, columns->price, NOT_NEGATIVE, AMOUNT_REQUIRED, &offer->price);
	fit &= amount_qty(table, row, columns->step, 1, &offer->step);
	fit &= amount_qty(table, row, columns->least, 1, &offer->least);
	fit &= amount_micro(table, row, columns->grams, NOT_NEGATIVE, NOT_GIVEN, &offer->grams);
	if (fit && offer->step == 0) {
		fault(table_faults(table), row->line,
		      "step is 0: give 1 or more, or leave it empty");
		return false;
	}
	if (offer->least == 0)
		offer->least = 1;
	return fit;
}

static const char *const *
copy_carried(struct offers *offers, const struct row *row, const struct offer_columns *columns)
{
	const char **carry;

	if (offers->carried == 0)
		return NULL;
	carry = arena_alloc(&offers->arena, offers->carried * sizeof *carry);
	for (size_t i = 0; i < offers->carried; i++) {
		size_t text = names_add(&offers->texts, row_field(row, columns->carry[i]));

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

static void
add_row(struct offers *offers, struct table *table, const struct row *row,
        const struct offer_columns *columns, const char *file, struct text *buffer)
{
	struct offer offer = {.file = file, .line = row->line};
	struct offer_key key;
	const char *text[KEY_TEXTS];

	if (!texts_fit(table, row, columns) || !numbers_fit(table, row, columns, &offer))
		return;
	for (size_t i = 0; i < KEY_TEXTS; i++) {
		key.text[i] = (uint32_t)names_add(&offers->texts, row_field(row, columns->text[i]));
		text[i] = offers->texts.name[key.text[i]];
	}
	offer.part = text[KEY_PART];
	offer.color = text[KEY_COLOR];
	offer.condition = text[KEY_CONDITION];
	offer.class = text[KEY_CLASS];
	offer.listing = text[KEY_LISTING];
	offer.carry = copy_carried(offers, row, columns);
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
	struct offer_columns columns = find_columns(offers, table);
	const char *name = table_name(table);
	const char *file = arena_copy(&offers->arena, name, strlen(name));
	struct text buffer = {0};
	struct row row;

	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(offers, table, &row, &columns, file, &buffer);
	table_end(table);
	text_free(&buffer);
	free(columns.carry);
	free(columns.rest);
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
		for (size_t k = 0; k < KEY_TEXTS; k++)
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

	for (size_t i = 0; i <= KEY_LISTING; i++)
		if (left->text[i] != right->text[i])
			return left->text[i] < right->text[i] ? -1 : 1;
	order = compare_numbers(one, other);
	for (size_t i = 0; order == 0 && i < offers->carried; i++)
		if (one->carry[i] != other->carry[i])
			order = strcmp(one->carry[i], other->carry[i]);
	if (order == 0 && left->text[KEY_CURRENCY] != right->text[KEY_CURRENCY])
		order = left->text[KEY_CURRENCY] < right->text[KEY_CURRENCY] ? -1 : 1;
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

/* The offers in sorted order, as indices, equal ones out; *count of them. */
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
		if (kept > 0 && compare_offers(offers, order[kept - 1], order[i]) == 0)
			first = order[i] < first ? order[i] : first;
		else
			order[kept++] = order[i];
	}
	if (kept < offers->count && !quiet)
		tell_at(offers->offer[first].file, offers->offer[first].line,
		        "equals another offer in every column: counted once (%zu such rows in all)",
		        offers->count - kept);
	*count = kept;
	return order;
}

/* Puts offers and keys in the order of the indices. */
static void
arrange(struct offers *offers, const uint32_t *order, size_t count)
{
	struct offer *offer = mem_alloc(count * sizeof *offer);
	struct offer_key *key = mem_alloc(count * sizeof *key);

	for (size_t i = 0; i < count; i++) {
		offer[i] = offers->offer[order[i]];
		key[i] = offers->key[order[i]];
	}
	free(offers->offer);
	free(offers->key);
	offers->offer = offer;
	offers->key = key;
	offers->count = offers->room = offers->key_room = count;
}

/* ---- across rows ---- */

/* The faults of the file that an offer stands in; told as they are found, counted together. */
static void
offer_fault(struct faults *faults, const struct offer *offer, const char *kind, const char *name,
            const char *what, const struct offer *other)
{
	struct arena shown = {0};

	faults->file = offer->file;
	fault(faults, offer->line, "%s \"%s\" %s (see %s:%zu)", kind, text_show(&shown, name), what,
	      other->file, other->line);
	arena_free(&shown);
}

/* The row to blame: the later of two. */
static bool
is_later(const struct offer *a, const struct offer *b)
{
	int order = a->file == b->file ? 0 : strcmp(a->file, b->file);

	return order != 0 ? order > 0 : a->line > b->line;
}

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
		const char *currency = ranked[key->text[KEY_CURRENCY]];
		size_t seller;

		if (i == 0 || key->text[KEY_SELLER] != offers->key[i - 1].text[KEY_SELLER])
			add_seller(offers, ranked[key->text[KEY_SELLER]], &room);
		seller = offers->sellers - 1;
		offers->offer[i].seller = seller;
		if (*currency == '\0') {
			offers->unsaid[seller] = true;
		} else if (*offers->currency[seller] == '\0') {
			offers->currency[seller] = currency;
			first = i;
		} else if (currency != offers->currency[seller]) {
			bool later = is_later(&offers->offer[i], &offers->offer[first]);

			offer_fault(faults, &offers->offer[later ? i : first], "offers of",
			            offers->seller[seller],
			            "are in different currencies: a seller has one",
			            &offers->offer[later ? first : i]);
		}
	}
}

static int
by_listing(const void *a, const void *b, void *data)
{
	const struct offers *offers = data;
	uint32_t left = *(const uint32_t *)a, right = *(const uint32_t *)b;
	const uint32_t *one = offers->key[left].text, *other = offers->key[right].text;

	if (one[KEY_SELLER] != other[KEY_SELLER])
		return one[KEY_SELLER] < other[KEY_SELLER] ? -1 : 1;
	if (one[KEY_LISTING] != other[KEY_LISTING])
		return one[KEY_LISTING] < other[KEY_LISTING] ? -1 : 1;
	if (offers->offer[left].least != offers->offer[right].least)
		return offers->offer[left].least < offers->offer[right].least ? -1 : 1;
	return (left > right) - (left < right);
}

/* What two price breaks of one listing do not agree in, or NULL. */
static const char *
disagreement(const struct offer *a, const struct offer *b)
{
	if (a->part != b->part)
		return "differ in part: a listing is one part";
	if (a->color != b->color)
		return "differ in color: a listing is one color";
	if (a->condition != b->condition)
		return "differ in condition: a listing is one condition";
	if (a->class != b->class)
		return "differ in class: a listing is of one class";
	if (a->qty != b->qty)
		return "differ in qty: price breaks of a listing share its pieces";
	if (a->step != b->step)
		return "differ in step: price breaks of a listing share it";
	if (a->least == b->least)
		return "have the same least: price breaks of a listing differ in it";
	return NULL;
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
		const char *what;

		if (one->seller != other->seller || one->listing != other->listing)
			continue;
		what = disagreement(one, other);
		if (what != NULL && is_later(one, other))
			offer_fault(faults, one, "rows of listing", one->listing, what, other);
		else if (what != NULL)
			offer_fault(faults, other, "rows of listing", one->listing, what, one);
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
	arrange(offers, order, count);
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
		const struct seller_row *row = sellers_find(sellers, offers->seller[i]);
		const char *own = row != NULL && *row->currency != '\0' ? row->currency : home;

		if (*offers->currency[i] == '\0')
			offers->currency[i] = own;
		else if (offers->unsaid[i] && strcmp(offers->currency[i], own) != 0) {
			tell("offers of \"%s\" name %s as their currency, or none where the "
			     "seller's is %s: a seller has one",
			     text_show(&offers->arena, offers->seller[i]), offers->currency[i],
			     *own != '\0' ? own : "not known");
			wrong = true;
		}
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
