#include "plan/exchange.h"

#include "base/mem.h"
#include "plan/draft.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ORDER_MORE 2e-7 /* home: of equal cost, the plan with fewer orders is better */

void
exchange_init(struct exchange *exchange, const struct model *model)
{
	*exchange = (struct exchange){.model = model};
	exchange->cost = mem_zero(model->lots, sizeof *exchange->cost);
	exchange->end = mem_zero(model->lots, sizeof *exchange->end);
	exchange->lines = mem_zero(model->sellers, sizeof *exchange->lines);
	exchange->more = mem_zero(model->sellers, sizeof *exchange->more);
	exchange->lot = mem_zero(model->lots, sizeof *exchange->lot);
	exchange->concerned = mem_zero(model->lots, sizeof *exchange->concerned);
	exchange->seller = mem_zero(model->sellers, sizeof *exchange->seller);
	exchange->changed = mem_zero(model->sellers, sizeof *exchange->changed);
}

void
exchange_free(struct exchange *exchange)
{
	free(exchange->cost);
	free(exchange->end);
	free(exchange->lines);
	free(exchange->more);
	free(exchange->lot);
	free(exchange->concerned);
	free(exchange->seller);
	free(exchange->changed);
}

/* Notes how a lot is filled, the lots that its sellers serve counted by `more`. */
static void
note_lot(struct exchange *exchange, const struct draft *draft, size_t lot, ptrdiff_t more)
{
	const struct model *model = exchange->model;
	int64_t need = model->lot[lot].need;
	double cost = 0;
	size_t i;

	for (i = draft->first[lot]; i < draft->first[lot + 1] && need > 0; i++) {
		const struct draft_offer *offer = &draft->offer[i];
		int64_t part = draft->used[offer->edge];

		if (part == 0)
			continue;
		cost += offer->unit * (double)part;
		need -= part;
		exchange->lines[offer->seller] += more;
	}
	exchange->cost[lot] = cost + (double)need * draft_unit_lost(draft, lot);
	exchange->end[lot] = i;
}

void
exchange_note(struct exchange *exchange, const struct draft *draft)
{
	memset(exchange->lines, 0, exchange->model->sellers * sizeof *exchange->lines);
	for (size_t lot = 0; lot < exchange->model->lots; lot++)
		note_lot(exchange, draft, lot, 1);
}

/* What an order costs beside its goods. */
static double
order_cost(const struct draft *draft, size_t seller)
{
	const struct cells *cells = draft->relax->cells;

	return cells->cell[cells->first[seller]].fixed_home +
	       (draft->model->seller[seller].terms != NULL ? ORDER_MORE : 0);
}

/* In a checking build: what the draft costs, as it is noted. */
static double
noted_cost(const struct exchange *exchange, const struct draft *draft)
{
#ifdef LOTPIPE_AUDIT
	double cost = 0;

	for (size_t lot = 0; lot < exchange->model->lots; lot++)
		cost += exchange->cost[lot];
	for (size_t s = 0; s < exchange->model->sellers; s++)
		if (exchange->lines[s] > 0)
			cost += order_cost(draft, s);
	return cost;
#else
	(void)exchange, (void)draft;
	return 0;
#endif
}

/* In a checking build: the change made is what it was said to be. */
static void
audit_change(const struct exchange *exchange, double before, double after)
{
#ifdef LOTPIPE_AUDIT
	assert(fabs(after - before - exchange->change) <= 1e-9 * (1 + fabs(before)));
#else
	(void)exchange, (void)before, (void)after;
#endif
}

void
exchange_make(struct exchange *exchange, struct draft *draft)
{
	double before = noted_cost(exchange, draft);

	for (size_t n = 0; n < exchange->lots; n++) {
		note_lot(exchange, draft, exchange->lot[n], -1);
		draft_refill(draft, exchange->lot[n]);
		note_lot(exchange, draft, exchange->lot[n], 1);
	}
	for (size_t i = draft->touches; i-- > 0;)
		if (exchange->lines[draft->touched[i]] == 0)
			draft_forget(draft, i);
	audit_change(exchange, before, noted_cost(exchange, draft));
}

static void
count_line(struct exchange *exchange, size_t seller, ptrdiff_t more, size_t *count)
{
	if (!exchange->changed[seller])
		exchange->seller[(*count)++] = seller;
	exchange->changed[seller] = true;
	exchange->more[seller] += more;
}

/* What a lot would cost; counts the sellers that would serve it, and those that do no more. */
static double
lot_with(struct exchange *exchange, const struct draft *draft, size_t lot, size_t shut, size_t open,
         size_t *sellers, uint64_t *work)
{
	const struct model *model = exchange->model;
	int64_t need = model->lot[lot].need;
	double cost = 0, worth = draft->worth[lot];
	size_t i;

	for (i = draft->first[lot]; i < exchange->end[lot]; i++)
		if (draft->used[draft->offer[i].edge] > 0)
			count_line(exchange, draft->offer[i].seller, -1, sellers);
	for (i = draft->first[lot]; i < draft->first[lot + 1] && need > 0; i++) {
		const struct draft_offer *offer = &draft->offer[i];
		size_t seller = offer->seller;
		int64_t part;

		if (seller == shut || (seller != open && !draft->open[seller]))
			continue;
		if (offer->unit >= worth)
			break;
		part = draft->relax->most[offer->listing];
		if (part > need)
			part = need;
		cost += offer->unit * (double)part;
		need -= part;
		count_line(exchange, seller, 1, sellers);
	}
	*work += i - draft->first[lot];
	return cost + (double)need * draft_unit_lost(draft, lot);
}

static void
find_concerned(struct exchange *exchange, const struct draft *draft, size_t shut, size_t open)
{
	const struct model *model = exchange->model;
	size_t pair[] = {shut, open};

	exchange->lots = 0;
	for (int k = 0; k < 2; k++) {
		const struct model_seller *seller;

		if (pair[k] == SIZE_MAX)
			continue;
		seller = &model->seller[pair[k]];
		assert(draft->relax->plain_seller[pair[k]]);
		for (size_t j = seller->listing; j < seller->listing + seller->listings; j++) {
			const struct model_listing *l = &model->listing[j];
			size_t lot = draft->relax->plain_lot[j];

			if (l->edges == 0 || exchange->concerned[lot])
				continue;
			if (pair[k] == shut ? draft->used[l->edge] == 0
			                    : draft->place[l->edge] >= exchange->end[lot])
				continue;
			exchange->concerned[lot] = true;
			exchange->lot[exchange->lots++] = lot;
		}
	}
}

double
exchange_change(struct exchange *exchange, const struct draft *draft, size_t shut, size_t open,
                uint64_t *work)
{
	size_t sellers = 0;
	double change = 0;

	find_concerned(exchange, draft, shut, open);
	for (size_t n = 0; n < exchange->lots; n++) {
		size_t lot = exchange->lot[n];

		exchange->concerned[lot] = false;
		change += lot_with(exchange, draft, lot, shut, open, &sellers, work) -
		          exchange->cost[lot];
	}
	for (size_t n = 0; n < sellers; n++) {
		size_t s = exchange->seller[n];
		ptrdiff_t before = exchange->lines[s], after = before + exchange->more[s];

		if ((before > 0) != (after > 0))
			change += order_cost(draft, s) * (after > 0 ? 1 : -1);
		exchange->more[s] = 0;
		exchange->changed[s] = false;
	}
	exchange->change = change;
	return change;
}
