/*
 * Swap rules: what may stand for what, and their application to a need list.
 *
 * A rule is one or more steps, applied whole or not at all: all of its steps match the list as it
 * was before the rule. Within a rule, a use, a drop and a may with an `of` take the pieces of the
 * rows they touch, and a later step touches what is left of the row; a may of all pieces and a
 * spare take none. The touched pieces of a row that `of` splits come first, the others follow.
 * Of a split lot the others keep the name, and the touched ones are called `lot~rule`.
 *
 * Quantities are whole pieces, penalties and percentages micro (10^-6). Faults of the rules file
 * are told by its table; swaps_apply tells what a step cannot do (a quantity past QTY_MOST, a
 * match limit, alternatives of unequal quantity) at the step's line and exits, EXIT_TROUBLE.
 */
#ifndef LOTPIPE_SWAPS_H
#define LOTPIPE_SWAPS_H

#include "trade/need.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum swap_do { SWAP_USE, SWAP_MAY, SWAP_DROP, SWAP_ADD, SWAP_SPARE, SWAP_DOS };

extern const char *const swap_do_names[SWAP_DOS];

/* The columns that steps match; the first SWAP_REPLACED of them can be replaced. */
enum swap_field { SWAP_PART, SWAP_COLOR, SWAP_CONDITION, SWAP_GROUP, SWAP_FIELDS };
#define SWAP_REPLACED SWAP_GROUP

struct swap_step {
	size_t rule; /* its number */
	size_t next; /* the next step of the rule; SIZE_MAX: none */
	enum swap_do kind;
	struct pattern *pattern[SWAP_FIELDS]; /* owned; NULL where empty: anything */
	const char *pattern_text[SWAP_FIELDS];
	const char *to[SWAP_REPLACED]; /* "" keeps */
	int64_t of;                    /* pieces of each row; NOT_GIVEN: all */
	int64_t qty;                   /* use, add: pieces; spare: pieces or micro percent */
	bool percent;
	const char *penalty_text;
	int64_t penalty; /* micro */
	size_t line;
};

struct swap_rule {
	const char *name;
	bool together, must;
	bool together_no, must_no; /* said in so many words, for contradictions */
	bool has_may;
	size_t line;        /* of its first step */
	size_t first, last; /* steps; SIZE_MAX: none yet */
};

struct swaps {
	const char *file;
	struct swap_step *step; /* owned; in file order */
	size_t steps, step_room;
	struct swap_rule *rule; /* owned; in order of first appearance */
	size_t rules, rule_room;
	struct names names;       /* of the rules, by number */
	struct pattern *anything; /* owned; what an empty pattern stands for */
	struct arena arena;       /* owns every text */
};

/* What a step did: lots and pieces it touched, and what became of those pieces. */
struct swap_touch {
	size_t lots;
	int64_t before, after;
};

/* Reads a whole rules file and closes it; faults exit. */
struct swaps *swaps_read(struct table *table);
void swaps_free(struct swaps *swaps);
/* The number of a rule, or SIZE_MAX. */
size_t swaps_find(const struct swaps *swaps, const char *name);
/* Which rules the values of --only and --except pick, each as "A,B" or NULL; a name that the file
 * does not have exits. The caller frees it. */
bool *swaps_pick(const struct swaps *swaps, const char *only, const char *except);

/* The pattern of a column; where that is empty, one that matches anything. */
struct pattern *swap_pattern(const struct swaps *swaps, const struct swap_step *step, size_t field);

/* Does the step match the row? */
bool swap_step_matches(struct swaps *swaps, const struct swap_step *step,
                       const struct need_row *row);
/* The row with its part, color and condition replaced as the step says; texts in the arena. Returns
 * SWAP_FIELDS, or the field for which that gives nothing. */
size_t swap_step_change(struct swaps *swaps, struct arena *arena, const struct swap_step *step,
                        const struct need_row *row, struct need_row *new);

/* The most rows that rules may make of the list that was read. */
size_t swaps_most_rows(const struct need *need);

/* Applies one rule and merges what became the same. Returns NULL, touched[] filled in for the
 * rule's steps (it has swaps->steps elements); or the step that matches no row, the list as it
 * was. */
const struct swap_step *swaps_apply(struct swaps *swaps, size_t rule, struct need *need,
                                    struct swap_touch *touched);
/* A rule that only adds lots, of which many follow one another, can be applied without a look at
 * the list: the caller merges it (need.h) after the last of them. */
bool swaps_only_adds(const struct swaps *swaps, size_t rule);
void swaps_add(struct swaps *swaps, size_t rule, struct need *need, struct swap_touch *touched);

#endif
