/*
 * Fuzz target: patterns of strangers, and replacements (pattern.h).
 *
 * Input: a pattern, a subject and a replacement, parted by lines of "----"; the line
 * feed before such a line is not part of the text.
 *
 * Holds: a match takes all of the subject, and no other one than PCRE2 says; what groups take and
 * what replacements make is UTF-8; a replacement without $ is what comes out, and one that was
 * found right is never refused for its form; a text that is quoted matches itself, and no other; a
 * pattern that strays ends at a limit, soon.
 */
#include "harness.h"

#include "base/err.h"
#include "base/pattern.h"

#include <string.h>

struct drawn {
	const char *pattern, *subject, *replacement;
};

/* PCRE2 is not built to be watched, so the fuzzer would not see that an input reaches something new
 * in it. It counts these as it counts edges: which constructs a pattern has, each with what became
 * of the pattern. */
__attribute__((section("__libfuzzer_extra_counters"))) static uint8_t seen[8192];

/* A construct is a few bytes; those that are no ASCII, or that nothing is said of, count as one. */
static void
see(unsigned what, const char *bytes, size_t length)
{
	unsigned hash = what * 31;

	for (size_t i = 0; i < length && bytes[i] != '\0'; i++) {
		unsigned char c = (unsigned char)bytes[i];

		hash = (hash ^ (c > ' ' && c < 0x7F ? c : ' ')) * 16777619;
	}
	seen[(hash ^ hash >> 15) % sizeof seen] = 1;
}

static void
see_constructs(const char *pattern, unsigned result)
{
	for (const char *s = pattern; *s != '\0'; s++) {
		if (strncmp(s, "(*", 2) == 0)
			see(result, s, 4);
		else if (strncmp(s, "(?", 2) == 0)
			see(result, s, s[2] != '\0' && strchr("<P(", s[2]) != NULL ? 4 : 3);
		else if (*s == '\\')
			see(result, s, 2);
		else if (*s == '[')
			see(result, s, s[1] == ':' ? 3 : s[1] == '^' ? 2 : 1);
		else if (strchr("(*+?}|.^$", *s) != NULL)
			see(result, s, s[1] == '+' || s[1] == '?' ? 2 : 1);
	}
}

static void
check_utf8(const char *text, const char *what)
{
	FUZZ_CHECK(text_utf8_bad(text, strlen(text)) == strlen(text), what);
}

/* May \K, which moves the start of the match, be in the pattern? */
static bool
may_move_start(const char *pattern)
{
	return strstr(pattern, "\\K") != NULL;
}

/* What the groups took, put together by hand for a replacement of $1, ${1}, $$ and text alone; NULL
 * where it has anything else. */
static const char *
replaced_by_hand(const char *replacement, const char *const *group, size_t groups)
{
	struct fuzz_bytes out = {0};

	fuzz_adds(&out, "");
	for (const char *s = replacement; *s != '\0'; s++) {
		size_t number = 0, digits = 0;
		bool braces;

		if (*s != '$') {
			fuzz_add(&out, s, 1);
			continue;
		}
		if (s[1] == '$') {
			fuzz_adds(&out, "$");
			s++;
			continue;
		}
		braces = s[1] == '{';
		for (s += 1 + braces; *s >= '0' && *s <= '9'; s++, digits++)
			number = 10 * number + (size_t)(*s - '0');
		if (digits == 0 || digits > 4 || number >= groups || (braces && *s != '}'))
			return NULL;
		fuzz_adds(&out, group[number]);
		s -= !braces;
	}
	return out.bytes;
}

static void
check_replacement(struct pattern *pattern, const struct drawn *drawn, struct arena *arena,
                  enum pattern_result matches)
{
	const char *why = pattern_replacement_fault(pattern, drawn->replacement, arena),
	           *out = NULL;
	const char **group, *unused, *due;
	struct pattern_group *named;
	enum pattern_result got;

	if (why != NULL) {
		check_utf8(why, "what is wrong is UTF-8");
		return;
	}
	got = pattern_replace(pattern, drawn->subject, drawn->replacement, arena, &out, &why);
	if (got == PATTERN_FAULT) {
		check_utf8(why, "what is wrong is UTF-8");
		FUZZ_CHECK(matches == PATTERN_FAULT || strchr(drawn->replacement, '$') != NULL,
		           "a replacement without $ is not refused");
		return;
	}
	FUZZ_CHECK(got == matches, "what matches is replaced");
	if (got == PATTERN_NO)
		return;
	check_utf8(out, "what comes out is UTF-8");
	if (may_move_start(drawn->pattern))
		return;
	if (pattern_take(pattern, drawn->subject, arena, &group, &unused) != PATTERN_YES)
		FUZZ_CHECK(false, "what is replaced is taken");
	FUZZ_CHECK(strcmp(group[0], drawn->subject) == 0, "a match takes all of the subject");
	/* As many groups as a replacement may name. */
	for (size_t groups = 1;; groups++) {
		char number[32];
		struct text text = {0};
		bool more;

		text_adds(&text, "$");
		for (size_t n = groups, digits = 0; digits == 0 || n > 0; n /= 10, digits++)
			number[sizeof number - 1 - digits] = (char)('0' + n % 10);
		text_add(&text,
		         number + sizeof number -
		             (groups < 10    ? 1
		              : groups < 100 ? 2
		                             : 3),
		         groups < 10    ? 1
		         : groups < 100 ? 2
		                        : 3);
		more =
		    groups < 999 && pattern_replacement_fault(pattern, text.bytes, arena) == NULL;
		text_free(&text);
		if (more)
			continue;
		for (size_t i = 0; i < groups; i++)
			check_utf8(group[i], "what a group takes is UTF-8");
		due = replaced_by_hand(drawn->replacement, group, groups);
		break;
	}
	if (due != NULL)
		FUZZ_CHECK(strcmp(due, out) == 0, "a replacement is put together");
	for (size_t i = pattern_named(pattern, arena, &named); i-- > 0;)
		check_utf8(named[i].name, "names of groups are UTF-8");
}

static void
check_pattern(const struct drawn *drawn, struct arena *arena)
{
	const char *why = NULL, **group;
	struct pattern *pattern = pattern_new(drawn->pattern, arena, &why);
	enum pattern_result matches;

	see_constructs(drawn->pattern, pattern == NULL);
	if (pattern == NULL) {
		see(10, why, strcspn(why, "("));
		check_utf8(why, "what is wrong is UTF-8");
		return;
	}
	matches = pattern_matches(pattern, drawn->subject, arena, &why);
	if (matches == PATTERN_FAULT)
		check_utf8(why, "what is wrong is UTF-8");
	see_constructs(drawn->pattern, 2 + matches);
	FUZZ_CHECK(pattern_take(pattern, drawn->subject, arena, &group, &why) == matches,
	           "what matches is taken");
	check_replacement(pattern, drawn, arena, matches);
	pattern_free(pattern);
}

/* The text as a pattern that matches it alone. */
static const char *
quoted(const char *text)
{
	struct fuzz_bytes out = {0};

	fuzz_adds(&out, "");
	for (; *text != '\0'; text++) {
		/* Any ASCII that is no letter or digit may have a backslash. */
		if ((unsigned char)*text < 0x80 && !(*text >= '0' && *text <= '9') &&
		    !((*text | 32) >= 'a' && (*text | 32) <= 'z'))
			fuzz_adds(&out, "\\");
		fuzz_add(&out, text, 1);
	}
	return out.bytes;
}

static const char *
dollars_doubled(const char *text)
{
	struct fuzz_bytes out = {0};

	fuzz_adds(&out, "");
	for (; *text != '\0'; text++) {
		fuzz_add(&out, text, 1);
		if (*text == '$')
			fuzz_add(&out, text, 1);
	}
	return out.bytes;
}

static void
check_quoted(const struct drawn *drawn, struct arena *arena)
{
	const char *why = NULL, *out = NULL;
	struct pattern *pattern = pattern_new(quoted(drawn->subject), arena, &why);
	bool same = strcmp(drawn->subject, drawn->replacement) == 0;

	FUZZ_CHECK(pattern != NULL, "a quoted text is a pattern");
	FUZZ_CHECK(pattern_matches(pattern, drawn->subject, arena, &why) == PATTERN_YES,
	           "a quoted text matches itself");
	FUZZ_CHECK(pattern_matches(pattern, drawn->replacement, arena, &why) ==
	               (same ? PATTERN_YES : PATTERN_NO),
	           "a quoted text matches no other");
	FUZZ_CHECK(pattern_replace(pattern, drawn->subject, dollars_doubled(drawn->replacement),
	                           arena, &out, &why) == PATTERN_YES &&
	               strcmp(out, drawn->replacement) == 0,
	           "a text is replaced by any other");
	pattern_free(pattern);
}

static void
check_all(void *data)
{
	struct arena arena = {0};

	check_pattern(data, &arena);
	check_quoted(data, &arena);
	arena_free(&arena);
}

/* A text without the line feed that its section ends in. */
static const char *
text_of(struct fuzz_input *in)
{
	struct fuzz_bytes section = fuzz_section(in);
	size_t length = strlen(section.bytes);

	if (length > 0 && section.bytes[length - 1] == '\n')
		length--;
	return fuzz_of(section.bytes, length).bytes;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_input in = fuzz_start(data, size);
	struct drawn drawn;

	drawn.pattern = text_of(&in);
	drawn.subject = text_of(&in);
	drawn.replacement = text_of(&in);
	if (size > 2000 || text_utf8_bad((const char *)data, size) < size)
		return -1; /* whoever reads files checks that */
	fuzz_run(check_all, &drawn);
	return 0;
}
