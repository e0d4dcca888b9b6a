/*
 * RFC 4180 but for the delimiter. Text is quoted and numbers are not, so that an import that takes
 * quoted fields for text (most programs can be told to) changes nothing. Formula-like text is
 * guarded, see formula.h. A number has the locale's decimal mark, but not in columns that name
 * things: a part 3001.5 is no number.
 */
#include "show/forms.h"
#include "show/formula.h"
#include "show/number.h"

#define BYTE_ORDER_MARK "\uFEFF"
#define LINE_END        "\r\n"

struct sheet_writer {
	struct text *out;
	const struct view *view;
	const struct locale *locale;
	struct arena arena;
};

static void
add_text(struct sheet_writer *to, const char *field)
{
	if (*field == '\0')
		return;
	text_addc(to->out, '"');
	for (const char *s = formula_guard(&to->arena, field); *s != '\0'; s++) {
		if (*s == '"')
			text_addc(to->out, '"');
		text_addc(to->out, *s);
	}
	text_addc(to->out, '"');
}

static void
add_number(struct sheet_writer *to, const char *field)
{
	for (const char *s = field; *s != '\0'; s++)
		text_addc(to->out, *s == '.' ? to->locale->decimal : *s);
}

static void
add_headers(struct sheet_writer *to)
{
	for (size_t i = 0; i < to->view->columns; i++) {
		if (i > 0)
			text_addc(to->out, to->locale->delimiter);
		add_text(to, to->view->column[i].name);
	}
	text_adds(to->out, LINE_END);
}

static void
add_row(struct sheet_writer *to, const struct view_row *row)
{
	for (size_t i = 0; i < to->view->columns; i++) {
		const char *field = row->field[i];

		if (i > 0)
			text_addc(to->out, to->locale->delimiter);
		if (!to->view->column[i].named && number_is(field))
			add_number(to, field);
		else
			add_text(to, field);
	}
	/* A lone empty field is quoted, or the row would be a blank line. */
	if (to->view->columns == 1 && *row->field[0] == '\0')
		text_adds(to->out, "\"\"");
	text_adds(to->out, LINE_END);
}

/* What stands over a block: the group's column and value, in cells of their own. */
static void
add_heading(struct sheet_writer *to, const struct view_block *block)
{
	if (block->name == NULL) {
		add_text(to, "TOTAL");
	} else {
		add_text(to, to->view->group);
		text_addc(to->out, to->locale->delimiter);
		add_text(to, block->name);
	}
	text_adds(to->out, LINE_END);
}

void
form_sheet(struct text *out, const struct view *view, const struct locale *locale)
{
	struct sheet_writer to = {.out = out, .view = view, .locale = locale};

	text_adds(out, BYTE_ORDER_MARK);
	for (size_t i = 0; i < view->blocks; i++) {
		if (i > 0)
			text_adds(out, LINE_END);
		if (view->group != NULL)
			add_heading(&to, &view->block[i]);
		add_headers(&to);
		for (size_t j = 0; j < view->block[i].count; j++)
			add_row(&to, view->block[i].row[j]);
	}
	arena_free(&to.arena);
}
