/* chart.c - the parts that plots are put together from */
#include "report/plot/chart.h"

#include "report/plot/palette.h"
#include "report/plot/svg.h"

#define TITLE_SIZE  17.0
#define NOTE_SIZE   12.0
#define NOTE_HEIGHT 18.0
#define KEY_HEIGHT  20.0

void
spate_chart_init(SpateChart *chart)
{
    *chart = (SpateChart){.svg = g_string_new(NULL), .words = g_string_new(NULL)};
}

void
spate_chart_clear(SpateChart *chart)
{
    g_string_free(chart->svg, TRUE);
    g_string_free(chart->words, TRUE);
}

void
spate_chart_add_title(SpateChart *chart, const char *title)
{
    chart->y = 30.0;
    spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN, chart->y,
                          (SpateSvgTextStyle){.size = TITLE_SIZE, .is_bold = true}, title);
    chart->y += 4.0;
}

void
spate_chart_add_note(SpateChart *chart, const char *words)
{
    const SpateSvgTextStyle style = {.size = NOTE_SIZE, .is_soft = true};
    g_autofree char *shown =
        spate_svg_shortened(words, SPATE_CHART_WIDTH - 2 * SPATE_CHART_MARGIN, NOTE_SIZE);
    chart->y += NOTE_HEIGHT;
    spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN, chart->y, style, shown);
}

void
spate_chart_add_key(SpateChart *chart, const char *words, double *x, double *y)
{
    const double between = 6.0, after = 18.0;
    const double most =
        SPATE_CHART_WIDTH - 2 * SPATE_CHART_MARGIN - SPATE_CHART_SIGN_WIDTH - between;
    g_autofree char *shown = spate_svg_shortened(words, most, SPATE_SVG_FONT_SIZE);
    double width =
        SPATE_CHART_SIGN_WIDTH + between + spate_svg_text_width(shown, SPATE_SVG_FONT_SIZE);
    if (chart->key_x == 0.0 || chart->key_x + width > SPATE_CHART_WIDTH - SPATE_CHART_MARGIN) {
        chart->key_x = SPATE_CHART_MARGIN;
        chart->y += KEY_HEIGHT;
    }
    *x = chart->key_x;
    *y = chart->y;
    spate_svg_append_text(chart->svg, *x + SPATE_CHART_SIGN_WIDTH + between, *y + 4.5,
                          (SpateSvgTextStyle){0}, shown);
    chart->key_x += width + after;
}

void
spate_chart_end_keys(SpateChart *chart)
{
    if (chart->key_x > 0.0)
        chart->y += 0.5 * KEY_HEIGHT;
    chart->key_x = 0.0;
}

void
spate_chart_add_variants(SpateChart *chart, const SpateResult *result, size_t first, bool are_lines)
{
    chart->y += NOTE_HEIGHT - KEY_HEIGHT / 2;
    for (size_t v = first; result->n_variants > 1 && v < result->n_variants; v++) {
        double x, y;
        spate_chart_add_key(chart, result->variants[v].name, &x, &y);
        g_autofree char *look =
            g_strdup_printf("stroke=\"%s\" stroke-width=\"2\" stroke-dasharray=\"%s\"",
                            spate_palette_colour(v), are_lines ? spate_palette_dash(v) : "none");
        spate_svg_append_line(chart->svg, x, y, x + SPATE_CHART_SIGN_WIDTH, y, look);
        spate_palette_append_mark(chart->svg, v, x + SPATE_CHART_SIGN_WIDTH / 2, y);
    }
    spate_chart_end_keys(chart);
}

double
spate_chart_x(const SpateChartArea *area, const SpateScale *scale, double value)
{
    return area->left + spate_scale_place(scale, value) * (area->right - area->left);
}

double
spate_chart_y(const SpateChartArea *area, const SpateScale *scale, double value)
{
    return area->bottom - spate_scale_place(scale, value) * (area->bottom - area->top);
}

void
spate_chart_draw_x_axis(SpateChart *chart, const SpateChartArea *area, const SpateScale *scale,
                        const char *words)
{
    const SpateSvgTextStyle number = {.anchor = SPATE_SVG_MIDDLE, .size = NOTE_SIZE};
    const SpateSvgTextStyle unit = {.anchor = SPATE_SVG_MIDDLE, .size = NOTE_SIZE, .is_soft = true};
    for (size_t i = 0; i < scale->n_ticks; i++) {
        double x = spate_chart_x(area, scale, scale->ticks[i]);
        g_autoptr(GString) tick = g_string_new(NULL);
        spate_scale_append_tick(tick, scale, i);
        spate_svg_append_line(chart->svg, x, area->top, x, area->bottom + 4.0,
                              "stroke=\"" SPATE_SVG_LINE "\"");
        spate_svg_append_text(chart->svg, x, area->bottom + 17.0, number, tick->str);
    }
    spate_svg_append_line(chart->svg, area->left, area->bottom, area->right, area->bottom,
                          "stroke=\"" SPATE_SVG_SOFT "\"");
    spate_svg_append_text(chart->svg, 0.5 * (area->left + area->right), area->bottom + 33.0, unit,
                          words);
}

static void
append_element(GString *svg, const char *element, const char *id, const char *words)
{
    g_string_append_printf(svg, "<%s id=\"%s-%s\">", element, id, element);
    spate_svg_append_escaped(svg, words);
    g_string_append_printf(svg, "</%s>\n", element);
}

void
spate_chart_append_drawing(GString *svg, const SpateChart *chart, const char *name,
                           const char *title)
{
    double height = chart->y + SPATE_CHART_MARGIN;
    g_string_append(svg, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                         "<svg xmlns=\"http://www.w3.org/2000/svg\"");
    spate_svg_append_attribute(svg, "width", SPATE_CHART_WIDTH);
    spate_svg_append_attribute(svg, "height", height);
    g_string_append(svg, " viewBox=\"0 0 ");
    spate_svg_append_length(svg, SPATE_CHART_WIDTH);
    g_string_append_c(svg, ' ');
    spate_svg_append_length(svg, height);
    g_string_append_printf(
        svg,
        "\" role=\"img\" aria-labelledby=\"%s-title %s-desc\" font-family=\"sans-serif\" "
        "font-size=\"%.0f\" fill=\"" SPATE_SVG_INK "\">\n",
        name, name, SPATE_SVG_FONT_SIZE);
    append_element(svg, "title", name, title);
    append_element(svg, "desc", name, chart->words->str);
    spate_svg_append_rectangle(svg, 0.0, 0.0, SPATE_CHART_WIDTH, height, "fill=\"#ffffff\"");
    g_string_append_len(svg, chart->svg->str, (gssize)chart->svg->len);
    g_string_append(svg, "</svg>\n");
}
