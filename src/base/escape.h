/*
 * Text of strangers on a terminal: what a terminal would obey, or what is not seen and may turn
 * round what is (width.h: hidden points), and bytes that are not UTF-8, are written as \xNN; line
 * feed, carriage return and tab as \n, \r, \t.
 */
#ifndef LOTPIPE_ESCAPE_H
#define LOTPIPE_ESCAPE_H

#include <stddef.h>

enum { ESCAPE_ROOM = 16 }; /* four bytes, escaped each */

/* Writes the character at s, of at most left bytes (1 or more), into out, escaped where it must be;
 * *length is the bytes written, without NUL. Returns the bytes of s that it took. */
size_t escape_next(const char *s, size_t left, char out[ESCAPE_ROOM], size_t *length);

#endif
