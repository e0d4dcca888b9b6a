#include "purchase/subsets.h"

#include "base/err.h"
#include "base/interrupt.h"
#include "base/workers.h"
#include "purchase/kept_lines.h"

#include <stdlib.h>
#include <string.h>

#define BOUND_NONE (-((wide)1 << 118)) /* nothing is known */
#define BOUND_TOP  ((wide)1 << 118)

/* Of a minor unit, in home: a bound so near the goal proves it, by search_proves. */
#define GOAL_PART 0.4e-9

/* All limits in one place. Parts of the first search's effort: */
enum {
	PART_LEAST = 10000000, /* no part is less, in work */
	AGAIN_PART = 48,       /* a search once more, from all the others' plans */
	HELPED_PART = 24,      /* a search that starts from others' plans */
	BEST_PART = 4,         /* the best subset's, once more */
	ROOT_PART = 4,         /* the list with no rule decided */
	TREE_PART = 2,         /* all of branch and bound */
	FLIP_ROUNDS = 3,       /* of changing one rule of the best subset */
	BATCH = 8              /* nodes branched on at the same time */
};

struct job {
	const enum ruling *ruling; /* a node's list; NULL: that of: */
	size_t solved;
	size_t *start; /* numbers of solved lists; owned */
	size_t starts, start_room;
	uint64_t effort;
	int64_t leave;
	/* The cost to reach: the search ends once its bound does; with `decide`, once its plan
	 * shows that the bound cannot. */
	bool has_goal, decide;
	wide goal;
	/* Found. */
	struct outcome outcome;
	bool bounded; /* the outcome's bound is one */
};

struct wave {
	struct subsets *subsets;
	struct job *job; /* owned */
	size_t jobs, room;
	const char *what;
};

/* ---- one search, in a process of its own ---- */

struct watch {
	const struct job *job;
	const struct purchase *purchase;
	struct timespec start;
	double told, goal, tolerance; /* home: what is as good as the goal */
	bool tells;
};

static bool
should_stop(void *data, const struct search_news *news)
{
	struct watch *watch = data;
	const struct job *job = watch->job;

	if (watch->tells) {
		double now = clock_since(&watch->start);

		if (now > watch->told + 0.2) {
			workers_news((const char *)news, sizeof *news);
			watch->told = now;
		}
	}
	return interrupted() || (job->has_goal && news->bound > watch->goal - watch->tolerance) ||
	       (job->decide && news->cost < watch->goal - watch->tolerance);
}

static int
compare_plans(void *data, const struct plan *a, const struct plan *b)
{
	const struct watch *watch = data;

	return purchase_compare(watch->purchase, a, b);
}

static struct outcome
outcome_of(const struct purchase *purchase, const struct search_result *result)
{
	const struct plan *plan = &result->plan;
	int64_t unused, kept = kept_lines_pieces(purchase, plan, &unused, false);
	wide constant = purchase_stay_constant(purchase);

	return (struct outcome){.cost = plan->cost + constant,
	                        .landed = plan->landed,
	                        .penalties = plan->penalties,
	                        .order_cost = plan->order_cost + constant,
	                        .worth = plan->worth,
	                        .bound = result->bound + constant,
	                        .unmet = plan->unmet,
	                        .unmet_least = result->unmet_least,
	                        .pieces = plan->pieces - (kept - unused),
	                        .surplus = plan->surplus,
	                        .orders = plan->orders,
	                        .lots = purchase_order_lots(purchase, plan),
	                        .proved = result->proved,
	                        .stopped = result->stopped,
	                        .asked_to_stop = result->asked_to_stop,
	                        .work = result->work};
}

/* Rows of the list's parts may say other grams than the rows of a subset that an offer fits. Where
 * charges go by weight, nothing is known then; else no weight counts. */
static bool
settle_grams(const struct subsets_options *options, struct need *need)
{
	struct names parts = {0};
	int64_t *grams = mem_alloc((need->count + 1) * sizeof *grams);
	bool agree = true;

	for (size_t i = 0; i < need->count; i++) {
		struct need_row *row = &need->row[i];
		size_t before = parts.count, part;
		int64_t said = -1;

		if (row->grams == NOT_GIVEN)
			continue;
		part = names_add(&parts, row->text[NEED_PART]);
		if (options->input.weights != NULL)
			said = weights_find(options->input.weights, row->text[NEED_PART]);
		if (part == before)
			grams[part] = said >= 0 ? said : row->grams;
		agree = agree && grams[part] == row->grams;
		if (!options->weighed)
			row->grams = NOT_GIVEN;
	}
	names_free(&parts);
	free(grams);
	return agree || !options->weighed;
}

static struct watch
watch_of(const struct wave *wave, const struct job *job, const struct purchase *purchase)
{
	wide minor = wide_power10(NANO_DECIMALS - purchase->input.home_decimals);
	wide constant = purchase_stay_constant(purchase);

	return (struct watch){.job = job,
	                      .purchase = purchase,
	                      .start = clock_start(),
	                      .goal = (double)(job->goal - constant) * 1e-9,
	                      .tolerance = (double)minor * GOAL_PART,
	                      .tells = wave->subsets->options->tick != NULL};
}

static void
solve(const struct wave *wave, const struct job *job, struct need *need, struct text *answer)
{
	const struct subsets *subsets = wave->subsets;
	struct purchase_input input = subsets->options->input;
	struct purchase purchase;
	struct plan *start = mem_alloc((job->starts + 1) * sizeof *start);
	struct watch watch;
	struct search_options search;
	struct search_result result;
	struct outcome outcome;
	struct transfer plan = {0};
	double *price, *known;
	size_t multipliers;

	input.need = need;
	/* What no subset can weigh, none can buy: it would be refused. */
	input.weighed_alone = job->ruling != NULL;
	purchase_init(&purchase, &input);
	for (size_t i = 0; i < job->starts; i++)
		transfer_put(&subsets->solved[job->start[i]].plan, &purchase, &start[i]);
	multipliers = search_multipliers(&purchase.model);
	price = mem_zero(multipliers, sizeof *price);
	known = mem_alloc(multipliers * sizeof *known);
	for (size_t i = 0; i < multipliers; i++)
		known[i] = -1;
	if (job->starts > 0)
		transfer_prices(&subsets->solved[job->start[0]].plan, &purchase, known);
	watch = watch_of(wave, job, &purchase);
	search = (struct search_options){.effort = job->effort,
	                                 .compare = job->ruling == NULL ? compare_plans : NULL,
	                                 .stop = should_stop,
	                                 .data = &watch,
	                                 .start = start,
	                                 .starts = job->starts,
	                                 .hurried = job->starts > 0,
	                                 .price = known,
	                                 .price_found = price,
	                                 .leave = job->leave};
	search_plan(&purchase.model, &search, &result);
	kept_lines_use(&purchase, &result.plan);
	outcome = outcome_of(&purchase, &result);
	transfer_take(&plan, &purchase, &result.plan, price);
	text_add(answer, (const char *)&outcome, sizeof outcome);
	transfer_pack(&plan, answer);
	transfer_free(&plan);
	plan_free(&result.plan);
	free(known);
	free(price);
	for (size_t i = 0; i < job->starts; i++)
		plan_free(&start[i]);
	free(start);
	purchase_free(&purchase);
}

static void
run_job(void *data, size_t number, struct text *answer)
{
	const struct wave *wave = data;
	const struct job *job = &wave->job[number];
	const struct subsets_options *options = wave->subsets->options;
	struct need *need;

	if (job->ruling == NULL) {
		solve(wave, job, wave->subsets->solved[job->solved].need, answer);
		return;
	}
	need = swaps_relax(options->swaps, options->input.need, job->ruling, NULL);
	if (settle_grams(options, need))
		solve(wave, job, need, answer);
	need_free(need);
}

/* ---- waves ---- */

static void
show(void *data, size_t done, size_t jobs, const struct text *news)
{
	const struct wave *wave = data;
	const struct subsets_options *options = wave->subsets->options;
	struct search_news last;

	if (news != NULL && news->length == sizeof last)
		memcpy(&last, news->bytes, sizeof last);
	options->tick(options->data, wave->what, done, jobs,
	              news != NULL && news->length == sizeof last ? &last : NULL);
}

static bool
proves(const struct subsets *subsets, wide cost, wide bound)
{
	const struct model model = {.home_decimals = subsets->options->input.home_decimals};

	return search_proves(&model, cost, bound);
}

/* Puts together what two searches of one list found; whether the later one's plan is better. A
 * bound is one for plans that meet as much as the plan it came with. */
static bool
is_improved(const struct subsets *subsets, struct outcome *found, const struct outcome *later)
{
	bool better =
	    later->unmet != found->unmet ? later->unmet < found->unmet : later->cost < found->cost;
	struct outcome both = better ? *later : *found;

	if (later->unmet == found->unmet)
		both.bound = later->bound > found->bound ? later->bound : found->bound;
	if (later->unmet_least > both.unmet_least)
		both.unmet_least = later->unmet_least;
	both.work = found->work + later->work;
	both.proved =
	    both.unmet == later->unmet && both.unmet == found->unmet
	        ? (found->proved || later->proved ||
	           (both.unmet <= both.unmet_least && proves(subsets, both.cost, both.bound)))
	        : both.proved;
	*found = both;
	return better;
}

/* Notes what a search found. */
static void
take_answer(struct subsets *subsets, struct job *job, const struct text *answer)
{
	struct solved *solved = &subsets->solved[job->solved];

	job->bounded = answer->length > 0;
	if (!job->bounded) {
		job->outcome = (struct outcome){.bound = BOUND_NONE, .cost = BOUND_TOP};
		return;
	}
	memcpy(&job->outcome, answer->bytes, sizeof job->outcome);
	subsets->work += job->outcome.work;
	subsets->searches++;
	if (job->ruling != NULL)
		return;
	if (!solved->known)
		solved->outcome = job->outcome;
	need_free(solved->need);
	solved->need = NULL;
	if (solved->known && !is_improved(subsets, &solved->outcome, &job->outcome))
		return;
	transfer_free(&solved->plan);
	if (!transfer_unpack(&solved->plan, answer->bytes + sizeof job->outcome,
	                     answer->length - sizeof job->outcome))
		die("a search's answer came in part");
	solved->known = true;
}

static void
run_wave(struct wave *wave)
{
	const struct subsets_options *options = wave->subsets->options;
	struct workers workers = {.most = options->jobs,
	                          .run = run_job,
	                          .tick = options->tick != NULL ? show : NULL,
	                          .data = wave};
	struct text *answer = mem_zero(wave->jobs + 1, sizeof *answer);

	workers_run(&workers, wave->jobs, answer);
	for (size_t i = 0; i < wave->jobs; i++) {
		take_answer(wave->subsets, &wave->job[i], &answer[i]);
		text_free(&answer[i]);
		free(wave->job[i].start);
	}
	free(answer);
}

static struct job *
add_job(struct wave *wave, struct job job)
{
	MEM_ROOM(wave->job, wave->jobs, wave->room);
	wave->job[wave->jobs++] = job;
	return &wave->job[wave->jobs - 1];
}

static void
add_start(struct job *job, size_t solved)
{
	for (size_t i = 0; i < job->starts; i++)
		if (job->start[i] == solved)
			return;
	MEM_ROOM(job->start, job->starts, job->start_room);
	job->start[job->starts++] = solved;
}

/* A part of the effort, and not so little that plans are left as they come. */
static uint64_t
part_of(uint64_t effort, uint64_t parts)
{
	uint64_t part = effort / parts;

	if (part < PART_LEAST)
		part = PART_LEAST;
	return part < effort ? part : effort;
}

/* ---- subsets ---- */

static struct subset
new_subset(struct subsets *subsets)
{
	size_t rules = subsets->options->swaps->rules;
	struct subset subset = {.on = arena_alloc(&subsets->arena, rules + 1),
	                        .applied = arena_alloc(&subsets->arena, rules + 1)};

	memset(subset.on, 0, rules + 1);
	memset(subset.applied, 0, rules + 1);
	return subset;
}

/* Of two that give the same list: fewer rules first, then those that stand earlier in the file. */
static bool
is_less(const struct subset *a, const struct subset *b, size_t rules)
{
	if (a->applies != b->applies)
		return a->applies < b->applies;
	for (size_t i = 0; i < rules; i++)
		if (a->applied[i] != b->applied[i])
			return a->applied[i];
	return false;
}

/* The list that the subset makes, and which of its rules are applied. */
static struct need *
make_list(const struct subsets *subsets, struct subset *subset)
{
	struct swaps *swaps = subsets->options->swaps;
	struct need *need = need_copy(subsets->options->input.need);
	struct swap_touch *touched = mem_zero(swaps->steps + 1, sizeof *touched);

	subset->applies = 0;
	for (size_t i = 0; i < swaps->rules; i++) {
		subset->applied[i] = subset->on[i] && swaps_apply(swaps, i, need, touched) == NULL;
		subset->applies += subset->applied[i];
	}
	free(touched);
	return need;
}

/* Makes the subset's list, and finds whether it is known. */
static void
apply_subset(struct subsets *subsets, struct subset *subset)
{
	struct need *need = make_list(subsets, subset);
	struct sheet sheet = {0};

	need_write(&sheet, need);
	subset->solved = names_add_bytes(&subsets->lists, sheet.text.bytes, sheet.text.length);
	if (subset->solved == subsets->solves) {
		MEM_ROOM(subsets->solved, subsets->solves, subsets->room);
		subsets->solved[subsets->solves++] =
		    (struct solved){.need = need, .least = *subset};
	} else {
		if (is_less(subset, &subsets->solved[subset->solved].least,
		            subsets->options->swaps->rules))
			subsets->solved[subset->solved].least = *subset;
		need_free(need);
	}
	sheet_free(&sheet);
}

/* Adds the search of a subset's list to the wave, if it is neither known nor in it. */
static void
add_subset(struct wave *wave, const struct subset *subset, uint64_t effort, const size_t *start,
           size_t starts)
{
	struct job *job;

	if (wave->subsets->solved[subset->solved].known)
		return;
	for (size_t i = 0; i < wave->jobs; i++)
		if (wave->job[i].ruling == NULL && wave->job[i].solved == subset->solved)
			return;
	job = add_job(wave, (struct job){.solved = subset->solved, .effort = effort});
	for (size_t i = 0; i < starts; i++)
		add_start(job, start[i]);
}

const struct outcome *
subsets_outcome(const struct subsets *subsets, const struct subset *subset)
{
	return &subsets->solved[subset->solved].outcome;
}

/* Fewer pieces unmet, then less cost, then fewer rules, then rules earlier in the file. */
static bool
is_better(const struct subsets *subsets, const struct subset *a, const struct subset *b)
{
	const struct outcome *x = subsets_outcome(subsets, a), *y = subsets_outcome(subsets, b);

	if (x->unmet != y->unmet)
		return x->unmet < y->unmet;
	if (x->cost != y->cost)
		return x->cost < y->cost;
	return is_less(a, b, subsets->options->swaps->rules);
}

/* The best of all that is known. */
static void
find_best(struct subsets *subsets)
{
	for (size_t i = 0; i < subsets->solves; i++)
		if (subsets->solved[i].known &&
		    is_better(subsets, &subsets->solved[i].least, &subsets->best))
			subsets->best = subsets->solved[i].least;
}

static void
end_wave(struct wave *wave)
{
	run_wave(wave);
	find_best(wave->subsets);
	wave->jobs = 0;
}

/* ---- the scenarios ---- */

static void
make_scenarios(struct subsets *subsets)
{
	const struct subsets_options *options = subsets->options;
	size_t rules = options->swaps->rules;

	subsets->rule = arena_alloc(&subsets->arena, (rules + 1) * sizeof *subsets->rule);
	for (size_t i = 0; i < rules; i++)
		if (options->picks[i])
			subsets->rule[subsets->rules++] = i;
	subsets->alone =
	    arena_alloc(&subsets->arena, (subsets->rules + 1) * sizeof *subsets->alone);
	subsets->without =
	    arena_alloc(&subsets->arena, (subsets->rules + 1) * sizeof *subsets->without);
	subsets->as_is = new_subset(subsets);
	subsets->all = new_subset(subsets);
	memcpy(subsets->all.on, options->picks, rules * sizeof *options->picks);
	apply_subset(subsets, &subsets->as_is);
	for (size_t i = 0; i < subsets->rules; i++) {
		subsets->alone[i] = new_subset(subsets);
		subsets->alone[i].on[subsets->rule[i]] = true;
		apply_subset(subsets, &subsets->alone[i]);
		subsets->without[i] = new_subset(subsets);
		memcpy(subsets->without[i].on, options->picks, rules * sizeof *options->picks);
		subsets->without[i].on[subsets->rule[i]] = false;
		apply_subset(subsets, &subsets->without[i]);
	}
	apply_subset(subsets, &subsets->all);
}

/* As it stands; then all rules, and each alone; then all but one. */
static void
solve_scenarios(struct subsets *subsets, struct wave *wave)
{
	uint64_t effort = subsets->options->effort, helped = part_of(effort, HELPED_PART);
	size_t start[] = {subsets->as_is.solved, SIZE_MAX, SIZE_MAX};

	wave->what = "as it stands";
	add_subset(wave, &subsets->as_is, effort, NULL, 0);
	run_wave(wave);
	wave->jobs = 0;
	subsets->best = subsets->solved[subsets->as_is.solved].least;
	wave->what = "rules alone, all rules";
	add_subset(wave, &subsets->all, helped, start, 1);
	for (size_t i = 0; i < subsets->rules; i++)
		add_subset(wave, &subsets->alone[i], helped, start, 1);
	end_wave(wave);
	wave->what = "all rules but one";
	for (size_t i = 0; i < subsets->rules; i++) {
		start[0] = subsets->all.solved;
		start[1] = subsets->best.solved;
		start[2] = subsets->as_is.solved;
		add_subset(wave, &subsets->without[i], helped, start, 3);
	}
	end_wave(wave);
}

/* Searches the scenarios' lists that are not proved once more, from the plans of all the others:
 * what one search has found is not to look like what a rule saves. */
static void
compare_scenarios(struct subsets *subsets, struct wave *wave)
{
	size_t count = subsets->solves;

	wave->what = "from each other's plans";
	for (size_t i = 0; i < count; i++) {
		struct solved *solved = &subsets->solved[i];
		struct job job = {.solved = i,
		                  .effort = part_of(subsets->options->effort, AGAIN_PART)};

		if (!solved->known || solved->outcome.proved)
			continue;
		solved->need = make_list(subsets, &solved->least);
		for (size_t k = 0; k < count; k++)
			if (subsets->solved[k].known)
				add_start(&job, k);
		add_job(wave, job);
	}
	end_wave(wave);
}

/* Rules that alone save, and rules without which all cost more: subsets worth a try. */
static void
solve_guesses(struct subsets *subsets, struct wave *wave)
{
	const struct outcome *as_is = subsets_outcome(subsets, &subsets->as_is);
	const struct outcome *all = subsets_outcome(subsets, &subsets->all);
	struct subset guess[2] = {new_subset(subsets), new_subset(subsets)};
	size_t start[] = {subsets->best.solved, subsets->all.solved};

	for (size_t i = 0; i < subsets->rules; i++) {
		const struct outcome *alone = subsets_outcome(subsets, &subsets->alone[i]);
		const struct outcome *without = subsets_outcome(subsets, &subsets->without[i]);

		guess[0].on[subsets->rule[i]] =
		    alone->unmet < as_is->unmet ||
		    (alone->unmet == as_is->unmet && alone->cost < as_is->cost);
		guess[1].on[subsets->rule[i]] =
		    without->unmet > all->unmet ||
		    (without->unmet == all->unmet && without->cost > all->cost);
	}
	wave->what = "rules that save";
	for (size_t i = 0; i < 2; i++) {
		apply_subset(subsets, &guess[i]);
		add_subset(wave, &guess[i], part_of(subsets->options->effort, HELPED_PART), start,
		           2);
	}
	end_wave(wave);
}

/* ---- branch and bound over rules ---- */

struct node {
	enum ruling *ruling; /* by rule; owned by the arena */
	wide bound;          /* for plans that meet as much as the best; BOUND_NONE: not known */
	int64_t unmet_least;
	size_t number;
};

struct tree {
	struct subsets *subsets;
	struct node *node; /* open; owned */
	size_t nodes, room, numbers;
	size_t *order;        /* picked rules, the first to be decided first */
	enum rule_role *role; /* at the root */
	enum ruling *first;   /* of the root, by rule; owned by the arena */
	struct node *closed;  /* what is done with; owned */
	size_t closes, closed_room;
	uint64_t work_most;
};

static const struct outcome *
best_of(const struct tree *tree)
{
	return subsets_outcome(tree->subsets, &tree->subsets->best);
}

/* Can nothing in the node be better than the best by half a minor unit? */
static bool
is_hopeless(const struct tree *tree, const struct node *node)
{
	const struct outcome *best = best_of(tree);

	if (node->unmet_least != best->unmet)
		return node->unmet_least > best->unmet;
	return node->bound >= best->cost || proves(tree->subsets, best->cost, node->bound);
}

/* What is done with. It counts in the bound if it can meet as much as the best in the end. */
static void
close_node(struct tree *tree, struct node node)
{
	MEM_ROOM(tree->closed, tree->closes, tree->closed_room);
	tree->closed[tree->closes++] = node;
}

static enum ruling *
copy_ruling(struct tree *tree, const enum ruling *ruling)
{
	size_t rules = tree->subsets->options->swaps->rules;
	enum ruling *copy = arena_alloc(&tree->subsets->arena, (rules + 1) * sizeof *copy);

	memcpy(copy, ruling, rules * sizeof *copy);
	return copy;
}

/* The rule to decide, or SIZE_MAX: all are. Options are taken, without a decision. */
static size_t
open_rule(const struct tree *tree, const enum ruling *ruling)
{
	for (size_t i = 0; i < tree->subsets->rules; i++) {
		size_t rule = tree->order[i];

		if (ruling[rule] == RULE_OPEN && tree->role[rule] != ROLE_OPTION)
			return rule;
	}
	return SIZE_MAX;
}

static struct job
node_job(const struct tree *tree, const struct node *node)
{
	const struct outcome *best = best_of(tree);
	struct job job = {.ruling = node->ruling,
	                  .effort = part_of(tree->subsets->options->effort, HELPED_PART),
	                  .leave = best->unmet,
	                  .has_goal = true,
	                  .decide = true,
	                  .goal = best->cost};

	add_start(&job, tree->subsets->best.solved);
	return job;
}

/* How much a rule is worth deciding on early: how loose its list is while it is open, then what it
 * does alone. */
static wide
weight_of(const struct tree *tree, size_t i)
{
	const struct subsets *subsets = tree->subsets;
	const struct swaps *swaps = subsets->options->swaps;
	const struct outcome *as_is = subsets_outcome(subsets, &subsets->as_is);
	const struct outcome *alone = subsets_outcome(subsets, &subsets->alone[i]);
	wide change =
	    alone->cost > as_is->cost ? alone->cost - as_is->cost : as_is->cost - alone->cost;
	bool loose = false;

	for (size_t s = 0; s < swaps->steps; s++)
		if (swaps->step[s].rule == subsets->rule[i])
			loose = loose || swaps->step[s].kind == SWAP_ADD ||
			        swaps->step[s].kind == SWAP_SPARE ||
			        (swaps->step[s].kind == SWAP_USE && swaps->step[s].qty > 1);
	if (tree->role[subsets->rule[i]] == ROLE_OPTION)
		return -1;
	return loose ? BOUND_TOP / 2 + change : change;
}

static void
order_rules(struct tree *tree)
{
	struct subsets *subsets = tree->subsets;

	tree->order = arena_alloc(&subsets->arena, (subsets->rules + 1) * sizeof *tree->order);
	for (size_t i = 0; i < subsets->rules; i++) {
		wide weight = weight_of(tree, i);
		size_t at = i;

		/* order holds places among the picked for now */
		while (at > 0 && weight_of(tree, tree->order[at - 1]) < weight) {
			tree->order[at] = tree->order[at - 1];
			at--;
		}
		tree->order[at] = i;
	}
	for (size_t i = 0; i < subsets->rules; i++)
		tree->order[i] = subsets->rule[tree->order[i]];
}

static void
push(struct tree *tree, struct node node)
{
	MEM_ROOM(tree->node, tree->nodes, tree->room);
	tree->node[tree->nodes++] = node;
}

static int
compare_nodes(const void *a, const void *b)
{
	const struct node *x = a, *y = b;

	if (x->bound != y->bound)
		return x->bound < y->bound ? -1 : 1;
	return x->number < y->number ? -1 : x->number > y->number;
}

/* A node's side: its own list to be searched, or, where all is decided, that of a subset. */
struct side {
	struct node node;
	bool leaf;
	struct subset subset;
	size_t job; /* of the wave; SIZE_MAX: it is known */
};

static void
add_side(struct tree *tree, struct wave *wave, const struct node *parent, size_t rule,
         enum ruling ruling, struct side *side)
{
	struct subsets *subsets = tree->subsets;
	size_t start[] = {subsets->best.solved, subsets->all.solved, subsets->as_is.solved};

	*side = (struct side){.node = *parent, .job = SIZE_MAX};
	side->node.ruling = copy_ruling(tree, parent->ruling);
	side->node.ruling[rule] = ruling;
	side->node.number = tree->numbers++;
	side->leaf = open_rule(tree, side->node.ruling) == SIZE_MAX;
	if (!side->leaf) {
		side->job = wave->jobs;
		add_job(wave, node_job(tree, &side->node));
		return;
	}
	side->subset = new_subset(subsets);
	for (size_t i = 0; i < subsets->options->swaps->rules; i++)
		side->subset.on[i] = side->node.ruling[i] != RULE_OFF;
	apply_subset(subsets, &side->subset);
	add_subset(wave, &side->subset, part_of(subsets->options->effort, HELPED_PART), start, 3);
}

static void
settle_side(struct tree *tree, const struct wave *wave, struct side *side)
{
	const struct outcome *outcome;

	if (!side->leaf) {
		const struct job *job = &wave->job[side->job];

		if (job->bounded) {
			if (job->outcome.bound > side->node.bound)
				side->node.bound = job->outcome.bound;
			if (job->outcome.unmet_least > side->node.unmet_least)
				side->node.unmet_least = job->outcome.unmet_least;
		}
		push(tree, side->node);
		return;
	}
	outcome = subsets_outcome(tree->subsets, &side->subset);
	if (outcome->unmet <= best_of(tree)->unmet && outcome->bound > side->node.bound)
		side->node.bound = outcome->bound;
	if (outcome->unmet_least > side->node.unmet_least)
		side->node.unmet_least = outcome->unmet_least;
	close_node(tree, side->node);
}

/* Takes hopeless nodes off the list. */
static void
prune(struct tree *tree)
{
	size_t kept = 0;

	for (size_t i = 0; i < tree->nodes; i++)
		if (is_hopeless(tree, &tree->node[i]))
			close_node(tree, tree->node[i]);
		else
			tree->node[kept++] = tree->node[i];
	tree->nodes = kept;
	if (kept > 0)
		qsort(tree->node, kept, sizeof *tree->node, compare_nodes);
}

/* Branches on the nodes of the least bounds. */
static void
branch(struct tree *tree, struct wave *wave)
{
	struct side side[2 * BATCH];
	size_t sides = 0, taken = 0;

	wave->what = "subsets";
	for (size_t i = 0; i < tree->nodes && i < BATCH; i++) {
		const struct node *node = &tree->node[i];
		size_t rule = open_rule(tree, node->ruling);

		add_side(tree, wave, node, rule, RULE_ON, &side[sides++]);
		add_side(tree, wave, node, rule, RULE_OFF, &side[sides++]);
		taken++;
	}
	memmove(tree->node, tree->node + taken, (tree->nodes - taken) * sizeof *tree->node);
	tree->nodes -= taken;
	run_wave(wave);
	find_best(tree->subsets);
	for (size_t i = 0; i < sides; i++)
		settle_side(tree, wave, &side[i]);
	wave->jobs = 0;
}

/* Does changing one rule of the best subset help? */
static void
flip_rules(struct tree *tree, struct wave *wave)
{
	struct subsets *subsets = tree->subsets;
	size_t before, round = 0;

	do {
		size_t start[] = {subsets->best.solved};

		before = subsets->best.solved;
		wave->what = "one rule more or less";
		for (size_t i = 0; i < subsets->rules; i++) {
			struct subset flipped = new_subset(subsets);
			size_t rule = subsets->rule[i];

			if (tree->role[rule] == ROLE_NEVER)
				continue;
			memcpy(flipped.on, subsets->best.applied, subsets->options->swaps->rules);
			flipped.on[rule] = !flipped.on[rule];
			apply_subset(subsets, &flipped);
			add_subset(wave, &flipped, part_of(subsets->options->effort, HELPED_PART),
			           start, 1);
		}
		end_wave(wave);
	} while (subsets->best.solved != before && ++round < FLIP_ROUNDS && !interrupted() &&
	         subsets->work < tree->work_most);
}

/* What the rules are among each other, and the root's ruling. What of them cannot be searched is
 * told here, before anything is. */
static void
start_tree(struct tree *tree, struct subsets *subsets)
{
	const struct subsets_options *options = subsets->options;
	size_t rules = options->swaps->rules;

	*tree = (struct tree){.subsets = subsets};
	tree->role = mem_zero(rules + 1, sizeof *tree->role);
	tree->first = arena_alloc(&subsets->arena, (rules + 1) * sizeof *tree->first);
	for (size_t i = 0; i < rules; i++)
		tree->first[i] = options->picks[i] ? RULE_OPEN : RULE_OFF;
	need_free(swaps_relax(options->swaps, options->input.need, tree->first, tree->role));
	for (size_t i = 0; i < rules; i++)
		if (tree->role[i] == ROLE_NEVER)
			tree->first[i] = RULE_OFF;
}

/* The root's list, and the best subset once more, with more work each. */
static struct node
solve_root(struct tree *tree, struct wave *wave)
{
	struct subsets *subsets = tree->subsets;
	size_t best = subsets->best.solved;
	struct node root = {.ruling = tree->first, .bound = BOUND_NONE, .number = tree->numbers++};
	struct job job;

	order_rules(tree);
	wave->what = "all subsets at once";
	if (open_rule(tree, root.ruling) != SIZE_MAX) {
		job = node_job(tree, &root);
		job.decide = false;
		job.effort = part_of(subsets->options->effort, ROOT_PART);
		add_job(wave, job);
	}
	if (!subsets->solved[best].outcome.proved) {
		subsets->solved[best].need = make_list(subsets, &subsets->best);
		job = (struct job){.solved = best,
		                   .effort = part_of(subsets->options->effort, BEST_PART)};
		for (size_t i = 0; i < subsets->solves; i++)
			if (subsets->solved[i].known)
				add_start(&job, i);
		add_job(wave, job);
	}
	run_wave(wave);
	find_best(subsets);
	if (open_rule(tree, root.ruling) == SIZE_MAX) {
		root.bound = subsets_outcome(subsets, &subsets->all)->bound;
		root.unmet_least = subsets_outcome(subsets, &subsets->all)->unmet_least;
	} else if (wave->job[0].bounded) {
		root.bound = wave->job[0].outcome.bound;
		root.unmet_least = wave->job[0].outcome.unmet_least;
	}
	wave->jobs = 0;
	return root;
}

/* Rules of the best subset that give options which its plan does without are left out. */
static void
trim_best(struct tree *tree, struct wave *wave)
{
	struct subsets *subsets = tree->subsets;

	wave->what = "options that are not used";
	for (bool more = true; more && !interrupted();) {
		size_t start[] = {subsets->best.solved}, before = subsets->best.applies;

		for (size_t i = 0; i < subsets->rules; i++) {
			size_t rule = subsets->rule[i];
			struct subset fewer;

			if (!subsets->best.applied[rule] || tree->role[rule] != ROLE_OPTION)
				continue;
			fewer = new_subset(subsets);
			memcpy(fewer.on, subsets->best.applied, subsets->options->swaps->rules);
			fewer.on[rule] = false;
			apply_subset(subsets, &fewer);
			add_subset(wave, &fewer, part_of(subsets->options->effort, HELPED_PART),
			           start, 1);
		}
		end_wave(wave);
		more = subsets->best.applies < before;
	}
}

/* The bound of all that was done with, and of what is still open. */
static void
settle_bound(struct tree *tree)
{
	struct subsets *subsets = tree->subsets;
	const struct outcome *best = best_of(tree);
	bool fewest = true;

	for (size_t i = 0; i < tree->nodes; i++)
		close_node(tree, tree->node[i]);
	subsets->bound = best->cost;
	for (size_t i = 0; i < tree->closes; i++) {
		const struct node *node = &tree->closed[i];

		if (node->unmet_least <= best->unmet && node->bound < subsets->bound)
			subsets->bound = node->bound;
		fewest = fewest && node->unmet_least >= best->unmet;
	}
	subsets->bounded = subsets->bound > BOUND_NONE;
	subsets->proved = fewest && proves(subsets, best->cost, subsets->bound);
}

static void
search_subsets(struct tree *tree, struct wave *wave)
{
	struct subsets *subsets = tree->subsets;
	struct node root = solve_root(tree, wave);

	tree->work_most = subsets->work + part_of(subsets->options->effort, TREE_PART);
	if (!is_hopeless(tree, &root) && !interrupted())
		flip_rules(tree, wave);
	push(tree, root);
	for (prune(tree); tree->nodes > 0; prune(tree)) {
		if (open_rule(tree, tree->node[0].ruling) == SIZE_MAX)
			break; /* the root, with nothing to decide */
		subsets->stopped = subsets->work >= tree->work_most;
		subsets->asked_to_stop = interrupted();
		if (subsets->stopped || subsets->asked_to_stop)
			break;
		branch(tree, wave);
	}
	trim_best(tree, wave);
	subsets->best.on = subsets->best.applied; /* the others have no effect */
	settle_bound(tree);
}

void
subsets_find(struct subsets *subsets, const struct subsets_options *options)
{
	struct wave wave = {.subsets = subsets};
	struct tree tree;

	*subsets = (struct subsets){.options = options};
	make_scenarios(subsets);
	start_tree(&tree, subsets);
	solve_scenarios(subsets, &wave);
	solve_guesses(subsets, &wave);
	compare_scenarios(subsets, &wave);
	search_subsets(&tree, &wave);
	free(tree.node);
	free(tree.closed);
	free(tree.role);
	free(wave.job);
}

void
subsets_free(struct subsets *subsets)
{
	for (size_t i = 0; i < subsets->solves; i++) {
		transfer_free(&subsets->solved[i].plan);
		need_free(subsets->solved[i].need);
	}
	free(subsets->solved);
	names_free(&subsets->lists);
	arena_free(&subsets->arena);
}
