#include "trade/deal.h"

#include "base/err.h"
#include "base/fraction.h"
#include "trade/currency.h"
#include "trade/sellers.h"

#include <stdlib.h>
#include <string.h>

static const char *const column_names[DEAL_COLUMNS] = {
    [DEAL_PART] = "part",           [DEAL_COLOR] = "color",       [DEAL_QTY] = "qty",
    [DEAL_SELLER] = "seller",       [DEAL_ROUTE] = "route",       [DEAL_CLASS] = "class",
    [DEAL_CONDITION] = "condition", [DEAL_PRICE] = "price",       [DEAL_LISTING] = "listing",
    [DEAL_GRAMS] = "grams",         [DEAL_CURRENCY] = "currency", [DEAL_AMOUNT] = "amount",
    [DEAL_SURPLUS] = "surplus",     [DEAL_LOT] = "lot",           [DEAL_GROUP] = "group",
    [DEAL_MODEL] = "model",
};

/* ---- columns ---- */

static void
read_header(struct deal *deal, struct table *table, const char *by)
{
	const char **header;

	deal->by = table_need_column(table, by);
	for (size_t i = 0; i < DEAL_COLUMNS; i++)
		deal->at[i] = i <= DEAL_QTY ? table_need_column(table, column_names[i])
		                            : table_column(table, column_names[i]);
	deal->headers = table_columns(table);
	header = arena_alloc(&deal->arena, deal->headers * sizeof *header);
	for (size_t i = 0; i < deal->headers; i++)
		header[i] = arena_copy(&deal->arena, table_header(table)[i],
		                       strlen(table_header(table)[i]));
	deal->header = header;
}

static bool
has(const struct deal *deal, enum deal_column column)
{
	return deal->at[column] != NO_COLUMN;
}

static bool
goes_by(const struct deal *deal, enum deal_column column)
{
	return has(deal, column) && deal->by == deal->at[column];
}

/* Numbers that lines made one have the sum of. */
static bool
is_summed(const struct deal *deal, size_t at)
{
	return at == deal->at[DEAL_QTY] || at == deal->at[DEAL_AMOUNT] ||
	       at == deal->at[DEAL_SURPLUS];
}

/* What a line is bought for, where lines of one offer become one whatever it is. */
static bool
is_purpose(const struct deal *deal, size_t at)
{
	if (!has(deal, DEAL_SELLER) || at == deal->by)
		return false;
	if (at == deal->at[DEAL_LOT])
		return true;
	return (at == deal->at[DEAL_GROUP] || at == deal->at[DEAL_MODEL]) &&
	       !goes_by(deal, DEAL_GROUP) && !goes_by(deal, DEAL_MODEL);
}

/* ---- a line ---- */

static const char *
field_of(const struct deal *deal, const struct deal_line *line, enum deal_column column)
{
	return has(deal, column) ? line->field[deal->at[column]] : "";
}

static bool
texts_fit(struct deal *deal, struct table *table, const struct row *row)
{
	struct faults *faults = table_faults(table);
	const char *seller = row_field(row, deal->at[DEAL_SELLER]);

	if (*row->field[deal->at[DEAL_PART]] == '\0' || *row->field[deal->at[DEAL_COLOR]] == '\0') {
		fault(faults, row->line, "%s is empty: name one",
		      *row->field[deal->at[DEAL_PART]] == '\0' ? "part" : "color");
		return false;
	}
	if (goes_by(deal, DEAL_SELLER) && *seller == '\0') {
		fault(faults, row->line, "seller is empty: an order goes to somebody");
		return false;
	}
	if (strcmp(seller, OWNED_SELLER) != 0 && *seller != '\0' && !seller_name_fits(seller)) {
		fault(faults, row->line, "a seller may not be named \"%s\": rename it", seller);
		return false;
	}
	return !has(deal, DEAL_CURRENCY) || currency_field(table, row, deal->at[DEAL_CURRENCY]);
}

/* The amount that a row gives, against qty x price where it has a price. */
static bool
amount_fits(struct deal *deal, struct table *table, const struct row *row, struct deal_line *line)
{
	int64_t amount;

	if (!amount_micro(table, row, deal->at[DEAL_AMOUNT], NOT_NEGATIVE, NOT_GIVEN, &amount))
		return false;
	line->priced = line->price != NOT_GIVEN || amount != NOT_GIVEN;
	line->amount = line->price != NOT_GIVEN ? (wide)line->qty * line->price
	               : amount != NOT_GIVEN    ? amount
	                                        : 0;
	if (amount != NOT_GIVEN && line->amount != amount) {
		struct text right = {0};

		dec_add_text(&right, line->amount, MICRO_DECIMALS, 0);
		fault(table_faults(table), row->line,
		      "amount \"%s\" is not qty x price: %s, or leave it empty",
		      text_show(table_arena(table), row_field(row, deal->at[DEAL_AMOUNT])),
		      right.bytes);
		text_free(&right);
		return false;
	}
	return true;
}

static bool
numbers_fit(struct deal *deal, struct table *table, const struct row *row, struct deal_line *line)
{
	const size_t *at = deal->at;
	bool fit = amount_qty(table, row, at[DEAL_QTY], AMOUNT_REQUIRED, &line->qty);

	fit &= amount_qty(table, row, at[DEAL_SURPLUS], 0, &line->surplus);
	fit &= amount_micro(table, row, at[DEAL_PRICE], NOT_NEGATIVE, NOT_GIVEN, &line->price);
	fit &= amount_micro(table, row, at[DEAL_GRAMS], NOT_NEGATIVE, NOT_GIVEN, &line->grams);
	return fit && amount_fits(deal, table, row, line);
}

static void
read_line(struct deal *deal, struct table *table, const struct row *row)
{
	struct deal_line line = {.line = row->line};

	if (!texts_fit(deal, table, row) || !numbers_fit(deal, table, row, &line))
		return;
	if (goes_by(deal, DEAL_SELLER) &&
	    strcmp(row->field[deal->at[DEAL_SELLER]], OWNED_SELLER) == 0) {
		deal->left_out += line.qty;
		return;
	}
	if (line.qty == 0)
		return;
	line.field = arena_alloc(&deal->arena, deal->headers * sizeof *line.field);
	for (size_t i = 0; i < deal->headers; i++)
		line.field[i] = *row->field[i] == '\0' ? ""
		                                       : arena_copy(&deal->arena, row->field[i],
		                                                    strlen(row->field[i]));
	MEM_ROOM(deal->line, deal->count, deal->room);
	deal->line[deal->count++] = line;
}

/* ---- order ---- */

static int
compare_numbers(int64_t a, int64_t b)
{
	return (a > b) - (a < b);
}

/* By what a piece costs, where the lines have amounts alone. */
static int
compare_unit_prices(const struct deal_line *a, const struct deal_line *b)
{
	if (a->price != NOT_GIVEN || !a->priced || !b->priced)
		return a->priced - b->priced;
	return fraction_compare((struct fraction){a->amount, a->qty},
	                        (struct fraction){b->amount, b->qty});
}

/* What tells one pile from another, and one offer from another in it. */
static int
compare_offers(const struct deal *deal, const struct deal_line *a, const struct deal_line *b)
{
	static const enum deal_column first[] = {DEAL_ROUTE, DEAL_SELLER, DEAL_CLASS,
	                                         DEAL_PART,  DEAL_COLOR,  DEAL_CONDITION};
	int order = strcmp(a->field[deal->by], b->field[deal->by]);

	for (size_t i = 0; order == 0 && i < sizeof first / sizeof *first; i++)
		order = strcmp(field_of(deal, a, first[i]), field_of(deal, b, first[i]));
	if (order == 0)
		order = compare_numbers(a->price, b->price);
	if (order == 0)
		order = compare_unit_prices(a, b);
	if (order == 0)
		order = compare_numbers(a->grams, b->grams);
	for (size_t i = 0; order == 0 && i < deal->headers; i++)
		if (!is_summed(deal, i) && !is_purpose(deal, i) && i != deal->at[DEAL_PRICE] &&
		    i != deal->at[DEAL_GRAMS])
			order = strcmp(a->field[i], b->field[i]);
	return order;
}

static int
compare_lines(const void *left, const void *right, void *data)
{
	const struct deal_line *a = left, *b = right;
	const struct deal *deal = data;
	int order = compare_offers(deal, a, b);

	for (size_t i = 0; order == 0 && i < deal->headers; i++)
		order = strcmp(a->field[i], b->field[i]);
	return order;
}

/* ---- lines of one offer ---- */

static int
compare_texts(const void *left, const void *right)
{
	return strcmp(*(const char *const *)left, *(const char *const *)right);
}

/* The different fields of several lines, one after another. */
static const char *
join_fields(struct deal *deal, const struct deal_line *line, size_t count, size_t at)
{
	const char **field = mem_alloc(count * sizeof *field), *joined;
	struct text text = {0};

	for (size_t i = 0; i < count; i++)
		field[i] = line[i].field[at];
	qsort(field, count, sizeof *field, compare_texts);
	text_adds(&text, "");
	for (size_t i = 0; i < count; i++) {
		if (*field[i] == '\0' || (i > 0 && strcmp(field[i], field[i - 1]) == 0))
			continue;
		if (text.length > 0)
			text_addc(&text, '|');
		text_adds(&text, field[i]);
	}
	joined = text.length == 0 ? "" : arena_copy(&deal->arena, text.bytes, text.length);
	text_free(&text);
	free(field);
	return joined;
}

/* Makes the first of several lines stand for all. */
static void
join_lines(struct deal *deal, struct table *table, struct deal_line *line, size_t count)
{
	for (size_t i = 0; i < deal->headers; i++)
		if (is_purpose(deal, i))
			line->field[i] = join_fields(deal, line, count, i);
	for (size_t i = 1; i < count; i++) {
		line->qty += line[i].qty;
		line->surplus += line[i].surplus;
		line->amount += line[i].amount;
	}
	if (line->qty > QTY_MOST)
		fault(table_faults(table), line->line,
		      "lines of %s, %s together have %lld pieces: at most %lld are possible",
		      text_show(&deal->arena, line->field[deal->at[DEAL_PART]]),
		      text_show(&deal->arena, line->field[deal->at[DEAL_COLOR]]),
		      (long long)line->qty, (long long)QTY_MOST);
}

static void
join_offers(struct deal *deal, struct table *table)
{
	size_t kept = 0, next;

	if (!has(deal, DEAL_SELLER))
		return;
	for (size_t i = 0; i < deal->count; i = next) {
		for (next = i + 1; next < deal->count; next++)
			if (compare_offers(deal, &deal->line[i], &deal->line[next]) != 0)
				break;
		join_lines(deal, table, &deal->line[i], next - i);
		deal->line[kept++] = deal->line[i];
	}
	deal->count = kept;
}

/* ---- piles ---- */

static void
check_currency(struct deal *deal, struct table *table, const struct deal_pile *pile,
               const struct deal_line *line)
{
	if (goes_by(deal, DEAL_SELLER))
		fault(
		    table_faults(table), line->line,
		    "seller \"%s\" is paid in \"%s\" here and in \"%s\" elsewhere: an order is in "
		    "one currency",
		    text_show(&deal->arena, pile->name), field_of(deal, line, DEAL_CURRENCY),
		    pile->currency);
}

static void
add_to_pile(struct deal *deal, struct table *table, struct deal_pile *pile,
            const struct deal_line *line)
{
	const char *currency = field_of(deal, line, DEAL_CURRENCY);

	if (strcmp(currency, pile->currency) != 0 && !pile->currencies) {
		pile->currencies = true;
		check_currency(deal, table, pile, line);
	}
	pile->count++;
	pile->pieces += line->qty;
	pile->goods += line->amount;
	pile->priced &= line->priced;
}

static int
compare_kinds(const void *left, const void *right, void *data)
{
	static const enum deal_column of[] = {DEAL_PART, DEAL_COLOR, DEAL_CONDITION};
	const struct deal *deal = data;
	int order = 0;

	for (size_t i = 0; order == 0 && i < sizeof of / sizeof *of; i++)
		order = strcmp(field_of(deal, *(struct deal_line *const *)left, of[i]),
		               field_of(deal, *(struct deal_line *const *)right, of[i]));
	return order;
}

static size_t
count_lots(struct deal *deal, const struct deal_pile *pile)
{
	struct deal_line **line = mem_alloc(pile->count * sizeof(struct deal_line *));
	size_t lots = 1;

	for (size_t i = 0; i < pile->count; i++)
		line[i] = &deal->line[pile->first + i];
	qsort_r(line, pile->count, sizeof *line, compare_kinds, deal);
	for (size_t i = 1; i < pile->count; i++)
		lots += compare_kinds(&line[i - 1], &line[i], deal) != 0;
	free(line);
	return lots;
}

static void
make_piles(struct deal *deal, struct table *table)
{
	for (size_t i = 0; i < deal->count; i++) {
		const struct deal_line *line = &deal->line[i];
		const char *name = line->field[deal->by];

		if (deal->piles == 0 || strcmp(deal->pile[deal->piles - 1].name, name) != 0) {
			MEM_ROOM(deal->pile, deal->piles, deal->pile_room);
			deal->pile[deal->piles++] =
			    (struct deal_pile){.name = name,
			                       .first = i,
			                       .priced = true,
			                       .currency = field_of(deal, line, DEAL_CURRENCY)};
		}
		add_to_pile(deal, table, &deal->pile[deal->piles - 1], line);
	}
	for (size_t i = 0; i < deal->piles; i++)
		deal->pile[i].lots = count_lots(deal, &deal->pile[i]);
}

/* ---- the list ---- */

static bool
end(struct table *table)
{
	bool fine = table_faults(table)->count == 0;

	if (!table_faults(table)->silent)
		table_end(table);
	table_close(table);
	return fine;
}

bool
deal_read(struct deal *deal, struct table *table, const char *by)
{
	struct row row;

	deal->file = arena_copy(&deal->arena, table_name(table), strlen(table_name(table)));
	read_header(deal, table, by);
	if (table_faults(table)->count > 0)
		return end(table);
	while (table_next(table, &row))
		read_line(deal, table, &row);
	if (table_faults(table)->count > 0)
		return end(table);
	if (deal->count > 0)
		qsort_r(deal->line, deal->count, sizeof *deal->line, compare_lines, deal);
	join_offers(deal, table);
	make_piles(deal, table);
	return end(table);
}

static void
write_field(struct sheet *sheet, const struct deal *deal, const struct deal_line *line, size_t at)
{
	if (at == deal->at[DEAL_QTY])
		sheet_qty(sheet, line->qty);
	else if (at == deal->at[DEAL_SURPLUS])
		sheet_qty(sheet, line->surplus);
	else if (at == deal->at[DEAL_AMOUNT] && line->priced)
		sheet_decimal(sheet, line->amount, MICRO_DECIMALS, 0);
	else if (at == deal->at[DEAL_PRICE] && line->price != NOT_GIVEN)
		sheet_decimal(sheet, line->price, MICRO_DECIMALS, 0);
	else if (at == deal->at[DEAL_GRAMS] && line->grams != NOT_GIVEN)
		sheet_decimal(sheet, line->grams, MICRO_DECIMALS, 0);
	else
		sheet_field(sheet, line->field[at]);
}

void
deal_write(struct sheet *sheet, const struct deal *deal, const struct deal_pile *pile)
{
	sheet_fields(sheet, deal->header, deal->headers);
	sheet_end_row(sheet);
	for (size_t i = 0; i < pile->count; i++) {
		for (size_t j = 0; j < deal->headers; j++)
			write_field(sheet, deal, &deal->line[pile->first + i], j);
		sheet_end_row(sheet);
	}
}

void
deal_goods(struct sheet *sheet, const struct deal_pile *pile)
{
	if (pile->priced && !pile->currencies)
		sheet_decimal(sheet, pile->goods, MICRO_DECIMALS, 0);
	else
		sheet_field(sheet, "");
}

void
deal_free(struct deal *deal)
{
	free(deal->line);
	free(deal->pile);
	arena_free(&deal->arena);
	*deal = (struct deal){0};
}
