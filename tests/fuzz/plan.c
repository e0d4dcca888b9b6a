/*
 * Fuzz target: the optimiser on tiny problems, against enumeration of every plan.
 *
 * Input: bytes that a market is drawn from (market.h).
 *
 * Holds: the plan keeps every rule of the model, by the model's own check, and costs what it says;
 * nothing meets more of the need, and nothing that meets as much costs less than the bound; a plan
 * that is proved is within half a cent of the best; the search ends, and proves its plan, unless it
 * is cut short or amounts are too large for doubles; cut short at any point, all that holds too.
 */
#include "market.h"

#include "plan/search.h"
#include "purchase/purchase_files.h"

#include <stdlib.h>
#include <string.h>

/* Plans beyond this number are not enumerated. */
enum { PLANS_MOST = 300000, LEAF_EFFORT = 20000000 };

/* ---- enumeration ---- */

/* The best of all plans so far. Each buys something of every listing, in turn; then uses it. */
struct best {
	const struct model *model;
	struct plan plan;
	int64_t *filled; /* by row */
	bool found;
	int64_t unmet;
	wide cost;
	unsigned long plans;
};

static bool
is_better(const struct best *best, int64_t unmet, wide cost)
{
	return !best->found || unmet < best->unmet || (unmet == best->unmet && cost < best->cost);
}

/* All is bought and used: lots and labels, and what that costs beyond the orders. */
static void
look_at_use(struct best *best, wide orders)
{
	const struct model *model = best->model;
	wide cost = orders;
	int64_t unmet = 0;

	best->plans++;
	for (size_t k = 0; k < model->labels; k++) {
		int64_t filled = 0, need = 0;

		for (size_t r = 0; r < model->rows; r++)
			if (model->row[r].label == k) {
				filled += best->filled[r];
				need += model->lot[model->row[r].lot].need;
			}
		if (filled != 0 && filled != need)
			return;
	}
	for (size_t i = 0; i < model->lots; i++) {
		const struct model_lot *lot = &model->lot[i];
		int64_t filled = 0;

		for (size_t r = lot->row; r < lot->row + lot->rows; r++) {
			filled += best->filled[r];
			cost += (wide)model->row[r].penalty * best->filled[r] * 1000;
		}
		if (filled > lot->need)
			return;
		if (lot->must)
			unmet += lot->need - filled;
		else
			cost -= (wide)lot->worth * filled * 1000;
	}
	if (!is_better(best, unmet, cost))
		return;
	best->found = true;
	best->unmet = unmet;
	best->cost = cost;
}

static void
use_each(struct best *best, size_t listing, size_t edge, int64_t left, wide orders)
{
	const struct model *model = best->model;
	size_t row;

	while (listing < model->listings &&
	       (best->plan.bought[listing] == 0 || edge == model->listing[listing].edges)) {
		listing++;
		edge = 0;
		left = listing < model->listings ? best->plan.bought[listing] : 0;
	}
	if (listing == model->listings) {
		look_at_use(best, orders);
		return;
	}
	row = model->edge[model->listing[listing].edge + edge];
	for (int64_t used = 0; used <= left; used++) {
		best->filled[row] += used;
		if (best->filled[row] <= model->lot[model->row[row].lot].need)
			use_each(best, listing, edge + 1, left - used, orders);
		best->filled[row] -= used;
	}
}

/* No more pieces of a listing than that make a difference: what all its rows need, and what brings
 * the order to a step or minimum, which is not known; so all that there is, of a few. */
static int64_t
most_of(const struct model *model, const struct model_listing *listing)
{
	(void)model;
	return listing->most;
}

static void
buy_each(struct best *best, size_t listing)
{
	const struct model *model = best->model;
	const struct model_listing *l = &model->listing[listing];

	if (listing == model->listings) {
		if (plan_cost(model, &best->plan) == NULL)
			use_each(best, 0, 0, best->plan.bought[0],
			         best->plan.landed + best->plan.order_cost);
		return;
	}
	best->plan.bought[listing] = 0;
	buy_each(best, listing + 1);
	for (int64_t n = l->step; n <= most_of(model, l); n += l->step)
		for (size_t k = 0; k < l->breaks; k++) {
			if (model->brk[l->brk + k].least > n)
				continue;
			best->plan.bought[listing] = n;
			best->plan.chosen[listing] = k;
			buy_each(best, listing + 1);
		}
	best->plan.bought[listing] = 0;
}

/* How many plans there are, about: for each listing the quantities, and for each the ways to use
 * them, (n + 1)^edges at most. */
static double
plans_of(const struct model *model)
{
	double plans = 1;

	for (size_t j = 0; j < model->listings && plans < 1e9; j++) {
		const struct model_listing *l = &model->listing[j];
		double of_listing = 1;

		if (l->most > 40)
			return 1e9;
		for (int64_t n = l->step; n <= l->most; n += l->step) {
			double ways = (double)l->breaks;

			for (size_t e = 0; e < l->edges; e++)
				ways *= (double)(n + (int64_t)e + 1) / (double)(e + 1);
			of_listing += ways;
		}
		plans *= of_listing;
	}
	return plans;
}

static void
enumerate(struct best *best, const struct model *model)
{
	*best = (struct best){.model = model};
	plan_init(&best->plan, model);
	best->filled = mem_zero(model->rows, sizeof *best->filled);
	buy_each(best, 0);
	plan_free(&best->plan);
	free(best->filled);
}

/* ---- the search ---- */

static wide
half_unit(const struct model *model)
{
	return wide_power10(NANO_DECIMALS - model->home_decimals) / 2;
}

static void
check_result(const struct model *model, const struct search_result *result, const struct best *best,
             bool large)
{
	struct plan again;

	plan_init(&again, model);
	plan_copy(&again, &result->plan, model);
	FUZZ_CHECK(plan_cost(model, &again) == NULL, "the plan keeps every rule");
	FUZZ_CHECK(again.cost == result->plan.cost && again.unmet == result->plan.unmet &&
	               again.orders == result->plan.orders,
	           "the plan costs what it says");
	plan_free(&again);
	FUZZ_CHECK(result->bound <= result->plan.cost, "the cost is not below the bound");
	FUZZ_CHECK(result->proved == (search_proves(model, result->plan.cost, result->bound) &&
	                              result->plan.unmet <= result->unmet_least),
	           "proved is a bound that proves the cost, and no more to be met");
	FUZZ_CHECK(result->proved || result->stopped || large,
	           "a search that ends has proved its plan");
	if (best == NULL)
		return;
	FUZZ_CHECK(best->found, "there is a plan: to buy nothing is one");
	FUZZ_CHECK(result->plan.unmet >= best->unmet, "no plan meets more than enumeration finds");
	FUZZ_CHECK(result->unmet_least <= best->unmet, "what must stay unmet must");
	if (result->proved)
		FUZZ_CHECK(result->plan.unmet == best->unmet, "as much is met as can be");
	if (result->plan.unmet > best->unmet)
		return;
	FUZZ_CHECK(result->plan.cost >= best->cost, "no plan costs less than enumeration finds");
	FUZZ_CHECK(result->bound <= best->cost, "no plan costs less than the bound");
	if (result->proved)
		FUZZ_CHECK(result->plan.cost - best->cost < half_unit(model),
		           "a proved plan is within half a cent of the best");
}

struct drawn {
	struct market market;
	unsigned effort;
};

static void
read_options(const struct drawn *drawn, struct purchase_options *options)
{
	const struct market *market = &drawn->market;

	purchase_options_start(options);
	for (size_t i = 0; i < market->files; i++) {
		const struct market_file *file = &market->file[i];
		struct opt_reader reader = {0};

		if (file->option == NULL)
			continue;
		if (file->option[1] != '-')
			purchase_option(options, &reader, file->option[1], file->name);
		else
			options->keep = file->name;
	}
	for (size_t i = 0; i < market->options; i += 2) {
		const char *option = market->option[i], *value = market->option[i + 1];
		struct opt_reader reader = {0};

		if (strcmp(option, "-C") == 0)
			purchase_option(options, &reader, 'C', value);
		else
			purchase_option(options, &reader,
			                strcmp(option, "--stay") == 0         ? OPT_STAY
			                : strcmp(option, "--order-cost") == 0 ? OPT_ORDER_COST
			                : strcmp(option, "--without") == 0    ? OPT_WITHOUT
			                                                      : OPT_MAX_ORDERS,
			                value);
	}
}

static void
check_all(void *data)
{
	const struct drawn *drawn = data;
	struct purchase_files files = {0};
	struct purchase_options options;
	struct purchase_input input;
	struct purchase purchase;
	struct search_options search = {.effort = LEAF_EFFORT};
	struct search_result result;
	struct best best, *known = NULL;

	read_options(drawn, &options);
	purchase_files_read(&files, &options, &(struct table_form){0}, NULL, 0, true);
	input = purchase_files_input(&files, &options);
	purchase_init(&purchase, &input);
	if (purchase.model.listings > 0 && plans_of(&purchase.model) <= PLANS_MOST) {
		enumerate(&best, &purchase.model);
		known = &best;
	}
	search_plan(&purchase.model, &search, &result);
	check_result(&purchase.model, &result, known, drawn->market.large);
	plan_free(&result.plan);
	search.effort = drawn->effort;
	search_plan(&purchase.model, &search, &result);
	check_result(&purchase.model, &result, known, drawn->market.large);
	plan_free(&result.plan);
	purchase_free(&purchase);
	purchase_files_free(&files);
	purchase_options_free(&options);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct market_size most = {
	    .lots = 3, .rows = 2, .sellers = 3, .listings = 2, .qty = 4};
	struct fuzz_input in = fuzz_start(data, size);
	struct drawn drawn;

	if (size > 400)
		return -1;
	drawn.effort = 1 + fuzz_below(&in, 4000);
	market_draw(&drawn.market, &in, &most);
	fuzz_run(check_all, &drawn);
	return 0;
}
