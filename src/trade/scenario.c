#include "trade/scenario.h"

#include "trade/amounts.h"
#include "trade/currency.h"
#include "trade/sellers.h"

#include <string.h>

enum amount { GOODS, CHARGES, TAX, ROUNDING, HOME, AMOUNTS };

static const char *const amount_names[AMOUNTS] = {
    [GOODS] = "home_goods", [CHARGES] = "home_charges", [TAX] = "home_tax", [ROUNDING] = "rounding",
    [HOME] = "home",
};

struct columns {
	size_t seller, route, lots, pieces, currency, amount[AMOUNTS];
};

/* A row, or the sum of several. */
struct figures {
	int64_t lots, pieces;
	wide amount[AMOUNTS]; /* micro */
};

struct reader {
	struct scenario *scenario;
	struct table *table;
	struct columns columns;
	struct arena *arena;
	struct figures orders, others, total;
	size_t rows, total_line; /* 0: no TOTAL row yet */
};

/* ---- one row ---- */

static bool
currency_agrees(struct reader *reader, const struct row *row)
{
	struct scenario *scenario = reader->scenario;
	const char *said = row_field(row, reader->columns.currency);

	if (!currency_field(reader->table, row, reader->columns.currency))
		return false;
	if (reader->rows++ == 0)
		scenario->currency = arena_copy(reader->arena, said, strlen(said));
	if (strcmp(said, scenario->currency) == 0)
		return true;
	fault(table_faults(reader->table), row->line,
	      "home_currency is \"%s\" here and \"%s\" before: totals have one", said,
	      scenario->currency);
	return false;
}

static bool
read_figures(struct reader *reader, const struct row *row, struct figures *out)
{
	bool fit =
	    amount_qty(reader->table, row, reader->columns.lots, AMOUNT_REQUIRED, &out->lots);

	fit &=
	    amount_qty(reader->table, row, reader->columns.pieces, AMOUNT_REQUIRED, &out->pieces);
	for (size_t i = 0; i < AMOUNTS; i++) {
		int64_t amount = 0;

		fit &= amount_micro(reader->table, row, reader->columns.amount[i], MAY_BE_NEGATIVE,
		                    AMOUNT_REQUIRED, &amount);
		out->amount[i] = amount;
	}
	return fit;
}

static void
tell_sum(struct reader *reader, size_t line, const char *what, wide said, const char *of, wide due)
{
	struct text is = {0}, should = {0};

	dec_add_text(&is, said, MICRO_DECIMALS, 0);
	dec_add_text(&should, due, MICRO_DECIMALS, 0);
	fault(table_faults(reader->table), line,
	      "%s is %s, and %s is %s: take the table as lot-total wrote it", what, is.bytes, of,
	      should.bytes);
	text_free(&is);
	text_free(&should);
}

static bool
parts_add_up(struct reader *reader, const struct row *row, const struct figures *figures)
{
	wide sum = 0;

	for (size_t i = GOODS; i < HOME; i++)
		sum += figures->amount[i];
	if (sum != figures->amount[HOME])
		tell_sum(reader, row->line, amount_names[HOME], figures->amount[HOME],
		         "the sum of its parts", sum);
	return sum == figures->amount[HOME];
}

static void
add_figures(struct figures *sum, const struct figures *row)
{
	/* Lots and pieces are at most 10^9 a row, amounts 64 bits: no file has rows enough. */
	sum->lots += row->lots;
	sum->pieces += row->pieces;
	for (size_t i = 0; i < AMOUNTS; i++)
		sum->amount[i] += row->amount[i];
}

static void
take_row(struct reader *reader, const struct row *row)
{
	struct figures figures = {0};
	bool fit = currency_agrees(reader, row);

	fit &= read_figures(reader, row, &figures);
	if (!fit || !parts_add_up(reader, row, &figures))
		return;
	if (strcmp(row_field(row, reader->columns.seller), TOTAL_SELLER) == 0) {
		if (reader->total_line != 0)
			fault(table_faults(reader->table), row->line,
			      "there is a %s row at line %zu already: give one file a scenario",
			      TOTAL_SELLER, reader->total_line);
		reader->total_line = row->line;
		reader->total = figures;
	} else if (strcmp(row_field(row, reader->columns.route), OTHER_ROUTE) == 0) {
		add_figures(&reader->others, &figures);
	} else {
		add_figures(&reader->orders, &figures);
		reader->scenario->orders++;
	}
}

/* ---- the file ---- */

static void
find_columns(struct table *table, struct columns *columns)
{
	*columns = (struct columns){.seller = table_need_column(table, "seller"),
	                            .route = table_need_column(table, "route"),
	                            .lots = table_need_column(table, "lots"),
	                            .pieces = table_need_column(table, "pieces"),
	                            .currency = table_need_column(table, "home_currency")};
	for (size_t i = 0; i < AMOUNTS; i++)
		columns->amount[i] = table_need_column(table, amount_names[i]);
	if (table_faults(table)->count > 0)
		table_end(table);
}

/* Cash rounding is in the TOTAL row alone, so its rounding and home are no sums. */
static void
check_total(struct reader *reader)
{
	struct figures sum = reader->orders;

	add_figures(&sum, &reader->others);
	if (reader->total_line == 0) {
		fault(table_faults(reader->table), 0,
		      "there is no %s row: take the whole table as lot-total wrote it",
		      TOTAL_SELLER);
		return;
	}
	if (sum.lots != reader->total.lots || sum.pieces != reader->total.pieces)
		fault(table_faults(reader->table), reader->total_line,
		      "lots and pieces are not the sum of the rows: take the table as lot-total "
		      "wrote it");
	for (size_t i = GOODS; i <= TAX; i++)
		if (sum.amount[i] != reader->total.amount[i])
			tell_sum(reader, reader->total_line, amount_names[i],
			         reader->total.amount[i], "the sum of the rows", sum.amount[i]);
}

void
scenario_read(struct scenario *scenario, const char *name, struct table *table, struct arena *arena)
{
	struct reader reader = {.scenario = scenario, .table = table, .arena = arena};
	const wide *amount = reader.orders.amount;
	struct row row;

	*scenario = (struct scenario){.name = name, .currency = ""};
	scenario->file = arena_copy(arena, table_name(table), strlen(table_name(table)));
	find_columns(table, &reader.columns);
	while (table_next(table, &row))
		take_row(&reader, &row);
	if (table_faults(table)->count == 0)
		check_total(&reader);
	table_end(table);
	table_close(table);
	scenario->lots = reader.total.lots;
	scenario->pieces = reader.total.pieces;
	scenario->goods = amount[GOODS];
	scenario->charges = amount[CHARGES];
	scenario->tax = amount[TAX];
	scenario->others = reader.others.amount[HOME];
	scenario->total = reader.total.amount[HOME];
	scenario->rounding = scenario->total - scenario->goods - scenario->charges - scenario->tax -
	                     scenario->others;
}
