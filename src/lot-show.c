/*
 * lot-show: any CSV for eyes.
 */
#include "base/err.h"
#include "base/opts.h"
#include "show/forms.h"
#include "table/output.h"

#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum { USUAL_WIDTH = 80, WIDTH_MOST = 1000000 };

enum { KEY_TO = OPT_LONG, KEY_LOCALE, KEY_COLUMNS, KEY_GROUP, KEY_SUM, KEY_TITLE, KEY_WIDE };

enum form { FORM_TEXT, FORM_MARKDOWN, FORM_HTML, FORM_SHEET, FORMS };

static const char *const form_names[FORMS] = {"text", "markdown", "html", "sheet"};

static const struct opt opts[] = {
    OPTS_COMMON,
    {KEY_TO, "to", "FORM", "text, markdown, html or sheet; default: text", false},
    {KEY_LOCALE, "locale", "NAME", "whose spreadsheet --to sheet is for; default: en", false},
    {KEY_COLUMNS, "columns", "A,B", "these columns, in this order; default: all", false},
    {KEY_GROUP, "group", "COL", "a block with sums for each value of that column", false},
    {KEY_SUM, "sum", "A,B", "sum up these columns; default: pieces, lots and money", false},
    {KEY_TITLE, "title", "TEXT", "title of the page of --to html", false},
    {KEY_WIDE, "wide", NULL, "do not cut to the terminal's width", false},
    OPTS_TABLE,
};

static const struct tool tool = {
    .name = "lot-show",
    .purpose =
        "Shows any CSV: as aligned text, Markdown, a page of HTML, or CSV for a spreadsheet.",
    .synopsis = "[-q] [-D C] [--encoding NAME] [--to FORM] [--locale NAME] [--columns A,B]\n"
                "                [--group COL] [--sum A,B] [--title TEXT] [--wide] < table.csv",
    .opts = opts,
    .count = sizeof opts / sizeof *opts,
    .notes = "Exit status: 0 done, 1 a sum could not be made, 2 trouble.",
};

struct settings {
	enum form to;
	const struct locale *locale; /* NULL: not said */
	struct view_choice choice;
	const char *title;      /* NULL: not said */
	struct table_form form; /* of stdin */
	bool wide, quiet;
};

/* ---- the options ---- */

static enum form
form_named(const char *name)
{
	struct arena arena = {0};
	const char *near;

	for (size_t i = 0; i < FORMS; i++)
		if (strcmp(name, form_names[i]) == 0)
			return (enum form)i;
	near = text_nearest(name, form_names, FORMS);
	if (near != NULL)
		opts_usage("--to: there is no form \"%s\", but \"%s\"", text_show(&arena, name),
		           near);
	opts_usage("--to: there is no form \"%s\": text, markdown, html or sheet",
	           text_show(&arena, name));
}

static const struct locale *
locale_named(const char *name)
{
	struct arena arena = {0};
	const char *why;
	const struct locale *found = locale_find(name, &arena, &why);

	if (found == NULL)
		opts_usage("--locale: \"%s\" is none known here: %s", text_show(&arena, name), why);
	arena_free(&arena);
	return found;
}

static void
check_options(const struct settings *set)
{
	if (set->locale != NULL && set->to != FORM_SHEET)
		opts_usage("--locale is for --to sheet");
	if (set->title != NULL && set->to != FORM_HTML)
		opts_usage("--title is for --to html");
	if (set->wide && set->to != FORM_TEXT)
		opts_usage("--wide is for --to text: nothing else is cut");
	if (set->title != NULL &&
	    text_utf8_bad(set->title, strlen(set->title)) < strlen(set->title))
		opts_usage("--title is not UTF-8");
}

static struct settings
read_options(int argc, char **argv)
{
	struct settings set = {0};
	struct opt_reader reader;
	const char *value;
	int key;

	opts_start(&reader, &tool, argc, argv, true);
	while ((key = opts_next(&reader, &value)) != OPT_END)
		switch (key) {
		case KEY_TO:
			set.to = form_named(value);
			break;
		case KEY_LOCALE:
			set.locale = locale_named(value);
			break;
		case KEY_COLUMNS:
			set.choice.columns = value;
			break;
		case KEY_GROUP:
			set.choice.group = value;
			break;
		case KEY_SUM:
			set.choice.sums = value;
			break;
		case KEY_TITLE:
			set.title = value;
			break;
		case KEY_WIDE:
			set.wide = true;
			break;
		default:
			table_option(&set.form, key, value);
		}
	set.quiet = reader.quiet;
	opts_no_operands(&reader, "the table comes from stdin, there are no operands");
	check_options(&set);
	return set;
}

/* ---- the terminal ---- */

/* COLUMNS, as POSIX has it: a width that its user prefers; 0: says nothing. */
static size_t
columns_preferred(void)
{
	const char *s = getenv("COLUMNS");
	size_t columns = 0;

	for (; s != NULL && *s >= '0' && *s <= '9'; s++)
		if (columns < WIDTH_MOST)
			columns = 10 * columns + (size_t)(*s - '0');
	return s != NULL && *s == '\0' ? columns : 0;
}

static size_t
terminal_width(void)
{
	size_t preferred = columns_preferred();
	struct winsize size;

	if (preferred > 0)
		return preferred;
	if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
		return size.ws_col;
	return USUAL_WIDTH;
}

static struct text_settings
text_settings(const struct settings *set)
{
	struct text_settings text = {0};
	const char *terminal = getenv("TERM");

	if (!isatty(STDOUT_FILENO))
		return text;
	text.width = set->wide ? 0 : terminal_width();
	/* https://no-color.org */
	text.color = getenv("NO_COLOR") == NULL && terminal != NULL && *terminal != '\0' &&
	             strcmp(terminal, "dumb") != 0;
	return text;
}

/* ---- what is told ---- */

static const char *
plural(size_t count)
{
	return count == 1 ? "" : "s";
}

static void
tell_view(const struct view *view, size_t left_out)
{
	size_t groups = 0;

	for (size_t i = 0; i < view->blocks; i++)
		groups += view->block[i].name != NULL;
	if (left_out > 0)
		tell("%zu of %zu columns do not fit the terminal: --columns picks, --wide shows "
		     "all",
		     left_out, view->columns);
	if (view->group != NULL)
		tell("%zu row%s, %zu column%s, %zu group%s", view->rows, plural(view->rows),
		     view->columns, plural(view->columns), groups, plural(groups));
	else
		tell("%zu row%s, %zu column%s", view->rows, plural(view->rows), view->columns,
		     plural(view->columns));
}

int
main(int argc, char **argv)
{
	struct settings set = read_options(argc, argv);
	struct text_settings text = text_settings(&set);
	struct outputs outputs = {0};
	struct sheet shown = {0};
	struct view view;
	size_t left_out = 0;
	int status;

	view_read(&view, table_open("-", &set.form), &set.choice);
	switch (set.to) {
	case FORM_MARKDOWN:
		form_markdown(&shown.text, &view);
		break;
	case FORM_HTML:
		form_html(&shown.text, &view, set.title);
		break;
	case FORM_SHEET:
		form_sheet(&shown.text, &view, set.locale ? set.locale : locale_named("en"));
		break;
	default:
		left_out = form_text(&shown.text, &view, &text);
		break;
	}
	tell_later();
	if (!set.quiet)
		tell_view(&view, left_out);
	status = view.incomplete ? EXIT_DIFFERS : EXIT_DONE;
	outputs_write(&outputs, &shown);
	sheet_free(&shown);
	view_free(&view);
	return status;
}
