/*
 * Plain sellers (struct relax: plain_seller) in a few steps: of a seller's offers only those that
 * cost less than their lots' multipliers gain anything, mostly few. Those and some more, the near
 * ones, are picked for the multipliers of the moment, and serve for all those that do not come up
 * to what the cheapest one left out of each lot costs.
 */
#ifndef LOTPIPE_PLAIN_H
#define LOTPIPE_PLAIN_H

#include "plan/model.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct relax;

struct plain_offer {
	double cost, pieces; /* a piece, home; at the most, no more than the need */
	uint32_t lot, listing;
};

struct plain {
	bool any;      /* is there a plain seller? */
	int64_t *unit; /* by listing: pico home a piece, exact, rounded down */
	struct plain_offer *near;
	size_t nears;
	size_t *from, *to; /* by seller: its own among them, */
	uint64_t *picked;  /* of the picking that has this number */
	uint64_t picks;
	size_t uses;   /* how often they have served */
	double *limit; /* by lot: what near offers cost at the most */
	double *until; /* by lot: what the cheapest one left out costs */
};

/* Works out a listing's unit, for which there must be room. Whether it can be had in pico home. */
bool plain_unit(struct relax *relax, size_t listing);
/* After units, plain_seller, plain_lot, plain_cost and plain_cap are set. */
void plain_init(struct relax *relax);
void plain_free(struct relax *relax);
/* To be called before the others, with the same multipliers. */
void plain_pick(struct relax *relax, const double *price);
/* What the seller's best order costs, less what it gains. */
double plain_value(struct relax *relax, size_t seller, const double *price);
/* The same exact, in pico home, at multipliers in scratch_nano that are no higher. */
wide plain_value_exact(const struct relax *relax, size_t seller);
/* Adds what that order fills. */
void plain_fill(struct relax *relax, size_t seller, const double *price);

#endif
