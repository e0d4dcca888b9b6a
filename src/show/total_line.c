#include "show/total_line.h"

#include "base/text.h"

static bool
names_rows(const char *column)
{
	return text_equal_fold(column, "seller") || text_equal_fold(column, "scenario") ||
	       text_equal_fold(column, "model");
}

bool
total_line_is(char *const *header, const char *const *field, size_t columns)
{
	bool first = true;

	for (size_t i = 0; i < columns; i++) {
		if (*field[i] == '\0')
			continue;
		if ((first || names_rows(header[i])) && text_equal_fold(field[i], "TOTAL"))
			return true;
		first = false;
	}
	return false;
}
