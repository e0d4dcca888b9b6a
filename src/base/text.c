#include "base/text.h"

#include "base/escape.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SHOWN_BYTES = 60, COMPARED_MOST = 1000 };

static void
grow(struct text *text, size_t length)
{
	size_t room = text->length + length + 1;

	text->bytes = mem_resize(text->bytes, room, 1);
	text->room = room;
	mem_expect(text->bytes, room);
}

void
text_reserve(struct text *text, size_t length)
{
	if (text->length + length + 1 > text->room)
		grow(text, length);
}

void
text_add(struct text *text, const char *bytes, size_t length)
{
	if (text->room - text->length <= length)
		grow(text, length > text->room + 32 ? length : text->room + 32);
	if (length > 0)
		memcpy(text->bytes + text->length, bytes, length);
	text->length += length;
	text->bytes[text->length] = '\0';
}

void
text_adds(struct text *text, const char *string)
{
	text_add(text, string, strlen(string));
}

void
text_addc(struct text *text, char c)
{
	if (text->room - text->length <= 1)
		text_reserve(text, text->room + 32);
	text->bytes[text->length++] = c;
	text->bytes[text->length] = '\0';
}

void
text_clear(struct text *text)
{
	text->length = 0;
	if (text->bytes != NULL)
		text->bytes[0] = '\0';
}

void
text_free(struct text *text)
{
	free(text->bytes);
	*text = (struct text){0};
}

static unsigned char
lower(char c)
{
	return (unsigned char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

bool
text_equal_fold(const char *a, const char *b)
{
	for (; *a != '\0' && lower(*a) == lower(*b); a++, b++)
		;
	return lower(*a) == lower(*b);
}

/* Bytes of the blank at s: 1, 2 for U+00A0, 3 for U+202F and U+2009, 0 for none. */
static size_t
blank_at(const char *s)
{
	if (text_is_blank_byte(*s))
		return 1;
	if (s[0] == '\xC2' && s[1] == '\xA0')
		return 2;
	if (s[0] == '\xE2' && s[1] == '\x80' && (s[2] == '\xAF' || s[2] == '\x89'))
		return 3;
	return 0;
}

void
text_plain_blanks(char *string)
{
	char *to = string;

	for (const char *from = string; *from != '\0';) {
		size_t blank = blank_at(from);

		*to++ = blank > 1 ? ' ' : *from;
		from += blank > 1 ? blank : 1;
	}
	*to = '\0';
}

void
text_fold_blanks(char *string)
{
	const char *from = string;
	char *to = string;
	bool pending = false;

	while (*from != '\0') {
		size_t blank = blank_at(from);

		if (blank > 0) {
			pending = to != string;
			from += blank;
			continue;
		}
		if (pending)
			*to++ = ' ';
		pending = false;
		*to++ = *from++;
	}
	*to = '\0';
}

char *
text_trim(char *string)
{
	size_t length;

	while (text_is_blank_byte(*string))
		string++;
	length = strlen(string);
	while (length > 0 && text_is_blank_byte(string[length - 1]))
		length--;
	string[length] = '\0';
	return string;
}

size_t
text_utf8_step(const char *bytes, size_t left)
{
	const unsigned char *s = (const unsigned char *)bytes;
	size_t need;
	unsigned char low = 0x80, high = 0xBF;

	if (s[0] < 0x80)
		return 1;
	if (s[0] >= 0xC2 && s[0] <= 0xDF)
		need = 2;
	else if (s[0] >= 0xE0 && s[0] <= 0xEF)
		need = 3;
	else if (s[0] >= 0xF0 && s[0] <= 0xF4)
		need = 4;
	else
		return 0;
	if (left < need)
		return 0;
	/* No overlong forms, no surrogates, nothing past U+10FFFF. */
	if (s[0] == 0xE0)
		low = 0xA0;
	else if (s[0] == 0xED)
		high = 0x9F;
	else if (s[0] == 0xF0)
		low = 0x90;
	else if (s[0] == 0xF4)
		high = 0x8F;
	if (s[1] < low || s[1] > high)
		return 0;
	for (size_t i = 2; i < need; i++)
		if (s[i] < 0x80 || s[i] > 0xBF)
			return 0;
	return need;
}

size_t
text_utf8_bad(const char *bytes, size_t length)
{
	const unsigned char *s = (const unsigned char *)bytes;
	size_t at = 0;

	while (at < length) {
		uint64_t eight;
		size_t step;

		if (length - at >= sizeof eight) {
			memcpy(&eight, s + at, sizeof eight);
			if ((eight & UINT64_C(0x8080808080808080)) == 0) {
				at += sizeof eight;
				continue;
			}
		}
		step = text_utf8_step(bytes + at, length - at);
		if (step == 0)
			return at;
		at += step;
	}
	return length;
}

static const char *
show(struct arena *arena, const char *string, size_t most)
{
	struct text out = {0};
	size_t length = strlen(string), at = 0, written;
	const char *shown;

	while (at < length && out.length < most) {
		char next[ESCAPE_ROOM];

		at += escape_next(string + at, length - at, next, &written);
		text_add(&out, next, written);
	}
	if (at < length)
		text_adds(&out, "...");
	shown = arena_copy(arena, out.bytes ? out.bytes : "", out.length);
	text_free(&out);
	return shown;
}

const char *
text_show(struct arena *arena, const char *string)
{
	return show(arena, string, SHOWN_BYTES);
}

const char *
text_show_all(struct arena *arena, const char *string)
{
	return show(arena, string, SIZE_MAX);
}

const char **
text_list(struct arena *arena, const char *list, size_t *count)
{
	size_t most = 1;
	const char **part;

	*count = 0;
	if (list == NULL)
		return NULL;
	for (const char *s = list; *s != '\0'; s++)
		most += *s == ',';
	part = arena_alloc(arena, most * sizeof *part);
	for (;;) {
		size_t length = strcspn(list, ",");

		part[(*count)++] = arena_copy(arena, list, length);
		if (list[length] == '\0')
			return part;
		list += length + 1;
	}
}

size_t
text_distance(const char *a, const char *b)
{
	size_t columns = strlen(b) + 1;
	size_t *rows = mem_zero(3 * columns, sizeof *rows);
	size_t *above2 = rows, *above = rows + columns, *row = rows + 2 * columns, *oldest;
	size_t result;

	for (size_t j = 0; j < columns; j++)
		row[j] = j;
	for (size_t i = 1; a[i - 1] != '\0'; i++) {
		oldest = above2;
		above2 = above;
		above = row;
		row = oldest;
		row[0] = i;
		for (size_t j = 1; j < columns; j++) {
			size_t best = above[j - 1] + (lower(a[i - 1]) != lower(b[j - 1]));

			if (above[j] + 1 < best)
				best = above[j] + 1;
			if (row[j - 1] + 1 < best)
				best = row[j - 1] + 1;
			if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
			    lower(a[i - 2]) == lower(b[j - 1]) && above2[j - 2] + 1 < best)
				best = above2[j - 2] + 1;
			row[j] = best;
		}
	}
	result = row[columns - 1];
	free(rows);
	return result;
}

const char *
text_nearest(const char *word, const char *const *choices, size_t count)
{
	const char *nearest = NULL;
	size_t length = strlen(word), least = length / 2 + 1;

	for (size_t i = 0; i < count; i++) {
		size_t other = strlen(choices[i]), distance;

		if (length > COMPARED_MOST || other > length + least || length > other + least)
			continue;
		distance = text_distance(word, choices[i]);

		if (distance < least) {
			least = distance;
			nearest = choices[i];
		}
	}
	return nearest;
}

/* FNV-1a, 64 bits folded to size_t: http://www.isthe.com/chongo/tech/comp/fnv/ */
static size_t
hash_bytes(const char *bytes, size_t length)
{
	uint64_t hash = UINT64_C(14695981039346656037);

	for (size_t i = 0; i < length; i++) {
		hash ^= (unsigned char)bytes[i];
		hash *= UINT64_C(1099511628211);
	}
	return (size_t)(hash ^ (hash >> 32));
}

/* The slot that holds the name, or the free slot where it belongs. */
static size_t
find_slot(const struct names *names, const char *bytes, size_t length)
{
	size_t at = hash_bytes(bytes, length) & (names->slots - 1);

	while (names->slot[at] != 0) {
		size_t number = names->slot[at] - 1;

		if (names->length[number] == length &&
		    memcmp(names->name[number], bytes, length) == 0)
			return at;
		at = (at + 1) & (names->slots - 1);
	}
	return at;
}

static void
grow_slots(struct names *names)
{
	/* So that a number + 1 is one of 32 bits. */
	if (names->slots > UINT32_MAX)
		mem_out();
	free(names->slot);
	names->slots = names->slots ? 2 * names->slots : 64;
	names->slot = mem_zero(names->slots, sizeof *names->slot);
	for (size_t i = 0; i < names->count; i++)
		names->slot[find_slot(names, names->name[i], names->length[i])] = (uint32_t)(i + 1);
}

size_t
names_add_bytes(struct names *names, const char *bytes, size_t length)
{
	size_t at;

	if (2 * (names->count + 1) > names->slots)
		grow_slots(names);
	at = find_slot(names, bytes, length);
	if (names->slot[at] != 0)
		return names->slot[at] - 1;
	if (names->count == names->room) {
		names->room = names->room ? 2 * names->room : 32;
		names->name = mem_resize(names->name, names->room, sizeof *names->name);
		names->length = mem_resize(names->length, names->room, sizeof *names->length);
	}
	names->name[names->count] = arena_copy(&names->arena, bytes, length);
	names->length[names->count] = length;
	names->slot[at] = (uint32_t)++names->count;
	return names->count - 1;
}

size_t
names_add(struct names *names, const char *string)
{
	return names_add_bytes(names, string, strlen(string));
}

size_t
names_find(const struct names *names, const char *string)
{
	size_t at;

	if (names->count == 0)
		return SIZE_MAX;
	at = find_slot(names, string, strlen(string));
	return names->slot[at] ? names->slot[at] - 1 : SIZE_MAX;
}

void
names_free(struct names *names)
{
	free(names->name);
	free(names->length);
	free(names->slot);
	arena_free(&names->arena);
	*names = (struct names){0};
}

size_t *
numbering_next(struct numbering *numbering, const char *name)
{
	size_t known = numbering->names.count, number = names_add(&numbering->names, name);

	if (number == numbering->room) {
		numbering->room = numbering->room ? 2 * numbering->room : 16;
		numbering->next =
		    mem_resize(numbering->next, numbering->room, sizeof *numbering->next);
	}
	if (number == known)
		numbering->next[number] = 2;
	return &numbering->next[number];
}

void
numbering_add(struct text *name, size_t *number)
{
	char digits[24];

	snprintf(digits, sizeof digits, "#%zu", (*number)++);
	text_adds(name, digits);
}

void
numbering_free(struct numbering *numbering)
{
	names_free(&numbering->names);
	free(numbering->next);
	*numbering = (struct numbering){0};
}
