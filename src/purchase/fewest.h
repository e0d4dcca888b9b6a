/*
 * How many orders it takes at least: the same needs and listings, every order at a price of one
 * and all else free, without minimums, charges and orders that are not shipped. What no plan of
 * that costs less than, rounded up, is a number of orders that every plan needs.
 *
 * Where prices and charges do not count, the search sees soon that so few sellers cannot have it
 * all, which under a limit on orders takes it long.
 */
#ifndef LOTPIPE_FEWEST_H
#define LOTPIPE_FEWEST_H

#include "plan/search.h"

/* A number of orders that every plan needs that leaves at most so many pieces unmet; how good, is
 * a matter of the search's limits. 0 where nothing is known. */
size_t fewest_orders(const struct model *model, const struct search_options *options,
                     int64_t unmet);

#endif
