/*
 * Terms: what an order of a seller costs beyond its goods, compiled from sellers.csv, charges.csv
 * and rates.csv to the numbers that landed_cost works on.
 *
 * Which charges count: those that name the seller; if none, those that name its tariff; if none,
 * those whose seller is "*". A row names a seller or a tariff, not both. Step places of value
 * charges in another currency are converted exactly and become the least whole micro of goods
 * that reaches the step.
 */
#ifndef LOTPIPE_TERMS_H
#define LOTPIPE_TERMS_H

#include "trade/landed.h"
#include "trade/rates.h"
#include "trade/sellers.h"

struct charges; /* rows of charges.csv */

/* Reads a whole file, checks it (bases known, one basis a class and charge, no two steps at one
 * place, from or over not both, ...) and closes it; faults exit. */
struct charges *charges_read(struct table *table);
void charges_free(struct charges *charges); /* NULL is fine */

/* The different charges of a file, by class and name in byte order ("" first): how --each-charge
 * names its columns and what struct charge.name numbers. */
size_t charges_names(const struct charges *charges);
const char *charges_name(const struct charges *charges, size_t number);

/* What the files know; borrowed. */
struct tariff_book {
	const struct sellers *sellers; /* NULL: none given; then no tax, no minimum */
	const struct charges *charges; /* NULL: there are no charges */
	const struct rates *rates;     /* NULL: none given */
	const char *home;              /* currency code; "" until there is one: see terms_home */
	int64_t order_cost;            /* --order-cost, micro, where the seller's row has none */
};

/* Adds the currencies that an order of this seller needs: the one its lines or offers say, if
 * any, else its own; and those of its charges. Before terms_home. */
void terms_uses(const struct tariff_book *book, const char *seller, const char *currency,
                struct names *used);
/* Marks, by number of class and name, the charges that speak for a seller. */
void terms_charges(const struct tariff_book *book, const char *seller, bool *speaks);
/* Is any charge that speaks for a seller an estimate? */
bool terms_estimate(const struct tariff_book *book, const char *seller);
/* The home currency: -C where given (checked), else the only one in use among `used`; several:
 * told, EXIT_TROUBLE. None at all: "". */
const char *terms_home(const char *given, const char *const *used, size_t count);

struct seller_terms {
	const struct seller_row *row; /* NULL without a file of sellers */
	const char *name;
	const char *currency;     /* of its orders */
	unsigned decimals;        /* minor unit of it; 2 where no currency is known */
	const char *const *class; /* names of classes, index = class number; owned by the arena */
	struct terms terms;
};

/* Compiles the terms of a seller whose lines have these classes (different, "" excluded) and
 * whose offers say this currency ("" none: the seller's, else home). Anything wrong (no row, no
 * charges that speak for it, no rate) is told against file:line of the caller, and false. */
bool terms_compile(const struct tariff_book *book, const char *seller, const char *currency,
                   const char *const *classes, size_t count, const char *file, size_t line,
                   struct arena *arena, struct seller_terms *out);

/* Which sum of an order is that of a class: 0, of all lines, for ""; SIZE_MAX where no line is of
 * it. */
size_t terms_sum(const struct seller_terms *terms, const char *class);
/* Does any charge of these terms go by weight, for lines of the class ("": for any line)? */
bool terms_weighs(const struct seller_terms *terms, const char *class);

#endif
