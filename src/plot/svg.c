#include "plot/svg.h"

#include "base/dec.h"
#include "show/visible.h"

#include <string.h>

#define FONT "system-ui, sans-serif"

/* Of light paper; those of dark paper are in the style. */
static const struct {
	const char *class, *attribute, *value;
} classes[] = {
    {"paper", "fill", "#fff"},  {"ink", "fill", "#1b1b1b"},    {"soft", "fill", "#5c5c5c"},
    {"grid", "stroke", "#ddd"}, {"axis", "stroke", "#5c5c5c"},
};

/* edge: what stands between the parts of a bar; s7: black. */
static const char style[] =
    "@media (prefers-color-scheme: dark) {\n"
    ".lot-plot .paper { fill: #161819 } .lot-plot .edge { stroke: #161819 }\n"
    ".lot-plot .ink { fill: #e8e8e8 } .lot-plot .soft { fill: #a5a8ab }\n"
    ".lot-plot .grid { stroke: #3a3e41 } .lot-plot .axis { stroke: #a5a8ab }\n"
    ".lot-plot .fill7 { fill: #fff } .lot-plot .stroke7 { stroke: #fff }\n"
    "}\n";

static const char *const colors[SVG_COLORS] = {"#0072b2", "#e69f00", "#009e73", "#cc79a7",
                                               "#56b4e9", "#d55e00", "#f0e442", "#000"};

static const char *const anchors[] = {"start", "middle", "end"};

void
svg_number(struct text *out, int64_t hundredths)
{
	dec_add_text(out, hundredths, 2, 0);
}

void
svg_attribute(struct text *out, const char *name, int64_t hundredths)
{
	text_addc(out, ' ');
	text_adds(out, name);
	text_adds(out, "=\"");
	svg_number(out, hundredths);
	text_addc(out, '"');
}

static const char *
escape_of(char c)
{
	switch (c) {
	case '&':
		return "&amp;";
	case '<':
		return "&lt;";
	case '>':
		return "&gt;";
	case '"':
		return "&quot;";
	case '\'':
		return "&#39;";
	default:
		return NULL;
	}
}

void
svg_escaped(struct text *out, const char *string)
{
	struct arena arena = {0};

	for (string = visible(&arena, string, BREAKS_SHOWN); *string != '\0'; string++)
		if (escape_of(*string) != NULL)
			text_adds(out, escape_of(*string));
		else
			text_addc(out, *string);
	arena_free(&arena);
}

static void
add_element(struct text *out, const char *name, const char *string)
{
	text_addc(out, '<');
	text_adds(out, name);
	text_addc(out, '>');
	svg_escaped(out, string);
	text_adds(out, "</");
	text_adds(out, name);
	text_addc(out, '>');
}

void
svg_title(struct text *out, const char *string)
{
	if (string != NULL && *string != '\0')
		add_element(out, "title", string);
}

/* class="..." and the color that it has on light paper. */
static void
add_class(struct text *out, const char *class)
{
	text_adds(out, " class=\"");
	text_adds(out, class);
	text_addc(out, '"');
	for (size_t i = 0; i < sizeof classes / sizeof *classes; i++)
		if (strcmp(classes[i].class, class) == 0) {
			text_addc(out, ' ');
			text_adds(out, classes[i].attribute);
			text_adds(out, "=\"");
			text_adds(out, classes[i].value);
			text_addc(out, '"');
		}
}

static void
add_color(struct text *out, const char *attribute, enum svg_color color)
{
	text_adds(out, " class=\"");
	text_adds(out, attribute);
	text_addc(out, (char)('0' + (int)color));
	text_adds(out, "\" ");
	text_adds(out, attribute);
	text_adds(out, "=\"");
	text_adds(out, colors[color]);
	text_addc(out, '"');
}

void
svg_fill(struct text *out, enum svg_color color)
{
	add_color(out, "fill", color);
}

void
svg_stroke(struct text *out, enum svg_color color)
{
	add_color(out, "stroke", color);
}

void
svg_outline(struct text *out)
{
	text_adds(out, " stroke=\"#808080\"");
}

void
svg_open(struct text *out, int64_t width, int64_t height, const char *title,
         const char *description)
{
	text_adds(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"lot-plot\" role=\"img\""
	               " aria-label=\"");
	svg_escaped(out, title);
	text_addc(out, '"');
	svg_attribute(out, "width", width * PX);
	svg_attribute(out, "height", height * PX);
	text_adds(out, " viewBox=\"0 0 ");
	svg_number(out, width * PX);
	text_addc(out, ' ');
	svg_number(out, height * PX);
	text_adds(out, "\" font-family=\"" FONT "\">\n");
	add_element(out, "title", title);
	text_addc(out, '\n');
	add_element(out, "desc", description);
	text_adds(out, "\n<style>\n");
	text_adds(out, style);
	text_adds(out, "</style>\n<rect");
	add_class(out, "paper");
	svg_attribute(out, "width", width * PX);
	svg_attribute(out, "height", height * PX);
	text_adds(out, "/>\n");
}

void
svg_close(struct text *out)
{
	text_adds(out, "</svg>\n");
}

void
svg_line(struct text *out, const char *class, int64_t x1, int64_t y1, int64_t x2, int64_t y2)
{
	text_adds(out, "<line");
	add_class(out, class);
	svg_attribute(out, "x1", x1);
	svg_attribute(out, "y1", y1);
	svg_attribute(out, "x2", x2);
	svg_attribute(out, "y2", y2);
	text_adds(out, "/>\n");
}

void
svg_text(struct text *out, int64_t x, int64_t y, enum svg_anchor anchor, bool turned,
         const char *shown, const char *full)
{
	if (*shown == '\0')
		return;
	text_adds(out, "<text");
	svg_attribute(out, "x", x);
	svg_attribute(out, "y", y);
	if (anchor != SVG_START) {
		text_adds(out, " text-anchor=\"");
		text_adds(out, anchors[anchor]);
		text_addc(out, '"');
	}
	if (turned) {
		text_adds(out, " transform=\"rotate(-45 ");
		svg_number(out, x);
		text_addc(out, ' ');
		svg_number(out, y);
		text_adds(out, ")\"");
	}
	text_addc(out, '>');
	if (strcmp(shown, full) != 0)
		svg_title(out, full);
	svg_escaped(out, shown);
	text_adds(out, "</text>\n");
}

void
svg_texts(struct text *out, const char *class, int64_t size)
{
	text_adds(out, "<g");
	add_class(out, class);
	svg_attribute(out, "font-size", size);
	text_adds(out, ">\n");
}

void
svg_end_group(struct text *out)
{
	text_adds(out, "</g>\n");
}
