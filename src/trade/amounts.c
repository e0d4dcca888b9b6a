#include "trade/amounts.h"

#include "base/dec.h"

static bool
told(struct table *table, const struct row *row, size_t column, enum dec_fault why)
{
	const char *field = row_field(row, column);
	const char *name = column == NO_COLUMN ? "a number" : table_header(table)[column];

	if (why == DEC_OK)
		return true;
	if (why == DEC_EMPTY)
		fault(table_faults(table), row->line, "%s %s", name, dec_fault_text(why));
	else
		fault(table_faults(table), row->line, "%s \"%s\" %s", name,
		      text_show(table_arena(table), field), dec_fault_text(why));
	return false;
}

bool
amount_micro(struct table *table, const struct row *row, size_t column, enum sign sign,
             int64_t empty, int64_t *out)
{
	const char *field = row_field(row, column);

	if (*field == '\0' && empty != AMOUNT_REQUIRED) {
		*out = empty;
		return true;
	}
	return told(table, row, column, dec_parse_micro(field, sign == MAY_BE_NEGATIVE, out));
}

bool
amount_qty(struct table *table, const struct row *row, size_t column, int64_t empty, int64_t *out)
{
	const char *field = row_field(row, column);

	if (*field == '\0' && empty != AMOUNT_REQUIRED) {
		*out = empty;
		return true;
	}
	return told(table, row, column, dec_parse_qty(field, out));
}
