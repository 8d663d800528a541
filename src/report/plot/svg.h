/* svg.h - elements of a drawing as text: Scalable Vector Graphics 1.1 (W3C, 2011)
 *
 * Attributes alone say how something looks, so that every reader of SVG draws the same; there are
 * no style sheets, scripts, fonts or links.  All texts are escaped here, and nowhere else.
 * Lengths are in units of the drawing (px); they are written with at most two decimals.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

/* Ink on paper; what is soft still has the contrast of text (7 to 1), lines and bands have less. */
#define SPATE_SVG_INK  "#1b1f24"
#define SPATE_SVG_SOFT "#4a5560"
#define SPATE_SVG_LINE "#c9d1d9"
#define SPATE_SVG_BAND "#f3f5f7"

#define SPATE_SVG_FONT_SIZE 13.0

/* As character data or an attribute; what XML 1.0 cannot hold (2.2, Char) becomes U+FFFD. */
void spate_svg_append_escaped(GString *svg, const char *words);
void spate_svg_append_length(GString *svg, double length);
void spate_svg_append_attribute(GString *svg, const char *name, double length);

typedef enum {
    SPATE_SVG_START,
    SPATE_SVG_MIDDLE,
    SPATE_SVG_END,
} SpateSvgAnchor;

typedef struct {
    SpateSvgAnchor anchor;
    double size; /* 0: SPATE_SVG_FONT_SIZE */
    bool is_bold, is_soft;
} SpateSvgTextStyle;

/* y is that of the base line. */
void spate_svg_append_text(GString *svg, double x, double y, SpateSvgTextStyle style,
                           const char *words);
/* About how wide a text is in a common sans-serif font of that size: readers use their own. */
double spate_svg_text_width(const char *words, double size);
/* The text, or its beginning and an ellipsis, so that it is about that wide; free with g_free(). */
char *spate_svg_shortened(const char *words, double width, double size);

/* `look`: attributes, such as stroke="#000000". */
void spate_svg_append_line(GString *svg, double x1, double y1, double x2, double y2,
                           const char *look);
void spate_svg_append_rectangle(GString *svg, double x, double y, double width, double height,
                                const char *look);
