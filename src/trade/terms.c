#include "trade/terms.h"

#include "trade/charges.h"
#include "trade/currency.h"
#include "trade/taxes.h"

#include <stdlib.h>
#include <string.h>

enum { DECIMALS_UNKNOWN = 2 };

/* What terms_compile works with. */
struct job {
	const struct tariff_book *book;
	const char *file; /* of the caller */
	size_t line;
	struct arena *arena;
	struct seller_terms *out;
};

/* A step, with its exact place, before it becomes the least whole basis that reaches it. */
struct placed_step {
	struct fraction place; /* basis units: micro of money or grams, pieces, lots */
	struct charge_step step;
	const struct charge_row *row;
};

/* ---- currencies ---- */

/* The rows that speak for a seller, or NULL. */
static const struct charge_row *
rows_of(const struct tariff_book *book, const char *seller, size_t *count)
{
	const struct seller_row *row = sellers_find(book->sellers, seller);
	const struct charge_row *rows;

	rows = charges_find(book->charges, seller, "", count);
	if (rows == NULL && row != NULL && *row->tariff != '\0')
		rows = charges_find(book->charges, "", row->tariff, count);
	if (rows == NULL)
		rows = charges_find(book->charges, EVERY_SELLER, "", count);
	return rows;
}

void
terms_uses(const struct tariff_book *book, const char *seller, const char *currency,
           struct names *used)
{
	const struct seller_row *row = sellers_find(book->sellers, seller);
	const struct charge_row *rows;
	size_t count;

	if (*currency == '\0' && row != NULL)
		currency = row->currency;
	if (*currency != '\0')
		names_add(used, currency);
	if (book->charges == NULL)
		return;
	rows = rows_of(book, seller, &count);
	for (size_t i = 0; i < count; i++)
		if (*rows[i].currency != '\0')
			names_add(used, rows[i].currency);
}

void
terms_charges(const struct tariff_book *book, const char *seller, bool *speaks)
{
	size_t count = 0;
	const struct charge_row *rows =
	    book->charges != NULL ? rows_of(book, seller, &count) : NULL;

	for (size_t i = 0; i < count; i++)
		speaks[rows[i].name] = true;
}

bool
terms_estimate(const struct tariff_book *book, const char *seller)
{
	size_t count = 0;
	const struct charge_row *rows =
	    book->charges != NULL ? rows_of(book, seller, &count) : NULL;

	for (size_t i = 0; i < count; i++)
		if (rows[i].estimate)
			return true;
	return false;
}

static int
by_text(const void *a, const void *b)
{
	return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static noreturn void
several_in_use(const char *const *used, size_t count)
{
	const char **sorted = mem_alloc(count * sizeof *sorted);
	struct text list = {0};

	memcpy(sorted, used, count * sizeof *sorted);
	qsort(sorted, count, sizeof *sorted, by_text);
	for (size_t i = 0; i < count; i++) {
		if (i > 0)
			text_adds(&list, ", ");
		text_adds(&list, sorted[i]);
	}
	free(sorted);
	die("several currencies are in use (%s): say which is home with --currency", list.bytes);
}

const char *
terms_home(const char *given, const char *const *used, size_t count)
{
	if (given == NULL) {
		if (count > 1)
			several_in_use(used, count);
		return count == 1 ? used[0] : "";
	}
	currency_option("currency", given);
	return given;
}

/* One of `from` in `to`; false where the files give no rate, told against a line. */
static bool
convert(const struct job *job, const char *from, const char *to, enum rate_use use,
        const char *file, size_t line, struct fraction *out)
{
	const char *why;

	if (rates_find(job->book->rates, from, to, use, out, &why, job->arena))
		return true;
	tell_at(file, line, "%s", why);
	return false;
}

/* ---- steps ---- */

static int
by_place(const void *a, const void *b)
{
	const struct placed_step *left = a, *right = b;
	int order = fraction_compare(left->place, right->place);

	return order != 0 ? order : left->row->over - right->row->over;
}

static bool
too_large(const struct job *job, const struct charge_row *row)
{
	tell_at(job->book->charges->file, row->line, "the step is too large for the currency %s",
	        job->out->currency);
	return false;
}

/* value micro x rate, in micro of the other currency. */
static bool
scaled(int64_t value, struct fraction rate, struct fraction *out)
{
	wide top;

	if (!wide_mul(value, rate.top, &top))
		return false;
	*out = fraction_reduced(top, rate.bottom);
	return true;
}

static bool
is_taxed(const struct charge_row *row, const struct seller_row *seller)
{
	if (row->taxed != TAXED_UNSAID)
		return row->taxed == TAXED_YES;
	return seller == NULL || seller->tax_on != TAX_ON_GOODS;
}

static bool
place_step(const struct job *job, const struct charge_row *row, struct placed_step *out)
{
	const bool whole = row->basis == BASIS_PIECES || row->basis == BASIS_LOTS;
	struct fraction rate = {1, 1};
	wide reached;

	if (*row->currency != '\0' && !convert(job, row->currency, job->out->currency, RATE_BARE,
	                                       job->book->charges->file, row->line, &rate))
		return false;
	*out = (struct placed_step){.row = row};
	out->step.refused = row->refused;
	out->step.percent = row->percent;
	out->step.taxed = is_taxed(row, job->out->row);
	out->step.estimate = row->estimate;
	out->step.over = row->over;
	if (!scaled(row->amount, rate, &out->step.amount))
		return too_large(job, row);
	if (whole)
		out->place = fraction_reduced(row->place, MICRO);
	else if (!scaled(row->place, row->basis != BASIS_WEIGHT ? rate : (struct fraction){1, 1},
	                 &out->place))
		return too_large(job, row);
	out->step.place = out->place;
	reached = row->over ? wide_div_floor(out->place.top, out->place.bottom) + 1
	                    : wide_div_ceil(out->place.top, out->place.bottom);
	if (!wide_to_int64(reached, &out->step.reached))
		return too_large(job, row);
	return true;
}

/* Two steps may only turn out to be at one place once their currencies are converted. */
static bool
places_differ(const struct job *job, const struct placed_step *placed, size_t count)
{
	for (size_t i = 1; i < count; i++) {
		const struct charge_row *one = placed[i - 1].row, *other = placed[i].row;
		bool later = one->line > other->line;

		if (by_place(&placed[i - 1], &placed[i]) != 0)
			continue;
		tell_at(job->book->charges->file, later ? one->line : other->line,
		        "charge \"%s\" has a step at this place at line %zu, in another currency: "
		        "keep one",
		        text_show(job->arena, one->charge), later ? other->line : one->line);
		return false;
	}
	return true;
}

/* The charge that these rows are the steps of. */
static bool
build_charge(const struct job *job, const struct charge_row *rows, size_t count, size_t sum,
             struct charge *out)
{
	struct placed_step *placed = mem_alloc(count * sizeof *placed);
	struct charge_step *step = arena_alloc(job->arena, count * sizeof *step);
	bool fit = true;

	for (size_t i = 0; fit && i < count; i++)
		fit = place_step(job, &rows[i], &placed[i]);
	if (fit) {
		qsort(placed, count, sizeof *placed, by_place);
		fit = places_differ(job, placed, count);
	}
	for (size_t i = 0; fit && i < count; i++)
		step[i] = placed[i].step;
	free(placed);
	*out = (struct charge){
	    .name = rows->name, .sum = sum, .basis = rows->basis, .steps = count, .step = step};
	return fit;
}

/* ---- a seller ---- */

size_t
terms_sum(const struct seller_terms *terms, const char *class)
{
	if (*class == '\0')
		return 0;
	for (size_t i = 0; i < terms->terms.classes; i++)
		if (strcmp(terms->class[i], class) == 0)
			return i + 1;
	return SIZE_MAX;
}

static bool
comes_after(const struct charge_row *row, const struct charge_row *other)
{
	return row->afters > 0 && bsearch(&other->charge, row->after, row->afters,
	                                  sizeof *row->after, by_text) != NULL;
}

/* The charges that one comes after, by number; in the arena. */
static size_t *
find_after(struct arena *arena, const struct charge_row *const *first, size_t count, size_t one,
           size_t *found)
{
	size_t *after;

	*found = 0;
	for (size_t k = 0; k < count; k++)
		*found += comes_after(first[one], first[k]);
	after = arena_alloc(arena, *found * sizeof *after);
	*found = 0;
	for (size_t k = 0; k < count; k++)
		if (comes_after(first[one], first[k]))
			after[(*found)++] = k;
	return after;
}

/* The charges in an order in which each stands behind those it comes after, else as they stood,
 * and each told which those are. first: a row of each. There are no circles. */
static struct charge *
order_charges(struct arena *arena, const struct charge *charge,
              const struct charge_row *const *first, size_t count)
{
	struct charge *ordered = arena_alloc(arena, count * sizeof *ordered);
	size_t *place = arena_alloc(arena, count * sizeof *place); /* SIZE_MAX: none yet */
	size_t **after = arena_alloc(arena, count * sizeof *after);
	size_t *afters = arena_alloc(arena, count * sizeof *afters);

	for (size_t i = 0; i < count; i++) {
		place[i] = SIZE_MAX;
		after[i] = find_after(arena, first, count, i, &afters[i]);
	}
	for (size_t placed = 0, i = 0; placed < count; i = (i + 1) % count) {
		bool ready = place[i] == SIZE_MAX;

		for (size_t k = 0; ready && k < afters[i]; k++)
			ready = place[after[i][k]] != SIZE_MAX;
		if (!ready)
			continue;
		for (size_t k = 0; k < afters[i]; k++)
			after[i][k] = place[after[i][k]];
		place[i] = placed;
		ordered[placed] = charge[i];
		ordered[placed].after = after[i];
		ordered[placed++].afters = afters[i];
	}
	/* After nothing that the order has, landed is the value of the goods. */
	for (size_t i = 0; i < count; i++)
		if (ordered[i].basis == BASIS_LANDED && ordered[i].afters == 0)
			ordered[i].basis = BASIS_VALUE;
	return ordered;
}

static bool
build_charges(const struct job *job)
{
	struct terms *terms = &job->out->terms;
	size_t count, past;
	const struct charge_row *rows = rows_of(job->book, job->out->name, &count);
	const struct charge_row **first;
	struct charge *charge;

	if (rows == NULL) {
		tell_at(job->file, job->line,
		        "no charge in %s speaks for seller \"%s\": add its charges, or a row with "
		        "amount 0",
		        job->book->charges->file, text_show(job->arena, job->out->name));
		return false;
	}
	charge = arena_alloc(job->arena, count * sizeof *charge);
	first = arena_alloc(job->arena, count * sizeof *first);
	for (size_t at = 0; at < count; at = past) {
		size_t sum = terms_sum(job->out, rows[at].class);

		for (past = at + 1; past < count && rows[past].name == rows[at].name; past++)
			;
		if (sum == SIZE_MAX)
			continue;
		first[terms->charges] = &rows[at];
		if (!build_charge(job, rows + at, past - at, sum, &charge[terms->charges++]))
			return false;
	}
	terms->charge = order_charges(job->arena, charge, first, terms->charges);
	return true;
}

static bool
find_row(const struct job *job)
{
	if (job->book->sellers == NULL)
		return true;
	job->out->row = sellers_find(job->book->sellers, job->out->name);
	if (job->out->row == NULL)
		tell_at(job->file, job->line,
		        "no row of %s speaks for seller \"%s\": add one, or one for *",
		        job->book->sellers->file, text_show(job->arena, job->out->name));
	return job->out->row != NULL;
}

bool
terms_compile(const struct tariff_book *book, const char *seller, const char *currency,
              const char *const *classes, size_t count, const char *file, size_t line,
              struct arena *arena, struct seller_terms *out)
{
	const struct job job = {
	    .book = book, .file = file, .line = line, .arena = arena, .out = out};
	const char **class = arena_alloc(arena, count * sizeof *class);
	const struct seller_row *row;

	*out = (struct seller_terms){.name = seller, .class = class};
	for (size_t i = 0; i < count; i++)
		class[i] = classes[i];
	out->terms.classes = count;
	if (!find_row(&job))
		return false;
	row = out->row;
	out->currency = *currency != '\0'                       ? currency
	                : row != NULL && *row->currency != '\0' ? row->currency
	                                                        : book->home;
	if (!currency_decimals(out->currency, &out->decimals))
		out->decimals = DECIMALS_UNKNOWN;
	if (!convert(&job, out->currency, book->home, RATE_PAID, file, line, &out->terms.home))
		return false;
	out->terms.minimum = row != NULL ? row->minimum : 0;
	if (row != NULL) {
		out->terms.taxes = row->taxes;
		out->terms.included = row->tax_on == TAX_INCLUDED;
		out->terms.tax = out->terms.included ? 0 : taxes_sum(&row->taxes);
	}
	out->terms.order_cost =
	    row != NULL && row->has_order_cost ? row->order_cost : book->order_cost;
	return book->charges == NULL || build_charges(&job);
}

bool
terms_weighs(const struct seller_terms *terms, const char *class)
{
	size_t sum = terms_sum(terms, class);

	for (size_t i = 0; i < terms->terms.charges; i++) {
		const struct charge *charge = &terms->terms.charge[i];

		if (charge->basis == BASIS_WEIGHT && (charge->sum == 0 || charge->sum == sum))
			return true;
	}
	return false;
}
