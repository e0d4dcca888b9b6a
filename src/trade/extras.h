/*
 * Extras: costs that are no order (instructions, a sorting tray), `item,amount,currency` and, in
 * percent, `tax` where the item bears one. Amounts (before tax; negative: money back) and percent
 * are micro (10^-6), several taxes as of sellers. The file is what --others names.
 */
#ifndef LOTPIPE_EXTRAS_H
#define LOTPIPE_EXTRAS_H

#include "table/table.h"
#include "trade/landed.h"

#include <stdint.h>

struct extra {
	const char *item, *currency; /* currency "": home */
	int64_t amount;
	struct taxes taxes;
	size_t line;
};

struct extras {
	const char *file;
	struct extra *row; /* owned; by item, currency, amount, tax */
	size_t count, room;
	struct arena arena;
};

void extras_read(struct extras *extras, struct table *table); /* closes it; faults exit */
void extras_free(struct extras *extras);

#endif
