/*
 * Charges, as charges.csv says them, checked row by row and across rows; for terms.c alone, which
 * turns those of one seller into numbers. Amounts, percent, and places of steps (money, grams,
 * pieces or lots alike) are micro (10^-6).
 */
#ifndef LOTPIPE_CHARGES_H
#define LOTPIPE_CHARGES_H

#include "trade/landed.h"
#include "trade/terms.h"

enum taxed { TAXED_UNSAID, TAXED_YES, TAXED_NO };

/* Charges that a seller or a tariff can have, by class and name: those of an order are each looked
 * at beside each other. A charge has any number of steps. */
enum { CHARGES_MOST = 1000 };

struct charge_row {
	const char *seller, *tariff, *class, *charge, *currency;
	enum basis basis;
	int64_t place;
	bool over; /* reached past the place, not at it */
	bool refused, estimate;
	int64_t amount, percent;
	enum taxed taxed;
	/* Of basis landed: names of the charges it comes after, each once, in byte order. */
	const char *const *after;
	size_t afters;
	size_t name; /* number of class and charge in the file */
	size_t line;
};

struct charges {
	const char *file;
	struct charge_row *row; /* owned; by seller, tariff, class, charge, place */
	size_t count, room;
	const struct charge_row **first_of; /* by number of class and charge; owned */
	size_t names;
	struct arena arena;
};

/* The rows that name exactly this seller and tariff ("" where not); *count of them. */
const struct charge_row *charges_find(const struct charges *charges, const char *seller,
                                      const char *tariff, size_t *count);

#endif
