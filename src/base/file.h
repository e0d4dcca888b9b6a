/*
 * Descriptors of files: opening, reading, writing and closing that a signal does not cut short,
 * and what a program needs of the process it runs in. Errors are errno's, and the caller tells
 * them.
 */
#ifndef LOTPIPE_FILE_H
#define LOTPIPE_FILE_H

#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/* Before anything else is done: no file that is opened later is taken for stdin, stdout or stderr
 * where one of them was closed (using it is an error then, but for stderr, which is nowhere), and a
 * limit on the size of files is an error of the write that meets it. */
void file_begin(void);

/* As open and openat: -1 on failure; the mode, less the umask, is a new file's. */
int file_open(const char *path, int flags, mode_t mode);
int file_open_at(int directory, const char *name, int flags, mode_t mode);
/* Bytes read, 0 at the end, -1 on failure. */
ssize_t file_read(int fd, void *bytes, size_t most);
/* Writes all of them; false on failure. */
bool file_write(int fd, const char *bytes, size_t length);
/* False where what was written before turns out to be lost. */
bool file_close(int fd);
/* The same, and the file stays open. */
bool file_flush(int fd);

/* Signals that would end the program wait from hold to release. Only for what cannot take long. */
void file_hold_signals(sigset_t *before);
void file_release_signals(const sigset_t *before);

#endif
