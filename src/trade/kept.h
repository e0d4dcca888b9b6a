/*
 * What is kept of an earlier plan: its order lines, each with a state.
 *
 *   paid   the order is closed and its money spent: the pieces are there, wherever they fit
 *   open   in the basket: fixed, but the order may grow
 *   new, or nothing   to be planned afresh; only its seller is remembered
 *
 * Lines of stock in use are left out. Units as in orders.h. Faults (an unknown state, no column
 * state) exit.
 */
#ifndef LOTPIPE_KEPT_H
#define LOTPIPE_KEPT_H

#include "trade/orders.h"

enum kept_state { KEPT_AFRESH, KEPT_PAID, KEPT_OPEN };

struct kept {
	struct orders orders;   /* as read, in byte order of what they say */
	enum kept_state *state; /* by line; owned */
};

/* Reads a whole file and closes it. */
void kept_read(struct kept *kept, struct table *table);
void kept_free(struct kept *kept);
/* The state of that name, none being new; false: there is no such state. */
bool kept_state_named(const char *name, enum kept_state *state);
/* How a state is written. */
const char *kept_state_name(enum kept_state state);

#endif
