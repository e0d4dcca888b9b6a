#include "base/interrupt.h"

#include <signal.h>

static volatile sig_atomic_t noted;
static struct sigaction before;

static void
on_interrupt(int number)
{
	(void)number;
	noted = 1;
}

void
interrupt_start(void)
{
	struct sigaction action = {.sa_handler = on_interrupt};

	sigaction(SIGINT, &action, &before);
}

void
interrupt_end(void)
{
	sigaction(SIGINT, &before, NULL);
}

bool
interrupted(void)
{
	return noted != 0;
}

struct timespec
clock_start(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return now;
}

double
clock_since(const struct timespec *start)
{
	struct timespec now = clock_start();

	return (double)(now.tv_sec - start->tv_sec) + (double)(now.tv_nsec - start->tv_nsec) * 1e-9;
}
