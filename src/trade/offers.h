/*
 * Offers: what sellers have for sale, at which price a piece. Prices and grams are micro (10^-6),
 * quantities whole pieces. Rows of one seller that share a listing are price breaks of one.
 *
 * Reading checks all that one can see in offers alone (offer_row.h: numbers; names that no seller
 * may bear; listings that agree and differ in least; one currency a seller), drops rows equal in
 * every column (told), and sorts by content, so that the order of rows and files never matters: by
 * seller, part, color, condition, class, listing, then numbers by value (price, least, step, qty,
 * grams), then carried fields, in byte order.
 */
#ifndef LOTPIPE_OFFERS_H
#define LOTPIPE_OFFERS_H

#include "trade/offer_row.h"

struct offer {
	size_t seller; /* number in offers.seller, which are in byte order */
	const char *part, *color, *condition, *class, *listing; /* equal texts, equal pointers */
	int64_t qty; /* pieces for sale, or QTY_UNLIMITED */
	int64_t price, step, least;
	int64_t grams;            /* or NOT_GIVEN (-1) */
	size_t listing_number;    /* offers with equal numbers are price breaks of one listing */
	const char *const *carry; /* fields of the columns asked for, borrowed from the arena */
	const char *file;
	size_t line;
};

struct offer_key; /* what offers are sorted by, until offers_end */

struct offers {
	struct offer *offer; /* owned, sorted */
	size_t count, room;
	size_t listings;
	const char **seller;   /* names in byte order; owned array */
	const char **currency; /* by seller; "" where the offers name none; owned array */
	bool *unsaid;          /* by seller: some of its offers name no currency; owned array */
	size_t sellers;
	const char *const *carry; /* names of the columns to carry; borrowed */
	size_t carried;
	bool *carry_seen;      /* which of them a file has; owned */
	struct offer_key *key; /* as many as offers, room key_room; owned, NULL after offers_end */
	size_t key_room;
	struct arena arena;
	struct names texts; /* every part, color, ... once */
};

/* Notes the columns to carry: call before reading. */
void offers_carry(struct offers *offers, const char *const *names, size_t count);
/* Adds a whole file and closes it; faults exit. */
void offers_read(struct offers *offers, struct table *table);
/* After the last file: checks across rows (a fault exits, and so does a carried column that no
 * file has), drops equal rows, sorts, numbers sellers and listings. quiet: equal rows are dropped
 * without a word. */
void offers_end(struct offers *offers, bool quiet);
/* Once the home currency is known: the currency of each seller whose offers name none becomes
 * its own, else home; a seller with offers in that and in another is a fault, which exits. */
void offers_settle(struct offers *offers, const struct sellers *sellers, const char *home);
void offers_free(struct offers *offers);

#endif
