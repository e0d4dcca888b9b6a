#include "base/mem.h"

#include "base/err.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

enum { BLOCK_SIZE = 64 * 1024, LARGE_PAGE = 2 * 1024 * 1024 };

struct arena_block {
	struct arena_block *before;
	size_t used;
	size_t size;
	alignas(max_align_t) unsigned char bytes[];
};

void
mem_out(void)
{
	die("out of memory");
}

void *
mem_alloc(size_t size)
{
	void *got = malloc(size ? size : 1);

	if (got == NULL)
		mem_out();
	return got;
}

void *
mem_zero(size_t count, size_t size)
{
	void *got = calloc(count ? count : 1, size ? size : 1);

	if (got == NULL)
		mem_out();
	return got;
}

void *
mem_copy(const void *from, size_t count, size_t size)
{
	void *to = mem_resize(NULL, count, size);

	if (count > 0)
		memcpy(to, from, count * size);
	return to;
}

void *
mem_resize(void *old, size_t count, size_t size)
{
	void *got;

	if (size > 0 && count > SIZE_MAX / size)
		mem_out();
	got = realloc(old, count > 0 && size > 0 ? count * size : 1);
	if (got == NULL)
		mem_out();
	return got;
}

void
mem_expect(void *block, size_t size)
{
#ifdef MADV_HUGEPAGE
	uintptr_t start = ((uintptr_t)block + LARGE_PAGE - 1) / LARGE_PAGE * LARGE_PAGE;
	uintptr_t end = ((uintptr_t)block + size) / LARGE_PAGE * LARGE_PAGE;

	if (start < end)
		madvise((void *)start, end - start, MADV_HUGEPAGE); /* it may decline */
#else
	(void)block;
	(void)size;
#endif
}

void *
arena_alloc(struct arena *arena, size_t size)
{
	const size_t align = alignof(max_align_t);
	struct arena_block *block = arena->last;

	if (size > SIZE_MAX - BLOCK_SIZE)
		mem_out();
	size = (size + align - 1) / align * align;
	if (block == NULL || block->size - block->used < size) {
		size_t room = size > BLOCK_SIZE ? size : BLOCK_SIZE;

		block = mem_alloc(sizeof *block + room);
		block->before = arena->last;
		block->used = 0;
		block->size = room;
		arena->last = block;
	}
	block->used += size;
	return block->bytes + (block->used - size);
}

char *
arena_copy(struct arena *arena, const char *text, size_t length)
{
	char *copy = arena_alloc(arena, length + 1);

	if (length > 0)
		memcpy(copy, text, length);
	copy[length] = '\0';
	return copy;
}

void
arena_free(struct arena *arena)
{
	while (arena->last != NULL) {
		struct arena_block *block = arena->last;

		arena->last = block->before;
		free(block);
	}
}
