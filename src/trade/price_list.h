/*
 * The price list: what the market asks for each lot (part, color and condition), as lot-market
 * writes it or somebody else does. Prices are micro (10^-6) of home currency, the file does not say
 * of which.
 *
 * A lot that stands there twice is a fault. Without a column for the condition all are of the empty
 * one; without pieces there is no limit; without sellers nobody knows how many there are.
 */
#ifndef LOTPIPE_PRICE_LIST_H
#define LOTPIPE_PRICE_LIST_H

#include "table/table.h"

#include <stdint.h>

enum price_at { PRICE_MIN, PRICE_MEDIAN, PRICE_MEAN, PRICE_P90, PRICE_MAX, PRICES };

/* The columns, and what --at takes. */
extern const char *const price_names[PRICES];

struct price {
	const char *part, *color, *condition; /* owned by the arena */
	int64_t sellers;                      /* or NOT_GIVEN */
	int64_t pieces;                       /* or QTY_UNLIMITED */
	int64_t asked;                        /* micro: the price that was asked for */
	int64_t median;                       /* micro */
	size_t line;
};

struct price_list {
	struct price *price; /* owned; by part, color and condition in byte order */
	size_t count, room;
	const char *file;
	struct arena arena;
};

/* Reads a whole file and closes it; faults exit. at: the column that asked is taken from. */
void price_list_read(struct price_list *list, struct table *table, enum price_at at);
/* The prices of a part, of all its colors and conditions: how many, and the first. */
size_t price_list_part(const struct price_list *list, const char *part, const struct price **first);
void price_list_free(struct price_list *list);

#endif
