/*
 * A row of offers, checked by itself, and what rows of one seller must agree in: the rules for
 * whoever reads offers, however it keeps them. Prices and grams are micro (10^-6), quantities whole
 * pieces.
 *
 * A step of 0 is a fault; a least of 0 is the same as 1.
 */
#ifndef LOTPIPE_OFFER_ROW_H
#define LOTPIPE_OFFER_ROW_H

#include "table/table.h"
#include "trade/sellers.h"

#include <stdint.h>

#define QTY_UNLIMITED INT64_MAX

/* The texts of an offer, in the order that offers are sorted by. */
enum offer_text {
	OFFER_SELLER,
	OFFER_PART,
	OFFER_COLOR,
	OFFER_CONDITION,
	OFFER_CLASS,
	OFFER_LISTING,
	OFFER_CURRENCY,
	OFFER_TEXTS
};

struct offer_columns {
	size_t text[OFFER_TEXTS];
	size_t qty, price, step, least, grams;
	size_t *rest; /* columns that are not known, by name in byte order; owned */
	size_t rests;
};

struct offer_numbers {
	int64_t qty; /* pieces for sale, or QTY_UNLIMITED */
	int64_t price, step, least;
	int64_t grams; /* or NOT_GIVEN (-1) */
};

/* Finds the columns; one that must be there and is not is a fault of the table. */
struct offer_columns offer_columns_find(struct table *table);
void offer_columns_free(struct offer_columns *columns);
/* Is the row an offer? Its numbers then; else told as faults of the table. */
bool offer_row_read(struct table *table, const struct row *row, const struct offer_columns *columns,
                    struct offer_numbers *out);

/* Where an offer stands, and which of two to blame: the later. */
struct offer_place {
	const char *file;
	size_t line;
};
bool offer_is_later(struct offer_place a, struct offer_place b);
/* Tells that two rows do not agree: kind "name" what, against the later one. The faults are
 * counted together, whatever their files. */
void offer_disagree(struct faults *faults, const char *kind, const char *name, const char *what,
                    struct offer_place a, struct offer_place b);
/* The same, of two rows of a seller that name different currencies. */
void offer_currencies_differ(struct faults *faults, const char *seller, struct offer_place a,
                             struct offer_place b);
/* Tells of rows equal in every column: the first of those that do not count, and how many. */
void offer_tell_equal(struct offer_place first, size_t count);

/* What the price breaks of one listing must agree in, texts as numbers of names. */
struct offer_break {
	size_t part, color, condition, class;
	int64_t qty, step, least;
};
/* What two price breaks of one listing, neighbours by least, do not agree in, or NULL. */
const char *offer_break_fault(const struct offer_break *a, const struct offer_break *b);

/* The currency of a seller whose offers say this one ("": none does), once home is known: what they
 * say, else its own, else home. unsaid: some of its offers name none. Where those would be in
 * another than the rest, that is told, and NULL. */
const char *offer_currency(const char *seller, const char *said, bool unsaid,
                           const struct sellers *sellers, const char *home);

#endif
