/*
 * Packed offers: all that offers say, in about as many bytes as their file has, for the whole of a
 * market in memory. An offer is known by its place, the byte where it starts, and unpacked when it
 * is looked at. Units are those of offer_row.h.
 *
 * Texts that come again and again (names of sellers, parts, colors, ...) are numbers of texts;
 * listings and columns that are not known are kept as they are.
 */
#ifndef LOTPIPE_PACKED_OFFERS_H
#define LOTPIPE_PACKED_OFFERS_H

#include "trade/offer_row.h"

struct packed_offers {
	unsigned char *bytes; /* owned */
	size_t length, room;
	size_t count;
	struct names texts; /* of the columns, of other columns' headers, of files */
};

/* An offer unpacked; listing and rest are borrowed from the packed ones, until more are read. */
struct packed_offer {
	size_t seller, part, color, condition, class, currency; /* numbers of texts */
	int64_t price, qty, step, least, grams;
	size_t file, line; /* the file's name is a number of texts */
	const unsigned char *listing, *rest;
	size_t listing_length, rest_length;
	bool left_out;
};

/* Adds a whole file and closes it; faults exit. */
void packed_offers_read(struct packed_offers *offers, struct table *table);
/* Unpacks the offer at a place and returns the place of the next. */
size_t packed_offer_at(const struct packed_offers *offers, size_t place, struct packed_offer *out);
/* Marks an offer as one that does not count. */
void packed_offer_leave_out(struct packed_offers *offers, size_t place);
void packed_offers_free(struct packed_offers *offers);

#endif
