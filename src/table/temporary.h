/*
 * Temporaries: what is written beside a file, or in a directory, before it is put in its place.
 * Their names are ".lotpipe-" and six hexadecimal digits, and each is locked (flock) as long as the
 * run lives that writes it.
 *
 * So what has such a name, is the user's own and not locked was left by a run that was killed, and
 * the next run that writes to the same directory clears it away. Nothing else is ever cleared.
 * Where files cannot be locked nothing is.
 */
#ifndef LOTPIPE_TEMPORARY_H
#define LOTPIPE_TEMPORARY_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/stat.h>

struct temporary {
	char *path;       /* owned */
	size_t directory; /* its bytes up to the name */
	int fd;           /* -1: it is not made */
};

/* Makes room for a temporary beside that path. This alone takes memory, and may die for want of it.
 */
void temporary_plan(struct temporary *temporary, const char *path);
/* Clears away what is left in the directory of runs that were killed. */
void temporary_clear_left(const struct temporary *temporary);
/* Makes the file, open for writing, or the directory. False and errno on failure. */
bool temporary_make_file(struct temporary *temporary, mode_t mode);
bool temporary_make_directory(struct temporary *temporary);
/* Closes it, and frees the path. Whoever made it has put it in its place, or removed it. */
void temporary_end(struct temporary *temporary);

/* Gives an open file the permissions of the one it will replace, and its owner where that is
 * possible. */
void temporary_become(int fd, const struct stat *old);

#endif
