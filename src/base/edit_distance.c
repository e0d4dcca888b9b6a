#include "base/edit_distance.h"

#include "base/width.h"

#include <stdlib.h>
#include <string.h>

struct code_points
code_points_of(const char *text, struct arena *arena)
{
	struct code_points points = {arena_alloc(arena, (strlen(text) + 1) * sizeof(uint32_t)), 0};
	size_t length;

	for (; *text != '\0'; text += length)
		points.point[points.count++] = width_point(text, &length);
	return points;
}

static size_t
least_of(size_t a, size_t b)
{
	return a < b ? a : b;
}

/* Turns the row of distances from the first i points of a into that from one more; returns the
 * least of it, below which no later row goes. */
static size_t
next_row(size_t *row, size_t i, uint32_t point, const struct code_points *b)
{
	size_t diagonal = row[0], least;

	row[0] = least = i + 1;
	for (size_t j = 0; j < b->count; j++) {
		size_t replaced = diagonal + (point != b->point[j]);

		diagonal = row[j + 1];
		row[j + 1] = least_of(replaced, least_of(row[j], diagonal) + 1);
		least = least_of(least, row[j + 1]);
	}
	return least;
}

size_t
edit_distance(const struct code_points *a, const struct code_points *b, size_t most,
              struct edit_work *work)
{
	size_t apart = a->count < b->count ? b->count - a->count : a->count - b->count;

	if (apart > most)
		return most + 1;
	if (b->count + 1 > work->room) {
		work->room = 2 * (b->count + 1);
		work->row = mem_resize(work->row, work->room, sizeof *work->row);
	}
	for (size_t j = 0; j <= b->count; j++)
		work->row[j] = j;
	for (size_t i = 0; i < a->count; i++)
		if (next_row(work->row, i, a->point[i], b) > most)
			return most + 1;
	return least_of(work->row[b->count], most + 1);
}

void
edit_work_free(struct edit_work *work)
{
	free(work->row);
	*work = (struct edit_work){0};
}
