/*
 * Fuzz target: swap rules and their application to a need list, through lot-swap.
 *
 * Input: the rules, then the need list, parted by a line of "----".
 *
 * Holds: what is written is a table, which lot-swap without rules leaves as it is; the lots and
 * pieces that are told are those in it; rules that swap one for one, or add alternatives, leave as
 * many pieces as there were; the exit status is 1 exactly where a rule that must be applied is not.
 */
#include "harness.h"

#include "table/table.h"

#include <stdio.h>
#include <string.h>

static struct fuzz_result
swap(const char *rules, struct fuzz_bytes need)
{
	const char *const args[] = {"lot-swap", "-r", rules, NULL};

	fuzz_put_file("-", need);
	return fuzz_program_run(lot_swap_main, args);
}

/* Lots and pieces of a need list, counted from what is written. */
static void
count(const struct fuzz_table *table, size_t *lots, fuzz_wide *pieces)
{
	size_t lot = fuzz_column(table, "lot"), qty = fuzz_column(table, "qty");

	*lots = 0;
	*pieces = 0;
	FUZZ_CHECK(qty != SIZE_MAX, "a need list has quantities");
	for (size_t i = 1; i < table->rows; i++) {
		fuzz_wide needed = fuzz_number(table->field[i][qty], 0);
		bool before = false;

		/* Of the rows of a lot, which agree in quantity, the first one counts. */
		for (size_t k = 1; k < i && lot != SIZE_MAX && !before; k++)
			before = *table->field[i][lot] != '\0' &&
			         strcmp(table->field[i][lot], table->field[k][lot]) == 0;
		if (before || needed == 0)
			continue;
		*lots += 1;
		*pieces += needed;
	}
}

/* The last line of the summary: `...: N lots, N pieces`. */
static void
check_told(const struct fuzz_result *result, size_t lots, fuzz_wide pieces)
{
	const char *last = result->err.bytes, *colon;
	unsigned long told_lots = 0;
	long long told_pieces = 0;

	for (const char *s = last; *s != '\0'; s++)
		if (*s == '\n' && s[1] != '\0')
			last = s + 1;
	colon = strrchr(last, ':');
	FUZZ_CHECK(colon != NULL &&
	               sscanf(colon, ": %lu lot%*[s,] %lld piece", &told_lots, &told_pieces) == 2,
	           "the summary tells lots and pieces");
	FUZZ_CHECK(told_lots == lots && told_pieces == pieces, "what is told is what is written");
}

/* Do all rules swap one piece for one, or add alternatives? */
struct rules {
	bool one_for_one;
};

static void
read_rules(void *data)
{
	struct rules *rules = data;
	struct table *table = table_open("rules.csv", NULL);
	size_t does = table_column(table, "do"), qty = table_column(table, "qty");
	struct row row;

	rules->one_for_one = does != NO_COLUMN;
	while (table_next(table, &row)) {
		const char *what = row_field(&row, does), *pieces = row_field(&row, qty);

		if (strcmp(what, "may") != 0 &&
		    (strcmp(what, "use") != 0 || (*pieces != '\0' && strcmp(pieces, "1") != 0)))
			rules->one_for_one = false;
	}
	table_close(table);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const char none[] = "rule,do\n";
	struct fuzz_input in = fuzz_start(data, size);
	struct fuzz_bytes rules = fuzz_section(&in), need = fuzz_section(&in);
	struct fuzz_result result, before, again;
	struct fuzz_table table;
	struct rules kinds = {false};
	size_t lots, lots_before;
	fuzz_wide pieces, pieces_before;

	if (size > 3000)
		return -1;
	fuzz_put_file("rules.csv", rules);
	fuzz_put_file("none.csv", fuzz_of(none, sizeof none - 1));
	result = swap("rules.csv", need);
	if (result.status == 2)
		return 0;
	FUZZ_CHECK((result.status == 1) == (strstr(result.err.bytes, ", but must be:") != NULL),
	           "exit status 1 is for a rule that must be applied");
	table = fuzz_table(result.out);
	count(&table, &lots, &pieces);
	check_told(&result, lots, pieces);
	again = swap("none.csv", result.out);
	FUZZ_CHECK(again.status == 0, "what is written reads back");
	FUZZ_CHECK(fuzz_same(again.out, result.out), "without rules a list stays as it is");
	check_told(&again, lots, pieces);
	fuzz_run(read_rules, &kinds);
	if (!kinds.one_for_one)
		return 0;
	before = swap("none.csv", need);
	FUZZ_CHECK(before.status == 0, "a list that was read can be read");
	table = fuzz_table(before.out);
	count(&table, &lots_before, &pieces_before);
	FUZZ_CHECK(pieces == pieces_before, "swaps one for one leave as many pieces");
	return 0;
}
