#include "purchase/magnitude.h"

#include "base/err.h"

#define PIECE_MOST 1e9
#define ORDER_MOST 1e12
#define RATE_MOST  1e24
#define PIECE_SAID "1,000,000,000"
#define ORDER_SAID "1,000,000,000,000"

static double
size_of(double amount)
{
	return amount < 0 ? -amount : amount;
}

static bool
fits_rate(struct fraction rate)
{
	return size_of((double)rate.top) <= RATE_MOST && (double)rate.bottom <= RATE_MOST;
}

/* What one of the order's currency can come to at home, with all that is taken in percent, one
 * upon the other. */
static double
most_of_one(const struct terms *terms)
{
	double most = (double)terms->home.top / (double)terms->home.bottom;

	for (size_t i = 0; i < terms->taxes.count; i++)
		most *= 1 + size_of((double)terms->taxes.percent[i]) / 1e8;
	for (size_t c = 0; c < terms->charges; c++) {
		double largest = 0;

		for (size_t k = 0; k < terms->charge[c].steps; k++) {
			double percent = size_of((double)terms->charge[c].step[k].percent);

			largest = percent > largest ? percent : largest;
		}
		most *= 1 + largest / 1e8;
	}
	return most;
}

/* Does what is due once in an order of the seller fit? */
static bool
fits_order(const struct terms *terms, double one)
{
	bool fits = size_of((double)terms->order_cost) / MICRO <= ORDER_MOST &&
	            (double)terms->minimum / MICRO * one <= ORDER_MOST;

	for (size_t c = 0; c < terms->charges; c++)
		for (size_t k = 0; k < terms->charge[c].steps; k++) {
			struct fraction amount = terms->charge[c].step[k].amount;

			fits = fits && (double)amount.bottom <= RATE_MOST &&
			       size_of((double)amount.top) / (double)amount.bottom / MICRO * one <=
			           ORDER_MOST;
		}
	return fits;
}

static bool
fits_seller(const struct purchase *purchase, size_t s, struct arena *arena)
{
	const struct model *model = &purchase->model;
	const struct model_seller *seller = &model->seller[s];
	const struct offers *offers = purchase->input.offers;
	const struct offer *offer = purchase->listing[seller->listing].offer;
	const char *name = text_show(arena, purchase->terms[s].name);
	double one = most_of_one(seller->terms);

	if (!fits_rate(seller->terms->home)) {
		tell_at(offer->file, offer->line,
		        "the exchange rate for the currency of seller \"%s\" is too large, or has "
		        "too many digits, for the search",
		        name);
		return false;
	}
	if (!fits_order(seller->terms, one)) {
		tell_at(offer->file, offer->line,
		        "a charge, the minimum or the order cost of seller \"%s\" is too large: "
		        "it can come to more than " ORDER_SAID " of home currency",
		        name);
		return false;
	}
	for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
		const struct model_listing *listing = &model->listing[j];

		for (size_t b = 0; b < listing->breaks; b++) {
			double price = (double)model->brk[listing->brk + b].price / MICRO;

			if (price * one <= PIECE_MOST)
				continue;
			offer = &offers->offer[purchase->listing[j].of_break[b]];
			tell_at(offer->file, offer->line,
			        "the price is too large: a piece can come to more than " PIECE_SAID
			        " of home currency, with charges and taxes");
			return false;
		}
	}
	return true;
}

bool
magnitude_fits(const struct purchase *purchase)
{
	const struct model *model = &purchase->model;
	const struct need *need = purchase->input.need;
	struct arena arena = {0};
	bool fits = true;

	for (size_t r = 0; r < model->rows; r++) {
		const struct need_row *row = &need->row[purchase->row_need[r]];
		double worth = (double)model->lot[model->row[r].lot].worth / MICRO;
		double penalty = (double)model->row[r].penalty / MICRO;

		if (worth <= PIECE_MOST && penalty <= PIECE_MOST)
			continue;
		tell_at(need->file, row->line,
		        "%s is too large: " PIECE_SAID " of home currency are the most",
		        worth > PIECE_MOST ? "worth" : "penalty");
		fits = false;
	}
	for (size_t s = 0; s < model->sellers; s++)
		if (model->seller[s].terms != NULL && model->seller[s].listings > 0)
			fits = fits_seller(purchase, s, &arena) && fits;
	arena_free(&arena);
	return fits;
}
