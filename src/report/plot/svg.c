/* svg.c - elements of a drawing as text */
#include "report/plot/svg.h"

#include <math.h>
#include <string.h>

/* Char of XML 1.0, 2.2. */
static bool
is_xml(gunichar character)
{
    return character == '\t' || character == '\n' || character == '\r' ||
           (character >= 0x20 && character <= 0xD7FF) ||
           (character >= 0xE000 && character <= 0xFFFD) ||
           (character >= 0x10000 && character <= 0x10FFFF);
}

void
spate_svg_append_escaped(GString *svg, const char *words)
{
    static const char *const ENTITIES[] = {
        ['&'] = "&amp;", ['<'] = "&lt;", ['>'] = "&gt;", ['"'] = "&quot;", ['\''] = "&#39;"};
    g_autofree char *valid = g_utf8_make_valid(words, -1);
    for (const char *at = valid; *at != '\0'; at = g_utf8_next_char(at)) {
        gunichar character = g_utf8_get_char(at);
        const char *entity = character < G_N_ELEMENTS(ENTITIES) ? ENTITIES[character] : NULL;
        if (entity != NULL)
            g_string_append(svg, entity);
        else
            g_string_append_unichar(svg, is_xml(character) ? character : 0xFFFD);
    }
}

void
spate_svg_append_length(GString *svg, double length)
{
    char buffer[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_formatd(buffer, sizeof buffer, "%.2f", length);
    size_t n = strlen(buffer);
    while (buffer[n - 1] == '0')
        n--;
    n -= buffer[n - 1] == '.';
    buffer[n] = '\0';
    g_string_append(svg, strcmp(buffer, "-0") == 0 ? "0" : buffer);
}

void
spate_svg_append_attribute(GString *svg, const char *name, double length)
{
    g_string_append_printf(svg, " %s=\"", name);
    spate_svg_append_length(svg, length);
    g_string_append_c(svg, '"');
}

void
spate_svg_append_text(GString *svg, double x, double y, SpateSvgTextStyle style, const char *words)
{
    static const char *const ANCHORS[] = {
        [SPATE_SVG_START] = "",
        [SPATE_SVG_MIDDLE] = " text-anchor=\"middle\"",
        [SPATE_SVG_END] = " text-anchor=\"end\"",
    };
    g_string_append(svg, "<text");
    spate_svg_append_attribute(svg, "x", x);
    spate_svg_append_attribute(svg, "y", y);
    g_string_append(svg, ANCHORS[style.anchor]);
    if (style.size > 0.0)
        spate_svg_append_attribute(svg, "font-size", style.size);
    g_string_append(svg, style.is_bold ? " font-weight=\"bold\"" : "");
    g_string_append(svg, style.is_soft ? " fill=\"" SPATE_SVG_SOFT "\"" : "");
    g_string_append_c(svg, '>');
    spate_svg_append_escaped(svg, words);
    g_string_append(svg, "</text>\n");
}

/* Common practice, no source: a letter is a little wider than half its size, one of a wide script
 * as wide as high. */
static double
character_width(gunichar character, double size)
{
    return g_unichar_iswide(character) ? size : 0.57 * size;
}

double
spate_svg_text_width(const char *words, double size)
{
    g_autofree char *valid = g_utf8_make_valid(words, -1);
    double width = 0.0;
    for (const char *at = valid; *at != '\0'; at = g_utf8_next_char(at))
        width += character_width(g_utf8_get_char(at), size);
    return width;
}

char *
spate_svg_shortened(const char *words, double width, double size)
{
    g_autofree char *valid = g_utf8_make_valid(words, -1);
    if (spate_svg_text_width(valid, size) <= width)
        return g_steal_pointer(&valid);
    const char *end = valid;
    double taken = size; /* the ellipsis */
    while (taken + character_width(g_utf8_get_char(end), size) <= width) {
        taken += character_width(g_utf8_get_char(end), size);
        end = g_utf8_next_char(end);
    }
    return g_strdup_printf("%.*s…", (int)(end - valid), valid);
}

void
spate_svg_append_line(GString *svg, double x1, double y1, double x2, double y2, const char *look)
{
    g_string_append(svg, "<line");
    spate_svg_append_attribute(svg, "x1", x1);
    spate_svg_append_attribute(svg, "y1", y1);
    spate_svg_append_attribute(svg, "x2", x2);
    spate_svg_append_attribute(svg, "y2", y2);
    g_string_append_printf(svg, " %s/>\n", look);
}

void
spate_svg_append_rectangle(GString *svg, double x, double y, double width, double height,
                           const char *look)
{
    g_string_append(svg, "<rect");
    spate_svg_append_attribute(svg, "x", x);
    spate_svg_append_attribute(svg, "y", y);
    spate_svg_append_attribute(svg, "width", width);
    spate_svg_append_attribute(svg, "height", height);
    g_string_append_printf(svg, " %s/>\n", look);
}
