#include "table/file_names.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool
is_safe(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
	       c == '-' || c == '_';
}

static bool
is_device(const char *name)
{
	static const char *const devices[] = {"con", "prn", "aux", "nul"};
	static const char *const numbered[] = {"com", "lpt"};
	char letters[4] = "";

	for (size_t i = 0; i < sizeof devices / sizeof *devices; i++)
		if (text_equal_fold(name, devices[i]))
			return true;
	if (strlen(name) != 4 || name[3] < '0' || name[3] > '9')
		return false;
	memcpy(letters, name, 3);
	for (size_t i = 0; i < sizeof numbered / sizeof *numbered; i++)
		if (text_equal_fold(letters, numbered[i]))
			return true;
	return false;
}

static void
add_safe(struct text *out, const char *name, const char *reserved)
{
	bool replaced = false;

	text_clear(out);
	for (size_t i = 0; name[i] != '\0' && out->length < FILE_NAME_MOST; i++) {
		bool safe = is_safe(name[i]) && !(i == 0 && name[i] == '-');

		if (safe)
			text_addc(out, name[i]);
		else if (!replaced)
			text_addc(out, '_');
		replaced = !safe;
	}
	if (out->length == 0 || is_device(out->bytes) || text_equal_fold(out->bytes, reserved))
		text_addc(out, '_');
}

/* The same for names that differ in letter case alone. */
static size_t
add_folded(struct names *taken, const struct text *name)
{
	struct text folded = {0};
	size_t number;

	for (size_t i = 0; i < name->length; i++)
		text_addc(&folded, name->bytes[i] >= 'A' && name->bytes[i] <= 'Z'
		                       ? (char)(name->bytes[i] - 'A' + 'a')
		                       : name->bytes[i]);
	number = names_add_bytes(taken, folded.bytes, folded.length);
	text_free(&folded);
	return number;
}

/* Is the name free? Then it is taken. */
static bool
take(struct names *taken, const struct text *name)
{
	size_t known = taken->count;

	return add_folded(taken, name) == known;
}

static const char *
with_ending(struct arena *arena, struct text *name)
{
	text_adds(name, FILE_ENDING);
	return arena_copy(arena, name->bytes, name->length);
}

static const char *
with_number(struct arena *arena, struct names *taken, struct numbering *numbering, const char *name,
            const char *reserved)
{
	struct text out = {0};
	const char *given;
	size_t length, *number;

	add_safe(&out, name, reserved);
	length = out.length;
	number = numbering_next(numbering, out.bytes);
	while (!take(taken, &out)) {
		char digits[24];

		snprintf(digits, sizeof digits, "-%zu", (*number)++);
		out.length = length;
		text_adds(&out, digits);
	}
	given = with_ending(arena, &out);
	text_free(&out);
	return given;
}

const char **
file_names(struct arena *arena, const char *const *name, size_t count, const char *reserved)
{
	const char **file = arena_alloc(arena, count * sizeof *file);
	struct names taken = {0};
	struct numbering numbering = {0};
	struct text safe = {0};

	for (size_t i = 0; i < count; i++) {
		file[i] = NULL;
		add_safe(&safe, name[i], reserved);
		if (strcmp(safe.bytes, name[i]) == 0 && take(&taken, &safe))
			file[i] = with_ending(arena, &safe);
	}
	for (size_t i = 0; i < count; i++)
		if (file[i] == NULL)
			file[i] = with_number(arena, &taken, &numbering, name[i], reserved);
	names_free(&taken);
	numbering_free(&numbering);
	text_free(&safe);
	return file;
}

bool
file_name_fits(const char *name, const char *reserved)
{
	const size_t ending = sizeof FILE_ENDING - 1;
	size_t length = strlen(name);
	struct text bare = {0};
	bool fits;

	if (length <= ending || strcmp(name + length - ending, FILE_ENDING) != 0 || *name == '-')
		return false;
	text_add(&bare, name, length - ending);
	fits = !is_device(bare.bytes) && !text_equal_fold(bare.bytes, reserved);
	for (size_t i = 0; i < bare.length; i++)
		fits &= is_safe(bare.bytes[i]);
	text_free(&bare);
	return fits;
}
