/* chart-intervals.c - points with their intervals, group by group */
#include "report/plot/chart.h"

#include "document/numbers.h"
#include "report/plot/palette.h"
#include "report/plot/svg.h"
#include "report/words/figures.h"
#include <math.h>

#define ROW_HEIGHT    16.0
#define GROUP_PADDING 5.0
#define AXIS_HEIGHT   44.0
#define LEAST_LABELS  60.0
#define MOST_LABELS   240.0
#define FIGURES       76.0 /* their width, right of the area */

static void
free_group(gpointer group)
{
    SpateChartGroup *dying = group;
    g_free(dying->label);
    g_array_unref(dying->points);
    g_free(dying);
}

GPtrArray *
spate_chart_groups_new(void)
{
    return g_ptr_array_new_with_free_func(free_group);
}

SpateChartGroup *
spate_chart_groups_add(GPtrArray *groups, const char *label)
{
    SpateChartGroup *group = g_new(SpateChartGroup, 1);
    *group = (SpateChartGroup){g_strdup(label), g_array_new(FALSE, FALSE, sizeof(SpateChartPoint))};
    g_ptr_array_add(groups, group);
    return group;
}

static const SpateChartPoint *
point_of(const SpateChartGroup *group, guint number)
{
    return &g_array_index(group->points, SpateChartPoint, number);
}

static double
height_of(const SpateChartGroup *group)
{
    return group->points->len * ROW_HEIGHT + 2 * GROUP_PADDING;
}

static void
draw_point(SpateChart *chart, const SpateChartPoint *point, const SpateChartArea *area, double y,
           const SpateChartIntervals *intervals)
{
    double factor = intervals->factor;
    if (!isnan(point->ci95.low)) {
        double low = spate_chart_x(area, &intervals->scale, point->ci95.low * factor);
        double high = spate_chart_x(area, &intervals->scale, point->ci95.high * factor);
        g_autofree char *look = g_strdup_printf("stroke=\"%s\" stroke-width=\"2\"",
                                                spate_palette_colour(point->variant));
        spate_svg_append_line(chart->svg, low, y, high, y, look);
        spate_svg_append_line(chart->svg, low, y - 4.0, low, y + 4.0, look);
        spate_svg_append_line(chart->svg, high, y - 4.0, high, y + 4.0, look);
    }
    spate_palette_append_mark(chart->svg, point->variant,
                              spate_chart_x(area, &intervals->scale, point->mean * factor), y);
}

/* "base 81.2 (80.1 to 82.3)" */
static void
tell_point(SpateChart *chart, const SpateChartPoint *point, SpateShown shown,
           const SpateResult *result)
{
    shown = spate_shown_for(shown, point->ci95);
    g_autofree char *mean = spate_figure_text(point->mean, shown);
    g_autofree char *low = spate_figure_text(point->ci95.low, shown);
    g_autofree char *high = spate_figure_text(point->ci95.high, shown);
    if (result->n_variants > 1)
        g_string_append_printf(chart->words, "%s ", result->variants[point->variant].name);
    g_string_append(chart->words, mean);
    if (!isnan(point->ci95.low))
        g_string_append_printf(chart->words, " (%s to %s)", low, high);
}

static void
add_group(SpateChart *chart, const SpateChartGroup *group, const SpateChartArea *area, double top,
          const SpateChartIntervals *intervals, const SpateResult *result)
{
    const SpateSvgTextStyle figures = {.anchor = SPATE_SVG_END, .size = 12.0};
    double largest = 0.0;
    for (guint i = 0; i < group->points->len; i++)
        largest = fmax(largest, fabs(point_of(group, i)->mean) * intervals->factor);
    const SpateShown shown = {intervals->factor, spate_decimals_for(largest),
                              intervals->is_difference};
    g_autofree char *label = spate_svg_shortened(group->label, MOST_LABELS, SPATE_SVG_FONT_SIZE);
    spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN,
                          top + GROUP_PADDING + 0.5 * ROW_HEIGHT + 4.5, (SpateSvgTextStyle){0},
                          label);
    g_string_append_printf(chart->words, " %s: ", group->label);
    for (guint i = 0; i < group->points->len; i++) {
        const SpateChartPoint *point = point_of(group, i);
        double y = top + GROUP_PADDING + (i + 0.5) * ROW_HEIGHT;
        g_autofree char *mean = spate_figure_text(point->mean, shown);
        draw_point(chart, point, area, y, intervals);
        spate_svg_append_text(chart->svg, SPATE_CHART_WIDTH - SPATE_CHART_MARGIN, y + 4.0, figures,
                              mean);
        g_string_append(chart->words, i > 0 ? ", " : "");
        tell_point(chart, point, shown, result);
    }
    g_string_append_c(chart->words, '.');
}

void
spate_chart_add_intervals(SpateChart *chart, const SpateChartIntervals *intervals,
                          const SpateResult *result)
{
    const GPtrArray *groups = intervals->groups;
    chart->y += 8.0;
    if (intervals->heading != NULL) {
        chart->y += 16.0;
        spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN, chart->y,
                              (SpateSvgTextStyle){.is_bold = true}, intervals->heading);
        g_string_append_printf(chart->words, " %s, %s.", intervals->heading, intervals->axis);
        chart->y += 8.0;
    }
    double height = 0.0, labels = LEAST_LABELS;
    for (guint i = 0; i < groups->len; i++) {
        const SpateChartGroup *group = g_ptr_array_index(groups, i);
        /* Every other one has a band, so that a line of sight keeps to its group. */
        if (i % 2 == 0)
            spate_svg_append_rectangle(chart->svg, SPATE_CHART_MARGIN - 8.0, chart->y + height,
                                       SPATE_CHART_WIDTH - 2 * SPATE_CHART_MARGIN + 16.0,
                                       height_of(group), "fill=\"" SPATE_SVG_BAND "\"");
        height += height_of(group);
        labels = fmax(labels, spate_svg_text_width(group->label, SPATE_SVG_FONT_SIZE));
    }
    const SpateChartArea area = {
        .left = SPATE_CHART_MARGIN + fmin(labels, MOST_LABELS) + 14.0,
        .right = SPATE_CHART_WIDTH - SPATE_CHART_MARGIN - FIGURES,
        .top = chart->y,
        .bottom = chart->y + height,
    };
    spate_chart_draw_x_axis(chart, &area, &intervals->scale, intervals->axis);
    if (intervals->is_difference) {
        double zero = spate_chart_x(&area, &intervals->scale, 0.0);
        spate_svg_append_line(chart->svg, zero, area.top, zero, area.bottom,
                              "stroke=\"" SPATE_SVG_INK "\" stroke-width=\"1.5\"");
    }
    double top = area.top;
    for (guint i = 0; i < groups->len; i++) {
        const SpateChartGroup *group = g_ptr_array_index(groups, i);
        add_group(chart, group, &area, top, intervals, result);
        top += height_of(group);
    }
    chart->y = area.bottom + AXIS_HEIGHT;
}
