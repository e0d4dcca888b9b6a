/*
 * Planning afresh, against keeping the orders that stand.
 *
 * Kept, standing orders are what is left of them now, and what they lack is bought again around
 * them: a search in which their lines are open (kept.h) and the sellers have left of their offers
 * what the lines do not take. Afresh, all of the need is planned anew.
 *
 * Owns the rule which of the two is the plan. Another plan than the orders kept must leave fewer
 * pieces unmet, or as many at a cost, as lot-split makes it least, that is lower by half a minor
 * unit at least, which is what a proof goes to; and lower by invoices, too. Orders kept that
 * cannot be placed, or that the options do not allow, are no plan.
 *
 * Costs are nano (10^-9) home, sums minor units of the home currency.
 */
#ifndef LOTPIPE_AFRESH_H
#define LOTPIPE_AFRESH_H

#include "purchase/replan.h"
#include "trade/drift.h"

struct afresh_input {
	struct purchase_input purchase; /* need, stock in use, paid lines as kept ones: of now */
	const struct drift_input *drift;
	const struct drift *standing;
	const struct orders *orders; /* all lines that were read */
	bool may_lack;               /* something of the need may be missing in the orders */
	uint64_t effort;             /* of each search */
};

/* A way to get what is needed. */
struct way {
	struct orders orders; /* with paid lines and stock in use; sorted */
	struct sum sum;       /* of what is not paid */
	wide cost;            /* what lot-split makes least */
	wide money;           /* the same, as invoices round it */
	int64_t unmet;
	bool barred; /* an order cannot be placed as it is, or may not by the options */
};

struct afresh {
	struct way kept, found;
	bool keep;           /* nothing found is better than the orders kept */
	struct replan fresh; /* the search for all */
	struct replan again; /* and for what is missing, where anything may be */
	bool may_lack;
	struct kept kept_lines;
	struct offers left; /* what the orders leave of the offers */
	struct arena arena;
};

/* The texts of the input must outlive it. Faults are told, EXIT_TROUBLE. */
void afresh_make(struct afresh *afresh, const struct afresh_input *input);
/* The plan: the orders kept, or what was found. */
const struct way *afresh_plan(const struct afresh *afresh);
/* Is it proved to be the least? */
bool afresh_is_proved(const struct afresh *afresh);
void afresh_free(struct afresh *afresh);

#endif
