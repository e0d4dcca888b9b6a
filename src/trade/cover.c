#include "trade/cover.h"

#include "trade/flow.h"

#include <stdlib.h>
#include <string.h>

#define NO_LABEL SIZE_MAX

/* What a lot needs, and what tells which lots come first. */
struct lot {
	size_t number;
	int64_t qty;
	size_t *row; /* its need rows; owned */
	size_t rows, room;
	bool optional, any_color;
	int64_t could; /* pieces of stock that fit one of its rows */
};

/* Stock rows of one part, color and condition, whatever their file and place. */
struct kind {
	size_t first, count; /* in by_kind */
	const struct stock_row *like;
	int64_t *of_file; /* pieces, by file; owned */
};

enum state { OPEN, IN, OUT };

/* Need and stock as numbers. Everything but state is fixed once the model is built. */
struct model {
	struct need *need;
	const struct stock *stock;
	size_t *lot_of; /* by need row; owned */
	struct lot *lot;
	size_t lots;
	size_t *order; /* lots, those that come first first; owned */
	size_t *by_kind;
	struct kind *kind;
	size_t kinds;
	size_t **fits; /* by need row: the kinds that fit it; owned */
	size_t *fit_count;
	struct names label_names;
	size_t *label_of;  /* by need row; NO_LABEL where it has none that is a choice */
	enum state *state; /* by label */
};

/* A cover in numbers: what flows to each row, lot and file. */
struct solution {
	int64_t musts, pieces;
	wide penalty;
	int64_t *of_lot, *of_row, *of_file;
	int64_t *kind_file; /* kinds x files */
	int64_t **row_kind; /* by need row, by place in fits */
};

/* ---- The model ---- */

static int
compare_kind(const struct stock_row *a, const struct stock_row *b)
{
	int order = strcmp(a->part, b->part);

	if (order == 0)
		order = strcmp(a->color, b->color);
	return order ? order : strcmp(a->condition, b->condition);
}

/* Sorted by kind; rows of one kind stay in stock order. */
static int
compare_stock(const void *left, const void *right, void *rows)
{
	const struct stock_row *row = rows;
	size_t a = *(const size_t *)left, b = *(const size_t *)right;
	int order = compare_kind(&row[a], &row[b]);

	return order ? order : (a > b) - (a < b);
}

static void
build_kinds(struct model *model)
{
	const struct stock *stock = model->stock;

	model->by_kind = mem_alloc(stock->count * sizeof *model->by_kind);
	model->kind = mem_alloc(stock->count * sizeof *model->kind);
	for (size_t i = 0; i < stock->count; i++)
		model->by_kind[i] = i;
	if (stock->count > 0)
		qsort_r(model->by_kind, stock->count, sizeof *model->by_kind, compare_stock,
		        stock->row);
	for (size_t i = 0; i < stock->count; i++) {
		const struct stock_row *row = &stock->row[model->by_kind[i]];
		struct kind *kind;

		if (model->kinds == 0 || compare_kind(row, model->kind[model->kinds - 1].like) != 0)
			model->kind[model->kinds++] = (struct kind){
			    .first = i,
			    .like = row,
			    .of_file = mem_zero(stock->files, sizeof(int64_t)),
			};
		kind = &model->kind[model->kinds - 1];
		kind->count++;
		kind->of_file[row->file] += row->qty;
	}
}

/* The first kind of a part, or the number of kinds past those of lesser parts. */
static size_t
first_kind(const struct model *model, const char *part)
{
	size_t low = 0, high = model->kinds;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (strcmp(model->kind[middle].like->part, part) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

static void
find_fits(struct model *model, size_t row)
{
	const struct need_row *need = &model->need->row[row];
	const char *part = need->text[NEED_PART];
	size_t room = 0;

	for (size_t i = first_kind(model, part);
	     i < model->kinds && strcmp(model->kind[i].like->part, part) == 0; i++) {
		const struct stock_row *like = model->kind[i].like;

		if (!need_fits(model->need, need, like->part, like->color, like->condition))
			continue;
		MEM_ROOM(model->fits[row], model->fit_count[row], room);
		model->fits[row][model->fit_count[row]++] = i;
	}
}

static int64_t
kind_pieces(const struct model *model, size_t kind)
{
	int64_t pieces = 0;

	for (size_t i = 0; i < model->stock->files; i++)
		pieces += model->kind[kind].of_file[i];
	return pieces;
}

static void
build_lots(struct model *model)
{
	struct need *need = model->need;

	model->lot_of = need_lot_numbers(need, &model->lots);
	model->lot = mem_zero(model->lots, sizeof *model->lot);
	model->fits = mem_zero(need->count, sizeof *model->fits);
	model->fit_count = mem_zero(need->count, sizeof *model->fit_count);
	for (size_t i = 0; i < need->count; i++) {
		struct lot *lot = &model->lot[model->lot_of[i]];

		MEM_ROOM(lot->row, lot->rows, lot->room);
		lot->row[lot->rows++] = i;
		lot->number = model->lot_of[i];
		lot->qty = need->row[i].qty;
		lot->optional = need->row[i].worth != NOT_GIVEN;
		lot->any_color |= need_color_is_any(&need->row[i]);
		find_fits(model, i);
	}
}

/* How many pieces of stock could fill each lot: of every kind that fits any of its rows. */
static void
count_stock(struct model *model)
{
	size_t *counted_for = mem_zero(model->kinds, sizeof *counted_for); /* lot + 1 */

	for (size_t i = 0; i < model->lots; i++) {
		struct lot *lot = &model->lot[i];

		for (size_t j = 0; j < lot->rows; j++)
			for (size_t k = 0; k < model->fit_count[lot->row[j]]; k++) {
				size_t kind = model->fits[lot->row[j]][k];

				if (counted_for[kind] != i + 1)
					lot->could += kind_pieces(model, kind);
				counted_for[kind] = i + 1;
			}
	}
	free(counted_for);
}

static int
compare_lots(const void *left, const void *right, void *lots)
{
	const struct lot *lot = lots;
	const struct lot *a = &lot[*(const size_t *)left], *b = &lot[*(const size_t *)right];

	if (a->optional != b->optional)
		return a->optional ? 1 : -1;
	if (a->any_color != b->any_color)
		return a->any_color ? 1 : -1;
	if (a->could != b->could)
		return a->could < b->could ? -1 : 1;
	return (a->number > b->number) - (a->number < b->number);
}

static void
order_lots(struct model *model)
{
	model->order = mem_alloc(model->lots * sizeof *model->order);
	for (size_t i = 0; i < model->lots; i++)
		model->order[i] = i;
	if (model->lots > 0)
		qsort_r(model->order, model->lots, sizeof *model->order, compare_lots, model->lot);
}

/* Labels count where they are a choice: a row of theirs has alternatives, or is optional. */
static void
build_labels(struct model *model)
{
	size_t count = model->need->count;
	bool *choice = mem_zero(count, sizeof *choice);

	model->label_of = mem_alloc(count * sizeof *model->label_of);
	for (size_t i = 0; i < count; i++) {
		const char *label = model->need->row[i].text[NEED_TOGETHER];
		const struct lot *lot = &model->lot[model->lot_of[i]];

		model->label_of[i] = NO_LABEL;
		if (*label == '\0' || lot->qty == 0)
			continue;
		model->label_of[i] = names_add(&model->label_names, label);
		choice[model->label_of[i]] |= lot->rows > 1 || lot->optional;
	}
	for (size_t i = 0; i < count; i++)
		if (model->label_of[i] != NO_LABEL && !choice[model->label_of[i]])
			model->label_of[i] = NO_LABEL;
	model->state = mem_zero(model->label_names.count, sizeof *model->state);
	free(choice);
}

static void
free_model(struct model *model)
{
	for (size_t i = 0; i < model->need->count; i++)
		free(model->fits[i]);
	for (size_t i = 0; i < model->kinds; i++)
		free(model->kind[i].of_file);
	for (size_t i = 0; i < model->lots; i++)
		free(model->lot[i].row);
	free(model->fits);
	free(model->fit_count);
	free(model->kind);
	free(model->by_kind);
	free(model->lot);
	free(model->lot_of);
	free(model->order);
	free(model->label_of);
	free(model->state);
	names_free(&model->label_names);
}

/* ---- The flow, for labels in a given state ---- */

/* Numbers of nodes and arcs. */
struct network {
	struct flow *flow;
	size_t *lot_arc, *row_arc, *file_arc;
	size_t *fit_arc;   /* of each row's fits, from fit_first on */
	size_t *fit_first; /* by need row */
	size_t *kind_arc;  /* kinds x files */
};

enum { SOURCE, SINK, FIRST_NODE };

static enum state
state_of(const struct model *model, size_t row)
{
	return model->label_of[row] == NO_LABEL ? OPEN : model->state[model->label_of[row]];
}

static bool
is_forced(const struct model *model, const struct lot *lot)
{
	for (size_t i = 0; i < lot->rows; i++)
		if (state_of(model, lot->row[i]) == IN)
			return true;
	return false;
}

/* May the row be used? Beside a row whose label is in, no other may. */
static bool
is_usable(const struct model *model, size_t row)
{
	enum state state = state_of(model, row);

	return state == IN || (state == OPEN && !is_forced(model, &model->lot[model->lot_of[row]]));
}

/* More than the penalties on any path add up to. */
static wide
tier_cost(const struct model *model)
{
	wide most = 0;

	for (size_t i = 0; i < model->need->count; i++)
		if (model->need->row[i].penalty > most)
			most = model->need->row[i].penalty;
	return 2 * (most + 1) * (wide)(model->need->count + 1);
}

static void
add_lot_arcs(const struct model *model, struct network *net, size_t rows_at)
{
	wide tier = tier_cost(model);

	for (size_t i = 0; i < model->lots; i++) {
		const struct lot *lot = &model->lot[i];

		net->lot_arc[i] = flow_arc(net->flow, SOURCE, FIRST_NODE + i, lot->qty,
		                           is_forced(model, lot) ? 0
		                           : lot->optional       ? 2 * tier
		                                                 : tier);
	}
	for (size_t i = 0; i < model->need->count; i++) {
		const struct lot *lot = &model->lot[model->lot_of[i]];

		net->row_arc[i] =
		    flow_arc(net->flow, FIRST_NODE + lot->number, rows_at + i,
		             is_usable(model, i) ? lot->qty : 0, model->need->row[i].penalty);
	}
}

static void
add_stock_arcs(const struct model *model, struct network *net, size_t rows_at)
{
	size_t kinds_at = rows_at + model->need->count, files_at = kinds_at + model->kinds;
	size_t files = model->stock->files, fit = 0;
	int64_t *of_file = mem_zero(files, sizeof *of_file);

	for (size_t i = 0; i < model->need->count; i++) {
		net->fit_first[i] = fit;
		for (size_t j = 0; j < model->fit_count[i]; j++)
			net->fit_arc[fit++] =
			    flow_arc(net->flow, rows_at + i, kinds_at + model->fits[i][j],
			             model->lot[model->lot_of[i]].qty, 0);
	}
	for (size_t i = 0; i < model->kinds; i++)
		for (size_t j = 0; j < files; j++) {
			of_file[j] += model->kind[i].of_file[j];
			net->kind_arc[i * files + j] = flow_arc(
			    net->flow, kinds_at + i, files_at + j, model->kind[i].of_file[j], 0);
		}
	for (size_t j = 0; j < files; j++)
		net->file_arc[j] = flow_arc(net->flow, files_at + j, SINK, of_file[j], 0);
	free(of_file);
}

static struct network
build_network(const struct model *model)
{
	size_t rows = model->need->count, files = model->stock->files, fits = 0;
	size_t rows_at = FIRST_NODE + model->lots;
	struct network net = {.flow = flow_new(rows_at + rows + model->kinds + files)};

	for (size_t i = 0; i < rows; i++)
		fits += model->fit_count[i];
	net.lot_arc = mem_zero(model->lots, sizeof *net.lot_arc);
	net.row_arc = mem_zero(rows, sizeof *net.row_arc);
	net.file_arc = mem_zero(files, sizeof *net.file_arc);
	net.fit_arc = mem_zero(fits, sizeof *net.fit_arc);
	net.fit_first = mem_zero(rows, sizeof *net.fit_first);
	net.kind_arc = mem_zero(model->kinds * files, sizeof *net.kind_arc);
	add_lot_arcs(model, &net, rows_at);
	add_stock_arcs(model, &net, rows_at);
	return net;
}

static void
free_network(struct network *net)
{
	flow_free(net->flow);
	free(net->lot_arc);
	free(net->row_arc);
	free(net->file_arc);
	free(net->fit_arc);
	free(net->fit_first);
	free(net->kind_arc);
}

/* The order of importance after pieces and penalty. */
static void
settle(const struct model *model, struct network *net)
{
	for (size_t i = 0; i < model->lots; i++)
		flow_prefer(net->flow, net->lot_arc[model->order[i]]);
	for (size_t i = 0; i < model->need->count; i++)
		if (model->lot[model->lot_of[i]].rows > 1)
			flow_prefer(net->flow, net->row_arc[i]);
	for (size_t i = 0; i < model->stock->files; i++)
		flow_prefer(net->flow, net->file_arc[i]);
}

static int64_t *
flows_on(const struct network *net, const size_t *arc, size_t count)
{
	int64_t *of = mem_alloc(count * sizeof *of);

	for (size_t i = 0; i < count; i++)
		of[i] = flow_on(net->flow, arc[i]);
	return of;
}

static struct solution *
read_solution(const struct model *model, const struct network *net)
{
	struct solution *found = mem_zero(1, sizeof *found);
	size_t rows = model->need->count, files = model->stock->files;

	found->of_lot = flows_on(net, net->lot_arc, model->lots);
	found->of_row = flows_on(net, net->row_arc, rows);
	found->of_file = flows_on(net, net->file_arc, files);
	found->kind_file = flows_on(net, net->kind_arc, model->kinds * files);
	found->row_kind = mem_alloc(rows * sizeof(int64_t *));
	for (size_t i = 0; i < rows; i++) {
		found->row_kind[i] =
		    flows_on(net, net->fit_arc + net->fit_first[i], model->fit_count[i]);
		found->penalty += (wide)found->of_row[i] * model->need->row[i].penalty;
	}
	for (size_t i = 0; i < model->lots; i++) {
		found->pieces += found->of_lot[i];
		found->musts += model->lot[i].optional ? 0 : found->of_lot[i];
	}
	return found;
}

static void
free_solution(const struct model *model, struct solution *solution)
{
	if (solution == NULL)
		return;
	for (size_t i = 0; i < model->need->count; i++)
		free(solution->row_kind[i]);
	free(solution->row_kind);
	free(solution->of_lot);
	free(solution->of_row);
	free(solution->of_file);
	free(solution->kind_file);
	free(solution);
}

static struct solution *
solve(const struct model *model)
{
	struct network net = build_network(model);
	struct solution *found;

	flow_solve(net.flow, SOURCE, SINK);
	settle(model, &net);
	found = read_solution(model, &net);
	free_network(&net);
	return found;
}

/* ---- Which labels are in ---- */

/* Is a better than b, in the order of importance? */
static bool
is_better(const struct model *model, const struct solution *a, const struct solution *b)
{
	if (a->musts != b->musts)
		return a->musts > b->musts;
	if (a->pieces != b->pieces)
		return a->pieces > b->pieces;
	if (a->penalty != b->penalty)
		return a->penalty < b->penalty;
	for (size_t i = 0; i < model->lots; i++) {
		size_t lot = model->order[i];

		if (a->of_lot[lot] != b->of_lot[lot])
			return a->of_lot[lot] > b->of_lot[lot];
	}
	for (size_t i = 0; i < model->need->count; i++)
		if (a->of_row[i] != b->of_row[i])
			return a->of_row[i] > b->of_row[i];
	for (size_t i = 0; i < model->stock->files; i++)
		if (a->of_file[i] != b->of_file[i])
			return a->of_file[i] > b->of_file[i];
	return false;
}

/* The label's rows are covered: OUT none of them, IN all in full, OPEN neither. */
static enum state
covered_state(const struct model *model, const struct solution *solution, size_t label)
{
	bool none = true, all = true;

	for (size_t i = 0; i < model->need->count; i++) {
		if (model->label_of[i] != label)
			continue;
		none &= solution->of_row[i] == 0;
		all &= solution->of_row[i] == model->need->row[i].qty;
	}
	return none ? OUT : all ? IN : OPEN;
}

/* The first open label that the solution breaks, NO_LABEL if there is none. *kept is false where
 * one that is to be in is not covered in full. */
static size_t
broken_label(const struct model *model, const struct solution *solution, bool *kept)
{
	size_t broken = NO_LABEL;

	*kept = true;
	for (size_t i = 0; i < model->label_names.count; i++) {
		enum state covered = covered_state(model, solution, i);

		if (model->state[i] == IN && covered != IN)
			*kept = false;
		if (model->state[i] == OPEN && covered == OPEN && broken == NO_LABEL)
			broken = i;
	}
	return broken;
}

/* Branch and bound: what the flow gives without the open labels is at least as good as any
 * cover that keeps them. Returns the better of best and what is found under the present states. */
static struct solution *
search(struct model *model, struct solution *best)
{
	struct solution *found = solve(model);
	bool kept;
	size_t label = broken_label(model, found, &kept);

	if (!kept || (best != NULL && !is_better(model, found, best))) {
		free_solution(model, found);
		return best;
	}
	if (label == NO_LABEL) {
		free_solution(model, best);
		return found;
	}
	free_solution(model, found);
	model->state[label] = OUT;
	best = search(model, best);
	model->state[label] = IN;
	best = search(model, best);
	model->state[label] = OPEN;
	return best;
}

/* ---- From numbers to rows ---- */

/* Which labels can no longer be had in full: a lot of theirs is covered by another row. */
static bool *
labels_ruled_out(const struct model *model, const struct solution *solution)
{
	bool *out = mem_zero(model->label_names.count, sizeof *out);

	for (size_t i = 0; i < model->need->count; i++) {
		size_t label = model->label_of[i];

		if (label != NO_LABEL && solution->of_row[i] == 0 &&
		    solution->of_lot[model->lot_of[i]] > 0)
			out[label] = true;
	}
	return out;
}

/* Rows of such labels leave the list, unless that would leave a must without any row. */
static bool
can_leave(const struct model *model, const bool *out, size_t row)
{
	const struct lot *lot = &model->lot[model->lot_of[row]];

	if (lot->optional)
		return true;
	for (size_t i = 0; i < lot->rows; i++)
		if (model->label_of[lot->row[i]] == NO_LABEL || !out[model->label_of[lot->row[i]]])
			return true;
	return false;
}

static void
rule_out_labels(const struct model *model, const struct solution *solution, struct cover *cover)
{
	bool *out = labels_ruled_out(model, solution);
	size_t count = model->need->count;

	cover->left_out = mem_zero(count, sizeof *cover->left_out);
	cover->ruled_out = mem_zero(model->label_names.count, sizeof *cover->ruled_out);
	for (size_t i = 0; i < count; i++) {
		size_t label = model->label_of[i];
		size_t lot = model->lot_of[i];

		cover->left_out[i] = solution->of_lot[lot] == model->lot[lot].qty ||
		                     (label != NO_LABEL && out[label] && can_leave(model, out, i));
	}
	for (size_t i = 0; i < count; i++) {
		size_t label = model->label_of[i];

		if (label == NO_LABEL || !out[label])
			continue;
		cover->ruled_out[cover->ruled_out_count++] =
		    model->need->row[i].text[NEED_TOGETHER];
		out[label] = false;
	}
	free(out);
}

static void
take(struct cover *cover, size_t need_row, size_t stock_row, int64_t qty)
{
	MEM_ROOM(cover->take, cover->count, cover->room);
	cover->take[cover->count++] = (struct cover_take){need_row, stock_row, qty};
}

/* Shares the stock rows of each kind out to the need rows, both in their order. */
static void
share_out(const struct model *model, const struct solution *solution, struct cover *cover)
{
	size_t files = model->stock->files;
	size_t *next = mem_zero(model->kinds, sizeof *next);
	int64_t *used = mem_zero(model->stock->count, sizeof *used);
	int64_t *quota = mem_alloc(model->kinds * files * sizeof *quota);

	memcpy(quota, solution->kind_file, model->kinds * files * sizeof *quota);
	for (size_t i = 0; i < model->need->count; i++)
		for (size_t j = 0; j < model->fit_count[i]; j++) {
			size_t number = model->fits[i][j];
			const struct kind *kind = &model->kind[number];
			int64_t want = solution->row_kind[i][j];

			while (want > 0) {
				size_t at = model->by_kind[kind->first + next[number]];
				const struct stock_row *row = &model->stock->row[at];
				int64_t *most = &quota[number * files + row->file];
				int64_t qty = row->qty - used[at];

				qty = qty < *most ? qty : *most;
				qty = qty < want ? qty : want;
				if (qty == 0) {
					next[number]++;
					continue;
				}
				take(cover, i, at, qty);
				used[at] += qty;
				*most -= qty;
				want -= qty;
			}
		}
	free(quota);
	free(used);
	free(next);
}

static int
compare_takes(const void *left, const void *right)
{
	const struct cover_take *a = left, *b = right;

	if (a->need_row != b->need_row)
		return a->need_row < b->need_row ? -1 : 1;
	return (a->stock_row > b->stock_row) - (a->stock_row < b->stock_row);
}

struct cover *
cover_find(struct need *need, const struct stock *stock)
{
	struct model model = {.need = need, .stock = stock};
	struct cover *cover = mem_zero(1, sizeof *cover);
	struct solution *best;

	build_kinds(&model);
	build_lots(&model);
	count_stock(&model);
	order_lots(&model);
	build_labels(&model);
	best = search(&model, NULL);
	rule_out_labels(&model, best, cover);
	share_out(&model, best, cover);
	if (cover->count > 0)
		qsort(cover->take, cover->count, sizeof *cover->take, compare_takes);
	cover->pieces = best->pieces;
	for (size_t i = 0; i < model.lots; i++)
		cover->lots += best->of_lot[i] > 0;
	free_solution(&model, best);
	free_model(&model);
	return cover;
}

void
cover_free(struct cover *cover)
{
	free(cover->take);
	free(cover->ruled_out);
	free(cover->left_out);
	free(cover);
}

void
cover_apply(const struct cover *cover, struct need *need, struct stock *stock)
{
	size_t lots, kept = 0;
	size_t *lot_of = need_lot_numbers(need, &lots);
	int64_t *covered = mem_zero(lots, sizeof *covered);

	for (size_t i = 0; i < cover->count; i++) {
		covered[lot_of[cover->take[i].need_row]] += cover->take[i].qty;
		stock->row[cover->take[i].stock_row].qty -= cover->take[i].qty;
	}
	for (size_t i = 0; i < need->count; i++) {
		need->row[i].qty -= covered[lot_of[i]];
		if (!cover->left_out[i])
			need->row[kept++] = need->row[i];
	}
	need->count = kept;
	free(covered);
	free(lot_of);
}
