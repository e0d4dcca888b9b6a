/*
 * The files that say what an order costs beyond its goods (sellers, charges, exchange rates,
 * weights), as a command line names them: its options, and the reading.
 */
#ifndef LOTPIPE_TERMS_FILES_H
#define LOTPIPE_TERMS_FILES_H

#include "base/opts.h"
#include "trade/rates.h"
#include "trade/sellers.h"
#include "trade/terms.h"
#include "trade/weights.h"

/* The values of OPTS_TERMS, borrowed; NULL: not given. */
struct terms_options {
	const char *sellers, *charges, *rates, *weights, *currency;
	struct rates_form form;
};

/* Takes an option of OPTS_TERMS; false: it is none of them. */
bool terms_option(struct terms_options *options, struct opt_reader *reader, int key,
                  const char *value);
/* The value of an option that is a day. */
int32_t terms_day(const char *name, const char *value);
/* After the last one: what does not go together is a usage error. */
void terms_options_end(const struct terms_options *options);

/* Pointers to what was read, NULL where no file is named. */
struct terms_files {
	struct sellers *sellers;
	struct charges *charges;
	struct rates *rates;
	struct weights *weights;
};

/* Reads all that are named; faults exit. */
void terms_files_read(struct terms_files *files, const struct terms_options *options);
void terms_files_free(struct terms_files *files);

#endif
