/*
 * Labels: how much room a text takes in a font that is not known, and texts made to fit.
 *
 * The reader's font is the reader's choice, so widths are reckoned from above: for each class of
 * characters what the widest of the usual fonts take, a tenth of which is none of them. Measured
 * in DejaVu Sans, Serif and Sans Mono 2.37, Nimbus Sans, URW Bookman; those of Verdana from memory.
 * Characters that may be far wider than others (ligatures that are a sentence, long dashes,
 * scripts whose letters join to clusters) count for more. A font that is wider still, an ornate one
 * say, could make labels touch.
 *
 * Units: hundredths of a pixel, as everything that svg.h writes.
 */
#ifndef LOTPIPE_PLOT_LABEL_H
#define LOTPIPE_PLOT_LABEL_H

#include "base/text.h"

#include <stdint.h>

/* Of a string in a font of that size, from above. */
int64_t label_width(const char *string, int64_t size);
/* The string, or where that is wider than most its start with an ellipsis, in the arena; "" where
 * not even that fits. */
const char *label_cut(struct arena *arena, const char *string, int64_t size, int64_t most);
/* Broken at blanks, within words where need be, into lines no wider than most; the last of them is
 * cut where the text does not end there. Returns how many; lines in the arena. */
size_t label_wrap(struct arena *arena, const char *string, int64_t size, int64_t most,
                  const char **line, size_t lines);

#endif
