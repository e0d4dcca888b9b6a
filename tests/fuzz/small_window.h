/*
 * The table reader over again, with a window of a few bytes in place of its large one, so that
 * small files are read window by window too.
 */
#ifndef LOTPIPE_FUZZ_SMALL_WINDOW_H
#define LOTPIPE_FUZZ_SMALL_WINDOW_H

#include "table/table.h"

struct table_reader {
	struct table *(*open)(const char *path, const struct table_form *form);
	void (*close)(struct table *table);
	bool (*next_any)(struct table *table, struct row *row, const char **why);
	size_t (*columns)(const struct table *table);
	char *const *(*header_as_read)(const struct table *table);
	struct faults *(*faults)(struct table *table);
};

extern const struct table_reader small_window;

#endif
