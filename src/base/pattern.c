#include "base/pattern.h"

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct pattern {
	pcre2_code *code;
	pcre2_match_data *data;
	pcre2_match_context *limits;
	uint32_t groups;
};

/* \C would match a byte, and so take a character apart. */
#define COMPILE_OPTIONS                                                                            \
	(PCRE2_UTF | PCRE2_UCP | PCRE2_NEVER_BACKSLASH_C | PCRE2_ANCHORED | PCRE2_ENDANCHORED)

static const char *
pcre2_text(int number, struct arena *arena)
{
	PCRE2_UCHAR message[256];

	pcre2_get_error_message(number, message, sizeof message);
	return arena_copy(arena, (const char *)message, strlen((const char *)message));
}

struct pattern *
pattern_new(const char *text, struct arena *arena, const char **why)
{
	int number;
	PCRE2_SIZE at;
	struct pattern *pattern;
	pcre2_code *code = pcre2_compile((PCRE2_SPTR)text, PCRE2_ZERO_TERMINATED, COMPILE_OPTIONS,
	                                 &number, &at, NULL);

	if (code == NULL && number == PCRE2_ERROR_HEAP_FAILED)
		mem_out();
	if (code == NULL) {
		const char *told = pcre2_text(number, arena);
		struct text message = {0};
		char place[48];

		snprintf(place, sizeof place, " (at byte %zu of it)", (size_t)at + 1);
		text_adds(&message, told);
		text_adds(&message, place);
		*why = arena_copy(arena, message.bytes, message.length);
		text_free(&message);
		return NULL;
	}
	pattern = mem_zero(1, sizeof *pattern);
	pattern->code = code;
	pattern->data = pcre2_match_data_create_from_pattern(code, NULL);
	pattern->limits = pcre2_match_context_create(NULL);
	if (pattern->data == NULL || pattern->limits == NULL)
		mem_out();
	pcre2_set_match_limit(pattern->limits, PATTERN_MATCH_LIMIT);
	pcre2_set_depth_limit(pattern->limits, PATTERN_DEPTH_LIMIT);
	pcre2_set_heap_limit(pattern->limits, PATTERN_HEAP_LIMIT);
	pcre2_pattern_info(code, PCRE2_INFO_CAPTURECOUNT, &pattern->groups);
	return pattern;
}

void
pattern_free(struct pattern *pattern)
{
	if (pattern == NULL)
		return;
	pcre2_match_context_free(pattern->limits);
	pcre2_match_data_free(pattern->data);
	pcre2_code_free(pattern->code);
	free(pattern);
}

/* Turns a negative PCRE2 result into ours. */
static enum pattern_result
not_matched(int got, struct arena *arena, const char **why)
{
	switch (got) {
	case PCRE2_ERROR_NOMATCH:
		return PATTERN_NO;
	case PCRE2_ERROR_MATCHLIMIT:
		*why = "match limit reached, it backtracks too much: make it simpler";
		break;
	case PCRE2_ERROR_DEPTHLIMIT:
		*why = "match limit reached, it backtracks too deep: make it simpler";
		break;
	case PCRE2_ERROR_HEAPLIMIT:
		*why = "match limit reached, it takes too much memory: make it simpler";
		break;
	case PCRE2_ERROR_NOMEMORY:
		mem_out();
	default:
		*why = pcre2_text(got, arena);
	}
	return PATTERN_FAULT;
}

enum pattern_result
pattern_matches(struct pattern *pattern, const char *subject, struct arena *arena, const char **why)
{
	int got = pcre2_match(pattern->code, (PCRE2_SPTR)subject, strlen(subject), 0, 0,
	                      pattern->data, pattern->limits);

	return got >= 0 ? PATTERN_YES : not_matched(got, arena, why);
}

size_t
pattern_named(const struct pattern *pattern, struct arena *arena, struct pattern_group **group)
{
	PCRE2_SPTR entry = NULL;
	uint32_t count = 0, size = 0;

	pcre2_pattern_info(pattern->code, PCRE2_INFO_NAMECOUNT, &count);
	pcre2_pattern_info(pattern->code, PCRE2_INFO_NAMEENTRYSIZE, &size);
	pcre2_pattern_info(pattern->code, PCRE2_INFO_NAMETABLE, &entry);
	*group = arena_alloc(arena, count * sizeof **group);
	for (uint32_t i = 0; i < count; i++, entry += size) {
		const char *name = (const char *)entry + 2;

		(*group)[i].number = (size_t)entry[0] << 8 | entry[1];
		(*group)[i].name = arena_copy(arena, name, strlen(name));
	}
	return count;
}

enum pattern_result
pattern_take(struct pattern *pattern, const char *subject, struct arena *arena, const char ***text,
             const char **why)
{
	int got = pcre2_match(pattern->code, (PCRE2_SPTR)subject, strlen(subject), 0, 0,
	                      pattern->data, pattern->limits);
	const PCRE2_SIZE *at = pcre2_get_ovector_pointer(pattern->data);

	if (got < 0)
		return not_matched(got, arena, why);
	*text = arena_alloc(arena, (pattern->groups + 1) * sizeof **text);
	for (size_t i = 0; i <= pattern->groups; i++) {
		bool set = at[2 * i] != PCRE2_UNSET && at[2 * i] < at[2 * i + 1];

		(*text)[i] =
		    set ? arena_copy(arena, subject + at[2 * i], at[2 * i + 1] - at[2 * i]) : "";
	}
	return PATTERN_YES;
}

const char *
pattern_replacement_fault(const struct pattern *pattern, const char *replacement,
                          struct arena *arena)
{
	for (const char *s = replacement; *s != '\0'; s++) {
		unsigned long group;
		const char *digits;
		char message[96];

		if (*s != '$')
			continue;
		s++;
		if (*s == '$')
			continue;
		digits = *s == '{' ? s + 1 : s;
		if (*digits < '0' || *digits > '9') {
			if (*s != '\0' && (*s == '{' || *s == '_' || (*s | 32) >= 'a'))
				continue; /* a named group: told when it is used */
			return "a single $: write $$ for a dollar sign, $1 for what a group took";
		}
		group = strtoul(digits, NULL, 10);
		if (group <= pattern->groups)
			continue;
		snprintf(message, sizeof message, "$%lu, but the pattern has %u groups", group,
		         (unsigned)pattern->groups);
		return arena_copy(arena, message, strlen(message));
	}
	return NULL;
}

/* Of a result, unless subject and replacement have more: rules one after the other could double it
 * each time. */
enum { REPLACED_MOST = 65536 };
#define TOO_LONG                                                                                   \
	"what is put in its place is too long: 65536 bytes are the most, or as many as both have"

enum pattern_result
pattern_replace(struct pattern *pattern, const char *subject, const char *replacement,
                struct arena *arena, const char **out, const char **why)
{
	const uint32_t options = PCRE2_SUBSTITUTE_UNSET_EMPTY | PCRE2_SUBSTITUTE_OVERFLOW_LENGTH;
	PCRE2_SIZE room = 2 * (strlen(subject) + strlen(replacement)) + 64;
	PCRE2_SIZE most = strlen(subject) + strlen(replacement);

	if (most < REPLACED_MOST)
		most = REPLACED_MOST;
	for (;;) {
		PCRE2_SIZE length = room;
		char *result = arena_alloc(arena, room + 1);
		bool no_room;
		int got = pcre2_substitute(pattern->code, (PCRE2_SPTR)subject, strlen(subject), 0,
		                           options, pattern->data, pattern->limits,
		                           (PCRE2_SPTR)replacement, PCRE2_ZERO_TERMINATED,
		                           (PCRE2_UCHAR *)result, &length);

		/* Unset where it was not the result that lacked memory, but the match. */
		no_room = got == PCRE2_ERROR_NOMEMORY && length > room && length != PCRE2_UNSET;
		if (no_room && length <= most + 1) {
			room = length;
			continue;
		}
		if (no_room || (got > 0 && length > most)) {
			*why = TOO_LONG;
			return PATTERN_FAULT;
		}
		if (got == 0)
			return PATTERN_NO;
		if (got < 0)
			return not_matched(got, arena, why);
		*out = result;
		return PATTERN_YES;
	}
}
