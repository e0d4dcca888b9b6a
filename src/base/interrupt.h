/*
 * SIGINT as a wish to end with what there is, and the clock that limits and progress go by.
 */
#ifndef LOTPIPE_INTERRUPT_H
#define LOTPIPE_INTERRUPT_H

#include <stdbool.h>
#include <time.h>

/* From here to interrupt_end a SIGINT is noted, and does not end the program. */
void interrupt_start(void);
void interrupt_end(void);
bool interrupted(void);

struct timespec clock_start(void);
double clock_since(const struct timespec *start); /* seconds */

#endif
