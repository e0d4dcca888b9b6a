/*
 * Memory: allocation that never returns NULL (out of memory is told, EXIT_TROUBLE), growing
 * arrays, and the arena, which owns everything that lives as long as a file's records do.
 */
#ifndef LOTPIPE_MEM_H
#define LOTPIPE_MEM_H

#include <stddef.h>
#include <stdnoreturn.h>

/* Tells that there is none. */
noreturn void mem_out(void);
void *mem_alloc(size_t size);
void *mem_zero(size_t count, size_t size);
/* A copy of an array; from may be NULL where count is 0. */
void *mem_copy(const void *from, size_t count, size_t size);
void *mem_resize(void *old, size_t count, size_t size);
/* Tells the system that a block will be filled from end to end: large ones then come in large
 * pages, where it has them. A matter of speed alone. */
void mem_expect(void *block, size_t size);

/* Makes room for one more element in a growing array: a pointer, its count and its capacity. */
#define MEM_ROOM(array, count, capacity)                                                           \
	do {                                                                                       \
		if ((count) == (capacity)) {                                                       \
			(capacity) = (capacity) ? 2 * (capacity) : 16;                             \
			(array) = mem_resize((array), (capacity), sizeof *(array));                \
		}                                                                                  \
	} while (0)

struct arena {
	struct arena_block *last; /* owned */
};

/* Memory from the arena, aligned for any type, not zeroed; freed by arena_free alone. */
void *arena_alloc(struct arena *arena, size_t size);
/* A NUL-terminated copy of length bytes. */
char *arena_copy(struct arena *arena, const char *text, size_t length);
void arena_free(struct arena *arena);

#endif
