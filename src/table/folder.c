#include "table/folder.h"

#include "base/err.h"
#include "base/file.h"
#include "table/temporary.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct folder_put {
	const char *name; /* borrowed */
	const struct sheet *sheet;
	bool placed;
};

/* Where the files are written before they are placed. */
struct workplace {
	struct folder *folder;
	struct temporary directory;
	bool made; /* the folder too */
};

void
folder_open(struct folder *folder, const char *path)
{
	*folder = (struct folder){.path = path};
	folder->shown = text_show_all(&folder->arena, path);
	folder->fd = file_open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
	if (folder->fd < 0 && errno != ENOENT)
		die_errno("%s", folder->shown);
}

enum folder_entry
folder_look(const struct folder *folder, const char *name)
{
	struct stat status;

	if (folder->fd < 0)
		return ENTRY_NONE;
	if (fstatat(folder->fd, name, &status, AT_SYMLINK_NOFOLLOW) != 0) {
		if (errno != ENOENT)
			die_errno("%s/%s", folder->shown, name);
		return ENTRY_NONE;
	}
	return S_ISREG(status.st_mode)   ? ENTRY_FILE
	       : S_ISLNK(status.st_mode) ? ENTRY_LINK
	                                 : ENTRY_OTHER;
}

bool
folder_read(const struct folder *folder, const char *name, struct text *bytes)
{
	const int flags = O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC;
	char buffer[1 << 14];
	ssize_t got;
	int fd;

	if (folder_look(folder, name) != ENTRY_FILE)
		return false;
	fd = file_open_at(folder->fd, name, flags, 0);
	if (fd < 0 && errno == EACCES)
		return false;
	text_clear(bytes);
	while (fd >= 0 && (got = file_read(fd, buffer, sizeof buffer)) > 0)
		text_add(bytes, buffer, (size_t)got);
	if (fd < 0 || got < 0)
		die_errno("%s/%s", folder->shown, name);
	file_close(fd);
	return true;
}

const char *
folder_path(struct folder *folder, const char *name)
{
	struct text path = {0};
	const char *kept;

	text_adds(&path, folder->path);
	text_addc(&path, '/');
	text_adds(&path, name);
	kept = arena_copy(&folder->arena, path.bytes, path.length);
	text_free(&path);
	return kept;
}

void
folder_put(struct folder *folder, const char *name, const struct sheet *sheet)
{
	MEM_ROOM(folder->put, folder->puts, folder->put_room);
	folder->put[folder->puts++] = (struct folder_put){.name = name, .sheet = sheet};
}

void
folder_remove(struct folder *folder, const char *name)
{
	MEM_ROOM(folder->removed, folder->removals, folder->removed_room);
	folder->removed[folder->removals++] = arena_copy(&folder->arena, name, strlen(name));
}

/* ---- writing ---- */

/* Leaves nothing behind of what is not placed. */
static void
clear_away(struct workplace *place)
{
	struct folder *folder = place->folder;

	for (size_t i = 0; place->directory.fd >= 0 && i < folder->puts; i++)
		if (!folder->put[i].placed)
			unlinkat(place->directory.fd, folder->put[i].name, 0);
	if (place->directory.fd >= 0)
		rmdir(place->directory.path);
	if (place->made)
		rmdir(folder->path); /* stays, where anything was placed */
}

static noreturn void
fail(struct workplace *place, const char *name)
{
	int why = errno;

	clear_away(place);
	errno = why;
	if (name == NULL)
		die_errno("%s", place->folder->shown);
	die_errno("%s/%s", place->folder->shown, name);
}

static void
make_workplace(struct workplace *place)
{
	struct folder *folder = place->folder;

	if (folder->fd < 0) {
		if (mkdir(folder->path, 0777) != 0)
			fail(place, NULL);
		place->made = true;
		folder->fd = file_open(folder->path, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
		if (folder->fd < 0)
			fail(place, NULL);
	}
	if (!temporary_make_directory(&place->directory))
		fail(place, NULL);
}

static void
write_file(struct workplace *place, const struct folder_put *put)
{
	const struct text *text = &put->sheet->text;
	struct stat old;
	bool replaces = fstatat(place->folder->fd, put->name, &old, AT_SYMLINK_NOFOLLOW) == 0 &&
	                S_ISREG(old.st_mode);
	int fd =
	    file_open_at(place->directory.fd, put->name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC,
	                 replaces ? old.st_mode & 0666 : 0666);

	if (fd < 0)
		fail(place, put->name);
	if (replaces)
		temporary_become(fd, &old);
	if (!file_write(fd, text->bytes, text->length) || !file_close(fd))
		fail(place, put->name);
}

static void
write_all(struct workplace *place)
{
	struct folder *folder = place->folder;

	make_workplace(place);
	for (size_t i = 0; i < folder->puts; i++)
		write_file(place, &folder->put[i]);
	for (size_t i = 0; i < folder->removals; i++)
		if (unlinkat(folder->fd, folder->removed[i], 0) != 0 && errno != ENOENT)
			fail(place, folder->removed[i]);
	for (size_t i = 0; i < folder->puts; i++) {
		struct folder_put *put = &folder->put[i];

		if (renameat(place->directory.fd, put->name, folder->fd, put->name) != 0)
			fail(place, put->name);
		put->placed = true;
	}
	place->made = false;
	clear_away(place);
}

void
folder_write(struct folder *folder)
{
	struct workplace place = {.folder = folder};
	sigset_t before;

	temporary_plan(&place.directory, folder_path(folder, ""));
	file_hold_signals(&before);
	if (folder->fd >= 0)
		temporary_clear_left(&place.directory);
	if (folder->puts > 0 || folder->removals > 0)
		write_all(&place);
	file_release_signals(&before);
	temporary_end(&place.directory);
	tell_now();
}

void
folder_free(struct folder *folder)
{
	if (folder->fd >= 0)
		close(folder->fd);
	free(folder->put);
	free(folder->removed);
	arena_free(&folder->arena);
	*folder = (struct folder){.fd = -1};
}
