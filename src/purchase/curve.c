#include "purchase/curve.h"

#include "base/mem.h"
#include "purchase/fewest.h"

#include <stdlib.h>

/* A point with the same plan and all else that is known of it. */
static void
add_point(struct curve *curve, const struct model *model, size_t orders,
          const struct search_result *result)
{
	struct curve_point *point;

	MEM_ROOM(curve->point, curve->points, curve->room);
	point = &curve->point[curve->points++];
	*point = (struct curve_point){.orders = orders, .result = *result};
	plan_init(&point->result.plan, model);
	plan_copy(&point->result.plan, &result->plan, model);
}

/* More orders meet as much as fewer do, at the least. */
static void
settle_proof(struct search_result *result, int64_t unmet_least, const struct model *model)
{
	if (result->unmet_least < unmet_least)
		result->unmet_least = unmet_least;
	result->proved = result->plan.unmet <= result->unmet_least &&
	                 search_proves(model, result->plan.cost, result->bound);
}

/* The point below the last one, found by a search; false: it is none, and the curve ends. */
static bool
search_point(struct curve *curve, const struct model *model, const struct curve_options *options)
{
	const struct curve_point *above = &curve->point[curve->points - 1];
	struct model limited = *model;
	struct search_result result;
	bool meets;

	limited.max_orders = above->orders - 1;
	if (!options->next(options->search.data, limited.max_orders)) {
		curve->given_up = true;
		return false;
	}
	search_plan(&limited, &options->search, &result);
	meets = result.plan.unmet <= above->result.plan.unmet;
	if (!meets && !result.proved) {
		curve->unsettled = true;
		curve->asked_to_stop = result.asked_to_stop;
	}
	if (meets) {
		if (result.bound < above->result.bound)
			result.bound = above->result.bound;
		settle_proof(&result, above->result.unmet_least, model);
		add_point(curve, model, limited.max_orders, &result);
	}
	plan_free(&result.plan);
	return meets;
}

static void
reverse(struct curve *curve)
{
	for (size_t i = 0, k = curve->points; i + 1 < k; i++) {
		struct curve_point kept = curve->point[i];

		curve->point[i] = curve->point[--k];
		curve->point[k] = kept;
	}
}

static void
take_over(struct search_result *result, const struct plan *plan, const struct model *model)
{
	if (!plan_better(plan, &result->plan))
		return;
	plan_copy(&result->plan, plan, model);
	settle_proof(result, 0, model);
}

/* More orders that save nothing are no points. */
static void
drop_last(struct curve *curve)
{
	plan_free(&curve->point[--curve->points].result.plan);
	curve->limited = false;
}

static bool
last_saves_nothing(const struct curve *curve)
{
	const struct curve_point *last = &curve->point[curve->points - 1];

	return curve->points > 1 && last->result.plan.cost == last[-1].result.plan.cost;
}

void
curve_find(const struct model *model, const struct curve_options *options,
           struct search_result *result, struct curve *curve)
{
	size_t fewest = 0;

	*curve = (struct curve){.limited = result->plan.orders == model->max_orders};
	add_point(curve, model, result->plan.orders, result);
	if (options->next(options->search.data, NO_LIMIT))
		fewest = fewest_orders(model, &options->search, result->plan.unmet);
	for (bool more = true; more;) {
		const struct curve_point *last = &curve->point[curve->points - 1];
		struct search_result copy = last->result;

		if (last->orders <= fewest)
			more = false;
		else if (copy.proved && copy.plan.orders < last->orders)
			add_point(curve, model, last->orders - 1, &copy);
		else
			more = search_point(curve, model, options);
	}
	reverse(curve);
	for (size_t i = 1; i < curve->points; i++)
		take_over(&curve->point[i].result, &curve->point[i - 1].result.plan, model);
	take_over(result, &curve->point[curve->points - 1].result.plan, model);
	while (last_saves_nothing(curve))
		drop_last(curve);
}

void
curve_free(struct curve *curve)
{
	for (size_t i = 0; i < curve->points; i++)
		plan_free(&curve->point[i].result.plan);
	free(curve->point);
	*curve = (struct curve){0};
}

static void
write_money(struct sheet *sheet, wide nano)
{
	sheet_decimal(sheet, nano, NANO_DECIMALS, NANO_DECIMALS);
}

void
curve_write(const struct curve *curve, struct sheet *sheet)
{
	static const char *const column[] = {"orders", "cost", "landed", "bound", "saving"};

	sheet_fields(sheet, column, sizeof column / sizeof *column);
	sheet_end_row(sheet);
	for (size_t i = 0; i < curve->points; i++) {
		const struct search_result *result = &curve->point[i].result;

		sheet_decimal(sheet, (wide)curve->point[i].orders, 0, 0);
		write_money(sheet, result->plan.cost);
		write_money(sheet, result->plan.landed);
		write_money(sheet, result->bound);
		if (i + 1 < curve->points)
			write_money(sheet,
			            result->plan.cost - curve->point[i + 1].result.plan.cost);
		else if (curve->limited)
			sheet_field(sheet, "");
		else
			write_money(sheet, 0);
		sheet_end_row(sheet);
	}
}
