#include "base/workers.h"

#include "base/err.h"
#include "base/file.h"
#include "base/interrupt.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#ifdef __linux__
#include <sys/prctl.h>
#endif
#include <sys/wait.h>
#include <unistd.h>

enum { TICK_MS = 200, CHUNK = 65536 };

/* What a job sends: frames of a kind, a length and so many bytes. */
enum { FRAME_NEWS, FRAME_ANSWER };

struct frame {
	size_t kind, length;
};

/* A process at work. */
struct worker {
	size_t job;
	pid_t pid;
	int pipe[2];         /* to read its answer, its stderr; -1: at its end */
	struct text text[2]; /* what came, frames and stderr */
	size_t taken;        /* bytes of frames that were looked at */
	struct text news;
	bool answered;
};

struct running {
	const struct workers *workers;
	struct worker *worker; /* those at work, by job */
	size_t count, next, done;
	struct text *answer;
	struct text failure; /* stderr of the first job that failed */
	size_t failed;       /* its number, or SIZE_MAX */
	bool passed_on;
};

/* Of the process that does a job: where its frames go. */
static int frames_to = -1;

static void
write_all(int fd, const void *bytes, size_t length)
{
	if (!file_write(fd, bytes, length))
		die_errno("the answer of a job");
}

static void
send_frame(size_t kind, const char *bytes, size_t length)
{
	struct frame frame = {kind, length};

	write_all(frames_to, &frame, sizeof frame);
	write_all(frames_to, bytes, length);
}

void
workers_news(const char *bytes, size_t length)
{
	if (frames_to >= 0)
		send_frame(FRAME_NEWS, bytes, length);
}

/* A job whose program was killed, or has failed, is nobody's: it ends too. */
static void
end_with(pid_t parent)
{
#ifdef __linux__
	prctl(PR_SET_PDEATHSIG, SIGKILL);
#endif
	if (getppid() != parent)
		_exit(EXIT_TROUBLE);
}

static noreturn void
work(const struct running *all, size_t job, int frames, int errors)
{
	struct text answer = {0};

	for (size_t i = 0; i < all->count; i++)
		for (size_t k = 0; k < 2; k++)
			if (all->worker[i].pipe[k] >= 0)
				close(all->worker[i].pipe[k]);
	frames_to = frames;
	if (dup2(errors, STDERR_FILENO) < 0)
		_exit(EXIT_TROUBLE);
	all->workers->run(all->workers->data, job, &answer);
	send_frame(FRAME_ANSWER, answer.bytes, answer.length);
	_exit(EXIT_DONE);
}

static void
start(struct running *all)
{
	struct worker *worker = &all->worker[all->count];
	int frames[2], errors[2];
	pid_t parent;

	if (pipe(frames) != 0 || pipe(errors) != 0)
		die_errno("a pipe for a job");
	*worker = (struct worker){.job = all->next++, .pipe = {frames[0], errors[0]}};
	fflush(NULL);
	parent = getpid();
	worker->pid = fork();
	if (worker->pid < 0)
		die_errno("a process for a job");
	if (worker->pid == 0) {
		close(frames[0]);
		close(errors[0]);
		end_with(parent);
		work(all, worker->job, frames[1], errors[1]);
	}
	close(frames[1]);
	close(errors[1]);
	all->count++;
}

/* Reads what has come; whether the pipe is at its end. */
static bool
take_bytes(int fd, struct text *text)
{
	char bytes[CHUNK];
	ssize_t got = file_read(fd, bytes, sizeof bytes);

	if (got < 0)
		die_errno("the answer of a job");
	text_add(text, bytes, (size_t)got);
	return got == 0;
}

/* Looks at whole frames that have come. */
static void
take_frames(struct worker *worker, struct text *answer)
{
	struct text *text = &worker->text[0];

	while (text->length - worker->taken >= sizeof(struct frame)) {
		const char *bytes = text->bytes + worker->taken + sizeof(struct frame);
		struct frame frame;

		memcpy(&frame, text->bytes + worker->taken, sizeof frame);
		if (text->length - worker->taken - sizeof frame < frame.length)
			return;
		worker->taken += sizeof frame + frame.length;
		if (frame.kind == FRAME_ANSWER) {
			text_add(answer, bytes, frame.length);
			worker->answered = true;
		} else {
			text_clear(&worker->news);
			text_add(&worker->news, bytes, frame.length);
		}
	}
}

/* A job is done, or has failed. */
static void
finish(struct running *all, size_t at)
{
	struct worker *worker = &all->worker[at];
	int status;

	while (waitpid(worker->pid, &status, 0) < 0)
		if (errno != EINTR)
			die_errno("a process for a job");
	if (!WIFEXITED(status) || WEXITSTATUS(status) != EXIT_DONE || !worker->answered) {
		if (worker->job < all->failed) {
			all->failed = worker->job;
			text_clear(&all->failure);
			text_adds(&all->failure,
			          worker->text[1].length > 0 ? worker->text[1].bytes : "");
			if (WIFSIGNALED(status)) {
				text_adds(&all->failure, err_program_name());
				text_adds(&all->failure, ": a process was ended: ");
				text_adds(&all->failure, strsignal(WTERMSIG(status)));
				text_adds(&all->failure, "\n");
			} else if (all->failure.length == 0) {
				text_adds(&all->failure, err_program_name());
				text_adds(&all->failure, ": a process ended without its answer\n");
			}
		}
		for (size_t i = 0; i < all->count; i++)
			if (all->worker[i].job > all->failed)
				kill(all->worker[i].pid, SIGTERM);
	}
	for (size_t k = 0; k < 2; k++)
		text_free(&worker->text[k]);
	text_free(&worker->news);
	all->done++;
	all->count--;
	memmove(worker, worker + 1, (all->count - at) * sizeof *worker);
}

/* Waits a while, and takes what came. */
static void
listen_to(struct running *all, int wait)
{
	struct pollfd *fd = mem_alloc(2 * all->count * sizeof *fd);

	for (size_t i = 0; i < all->count; i++)
		for (size_t k = 0; k < 2; k++)
			fd[2 * i + k] =
			    (struct pollfd){.fd = all->worker[i].pipe[k], .events = POLLIN};
	if (poll(fd, (nfds_t)(2 * all->count), wait) < 0 && errno != EINTR)
		die_errno("poll");
	else
		for (size_t i = 0; i < all->count; i++) {
			struct worker *worker = &all->worker[i];

			for (size_t k = 0; k < 2; k++)
				if (worker->pipe[k] >= 0 && fd[2 * i + k].revents != 0 &&
				    take_bytes(worker->pipe[k], &worker->text[k])) {
					close(worker->pipe[k]);
					worker->pipe[k] = -1;
				}
			take_frames(worker, &all->answer[worker->job]);
		}
	free(fd);
	for (size_t i = all->count; i-- > 0;)
		if (all->worker[i].pipe[0] < 0 && all->worker[i].pipe[1] < 0)
			finish(all, i);
}

static void
pass_on(struct running *all)
{
	if (!interrupted() || all->passed_on)
		return;
	all->passed_on = true;
	for (size_t i = 0; i < all->count; i++)
		kill(all->worker[i].pid, SIGINT);
}

void
workers_run(const struct workers *workers, size_t jobs, struct text *answer)
{
	struct running all = {.workers = workers, .answer = answer, .failed = SIZE_MAX};
	struct sigaction wait_for_jobs = {.sa_handler = SIG_DFL};

	sigaction(SIGCHLD, &wait_for_jobs, NULL); /* whoever started the program may ignore it */
	all.worker = mem_zero(workers->most, sizeof *all.worker);
	while (all.count > 0 || (all.next < jobs && all.failed == SIZE_MAX)) {
		while (all.count < workers->most && all.next < jobs && all.failed == SIZE_MAX)
			start(&all);
		listen_to(&all, TICK_MS);
		pass_on(&all);
		if (workers->tick != NULL)
			workers->tick(workers->data, all.done, jobs,
			              all.count > 0 ? &all.worker[0].news : NULL);
	}
	free(all.worker);
	if (all.failed != SIZE_MAX) {
		fputs(all.failure.bytes != NULL ? all.failure.bytes : "", stderr);
		exit(EXIT_TROUBLE);
	}
}

size_t
workers_processors(void)
{
	long count = sysconf(_SC_NPROCESSORS_ONLN);

	return count > 0 ? (size_t)count : 1;
}
