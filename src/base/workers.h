/*
 * Jobs done at the same time by processes of their own, each forked from this one as it is and gone
 * when its job is done: what a job answers depends on the job alone, however many there are.
 *
 * A job that ends with an exit status other than 0, or by a signal, ends the program: what the
 * first such job told on stderr is told, EXIT_TROUBLE. A SIGINT that was noted (interrupt.h) is
 * passed on.
 */
#ifndef LOTPIPE_WORKERS_H
#define LOTPIPE_WORKERS_H

#include "base/text.h"

struct workers {
	size_t most; /* at the same time */
	/* In a process of its own: adds the job's answer, plain bytes. */
	void (*run)(void *data, size_t job, struct text *answer);
	/* Called a few times a second while jobs run, with how many are done, and the last news of
	 * the first that is not; NULL: never. */
	void (*tick)(void *data, size_t done, size_t jobs, const struct text *news);
	void *data;
};

/* Does jobs 0 .. jobs - 1; answer has room for as many, all zero. The caller frees the texts. */
void workers_run(const struct workers *workers, size_t jobs, struct text *answer);
/* From within a job, which may be called often: news for tick. */
void workers_news(const char *bytes, size_t length);
/* Processors that are there. */
size_t workers_processors(void);

#endif
