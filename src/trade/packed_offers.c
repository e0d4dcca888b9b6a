#include "trade/packed_offers.h"

#include "trade/amounts.h"

#include <stdlib.h>
#include <string.h>

/*
 * An offer is a byte of flags, then whole numbers of 7 bits a byte, the lowest first, the top bit
 * set where another follows: seller, part, color, price, file and line, and those that a flag
 * says are there. A text is its length and its bytes.
 */
enum {
	HAS_CONDITION = 1,
	HAS_QTY = 2,
	HAS_STEPS = 4, /* step and least */
	HAS_GRAMS = 8,
	HAS_TERMS = 16, /* class and currency */
	HAS_LISTING = 32,
	HAS_REST = 64,
	LEFT_OUT = 128
};

enum { NUMBER_BYTES = 10, NUMBERS = 13 };

/* ---- packing ---- */

static void
make_room(struct packed_offers *offers, size_t length)
{
	if (offers->room - offers->length >= length)
		return;
	offers->room = 2 * offers->room + length + 4096;
	offers->bytes = mem_resize(offers->bytes, offers->room, 1);
}

static void
add_number(struct packed_offers *offers, uint64_t number)
{
	while (number >= 128) {
		offers->bytes[offers->length++] = (unsigned char)(number % 128 + 128);
		number /= 128;
	}
	offers->bytes[offers->length++] = (unsigned char)number;
}

static void
add_text(struct packed_offers *offers, const char *text, size_t length)
{
	make_room(offers, NUMBER_BYTES + length);
	add_number(offers, length);
	if (length > 0)
		memcpy(offers->bytes + offers->length, text, length);
	offers->length += length;
}

/* What the columns that are not known say: numbers of the headers, and fields, as bytes. */
static void
pack_rest(struct packed_offers *offers, struct table *table, const struct row *row,
          const struct offer_columns *columns, struct text *rest)
{
	text_clear(rest);
	for (size_t i = 0; i < columns->rests; i++) {
		const char *field = row_field(row, columns->rest[i]);
		uint64_t header;

		if (*field == '\0')
			continue;
		header = names_add(&offers->texts, table_header(table)[columns->rest[i]]);
		for (; header >= 128; header /= 128)
			text_addc(rest, (char)(unsigned char)(header % 128 + 128));
		text_addc(rest, (char)header);
		text_add(rest, field, strlen(field) + 1);
	}
}

static uint64_t
text_number(struct packed_offers *offers, const struct row *row, size_t column)
{
	return names_add(&offers->texts, row_field(row, column));
}

static void
pack(struct packed_offers *offers, const struct row *row, const struct offer_columns *columns,
     const struct offer_numbers *numbers, size_t file, const struct text *rest)
{
	const size_t *column = columns->text;
	const char *listing = row_field(row, column[OFFER_LISTING]);
	bool condition = *row_field(row, column[OFFER_CONDITION]) != '\0';
	bool steps = numbers->step != 1 || numbers->least != 1;
	bool terms = *row_field(row, column[OFFER_CLASS]) != '\0' ||
	             *row_field(row, column[OFFER_CURRENCY]) != '\0';

	make_room(offers, 1 + NUMBERS * NUMBER_BYTES);
	offers->bytes[offers->length++] =
	    (unsigned char)((condition ? HAS_CONDITION : 0) |
	                    (numbers->qty != QTY_UNLIMITED ? HAS_QTY : 0) |
	                    (steps ? HAS_STEPS : 0) |
	                    (numbers->grams != NOT_GIVEN ? HAS_GRAMS : 0) |
	                    (terms ? HAS_TERMS : 0) | (*listing != '\0' ? HAS_LISTING : 0) |
	                    (rest->length > 0 ? HAS_REST : 0));
	add_number(offers, text_number(offers, row, column[OFFER_SELLER]));
	add_number(offers, text_number(offers, row, column[OFFER_PART]));
	add_number(offers, text_number(offers, row, column[OFFER_COLOR]));
	add_number(offers, (uint64_t)numbers->price);
	add_number(offers, file);
	add_number(offers, row->line);
	if (condition)
		add_number(offers, text_number(offers, row, column[OFFER_CONDITION]));
	if (numbers->qty != QTY_UNLIMITED)
		add_number(offers, (uint64_t)numbers->qty);
	if (steps) {
		add_number(offers, (uint64_t)numbers->step);
		add_number(offers, (uint64_t)numbers->least);
	}
	if (numbers->grams != NOT_GIVEN)
		add_number(offers, (uint64_t)numbers->grams);
	if (terms) {
		add_number(offers, text_number(offers, row, column[OFFER_CLASS]));
		add_number(offers, text_number(offers, row, column[OFFER_CURRENCY]));
	}
	if (*listing != '\0')
		add_text(offers, listing, strlen(listing));
	if (rest->length > 0)
		add_text(offers, rest->bytes, rest->length);
	offers->count++;
}

void
packed_offers_read(struct packed_offers *offers, struct table *table)
{
	struct offer_columns columns = offer_columns_find(table);
	struct offer_numbers numbers;
	struct text rest = {0};
	struct row row;
	size_t file;

	if (table_faults(table)->count > 0)
		table_end(table);
	names_add(&offers->texts, ""); /* number 0, what is not there */
	file = names_add(&offers->texts, table_name(table));
	while (table_next(table, &row)) {
		if (!offer_row_read(table, &row, &columns, &numbers))
			continue;
		pack_rest(offers, table, &row, &columns, &rest);
		pack(offers, &row, &columns, &numbers, file, &rest);
	}
	table_end(table);
	text_free(&rest);
	offer_columns_free(&columns);
	table_close(table);
}

/* ---- unpacking ---- */

/* Most numbers are a byte or two. */
static inline uint64_t
take_number(const unsigned char **at)
{
	const unsigned char *byte = *at;
	uint64_t number = *byte & 127;

	for (unsigned shift = 7; *byte++ >= 128; shift += 7)
		number |= (uint64_t)(*byte & 127) << shift;
	*at = byte;
	return number;
}

size_t
packed_offer_at(const struct packed_offers *offers, size_t place, struct packed_offer *out)
{
	const unsigned char *at = offers->bytes + place;
	unsigned flags = *at++;

	/* Field by field: to clear it all first takes most of the time of sorting. */
	out->left_out = (flags & LEFT_OUT) != 0;
	out->seller = (size_t)take_number(&at);
	out->part = (size_t)take_number(&at);
	out->color = (size_t)take_number(&at);
	out->price = (int64_t)take_number(&at);
	out->file = (size_t)take_number(&at);
	out->line = (size_t)take_number(&at);
	out->condition = flags & HAS_CONDITION ? (size_t)take_number(&at) : 0;
	out->qty = flags & HAS_QTY ? (int64_t)take_number(&at) : QTY_UNLIMITED;
	out->step = flags & HAS_STEPS ? (int64_t)take_number(&at) : 1;
	out->least = flags & HAS_STEPS ? (int64_t)take_number(&at) : 1;
	out->grams = flags & HAS_GRAMS ? (int64_t)take_number(&at) : NOT_GIVEN;
	out->class = flags & HAS_TERMS ? (size_t)take_number(&at) : 0;
	out->currency = flags & HAS_TERMS ? (size_t)take_number(&at) : 0;
	out->listing_length = flags & HAS_LISTING ? (size_t)take_number(&at) : 0;
	out->listing = at;
	at += out->listing_length;
	out->rest_length = flags & HAS_REST ? (size_t)take_number(&at) : 0;
	out->rest = at;
	at += out->rest_length;
	return (size_t)(at - offers->bytes);
}

void
packed_offer_leave_out(struct packed_offers *offers, size_t place)
{
	offers->bytes[place] |= LEFT_OUT;
}

void
packed_offers_free(struct packed_offers *offers)
{
	free(offers->bytes);
	names_free(&offers->texts);
	*offers = (struct packed_offers){0};
}
