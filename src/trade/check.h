/*
 * Comparing pieces expected with pieces found, key by key (see counted.h).
 *
 * As many pieces as can be are matched. A piece found fits a row that expects its key. It also
 * fits one that expects any color (and whose not_color does not match it) or a condition left
 * empty, if the rest of the key is the same; its pieces then count in that row. Rows of one lot
 * are one count, over keys. As many pieces as possible are matched by their own key among those.
 * Exactly as written, none of this holds: a key fits itself alone, and each row counts.
 *
 * A surplus of pieces found counts where its key is expected, else in a row it fits, else for
 * itself. Missing pieces are the dearest of their key, in a lot those of its first key.
 *
 * Quantities are whole pieces, amounts micro (10^-6), exact. The order of rows has no part in it.
 */
#ifndef LOTPIPE_CHECK_H
#define LOTPIPE_CHECK_H

#include "base/dec.h"
#include "trade/counted.h"

enum check_amount {
	CHECK_EXACT,
	CHECK_NO_PRICE,  /* of some of the missing pieces */
	CHECK_CURRENCIES /* the row has prices in several: no sum */
};

struct check_row {
	size_t key;
	int64_t expected, found;
	bool asked;  /* a row of some pieces expects the key */
	wide amount; /* what the missing pieces cost */
	enum check_amount known;
	const char *currency; /* of the amount; NULL where no priced piece is missing */
};

struct check {
	struct check_row *row; /* by key, in byte order; those with pieces; owned */
	size_t count;
	int64_t *needed; /* pieces still needed, by row of the expected list; owned */
	int64_t freely;  /* pieces matched by another color or condition than their own */
};

struct check *check_lists(const struct counted *expected, const struct counted *found,
                          const struct counted_by *by, bool exact);
void check_free(struct check *check);

#endif
