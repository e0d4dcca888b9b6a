/*
 * Fuzz target: lot-plot, and the SVG that it writes.
 *
 * Input: choices (the kind, width and height, decimal mark, which columns by their number, how many
 * bars), then title and unit, a line each, then the table.
 *
 * Holds, whatever the fields: the drawing is well-formed XML, of no more than the elements and
 * attributes that it needs, with nothing that runs or is fetched; texts are escaped, without
 * controls and hidden characters; whatever has a place is inside the frame.
 */
#include "harness.h"

#include "base/width.h"
#include "table/table.h"

#include <string.h>

/* ---- what a table has for columns ---- */

struct source {
	const char **name;
	size_t columns;
};

static void
read_source(void *data)
{
	struct source *source = data;
	struct table *table = table_open("-", NULL);

	source->columns = table_columns(table);
	source->name = fuzz_keep((source->columns + 1) * sizeof *source->name);
	for (size_t i = 0; i < source->columns; i++) {
		const char *name = table_header(table)[i];

		source->name[i] = fuzz_of(name, strlen(name)).bytes;
	}
	table_close(table);
}

/* ---- XML ---- */

struct drawing {
	const char *at;
	const char *open[8]; /* elements */
	size_t depth;
	int64_t width, height; /* hundredths of a pixel; 0 until they are known */
};

static const char letters[] = "abcdefghijklmnopqrstuvwxyz";

/* A text, or the value of an attribute: escaped, and nothing hidden in it. Returns its end. */
static const char *
past_text(const char *s, char end)
{
	size_t length;

	for (; *s != '\0' && *s != end; s += length) {
		static const char *const entities[] = {"&amp;",  "&lt;",  "&gt;", "&quot;",
		                                       "&apos;", "&#39;", "&#34;"};
		uint32_t point = width_point(s, &length);
		size_t i = 0;

		FUZZ_CHECK(*s == '\n' || !width_is_hidden(point), "nothing hidden is in a text");
		FUZZ_CHECK(point != 0xFFFE && point != 0xFFFF, "a text has what XML has");
		FUZZ_CHECK(*s != '<' && *s != '>', "a text is escaped");
		if (*s != '&')
			continue;
		while (i < sizeof entities / sizeof *entities &&
		       strncmp(s, entities[i], strlen(entities[i])) != 0)
			i++;
		FUZZ_CHECK(i < sizeof entities / sizeof *entities, "an ampersand is escaped");
		length = strlen(entities[i]);
	}
	FUZZ_CHECK(*s == end, "a text ends");
	return s;
}

static bool
is_among(const char *word, const char *const *words, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (strcmp(word, words[i]) == 0)
			return true;
	return false;
}

/* A number of pixels, in hundredths. Returns what is behind it. */
static const char *
take_number(const char *s, int64_t *out)
{
	bool negative = *s == '-';
	int64_t value = 0;
	int decimals = 0;

	s += negative;
	FUZZ_CHECK(*s >= '0' && *s <= '9', "a number has digits");
	for (; *s >= '0' && *s <= '9'; s++) {
		value = 10 * value + (*s - '0');
		FUZZ_CHECK(value < 100000000, "a number is of pixels");
	}
	if (*s == '.')
		for (s++; *s >= '0' && *s <= '9'; s++, decimals++) {
			FUZZ_CHECK(decimals < 2, "a number has two decimals");
			value = 10 * value + (*s - '0');
		}
	while (decimals++ < 2)
		value *= 10;
	*out = negative ? -value : value;
	return s;
}

static void
check_inside(const struct drawing *drawing, int64_t x, int64_t y)
{
	FUZZ_CHECK(x >= 0 && x <= drawing->width, "it is inside the frame, from left to right");
	FUZZ_CHECK(y >= 0 && y <= drawing->height, "it is inside the frame, from top to bottom");
}

/* The points of a path: M and L name places, m, l, h, v and z go on from there. */
static void
check_path(const struct drawing *drawing, const char *s)
{
	int64_t x = 0, y = 0, to;
	char command = 'M';

	while (*s != '\0') {
		if (strchr("MLHVmlhvzZ", *s) != NULL)
			command = *s++;
		else
			FUZZ_CHECK(*s == ' ' || *s == ',' || *s == '-' || (*s >= '0' && *s <= '9'),
			           "a path goes on");
		s += strspn(s, " ,");
		if (command == 'z' || command == 'Z') {
			FUZZ_CHECK(*s == '\0' || strchr("Mm", *s) != NULL, "a path is closed");
			continue;
		}
		s = take_number(s, &to);
		if (strchr("MLH", command) != NULL)
			x = to;
		else if (strchr("mlh", command) != NULL)
			x += to;
		else
			y = command == 'V' ? to : y + to;
		if (strchr("MLml", command) != NULL) {
			s += strspn(s, " ,");
			s = take_number(s, &to);
			y = command == 'M' || command == 'L' ? to : y + to;
		}
		s += strspn(s, " ,");
		check_inside(drawing, x, y);
	}
}

static void
take_attribute(struct drawing *drawing, const char *element, const char *name, const char *value)
{
	static const char *const known[] = {"xmlns",
	                                    "class",
	                                    "role",
	                                    "aria-label",
	                                    "width",
	                                    "height",
	                                    "viewBox",
	                                    "fill",
	                                    "font-size",
	                                    "font-family",
	                                    "stroke",
	                                    "stroke-width",
	                                    "stroke-linejoin",
	                                    "stroke-dasharray",
	                                    "stroke-linecap",
	                                    "x",
	                                    "y",
	                                    "x1",
	                                    "x2",
	                                    "y1",
	                                    "y2",
	                                    "d",
	                                    "text-anchor",
	                                    "transform",
	                                    "font-weight",
	                                    "cx",
	                                    "cy",
	                                    "r",
	                                    "points",
	                                    "opacity",
	                                    "fill-opacity"};
	static const char *const across[] = {"x", "x1", "x2", "cx"};
	static const char *const down[] = {"y", "y1", "y2", "cy"};
	int64_t number;

	FUZZ_CHECK(is_among(name, known, sizeof known / sizeof *known),
	           "an attribute is one that a drawing needs");
	FUZZ_CHECK(strstr(value, "url(") == NULL || strcmp(name, "aria-label") == 0,
	           "nothing is referred to");
	if (strcmp(element, "svg") == 0 && strcmp(name, "width") == 0)
		take_number(value, &drawing->width);
	if (strcmp(element, "svg") == 0 && strcmp(name, "height") == 0)
		take_number(value, &drawing->height);
	if (is_among(name, across, 4)) {
		take_number(value, &number);
		check_inside(drawing, number, 0);
	}
	if (is_among(name, down, 4)) {
		take_number(value, &number);
		check_inside(drawing, 0, number);
	}
	if (strcmp(name, "d") == 0)
		check_path(drawing, value);
}

/* Returns what is behind the attributes. */
static const char *
past_attributes(struct drawing *drawing, const char *element, const char *s)
{
	const char *seen[24];
	size_t count = 0;

	while (*s == ' ') {
		size_t length;
		const char *name, *end;

		s++;
		length =
		    strspn(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-");
		FUZZ_CHECK(length > 0 && s[length] == '=' && s[length + 1] == '"',
		           "an attribute is name and quoted value");
		name = fuzz_of(s, length).bytes;
		FUZZ_CHECK(!is_among(name, seen, count) && count < 24, "an attribute stands once");
		seen[count++] = name;
		s += length + 2;
		end = past_text(s, '"');
		take_attribute(drawing, element, name, fuzz_of(s, (size_t)(end - s)).bytes);
		s = end + 1;
	}
	return s;
}

static void
take_tag(struct drawing *drawing)
{
	static const char *const known[] = {"svg",  "title", "desc", "style", "rect",     "g",
	                                    "text", "tspan", "path", "line",  "polyline", "circle"};
	const char *s = drawing->at + 1, *name;
	bool closes = *s == '/';
	size_t length;

	s += closes;
	length = strspn(s, letters);
	name = fuzz_of(s, length).bytes;
	FUZZ_CHECK(is_among(name, known, sizeof known / sizeof *known),
	           "an element is one that a drawing needs");
	s += length;
	if (closes) {
		FUZZ_CHECK(*s == '>', "a tag is closed");
		FUZZ_CHECK(drawing->depth > 0 && strcmp(drawing->open[--drawing->depth], name) == 0,
		           "what was opened last is closed first");
		drawing->at = s + 1;
		return;
	}
	s = past_attributes(drawing, name, s);
	if (s[0] == '/' && s[1] == '>') {
		drawing->at = s + 2;
		return;
	}
	FUZZ_CHECK(*s == '>', "a tag is closed");
	FUZZ_CHECK(drawing->depth < 8, "a drawing is not deep");
	drawing->open[drawing->depth++] = name;
	drawing->at = s + 1;
	if (strcmp(name, "style") == 0) {
		drawing->at = strstr(drawing->at, "</style>");
		FUZZ_CHECK(drawing->at != NULL, "a style ends");
	}
}

static void
check_drawing(struct fuzz_bytes out)
{
	struct drawing drawing = {.at = out.bytes};
	bool first = true;

	FUZZ_CHECK(text_utf8_bad(out.bytes, out.length) == out.length, "a drawing is UTF-8");
	FUZZ_CHECK(strlen(out.bytes) == out.length, "a drawing has no NUL");
	FUZZ_CHECK(strncmp(out.bytes, "<svg ", 5) == 0, "a drawing starts with its root");
	while (*drawing.at != '\0') {
		const char *end = strchr(drawing.at, '<');

		if (end == NULL) {
			FUZZ_CHECK(strcmp(drawing.at, "\n") == 0 || *drawing.at == '\0',
			           "nothing is behind the root");
			break;
		}
		(void)past_text(drawing.at, '<');
		drawing.at = end;
		FUZZ_CHECK(first || drawing.depth > 0, "there is one root");
		first = false;
		take_tag(&drawing);
	}
	FUZZ_CHECK(drawing.depth == 0, "all that was opened is closed");
}

/* ---- the input ---- */

static const char *
line_of(struct fuzz_input *in)
{
	const unsigned char *from = in->next;
	const unsigned char *end =
	    from < in->end ? memchr(from, '\n', (size_t)(in->end - from)) : NULL;

	in->next = end != NULL ? end + 1 : in->end;
	end = end != NULL ? end : in->end;
	return fuzz_of((const char *)from, (size_t)(end - from)).bytes;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const char *const kinds[] = {"bars", "lines", "pareto"};
	static const char *const widths[] = {NULL, "240", "400", "1000", "10000"};
	static const char *const heights[] = {NULL, "200", "300", "900", "10000"};
	static const char *const locales[] = {NULL, "de", "fr"};
	static const char *const most[] = {NULL, "1", "3"};
	struct fuzz_input in = fuzz_start_choices(data, size);
	const char *args[32] = {"lot-plot", "--kind"}, *value;
	struct source source = {0};
	struct fuzz_result result, again;
	unsigned kind = fuzz_choice(&in, 3);
	size_t count = 3;

	if (size > 2500)
		return -1;
	args[2] = kinds[kind];
	if ((value = widths[fuzz_choice(&in, 5)]) != NULL) {
		args[count++] = "--width";
		args[count++] = value;
	}
	if ((value = heights[fuzz_choice(&in, 5)]) != NULL) {
		args[count++] = "--height";
		args[count++] = value;
	}
	if ((value = locales[fuzz_choice(&in, 3)]) != NULL) {
		args[count++] = "--locale";
		args[count++] = value;
	}
	if ((value = most[fuzz_choice(&in, 3)]) != NULL && kind == 2) {
		args[count++] = "--most";
		args[count++] = value;
	}
	value = line_of(&in);
	if (*value != '\0') {
		args[count++] = "--title";
		args[count++] = value;
	}
	value = line_of(&in);
	if (*value != '\0') {
		args[count++] = "--unit";
		args[count++] = value;
	}
	fuzz_put_file("-", fuzz_of((const char *)in.next, (size_t)(in.end - in.next)));
	fuzz_run(read_source, &source);
	if (fuzz_choice(&in, 2) && source.columns > 0) {
		args[count++] = "--label";
		args[count++] = source.name[fuzz_choice(&in, (unsigned)source.columns)];
	}
	if (fuzz_choice(&in, 2) && source.columns > 0) {
		args[count++] = "--columns";
		args[count++] = source.name[fuzz_choice(&in, (unsigned)source.columns)];
	}
	result = fuzz_program_run(lot_plot_main, args);
	if (result.status == 2)
		return 0;
	check_drawing(result.out);
	again = fuzz_program_run(lot_plot_main, args);
	FUZZ_CHECK(fuzz_same(result.out, again.out), "the same table is the same drawing");
	return 0;
}
