#include "trade/shares.h"

#include "trade/amounts.h"
#include "trade/sellers.h"

#include <stdlib.h>
#include <string.h>

enum share_column {
	SHARE_MODEL,
	SHARE_GROUP,
	SHARE_LOT,
	SHARE_PART,
	SHARE_COLOR,
	SHARE_CONDITION,
	SHARE_QTY,
	SHARE_SELLER,
	SHARE_AMOUNT,
	SHARE_COLUMNS
};

static const char *const column_names[SHARE_COLUMNS] = {
    "model", "group", "lot", "part", "color", "condition", "qty", "seller", "amount",
};

void
shares_add(struct shares *shares, const struct share *share)
{
	MEM_ROOM(shares->row, shares->count, shares->room);
	shares->row[shares->count++] = *share;
}

bool
share_is_surplus(const struct share *share)
{
	return *share->lot == '\0';
}

/* ---- reading ---- */

static const char *
copy(struct shares *shares, const struct row *row, size_t column)
{
	const char *field = row_field(row, column);

	return *field == '\0' ? "" : arena_copy(&shares->arena, field, strlen(field));
}

static bool
texts_fit(struct table *table, const struct row *row, const size_t *at)
{
	static const enum share_column filled[] = {SHARE_PART, SHARE_COLOR, SHARE_SELLER};
	const char *model = row_field(row, at[SHARE_MODEL]);

	for (size_t i = 0; i < sizeof filled / sizeof *filled; i++)
		if (*row_field(row, at[filled[i]]) == '\0') {
			fault(table_faults(table), row->line,
			      "%s is empty: a share names seller, part and color",
			      column_names[filled[i]]);
			return false;
		}
	if (strcmp(model, TOTAL_SELLER) == 0) {
		fault(table_faults(table), row->line,
		      "a model may not be named \"%s\", as the row of all: rename it", model);
		return false;
	}
	if (*model != '\0' && *row_field(row, at[SHARE_LOT]) == '\0') {
		fault(table_faults(table), row->line,
		      "model is \"%s\" and lot is empty: name the lot, or leave both empty for "
		      "what is beyond the need",
		      text_show(table_arena(table), model));
		return false;
	}
	return true;
}

static void
read_row(struct shares *shares, struct table *table, const struct row *row, const size_t *at)
{
	struct share share = {.line = row->line};
	int64_t amount;

	if (!texts_fit(table, row, at) ||
	    !amount_qty(table, row, at[SHARE_QTY], AMOUNT_REQUIRED, &share.qty) ||
	    !amount_micro(table, row, at[SHARE_AMOUNT], NOT_NEGATIVE, AMOUNT_REQUIRED, &amount))
		return;
	share.amount = amount;
	share.model = copy(shares, row, at[SHARE_MODEL]);
	share.group = copy(shares, row, at[SHARE_GROUP]);
	share.lot = copy(shares, row, at[SHARE_LOT]);
	share.part = copy(shares, row, at[SHARE_PART]);
	share.color = copy(shares, row, at[SHARE_COLOR]);
	share.condition = copy(shares, row, at[SHARE_CONDITION]);
	share.seller = copy(shares, row, at[SHARE_SELLER]);
	shares_add(shares, &share);
}

void
shares_read(struct shares *shares, struct table *table)
{
	size_t at[SHARE_COLUMNS];
	struct row row;

	for (size_t i = 0; i < SHARE_COLUMNS; i++)
		at[i] = i == SHARE_GROUP || i == SHARE_CONDITION
		            ? table_column(table, column_names[i])
		            : table_need_column(table, column_names[i]);
	table_end(table);
	shares->file = arena_copy(&shares->arena, table_name(table), strlen(table_name(table)));
	while (table_next(table, &row))
		read_row(shares, table, &row, at);
	table_end(table);
	table_close(table);
}

/* ---- against the order lines ---- */

/* Pieces of one seller's part, color and condition, in a share or an order line. */
struct batch {
	const char *key[4]; /* seller, part, color, condition */
	int64_t shared, bought;
	wide share_amount, amount;
	size_t line; /* of the first share; 0: there is none */
};

static int
compare_batches(const struct batch *a, const struct batch *b)
{
	int order = 0;

	for (size_t i = 0; order == 0 && i < sizeof a->key / sizeof *a->key; i++)
		order = strcmp(a->key[i], b->key[i]);
	return order;
}

static int
by_key_and_line(const void *left, const void *right)
{
	const struct batch *a = left, *b = right;
	int order = compare_batches(a, b);

	return order != 0 ? order : (a->line > b->line) - (a->line < b->line);
}

static struct batch *
gather(const struct shares *shares, const struct orders *orders, size_t *count)
{
	struct batch *batch = mem_alloc((shares->count + orders->count) * sizeof *batch);

	*count = 0;
	for (size_t i = 0; i < shares->count; i++) {
		const struct share *s = &shares->row[i];

		batch[(*count)++] =
		    (struct batch){.key = {s->seller, s->part, s->color, s->condition},
		                   .shared = s->qty,
		                   .share_amount = s->amount,
		                   .line = s->line};
	}
	for (size_t i = 0; i < orders->count; i++) {
		const struct order_line *l = &orders->row[i];

		batch[(*count)++] =
		    (struct batch){.key = {l->seller, l->part, l->color, l->condition},
		                   .bought = l->qty,
		                   .amount = (wide)l->qty * l->price};
	}
	if (*count > 0)
		qsort(batch, *count, sizeof *batch, by_key_and_line);
	return batch;
}

static void
add_batch(struct batch *sum, const struct batch *more)
{
	sum->shared += more->shared;
	sum->bought += more->bought;
	sum->share_amount += more->share_amount;
	sum->amount += more->amount;
	if (sum->line == 0)
		sum->line = more->line;
}

static void
tell_batch(struct faults *faults, const struct batch *batch)
{
	struct arena arena = {0};
	struct text shared = {0}, bought = {0};

	dec_add_text(&shared, batch->share_amount, MICRO_DECIMALS, 0);
	dec_add_text(&bought, batch->amount, MICRO_DECIMALS, 0);
	fault(faults, batch->line,
	      "shares of %s, %s%s%s from seller \"%s\" are %lld pieces for %s, the order lines "
	      "have %lld for %s: every piece is shared out once",
	      text_show(&arena, batch->key[1]), text_show(&arena, batch->key[2]),
	      *batch->key[3] != '\0' ? ", " : "", text_show(&arena, batch->key[3]),
	      text_show(&arena, batch->key[0]), (long long)batch->shared, shared.bytes,
	      (long long)batch->bought, bought.bytes);
	text_free(&shared);
	text_free(&bought);
	arena_free(&arena);
}

void
shares_check(const struct shares *shares, const struct orders *orders)
{
	struct faults faults = {.file = shares->file};
	size_t count;
	struct batch *batch = gather(shares, orders, &count);

	for (size_t at = 0; at < count;) {
		struct batch sum = batch[at++];

		while (at < count && compare_batches(&sum, &batch[at]) == 0)
			add_batch(&sum, &batch[at++]);
		if (sum.shared != sum.bought || sum.share_amount != sum.amount)
			tell_batch(&faults, &sum);
	}
	free(batch);
	faults_end(&faults);
}

/* ---- writing ---- */

void
shares_write(struct sheet *sheet, const struct shares *shares)
{
	sheet_fields(sheet, column_names, SHARE_COLUMNS);
	sheet_end_row(sheet);
	for (size_t i = 0; i < shares->count; i++) {
		const struct share *s = &shares->row[i];
		const char *const texts[] = {s->model, s->group, s->lot,
		                             s->part,  s->color, s->condition};

		sheet_fields(sheet, texts, sizeof texts / sizeof *texts);
		sheet_qty(sheet, s->qty);
		sheet_field(sheet, s->seller);
		sheet_decimal(sheet, s->amount, MICRO_DECIMALS, 0);
		sheet_end_row(sheet);
	}
}

void
shares_free(struct shares *shares)
{
	free(shares->row);
	arena_free(&shares->arena);
	*shares = (struct shares){0};
}
