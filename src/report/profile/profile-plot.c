/* profile-plot.c - the ground between two nodes as a drawing */
#include "core/shown-text.h"
#include "report/plot/chart.h"
#include "report/plot/palette.h"
#include "report/plot/svg.h"
#include "report/profile/profile-report.h"

#include <math.h>

#define PLOT_HEIGHT 280.0
#define Y_AXIS      52.0
#define X_AXIS      48.0
/* More are not told apart at the width of a chart. */
#define MOST_POINTS 1500

typedef struct {
    SpateChartArea area;
    SpateScale x, y;
} Panel;

static void
append_place(GString *svg, char command, const Panel *panel, double distance_m, double height_m)
{
    g_string_append_c(svg, command);
    spate_svg_append_length(svg, spate_chart_x(&panel->area, &panel->x, distance_m / 1e3));
    g_string_append_c(svg, ' ');
    spate_svg_append_length(svg, spate_chart_y(&panel->area, &panel->y, height_m));
}

/* The highest ground of each stretch that is drawn as one. */
static void
draw_ground(SpateChart *chart, const Panel *panel, const GArray *points)
{
    guint stretch = points->len / MOST_POINTS + 1;
    g_string_append(chart->svg, "<path d=\"");
    append_place(chart->svg, 'M', panel, 0.0, panel->y.low);
    for (guint i = 0; i < points->len; i += stretch) {
        const SpatePathPoint *highest = &g_array_index(points, SpatePathPoint, i);
        for (guint k = i; k < MIN(i + stretch, points->len); k++) {
            const SpatePathPoint *point = &g_array_index(points, SpatePathPoint, k);
            if (point->ground_m + point->bulge_m > highest->ground_m + highest->bulge_m)
                highest = point;
        }
        append_place(chart->svg, 'L', panel, highest->distance_m,
                     highest->ground_m + highest->bulge_m);
    }
    const SpatePathPoint *last = &g_array_index(points, SpatePathPoint, points->len - 1);
    append_place(chart->svg, 'L', panel, last->distance_m, last->ground_m + last->bulge_m);
    append_place(chart->svg, 'L', panel, last->distance_m, panel->y.low);
    g_string_append(chart->svg,
                    "z\" fill=\"" SPATE_SVG_LINE "\" stroke=\"" SPATE_SVG_SOFT "\"/>\n");
}

/* One side of an ellipsoid around the ray: so many radii above it. */
static void
draw_side(SpateChart *chart, const Panel *panel, const GArray *points, double radii,
          const char *look)
{
    guint stretch = points->len / MOST_POINTS + 1;
    g_string_append(chart->svg, "<path d=\"");
    for (guint i = 0; i < points->len; i++) {
        const SpatePathPoint *point = &g_array_index(points, SpatePathPoint, i);
        if (i % stretch == 0 || i + 1 == points->len)
            append_place(chart->svg, i == 0 ? 'M' : 'L', panel, point->distance_m,
                         point->ray_m + radii * point->fresnel_m);
    }
    g_string_append_printf(chart->svg, "\" fill=\"none\" %s/>\n", look);
}

static void
draw_y_axis(SpateChart *chart, const Panel *panel)
{
    const SpateSvgTextStyle number = {.anchor = SPATE_SVG_END, .size = 11.0};
    for (size_t i = 0; i < panel->y.n_ticks; i++) {
        double y = spate_chart_y(&panel->area, &panel->y, panel->y.ticks[i]);
        g_autoptr(GString) tick = g_string_new(NULL);
        spate_scale_append_tick(tick, &panel->y, i);
        spate_svg_append_line(chart->svg, panel->area.left, y, panel->area.right, y,
                              "stroke=\"" SPATE_SVG_LINE "\"");
        spate_svg_append_text(chart->svg, panel->area.left - 6.0, y + 4.0, number, tick->str);
    }
}

void
spate_profile_append_plot(GString *svg, const SpateProfileReport *report)
{
    g_auto(SpateChart) chart;
    spate_chart_init(&chart);
    g_autofree char *title = g_strdup_printf("%s to %s", report->from, report->to);
    g_autoptr(GString) verdict = g_string_new(NULL);
    spate_profile_append_verdict(verdict, report);
    g_autofree char *note =
        g_strdup_printf("%.3f MHz (%s)%s", report->frequency_hz / 1e6, report->bearer,
                        report->has_terrain ? "" : "; no height model: flat ground");
    spate_chart_add_title(&chart, title);
    spate_chart_add_note(&chart, note);
    spate_chart_add_note(&chart, verdict->str);
    spate_chart_add_note(&chart, "ground of the curved earth; line of sight, first Fresnel zone "
                                 "(dashed: 60 % of it)");
    g_string_append_printf(chart.words, "%s: %s; %s.", title, note, verdict->str);
    double low_m, high_m;
    spate_profile_find_heights(report, &low_m, &high_m);
    Panel panel = {
        .area = {.left = SPATE_CHART_MARGIN + Y_AXIS,
                 .right = SPATE_CHART_WIDTH - SPATE_CHART_MARGIN,
                 .top = chart.y + 16.0,
                 .bottom = chart.y + 16.0 + PLOT_HEIGHT},
        .x = spate_scale_linear(0.0, report->distance_m / 1e3, 8),
        .y = spate_scale_linear(low_m, high_m, 6),
    };
    spate_chart_draw_x_axis(&chart, &panel.area, &panel.x, "km; heights in m");
    draw_y_axis(&chart, &panel);
    draw_ground(&chart, &panel, report->points);
    g_autofree char *zone = g_strdup_printf("stroke=\"%s\"", spate_palette_colour(0));
    g_autofree char *clear =
        g_strdup_printf("stroke=\"%s\" stroke-dasharray=\"4 3\"", spate_palette_colour(0));
    g_autofree char *ray =
        g_strdup_printf("stroke=\"%s\" stroke-width=\"2\"", spate_palette_colour(1));
    draw_side(&chart, &panel, report->points, 1.0, zone);
    draw_side(&chart, &panel, report->points, -1.0, zone);
    draw_side(&chart, &panel, report->points, -SPATE_CLEAR_SHARE, clear);
    draw_side(&chart, &panel, report->points, 0.0, ray);
    chart.y = panel.area.bottom + X_AXIS;
    spate_chart_append_drawing(svg, &chart, "profile", title);
}
