/*
 * A directory that files are dealt into: all of them are written whole in a temporary directory
 * within it (temporary.h), and put in their places only when all are; a failing write leaves what
 * was there, and signals wait so long. A file that is replaced keeps its permissions. Nothing is
 * followed out of it: a link is replaced, never written through.
 *
 * A directory that is not there is made, the last part of its path alone. What fails is told,
 * EXIT_TROUBLE.
 */
#ifndef LOTPIPE_FOLDER_H
#define LOTPIPE_FOLDER_H

#include "table/output.h"

#include <stdbool.h>
#include <stddef.h>

enum folder_entry { ENTRY_NONE, ENTRY_FILE, ENTRY_LINK, ENTRY_OTHER };

struct folder {
	const char *path;       /* borrowed */
	const char *shown;      /* for messages */
	int fd;                 /* -1: not there yet */
	struct folder_put *put; /* owned */
	size_t puts, put_room;
	const char **removed; /* names, in the arena; owned */
	size_t removals, removed_room;
	struct arena arena;
};

/* Opens it if it is there. */
void folder_open(struct folder *folder, const char *path);
/* What a name stands for in it, links not followed. */
enum folder_entry folder_look(const struct folder *folder, const char *name);
/* The bytes of a regular file; false where it is none or may not be read. */
bool folder_read(const struct folder *folder, const char *name, struct text *bytes);
/* The path of a name in it; in the folder's arena. */
const char *folder_path(struct folder *folder, const char *name);
/* Notes a file to write; name and sheet must live until then. */
void folder_put(struct folder *folder, const char *name, const struct sheet *sheet);
/* Notes a file to remove. */
void folder_remove(struct folder *folder, const char *name);
/* Writes all that was noted: removes what is to go, then places the files in the order noted. Then
 * what waited is told (err.h). */
void folder_write(struct folder *folder);
void folder_free(struct folder *folder);

#endif
