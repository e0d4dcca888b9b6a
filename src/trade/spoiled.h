/*
 * Part numbers that a spreadsheet spoiled: it took text for a number or a date, and wrote it back
 * as such.
 *
 * What is told: a number in scientific notation with a sign in its exponent ("1E+05"); one with
 * nothing but zeros behind its decimal mark ("1007.0"); a date: year first ("2026-03-01"), year
 * last ("01.03.2026", "3/1/26", and "01-03-26", each of two digits), day and month by name
 * ("1-Mar", "01. Mrz"), month by name and year ("Mar-01"), all three ("3-maj-2026", "Mar/01/2026"),
 * with a time or without. What was typed cannot be told from it: "1E+05" may have been 1E5, 100000
 * or 10E4. Nor can what an error value stands for ("#N/A", "#REF!", "Err:508", "###").
 *
 * A part may be numbered like a date: a name rule says so. "12-1-10", "1-2" and "2026/3" are none
 * here. Names of months are those of the languages that lot-norm knows header words of, in short,
 * as the locales of the GNU C library have them and from memory; in full where they begin so. A few
 * are ordinary words: those count in a whole date alone. Dates of numbers alone, and with both
 * names of months and years, are what LibreOffice 7.4 and Gnumeric 1.12 make of parts such as 1-3
 * and mar-1 in the settings of these languages: "01-03-26" is Danish and Dutch. Error values:
 * English, German, and what is like them; from memory.
 */
#ifndef LOTPIPE_SPOILED_H
#define LOTPIPE_SPOILED_H

/* What ends a diagnostic (part "1E+05" ...), or NULL: it looks like what was typed. */
const char *spoiled_part(const char *part);

#endif
