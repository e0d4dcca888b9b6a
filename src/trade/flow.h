/*
 * Flows in a network of numbers: as much as can flow from a source to a sink, at least cost,
 * exactly, and among all such flows the one that prefers some arcs to others, in an order given.
 *
 * Whole numbers throughout. Costs are not negative, and a sum of costs over as many arcs as there
 * are nodes must stay below 2^126. Successive shortest paths with node potentials, after
 * Edmonds and Karp, "Theoretical improvements in algorithmic efficiency for network flow
 * problems", J. ACM 19 (1972) 248-264; paths of one length are filled together, after Dinic,
 * Soviet Math. Doklady 11 (1970) 1277-1280. The same arcs in the same order give the same flow.
 */
#ifndef LOTPIPE_FLOW_H
#define LOTPIPE_FLOW_H

#include "base/dec.h"

#include <stddef.h>
#include <stdint.h>

struct flow;

struct flow *flow_new(size_t nodes);
void flow_free(struct flow *flow);

/* Adds an arc; returns its number. Capacities are 0 to INT64_MAX / 2. */
size_t flow_arc(struct flow *flow, size_t from, size_t to, int64_t capacity, wide cost);
/* As much as can flow, at least cost. */
void flow_solve(struct flow *flow, size_t source, size_t sink);
/* What flows on an arc. */
int64_t flow_on(const struct flow *flow, size_t arc);
/* After flow_solve: as much on this arc as any flow has that is as large and costs as little, and
 * that leaves arcs preferred before as they are. */
void flow_prefer(struct flow *flow, size_t arc);

#endif
