#include "trade/tally.h"

#include "base/err.h"
#include "trade/counted.h"

#include <stdlib.h>
#include <string.h>

void
tally_add(struct tally *tally, const char *const *field, int64_t qty)
{
	size_t known = tally->keys.count, at;
	struct text key = {0};

	for (size_t i = 0; i < tally->columns; i++)
		text_add(&key, field[i], strlen(field[i]) + 1);
	at = names_add_bytes(&tally->keys, key.bytes, key.length);
	text_free(&key);
	if (at == known) {
		MEM_ROOM(tally->qty, known, tally->room);
		tally->qty[at] = 0;
	}
	tally->qty[at] += qty;
}

static int
compare_numbers(const void *left, const void *right, void *keys)
{
	return counted_compare_keys(keys, *(const size_t *)left, *(const size_t *)right);
}

static void
check_sum(const struct tally *tally, size_t at, const char *file)
{
	struct arena arena = {0};

	if (tally->qty[at] > QTY_MOST)
		die("%s: rows of %s, %s together have %lld pieces: at most %lld are possible", file,
		    text_show(&arena, counted_key_field(&tally->keys, at, 0)),
		    text_show(&arena, counted_key_field(&tally->keys, at, 1)),
		    (long long)tally->qty[at], (long long)QTY_MOST);
}

static void
write_row(struct sheet *sheet, const struct tally *tally, size_t at)
{
	for (size_t i = 0; i < tally->columns; i++) {
		if (i == tally->qty_at)
			sheet_qty(sheet, tally->qty[at]);
		sheet_field(sheet, counted_key_field(&tally->keys, at, i));
	}
	if (tally->qty_at == tally->columns)
		sheet_qty(sheet, tally->qty[at]);
	sheet_end_row(sheet);
}

void
tally_write(struct sheet *sheet, const struct tally *tally, const char *file)
{
	size_t count = tally->keys.count;
	size_t *number;

	for (size_t i = 0; i < count; i++)
		check_sum(tally, i, file);
	number = mem_alloc(count * sizeof *number);
	sheet_fields(sheet, tally->column, tally->qty_at);
	sheet_field(sheet, "qty");
	sheet_fields(sheet, tally->column + tally->qty_at, tally->columns - tally->qty_at);
	sheet_end_row(sheet);
	for (size_t i = 0; i < count; i++)
		number[i] = i;
	if (count > 0)
		qsort_r(number, count, sizeof *number, compare_numbers, (void *)&tally->keys);
	for (size_t i = 0; i < count; i++)
		if (tally->qty[number[i]] > 0)
			write_row(sheet, tally, number[i]);
	free(number);
}

void
tally_free(struct tally *tally)
{
	names_free(&tally->keys);
	free(tally->qty);
}
