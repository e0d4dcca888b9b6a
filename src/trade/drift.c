#include "trade/drift.h"

#include "base/err.h"

#include <stdlib.h>
#include <string.h>

/* ---- the steps ---- */

void
drift_totals(const struct drift_input *input, const struct orders *orders,
             const struct conditions *terms, bool exact, struct totals *totals)
{
	const struct totals_input asked = {.orders = orders,
	                                   .sellers = terms->sellers,
	                                   .charges = terms->charges,
	                                   .rates = terms->rates,
	                                   .weights = input->weights,
	                                   .currency = *input->home != '\0' ? input->home : NULL,
	                                   .exact = exact};

	*totals = (struct totals){0};
	totals_make(totals, &asked);
}

struct sum
sum_of(const struct totals *totals)
{
	return (struct sum){totals->sum.home, (int64_t)totals->orders, totals->sum.pieces};
}

struct sum
sum_difference(struct sum a, struct sum b)
{
	return (struct sum){a.amount - b.amount, a.orders - b.orders, a.pieces - b.pieces};
}

static void
add_line(struct orders *orders, const struct order_line *line)
{
	MEM_ROOM(orders->row, orders->count, orders->room);
	orders->row[orders->count++] = *line;
}

/* Pieces of one new offer for one lot are one line, whatever lines they come from. */
static void
add_now(struct drift *drift, struct names *known, const struct repriced *row,
        const struct offers *offers)
{
	struct order_line line = repriced_as_is(row, offers);
	struct text key = {0};
	size_t at;

	dec_add_text(&key, row->offer - offers->offer, 0, 0);
	text_addc(&key, ' ');
	text_adds(&key, line.lot);
	at = names_add_bytes(known, key.bytes, key.length);
	text_free(&key);
	if (at == drift->now.count) {
		add_line(&drift->now, &line);
		return;
	}
	drift->now.row[at].qty += line.qty;
	drift->now.row[at].surplus += line.surplus;
}

static void
make_lines(const struct drift_input *input, struct drift *drift)
{
	const struct repricing *repricing = input->repricing;
	struct names known = {0};

	drift->all.file = drift->left.file = drift->now.file = input->file;
	for (size_t i = 0; i < input->lines; i++)
		add_line(&drift->all, input->line[i]);
	for (size_t i = 0; i < repricing->count; i++) {
		const struct repriced *row = &repricing->row[i];
		struct order_line was = repriced_as_was(row);

		if (row->pieces == 0)
			continue;
		add_line(&drift->left, &was);
		add_now(drift, &known, row, input->offers);
	}
	names_free(&known);
}

void
drift_make(struct drift *drift, const struct drift_input *input)
{
	const struct conditions charged = {input->now.sellers, input->now.charges,
	                                   input->was.rates};
	const struct {
		const struct orders *orders;
		const struct conditions *terms;
	} step[DRIFT_STEPS] = {[DRIFT_WAS] = {&drift->all, &input->was},
	                       [DRIFT_GONE] = {&drift->left, &input->was},
	                       [DRIFT_PRICES] = {&drift->now, &input->was},
	                       [DRIFT_CHARGES] = {&drift->now, &charged},
	                       [DRIFT_RATES] = {&drift->now, &input->now}};

	*drift = (struct drift){0};
	make_lines(input, drift);
	for (int i = 0; i < DRIFT_STEPS; i++) {
		struct totals totals;

		drift_totals(input, step[i].orders, step[i].terms, false, &totals);
		drift->after[i] = sum_of(&totals);
		if (i == DRIFT_RATES)
			drift->totals = totals;
		else
			totals_free(&totals);
	}
}

void
drift_free(struct drift *drift)
{
	orders_free(&drift->all);
	orders_free(&drift->left);
	orders_free(&drift->now);
	totals_free(&drift->totals);
}

/* ---- a line ---- */

static noreturn void
too_large(const struct drift_input *input, const struct order_line *line)
{
	die("%s:%zu: the figures are too large to count exactly", input->file, line->line);
}

const char *
drift_currency(const struct drift_input *input, const struct order_line *line)
{
	const struct seller_row *row = sellers_find(input->was.sellers, line->seller);

	if (*line->currency != '\0')
		return line->currency;
	return row != NULL && *row->currency != '\0' ? row->currency : input->home;
}

/* An amount of micro in home currency at the rates of then, exact. */
static struct fraction
home_then(const struct drift_input *input, const struct order_line *line, const char *currency,
          wide amount)
{
	struct fraction rate, home;
	struct arena arena = {0};
	const char *why;

	if (!rates_find(input->was.rates, currency, input->home, RATE_PAID, &rate, &why, &arena))
		die("%s:%zu: %s", input->file, line->line, why);
	if (!fraction_multiply(rate, (struct fraction){amount, 1}, &home))
		too_large(input, line);
	arena_free(&arena);
	return home;
}

wide
drift_change(const struct drift_input *input, const struct repriced *row)
{
	const struct order_line *line = row->line;
	const struct offers *offers = input->offers;
	struct fraction was, is, change;

	if (row->pieces == 0)
		return 0;
	was = home_then(input, line, drift_currency(input, line), -(wide)row->pieces * line->price);
	is = home_then(input, line, offers->currency[row->offer->seller],
	               (wide)row->pieces * row->offer->price);
	if (!fraction_add(was, is, &change))
		too_large(input, line);
	return wide_div_round(change.top, change.bottom, ROUND_HALF_AWAY);
}
