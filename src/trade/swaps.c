#include "trade/swaps.h"

#include "base/err.h"

#include <stdlib.h>
#include <string.h>

const char *const swap_do_names[SWAP_DOS] = {"use", "may", "drop", "add", "spare"};

enum {
	COLUMN_RULE,
	COLUMN_DO,
	COLUMN_PART,
	COLUMN_COLOR,
	COLUMN_CONDITION,
	COLUMN_GROUP,
	COLUMN_TO_PART,
	COLUMN_TO_COLOR,
	COLUMN_TO_CONDITION,
	COLUMN_OF,
	COLUMN_QTY,
	COLUMN_PENALTY,
	COLUMN_TOGETHER,
	COLUMN_MUST,
	COLUMNS
};

static const char *const column_names[COLUMNS] = {
    "rule",     "do",           "part", "color", "condition", "group",    "to_part",
    "to_color", "to_condition", "of",   "qty",   "penalty",   "together", "must",
};

/* Which columns a kind of step gives a meaning to; the others must be empty. */
static const bool has_meaning[COLUMNS][SWAP_DOS] = {
    /*                      use    may    drop   add    spare */
    [COLUMN_RULE] = {true, true, true, true, true},
    [COLUMN_DO] = {true, true, true, true, true},
    [COLUMN_PART] = {true, true, true, false, true},
    [COLUMN_COLOR] = {true, true, true, false, true},
    [COLUMN_CONDITION] = {true, true, true, false, true},
    [COLUMN_GROUP] = {true, true, true, false, true},
    [COLUMN_TO_PART] = {true, true, false, true, false},
    [COLUMN_TO_COLOR] = {true, true, false, true, false},
    [COLUMN_TO_CONDITION] = {true, true, false, true, false},
    [COLUMN_OF] = {true, true, true, false, true},
    [COLUMN_QTY] = {true, false, false, true, true},
    [COLUMN_PENALTY] = {false, true, false, false, false},
    [COLUMN_TOGETHER] = {true, true, true, true, true},
    [COLUMN_MUST] = {true, true, true, true, true},
};

struct reader {
	struct swaps *swaps;
	struct table *table;
	struct faults *faults;
	size_t column[COLUMNS];
	struct row row;
};

static const char *
copy(struct arena *arena, const char *text)
{
	return *text == '\0' ? "" : arena_copy(arena, text, strlen(text));
}

static const char *
field_of(const struct reader *reader, size_t column)
{
	return row_field(&reader->row, reader->column[column]);
}

static const char *
shown(const struct reader *reader, size_t column)
{
	return text_show(&reader->swaps->arena, field_of(reader, column));
}

/* "yes" sets *yes, "no" sets *no, empty neither. */
static void
read_yes(struct reader *reader, size_t column, bool *yes, bool *no)
{
	const char *field = field_of(reader, column);

	if (strcmp(field, "yes") == 0)
		*yes = true;
	else if (strcmp(field, "no") == 0)
		*no = true;
	else if (*field != '\0')
		fault(reader->faults, reader->row.line,
		      "unknown \"%s\" value \"%s\": use yes or no", column_names[column],
		      shown(reader, column));
}

static size_t
read_rule(struct reader *reader)
{
	struct swaps *swaps = reader->swaps;
	const char *name = field_of(reader, COLUMN_RULE);
	size_t number = names_add(&swaps->names, name);
	struct swap_rule *rule;

	if (*name == '\0')
		fault(reader->faults, reader->row.line, "rule is empty: name the rule");
	if (number == swaps->rules) {
		MEM_ROOM(swaps->rule, swaps->rules, swaps->rule_room);
		swaps->rule[swaps->rules++] = (struct swap_rule){.name = copy(&swaps->arena, name),
		                                                 .line = reader->row.line,
		                                                 .first = SIZE_MAX,
		                                                 .last = SIZE_MAX};
	}
	rule = &swaps->rule[number];
	read_yes(reader, COLUMN_TOGETHER, &rule->together, &rule->together_no);
	read_yes(reader, COLUMN_MUST, &rule->must, &rule->must_no);
	return number;
}

static bool
read_do(struct reader *reader, enum swap_do *kind)
{
	const char *field = field_of(reader, COLUMN_DO);

	for (size_t i = 0; i < SWAP_DOS; i++)
		if (strcmp(field, swap_do_names[i]) == 0) {
			*kind = (enum swap_do)i;
			return true;
		}
	fault(reader->faults, reader->row.line,
	      "unknown \"do\" value \"%s\": use one of use, may, drop, add, spare",
	      shown(reader, COLUMN_DO));
	return false;
}

static void
check_meaning(struct reader *reader, enum swap_do kind)
{
	for (size_t i = 0; i < COLUMNS; i++)
		if (!has_meaning[i][kind] && *field_of(reader, i) != '\0')
			fault(reader->faults, reader->row.line,
			      "%s \"%s\" means nothing in %s step: leave it empty", column_names[i],
			      shown(reader, i),
			      kind == SWAP_USE    ? "a use"
			      : kind == SWAP_MAY  ? "a may"
			      : kind == SWAP_ADD  ? "an add"
			      : kind == SWAP_DROP ? "a drop"
			                          : "a spare");
}

static void
read_patterns(struct reader *reader, struct swap_step *step)
{
	for (size_t i = 0; i < SWAP_FIELDS; i++) {
		const char *why;
		const char *text = copy(&reader->swaps->arena, field_of(reader, COLUMN_PART + i));

		step->pattern_text[i] = text;
		if (*text == '\0')
			continue;
		step->pattern[i] = pattern_new(text, &reader->swaps->arena, &why);
		if (step->pattern[i] == NULL)
			fault(reader->faults, reader->row.line, "%s \"%s\" is no PCRE2 pattern: %s",
			      column_names[COLUMN_PART + i], shown(reader, COLUMN_PART + i), why);
	}
}

static void
read_replacements(struct reader *reader, struct swap_step *step)
{
	struct swaps *swaps = reader->swaps;

	for (size_t i = 0; i < SWAP_REPLACED; i++) {
		size_t column = COLUMN_TO_PART + i;
		const char *why;

		step->to[i] = copy(&swaps->arena, field_of(reader, column));
		if (*step->to[i] == '\0' || (*step->pattern_text[i] && !step->pattern[i]))
			continue;
		why = pattern_replacement_fault(swap_pattern(swaps, step, i), step->to[i],
		                                &swaps->arena);
		if (why != NULL)
			fault(reader->faults, reader->row.line, "%s \"%s\" has %s",
			      column_names[column], shown(reader, column), why);
	}
}

/* A whole number from 1 on; empty gives `empty`, where that is not AMOUNT_REQUIRED. */
static bool
read_count(struct reader *reader, size_t column, int64_t empty, int64_t *out)
{
	if (!amount_qty(reader->table, &reader->row, reader->column[column], empty, out))
		return false;
	if (*out != 0)
		return true;
	fault(reader->faults, reader->row.line, "%s is 0: use a whole number from 1 on",
	      column_names[column]);
	return false;
}

/* spare: pieces, or a percentage. */
static void
read_spare(struct reader *reader, struct swap_step *step)
{
	const char *field = field_of(reader, COLUMN_QTY);
	size_t length = strlen(field);
	enum dec_fault why;

	if (length == 0) {
		fault(reader->faults, reader->row.line,
		      "qty is empty: a spare step needs a number of pieces, or a percentage such "
		      "as 5%%");
		return;
	}
	step->percent = field[length - 1] == '%';
	if (step->percent) {
		const char *digits = arena_copy(&reader->swaps->arena, field, length - 1);

		why = dec_parse_micro(digits, false, &step->qty);
	} else {
		why = dec_parse_qty(field, &step->qty);
	}
	if (why != DEC_OK)
		fault(reader->faults, reader->row.line, "qty \"%s\" %s", shown(reader, COLUMN_QTY),
		      dec_fault_text(why));
}

static void
read_numbers(struct reader *reader, struct swap_step *step)
{
	step->of = NOT_GIVEN;
	step->penalty_text = "";
	if (has_meaning[COLUMN_OF][step->kind])
		read_count(reader, COLUMN_OF, NOT_GIVEN, &step->of);
	if (step->kind == SWAP_SPARE)
		read_spare(reader, step);
	else if (step->kind == SWAP_ADD && *field_of(reader, COLUMN_QTY) == '\0')
		fault(reader->faults, reader->row.line,
		      "qty is empty: an add step needs a number of pieces");
	else if (has_meaning[COLUMN_QTY][step->kind])
		read_count(reader, COLUMN_QTY, 1, &step->qty);
	if (step->kind == SWAP_MAY) {
		step->penalty_text = copy(&reader->swaps->arena, field_of(reader, COLUMN_PENALTY));
		amount_micro(reader->table, &reader->row, reader->column[COLUMN_PENALTY],
		             NOT_NEGATIVE, 0, &step->penalty);
	}
}

/* A step must have something to do. */
static void
check_purpose(struct reader *reader, const struct swap_step *step)
{
	bool replaces = *step->to[SWAP_PART] || *step->to[SWAP_COLOR] || *step->to[SWAP_CONDITION];

	if (step->kind == SWAP_ADD && (!*step->to[SWAP_PART] || !*step->to[SWAP_COLOR]))
		fault(reader->faults, reader->row.line,
		      "an add step without part or color: give to_part and to_color");
	if (step->kind == SWAP_MAY && !replaces)
		fault(reader->faults, reader->row.line,
		      "a may step that offers nothing: give to_part, to_color or to_condition");
	if (step->kind == SWAP_USE && !replaces && step->qty == 1)
		fault(reader->faults, reader->row.line,
		      "a use step that changes nothing: give to_part, to_color, to_condition or "
		      "qty");
}

static void
read_step(struct reader *reader)
{
	struct swaps *swaps = reader->swaps;
	struct swap_step step = {.line = reader->row.line, .next = SIZE_MAX};
	struct swap_rule *rule;

	step.rule = read_rule(reader);
	if (!read_do(reader, &step.kind))
		return;
	check_meaning(reader, step.kind);
	read_patterns(reader, &step);
	read_replacements(reader, &step);
	read_numbers(reader, &step);
	check_purpose(reader, &step);
	rule = &swaps->rule[step.rule];
	rule->has_may |= step.kind == SWAP_MAY;
	MEM_ROOM(swaps->step, swaps->steps, swaps->step_room);
	if (rule->first == SIZE_MAX)
		rule->first = swaps->steps;
	else
		swaps->step[rule->last].next = swaps->steps;
	rule->last = swaps->steps;
	swaps->step[swaps->steps++] = step;
}

static void
check_rules(struct reader *reader)
{
	for (size_t i = 0; i < reader->swaps->rules; i++) {
		const struct swap_rule *rule = &reader->swaps->rule[i];
		const char *name = text_show(&reader->swaps->arena, rule->name);

		if ((rule->together && rule->together_no) || (rule->must && rule->must_no))
			fault(reader->faults, rule->line,
			      "rule \"%s\" says both yes and no to %s: one step's word is enough",
			      name, rule->must && rule->must_no ? "must" : "together");
		if (rule->together && !rule->has_may)
			fault(reader->faults, rule->line,
			      "rule \"%s\" is together, but has no may step to hold together",
			      name);
	}
}

struct swaps *
swaps_read(struct table *table)
{
	struct swaps *swaps = mem_zero(1, sizeof *swaps);
	struct reader reader = {.swaps = swaps, .table = table, .faults = table_faults(table)};
	const char *why;

	swaps->file = copy(&swaps->arena, table_name(table));
	swaps->anything = pattern_new("(?s).*", &swaps->arena, &why);
	for (size_t i = 0; i < COLUMNS; i++)
		reader.column[i] = i <= COLUMN_DO ? table_need_column(table, column_names[i])
		                                  : table_column(table, column_names[i]);
	table_end(table);
	while (table_next(table, &reader.row))
		read_step(&reader);
	check_rules(&reader);
	table_end(table);
	table_close(table);
	return swaps;
}

void
swaps_free(struct swaps *swaps)
{
	for (size_t i = 0; i < swaps->steps; i++)
		for (size_t j = 0; j < SWAP_FIELDS; j++)
			pattern_free(swaps->step[i].pattern[j]);
	pattern_free(swaps->anything);
	free(swaps->step);
	free(swaps->rule);
	names_free(&swaps->names);
	arena_free(&swaps->arena);
	free(swaps);
}

struct pattern *
swap_pattern(const struct swaps *swaps, const struct swap_step *step, size_t field)
{
	return step->pattern[field] ? step->pattern[field] : swaps->anything;
}

size_t
swaps_find(const struct swaps *swaps, const char *name)
{
	return names_find(&swaps->names, name);
}

/* Sets what is picked for each rule of a list such as "A,B". */
static void
pick(const struct swaps *swaps, const char *option, const char *list, bool picked, bool *picks)
{
	struct arena arena = {0};
	size_t count;
	const char **name = text_list(&arena, list, &count);

	for (size_t i = 0; i < count; i++) {
		size_t rule = swaps_find(swaps, name[i]);

		if (rule == SIZE_MAX) {
			const char *near = text_nearest(
			    name[i], (const char *const *)swaps->names.name, swaps->names.count);

			die("%s: no rule \"%s\", which %s names%s%s%s", swaps->file,
			    text_show(&arena, name[i]), option,
			    near ? ": did you mean \"" : ": name rules of the file",
			    near ? text_show(&arena, near) : "", near ? "\"?" : "");
		}
		picks[rule] = picked;
	}
	arena_free(&arena);
}

bool *
swaps_pick(const struct swaps *swaps, const char *only, const char *except)
{
	bool *picks = mem_alloc(swaps->rules * sizeof *picks);

	for (size_t i = 0; i < swaps->rules; i++)
		picks[i] = only == NULL;
	if (only != NULL)
		pick(swaps, "--only", only, true, picks);
	if (except != NULL)
		pick(swaps, "--except", except, false, picks);
	return picks;
}
