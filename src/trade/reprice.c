#include "trade/reprice.h"

#include "trade/amounts.h"

#include <stdlib.h>
#include <string.h>

/* What was bought of one old offer, or of offers that lines cannot tell apart. */
struct take {
	const struct order_line *first;
	int64_t pieces;
};

/* A listing that some of it can be taken of. */
struct choice {
	size_t first, count;     /* offers of it: its price breaks, cheapest first */
	int64_t least, most;     /* multiples of step */
	int64_t step, pieces;    /* pieces: taken of it */
	bool own, same_class;    /* of some take */
	const struct offer *now; /* the break that the pieces reach */
};

/* How good a way to take pieces is; of each, in this order, more is better, but for the last two.
 */
struct worth {
	int64_t pieces, own, same_class;
	size_t offers;
	wide goods;
};

/* One part, color and condition of a seller. */
struct kind {
	const struct offers *offers;
	const struct order_line *const *line;
	size_t *at; /* numbers of its lines */
	size_t lines;
	size_t *take_of; /* by line */
	struct take *take;
	size_t takes;
	int64_t wanted;
	struct choice choice[OFFERS_MOST];
	size_t choices;
	int64_t *given; /* by take and choice */
};

/* ---- finding the offers of a kind ---- */

static int
compare_offer(const struct offers *offers, const struct offer *offer, const struct order_line *line)
{
	int order = strcmp(offers->seller[offer->seller], line->seller);

	if (order == 0)
		order = strcmp(offer->part, line->part);
	if (order == 0)
		order = strcmp(offer->color, line->color);
	return order != 0 ? order : strcmp(offer->condition, line->condition);
}

/* The first offer that is not before the line's kind. */
static size_t
first_offer(const struct offers *offers, const struct order_line *line)
{
	size_t low = 0, high = offers->count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (compare_offer(offers, &offers->offer[middle], line) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

/* ---- whose offer it is ---- */

static bool
is_in_currency(const struct offers *offers, const struct offer *offer,
               const struct order_line *line)
{
	return *line->currency == '\0' ||
	       strcmp(line->currency, offers->currency[offer->seller]) == 0;
}

/* Is it the very offer that a take is of? */
static bool
is_own(const struct kind *kind, const struct choice *choice, const struct take *take)
{
	const struct offer *offer = &kind->offers->offer[choice->first];

	if (*take->first->listing != '\0' || *offer->listing != '\0')
		return strcmp(take->first->listing, offer->listing) == 0;
	return offer->price == take->first->price &&
	       strcmp(offer->class, take->first->class) == 0 &&
	       is_in_currency(kind->offers, offer, take->first);
}

static bool
is_same_class(const struct kind *kind, const struct choice *choice, const struct take *take)
{
	return strcmp(kind->offers->offer[choice->first].class, take->first->class) == 0;
}

/* ---- choices ---- */

static bool
same_take(const struct order_line *a, const struct order_line *b)
{
	return a->price == b->price && strcmp(a->class, b->class) == 0 &&
	       strcmp(a->listing, b->listing) == 0 && strcmp(a->currency, b->currency) == 0;
}

static void
find_takes(struct kind *kind)
{
	kind->takes = 0;
	kind->wanted = 0;
	for (size_t i = 0; i < kind->lines; i++) {
		const struct order_line *line = kind->line[kind->at[i]];
		size_t t = 0;

		while (t < kind->takes && !same_take(kind->take[t].first, line))
			t++;
		if (t == kind->takes)
			kind->take[kind->takes++] = (struct take){.first = line};
		kind->take_of[i] = t;
		kind->take[t].pieces += line->qty;
		kind->wanted += line->qty;
	}
}

static int64_t
cheapest_price(const struct kind *kind, const struct choice *choice)
{
	return kind->offers->offer[choice->first].price;
}

/* Own offers first, then those of the class, then by price, else as they stand. */
static bool
comes_before(const struct kind *kind, const struct choice *a, const struct choice *b)
{
	if (a->own != b->own)
		return a->own;
	if (a->same_class != b->same_class)
		return a->same_class;
	return cheapest_price(kind, a) < cheapest_price(kind, b);
}

static void
add_choice(struct kind *kind, const struct choice *choice)
{
	size_t at = kind->choices;

	while (at > 0 && comes_before(kind, choice, &kind->choice[at - 1]))
		at--;
	if (at == OFFERS_MOST)
		return;
	if (kind->choices < OFFERS_MOST)
		kind->choices++;
	memmove(&kind->choice[at + 1], &kind->choice[at],
	        (kind->choices - at - 1) * sizeof *kind->choice);
	kind->choice[at] = *choice;
}

/* The listing of the offers from `first` on, where any of it can be taken. */
static void
consider(struct kind *kind, size_t first, size_t count)
{
	const struct offer *offer = &kind->offers->offer[first];
	struct choice choice = {.first = first, .count = count, .step = offer->step};
	int64_t least = offer->least, most = offer->qty < kind->wanted ? offer->qty : kind->wanted;

	for (size_t i = 1; i < count; i++)
		least = offer[i].least < least ? offer[i].least : least;
	choice.least = (least + choice.step - 1) / choice.step * choice.step;
	choice.most = most / choice.step * choice.step;
	if (choice.most < choice.least || choice.most == 0)
		return;
	for (size_t t = 0; t < kind->takes; t++) {
		choice.own = choice.own || is_own(kind, &choice, &kind->take[t]);
		choice.same_class =
		    choice.same_class || is_same_class(kind, &choice, &kind->take[t]);
	}
	add_choice(kind, &choice);
}

static void
find_choices(struct kind *kind)
{
	const struct offers *offers = kind->offers;
	const struct order_line *line = kind->line[kind->at[0]];
	size_t past;

	kind->choices = 0;
	for (size_t i = first_offer(offers, line);
	     i < offers->count && compare_offer(offers, &offers->offer[i], line) == 0; i = past) {
		/* Price breaks of one listing stand together, cheapest first. */
		for (past = i + 1; past < offers->count && offers->offer[past].listing_number ==
		                                               offers->offer[i].listing_number;
		     past++)
			;
		consider(kind, i, past - i);
	}
}

/* ---- one way ---- */

/* The price of the pieces taken: that of the lines, where the listing is their own and has it
 * still; else the cheapest that they reach. */
static const struct offer *
break_at(const struct kind *kind, const struct choice *choice)
{
	const struct offer *first = &kind->offers->offer[choice->first], *offer;

	for (size_t t = 0; choice->own && t < kind->takes; t++)
		for (size_t i = 0; i < choice->count; i++)
			if (first[i].least <= choice->pieces &&
			    first[i].price == kind->take[t].first->price &&
			    is_own(kind, choice, &kind->take[t]))
				return &first[i];
	for (offer = first; offer->least > choice->pieces; offer++)
		;
	return offer;
}

/* Takes more of a choice, as far as its steps let it. */
static int64_t
take_more(struct choice *choice, int64_t wanted)
{
	int64_t more = choice->most - choice->pieces;

	more = more < wanted ? more : wanted;
	more -= more % choice->step;
	choice->pieces += more;
	return more;
}

/* Takes of the choices of a set their leasts. Returns what is left then, below 0: nothing fits. */
static int64_t
take_leasts(struct kind *kind, unsigned set)
{
	int64_t left = kind->wanted;

	for (size_t i = 0; i < kind->choices; i++) {
		kind->choice[i].pieces = set >> i & 1U ? kind->choice[i].least : 0;
		left -= kind->choice[i].pieces;
	}
	return left;
}

/* Takes for each take of its own offers, their leasts counted. */
static int64_t
take_own(struct kind *kind, unsigned set, int64_t left)
{
	for (size_t t = 0; t < kind->takes; t++) {
		int64_t due = kind->take[t].pieces;

		for (size_t i = 0; i < kind->choices; i++)
			if (set >> i & 1U && is_own(kind, &kind->choice[i], &kind->take[t]))
				due -= kind->choice[i].pieces;
		for (size_t i = 0; i < kind->choices && due > 0; i++) {
			int64_t more = 0;

			if (set >> i & 1U && is_own(kind, &kind->choice[i], &kind->take[t]))
				more = take_more(&kind->choice[i], due < left ? due : left);
			due -= more;
			left -= more;
		}
	}
	return left;
}

/* Takes as much as can be of the choices of a set: of each its least, then own pieces, then more of
 * each in order; or, after their leasts, more of those with the largest steps first. False: their
 * leasts are too much together. */
static bool
fill(struct kind *kind, unsigned set, bool by_step)
{
	int64_t left = take_leasts(kind, set), step = INT64_MAX;

	if (left < 0)
		return false;
	if (!by_step) {
		left = take_own(kind, set, left);
		for (size_t i = 0; i < kind->choices; i++)
			if (set >> i & 1U)
				left -= take_more(&kind->choice[i], left);
		return true;
	}
	while (step > 0) {
		int64_t next = 0;

		for (size_t i = 0; i < kind->choices; i++) {
			struct choice *choice = &kind->choice[i];

			if ((set >> i & 1U) == 0)
				continue;
			if (choice->step < step && choice->step > next)
				next = choice->step;
			if (choice->step == step)
				left -= take_more(choice, left);
		}
		step = next;
	}
	return true;
}

/* Gives the pieces of the choices to takes: to their own, to those of their class, to any. */
static void
give(const struct kind *kind, struct worth *worth)
{
	int64_t left[OFFERS_MOST];

	memset(kind->given, 0, kind->takes * OFFERS_MOST * sizeof *kind->given);
	for (size_t i = 0; i < kind->choices; i++)
		left[i] = kind->choice[i].pieces;
	for (int round = 0; round < 3; round++)
		for (size_t t = 0; t < kind->takes; t++) {
			const struct take *take = &kind->take[t];
			int64_t due = take->pieces;

			for (size_t i = 0; i < kind->choices; i++)
				due -= kind->given[t * OFFERS_MOST + i];
			for (size_t i = 0; i < kind->choices; i++) {
				const struct choice *choice = &kind->choice[i];
				int64_t pieces = left[i] < due ? left[i] : due;

				if ((round == 0 && !is_own(kind, choice, take)) ||
				    (round == 1 && !is_same_class(kind, choice, take)))
					continue;
				kind->given[t * OFFERS_MOST + i] += pieces;
				left[i] -= pieces;
				due -= pieces;
				if (round == 0)
					worth->own += pieces;
				if (is_same_class(kind, choice, take))
					worth->same_class += pieces;
			}
		}
}

static struct worth
worth_of(struct kind *kind)
{
	struct worth worth = {0};

	for (size_t i = 0; i < kind->choices; i++) {
		struct choice *choice = &kind->choice[i];

		if (choice->pieces == 0)
			continue;
		choice->now = break_at(kind, choice);
		worth.pieces += choice->pieces;
		worth.offers++;
		worth.goods += (wide)choice->pieces * choice->now->price;
	}
	give(kind, &worth);
	return worth;
}

static bool
is_better(const struct worth *a, const struct worth *b)
{
	if (a->pieces != b->pieces)
		return a->pieces > b->pieces;
	if (a->own != b->own)
		return a->own > b->own;
	if (a->same_class != b->same_class)
		return a->same_class > b->same_class;
	if (a->offers != b->offers)
		return a->offers < b->offers;
	return a->goods < b->goods;
}

/* Of all ways the best; of equal ones that of the choices that stand first. */
static void
choose(struct kind *kind)
{
	struct worth best = {.pieces = -1}, worth;
	unsigned set = 0, sets = 1U << kind->choices;
	bool by_step = false;

	for (unsigned s = 0; s < sets; s++)
		for (int way = 0; way < 2; way++) {
			if (!fill(kind, s, way == 1))
				break;
			worth = worth_of(kind);
			if (!is_better(&worth, &best))
				continue;
			best = worth;
			set = s;
			by_step = way == 1;
		}
	fill(kind, set, by_step);
	worth_of(kind);
}

/* ---- rows ---- */

/* Pieces that are missing are first those beyond the need; what is left of these stands last. */
static void
set_surplus(struct repricing *out, size_t first, int64_t surplus)
{
	for (size_t i = out->count; i-- > first;) {
		struct repriced *row = &out->row[i];

		row->surplus = surplus < row->pieces ? surplus : row->pieces;
		surplus -= row->surplus;
	}
}

static struct repriced *
new_row(struct repricing *out, const struct order_line *line, size_t number)
{
	MEM_ROOM(out->row, out->count, out->room);
	out->row[out->count] = (struct repriced){.line = line, .number = number};
	return &out->row[out->count++];
}

/* Gives a line of what was given to its take, the first line first. */
static void
add_rows(struct kind *kind, size_t i, struct repricing *out)
{
	const struct order_line *line = kind->line[kind->at[i]];
	int64_t *given = &kind->given[kind->take_of[i] * OFFERS_MOST], due = line->qty;
	size_t first = out->count;

	for (size_t c = 0; c < kind->choices && due > 0; c++) {
		const struct offer *offer = kind->choice[c].now;
		int64_t pieces = given[c] < due ? given[c] : due;
		struct repriced *row;

		if (pieces == 0)
			continue;
		given[c] -= pieces;
		due -= pieces;
		row = new_row(out, line, kind->at[i]);
		row->offer = offer;
		row->qty = row->pieces = pieces;
	}
	if (out->count == first)
		new_row(out, line, kind->at[i]);
	out->row[out->count - 1].qty += due;
	set_surplus(out, first, line->surplus > due ? line->surplus - due : 0);
}

static void
reprice_kind(struct kind *kind, struct repricing *out)
{
	find_takes(kind);
	find_choices(kind);
	choose(kind);
	for (size_t c = 0; c < kind->choices; c++)
		out->taken[kind->offers->offer[kind->choice[c].first].listing_number] +=
		    kind->choice[c].pieces;
	for (size_t i = 0; i < kind->lines; i++)
		add_rows(kind, i, out);
}

static int
compare_kinds(const struct order_line *a, const struct order_line *b)
{
	int order = strcmp(a->seller, b->seller);

	if (order == 0)
		order = strcmp(a->part, b->part);
	if (order == 0)
		order = strcmp(a->color, b->color);
	return order != 0 ? order : strcmp(a->condition, b->condition);
}

static int
by_kind(const void *a, const void *b, void *data)
{
	const struct order_line *const *line = data;
	size_t left = *(const size_t *)a, right = *(const size_t *)b;
	int order = compare_kinds(line[left], line[right]);

	return order != 0 ? order : (left > right) - (left < right);
}

/* Rows of one line stand as the offers do. */
static int
by_line(const void *a, const void *b)
{
	const struct repriced *left = a, *right = b;

	if (left->number != right->number)
		return left->number < right->number ? -1 : 1;
	return (left->offer > right->offer) - (left->offer < right->offer);
}

void
reprice(struct repricing *out, const struct order_line *const *line, size_t count,
        const struct offers *offers)
{
	struct kind kind = {.offers = offers, .line = line};
	size_t *at = mem_alloc((count + 1) * sizeof *at), past;

	*out = (struct repricing){.taken = mem_zero(offers->listings + 1, sizeof *out->taken)};
	kind.take_of = mem_alloc((count + 1) * sizeof *kind.take_of);
	kind.take = mem_zero(count + 1, sizeof *kind.take);
	kind.given = mem_zero((count + 1) * OFFERS_MOST, sizeof *kind.given);
	for (size_t i = 0; i < count; i++)
		at[i] = i;
	if (count > 0)
		qsort_r(at, count, sizeof *at, by_kind, (void *)(uintptr_t)line);
	for (size_t first = 0; first < count; first = past) {
		for (past = first + 1;
		     past < count && compare_kinds(line[at[past]], line[at[first]]) == 0; past++)
			;
		kind.at = at + first;
		kind.lines = past - first;
		reprice_kind(&kind, out);
	}
	if (out->count > 0)
		qsort(out->row, out->count, sizeof *out->row, by_line);
	free(at);
	free(kind.take_of);
	free(kind.take);
	free(kind.given);
}

void
repricing_free(struct repricing *repricing)
{
	free(repricing->row);
	free(repricing->taken);
	*repricing = (struct repricing){0};
}

struct order_line
repriced_as_was(const struct repriced *row)
{
	struct order_line line = *row->line;

	line.qty = row->pieces;
	line.surplus = row->surplus;
	return line;
}

struct order_line
repriced_as_is(const struct repriced *row, const struct offers *offers)
{
	struct order_line line = repriced_as_was(row);

	if (row->offer == NULL)
		return line;
	line.class = row->offer->class;
	line.listing = row->offer->listing;
	line.price = row->offer->price;
	line.currency = offers->currency[row->offer->seller];
	if (row->offer->grams != NOT_GIVEN)
		line.grams = row->offer->grams;
	return line;
}
