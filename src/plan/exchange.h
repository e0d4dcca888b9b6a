/*
 * What closing a seller, opening one, or both at once changes in a filled draft, without filling it
 * anew: a lot is concerned only if the closed seller serves it, or if the opened one asks less than
 * the last offer that it was filled from. The sum of what the lots concerned then cost more, and
 * the flat charges of sellers that come or go, is the change.
 *
 * For sellers of one flat charge and plain prices only (struct relax: plain_seller), where lots do
 * not depend on each other. Double home currency, as drafts are: a proposal.
 *
 * Source: R. A. Whitaker, "A fast algorithm for the greedy interchange for large-scale clustering
 * and median location problems", INFOR 21 (1983) 95-108, from memory; here with quantities.
 */
#ifndef LOTPIPE_EXCHANGE_H
#define LOTPIPE_EXCHANGE_H

#include "plan/model.h"

#include <stdbool.h>
#include <stddef.h>

struct draft;

struct exchange {
	const struct model *model;
	double *cost;     /* by lot: as filled */
	size_t *end;      /* by lot: the first offer that its filling did not come to */
	ptrdiff_t *lines; /* by seller: lots it serves */
	ptrdiff_t *more;  /* scratch, by seller: how many more after the change; 0 between calls */
	size_t *lot;      /* the lots that the last change concerns, */
	size_t lots;      /* so many, */
	double change;    /* and what it comes to */
	bool *concerned;  /* by lot; false between calls */
	size_t *seller;   /* scratch: those that serve lots more or fewer */
	bool *changed;    /* by seller; false between calls */
};

void exchange_init(struct exchange *exchange, const struct model *model);
void exchange_free(struct exchange *exchange);
/* Notes how the draft is filled; after draft_fill, before exchange_change. */
void exchange_note(struct exchange *exchange, const struct draft *draft);
/* What draft_fill would say more with one seller shut and one opened (SIZE_MAX: none), and a hair
 * more for an order more. Adds the offers looked at to *work. */
double exchange_change(struct exchange *exchange, const struct draft *draft, size_t shut,
                       size_t open, uint64_t *work);
/* Makes the change that exchange_change was last asked for, once `open` says it. */
void exchange_make(struct exchange *exchange, struct draft *draft);

#endif
