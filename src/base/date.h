/*
 * Dates: YYYY-MM-DD, the extended calendar format of ISO 8601, in the Gregorian calendar. A date is
 * a whole number YYYYMMDD, so that later is more; NO_DATE is before all of them.
 */
#ifndef LOTPIPE_DATE_H
#define LOTPIPE_DATE_H

#include "base/text.h"

#include <stdbool.h>
#include <stdint.h>

enum { NO_DATE = 0 };

/* False where the text is no date, or one that no calendar has. */
bool date_parse(const char *text, int32_t *out);
void date_add_text(struct text *out, int32_t date);

#endif
