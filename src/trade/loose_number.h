/*
 * Loose numbers: quantities and prices as people and spreadsheets write them, into the canonical
 * form: digits, "." before decimals, no grouping, no currency sign, no word for pieces.
 *
 * Input is a text whose blanks are folded (text_fold_blanks). The decimal mark is said, never
 * guessed; the other one of "." and "," groups, as do blanks and apostrophes, in threes and of
 * one kind. What does not fit that to the letter is a fault: "1,20" where "," groups is 1.20
 * written by someone else or a slip, and either would be off by a hundred.
 *
 * Faults are texts that end a diagnostic (price "x" ...); they live in the arena or forever.
 */
#ifndef LOTPIPE_LOOSE_NUMBER_H
#define LOTPIPE_LOOSE_NUMBER_H

#include "base/text.h"

#include <stdint.h>

enum decimal_mark { MARK_POINT = '.', MARK_COMMA = ',' };

/* A number of 16 or 17 digits, of which more than 6 are decimals, is a binary one written out to
 * the last ("0.30000000000000004"): it counts as rounded to the 15 digits that spreadsheets keep.
 */

/* Pieces: "12", "12.0", "12 pcs", "x12", "12x", "1,200"; whole, 0 to QTY_MOST. */
const char *loose_pieces(const char *text, enum decimal_mark mark, int64_t *pieces);

enum { CURRENCY_CODE_SIZE = 4 };

/* Decimals, 0 or more, at most 6 after the mark: "1,234.50", "$ 0.12", "0.12 EUR". The canonical
 * digits replace what out holds: one text for a value, so without zeros at the end, which a
 * spreadsheet writes or not as the cell shows them. code gets the ISO 4217 code that the text
 * names (the euro sign is one too), or "": many signs stand for several. */
const char *loose_decimal(const char *text, enum decimal_mark mark, struct text *out,
                          char code[CURRENCY_CODE_SIZE]);

#endif
