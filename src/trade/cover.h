/*
 * Covering a need list from stock: which piece of stock goes to which row, exactly optimal.
 *
 * In this order of importance: the most pieces, those of musts before those of optional rows
 * (worth); the least penalty; the lots in turn, each as far as the lots before it leave it: those
 * that the fewest pieces of stock could fill first, lots with a row of any color after all others,
 * optional lots last, then in row order; within a lot the rows in row order; the stock files in
 * their order. It is a flow of least cost from lots over rows and kinds of stock to files.
 *
 * Rows of one `together` label are covered all of them in full, or none, wherever the label is a
 * choice: where one of its rows has alternatives or is optional. (Elsewhere all its rows are had
 * in full in any case, and it binds nothing.) Where stock covers a lot of such a label by other
 * rows, the label is ruled out, since its rows can no longer be had in full: they are taken out of
 * what remains. The choice of labels is found by branch and bound over those that the flow
 * without them would break.
 *
 * Quantities are whole pieces, penalties micro (10^-6).
 */
#ifndef LOTPIPE_COVER_H
#define LOTPIPE_COVER_H

#include "trade/need.h"
#include "trade/stock.h"

struct cover_take {
	size_t need_row, stock_row;
	int64_t qty;
};

struct cover {
	struct cover_take *take; /* owned; by need row, then stock row */
	size_t count, room;
	const char **ruled_out; /* labels, in order of appearance; owned, texts of the need */
	size_t ruled_out_count;
	bool *left_out; /* by need row: it cannot be taken any more, or is covered; owned */
	int64_t pieces;
	size_t lots; /* covered in part or whole */
};

/* Finds the cover; need and stock stay as they are. */
struct cover *cover_find(struct need *need, const struct stock *stock);
void cover_free(struct cover *cover);
/* Takes the covered pieces off the need (rows of a lot together; fully covered ones leave the
 * list) and off the stock. The cover's row numbers are then those of before. */
void cover_apply(const struct cover *cover, struct need *need, struct stock *stock);

#endif
