/*
 * Part numbers that a spreadsheet spoiled: it took text for a number or a date, and wrote it back
 * as such.
 *
 * What is told: a number in scientific notation with a sign in its exponent ("1E+05"); one with
 * nothing but zeros behind its decimal mark ("1007.0"); a date: year first ("2026-03-01"), year
 * last ("01.03.2026", "3/1/26"), day and month by name ("1-Mar", "01. Mrz"), month by name and
 * year ("Mar-01"), with a time or without. What was typed cannot be told from it: "1E+05" may have
 * been 1E5, 100000 or 10E4. Nor can what an error value stands for ("#N/A", "#REF!", "Err:508",
 * "###").
 *
 * A date with two digits of the year and hyphens ("12-11-10") is not told: parts are numbered so.
 * Names of months: English, German, French, Spanish, Italian, Dutch and Portuguese, in the short
 * forms of spreadsheets; error values: English, German, and what is like them; from memory.
 */
#ifndef LOTPIPE_SPOILED_H
#define LOTPIPE_SPOILED_H

/* What ends a diagnostic (part "1E+05" ...), or NULL: it looks like what was typed. */
const char *spoiled_part(const char *part);

#endif
