/*
 * Labels: how much room a text takes in a font that is not known, and texts made to fit.
 *
 * The reader's font is the reader's choice, so widths are reckoned from above: each character takes
 * what it does in the font, of the usual ones, in which it takes most. Of the usual ones are
 * DejaVu Sans, Serif and Sans Mono 2.37, Nimbus Sans and URW Bookman, measured in a browser, and
 * Verdana, from memory; so a font whose letters all take one width fits too. Beyond ASCII whole
 * blocks of characters count as their widest do; those that are far wider than others (ligatures
 * that are a sentence, long dashes, letters that join to clusters) for more. A font that is wider
 * still, an ornate one say, could make labels touch.
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
