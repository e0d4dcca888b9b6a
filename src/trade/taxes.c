#include "trade/taxes.h"

#include "base/dec.h"

#include <string.h>

int64_t
taxes_sum(const struct taxes *taxes)
{
	int64_t sum = 0;

	for (size_t i = 0; i < taxes->count; i++)
		sum += taxes->percent[i];
	return sum;
}

int
taxes_compare(const struct taxes *a, const struct taxes *b)
{
	for (size_t i = 0; i < a->count && i < b->count; i++)
		if (a->percent[i] != b->percent[i])
			return a->percent[i] < b->percent[i] ? -1 : 1;
	return (a->count > b->count) - (a->count < b->count);
}

/* The next of the field's parts, up to a "+"; NULL behind the last. */
static char *
next_part(struct arena *arena, const char **field)
{
	const char *start = *field;
	size_t length;

	if (start == NULL)
		return NULL;
	length = strcspn(start, "+");
	*field = start[length] == '+' ? start + length + 1 : NULL;
	return text_trim(arena_copy(arena, start, length));
}

bool
taxes_field(struct table *table, const struct row *row, size_t column, struct taxes *out)
{
	const char *field = row_field(row, column), *rest = field, *name;
	int64_t sum = 0;
	char *part;

	*out = (struct taxes){0};
	if (*field == '\0')
		return true;
	name = table_header(table)[column];
	while ((part = next_part(table_arena(table), &rest)) != NULL) {
		int64_t percent = 0;
		enum dec_fault why = dec_parse_micro(part, false, &percent);

		if (why == DEC_OK && __builtin_add_overflow(sum, percent, &sum))
			why = DEC_LARGE;
		if (why != DEC_OK) {
			fault(table_faults(table), row->line, "%s \"%s\" %s", name,
			      text_show(table_arena(table), field), dec_fault_text(why));
			return false;
		}
		if (out->count == TAXES_MOST) {
			fault(table_faults(table), row->line,
			      "%s \"%s\" is more than %d taxes: add some of them up", name,
			      text_show(table_arena(table), field), (int)TAXES_MOST);
			return false;
		}
		out->percent[out->count++] = percent;
	}
	return true;
}
