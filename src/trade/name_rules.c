#include "trade/name_rules.h"

#include "base/err.h"
#include "base/pattern.h"
#include "table/table.h"

#include <stdlib.h>
#include <string.h>

struct name_rule {
	const char *file;
	enum list_column column;
	struct pattern *pattern; /* owned */
	const char *name;
	bool as_is; /* the name is $0, what the pattern matches */
	size_t line;
};

/* What the rules of a column made of the texts met so far. */
struct memory {
	bool used; /* the column has a rule */
	struct names seen;
	const char **made; /* by number in seen; owned */
	size_t room;
};

struct name_rules {
	struct name_rule *rule; /* owned */
	size_t count, room;
	struct memory memory[LIST_COLUMNS];
	struct names plain[LIST_COLUMNS]; /* names that rules give as they stand, blanks folded */
	struct arena arena;               /* owns all texts */
};

static const char *
keep(struct name_rules *rules, const char *text)
{
	return arena_copy(&rules->arena, text, strlen(text));
}

/* The name that the rule gives whatever its pattern takes, or NULL: it has a capture in it. */
static char *
plain_name(struct name_rules *rules, const struct name_rule *rule)
{
	char *name = arena_copy(&rules->arena, rule->name, strlen(rule->name)), *to = name;

	for (const char *s = name; *s != '\0'; s++) {
		if (*s == '$' && *++s != '$')
			return NULL;
		*to++ = *s;
	}
	*to = '\0';
	return name;
}

/* Notes what the rule says of names. */
static void
note_name(struct name_rules *rules, struct name_rule *rule)
{
	char *name = plain_name(rules, rule);

	rule->as_is = strcmp(rule->name, "$0") == 0;
	if (name == NULL)
		return;
	text_fold_blanks(name);
	if (*name != '\0')
		names_add(&rules->plain[rule->column], name);
}

/* A part or color cannot be made empty: such a rule has still to be given its name. */
static bool
is_unfinished(const struct name_rule *rule)
{
	const char *name = rule->name;

	while (text_is_blank_byte(*name))
		name++;
	return *name == '\0' && (rule->column == COLUMN_PART || rule->column == COLUMN_COLOR);
}

static void
read_rule(struct name_rules *rules, struct table *table, const struct row *row, const size_t at[3],
          const char *file)
{
	struct arena *arena = table_arena(table);
	char *column = text_trim(row->field[at[0]]);
	struct name_rule rule = {file, list_column_named(column), .line = row->line};
	const char *why = NULL;

	if (rule.column == LIST_COLUMNS) {
		const char *nearest = list_column_nearest(column);

		fault(table_faults(table), row->line, "no column is named \"%s\"%s%s%s",
		      text_show(arena, column), nearest ? ": did you mean \"" : "",
		      nearest ? nearest : "", nearest ? "\"?" : "");
		return;
	}
	rule.name = keep(rules, row->field[at[2]]);
	rule.pattern = pattern_new(row->field[at[1]], arena, &why);
	if (rule.pattern != NULL)
		why = pattern_replacement_fault(rule.pattern, rule.name, arena);
	if (why != NULL) {
		fault(table_faults(table), row->line, "%s \"%s\": %s",
		      rule.pattern ? "name" : "pattern",
		      text_show(arena, rule.pattern ? rule.name : row->field[at[1]]), why);
		pattern_free(rule.pattern);
		return;
	}
	if (is_unfinished(&rule)) {
		pattern_free(rule.pattern);
		return;
	}
	note_name(rules, &rule);
	MEM_ROOM(rules->rule, rules->count, rules->room);
	rules->rule[rules->count++] = rule;
	rules->memory[rule.column].used = true;
}

static void
read_file(struct name_rules *rules, const char *path)
{
	struct table *table = table_open(path, NULL);
	const char *file = keep(rules, table_name(table));
	struct row row;
	size_t at[3];

	at[0] = table_need_column(table, "column");
	at[1] = table_need_column(table, "pattern");
	at[2] = table_need_column(table, "name");
	if (table_faults(table)->count == 0)
		while (table_next(table, &row))
			read_rule(rules, table, &row, at, file);
	table_end(table);
	table_close(table);
}

struct name_rules *
name_rules_read(const char *const *path, size_t count)
{
	struct name_rules *rules = mem_zero(1, sizeof *rules);

	for (size_t i = 0; i < count; i++)
		read_file(rules, path[i]);
	return rules;
}

void
name_rules_free(struct name_rules *rules)
{
	for (size_t i = 0; i < rules->count; i++)
		pattern_free(rules->rule[i].pattern);
	for (size_t i = 0; i < LIST_COLUMNS; i++) {
		names_free(&rules->plain[i]);
		names_free(&rules->memory[i].seen);
		free(rules->memory[i].made);
	}
	free(rules->rule);
	arena_free(&rules->arena);
	free(rules);
}

bool
name_rules_has(const struct name_rules *rules, enum list_column column)
{
	return rules->memory[column].used;
}

/* A limit of a rule's pattern was hit: it cannot be told what the text is. */
static noreturn void
give_up(const struct name_rule *rule, const char *text, const char *file, size_t line,
        const char *why)
{
	struct arena arena = {0};

	die("%s:%zu: %s \"%s\", rule at %s:%zu: %s", file, line, list_columns[rule->column].name,
	    text_show(&arena, text), rule->file, rule->line, why);
}

bool
name_rules_knows(struct name_rules *rules, enum list_column column, const char *text,
                 const char *file, size_t line)
{
	const char *why;

	if (!rules->memory[column].used)
		return false;
	if (names_find(&rules->plain[column], text) != SIZE_MAX)
		return true;
	for (size_t i = 0; i < rules->count; i++) {
		struct name_rule *rule = &rules->rule[i];

		if (rule->column != column || !rule->as_is)
			continue;
		switch (pattern_matches(rule->pattern, text, &rules->arena, &why)) {
		case PATTERN_YES:
			return true;
		case PATTERN_NO:
			break;
		case PATTERN_FAULT:
			give_up(rule, text, file, line, why);
		}
	}
	return false;
}

void
name_rules_names(const struct name_rules *rules, enum list_column column, struct names *names)
{
	for (size_t i = 0; i < rules->plain[column].count; i++)
		names_add(names, rules->plain[column].name[i]);
}

/* Runs the column's rules over a text not met before. */
static const char *
rewrite(struct name_rules *rules, enum list_column column, const char *text, const char *file,
        size_t line)
{
	for (size_t i = 0; i < rules->count; i++) {
		struct name_rule *rule = &rules->rule[i];
		const char *out, *why;

		if (rule->column != column)
			continue;
		switch (
		    pattern_replace(rule->pattern, text, rule->name, &rules->arena, &out, &why)) {
		case PATTERN_YES:
			text = out;
			break;
		case PATTERN_NO:
			break;
		case PATTERN_FAULT:
			give_up(rule, text, file, line, why);
		}
	}
	return text;
}

const char *
name_rules_apply(struct name_rules *rules, enum list_column column, const char *text,
                 const char *file, size_t line)
{
	struct memory *memory = &rules->memory[column];
	size_t before = memory->seen.count, number;

	if (!memory->used)
		return text;
	number = names_add(&memory->seen, text);
	if (number < before)
		return memory->made[number];
	if (number >= memory->room) {
		memory->room = memory->room ? 2 * memory->room : 32;
		memory->made = mem_resize(memory->made, memory->room, sizeof *memory->made);
	}
	text = rewrite(rules, column, memory->seen.name[number], file, line);
	if (list_columns[column].holds != FIELD_REMARK) {
		char *folded = arena_copy(&rules->arena, text, strlen(text));

		text_fold_blanks(folded);
		text = folded;
	}
	memory->made[number] = text;
	return text;
}
