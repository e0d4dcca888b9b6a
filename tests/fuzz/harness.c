#include "harness.h"

#include "base/text.h"
#include "base/width.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <iconv.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FILES_MOST = 32, OPEN_MOST = 32, FIRST_FD = 1000, CODINGS_MOST = 16 };

struct file {
	char *name; /* kept until the next input */
	char *bytes;
	size_t length, room;
	bool kept; /* the bytes are, and are not to be freed */
};

struct opened {
	struct file *file; /* NULL: free */
	size_t at;
};

/* Kept until the next input, one after the other. */
struct kept {
	struct kept *before;
	_Alignas(16) char bytes[];
};

static struct {
	bool runs;
	jmp_buf end;
	int status;
	struct file file[FILES_MOST];
	size_t files;
	struct opened opened[OPEN_MOST];
	size_t stdin_at, chop;
	const char *columns;
	const char *const *args; /* of the program or part that runs; NULL: none were said */
	bool out_closed;
	struct file out, err;
	FILE *err_stream, *real_err;
	iconv_t coding[CODINGS_MOST];
	size_t codings;
	/* Pointers that are allocated; a hash table, NULL free. */
	void **block;
	size_t blocks, slots;
	struct kept *kept;
} box;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void __real_free(void *block);
_Noreturn void __real_exit(int status);
_Noreturn void __real_abort(void);
int __real_open(const char *path, int flags, ...);
int __real_close(int fd);
ssize_t __real_read(int fd, void *to, size_t length);
ssize_t __real_write(int fd, const void *from, size_t length);
int __real_dup(int fd);
int __real_fstat(int fd, struct stat *status);
int __real_stat(const char *path, struct stat *status);
int __real_rename(const char *from, const char *to);
int __real_unlink(const char *path);
char *__real_realpath(const char *path, char *to);
DIR *__real_opendir(const char *path);
int __real_isatty(int fd);
char *__real_getenv(const char *name);
int __real_sigaction(int number, const struct sigaction *action, struct sigaction *was);
int __real_sigprocmask(int how, const sigset_t *set, sigset_t *was);
iconv_t __real_iconv_open(const char *to, const char *from);
int __real_iconv_close(iconv_t coding);

/* ---- failing ---- */

static void
show_bytes(const char *title, const char *bytes, size_t length)
{
	dprintf(STDERR_FILENO, "==== %s\n", title);
	if (length > 0)
		(void)!__real_write(STDERR_FILENO, bytes, length);
	dprintf(STDERR_FILENO, "\n");
}

_Noreturn void
fuzz_fail(const char *file, int line, const char *what)
{
	if (box.err_stream != NULL)
		fflush(box.err_stream);
	for (size_t i = 0; i < box.files; i++)
		show_bytes(box.file[i].name, box.file[i].bytes, box.file[i].length);
	show_bytes("stdout", box.out.bytes, box.out.length);
	show_bytes("stderr", box.err.bytes, box.err.length);
	for (size_t i = 0; box.args != NULL && box.args[i] != NULL; i++)
		dprintf(STDERR_FILENO, i == 0 ? "==== run as: %s" : " %s", box.args[i]);
	dprintf(STDERR_FILENO, "\n==== %s:%d: does not hold: %s\n", file, line, what);
	__real_abort();
}

_Noreturn void __wrap_abort(void);
_Noreturn void
__wrap_abort(void)
{
	fuzz_fail("abort", 0, "the program called abort()");
}

_Noreturn void __wrap___assert_fail(const char *what, const char *file, unsigned line,
                                    const char *function);
_Noreturn void
__wrap___assert_fail(const char *what, const char *file, unsigned line, const char *function)
{
	(void)function;
	fuzz_fail(file, (int)line, what);
}

/* ---- memory ---- */

static size_t
slot_of(const void *block)
{
	return (size_t)(((uintptr_t)block >> 4) * UINT64_C(0x9E3779B97F4A7C15) >> 20) &
	       (box.slots - 1);
}

static void
put_block(void *block)
{
	size_t at = slot_of(block);

	while (box.block[at] != NULL)
		at = (at + 1) & (box.slots - 1);
	box.block[at] = block;
}

static void
note_block(void *block)
{
	if (!box.runs || block == NULL)
		return;
	if (2 * ++box.blocks > box.slots) {
		void **old = box.block;
		size_t count = box.slots;

		box.slots = box.slots ? 2 * box.slots : 1024;
		box.block = __real_calloc(box.slots, sizeof *box.block);
		for (size_t i = 0; i < count; i++)
			if (old[i] != NULL)
				put_block(old[i]);
		__real_free(old);
	}
	put_block(block);
}

/* Blocks of others, the C library's for one, are not among them. */
static void
forget_block(void *block)
{
	size_t at, hole;

	if (box.slots == 0 || block == NULL)
		return;
	for (at = slot_of(block); box.block[at] != block; at = (at + 1) & (box.slots - 1))
		if (box.block[at] == NULL)
			return;
	box.blocks--;
	/* Those behind it move up, where their own slot does not lie between. */
	for (hole = at;;) {
		size_t home;

		at = (at + 1) & (box.slots - 1);
		if (box.block[at] == NULL)
			break;
		home = slot_of(box.block[at]);
		if (((at - home) & (box.slots - 1)) >= ((at - hole) & (box.slots - 1))) {
			box.block[hole] = box.block[at];
			hole = at;
		}
	}
	box.block[hole] = NULL;
}

static void
free_blocks(void)
{
	for (size_t i = 0; box.blocks > 0 && i < box.slots; i++) {
		if (box.block[i] == NULL)
			continue;
		__real_free(box.block[i]);
		box.block[i] = NULL;
		box.blocks--;
	}
}

void *__wrap_malloc(size_t size);
void *
__wrap_malloc(size_t size)
{
	void *got = __real_malloc(size);

	note_block(got);
	return got;
}

void *__wrap_calloc(size_t count, size_t size);
void *
__wrap_calloc(size_t count, size_t size)
{
	void *got = __real_calloc(count, size);

	note_block(got);
	return got;
}

void *__wrap_realloc(void *old, size_t size);
void *
__wrap_realloc(void *old, size_t size)
{
	void *got;

	forget_block(old);
	got = __real_realloc(old, size);
	note_block(got);
	return got;
}

void __wrap_free(void *block);
void
__wrap_free(void *block)
{
	forget_block(block);
	__real_free(block);
}

void *
fuzz_keep(size_t size)
{
	struct kept *kept = __real_malloc(sizeof *kept + size);

	kept->before = box.kept;
	box.kept = kept;
	return kept->bytes;
}

struct fuzz_bytes
fuzz_of(const char *bytes, size_t length)
{
	char *copy = fuzz_keep(length + 1);

	if (length > 0)
		memcpy(copy, bytes, length);
	copy[length] = '\0';
	return (struct fuzz_bytes){copy, length, 0};
}

void
fuzz_add(struct fuzz_bytes *to, const char *bytes, size_t length)
{
	if (to->room <= to->length + length) {
		char *more;

		to->room = 2 * (to->length + length) + 256;
		more = fuzz_keep(to->room);
		if (to->length > 0)
			memcpy(more, to->bytes, to->length);
		to->bytes = more;
	}
	if (length > 0)
		memcpy((char *)(uintptr_t)to->bytes + to->length, bytes, length);
	to->length += length;
	((char *)(uintptr_t)to->bytes)[to->length] = '\0';
}

void
fuzz_adds(struct fuzz_bytes *to, const char *text)
{
	fuzz_add(to, text, strlen(text));
}

void
fuzz_printf(struct fuzz_bytes *to, const char *format, ...)
{
	char text[512];
	va_list args;
	int length;

	va_start(args, format);
	length = vsnprintf(text, sizeof text, format, args);
	va_end(args);
	FUZZ_CHECK(length >= 0 && (size_t)length < sizeof text, "what is drawn is short");
	fuzz_add(to, text, (size_t)length);
}

bool
fuzz_same(struct fuzz_bytes a, struct fuzz_bytes b)
{
	return a.length == b.length && (a.length == 0 || memcmp(a.bytes, b.bytes, a.length) == 0);
}

/* ---- files ---- */

static struct file *
find_file(const char *name)
{
	for (size_t i = 0; i < box.files; i++)
		if (strcmp(box.file[i].name, name) == 0)
			return &box.file[i];
	return NULL;
}

static void
empty_file(struct file *file)
{
	if (!file->kept)
		__real_free(file->bytes);
	file->bytes = NULL;
	file->length = file->room = 0;
	file->kept = false;
}

static struct file *
make_file(const char *name)
{
	struct file *file = find_file(name);

	if (file == NULL) {
		FUZZ_CHECK(box.files < FILES_MOST, "the box has room for the files");
		file = &box.file[box.files++];
		*file = (struct file){.name = (char *)(uintptr_t)fuzz_of(name, strlen(name)).bytes};
	}
	empty_file(file);
	return file;
}

static void
add_to_file(struct file *file, const char *bytes, size_t length)
{
	if (length == 0)
		return;
	if (file->room - file->length <= length) {
		file->room = 2 * file->room + length + 256;
		file->bytes = __real_realloc(file->bytes, file->room);
	}
	memcpy(file->bytes + file->length, bytes, length);
	file->length += length;
	file->bytes[file->length] = '\0';
}

void
fuzz_put_file(const char *name, struct fuzz_bytes bytes)
{
	struct file *file = make_file(name);

	file->bytes = (char *)(uintptr_t)bytes.bytes;
	file->length = bytes.length;
	file->kept = true;
}

struct fuzz_bytes
fuzz_file(const char *name)
{
	const struct file *file = find_file(name);

	if (file == NULL)
		return (struct fuzz_bytes){0};
	return fuzz_of(file->bytes, file->length);
}

void
fuzz_chop(size_t most)
{
	box.chop = most;
}

void
fuzz_terminal(const char *columns)
{
	box.columns = columns;
}

static struct opened *
opened_at(int fd)
{
	if (fd < FIRST_FD || fd >= FIRST_FD + OPEN_MOST || box.opened[fd - FIRST_FD].file == NULL) {
		errno = EBADF;
		return NULL;
	}
	return &box.opened[fd - FIRST_FD];
}

int __wrap_open(const char *path, int flags, ...);
int
__wrap_open(const char *path, int flags, ...)
{
	struct file *file;

	if (!box.runs) {
		va_list rest;
		unsigned mode;

		va_start(rest, flags);
		mode = va_arg(rest, unsigned);
		va_end(rest);
		return __real_open(path, flags, mode);
	}
	file = find_file(path);
	if (file != NULL && flags & O_EXCL) {
		errno = EEXIST;
		return -1;
	}
	if (flags & O_CREAT)
		file = make_file(path);
	for (int i = 0; file != NULL && i < OPEN_MOST; i++)
		if (box.opened[i].file == NULL) {
			box.opened[i] = (struct opened){file, 0};
			return FIRST_FD + i;
		}
	errno = file == NULL ? ENOENT : EMFILE;
	return -1;
}

int __wrap_dup(int fd);
int
__wrap_dup(int fd)
{
	const struct opened *opened;

	if (!box.runs)
		return __real_dup(fd);
	if ((opened = opened_at(fd)) == NULL)
		return -1;
	for (int i = 0; i < OPEN_MOST; i++)
		if (box.opened[i].file == NULL) {
			box.opened[i] = *opened;
			return FIRST_FD + i;
		}
	errno = EMFILE;
	return -1;
}

int __wrap_close(int fd);
int
__wrap_close(int fd)
{
	struct opened *opened;

	if (!box.runs)
		return __real_close(fd);
	if (fd == STDOUT_FILENO) {
		FUZZ_CHECK(!box.out_closed, "standard output is closed once");
		box.out_closed = true;
		return 0;
	}
	opened = opened_at(fd);
	FUZZ_CHECK(opened != NULL, "what is closed was open");
	opened->file = NULL;
	return 0;
}

ssize_t __wrap_read(int fd, void *to, size_t length);
ssize_t
__wrap_read(int fd, void *to, size_t length)
{
	struct opened *opened;
	const struct file *file;
	size_t *at = &box.stdin_at;

	if (!box.runs)
		return __real_read(fd, to, length);
	if (fd == STDIN_FILENO) {
		file = find_file("-");
	} else {
		if ((opened = opened_at(fd)) == NULL)
			return -1;
		file = opened->file;
		at = &opened->at;
	}
	if (file == NULL || *at >= file->length)
		return 0;
	if (length > file->length - *at)
		length = file->length - *at;
	if (box.chop > 0 && length > box.chop)
		length = box.chop;
	memcpy(to, file->bytes + *at, length);
	*at += length;
	return (ssize_t)length;
}

ssize_t __wrap_write(int fd, const void *from, size_t length);
ssize_t
__wrap_write(int fd, const void *from, size_t length)
{
	struct opened *opened;

	if (!box.runs)
		return __real_write(fd, from, length);
	if (fd == STDOUT_FILENO) {
		FUZZ_CHECK(!box.out_closed, "nothing is written to what was closed");
		add_to_file(&box.out, from, length);
		return (ssize_t)length;
	}
	if ((opened = opened_at(fd)) == NULL)
		return -1;
	add_to_file(opened->file, from, length);
	return (ssize_t)length;
}

int __wrap_fstat(int fd, struct stat *status);
int
__wrap_fstat(int fd, struct stat *status)
{
	struct opened *opened;

	if (!box.runs)
		return __real_fstat(fd, status);
	*status = (struct stat){.st_mode = S_IFIFO | 0600};
	if (fd == STDIN_FILENO)
		return 0;
	if ((opened = opened_at(fd)) == NULL)
		return -1;
	status->st_mode = S_IFREG | 0600;
	status->st_nlink = 1;
	status->st_size = (off_t)opened->file->length;
	return 0;
}

int __wrap_stat(const char *path, struct stat *status);
int
__wrap_stat(const char *path, struct stat *status)
{
	if (!box.runs)
		return __real_stat(path, status);
	errno = ENOENT;
	return -1;
}

char *__wrap_realpath(const char *path, char *to);
char *
__wrap_realpath(const char *path, char *to)
{
	if (!box.runs)
		return __real_realpath(path, to);
	errno = ENOENT;
	return NULL;
}

/* The last one moves up into its place; whoever has one of them open keeps it. */
static void
remove_file(struct file *file)
{
	static struct file nameless;
	struct file *last = &box.file[--box.files];

	for (int i = 0; i < OPEN_MOST; i++)
		if (box.opened[i].file == file)
			box.opened[i].file = &nameless;
		else if (box.opened[i].file == last)
			box.opened[i].file = file;
	*file = *last;
}

int __wrap_rename(const char *from, const char *to);
int
__wrap_rename(const char *from, const char *to)
{
	struct file *old, *new;

	if (!box.runs)
		return __real_rename(from, to);
	old = find_file(from);
	if (old == NULL) {
		errno = ENOENT;
		return -1;
	}
	new = make_file(to);
	new->bytes = old->bytes;
	new->length = old->length;
	new->kept = old->kept;
	old->bytes = NULL;
	old->length = old->room = 0;
	remove_file(old);
	return 0;
}

int __wrap_unlink(const char *path);
int
__wrap_unlink(const char *path)
{
	struct file *file;

	if (!box.runs)
		return __real_unlink(path);
	file = find_file(path);
	if (file == NULL) {
		errno = ENOENT;
		return -1;
	}
	empty_file(file);
	remove_file(file);
	return 0;
}

DIR *__wrap_opendir(const char *path);
DIR *
__wrap_opendir(const char *path)
{
	if (!box.runs)
		return __real_opendir(path);
	errno = ENOENT;
	return NULL;
}

/* ---- what else programs ask of the system ---- */

int __wrap_isatty(int fd);
int
__wrap_isatty(int fd)
{
	return box.runs ? fd == STDOUT_FILENO && box.columns != NULL : __real_isatty(fd);
}

char *__wrap_getenv(const char *name);
char *
__wrap_getenv(const char *name)
{
	static char terminal[] = "xterm";

	if (!box.runs)
		return __real_getenv(name);
	if (strcmp(name, "COLUMNS") == 0)
		return (char *)(uintptr_t)box.columns;
	return strcmp(name, "TERM") == 0 ? terminal : NULL;
}

int __wrap_sigaction(int number, const struct sigaction *action, struct sigaction *was);
int
__wrap_sigaction(int number, const struct sigaction *action, struct sigaction *was)
{
	return box.runs ? 0 : __real_sigaction(number, action, was);
}

int __wrap_sigprocmask(int how, const sigset_t *set, sigset_t *was);
int
__wrap_sigprocmask(int how, const sigset_t *set, sigset_t *was)
{
	return box.runs ? 0 : __real_sigprocmask(how, set, was);
}

iconv_t __wrap_iconv_open(const char *to, const char *from);
iconv_t
__wrap_iconv_open(const char *to, const char *from)
{
	iconv_t coding = __real_iconv_open(to, from);

	if (box.runs && coding != (iconv_t)-1) {
		FUZZ_CHECK(box.codings < CODINGS_MOST, "the box has room for the encodings");
		box.coding[box.codings++] = coding;
	}
	return coding;
}

int __wrap_iconv_close(iconv_t coding);
int
__wrap_iconv_close(iconv_t coding)
{
	for (size_t i = 0; i < box.codings; i++)
		if (box.coding[i] == coding)
			box.coding[i] = box.coding[--box.codings];
	return __real_iconv_close(coding);
}

/* ---- running ---- */

static ssize_t
keep_told(void *data, const char *bytes, size_t length)
{
	(void)data;
	add_to_file(&box.err, bytes, length);
	return (ssize_t)length;
}

/* Leaks are looked for here, at the end of each run; and short stacks cost less. */
const char *__asan_default_options(void);
const char *
__asan_default_options(void)
{
	return "detect_leaks=0:malloc_context_size=6";
}

int LLVMFuzzerInitialize(int *argc, char ***argv);
int
LLVMFuzzerInitialize(int *argc, char ***argv)
{
	cookie_io_functions_t functions = {.write = keep_told};

	(void)argc;
	(void)argv;
	/* The fuzzer and the sanitizers have kept the real one. */
	box.err_stream = fopencookie(NULL, "w", functions);
	box.real_err = stderr;
	return 0;
}

_Noreturn void __wrap_exit(int status);
_Noreturn void
__wrap_exit(int status)
{
	if (!box.runs)
		__real_exit(status);
	box.status = status;
	longjmp(box.end, 1);
}

/* What is told is text for a terminal: nothing that it would obey, nothing hidden. */
static void
check_told(const struct file *told)
{
	size_t length;

	FUZZ_CHECK(text_utf8_bad(told->bytes, told->length) == told->length,
	           "what is told is UTF-8");
	for (size_t i = 0; i < told->length; i += length) {
		uint32_t point = width_point(told->bytes + i, &length);

		FUZZ_CHECK(point == '\n' || !width_is_hidden(point), "nothing hidden is told");
	}
}

struct fuzz_result
fuzz_run(void (*part)(void *data), void *data)
{
	struct fuzz_result result;

	empty_file(&box.out);
	empty_file(&box.err);
	box.out_closed = false;
	box.stdin_at = 0;
	box.status = -1;
	stderr = box.err_stream;
	box.runs = true;
	if (setjmp(box.end) == 0)
		part(data);
	box.runs = false;
	fflush(box.err_stream);
	stderr = box.real_err;
	if (box.status == -1) {
		FUZZ_CHECK(box.blocks == 0, "all memory was freed");
		FUZZ_CHECK(box.codings == 0, "all encodings were closed");
		for (size_t i = 0; i < OPEN_MOST; i++)
			FUZZ_CHECK(box.opened[i].file == NULL, "all files were closed");
	}
	free_blocks();
	while (box.codings > 0)
		__real_iconv_close(box.coding[--box.codings]);
	for (size_t i = 0; i < OPEN_MOST; i++)
		box.opened[i].file = NULL;
	check_told(&box.err);
	result.status = box.status;
	result.out = fuzz_of(box.out.bytes, box.out.length);
	result.err = fuzz_of(box.err.bytes, box.err.length);
	return result;
}

struct call {
	fuzz_program *program;
	int argc, status;
	char **argv;
};

static void
run_main(void *data)
{
	struct call *call = data;

	call->status = call->program(call->argc, call->argv);
}

void
fuzz_say_args(const char *const *args)
{
	box.args = args;
}

struct fuzz_result
fuzz_program_run(fuzz_program *program, const char *const *args)
{
	struct call call = {.program = program};
	struct fuzz_result result;

	while (args[call.argc] != NULL)
		call.argc++;
	/* getopt_long puts them into another order. */
	call.argv = fuzz_keep((size_t)(call.argc + 1) * sizeof *call.argv);
	memcpy(call.argv, args, (size_t)(call.argc + 1) * sizeof *call.argv);
	fuzz_say_args((const char *const *)call.argv);
	result = fuzz_run(run_main, &call);
	if (result.status == -1)
		result.status = call.status;
	FUZZ_CHECK(result.status >= 0 && result.status <= 2, "the exit status is 0, 1 or 2");
	if (result.status == 2) {
		FUZZ_CHECK(result.out.length == 0, "with exit status 2 nothing is written");
		FUZZ_CHECK(result.err.length > 0, "with exit status 2 something is told");
		for (size_t i = 0; i < box.files; i++)
			FUZZ_CHECK(box.file[i].kept, "with exit status 2 no file is written");
	} else {
		FUZZ_CHECK(box.out_closed, "standard output was written and closed");
	}
	FUZZ_CHECK(result.err.length == 0 || result.err.bytes[result.err.length - 1] == '\n',
	           "what is told ends its line");
	return result;
}

/* ---- the input ---- */

struct fuzz_input
fuzz_start(const uint8_t *data, size_t size)
{
	for (size_t i = 0; i < box.files; i++)
		empty_file(&box.file[i]);
	box.files = 0;
	while (box.kept != NULL) {
		struct kept *kept = box.kept;

		box.kept = kept->before;
		__real_free(kept);
	}
	box.chop = 0;
	box.columns = NULL;
	box.args = NULL;
	return (struct fuzz_input){.next = data, .end = data + size};
}

struct fuzz_input
fuzz_start_choices(const uint8_t *data, size_t size)
{
	struct fuzz_input in = fuzz_start(data, size);
	const unsigned char *line = size > 0 ? memchr(data, '\n', size) : NULL;

	in.choice = in.next;
	in.choices_end = line != NULL ? line : in.end;
	in.next = line != NULL ? line + 1 : in.end;
	return in;
}

unsigned
fuzz_choice(struct fuzz_input *in, unsigned n)
{
	unsigned c = in->choice < in->choices_end ? *in->choice++ : '0';

	/* 0 to 9, a to z, then whatever. */
	c = c >= 'a' ? c - 'a' + 10 : c - '0';
	return c % n;
}

struct fuzz_bytes
fuzz_section(struct fuzz_input *in)
{
	static const char line[] = "----\n";
	const unsigned char *from = in->next, *at = from;

	while (at < in->end) {
		const unsigned char *end = memchr(at, '\n', (size_t)(in->end - at));

		if ((size_t)(in->end - at) >= sizeof line - 1 &&
		    memcmp(at, line, sizeof line - 1) == 0) {
			in->next = at + sizeof line - 1;
			return fuzz_of((const char *)from, (size_t)(at - from));
		}
		at = end != NULL ? end + 1 : in->end;
	}
	in->next = in->end;
	return fuzz_of((const char *)from, (size_t)(in->end - from));
}

unsigned
fuzz_byte(struct fuzz_input *in)
{
	return in->next < in->end ? *in->next++ : 0;
}

unsigned
fuzz_below(struct fuzz_input *in, unsigned n)
{
	unsigned value = fuzz_byte(in);

	if (n > 256)
		value = value << 8 | fuzz_byte(in);
	return value % n;
}

/* ---- tables that came out ---- */

struct reading {
	const char *at, *end;
	char *to; /* where the text of fields goes */
	char ***row;
	size_t rows, row_room;
	char **field;
	size_t fields, field_room;
};

/* Kept memory does not grow: twice as much is taken, and the old let be. */
static void *
grown(void *old, size_t count, size_t *room, size_t size)
{
	void *new;

	if (count < *room)
		return old;
	*room = 2 * *room + 8;
	new = fuzz_keep(*room * size);
	if (count > 0)
		memcpy(new, old, count * size);
	return new;
}

/* One field, up to the comma or LF behind it. */
static void
read_field(struct reading *r)
{
	r->field = grown(r->field, r->fields, &r->field_room, sizeof *r->field);
	r->field[r->fields++] = r->to;
	if (r->at < r->end && *r->at == '"') {
		for (r->at++;; r->at++) {
			FUZZ_CHECK(r->at < r->end, "a quoted field is closed");
			if (*r->at == '"' && *++r->at != '"')
				break;
			*r->to++ = *r->at;
		}
	} else {
		for (; r->at < r->end && *r->at != ',' && *r->at != '\n'; r->at++) {
			FUZZ_CHECK(*r->at != '"' && *r->at != '\r' && *r->at != '\0',
			           "what must be quoted is");
			*r->to++ = *r->at;
		}
	}
	*r->to++ = '\0';
	FUZZ_CHECK(r->at < r->end && (*r->at == ',' || *r->at == '\n'),
	           "a field ends with a comma or a line feed");
}

struct fuzz_table
fuzz_table(struct fuzz_bytes csv)
{
	struct reading r = {.at = csv.bytes, .end = csv.bytes + csv.length};
	size_t columns = 0;

	r.to = fuzz_keep(2 * csv.length + 1);
	while (r.at < r.end) {
		r.field = NULL;
		r.fields = r.field_room = 0;
		do {
			read_field(&r);
		} while (*r.at++ == ',');
		if (r.rows == 0)
			columns = r.fields;
		FUZZ_CHECK(r.fields == columns, "a row has as many fields as the header");
		r.row = grown(r.row, r.rows, &r.row_room, sizeof *r.row);
		r.row[r.rows++] = r.field;
	}
	FUZZ_CHECK(r.rows > 0, "there is a header");
	return (struct fuzz_table){r.row, r.rows, columns};
}

/* Past blanks, no-break ones too. */
static const char *
past_blanks(const char *s)
{
	for (;;) {
		if (*s == ' ' || (*s >= '\t' && *s <= '\r'))
			s++;
		else if (strncmp(s, "\xC2\xA0", 2) == 0)
			s += 2;
		else
			return s;
	}
}

size_t
fuzz_column(const struct fuzz_table *table, const char *name)
{
	size_t length = strlen(name);

	for (size_t i = 0; i < table->columns; i++) {
		const char *header = past_blanks(table->field[0][i]);

		if (strncasecmp(header, name, length) == 0 && *past_blanks(header + length) == '\0')
			return i;
	}
	return SIZE_MAX;
}

const char *
fuzz_field(const struct fuzz_table *table, size_t row, const char *column)
{
	size_t at = fuzz_column(table, column);

	FUZZ_CHECK(at != SIZE_MAX, column);
	return table->field[row][at];
}

fuzz_wide
fuzz_number(const char *text, unsigned decimals)
{
	fuzz_wide value = 0;
	bool negative = *text == '-', point = false;
	const char *s = text + negative;

	FUZZ_CHECK(*text == '\0' || (*s >= '0' && *s <= '9'), "a number starts with a digit");
	for (; *s != '\0'; s++) {
		if (*s == '.' && !point) {
			point = true;
			continue;
		}
		FUZZ_CHECK(*s >= '0' && *s <= '9', "a number has digits");
		if (point && decimals-- == 0)
			fuzz_fail(__FILE__, __LINE__, "a number has no more decimals than that");
		FUZZ_CHECK(!__builtin_mul_overflow(value, 10, &value) &&
		               !__builtin_add_overflow(value, *s - '0', &value),
		           "a number has 128 bits");
	}
	while (decimals-- > 0)
		FUZZ_CHECK(!__builtin_mul_overflow(value, 10, &value), "a number has 128 bits");
	return negative ? -value : value;
}
