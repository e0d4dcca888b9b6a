/*
 * Patterns: PCRE2 regular expressions that must match a whole field, and their replacements.
 *
 * UTF-8 subjects; the interpreter, never the JIT, whose limits differ. Patterns come from
 * strangers: match, depth and heap limits are set (values below), which a pattern can lower and not
 * raise; callouts, (?C), do nothing; \C, which would take a character apart, is refused.
 */
#ifndef LOTPIPE_PATTERN_H
#define LOTPIPE_PATTERN_H

#include "base/text.h"

#include <stdbool.h>
#include <stdint.h>

enum {
	PATTERN_MATCH_LIMIT = 1000000, /* PCRE2's unit: calls of its match() */
	PATTERN_DEPTH_LIMIT = 10000,
	PATTERN_HEAP_LIMIT = 65536 /* KiB */
};

struct pattern;

enum pattern_result { PATTERN_NO, PATTERN_YES, PATTERN_FAULT };

/* Compiles; on failure returns NULL and *why (in the arena) says what is wrong and where. */
struct pattern *pattern_new(const char *text, struct arena *arena, const char **why);
void pattern_free(struct pattern *pattern); /* NULL is fine */

/* Does it match the whole subject? PATTERN_FAULT (a limit was hit): *why says so. */
enum pattern_result pattern_matches(struct pattern *pattern, const char *subject,
                                    struct arena *arena, const char **why);

/* A group that has a name. */
struct pattern_group {
	const char *name; /* in the arena */
	size_t number;
};
/* The named groups, in the order of their names; in the arena. */
size_t pattern_named(const struct pattern *pattern, struct arena *arena,
                     struct pattern_group **group);
/* What the groups took when the pattern matches the whole subject: text[number], of which there
 * are one more than groups; "" for one that is unset. In the arena. */
enum pattern_result pattern_take(struct pattern *pattern, const char *subject, struct arena *arena,
                                 const char ***text, const char **why);

/* What is wrong with a replacement for this pattern ($9 where it has 2 groups), or NULL. */
const char *pattern_replacement_fault(const struct pattern *pattern, const char *replacement,
                                      struct arena *arena);

/* The replacement with $1, ${1}, ${name} standing for what the groups took when the pattern
 * matched the whole subject, $$ for a dollar sign; unset groups are empty. */
enum pattern_result pattern_replace(struct pattern *pattern, const char *subject,
                                    const char *replacement, struct arena *arena, const char **out,
                                    const char **why);

#endif
