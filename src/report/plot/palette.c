/* palette.c - colours, shapes and dashes that readers can tell apart */
#include "report/plot/palette.h"

#include "report/plot/svg.h"

const char *
spate_palette_colour(size_t n)
{
    static const char *const COLOURS[] = {"#0072b2", "#d55e00", "#009e73", "#cc79a7",
                                          "#e69f00", "#56b4e9", "#8a8a8a"};
    return COLOURS[n % G_N_ELEMENTS(COLOURS)];
}

const char *
spate_palette_dash(size_t n)
{
    static const char *const DASHES[] = {"none", "7 3", "2 2", "9 3 2 3", "12 4", "1 3"};
    return DASHES[n % G_N_ELEMENTS(DASHES)];
}

/* All about as large, and each with an edge in the colour of paper, so that marks that lie on each
 * other stay apart: disc, diamond, triangle, square, triangle upside down, cross. */
static const char *const SHAPES[] = {
    "M-4.5 0a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0z",
    "M0 -6L5 0L0 6L-5 0z",
    "M0 -5.5L5.5 4.5L-5.5 4.5z",
    "M-4 -4H4V4H-4z",
    "M0 5.5L5.5 -4.5L-5.5 -4.5z",
    "M-1.7 -5.5H1.7V-1.7H5.5V1.7H1.7V5.5H-1.7V1.7H-5.5V-1.7H-1.7z",
};

void
spate_palette_append_mark(GString *svg, size_t n, double x, double y)
{
    g_string_append(svg, "<path transform=\"translate(");
    spate_svg_append_length(svg, x);
    g_string_append_c(svg, ' ');
    spate_svg_append_length(svg, y);
    g_string_append_printf(svg,
                           ")\" d=\"%s\" fill=\"%s\" stroke=\"#ffffff\" stroke-width=\"0.8\"/>\n",
                           SHAPES[n % G_N_ELEMENTS(SHAPES)], spate_palette_colour(n));
}
