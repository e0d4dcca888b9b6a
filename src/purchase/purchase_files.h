/*
 * What a purchase is made from, as a command line names it: its options (OPTS_PURCHASE), the files
 * read and settled, and the input of purchase_init that they make.
 *
 * Money is micro (10^-6) home. Faults of files are told by those who read them; what does not go
 * together on the command line is a usage error.
 */
#ifndef LOTPIPE_PURCHASE_FILES_H
#define LOTPIPE_PURCHASE_FILES_H

#include "base/opts.h"
#include "purchase/purchase.h"
#include "trade/terms_files.h"

/* The values of OPTS_PURCHASE, borrowed; NULL: not given. */
struct purchase_options {
	const char **offers, **stock; /* owned */
	size_t offer_files, stock_files, offer_room, stock_room;
	struct terms_options terms;
	const char *keep, *was, *route, *without;
	int64_t order_cost;
	int64_t stay;      /* or NOT_GIVEN */
	size_t max_orders; /* or NO_LIMIT */
};

void purchase_options_start(struct purchase_options *options);
/* Takes an option of OPTS_PURCHASE; false: it is none of them. */
bool purchase_option(struct purchase_options *options, struct opt_reader *reader, int key,
                     const char *value);
/* After the last one. */
void purchase_options_end(const struct purchase_options *options);
void purchase_options_free(struct purchase_options *options);

/* Values of options like these: a whole number from `least` on, an amount, work of a search. */
int64_t option_whole(const char *name, const char *value, int64_t least);
int64_t option_money(const char *name, const char *value);
uint64_t option_effort(const char *value);

/* All that is read. */
struct purchase_files {
	struct need *need;
	struct stock stock;
	struct offers offers;
	struct terms_files terms;
	struct tariff_book book;
	struct names used; /* currencies */
	struct kept kept;
	struct names old_sellers; /* those that --stay counts from */
	const char **without;
	size_t withouts;
	unsigned home_decimals;
	struct arena arena;
};

/* Reads the need list from stdin and all that the options name, the columns `carry` of the offers
 * with them, and settles currencies; checks that sellers and route of the options are there. The
 * struct is all zero before. */
void purchase_files_read(struct purchase_files *files, const struct purchase_options *options,
                         const struct table_form *form, const char **carry, size_t carried,
                         bool quiet);
/* The two halves of it that are about the market alone, for a program that gets its need otherwise:
 * the files are read; then, once all that is read besides has added its currencies to `used`, the
 * home currency and those of the offers are settled and the names of the options checked. */
void purchase_files_read_market(struct purchase_files *files,
                                const struct purchase_options *options, const char **carry,
                                size_t carried, bool quiet);
void purchase_files_settle(struct purchase_files *files, const struct purchase_options *options);
void purchase_files_free(struct purchase_files *files);
/* What purchase_init takes, all of it borrowed. */
struct purchase_input purchase_files_input(struct purchase_files *files,
                                           const struct purchase_options *options);

#endif
