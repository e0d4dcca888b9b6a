#include "table/temporary.h"

#include "base/file.h"
#include "base/mem.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#define MARK ".lotpipe-"

enum { DIGITS = 6, NUMBERS = 1 << 4 * DIGITS, TRIES = 4096 };

void
temporary_plan(struct temporary *temporary, const char *path)
{
	const char *slash = strrchr(path, '/');
	size_t directory = slash != NULL ? (size_t)(slash - path) + 1 : 0;

	temporary->path = mem_alloc(directory + sizeof MARK + DIGITS);
	memcpy(temporary->path, path, directory);
	temporary->path[directory] = '\0';
	temporary->directory = directory;
	temporary->fd = -1;
}

void
temporary_end(struct temporary *temporary)
{
	if (temporary->fd >= 0)
		file_close(temporary->fd);
	free(temporary->path);
	*temporary = (struct temporary){.fd = -1};
}

static int
lock(int fd)
{
	int got;

	do {
		got = flock(fd, LOCK_EX | LOCK_NB);
	} while (got != 0 && errno == EINTR);
	return got;
}

/* ---- what is left ---- */

static bool
is_ours(const char *name)
{
	return strncmp(name, MARK, sizeof MARK - 1) == 0 &&
	       strlen(name) == sizeof MARK - 1 + DIGITS &&
	       strspn(name + sizeof MARK - 1, "0123456789abcdef") == DIGITS;
}

/* Removes the files in a directory, and nothing else that may be in it. */
static void
empty(int directory)
{
	int copy = dup(directory);
	DIR *list = copy >= 0 ? fdopendir(copy) : NULL;
	const struct dirent *entry;

	if (list == NULL && copy >= 0)
		file_close(copy);
	while (list != NULL && (entry = readdir(list)) != NULL)
		if (entry->d_name[0] != '.')
			unlinkat(directory, entry->d_name, 0);
	if (list != NULL)
		closedir(list);
}

/* Whoever can lock it knows that nobody writes it any more. */
static void
clear_one(int directory, const char *name)
{
	const int flags = O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC;
	int fd = file_open_at(directory, name, O_RDWR | flags, 0);
	struct stat status;

	if (fd < 0 && errno == EISDIR)
		fd = file_open_at(directory, name, O_RDONLY | flags, 0);
	if (fd < 0)
		return;
	if (lock(fd) == 0 && fstat(fd, &status) == 0 && status.st_uid == geteuid()) {
		if (S_ISREG(status.st_mode))
			unlinkat(directory, name, 0);
		else if (S_ISDIR(status.st_mode)) {
			empty(fd);
			unlinkat(directory, name, AT_REMOVEDIR);
		}
	}
	file_close(fd);
}

void
temporary_clear_left(const struct temporary *temporary)
{
	DIR *list;
	const struct dirent *entry;

	temporary->path[temporary->directory] = '\0';
	list = opendir(temporary->directory > 0 ? temporary->path : ".");
	while (list != NULL && (entry = readdir(list)) != NULL)
		if (is_ours(entry->d_name))
			clear_one(dirfd(list), entry->d_name);
	if (list != NULL)
		closedir(list);
}

/* ---- new ones ---- */

static void
unmake(const char *path, bool directory)
{
	int why = errno;

	if (directory)
		rmdir(path);
	else
		unlink(path);
	errno = why;
}

static int
make(const char *path, bool directory, mode_t mode)
{
	int fd;

	if (!directory)
		return file_open(path, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, mode);
	if (mkdir(path, mode) != 0)
		return -1;
	fd = file_open(path, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC, 0);
	if (fd < 0 && errno == ENOENT)
		errno = EEXIST; /* another run took it for one that is left: the next name */
	else if (fd < 0)
		unmake(path, directory);
	return fd;
}

/* Between making and locking it, another run may have taken it for one that is left: it holds the
 * lock then, or has removed it. */
static bool
is_kept(int fd)
{
	struct stat status;

	if (lock(fd) != 0 && errno == EWOULDBLOCK)
		return false;
	return fstat(fd, &status) != 0 || status.st_nlink > 0;
}

static bool
make_any(struct temporary *temporary, bool directory, mode_t mode)
{
	for (unsigned i = 0; i < TRIES; i++) {
		unsigned number = ((unsigned)getpid() + i) % NUMBERS;

		snprintf(temporary->path + temporary->directory, sizeof MARK + DIGITS, MARK "%06x",
		         number);
		temporary->fd = make(temporary->path, directory, mode);
		if (temporary->fd < 0 && errno != EEXIST)
			return false;
		if (temporary->fd < 0)
			continue;
		if (is_kept(temporary->fd))
			return true;
		unmake(temporary->path, directory);
		file_close(temporary->fd);
		temporary->fd = -1;
	}
	errno = EEXIST;
	return false;
}

bool
temporary_make_file(struct temporary *temporary, mode_t mode)
{
	return make_any(temporary, false, mode);
}

bool
temporary_make_directory(struct temporary *temporary)
{
	return make_any(temporary, true, 0700);
}

void
temporary_become(int fd, const struct stat *old)
{
	mode_t mode = old->st_mode & 0777;
	struct stat new;

	if (fstat(fd, &new) != 0)
		return;
	/* Another group is not to read what was for that of the old file. */
	if ((new.st_uid != old->st_uid || new.st_gid != old->st_gid) &&
	    fchown(fd, old->st_uid, old->st_gid) != 0 && fchown(fd, (uid_t)-1, old->st_gid) != 0)
		mode &= (mode_t)~070;
	fchmod(fd, mode);
}
