/*
 * Scalable Vector Graphics 1.1 (W3C Recommendation, 2011), written: elements, texts, colors.
 *
 * Coordinates are whole numbers, hundredths of a pixel, so that the same drawing is the same bytes
 * on any machine. Whatever a text holds, the result is well-formed XML 1.0 (W3C Recommendation,
 * fifth edition): characters that XML does not have, and those that are not seen and may turn round
 * what is read, become signs that are seen (show/visible.h), and the five that mark things up are
 * escaped.
 *
 * Colors stand as attributes, for readers that know no style sheets, and are those of light paper;
 * a style changes them where the reader's setting is dark. The series have the eight colors of
 * Masataka Okabe and Kei Ito, "Color Universal Design" (2002, revised 2008), made to be told apart
 * by color-blind readers; black is white on dark paper.
 */
#ifndef LOTPIPE_PLOT_SVG_H
#define LOTPIPE_PLOT_SVG_H

#include "base/text.h"

#include <stdint.h>

enum { PX = 100 }; /* a pixel */

enum svg_color {
	SVG_BLUE,
	SVG_ORANGE,
	SVG_GREEN,
	SVG_PURPLE,
	SVG_SKY,
	SVG_VERMILLION,
	SVG_YELLOW,
	SVG_BLACK,
	SVG_COLORS
};

enum svg_anchor { SVG_START, SVG_MIDDLE, SVG_END };

/* The root with title and description, the style, and the paper; width and height in pixels. */
void svg_open(struct text *out, int64_t width, int64_t height, const char *title,
              const char *description);
void svg_close(struct text *out);

/* A number of pixels, without zeros at its end. */
void svg_number(struct text *out, int64_t hundredths);
/* name="number", with a blank before it. */
void svg_attribute(struct text *out, const char *name, int64_t hundredths);
/* Text of any kind, as the content of an element or the value of an attribute. */
void svg_escaped(struct text *out, const char *string);
/* <title>, which readers see when they point at the element; "" or NULL: none. */
void svg_title(struct text *out, const char *string);
/* class and fill, or stroke, of a color. */
void svg_fill(struct text *out, enum svg_color color);
void svg_stroke(struct text *out, enum svg_color color);
/* A thin gray stroke: yellow needs it on white. */
void svg_outline(struct text *out);

/* A line of a grid: class "grid", or "axis" for the line of zero. */
void svg_line(struct text *out, const char *class, int64_t x1, int64_t y1, int64_t x2, int64_t y2);
/* A text whose baseline is at y; full: what it was before it was cut. Turned: it rises to its end
 * by 45 degrees. */
void svg_text(struct text *out, int64_t x, int64_t y, enum svg_anchor anchor, bool turned,
              const char *shown, const char *full);
/* Opens a group of texts: class "ink" or "soft". */
void svg_texts(struct text *out, const char *class, int64_t size);
void svg_end_group(struct text *out);

#endif
