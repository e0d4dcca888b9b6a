#include "base/file.h"

#include "base/err.h"

#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

/* The descriptor is the lowest free one, which is that which was closed. */
static void
occupy(int fd, int flags)
{
	if (fcntl(fd, F_GETFD) >= 0 || errno != EBADF)
		return;
	if (file_open("/dev/null", flags, 0) != fd)
		die_errno("/dev/null");
}

void
file_begin(void)
{
	struct sigaction ignore = {.sa_handler = SIG_IGN};

	occupy(STDIN_FILENO, O_WRONLY);
	occupy(STDOUT_FILENO, O_RDONLY);
	occupy(STDERR_FILENO, O_RDWR);
	sigaction(SIGXFSZ, &ignore, NULL);
}

int
file_open(const char *path, int flags, mode_t mode)
{
	int fd;

	do {
		fd = open(path, flags, mode);
	} while (fd < 0 && errno == EINTR);
	return fd;
}

int
file_open_at(int directory, const char *name, int flags, mode_t mode)
{
	int fd;

	do {
		fd = openat(directory, name, flags, mode);
	} while (fd < 0 && errno == EINTR);
	return fd;
}

ssize_t
file_read(int fd, void *bytes, size_t most)
{
	ssize_t got;

	do {
		got = read(fd, bytes, most);
	} while (got < 0 && errno == EINTR);
	return got;
}

bool
file_write(int fd, const char *bytes, size_t length)
{
	while (length > 0) {
		ssize_t wrote = write(fd, bytes, length);

		if (wrote < 0 && errno == EINTR)
			continue;
		if (wrote < 0)
			return false;
		bytes += wrote;
		length -= (size_t)wrote;
	}
	return true;
}

/* Interrupted, it has closed the descriptor all the same (close(2)): again would be another's. */
bool
file_close(int fd)
{
	return close(fd) == 0 || errno == EINTR;
}

/* File systems that find a disk full late tell it at each close of a descriptor. */
bool
file_flush(int fd)
{
	int copy = dup(fd);

	return copy >= 0 && file_close(copy);
}

void
file_hold_signals(sigset_t *before)
{
	static const int ending[] = {SIGHUP,  SIGINT,  SIGQUIT, SIGTERM,
	                             SIGALRM, SIGUSR1, SIGUSR2, SIGXCPU};
	sigset_t held;

	sigemptyset(&held);
	for (size_t i = 0; i < sizeof ending / sizeof *ending; i++)
		sigaddset(&held, ending[i]);
	sigprocmask(SIG_BLOCK, &held, before);
}

void
file_release_signals(const sigset_t *before)
{
	sigprocmask(SIG_SETMASK, before, NULL);
}
