/* plot-latency.c - how long messages take: curves of what has arrived by when
 *
 * A bin is a twentieth of a decade, 12 % wide; within it the curve is straight on its logarithmic
 * axis.  A result that does not keep latencies has percentiles alone.
 */
#include "report/plot/plot-private.h"

#include "document/numbers.h"
#include "report/plot/palette.h"
#include "report/plot/svg.h"
#include <math.h>
#include <string.h>

#define PANEL_HEIGHT 200.0 /* with heading and axis */
#define CURVE_HEIGHT 130.0
#define Y_AXIS       44.0
#define BETWEEN      24.0

/* ---- bins ------------------------------------------------------------------------------------ */

static double
bin_start_s(double bin)
{
    return 1e-9 * SPATE_LATENCY_FIRST_NS * pow(10.0, bin / SPATE_LATENCY_PER_DECADE);
}

static uint64_t
sum_of(const SpateResultLatency *latency)
{
    uint64_t sum = 0;
    for (size_t i = 0; i < SPATE_LATENCY_BINS; i++)
        sum += latency->bins[i];
    return sum;
}

/* NULL if none arrived. */
static const SpateResultLatency *
find_arrivals(const SpateResultVariant *variant, const char *traffic)
{
    const SpateResultLatency *latency = spate_find_latency(variant, traffic);
    return latency != NULL && sum_of(latency) > 0 ? latency : NULL;
}

/* ---- curves ---------------------------------------------------------------------------------- */

typedef struct {
    SpateChartArea area;
    const SpateScale *scale;
} Panel;

static double
y_of(const Panel *panel, double share)
{
    return panel->area.bottom - share * (panel->area.bottom - panel->area.top);
}

static void
append_point(GString *path, const Panel *panel, double bin, double share)
{
    g_string_append(path, path->len == 0 ? "M" : "L");
    spate_svg_append_length(path, spate_chart_x(&panel->area, panel->scale, bin_start_s(bin)));
    g_string_append_c(path, ' ');
    spate_svg_append_length(path, y_of(panel, share));
}

/* Where half has arrived, in bins. */
static double
median_of(const SpateResultLatency *latency)
{
    double half = 0.5 * (double)sum_of(latency), before = 0.0;
    int bin = 0;
    while (before + (double)latency->bins[bin] < half)
        before += (double)latency->bins[bin++];
    return bin + (half - before) / (double)latency->bins[bin];
}

/* Corners where the slope changes; a mark where half has arrived. */
static void
draw_curve(SpateChart *chart, const Panel *panel, const SpateResultLatency *latency, size_t variant)
{
    double all = (double)sum_of(latency), before = 0.0;
    g_autoptr(GString) path = g_string_new(NULL);
    for (int bin = 0; bin < SPATE_LATENCY_BINS; bin++) {
        double after = before + (double)latency->bins[bin] / all;
        if (latency->bins[bin] > 0) {
            append_point(path, panel, bin, before);
            append_point(path, panel, bin + 1, after);
        }
        before = after;
    }
    g_string_append_printf(chart->svg,
                           "<path d=\"%s\" fill=\"none\" stroke=\"%s\" stroke-width=\"2\" "
                           "stroke-dasharray=\"%s\"/>\n",
                           path->str, spate_palette_colour(variant), spate_palette_dash(variant));
    double median_s = bin_start_s(median_of(latency));
    spate_palette_append_mark(
        chart->svg, variant, spate_chart_x(&panel->area, panel->scale, median_s), y_of(panel, 0.5));
}

/* Both percentiles are the means over replications, as in the table. */
static void
tell_percentiles(SpateChart *chart, const SpateSubject *traffic, const SpateResult *result)
{
    const SpateTableLine *half =
        spate_plot_find_line(traffic, SPATE_MEASURE_LATENCY_P50, NULL, result->n_variants);
    const SpateTableLine *most =
        spate_plot_find_line(traffic, SPATE_MEASURE_LATENCY_P95, NULL, result->n_variants);
    g_string_append_printf(chart->words, " %s:", traffic->name);
    const char *between = "";
    for (size_t v = 0; half != NULL && most != NULL && v < result->n_variants; v++) {
        if (half->rows[v] == NULL || most->rows[v] == NULL || isnan(half->rows[v]->mean))
            continue;
        g_string_append_printf(chart->words, "%s %s", between,
                               result->n_variants > 1 ? result->variants[v].name : "");
        g_string_append(chart->words, result->n_variants > 1 ? " half within " : "half within ");
        spate_append_fixed(chart->words, half->rows[v]->mean, 3, false);
        g_string_append(chart->words, " s, 95 % within ");
        spate_append_fixed(chart->words, most->rows[v]->mean, 3, false);
        g_string_append(chart->words, " s");
        between = ";";
    }
    g_string_append_c(chart->words, '.');
}

static void
draw_panel(SpateChart *chart, const Panel *panel, const SpateSubject *traffic,
           const SpateResult *result)
{
    const SpateSvgTextStyle figures = {.anchor = SPATE_SVG_END, .size = 12.0};
    double width = panel->area.right - panel->area.left;
    g_autofree char *heading = spate_svg_shortened(traffic->name, width, SPATE_SVG_FONT_SIZE);
    spate_svg_append_text(chart->svg, panel->area.left, panel->area.top - 8.0,
                          (SpateSvgTextStyle){.is_bold = true}, heading);
    for (int percent = 0; percent <= 100; percent += 25) {
        double y = y_of(panel, percent / 100.0);
        g_autofree char *figure = g_strdup_printf("%d", percent);
        spate_svg_append_line(chart->svg, panel->area.left - 4.0, y, panel->area.right, y,
                              "stroke=\"" SPATE_SVG_LINE "\"");
        spate_svg_append_text(chart->svg, panel->area.left - 7.0, y + 4.0, figures, figure);
    }
    spate_chart_draw_x_axis(chart, &panel->area, panel->scale, "s");
    for (size_t v = 0; v < result->n_variants; v++) {
        const SpateResultLatency *latency = find_arrivals(&result->variants[v], traffic->name);
        if (latency != NULL)
            draw_curve(chart, panel, latency, v);
    }
    tell_percentiles(chart, traffic, result);
}

/* Two in a row, unless there is one alone. */
static void
add_curves(SpateChart *chart, const SpateScale *scale, const GPtrArray *traffics,
           const SpateResult *result)
{
    guint n_beside = traffics->len > 1 ? 2 : 1;
    double step = (SPATE_CHART_WIDTH - 2 * SPATE_CHART_MARGIN + BETWEEN) / n_beside;
    spate_chart_add_note(chart, "curves: share of all arrivals that had arrived by then, in %; the "
                                "mark is at half of them");
    spate_chart_add_variants(chart, result, 0, true);
    for (guint i = 0; i < traffics->len; i++) {
        double left = SPATE_CHART_MARGIN + step * (i % n_beside) + Y_AXIS;
        guint row = i / n_beside;
        double top = chart->y + 30.0 + PANEL_HEIGHT * row;
        const Panel panel = {
            .area = {.left = left,
                     .right = left + step - BETWEEN - Y_AXIS - 8.0,
                     .top = top,
                     .bottom = top + CURVE_HEIGHT},
            .scale = scale,
        };
        draw_panel(chart, &panel, g_ptr_array_index(traffics, i), result);
    }
    guint n_rows = (traffics->len + n_beside - 1) / n_beside;
    chart->y += PANEL_HEIGHT * n_rows + 10.0;
}

/* ---- percentiles ----------------------------------------------------------------------------- */

static GPtrArray *
percentiles_of(const GPtrArray *subjects, const SpateResult *result)
{
    static const struct {
        SpateMeasure measure;
        const char *words;
    } PERCENTILES[] = {{SPATE_MEASURE_LATENCY_P50, "half"},
                       {SPATE_MEASURE_LATENCY_P95, "95 %"},
                       {SPATE_MEASURE_LATENCY_P99, "99 %"}};
    GPtrArray *groups = spate_chart_groups_new();
    for (size_t i = 0; i < subjects->len * G_N_ELEMENTS(PERCENTILES); i++) {
        const SpateSubject *subject = g_ptr_array_index(subjects, i / G_N_ELEMENTS(PERCENTILES));
        size_t p = i % G_N_ELEMENTS(PERCENTILES);
        if (subject->kind != SPATE_SUBJECT_TRAFFIC)
            continue;
        const SpateTableLine *line =
            spate_plot_find_line(subject, PERCENTILES[p].measure, NULL, result->n_variants);
        g_autofree char *label = g_strdup_printf("%s, %s", subject->name, PERCENTILES[p].words);
        spate_plot_add_group(groups, label, line, result->n_variants, false);
    }
    return groups;
}

/* An interval that would begin below 0 begins at the end of the axis. */
static bool
add_percentiles(SpateChart *chart, const GPtrArray *subjects, const SpateResult *result)
{
    double low = INFINITY, high = 0.0;
    g_autoptr(GPtrArray) groups = percentiles_of(subjects, result);
    if (groups->len == 0)
        return false;
    for (guint i = 0; i < groups->len; i++) {
        const SpateChartGroup *group = g_ptr_array_index(groups, i);
        for (guint k = 0; k < group->points->len; k++)
            low = fmin(low, g_array_index(group->points, SpateChartPoint, k).mean);
    }
    double least = low;
    spate_plot_widen(groups, &least, &high);
    low = fmax(low, 1e-9);
    const SpateChartIntervals intervals = {
        .axis = "s",
        .groups = groups,
        .factor = 1.0,
        .scale = spate_scale_log(low, fmax(low, high)),
    };
    spate_chart_add_note(chart, "time by which 50 %, 95 % and 99 % of all arrivals have arrived: "
                                "mean and 95 % interval over replications");
    spate_chart_add_variants(chart, result, 0, false);
    spate_chart_add_intervals(chart, &intervals, result);
    return true;
}

bool
spate_plot_latency(SpateChart *chart, const SpateResult *result)
{
    unsigned first, last;
    g_autoptr(GPtrArray) subjects = spate_table_subjects(result);
    if (!spate_find_latency_bins(result, &first, &last))
        return add_percentiles(chart, subjects, result);
    /* Ends that are decades already must not become the next ones by rounding. */
    const SpateScale scale = spate_scale_log(bin_start_s(first + 0.01), bin_start_s(last + 0.99));
    g_autoptr(GPtrArray) traffics = g_ptr_array_new(); /* of which something arrived */
    for (guint i = 0; i < subjects->len; i++) {
        SpateSubject *subject = g_ptr_array_index(subjects, i);
        bool arrives = false;
        for (size_t v = 0; v < result->n_variants && subject->kind == SPATE_SUBJECT_TRAFFIC; v++)
            arrives |= find_arrivals(&result->variants[v], subject->name) != NULL;
        if (arrives)
            g_ptr_array_add(traffics, subject);
    }
    if (traffics->len == 0)
        return false;
    add_curves(chart, &scale, traffics, result);
    return true;
}
