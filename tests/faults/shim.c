/*
 * A library that stands before libc (LD_PRELOAD) and makes what a program asks of the system fail,
 * one request in a run. FAULT in the environment says which:
 *
 *   alloc:N        the Nth request for memory gets none
 *   scarce:N       that one, and all that follow
 *   full:N         a file system with N bytes left for the files that are written
 *   call:N:ERROR   the Nth call on files, directories and processes fails with that errno
 *   dead:N:ERROR   that one, and all that follow
 *   short:N        reading and writing, N bytes at most are taken at a time
 *   interrupted    every call that a signal may cut short is cut short once: EINTR
 *   signal:N:NUMBER  that signal before the Nth call; if the call writes, after half of it
 *   nameless       main gets no argument, not even a name
 *
 * FAULT_COUNT names a file that gets a line at the end of each process: requests for memory, bytes
 * written to files, calls, and what failed, or nothing.
 *
 * glibc calls its own read and write for stdio, which are out of reach here; readdir, which is
 * called once for each file that happens to be there, is left alone; and it is glibc only that can
 * be asked for memory by these names.
 */
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

enum mode { NOTHING, ALLOC, SCARCE, FULL, CALL, DEAD, SHORT, INTERRUPTED, SIGNAL, NAMELESS };

static struct {
	enum mode mode;
	long number;
	int error; /* or signal */
	long allocations, bytes, calls;
	bool cut; /* the call before was cut short */
	const char *failed;
	const char *count_file;
} fault = {.failed = "-"};

__attribute__((constructor)) static void
begin(void)
{
	static const char *const names[] = {"",     "alloc", "scarce",      "full",   "call",
	                                    "dead", "short", "interrupted", "signal", "nameless"};
	const char *said = getenv("FAULT");
	size_t length = said != NULL ? strcspn(said, ":") : 0;

	fault.count_file = getenv("FAULT_COUNT");
	for (size_t i = 1; said != NULL && i < sizeof names / sizeof *names; i++)
		if (strlen(names[i]) == length && strncmp(said, names[i], length) == 0) {
			char *end = NULL;

			if (said[length] == ':')
				fault.number = strtol(said + length + 1, &end, 10);
			if (end != NULL && *end == ':')
				fault.error = (int)strtol(end + 1, NULL, 10);
			fault.mode = (enum mode)i;
		}
	fault.allocations = fault.bytes = fault.calls = 0;
}

/* By system calls alone: nothing here is counted. */
static void
end(void)
{
	char line[128];
	int length, fd;

	if (fault.count_file == NULL)
		return;
	length = snprintf(line, sizeof line, "%ld %ld %ld %s\n", fault.allocations, fault.bytes,
	                  fault.calls, fault.failed);
	fd = (int)syscall(SYS_openat, AT_FDCWD, fault.count_file, O_WRONLY | O_CREAT | O_APPEND,
	                  0666);
	if (fd >= 0) {
		syscall(SYS_write, fd, line, (size_t)length);
		syscall(SYS_close, fd);
	}
}

__attribute__((destructor)) static void
at_end(void)
{
	end();
}

/* ---- memory ---- */

#ifndef NO_MEMORY /* where a sanitizer allocates */

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);
void *__libc_memalign(size_t alignment, size_t size);

static bool
has_none(void)
{
	long number = ++fault.allocations;

	if (!(fault.mode == ALLOC && number == fault.number) &&
	    !(fault.mode == SCARCE && number >= fault.number))
		return false;
	fault.failed = "memory";
	errno = ENOMEM;
	return true;
}

void *
malloc(size_t size)
{
	return has_none() ? NULL : __libc_malloc(size);
}

void *
calloc(size_t count, size_t size)
{
	return has_none() ? NULL : __libc_calloc(count, size);
}

void *
realloc(void *old, size_t size)
{
	return has_none() ? NULL : __libc_realloc(old, size);
}

void *
aligned_alloc(size_t alignment, size_t size)
{
	return has_none() ? NULL : __libc_memalign(alignment, size);
}

int
posix_memalign(void **got, size_t alignment, size_t size)
{
	if (has_none())
		return ENOMEM;
	*got = __libc_memalign(alignment, size);
	return *got == NULL ? ENOMEM : 0;
}

#endif

/* ---- calls ---- */

#define REAL(type, name) ((type)(uintptr_t)dlsym(RTLD_NEXT, name))

/* Counts a call; whether it is to fail, errno set. */
static bool
fails(const char *name)
{
	fault.calls++;
	if (fault.calls != fault.number && !(fault.mode == DEAD && fault.calls > fault.number))
		return false;
	if (fault.mode == SIGNAL)
		raise(fault.error);
	if (fault.mode != CALL && fault.mode != DEAD)
		return false;
	if (fault.calls == fault.number)
		fault.failed = name;
	errno = fault.error;
	return true;
}

/* The same of a call that a signal may cut short. */
static bool
is_cut(const char *name)
{
	if (fails(name))
		return true;
	if (fault.mode != INTERRUPTED)
		return false;
	fault.cut = !fault.cut;
	errno = EINTR;
	return fault.cut;
}

static mode_t
mode_of(int flags, va_list rest)
{
	return flags & (O_CREAT | O_TMPFILE) ? va_arg(rest, mode_t) : 0;
}

/* What a build that counts lines writes of itself, at the end, is no call of the program's. */
static bool
is_profile(const char *path)
{
	size_t length = strlen(path);

	return length > 5 && strcmp(path + length - 5, ".gcda") == 0;
}

int
open(const char *path, int flags, ...)
{
	va_list rest;
	mode_t mode;

	va_start(rest, flags);
	mode = mode_of(flags, rest);
	va_end(rest);
	return !is_profile(path) && is_cut("open")
	           ? -1
	           : (int)syscall(SYS_openat, AT_FDCWD, path, flags, mode);
}

int
openat(int directory, const char *path, int flags, ...)
{
	va_list rest;
	mode_t mode;

	va_start(rest, flags);
	mode = mode_of(flags, rest);
	va_end(rest);
	return is_cut("openat") ? -1 : (int)syscall(SYS_openat, directory, path, flags, mode);
}

/* As fortified calls name it. */
int __open_2(const char *path, int flags);
int
__open_2(const char *path, int flags)
{
	return open(path, flags);
}

int __openat_2(int directory, const char *path, int flags);
int
__openat_2(int directory, const char *path, int flags)
{
	return openat(directory, path, flags);
}

ssize_t
read(int fd, void *to, size_t most)
{
	if (is_cut("read"))
		return -1;
	if (fault.mode == SHORT && most > (size_t)fault.number)
		most = (size_t)fault.number;
	return syscall(SYS_read, fd, to, most);
}

ssize_t __read_chk(int fd, void *to, size_t most, size_t room);
ssize_t
__read_chk(int fd, void *to, size_t most, size_t room)
{
	if (most > room)
		abort();
	return read(fd, to, most);
}

static bool
is_a_file(int fd)
{
	struct stat status;

	return fd != STDERR_FILENO &&
	       syscall(SYS_newfstatat, fd, "", &status, AT_EMPTY_PATH) == 0 &&
	       S_ISREG(status.st_mode);
}

ssize_t
write(int fd, const void *from, size_t length)
{
	bool file = is_a_file(fd);
	ssize_t wrote;

	if (fault.mode == SIGNAL && fault.calls + 1 == fault.number && length > 1) {
		wrote = syscall(SYS_write, fd, from, length / 2);
		is_cut("write");
		return wrote; /* where the signal waits, or is none's end */
	}
	if (is_cut("write"))
		return -1;
	if (fault.mode == SHORT && length > (size_t)fault.number)
		length = (size_t)fault.number;
	if (file && fault.mode == FULL && fault.bytes + (long)length > fault.number) {
		length = (size_t)(fault.number - fault.bytes);
		if (length == 0) {
			fault.failed = "write";
			errno = ENOSPC;
			return -1;
		}
	}
	wrote = syscall(SYS_write, fd, from, length);
	if (file && wrote > 0)
		fault.bytes += wrote;
	return wrote;
}

/* It is closed all the same, as Linux does it. */
int
close(int fd)
{
	bool cut = is_cut("close");
	int why = errno, got = (int)syscall(SYS_close, fd);

	if (!cut)
		return got;
	errno = why;
	return -1;
}

int
flock(int fd, int how)
{
	return is_cut("flock") ? -1 : (int)syscall(SYS_flock, fd, how);
}

int
dup(int fd)
{
	return fails("dup") ? -1 : (int)syscall(SYS_dup, fd);
}

int
fchmod(int fd, mode_t mode)
{
	return fails("fchmod") ? -1 : (int)syscall(SYS_fchmod, fd, mode);
}

int
fchown(int fd, uid_t user, gid_t group)
{
	return fails("fchown") ? -1 : (int)syscall(SYS_fchown, fd, user, group);
}

int
rename(const char *from, const char *to)
{
	return fails("rename") ? -1 : (int)syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
}

int
renameat(int from_in, const char *from, int to_in, const char *to)
{
	return fails("renameat") ? -1 : (int)syscall(SYS_renameat2, from_in, from, to_in, to, 0);
}

int
mkdir(const char *path, mode_t mode)
{
	return fails("mkdir") ? -1 : (int)syscall(SYS_mkdirat, AT_FDCWD, path, mode);
}

int
unlink(const char *path)
{
	return fails("unlink") ? -1 : (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
}

int
unlinkat(int directory, const char *path, int flags)
{
	return fails("unlinkat") ? -1 : (int)syscall(SYS_unlinkat, directory, path, flags);
}

int
rmdir(const char *path)
{
	return fails("rmdir") ? -1 : (int)syscall(SYS_unlinkat, AT_FDCWD, path, AT_REMOVEDIR);
}

int
stat(const char *restrict path, struct stat *restrict status)
{
	return fails("stat") ? -1
	                     : REAL(int (*)(const char *, struct stat *), "stat")(path, status);
}

int
fstat(int fd, struct stat *status)
{
	return fails("fstat") ? -1 : REAL(int (*)(int, struct stat *), "fstat")(fd, status);
}

int
fstatat(int directory, const char *restrict path, struct stat *restrict status, int flags)
{
	return fails("fstatat") ? -1
	                        : REAL(int (*)(int, const char *, struct stat *, int),
	                               "fstatat")(directory, path, status, flags);
}

int
faccessat(int directory, const char *path, int how, int flags)
{
	return fails("faccessat") ? -1
	                          : REAL(int (*)(int, const char *, int, int),
	                                 "faccessat")(directory, path, how, flags);
}

char *
realpath(const char *restrict path, char *restrict to)
{
	return fails("realpath") ? NULL
	                         : REAL(char *(*)(const char *, char *), "realpath")(path, to);
}

DIR *
opendir(const char *path)
{
	return fails("opendir") ? NULL : REAL(DIR * (*)(const char *), "opendir")(path);
}

DIR *
fdopendir(int fd)
{
	return fails("fdopendir") ? NULL : REAL(DIR * (*)(int), "fdopendir")(fd);
}

int
pipe(int ends[2])
{
	return fails("pipe") ? -1 : (int)syscall(SYS_pipe2, ends, 0);
}

int
dup2(int fd, int as)
{
	return fails("dup2") ? -1 : REAL(int (*)(int, int), "dup2")(fd, as);
}

pid_t
fork(void)
{
	return fails("fork") ? -1 : REAL(pid_t(*)(void), "fork")();
}

int
poll(struct pollfd *fds, nfds_t count, int wait)
{
	return is_cut("poll")
	           ? -1
	           : REAL(int (*)(struct pollfd *, nfds_t, int), "poll")(fds, count, wait);
}

int __poll_chk(struct pollfd *fds, nfds_t count, int wait, size_t room);
int
__poll_chk(struct pollfd *fds, nfds_t count, int wait, size_t room)
{
	if (room / sizeof *fds < count)
		abort();
	return poll(fds, count, wait);
}

pid_t
waitpid(pid_t pid, int *status, int options)
{
	return is_cut("waitpid") ? -1 : (pid_t)syscall(SYS_wait4, pid, status, options, NULL);
}

/* Jobs end without destructors. */
void
_exit(int status)
{
	end();
	syscall(SYS_exit_group, status);
	__builtin_unreachable();
}

/* ---- no name ---- */

typedef int main_function(int, char **, char **);
typedef int start_function(main_function *, int, char **, void (*)(void), void (*)(void),
                           void (*)(void), void *);

static main_function *real_main;

static int
main_without_name(int argc, char **argv, char **environment)
{
	(void)argc;
	return real_main(0, argv + argc, environment);
}

start_function __libc_start_main;
int
__libc_start_main(main_function *main, int argc, char **argv, void (*init)(void),
                  void (*fini)(void), void (*loader_fini)(void), void *stack_end)
{
	const char *said = getenv("FAULT");
	bool nameless = said != NULL && strcmp(said, "nameless") == 0;
	start_function *start = REAL(start_function *, "__libc_start_main");

	real_main = main;
	return start(nameless ? main_without_name : main, argc, argv, init, fini, loader_fini,
	             stack_end);
}
