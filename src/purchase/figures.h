/*
 * Figures of a search's result as programs tell them. Amounts are nano (10^-9) home.
 */
#ifndef LOTPIPE_FIGURES_H
#define LOTPIPE_FIGURES_H

#include "base/dec.h"
#include "base/mem.h"

/* (cost - bound) / cost in percent, 10^-3, rounded up: a gap is never shown too small. */
wide figure_gap(wide cost, wide bound);
/* In so many decimals, rounded half away, or down; in the arena. */
const char *figure_money(struct arena *arena, wide nano, unsigned decimals, bool down);
/* "s", or "" for one. */
const char *figure_plural(int64_t count);

/* For the eye alone: `, NAME AMOUNT` in whole hundredths, where the search knows it. */
bool figure_is_known(double amount);
void figure_add(struct text *line, const char *name, double amount);

#endif
