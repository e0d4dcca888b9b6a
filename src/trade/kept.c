#include "trade/kept.h"

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

static const char *const names[] = {
    [KEPT_AFRESH] = "new", [KEPT_PAID] = "paid", [KEPT_OPEN] = "open"};

const char *
kept_state_name(enum kept_state state)
{
	return names[state];
}

static size_t
state_column(const struct orders *orders, struct faults *faults)
{
	for (size_t i = 0; i < orders->carried; i++)
		if (text_equal_fold(orders->carry[i], "state"))
			return i;
	fault(faults, 0, "there is no column \"state\": paid, open or new for each line");
	return SIZE_MAX;
}

bool
kept_state_named(const char *name, enum kept_state *state)
{
	*state = KEPT_AFRESH;
	if (*name == '\0')
		return true;
	for (size_t i = 0; i < sizeof names / sizeof *names; i++)
		if (strcmp(names[i], name) == 0) {
			*state = (enum kept_state)i;
			return true;
		}
	return false;
}

void
kept_read(struct kept *kept, struct table *table)
{
	struct orders *orders = &kept->orders;
	struct faults faults = {0};
	size_t column, count = 0;

	*kept = (struct kept){0};
	orders_read(orders, table);
	orders_sort(orders);
	faults.file = orders->file;
	column = state_column(orders, &faults);
	kept->state = mem_zero(orders->count, sizeof *kept->state);
	for (size_t i = 0; column != SIZE_MAX && i < orders->count; i++) {
		const struct order_line *line = &orders->row[i];

		if (!kept_state_named(line->carry[column], &kept->state[count]))
			fault(&faults, line->line,
			      "unknown \"state\" value \"%s\": use one of paid, open, new",
			      text_show(&orders->arena, line->carry[column]));
		if (!order_line_is_owned(line) && line->qty > 0)
			orders->row[count++] = *line;
	}
	faults_end(&faults);
	orders->count = count;
}

void
kept_free(struct kept *kept)
{
	orders_free(&kept->orders);
	free(kept->state);
	*kept = (struct kept){0};
}
