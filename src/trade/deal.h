/*
 * A list dealt into piles by one of its columns: order lines by seller, shares by model or group.
 *
 * Lines of one offer in a pile become one: those that agree in everything but qty, amount, surplus
 * and what they are bought for (lot, group, model; of the latter two none where the piles go by
 * one of them). Numbers are added, lots and so on are named one after another, by `|`. A list
 * without a column seller has no offers, and its rows stay as they are. Lines of no pieces are left
 * out, and lines of stock in use (seller owned), where the piles go by seller.
 *
 * Piles stand in byte order of the column, lines by part, color and so on: a shuffled list is the
 * same. What a line costs is qty x price, else its amount. Amounts are micro (10^-6), exact.
 */
#ifndef LOTPIPE_DEAL_H
#define LOTPIPE_DEAL_H

#include "table/output.h"
#include "table/table.h"
#include "trade/amounts.h"

#include <stdint.h>

enum deal_column {
	DEAL_PART,
	DEAL_COLOR,
	DEAL_QTY,
	DEAL_SELLER,
	DEAL_ROUTE,
	DEAL_CLASS,
	DEAL_CONDITION,
	DEAL_PRICE,
	DEAL_LISTING,
	DEAL_GRAMS,
	DEAL_CURRENCY,
	DEAL_AMOUNT,
	DEAL_SURPLUS,
	DEAL_LOT,
	DEAL_GROUP,
	DEAL_MODEL,
	DEAL_COLUMNS
};

struct deal_line {
	const char **field; /* by column of the header; in the arena */
	int64_t qty, surplus;
	int64_t price, grams; /* or NOT_GIVEN */
	wide amount;
	bool priced; /* the amount is known */
	size_t line;
};

struct deal_pile {
	const char *name;    /* the field of the column */
	size_t first, count; /* lines */
	size_t lots;         /* different part, color and condition */
	int64_t pieces;
	wide goods;
	bool priced;          /* every line */
	const char *currency; /* of the goods; "" where the lines name none */
	bool currencies;      /* several: there is no sum */
};

/* Zero-initialise. */
struct deal {
	const char *file;
	const char *const *header;
	size_t headers;
	size_t by; /* column */
	size_t at[DEAL_COLUMNS];
	struct deal_line *line; /* owned; pile by pile */
	size_t count, room;
	struct deal_pile *pile; /* owned */
	size_t piles, pile_room;
	int64_t left_out; /* pieces of stock in use */
	struct arena arena;
};

/* Reads a whole list and closes it. False where it has faults, which exit unless the table is
 * silent. */
bool deal_read(struct deal *deal, struct table *table, const char *by);
/* The lines of a pile, in all columns of the list. */
void deal_write(struct sheet *sheet, const struct deal *deal, const struct deal_pile *pile);
/* What its goods come to, "" where there is no sum. */
void deal_goods(struct sheet *sheet, const struct deal_pile *pile);
void deal_free(struct deal *deal);

#endif
