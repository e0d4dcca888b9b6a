#include "trade/totals.h"

#include "trade/currency.h"
#include "trade/need.h"
#include "trade/taxes.h"

#include <stdlib.h>
#include <string.h>

enum { DECIMALS_UNKNOWN = 2 };

/* What totals_make works with. */
struct maker {
	const struct totals_input *input;
	struct totals *totals;
	struct tariff_book book;
	struct faults faults;           /* of the order lines */
	const struct order_line **line; /* those that are bought, by seller and kind; owned */
	size_t lines;
	size_t *column_of; /* by number of class and charge: which charge name it is; owned */
	struct arena work; /* terms and sums */
};

/* The lines of one seller, and what they have in common. */
struct purchase {
	const struct order_line *const *line;
	size_t lines;
	const char *seller, *route, *currency;
	const struct order_line *first; /* in the file */
	struct names classes;
};

static noreturn void
too_large(const char *what)
{
	die("%s: the figures are too large to count exactly", what);
}

static void
add_to(wide *sum, wide value)
{
	if (!wide_add(*sum, value, sum))
		too_large(TOTAL_SELLER);
}

/* ---- lines ---- */

static int
compare_kinds(const struct order_line *a, const struct order_line *b)
{
	int order = strcmp(a->part, b->part);

	if (order == 0)
		order = strcmp(a->color, b->color);
	return order != 0 ? order : strcmp(a->condition, b->condition);
}

static int
by_seller_and_kind(const void *a, const void *b)
{
	const struct order_line *left = *(const struct order_line *const *)a;
	const struct order_line *right = *(const struct order_line *const *)b;
	int order = strcmp(left->seller, right->seller);

	if (order == 0)
		order = compare_kinds(left, right);
	return order != 0 ? order : (left->line > right->line) - (left->line < right->line);
}

static void
gather_lines(struct maker *maker)
{
	const struct orders *orders = maker->input->orders;

	maker->line = mem_alloc(orders->count * sizeof *maker->line);
	for (size_t i = 0; i < orders->count; i++) {
		const struct order_line *line = &orders->row[i];

		if (order_line_is_owned(line))
			maker->totals->owned += line->qty;
		else if (line->qty > 0)
			maker->line[maker->lines++] = line;
	}
	if (maker->lines > 0)
		qsort(maker->line, maker->lines, sizeof *maker->line, by_seller_and_kind);
}

/* ---- currencies ---- */

/* The currency that an order line or an extra is in, once home is known. */
static const char *
currency_of(const char *said, const struct seller_row *row, const char *home)
{
	if (*said != '\0')
		return said;
	return row != NULL && *row->currency != '\0' ? row->currency : home;
}

static void
find_home(struct maker *maker)
{
	const struct extras *extras = maker->input->extras;
	struct totals *totals = maker->totals;
	struct names used = {0};
	const char *home;

	for (size_t i = 0; i < maker->lines; i++) {
		const struct order_line *line = maker->line[i];
		const struct order_line *before = i > 0 ? maker->line[i - 1] : NULL;

		if (before == NULL || strcmp(before->seller, line->seller) != 0 ||
		    strcmp(before->currency, line->currency) != 0)
			terms_uses(&maker->book, line->seller, line->currency, &used);
	}
	for (size_t i = 0; extras != NULL && i < extras->count; i++)
		if (*extras->row[i].currency != '\0')
			names_add(&used, extras->row[i].currency);
	home = terms_home(maker->input->currency, (const char *const *)used.name, used.count);
	totals->home = arena_copy(&totals->arena, home, strlen(home));
	if (!currency_decimals(home, &totals->home_decimals))
		totals->home_decimals = DECIMALS_UNKNOWN;
	if (maker->input->exact)
		totals->home_decimals = NANO_DECIMALS;
	maker->book.home = totals->home;
	names_free(&used);
}

/* ---- charge names ---- */

static int
by_text(const void *a, const void *b)
{
	return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* By number of class and charge: does it speak for a seller with an order? Owned by the caller. */
static bool *
charges_that_speak(struct maker *maker, size_t count)
{
	bool *speaks = mem_zero(count, sizeof *speaks);

	for (size_t i = 0; i < maker->lines; i++) {
		const char *seller = maker->line[i]->seller;

		if (i > 0 && strcmp(seller, maker->line[i - 1]->seller) == 0)
			continue;
		terms_charges(&maker->book, seller, speaks);
		maker->totals->estimates |= terms_estimate(&maker->book, seller);
	}
	return speaks;
}

/* One column a name: a charge of several classes has one. */
static void
name_charges(struct maker *maker)
{
	const struct charges *charges = maker->input->charges;
	struct totals *totals = maker->totals;
	size_t count = charges != NULL ? charges_names(charges) : 0, kept = 0;
	bool *speaks = charges_that_speak(maker, count);

	totals->charge = mem_alloc(count * sizeof *totals->charge);
	maker->column_of = mem_alloc(count * sizeof *maker->column_of);
	for (size_t i = 0; i < count; i++)
		if (speaks[i])
			totals->charge[totals->charges++] = charges_name(charges, i);
	if (totals->charges > 0)
		qsort(totals->charge, totals->charges, sizeof *totals->charge, by_text);
	for (size_t i = 0; i < totals->charges; i++)
		if (kept == 0 || strcmp(totals->charge[kept - 1], totals->charge[i]) != 0)
			totals->charge[kept++] = totals->charge[i];
	totals->charges = kept;
	for (size_t i = 0; i < count; i++) {
		const char *name = charges_name(charges, i), **found = NULL;

		if (speaks[i])
			found = bsearch(&name, totals->charge, kept, sizeof name, by_text);
		maker->column_of[i] = found != NULL ? (size_t)(found - totals->charge) : SIZE_MAX;
	}
	free(speaks);
}

/* ---- taxes ---- */

static void
note_taxes(struct totals *totals, const struct taxes *taxes, size_t *room)
{
	totals->several_taxes |= taxes->count > 1;
	for (size_t i = 0; i < taxes->count; i++) {
		MEM_ROOM(totals->rate, totals->rates, *room);
		totals->rate[totals->rates++] = taxes->percent[i];
	}
}

static int
by_percent(const void *a, const void *b)
{
	const int64_t *left = a, *right = b;

	return (*left > *right) - (*left < *right);
}

/* The different taxes of the sellers with an order and of the extras. */
static void
name_taxes(struct maker *maker)
{
	const struct extras *extras = maker->input->extras;
	struct totals *totals = maker->totals;
	size_t room = 0, kept = 0;

	for (size_t i = 0; i < maker->lines; i++) {
		const char *seller = maker->line[i]->seller;
		const struct seller_row *row = sellers_find(maker->book.sellers, seller);

		if (row != NULL && (i == 0 || strcmp(seller, maker->line[i - 1]->seller) != 0))
			note_taxes(totals, &row->taxes, &room);
	}
	for (size_t i = 0; extras != NULL && i < extras->count; i++)
		note_taxes(totals, &extras->row[i].taxes, &room);
	if (totals->rates > 0)
		qsort(totals->rate, totals->rates, sizeof *totals->rate, by_percent);
	for (size_t i = 0; i < totals->rates; i++)
		if (kept == 0 || totals->rate[kept - 1] != totals->rate[i])
			totals->rate[kept++] = totals->rate[i];
	totals->rates = kept;
}

static wide *
zeros(struct arena *arena, size_t count)
{
	wide *made = arena_alloc(arena, count * sizeof *made);

	for (size_t i = 0; i < count; i++)
		made[i] = 0;
	return made;
}

static void
spread_taxes(const struct totals *totals, const struct taxes *taxes, const struct landed *landed,
             struct total_row *row)
{
	for (size_t i = 0; i < taxes->count; i++) {
		const int64_t *found = bsearch(&taxes->percent[i], totals->rate, totals->rates,
		                               sizeof *totals->rate, by_percent);

		add_to(&row->tax_of[found - totals->rate], landed->tax_of[i]);
	}
}

/* ---- an order ---- */

/* What the lines of a seller have in common: route, currency, classes; false, told, where they
 * do not. */
static bool
read_purchase(struct maker *maker, struct purchase *purchase)
{
	const char *seller = purchase->line[0]->seller;
	const struct seller_row *row = sellers_find(maker->book.sellers, seller);
	bool fit = true;

	purchase->seller = seller;
	purchase->first = purchase->line[0];
	for (size_t i = 0; i < purchase->lines; i++) {
		const struct order_line *line = purchase->line[i];
		const char *route = *line->route != '\0' || row == NULL ? line->route : row->route;
		const char *currency = currency_of(line->currency, row, maker->book.home);

		if (i == 0) {
			purchase->route = route;
			purchase->currency = currency;
		} else if (strcmp(route, purchase->route) != 0) {
			fault(&maker->faults, line->line,
			      "seller \"%s\" has route \"%s\" here and \"%s\" at line %zu: it has "
			      "one",
			      text_show(&maker->work, seller), text_show(&maker->work, route),
			      text_show(&maker->work, purchase->route), purchase->line[0]->line);
			fit = false;
		} else if (strcmp(currency, purchase->currency) != 0) {
			fault(&maker->faults, line->line,
			      "seller \"%s\" has currency %s here and %s at line %zu: it has one",
			      text_show(&maker->work, seller), currency, purchase->currency,
			      purchase->line[0]->line);
			fit = false;
		}
		if (line->line < purchase->first->line)
			purchase->first = line;
		if (*line->class != '\0')
			names_add(&purchase->classes, line->class);
	}
	return fit;
}

/* Grams of a piece where a charge weighs the line, 0 where none does; -1, told: not known. */
static int64_t
grams_of(struct maker *maker, const struct order_line *line, const struct seller_terms *terms)
{
	int64_t grams = line->grams;

	if (!terms_weighs(terms, line->class))
		return 0;
	if (grams == NOT_GIVEN && maker->input->weights != NULL)
		grams = weights_find(maker->input->weights, line->part);
	if (grams == NOT_GIVEN)
		fault(
		    &maker->faults, line->line,
		    "a charge of seller \"%s\" goes by weight, and part \"%s\" has no grams: give "
		    "them here or in --weights",
		    text_show(&maker->work, line->seller), text_show(&maker->work, line->part));
	return grams;
}

/* The sums of an order, all lines first, then by class; false, told, where grams miss. The lines
 * of one kind stand together, so a lot is new where the line before it in a sum is another. */
static bool
sum_lines(struct maker *maker, const struct purchase *purchase, const struct seller_terms *terms,
          struct order_sum *sum)
{
	const struct order_line **last = mem_zero(purchase->classes.count + 1, sizeof *last);
	bool fit = true;

	for (size_t i = 0; i < purchase->lines; i++) {
		const struct order_line *line = purchase->line[i];
		size_t own = names_find(&purchase->classes, line->class);
		int64_t grams = grams_of(maker, line, terms);

		if (grams < 0) {
			fit = false;
			continue;
		}
		for (size_t s = 0;; s = own + 1) {
			bool new_kind = last[s] == NULL || compare_kinds(last[s], line) != 0;

			if (!order_line_add_to(&sum[s], line, grams, new_kind))
				too_large(text_show(&maker->work, purchase->seller));
			last[s] = line;
			if (s > 0 || own == SIZE_MAX)
				break;
		}
	}
	free(last);
	return fit;
}

static const int64_t *
line_values(struct maker *maker, const struct purchase *purchase)
{
	int64_t *value;

	if (!maker->input->tax_by_line && !maker->input->goods_by_line)
		return NULL;
	value = arena_alloc(&maker->work, purchase->lines * sizeof *value);
	for (size_t i = 0; i < purchase->lines; i++)
		value[i] = purchase->line[i]->qty * purchase->line[i]->price;
	return value;
}

/* The row of an order whose sums are known: what it costs, here and at home. */
static void
cost_row(struct maker *maker, const struct terms *terms, const struct order *order,
         struct total_row *row)
{
	const struct totals *totals = maker->totals;
	const struct scales scales = {row->decimals, totals->home_decimals};
	wide *each = arena_alloc(&maker->work, terms->charges * sizeof *each);
	struct landed landed;

	row->each = zeros(&maker->totals->arena, totals->charges);
	row->tax_of = zeros(&maker->totals->arena, totals->rates);
	if (!landed_cost(terms, order, scales, &landed, each) ||
	    !landed_convert(landed.goods, scales.order, &terms->home, scales.home,
	                    &row->home_goods) ||
	    !landed_convert(landed.charges, scales.order, &terms->home, scales.home,
	                    &row->home_charges) ||
	    !landed_convert(landed.tax, scales.order, &terms->home, scales.home, &row->home_tax) ||
	    !landed_convert(landed.estimated, scales.order, &terms->home, scales.home,
	                    &row->home_estimated))
		too_large(text_show(&maker->work, row->seller));
	for (size_t i = 0; i < terms->charges; i++)
		add_to(&row->each[maker->column_of[terms->charge[i].name]], each[i]);
	spread_taxes(totals, &terms->taxes, &landed, row);
	row->goods = landed.goods;
	row->charges = landed.charges;
	row->tax = landed.tax;
	row->total = landed.total;
	row->home = landed.home;
	row->rounding = row->home - row->home_goods - row->home_charges - row->home_tax;
	row->below_minimum = landed.below_minimum;
	row->refused = landed.refused;
}

static void
make_order(struct maker *maker, const struct purchase *purchase)
{
	const char *const *classes = (const char *const *)purchase->classes.name;
	size_t sums = purchase->classes.count + 1;
	struct order_sum *sum = arena_alloc(&maker->work, sums * sizeof *sum);
	struct order order = {.sum = sum,
	                      .lines = purchase->lines,
	                      .goods_by_line = maker->input->goods_by_line,
	                      .tax_by_line = maker->input->tax_by_line,
	                      .rounding = maker->input->rounding};
	struct total_row *row = &maker->totals->row[maker->totals->count];
	struct seller_terms terms;

	memset(sum, 0, sums * sizeof *sum);
	if (!terms_compile(&maker->book, purchase->seller, purchase->currency, classes,
	                   purchase->classes.count, maker->input->orders->file,
	                   purchase->first->line, &maker->work, &terms)) {
		maker->faults.count++;
		return;
	}
	if (!sum_lines(maker, purchase, &terms, sum))
		return;
	order.line = line_values(maker, purchase);
	*row = (struct total_row){
	    .seller = purchase->seller,
	    .route = purchase->route,
	    .currency = terms.currency,
	    .decimals = maker->input->exact ? NANO_DECIMALS : terms.decimals,
	    .lots = sum->basis[BASIS_LOTS],
	    .pieces = sum->basis[BASIS_PIECES],
	    .value = sum->basis[BASIS_VALUE],
	    .terms = terms.row,
	    .line = purchase->first->line,
	};
	cost_row(maker, &terms.terms, &order, row);
	maker->totals->count++;
}

static int
by_route_and_seller(const void *a, const void *b)
{
	const struct total_row *left = a, *right = b;
	int order = strcmp(left->route, right->route);

	return order != 0 ? order : strcmp(left->seller, right->seller);
}

static void
make_orders(struct maker *maker)
{
	struct totals *totals = maker->totals;
	size_t past;

	for (size_t at = 0; at < maker->lines && maker->faults.count < FAULTS_TOLD; at = past) {
		const char *seller = maker->line[at]->seller;
		struct purchase purchase = {.line = maker->line + at};

		for (past = at;
		     past < maker->lines && strcmp(maker->line[past]->seller, seller) == 0; past++)
			;
		purchase.lines = past - at;
		if (read_purchase(maker, &purchase))
			make_order(maker, &purchase);
		names_free(&purchase.classes);
	}
	faults_end(&maker->faults);
	totals->orders = totals->count;
	if (totals->count > 0)
		qsort(totals->row, totals->count, sizeof *totals->row, by_route_and_seller);
}

/* ---- extras, and the sum ---- */

/* An extra costs as an order of one line and no charges would: its amount, and the tax on it. */
static void
make_extra(struct maker *maker, const struct extra *extra, struct faults *faults)
{
	struct total_row *row = &maker->totals->row[maker->totals->count++];
	const struct order_sum sum = {{[BASIS_VALUE] = extra->amount, [BASIS_PIECES] = 1}};
	struct terms terms = {.taxes = extra->taxes};
	const char *why;

	*row = (struct total_row){.seller = extra->item, .route = OTHER_ROUTE, .line = extra->line};
	row->currency = currency_of(extra->currency, NULL, maker->book.home);
	if (!currency_decimals(row->currency, &row->decimals))
		row->decimals = DECIMALS_UNKNOWN;
	if (!rates_find(maker->book.rates, row->currency, maker->book.home, RATE_PAID, &terms.home,
	                &why, &maker->work)) {
		fault(faults, extra->line, "%s", why);
		return;
	}
	cost_row(maker, &terms, &(struct order){.sum = &sum, .rounding = maker->input->rounding},
	         row);
	row->below_minimum = false;
}

static void
make_extras(struct maker *maker)
{
	const struct extras *extras = maker->input->extras;
	struct faults faults = {0};

	if (extras == NULL)
		return;
	faults.file = extras->file;
	for (size_t i = 0; i < extras->count; i++)
		make_extra(maker, &extras->row[i], &faults);
	faults_end(&faults);
}

static void
add_row(struct totals *totals, const struct total_row *row)
{
	struct total_row *sum = &totals->sum;

	sum->lots += row->lots;
	sum->pieces += row->pieces;
	add_to(&sum->home_goods, row->home_goods);
	add_to(&sum->home_charges, row->home_charges);
	add_to(&sum->home_tax, row->home_tax);
	add_to(&sum->rounding, row->rounding);
	add_to(&sum->home, row->home);
	add_to(&sum->home_estimated, row->home_estimated);
	if (totals->mixed)
		return;
	add_to(&sum->goods, row->goods);
	add_to(&sum->charges, row->charges);
	add_to(&sum->tax, row->tax);
	add_to(&sum->total, row->total);
	for (size_t i = 0; i < totals->charges; i++)
		add_to(&sum->each[i], row->each[i]);
	for (size_t i = 0; i < totals->rates; i++)
		add_to(&sum->tax_of[i], row->tax_of[i]);
}

/* The home total in multiples of the cash unit. */
static void
round_to_cash(struct totals *totals, int64_t cash)
{
	wide unit = cash, minor, paid;

	if (cash == 0)
		return;
	minor = wide_power10(MICRO_DECIMALS - totals->home_decimals);
	if (unit % minor != 0) {
		struct text said = {0};

		dec_add_text(&said, cash, MICRO_DECIMALS, 0);
		die("--cash %s is no multiple of the smallest amount of %s, which has %u decimals",
		    said.bytes, *totals->home != '\0' ? totals->home : "the home currency",
		    totals->home_decimals);
	}
	unit /= minor;
	if (!wide_mul(wide_div_round(totals->sum.home, unit, ROUND_HALF_AWAY), unit, &paid))
		too_large(TOTAL_SELLER);
	totals->sum.rounding += paid - totals->sum.home;
	totals->sum.home = paid;
}

static void
make_sum(struct totals *totals)
{
	struct total_row *sum = &totals->sum;

	*sum = (struct total_row){.seller = TOTAL_SELLER, .route = ""};
	sum->currency = totals->count > 0 ? totals->row[0].currency : totals->home;
	sum->decimals = totals->count > 0 ? totals->row[0].decimals : totals->home_decimals;
	sum->each = zeros(&totals->arena, totals->charges);
	sum->tax_of = zeros(&totals->arena, totals->rates);
	for (size_t i = 1; i < totals->count; i++)
		totals->mixed |= strcmp(totals->row[i].currency, sum->currency) != 0;
	for (size_t i = 0; i < totals->count; i++)
		add_row(totals, &totals->row[i]);
}

void
totals_make(struct totals *totals, const struct totals_input *input)
{
	struct maker maker = {
	    .input = input,
	    .totals = totals,
	    .book = {.sellers = input->sellers, .charges = input->charges, .rates = input->rates},
	    .faults = {.file = input->orders->file},
	};
	size_t extras = input->extras != NULL ? input->extras->count : 0;

	gather_lines(&maker);
	find_home(&maker);
	name_charges(&maker);
	name_taxes(&maker);
	totals->row = mem_alloc((maker.lines + extras) * sizeof *totals->row);
	make_orders(&maker);
	make_extras(&maker);
	make_sum(totals);
	round_to_cash(totals, input->cash);
	free(maker.line);
	free(maker.column_of);
	arena_free(&maker.work);
}

/* ---- what is told ---- */

static void
tell_below_minimum(const char *file, const struct total_row *row)
{
	struct text minimum = {0}, goods = {0};
	struct arena arena = {0};

	dec_add_text(&minimum, row->terms->minimum, MICRO_DECIMALS, row->decimals);
	dec_add_text(&goods, row->value, MICRO_DECIMALS, row->decimals);
	tell_at(file, row->line,
	        "the order of seller \"%s\" is below its minimum: goods are %s%s%s, and %s is the "
	        "least",
	        text_show(&arena, row->seller), goods.bytes, *row->currency != '\0' ? " " : "",
	        row->currency, minimum.bytes);
	text_free(&minimum);
	text_free(&goods);
	arena_free(&arena);
}

bool
totals_tell_unplaced(const struct totals *totals, const char *file)
{
	bool any = false;

	for (size_t i = 0; i < totals->orders; i++) {
		const struct total_row *row = &totals->row[i];
		struct arena arena = {0};

		if (row->below_minimum)
			tell_below_minimum(file, row);
		if (row->refused)
			tell_at(file, row->line,
			        "the order of seller \"%s\" is not shipped, a charge says so: that "
			        "charge is left out of its total",
			        text_show(&arena, row->seller));
		any = any || row->below_minimum || row->refused;
		arena_free(&arena);
	}
	return any;
}

void
totals_free(struct totals *totals)
{
	free(totals->row);
	free(totals->charge);
	free(totals->rate);
	arena_free(&totals->arena);
	*totals = (struct totals){0};
}
