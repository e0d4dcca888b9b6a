#include "table/folder.h"

#include "base/err.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define WORKPLACE "/.lot-deal-XXXXXX"

struct folder_put {
	const char *name; /* borrowed */
	const struct sheet *sheet;
	bool placed;
};

/* Where the files are written before they are placed. */
struct workplace {
	struct folder *folder;
	char *path; /* owned */
	int fd;
	bool made; /* the folder too */
};

void
folder_open(struct folder *folder, const char *path)
{
	*folder = (struct folder){.path = path};
	folder->shown = text_show_all(&folder->arena, path);
	folder->fd = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
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
	char buffer[1 << 14];
	ssize_t got = 0;
	int fd;

	if (folder_look(folder, name) != ENTRY_FILE)
		return false;
	fd = openat(folder->fd, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
	if (fd < 0)
		return false;
	text_clear(bytes);
	while ((got = read(fd, buffer, sizeof buffer)) > 0 || (got < 0 && errno == EINTR))
		if (got > 0)
			text_add(bytes, buffer, (size_t)got);
	close(fd);
	return got == 0;
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

	for (size_t i = 0; place->fd >= 0 && i < folder->puts; i++)
		if (!folder->put[i].placed)
			unlinkat(place->fd, folder->put[i].name, 0);
	if (place->path != NULL)
		rmdir(place->path);
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
	size_t length = strlen(folder->path);
	char *path;

	if (folder->fd < 0) {
		if (mkdir(folder->path, 0777) != 0)
			fail(place, NULL);
		place->made = true;
		folder->fd = open(folder->path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
		if (folder->fd < 0)
			fail(place, NULL);
	}
	path = mem_alloc(length + sizeof WORKPLACE);
	memcpy(path, folder->path, length);
	memcpy(path + length, WORKPLACE, sizeof WORKPLACE);
	if (mkdtemp(path) == NULL) {
		int why = errno;

		free(path);
		errno = why;
		fail(place, NULL);
	}
	place->path = path;
	place->fd = open(path, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
	if (place->fd < 0)
		fail(place, NULL);
}

static void
write_file(struct workplace *place, const struct folder_put *put)
{
	const struct text *text = &put->sheet->text;
	int fd = openat(place->fd, put->name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);

	if (fd < 0)
		fail(place, put->name);
	if (!output_bytes(fd, text->bytes, text->length)) {
		int why = errno;

		close(fd);
		errno = why;
		fail(place, put->name);
	}
	if (close(fd) != 0)
		fail(place, put->name);
}

void
folder_write(struct folder *folder)
{
	struct workplace place = {.folder = folder, .fd = -1};

	if (folder->puts == 0 && folder->removals == 0)
		return;
	make_workplace(&place);
	for (size_t i = 0; i < folder->puts; i++)
		write_file(&place, &folder->put[i]);
	for (size_t i = 0; i < folder->removals; i++)
		if (unlinkat(folder->fd, folder->removed[i], 0) != 0 && errno != ENOENT)
			fail(&place, folder->removed[i]);
	for (size_t i = 0; i < folder->puts; i++) {
		struct folder_put *put = &folder->put[i];

		if (renameat(place.fd, put->name, folder->fd, put->name) != 0)
			fail(&place, put->name);
		put->placed = true;
	}
	place.made = false;
	clear_away(&place);
	close(place.fd);
	free(place.path);
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
