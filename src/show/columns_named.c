#include "show/columns_named.h"

#include "base/mem.h"
#include "base/opts.h"

#include <string.h>

size_t *
columns_named(struct table *table, struct arena *arena, const char *option, const char *list,
              const char *example, size_t *count)
{
	const char **name = text_list(arena, list, count);
	size_t *at = mem_zero(*count, sizeof *at);

	for (size_t i = 0; i < *count; i++) {
		char *trimmed = arena_copy(arena, name[i], strlen(name[i]));

		text_fold_blanks(trimmed);
		if (*trimmed == '\0')
			opts_usage("%s: a name is empty: %s for instance", option, example);
		at[i] = table_need_column(table, trimmed);
		for (size_t j = 0; at[i] != NO_COLUMN && j < i; j++)
			if (at[j] == at[i])
				opts_usage("%s: \"%s\" is named twice", option,
				           text_show(arena, trimmed));
	}
	return at;
}
