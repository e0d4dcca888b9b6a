#include "trade/flow.h"

#include "base/mem.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define NO_ARC SIZE_MAX

/* An arc and its reverse stand side by side: the reverse of arc a is a ^ 1. */
struct arc {
	size_t from, to, next; /* the next arc from the same node */
	int64_t left;          /* what more can flow on it */
	wide cost;
	bool held; /* may not change any more */
};

struct flow {
	struct arc *arc; /* owned */
	size_t arcs, arc_room;
	size_t nodes;
	size_t *first; /* arc from each node; owned */
	size_t *last;  /* owned */
	wide *potential;
	wide *distance;
	size_t *level;   /* steps from where paths start; 0: not reached */
	size_t *current; /* arc of each node that is not exhausted */
	size_t *queue;
	size_t *path; /* arcs */
	size_t *heap; /* nodes by distance */
	size_t *heap_place;
	size_t heap_count;
};

struct flow *
flow_new(size_t nodes)
{
	struct flow *flow = mem_zero(1, sizeof *flow);

	flow->nodes = nodes;
	flow->first = mem_zero(nodes, sizeof *flow->first);
	flow->last = mem_zero(nodes, sizeof *flow->last);
	flow->potential = mem_zero(nodes, sizeof *flow->potential);
	flow->distance = mem_zero(nodes, sizeof *flow->distance);
	flow->level = mem_zero(nodes, sizeof *flow->level);
	flow->current = mem_zero(nodes, sizeof *flow->current);
	flow->queue = mem_zero(nodes, sizeof *flow->queue);
	flow->path = mem_zero(nodes, sizeof *flow->path);
	flow->heap = mem_zero(nodes, sizeof *flow->heap);
	flow->heap_place = mem_zero(nodes, sizeof *flow->heap_place);
	for (size_t i = 0; i < nodes; i++)
		flow->first[i] = flow->last[i] = NO_ARC;
	return flow;
}

void
flow_free(struct flow *flow)
{
	free(flow->arc);
	free(flow->first);
	free(flow->last);
	free(flow->potential);
	free(flow->distance);
	free(flow->level);
	free(flow->current);
	free(flow->queue);
	free(flow->path);
	free(flow->heap);
	free(flow->heap_place);
	free(flow);
}

static void
add_half(struct flow *flow, size_t from, size_t to, int64_t left, wide cost)
{
	MEM_ROOM(flow->arc, flow->arcs, flow->arc_room);
	flow->arc[flow->arcs] =
	    (struct arc){.from = from, .to = to, .next = NO_ARC, .left = left, .cost = cost};
	if (flow->last[from] == NO_ARC)
		flow->first[from] = flow->arcs;
	else
		flow->arc[flow->last[from]].next = flow->arcs;
	flow->last[from] = flow->arcs++;
}

size_t
flow_arc(struct flow *flow, size_t from, size_t to, int64_t capacity, wide cost)
{
	add_half(flow, from, to, capacity, cost);
	add_half(flow, to, from, 0, -cost);
	return flow->arcs - 2;
}

int64_t
flow_on(const struct flow *flow, size_t arc)
{
	return flow->arc[arc ^ 1].left;
}

/* The cost of an arc less what the potentials pay for; never negative where something can flow. */
static wide
reduced_cost(const struct flow *flow, const struct arc *arc)
{
	return arc->cost + flow->potential[arc->from] - flow->potential[arc->to];
}

/* ---- Shortest paths ---- */

static bool
is_nearer(const struct flow *flow, size_t node, size_t other)
{
	if (flow->distance[node] != flow->distance[other])
		return flow->distance[node] < flow->distance[other];
	return node < other;
}

static void
heap_put(struct flow *flow, size_t place, size_t node)
{
	flow->heap[place] = node;
	flow->heap_place[node] = place;
}

static void
heap_up(struct flow *flow, size_t node)
{
	size_t place = flow->heap_place[node];

	while (place > 0 && is_nearer(flow, node, flow->heap[(place - 1) / 2])) {
		heap_put(flow, place, flow->heap[(place - 1) / 2]);
		place = (place - 1) / 2;
	}
	heap_put(flow, place, node);
}

static size_t
heap_take(struct flow *flow)
{
	size_t top = flow->heap[0], node = flow->heap[--flow->heap_count], place = 0;

	while (2 * place + 1 < flow->heap_count) {
		size_t child = 2 * place + 1;

		if (child + 1 < flow->heap_count &&
		    is_nearer(flow, flow->heap[child + 1], flow->heap[child]))
			child++;
		if (!is_nearer(flow, flow->heap[child], node))
			break;
		heap_put(flow, place, flow->heap[child]);
		place = child;
	}
	if (flow->heap_count > 0)
		heap_put(flow, place, node);
	return top;
}

/* Distances by reduced cost, -1 where there is no path; false if the sink has none. Then moves
 * the potentials, so that arcs on shortest paths have reduced cost 0. */
static bool
find_distances(struct flow *flow, size_t source, size_t sink)
{
	for (size_t i = 0; i < flow->nodes; i++)
		flow->distance[i] = -1;
	flow->distance[source] = 0;
	flow->heap_count = 1;
	heap_put(flow, 0, source);
	while (flow->heap_count > 0) {
		size_t node = heap_take(flow);

		for (size_t i = flow->first[node]; i != NO_ARC; i = flow->arc[i].next) {
			const struct arc *arc = &flow->arc[i];
			wide distance = flow->distance[node] + reduced_cost(flow, arc);

			if (arc->left == 0 ||
			    (flow->distance[arc->to] >= 0 && flow->distance[arc->to] <= distance))
				continue;
			if (flow->distance[arc->to] < 0)
				heap_put(flow, flow->heap_count++, arc->to);
			flow->distance[arc->to] = distance;
			heap_up(flow, arc->to);
		}
	}
	if (flow->distance[sink] < 0)
		return false;
	for (size_t i = 0; i < flow->nodes; i++)
		flow->potential[i] +=
		    flow->distance[i] < 0 || flow->distance[i] > flow->distance[sink]
		        ? flow->distance[sink]
		        : flow->distance[i];
	return true;
}

/* ---- Flow along arcs of reduced cost 0 ---- */

static bool
is_usable(const struct flow *flow, const struct arc *arc)
{
	return arc->left > 0 && !arc->held && reduced_cost(flow, arc) == 0;
}

static bool
find_levels(struct flow *flow, size_t from, size_t to)
{
	size_t count = 1;

	memset(flow->level, 0, flow->nodes * sizeof *flow->level);
	flow->level[from] = 1;
	flow->queue[0] = from;
	for (size_t i = 0; i < count && flow->level[to] == 0; i++) {
		size_t node = flow->queue[i];

		for (size_t j = flow->first[node]; j != NO_ARC; j = flow->arc[j].next) {
			const struct arc *arc = &flow->arc[j];

			if (flow->level[arc->to] != 0 || !is_usable(flow, arc))
				continue;
			flow->level[arc->to] = flow->level[node] + 1;
			flow->queue[count++] = arc->to;
		}
	}
	return flow->level[to] != 0;
}

/* The next path by level, in flow->path; its length in arcs, or 0 if there is none. */
static size_t
next_path(struct flow *flow, size_t from, size_t to)
{
	size_t length = 0, node = from;

	while (node != to) {
		size_t i = flow->current[node];

		if (i == NO_ARC) { /* a dead end: back, and past the arc that led here */
			if (length == 0)
				return 0;
			node = flow->arc[flow->path[--length]].from;
			flow->current[node] = flow->arc[flow->current[node]].next;
		} else if (is_usable(flow, &flow->arc[i]) &&
		           flow->level[flow->arc[i].to] == flow->level[node] + 1) {
			flow->path[length++] = i;
			node = flow->arc[i].to;
		} else {
			flow->current[node] = flow->arc[i].next;
		}
	}
	return length;
}

/* Sends up to limit from one node to another; returns what was sent. */
static int64_t
send(struct flow *flow, size_t from, size_t to, int64_t limit)
{
	int64_t sent = 0;

	while (sent < limit && find_levels(flow, from, to)) {
		size_t length;

		memcpy(flow->current, flow->first, flow->nodes * sizeof *flow->current);
		while (sent < limit && (length = next_path(flow, from, to)) > 0) {
			int64_t amount = limit - sent;

			for (size_t i = 0; i < length; i++)
				if (flow->arc[flow->path[i]].left < amount)
					amount = flow->arc[flow->path[i]].left;
			for (size_t i = 0; i < length; i++) {
				flow->arc[flow->path[i]].left -= amount;
				flow->arc[flow->path[i] ^ 1].left += amount;
			}
			sent += amount;
		}
	}
	return sent;
}

void
flow_solve(struct flow *flow, size_t source, size_t sink)
{
	while (find_distances(flow, source, sink))
		send(flow, source, sink, INT64_MAX);
}

/* With potentials that prove the flow cheapest, the others as cheap differ from it by cycles of
 * arcs whose reduced cost is 0 (complementary slackness); so does the one with most on this arc. */
void
flow_prefer(struct flow *flow, size_t number)
{
	struct arc *arc = &flow->arc[number], *reverse = &flow->arc[number ^ 1];
	int64_t more;

	arc->held = reverse->held = true;
	if (arc->left == 0 || reduced_cost(flow, arc) != 0)
		return;
	more = send(flow, arc->to, arc->from, arc->left);
	arc->left -= more;
	reverse->left += more;
}
