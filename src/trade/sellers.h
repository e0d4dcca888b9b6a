/*
 * Sellers, as sellers.csv says them, checked row by row and across rows: who they are, in which
 * currency they sell, from what value on, and how they tax. Money (in the currency of the order)
 * and percent are micro (10^-6); order_cost is in home currency.
 */
#ifndef LOTPIPE_SELLERS_H
#define LOTPIPE_SELLERS_H

#include "table/table.h"
#include "trade/landed.h"

#include <stdint.h>

#define OWNED_SELLER "owned" /* names that no seller may bear */
#define TOTAL_SELLER "TOTAL"
#define EVERY_SELLER "*"

#define OWNED_ROUTE "owned" /* routes that no seller may have */
#define OTHER_ROUTE "other"

enum tax_base { TAX_ON_ALL, TAX_ON_GOODS, TAX_INCLUDED };

struct seller_row {
	const char *seller, *route, *currency, *tariff;
	int64_t minimum, order_cost;
	struct taxes taxes;
	enum tax_base tax_on;
	bool has_order_cost;
	size_t line;
};

struct sellers {
	const char *file;
	struct seller_row *row; /* owned; sorted by seller in byte order */
	size_t count, room;
	struct arena arena;
};

void sellers_read(struct sellers *sellers, struct table *table); /* closes it; faults exit */
/* The row that speaks for a seller (its own, else that of "*"), or NULL. */
const struct seller_row *sellers_find(const struct sellers *sellers, const char *name);
void sellers_free(struct sellers *sellers);

/* May a seller of offers or order lines be named so? */
bool seller_name_fits(const char *name);

#endif
