/*
 * Small markets out of bytes: a need list, offers, sellers, charges and the rest, put into the box
 * as files, every rule of them drawn now and then. Each byte, or two, is a choice; no byte is 0.
 */
#ifndef LOTPIPE_FUZZ_MARKET_H
#define LOTPIPE_FUZZ_MARKET_H

#include "harness.h"

enum { MARKET_FILES_MOST = 9 };

struct market_file {
	const char *name, *option; /* "-": stdin, the need list, without option */
	struct fuzz_bytes bytes;
	bool order_matters; /* of its rows */
	bool terms;         /* lot-total takes it too */
};

struct market {
	struct market_file file[MARKET_FILES_MOST];
	size_t files;
	/* Options beside those that name the files; NULL at the end. */
	const char *option[16];
	size_t options;
	/* Amounts are such that nothing is rounded at the cent. */
	bool round;
	bool kept;      /* there are orders under way */
	bool large;     /* amounts have ten digits or so, of which doubles are not sure to a cent */
	size_t charges; /* different ones of a seller, at most */
	const char *args[64]; /* the whole command line of lot-split, to be shown */
};

/* How large, at most. */
struct market_size {
	unsigned lots, rows, sellers, listings, qty;
};

/* Draws one and puts its files into the box. */
void market_draw(struct market *market, struct fuzz_input *in, const struct market_size *size);
/* Puts them there again, the rows of those in which they do not matter turned round where asked. */
void market_put(const struct market *market, bool turned);
/* Adds the options, those that lot-total knows alone where asked; returns how many there are then.
 */
size_t market_args(const struct market *market, bool of_total, const char **args, size_t count);

#endif
