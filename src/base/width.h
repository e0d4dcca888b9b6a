/*
 * What a terminal shows: code points out of UTF-8, and how many cells each takes.
 *
 * Wide characters (East Asian Width W and F, Unicode Standard Annex 11) take two cells, marks that
 * combine none, all others one; those of ambiguous width count as one, as they do outside of East
 * Asian legacy encodings. Each code point counts for itself, as wcwidth() of the usual C libraries
 * has it: a sequence of emoji that a joiner makes one is as wide as its parts.
 *
 * Some code points must not reach a terminal or a page at all: controls, which a terminal obeys,
 * and format characters, which are not seen and may turn round what is. They are hidden points.
 */
#ifndef LOTPIPE_WIDTH_H
#define LOTPIPE_WIDTH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The code point at s, which is valid UTF-8 and not at its end; *length is its bytes. */
uint32_t width_point(const char *s, size_t *length);
/* Cells of a code point: 0, 1 or 2. */
unsigned width_of_point(uint32_t point);
bool width_is_hidden(uint32_t point);
/* Cells of a string. */
size_t width_of(const char *s);

#endif
