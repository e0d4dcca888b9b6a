/*
 * A purchase: the need list, stock, offers and sellers' terms, put into the numbers of
 * plan/model.h, and a plan of it turned back into order lines, unmet need and a report.
 *
 * Owns the correspondence: which need rows make which lot and what the lot is called, which offer
 * rows make which listing. Everything is in an order of its own, by content, so that the order of
 * rows in side files never matters.
 */
#ifndef LOTPIPE_PURCHASE_H
#define LOTPIPE_PURCHASE_H

#include "plan/model.h"
#include "trade/kept.h"
#include "trade/need.h"
#include "trade/offers.h"
#include "trade/orders.h"
#include "trade/stock.h"
#include "trade/terms.h"
#include "trade/weights.h"

struct purchase_input {
	struct need *need;
	const struct stock *stock;   /* NULL: none */
	const struct offers *offers; /* read and settled */
	const struct tariff_book *book;
	const struct weights *weights; /* NULL: none */
	const char *route;             /* only sellers of it; NULL: all */
	const char *const *without;    /* sellers left out */
	size_t withouts;
	const struct kept *kept; /* of an earlier plan; NULL: none */
	/* Sellers of the old plan, from whom not to buy again costs `stay` each, as does a seller
	 * that is neither among them nor has kept lines. */
	const struct names *old_sellers;
	int64_t stay;      /* micro home */
	size_t max_orders; /* or NO_LIMIT */
	unsigned home_decimals;
	/* Offers of which nothing says what a piece weighs, where it counts, are left out; else
	 * they are faults. */
	bool weighed_alone;
};

struct purchase_lot {
	const char *name;
	size_t *need_row; /* rows of the need list that ask for it, in order; several only where
	                   * rows outside lots were taken as one, or for alternatives */
	size_t need_rows;
};

struct purchase_listing {
	const struct offer *offer; /* the first of its breaks; NULL: owned stock, or: */
	size_t kept_line;          /* of input.kept; SIZE_MAX: none */
	const char *part, *color, *condition;
	int64_t grams;    /* micro, for the order line; or NOT_GIVEN */
	size_t *of_break; /* offers->offer numbers, by break */
};

struct purchase {
	struct model model;               /* for search_plan */
	struct purchase_lot *lot;         /* by lot of the model */
	size_t *row_need;                 /* by row: a need row that it stands for */
	struct purchase_listing *listing; /* by listing of the model */
	struct seller_terms *terms;       /* by seller; unused for owned stock */
	const char **no_carry;            /* carried fields of owned stock: all empty */
	size_t owned; /* number of the seller that is owned stock, or SIZE_MAX */
	size_t kept;  /* of the one whose listings are kept lines, free as stock is, or SIZE_MAX */
	/* By line of input.kept; owned by the arena. */
	bool *fits;                               /* it is a listing */
	const char **kept_currency, **kept_route; /* what it says, else what its seller has */
	size_t *kept_next;         /* the next that is kept of its seller, or SIZE_MAX */
	size_t *kept_first;        /* by seller in kept_sellers: its first line */
	struct names kept_sellers; /* of lines that are kept; owned */
	struct purchase_input input;
	struct arena arena; /* owns all that hangs on the purchase */
};

/* Is the seller left out, by its route or by name? */
bool purchase_leaves_out(const struct purchase_input *input, const char *seller);
/* Builds it. Faults are told, EXIT_TROUBLE. */
void purchase_init(struct purchase *purchase, const struct purchase_input *input);
void purchase_free(struct purchase *purchase);

/* The plan's order lines, sorted; their texts are borrowed. The caller frees them. */
void purchase_orders(const struct purchase *purchase, const struct plan *plan,
                     struct orders *orders);
/* The same, as lot-split writes them. */
void purchase_write(const struct purchase *purchase, const struct plan *plan, struct sheet *sheet);
/* Byte order of what two plans are written as: for search_options.compare. */
int purchase_compare(const struct purchase *purchase, const struct plan *a, const struct plan *b);
/* The need that the plan leaves unmet, as a need list; returns its lots. */
size_t purchase_short(const struct purchase *purchase, const struct plan *plan,
                      struct sheet *sheet);
/* What --stay adds to the plan's cost beyond what is in its order cost, and all that it counts;
 * nano home. */
wide purchase_stay_constant(const struct purchase *purchase);
wide purchase_stay(const struct purchase *purchase, const struct plan *plan);

/* Different part, color and condition of the lines of each order, summed over orders. */
size_t purchase_order_lots(const struct purchase *purchase, const struct plan *plan);

#endif
