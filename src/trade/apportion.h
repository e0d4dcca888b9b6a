/*
 * Apportionment: a whole number of units shared out in proportion to weights, by largest
 * remainders. Each party first gets the whole units of its quota, total x weight / sum of weights;
 * the units left go one each to the largest remainders, of equal ones to those that come first.
 * The shares add up to the total. A negative total is shared as its amount is.
 *
 * Source: Alexander Hamilton's method of 1792, with the quota that Thomas Hare's name goes with;
 * M. L. Balinski and H. P. Young, "Fair Representation" (1982), chapter 3 and appendix A.
 */
#ifndef LOTPIPE_APPORTION_H
#define LOTPIPE_APPORTION_H

#include "base/dec.h"

/* Shares total out to count parties. Weights are not negative; where all are 0, the first party
 * gets everything. Returns false where 128 bits do not hold a product. */
bool apportion(wide total, const wide *weight, size_t count, wide *share);

#endif
