#include "purchase/fewest.h"

#include "base/mem.h"

#include <stdlib.h>

/* A model in which an order costs one unit, whatever is in it. Owns what it changes. */
static struct model
counting_model(const struct model *model, struct terms **terms)
{
	struct model counting = *model;

	counting.lot = mem_copy(model->lot, model->lots, sizeof *model->lot);
	counting.row = mem_copy(model->row, model->rows, sizeof *model->row);
	counting.seller = mem_copy(model->seller, model->sellers, sizeof *model->seller);
	counting.brk = mem_copy(model->brk, model->breaks, sizeof *model->brk);
	*terms = mem_zero(model->sellers, sizeof **terms);
	for (size_t i = 0; i < model->lots; i++)
		counting.lot[i].worth = 0;
	for (size_t r = 0; r < model->rows; r++)
		counting.row[r].penalty = 0;
	for (size_t b = 0; b < model->breaks; b++)
		counting.brk[b].price = 0;
	for (size_t s = 0; s < model->sellers; s++) {
		if (model->seller[s].terms == NULL)
			continue;
		(*terms)[s] = (struct terms){.classes = model->seller[s].terms->classes,
		                             .home = {1, 1},
		                             .order_cost = MICRO};
		counting.seller[s].terms = &(*terms)[s];
		counting.seller[s].basket = NULL;
		counting.seller[s].basket_cost = 0;
	}
	return counting;
}

size_t
fewest_orders(const struct model *model, const struct search_options *options, int64_t unmet)
{
	struct terms *terms;
	struct model counting = counting_model(model, &terms);
	struct search_options search = *options;
	struct search_result result;
	wide orders = 0;

	search.compare = NULL;
	search_plan(&counting, &search, &result);
	/* The bound is one for plans that meet as much as this one, which may be more. */
	if (result.plan.unmet >= unmet && result.bound > 0)
		orders = wide_div_ceil(result.bound, NANO);
	plan_free(&result.plan);
	free(counting.lot);
	free(counting.row);
	free(counting.seller);
	free(counting.brk);
	free(terms);
	return (size_t)orders;
}
