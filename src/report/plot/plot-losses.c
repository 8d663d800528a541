/* plot-losses.c - what becomes of frames where they are audible: stacked bars */
#include "report/plot/plot-private.h"

#include "document/numbers.h"
#include "report/plot/svg.h"
#include <math.h>

#define BAR_HEIGHT   22.0
#define BAR_STEP     30.0
#define LABELS       150.0
#define AXIS_HEIGHT  44.0
#define LEAST_FIGURE 40.0 /* a part that is as wide has its figure inside */

/* In the colours of the report's page (palette.h); `pattern` is a path in a square of 8 by 8. */
static const struct {
    SpateMeasure measure;
    const char *words, *colour, *pattern;
} OUTCOMES[] = {
    {SPATE_MEASURE_RECEIVED, "decoded", "#009e73", ""},
    {SPATE_MEASURE_LOST_COLLISION, "lost to a collision", "#d55e00",
     "M-2 2L2 -2M0 8L8 0M6 10L10 6"},
    {SPATE_MEASURE_LOST_BUSY, "lost: busy with another frame", "#e69f00", "M0 4H8"},
    {SPATE_MEASURE_LOST_SENDING, "lost: was sending", "#56b4e9", "M4 0V8"},
    {SPATE_MEASURE_LOST_BLOCKED, "lost: own other radio", "#cc79a7", "M0 4H8M4 0V8"},
    /* Where some radio sleeps. */
    {SPATE_MEASURE_LOST_ASLEEP, "lost: was asleep", "#8a8a8a", "M0 2H8M0 6H8"},
};

static size_t
count_outcomes(const SpateResult *result)
{
    for (size_t v = 0; v < result->n_variants; v++)
        for (size_t i = 0; i < result->variants[v].n_rows; i++)
            if (result->variants[v].rows[i].measure == SPATE_MEASURE_LOST_ASLEEP)
                return G_N_ELEMENTS(OUTCOMES);
    return G_N_ELEMENTS(OUTCOMES) - 1;
}

static void
draw_part(SpateChart *chart, size_t outcome, double x, double y, double width, double height)
{
    g_autofree char *look = g_strdup_printf(
        "fill=\"url(#losses-%zu)\" stroke=\"#ffffff\" stroke-width=\"0.5\"", outcome);
    spate_svg_append_rectangle(chart->svg, x, y, width, height, look);
}

/* Defines the patterns too. */
static void
add_legend(SpateChart *chart, size_t n_outcomes)
{
    g_string_append(chart->svg, "<defs>\n");
    for (size_t i = 0; i < n_outcomes; i++)
        g_string_append_printf(
            chart->svg,
            "<pattern id=\"losses-%zu\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\">"
            "<path d=\"M0 0H8V8H0z\" fill=\"%s\"/><path d=\"%s\" stroke=\"#ffffff\" "
            "stroke-width=\"1.5\" fill=\"none\"/></pattern>\n",
            i, OUTCOMES[i].colour, OUTCOMES[i].pattern);
    g_string_append(chart->svg, "</defs>\n");
    chart->y += 8.0;
    for (size_t i = 0; i < n_outcomes; i++) {
        double x, y;
        spate_chart_add_key(chart, OUTCOMES[i].words, &x, &y);
        draw_part(chart, i, x, y - 7.0, SPATE_CHART_SIGN_WIDTH, 14.0);
    }
    spate_chart_end_keys(chart);
}

static double
share_of(const SpateSubject *bearer, size_t outcome, size_t variant, size_t n_variants)
{
    const SpateTableLine *line =
        spate_plot_find_line(bearer, OUTCOMES[outcome].measure, NULL, n_variants);
    return line != NULL && line->rows[variant] != NULL ? line->rows[variant]->mean : NAN;
}

/* Parts below 0.05 % are given in words alone. */
static void
add_bar(SpateChart *chart, const SpateSubject *bearer, const SpateChartArea *area, size_t variant,
        const SpateResult *result)
{
    double x = area->left, width = area->right - area->left;
    double y = chart->y + 0.5 * (BAR_STEP - BAR_HEIGHT);
    if (result->n_variants > 1) {
        const char *name = result->variants[variant].name;
        g_autofree char *label = spate_svg_shortened(name, LABELS - 8.0, SPATE_SVG_FONT_SIZE);
        spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN, y + 0.5 * BAR_HEIGHT + 4.5,
                              (SpateSvgTextStyle){0}, label);
        g_string_append_printf(chart->words, " %s:", name);
    }
    for (size_t i = 0; i < G_N_ELEMENTS(OUTCOMES); i++) {
        double share = share_of(bearer, i, variant, result->n_variants);
        if (OUTCOMES[i].measure == SPATE_MEASURE_LOST_ASLEEP && isnan(share))
            continue;
        g_autoptr(GString) figure = g_string_new(NULL);
        spate_append_fixed(figure, 100.0 * share, 1, false);
        g_string_append_printf(chart->words, "%s %s %s %%", i > 0 ? "," : "", OUTCOMES[i].words,
                               figure->str);
        if (share >= 0.0005)
            draw_part(chart, i, x, y, share * width, BAR_HEIGHT);
        if (share * width >= LEAST_FIGURE) {
            double middle = x + 0.5 * share * width;
            double room = spate_svg_text_width(figure->str, 12.0) + 4.0;
            spate_svg_append_rectangle(chart->svg, middle - 0.5 * room, y + 3.0, room,
                                       BAR_HEIGHT - 6.0, "fill=\"#ffffff\" rx=\"2\"");
            spate_svg_append_text(chart->svg, middle, y + 0.5 * BAR_HEIGHT + 4.0,
                                  (SpateSvgTextStyle){.anchor = SPATE_SVG_MIDDLE, .size = 12.0},
                                  figure->str);
        }
        x += isnan(share) ? 0.0 : share * width;
    }
    g_string_append_c(chart->words, '.');
    chart->y += BAR_STEP;
}

/* False if nothing was audible on it in any variant. */
static bool
add_bearer(SpateChart *chart, const SpateSubject *bearer, const SpateChartArea *area,
           const SpateResult *result)
{
    bool is_drawn = false;
    for (size_t v = 0; v < result->n_variants; v++) {
        if (isnan(share_of(bearer, 0, v, result->n_variants)))
            continue;
        if (!is_drawn) {
            chart->y += 22.0;
            spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN, chart->y,
                                  (SpateSvgTextStyle){.is_bold = true}, bearer->name);
            chart->y += 4.0;
            g_string_append_printf(chart->words, " %s:", bearer->name);
        }
        is_drawn = true;
        add_bar(chart, bearer, area, v, result);
    }
    return is_drawn;
}

bool
spate_plot_losses(SpateChart *chart, const SpateResult *result)
{
    g_autoptr(GPtrArray) subjects = spate_table_subjects(result);
    bool is_drawn = false;
    double labels = result->n_variants > 1 ? LABELS : 12.0;
    SpateChartArea area = {.left = SPATE_CHART_MARGIN + labels,
                           .right = SPATE_CHART_WIDTH - SPATE_CHART_MARGIN - 12.0};
    add_legend(chart, count_outcomes(result));
    g_auto(SpateChart) bars;
    spate_chart_init(&bars);
    area.top = chart->y + 6.0;
    bars.y = chart->y;
    for (guint i = 0; i < subjects->len; i++) {
        const SpateSubject *subject = g_ptr_array_index(subjects, i);
        if (subject->kind == SPATE_SUBJECT_BEARER)
            is_drawn |= add_bearer(&bars, subject, &area, result);
    }
    if (!is_drawn)
        return false;
    /* The axis goes below what it goes through: it is drawn first, when the height is known. */
    const SpateScale scale = spate_scale_linear(0.0, 100.0, 10);
    area.bottom = bars.y + 4.0;
    spate_chart_draw_x_axis(chart, &area, &scale, "of what was audible, %");
    g_string_append(chart->svg, bars.svg->str);
    g_string_append(chart->words, bars.words->str);
    chart->y = area.bottom + AXIS_HEIGHT;
    return true;
}
