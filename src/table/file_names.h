/*
 * Safe names of files for names that strangers chose.
 *
 * The rule: what is not an ASCII letter or digit, `-` or `_` becomes `_`, a run of it one; so does
 * a leading `-`. No more than FILE_NAME_MOST bytes are kept; nothing left is `_`. A name that some
 * system keeps for itself gets a `_` behind it, and so does a reserved one. Names that are then the
 * same, letter case aside, are numbered: `-2`, `-3` and so on, in byte order of what they stand
 * for, those that the rule leaves as they are before the others. `.csv` ends all.
 *
 * Sources: the portable filename character set of POSIX.1-2017, 3.282, without the period, and no
 * leading hyphen; the device names of Microsoft's "Naming Files, Paths, and Namespaces".
 */
#ifndef LOTPIPE_FILE_NAMES_H
#define LOTPIPE_FILE_NAMES_H

#include "base/text.h"

#define FILE_ENDING ".csv"

enum { FILE_NAME_MOST = 60 };

/* One for each of the names, which differ and stand in byte order; in the arena. reserved: a name
 * without ending that none of them gets. */
const char **file_names(struct arena *arena, const char *const *name, size_t count,
                        const char *reserved);
/* Could it come from the rule? */
bool file_name_fits(const char *name, const char *reserved);

#endif
