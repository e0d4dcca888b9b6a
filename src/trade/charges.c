#include "trade/charges.h"

#include "base/err.h"
#include "trade/amounts.h"
#include "trade/currency.h"

#include <stdlib.h>
#include <string.h>

struct charge_columns {
	size_t seller, tariff, class, charge, basis, from, over, amount, percent, currency, taxed;
	size_t after, estimate;
};

#define NOT_SHIPPED "no"

/* ---- one row ---- */

static bool
read_word(struct table *table, const struct row *row, size_t column, const char *const *words,
          size_t count, size_t empty, const char *expected, size_t *out)
{
	const char *said = row_field(row, column);

	*out = empty;
	if (*said == '\0')
		return true;
	for (*out = 0; *out < count; ++*out)
		if (strcmp(said, words[*out]) == 0)
			return true;
	fault(table_faults(table), row->line, "%s \"%s\" is not known: it is %s",
	      table_header(table)[column], text_show(table_arena(table), said), expected);
	return false;
}

static bool
read_basis(struct table *table, const struct row *row, size_t column, struct charge_row *made)
{
	static const char *const words[] = {[BASIS_VALUE] = "value",
	                                    [BASIS_WEIGHT] = "weight",
	                                    [BASIS_PIECES] = "pieces",
	                                    [BASIS_LOTS] = "lots",
	                                    [BASIS_LANDED] = "landed"};
	size_t found;
	bool fit = read_word(table, row, column, words, sizeof words / sizeof *words, BASIS_VALUE,
	                     "value, weight, pieces, lots or landed", &found);

	if (fit)
		made->basis = (enum basis)found;
	return fit;
}

static bool
read_taxed(struct table *table, const struct row *row, size_t column, struct charge_row *made)
{
	static const char *const words[] = {"", "yes", "no"};
	size_t found;
	bool fit = read_word(table, row, column, words, 3, TAXED_UNSAID, "yes or no", &found);

	if (fit)
		made->taxed = (enum taxed)found;
	return fit;
}

static bool
read_estimate(struct table *table, const struct row *row, size_t column, struct charge_row *made)
{
	static const char *const words[] = {"no", "yes"};
	size_t found;
	bool fit = read_word(table, row, column, words, 2, 0, "yes or no", &found);

	made->estimate = fit && found == 1;
	return fit;
}

static int
by_text(const void *a, const void *b)
{
	return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* The names of "A|B", each once, in byte order; in the arena. */
static const char **
read_names(struct arena *arena, const char *field, size_t *count)
{
	const char **name = arena_alloc(arena, (strlen(field) + 1) * sizeof *name);
	size_t kept = 0;

	*count = 0;
	while (*field != '\0') {
		size_t length = strcspn(field, "|");
		char *one = text_trim(arena_copy(arena, field, length));

		if (*one != '\0')
			name[(*count)++] = one;
		field += length + (field[length] == '|');
	}
	if (*count > 0)
		qsort(name, *count, sizeof *name, by_text);
	for (size_t i = 0; i < *count; i++)
		if (kept == 0 || strcmp(name[kept - 1], name[i]) != 0)
			name[kept++] = name[i];
	*count = kept;
	return name;
}

static bool
read_after(struct charges *charges, struct table *table, const struct row *row, size_t column,
           struct charge_row *made)
{
	const char *field = row_field(row, column);

	if (*field != '\0' && made->basis != BASIS_LANDED) {
		fault(table_faults(table), row->line,
		      "after is for the basis landed: leave it empty, or name that basis");
		return false;
	}
	made->after = read_names(&charges->arena, field, &made->afters);
	if (made->afters <= CHARGES_MOST)
		return true;
	fault(table_faults(table), row->line, "after names %zu charges: %d are the most",
	      made->afters, CHARGES_MOST);
	return false;
}

static bool
names_fit(struct table *table, const struct row *row, const struct charge_columns *columns)
{
	const char *seller = row_field(row, columns->seller);
	const char *tariff = row_field(row, columns->tariff);
	struct faults *faults = table_faults(table);

	if (*seller == '\0' && *tariff == '\0')
		fault(faults, row->line,
		      "seller and tariff are empty: name one, or * as seller for all others");
	else if (*seller != '\0' && *tariff != '\0')
		fault(faults, row->line,
		      "seller and tariff are both given: a charge is of a seller or of a tariff");
	else if (strcmp(seller, EVERY_SELLER) != 0 && !seller_name_fits(seller))
		fault(faults, row->line, "a seller may not be named \"%s\": rename it", seller);
	else if (*row_field(row, columns->charge) == '\0')
		fault(faults, row->line, "charge is empty: name it, shipping for instance");
	else
		return currency_field(table, row, columns->currency);
	return false;
}

static bool
read_place(struct table *table, const struct row *row, const struct charge_columns *columns,
           struct charge_row *made)
{
	bool from = *row_field(row, columns->from) != '\0';

	made->over = *row_field(row, columns->over) != '\0';
	if (from && made->over) {
		fault(table_faults(table), row->line,
		      "from and over are both given: a step starts at one place");
		return false;
	}
	return amount_micro(table, row, made->over ? columns->over : columns->from, NOT_NEGATIVE, 0,
	                    &made->place);
}

static bool
read_amount(struct table *table, const struct row *row, const struct charge_columns *columns,
            struct charge_row *made)
{
	const char *amount = row_field(row, columns->amount);
	const char *percent = row_field(row, columns->percent);

	made->refused = strcmp(amount, NOT_SHIPPED) == 0;
	if (made->refused && *percent != '\0') {
		fault(table_faults(table), row->line,
		      "amount is no, such an order is not shipped: leave percent empty");
		return false;
	}
	if (made->refused)
		return true;
	if (*amount == '\0' && *percent == '\0') {
		fault(table_faults(table), row->line,
		      "amount and percent are empty: write 0 where there is no charge");
		return false;
	}
	return amount_micro(table, row, columns->amount, MAY_BE_NEGATIVE, 0, &made->amount) &&
	       amount_micro(table, row, columns->percent, MAY_BE_NEGATIVE, 0, &made->percent);
}

static const char *
copy(struct charges *charges, const struct row *row, size_t column)
{
	const char *field = row_field(row, column);

	return arena_copy(&charges->arena, field, strlen(field));
}

static void
add_row(struct charges *charges, struct table *table, const struct row *row,
        const struct charge_columns *columns)
{
	struct charge_row made = {.line = row->line};
	bool fit = names_fit(table, row, columns);

	fit &= read_basis(table, row, columns->basis, &made);
	fit &= read_place(table, row, columns, &made);
	fit &= read_amount(table, row, columns, &made);
	fit &= read_taxed(table, row, columns->taxed, &made);
	fit &= read_estimate(table, row, columns->estimate, &made);
	fit = fit && read_after(charges, table, row, columns->after, &made);
	if (!fit)
		return;
	made.seller = copy(charges, row, columns->seller);
	made.tariff = copy(charges, row, columns->tariff);
	made.class = copy(charges, row, columns->class);
	made.charge = copy(charges, row, columns->charge);
	made.currency = copy(charges, row, columns->currency);
	MEM_ROOM(charges->row, charges->count, charges->room);
	charges->row[charges->count++] = made;
}

/* ---- across rows ---- */

static int
by_scope(const void *a, const void *b)
{
	const struct charge_row *left = a, *right = b;
	int order = strcmp(left->seller, right->seller);

	return order != 0 ? order : strcmp(left->tariff, right->tariff);
}

static int
by_name(const void *a, const void *b)
{
	const struct charge_row *left = a, *right = b;
	int order = strcmp(left->class, right->class);

	return order != 0 ? order : strcmp(left->charge, right->charge);
}

static int
by_place(const void *a, const void *b)
{
	const struct charge_row *left = a, *right = b;
	int order = by_scope(a, b);

	if (order == 0)
		order = by_name(a, b);
	if (order == 0)
		order = strcmp(left->currency, right->currency);
	if (order == 0)
		order = (left->place > right->place) - (left->place < right->place);
	if (order == 0)
		order = left->over - right->over;
	return order != 0 ? order : (left->line > right->line) - (left->line < right->line);
}

static bool
same_after(const struct charge_row *a, const struct charge_row *b)
{
	bool same = a->afters == b->afters;

	for (size_t i = 0; same && i < a->afters; i++)
		same = strcmp(a->after[i], b->after[i]) == 0;
	return same;
}

/* A row of a charge beside the charge's first row: all have the same basis, and come after the
 * same. */
static bool
check_same(const struct charge_row *first, const struct charge_row *row, struct table *table)
{
	const struct charge_row *later = first->line < row->line ? row : first;
	size_t earlier = first->line < row->line ? first->line : row->line;

	if (first->basis != row->basis)
		fault(table_faults(table), later->line,
		      "charge \"%s\" has another basis at line %zu: it has one",
		      text_show(table_arena(table), row->charge), earlier);
	else if (!same_after(first, row))
		fault(table_faults(table), later->line,
		      "charge \"%s\" is after other charges at line %zu: it is after the same",
		      text_show(table_arena(table), row->charge), earlier);
	else
		return true;
	return false;
}

/* Are steps of one charge at one place? Of money in several currencies that is not known yet. */
static int
by_step(const void *a, const void *b)
{
	const struct charge_row *left = *(const struct charge_row *const *)a;
	const struct charge_row *right = *(const struct charge_row *const *)b;
	int order = (left->place > right->place) - (left->place < right->place);

	if (order == 0)
		order = left->over - right->over;
	if (order == 0 && basis_is_money(left->basis))
		order = strcmp(left->currency, right->currency);
	return order;
}

static int
by_step_and_line(const void *a, const void *b)
{
	const struct charge_row *left = *(const struct charge_row *const *)a;
	const struct charge_row *right = *(const struct charge_row *const *)b;
	int order = by_step(a, b);

	return order != 0 ? order : (left->line > right->line) - (left->line < right->line);
}

/* No two steps of a charge are at one place. */
static void
check_places(const struct charge_row *row, size_t count, struct table *table)
{
	const struct charge_row **step = mem_alloc(count * sizeof *step);

	for (size_t i = 0; i < count; i++)
		step[i] = &row[i];
	qsort(step, count, sizeof *step, by_step_and_line);
	for (size_t i = 1; i < count; i++)
		if (by_step(&step[i - 1], &step[i]) == 0)
			fault(table_faults(table), step[i]->line,
			      "charge \"%s\" has a step at this place at line %zu: keep one",
			      text_show(table_arena(table), row->charge), step[i - 1]->line);
	free(step);
}

/* Each charge by itself, and how many a seller or tariff has. */
static void
check_charges(const struct charges *charges, struct table *table)
{
	size_t past, of_scope = 0;

	for (size_t at = 0; at < charges->count; at = past) {
		const struct charge_row *first = &charges->row[at];
		bool same = true;

		of_scope = at > 0 && by_scope(first - 1, first) == 0 ? of_scope + 1 : 1;
		if (of_scope == CHARGES_MOST + 1)
			fault(
			    table_faults(table), first->line,
			    "%s \"%s\" has more than %d charges, by class and name: that many are "
			    "the most",
			    *first->seller != '\0' ? "seller" : "tariff",
			    text_show(table_arena(table),
			              *first->seller != '\0' ? first->seller : first->tariff),
			    CHARGES_MOST);
		for (past = at + 1;
		     past < charges->count && by_scope(first, &charges->row[past]) == 0 &&
		     by_name(first, &charges->row[past]) == 0;
		     past++)
			same &= check_same(first, &charges->row[past], table);
		if (same)
			check_places(first, past - at, table);
	}
}

/* ---- what comes after what ---- */

/* The charges of a seller or tariff, CHARGES_MOST at most: those that count together. */
struct scope {
	const struct charge_row *first[CHARGES_MOST]; /* a row of each */
	size_t count;
	unsigned char state[CHARGES_MOST]; /* 0 not looked at, 1 on the way, 2 done */
	struct table *table;
};

static noreturn void
circle(const struct scope *scope, size_t at)
{
	/* The fault stands where the circle was closed; one is enough, no charge can be counted. */
	fault(table_faults(scope->table), scope->first[at]->line,
	      "charge \"%s\" comes after itself, by way of the charges that after names: leave one "
	      "out",
	      text_show(table_arena(scope->table), scope->first[at]->charge));
	table_end(scope->table);
	exit(EXIT_TROUBLE);
}

/* Follows `after` from a charge to all that it names, whatever their class. */
static void
follow(struct scope *scope, size_t at)
{
	const struct charge_row *row = scope->first[at];

	if (scope->state[at] == 2)
		return;
	if (scope->state[at] == 1)
		circle(scope, at);
	scope->state[at] = 1;
	for (size_t i = 0; i < row->afters; i++) {
		bool found = false;

		for (size_t k = 0; k < scope->count; k++)
			if (strcmp(scope->first[k]->charge, row->after[i]) == 0) {
				follow(scope, k);
				found = true;
			}
		if (!found)
			fault(table_faults(scope->table), row->line,
			      "after names \"%s\", and no charge of that name counts with \"%s\"",
			      text_show(table_arena(scope->table), row->after[i]),
			      text_show(table_arena(scope->table), row->charge));
	}
	scope->state[at] = 2;
}

static void
check_after(const struct charges *charges, struct table *table)
{
	struct scope scope = {.table = table};

	for (size_t at = 0; at < charges->count; at++) {
		const struct charge_row *row = &charges->row[at];
		bool begins = at == 0 || by_scope(row - 1, row) != 0;

		if (begins)
			scope.count = 0;
		if (begins || by_name(row - 1, row) != 0) {
			scope.state[scope.count] = 0;
			scope.first[scope.count++] = row;
		}
		if (at + 1 < charges->count && by_scope(row, row + 1) == 0)
			continue;
		for (size_t i = 0; i < scope.count; i++)
			follow(&scope, i);
	}
}

static int
by_name_of_pointer(const void *a, const void *b)
{
	return by_name(*(const struct charge_row *const *)a, *(const struct charge_row *const *)b);
}

/* Numbers the different charges, by class and name in byte order. */
static void
number_names(struct charges *charges)
{
	struct charge_row **row = mem_alloc(charges->count * sizeof *row);

	for (size_t i = 0; i < charges->count; i++)
		row[i] = &charges->row[i];
	if (charges->count > 0)
		qsort(row, charges->count, sizeof *row, by_name_of_pointer);
	charges->first_of = mem_alloc(charges->count * sizeof *charges->first_of);
	for (size_t i = 0; i < charges->count; i++) {
		if (i == 0 || by_name(row[i - 1], row[i]) != 0)
			charges->first_of[charges->names++] = row[i];
		row[i]->name = charges->names - 1;
	}
	free(row);
}

struct charges *
charges_read(struct table *table)
{
	struct charges *charges = mem_zero(1, sizeof *charges);
	struct charge_columns columns = {
	    .seller = table_column(table, "seller"),
	    .tariff = table_column(table, "tariff"),
	    .class = table_column(table, "class"),
	    .charge = table_need_column(table, "charge"),
	    .basis = table_column(table, "basis"),
	    .from = table_column(table, "from"),
	    .over = table_column(table, "over"),
	    .amount = table_column(table, "amount"),
	    .percent = table_column(table, "percent"),
	    .currency = table_column(table, "currency"),
	    .taxed = table_column(table, "taxed"),
	    .after = table_column(table, "after"),
	    .estimate = table_column(table, "estimate"),
	};
	struct row row;

	charges->file = arena_copy(&charges->arena, table_name(table), strlen(table_name(table)));
	if (columns.seller == NO_COLUMN && columns.tariff == NO_COLUMN)
		table_need_column(table, "seller");
	if (columns.amount == NO_COLUMN && columns.percent == NO_COLUMN)
		table_need_column(table, "amount");
	if (table_faults(table)->count > 0)
		table_end(table);
	while (table_next(table, &row))
		add_row(charges, table, &row, &columns);
	if (charges->count > 0)
		qsort(charges->row, charges->count, sizeof *charges->row, by_place);
	check_charges(charges, table);
	table_end(table);
	check_after(charges, table);
	table_end(table);
	number_names(charges);
	table_close(table);
	return charges;
}

void
charges_free(struct charges *charges)
{
	if (charges == NULL)
		return;
	free(charges->row);
	free(charges->first_of);
	arena_free(&charges->arena);
	free(charges);
}

size_t
charges_names(const struct charges *charges)
{
	return charges->names;
}

const char *
charges_name(const struct charges *charges, size_t number)
{
	return charges->first_of[number]->charge;
}

const struct charge_row *
charges_find(const struct charges *charges, const char *seller, const char *tariff, size_t *count)
{
	const struct charge_row key = {.seller = seller, .tariff = tariff};
	const struct charge_row *first, *past, *end;

	*count = 0;
	if (charges->count == 0)
		return NULL;
	end = charges->row + charges->count;
	first = bsearch(&key, charges->row, charges->count, sizeof *charges->row, by_scope);
	if (first == NULL)
		return NULL;
	for (past = first + 1; past < end && by_scope(past, &key) == 0; past++)
		;
	while (first > charges->row && by_scope(first - 1, &key) == 0)
		first--;
	*count = (size_t)(past - first);
	return first;
}
