/*
 * One need list for many subsets of the swap rules: what every rule that is not decided could do is
 * offered at once. No subset's list can be bought for less, nor with fewer pieces unmet:
 *
 *   - A plan for the list of a subset, its pieces beyond the need included, is one for this list,
 * at no higher cost: every row that a subset makes is here, at the least penalty it has anywhere,
 *     and no lot needs more pieces here.
 *   - So: what a `use` may replace stands beside what it may be replaced by, one for one, however
 *     many new pieces stand for an old one. What a `drop` may remove need not be bought, nor what
 * an `add` may add; both may. What a `spare` may add is not needed. A `may` that nothing after it
 *     touches stands as it is; any other alternative may be mixed freely. A lot whose pieces are
 *     worth something takes the most pieces that it can come to.
 *
 * Rows that no undecided rule can touch are exactly what the decided rules make of them. Quantities
 * are whole pieces. What swaps_apply tells and exits for, is told here too; it would be for every
 * subset with the decided rules.
 */
#ifndef LOTPIPE_SWAPS_RELAX_H
#define LOTPIPE_SWAPS_RELAX_H

#include "trade/swaps.h"

enum ruling { RULE_OPEN, RULE_ON, RULE_OFF };

/* What a rule is found to be among the others, as they are decided. */
enum rule_role {
	ROLE_NEVER,  /* in no subset do all its steps match */
	ROLE_OPTION, /* it gives options alone: whoever has it can do without what it gives */
	ROLE_CHANGE
};

/* The list, by rule's ruling; role NULL, or by rule. The caller frees the list; texts are also
 * those of the need and swaps. */
struct need *swaps_relax(struct swaps *swaps, const struct need *need, const enum ruling *ruling,
                         enum rule_role *role);

#endif
