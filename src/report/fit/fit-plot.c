/* fit-plot.c - what is left of each sample beside the law, over its distance
 *
 * Residuals show what a table hides: a bend, wild samples, and where the samples end.
 */
#include "report/fit/fit-report.h"

#include "core/shown-text.h"
#include "document/numbers.h"
#include "report/plot/chart.h"
#include "report/plot/palette.h"
#include "report/plot/svg.h"
#include <math.h>

#define PLOT_HEIGHT 280.0
#define Y_AXIS      52.0
#define X_AXIS      48.0
#define MARK        "stroke=\"#ffffff\" stroke-width=\"0.8\""

/* By kind of sample: what it looks like, and what it is called. */
enum { HEARD, WILD, UNHEARD, N_SIGNS };

static const struct {
    const char *words, *shape;
    size_t colour;
} SIGNS[N_SIGNS] = {
    [HEARD] = {"heard", "M-3.5 0a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0 -7 0z", 0},
    [WILD] = {"wild: more than 3 sigma off what most follow", "M0 -6.5L6 0L0 6.5L-6 0z", 1},
    [UNHEARD] = {"not heard: below the mark", "M0 5L4.5 -3.5L-4.5 -3.5z", 6},
};

static void
draw_sign(SpateChart *chart, int sign, double x, double y)
{
    g_string_append(chart->svg, "<path transform=\"translate(");
    spate_svg_append_length(chart->svg, x);
    g_string_append_c(chart->svg, ' ');
    spate_svg_append_length(chart->svg, y);
    g_string_append_printf(chart->svg, ")\" d=\"%s\" fill=\"%s\" " MARK "/>\n", SIGNS[sign].shape,
                           spate_palette_colour(SIGNS[sign].colour));
}

static int
sign_of(const SpateFitSample *sample)
{
    return sample->is_wild ? WILD : sample->is_heard ? HEARD : UNHEARD;
}

typedef struct {
    SpateChartArea area;
    SpateScale x, y;
} Panel;

static Panel
panel_of(const SpateChart *chart, const SpateFit *fit)
{
    double least = -3.2 * fit->fit.sigma_db.value, most = -least;
    double near_m = INFINITY, far_m = 0.0;
    for (guint i = 0; i < fit->samples->len; i++) {
        const SpateFitSample *sample = &g_array_index(fit->samples, SpateFitSample, i);
        least = fmin(least, sample->above_db);
        most = fmax(most, sample->above_db);
        near_m = fmin(near_m, sample->distance_m);
        far_m = fmax(far_m, sample->distance_m);
    }
    return (Panel){
        .area = {.left = SPATE_CHART_MARGIN + Y_AXIS,
                 .right = SPATE_CHART_WIDTH - SPATE_CHART_MARGIN - 8.0,
                 .top = chart->y + 14.0,
                 .bottom = chart->y + 14.0 + PLOT_HEIGHT},
        .x = spate_scale_log(near_m, far_m),
        .y = spate_scale_linear(fmin(least, -1.0), fmax(most, 1.0), 8),
    };
}

static void
draw_y_axis(SpateChart *chart, const Panel *panel)
{
    const SpateSvgTextStyle figures = {.anchor = SPATE_SVG_END, .size = 12.0};
    for (size_t i = 0; i < panel->y.n_ticks; i++) {
        double y = spate_chart_y(&panel->area, &panel->y, panel->y.ticks[i]);
        g_autoptr(GString) tick = g_string_new(NULL);
        spate_scale_append_tick(tick, &panel->y, i);
        spate_svg_append_line(chart->svg, panel->area.left - 4.0, y, panel->area.right, y,
                              "stroke=\"" SPATE_SVG_LINE "\"");
        spate_svg_append_text(chart->svg, panel->area.left - 7.0, y + 4.0, figures, tick->str);
    }
    spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN, panel->area.top - 2.0,
                          (SpateSvgTextStyle){.size = 12.0, .is_soft = true}, "dB");
}

/* The law, and one sigma to both sides. */
static void
draw_law(SpateChart *chart, const Panel *panel, double sigma_db)
{
    double top = spate_chart_y(&panel->area, &panel->y, sigma_db),
           bottom = spate_chart_y(&panel->area, &panel->y, -sigma_db);
    spate_svg_append_rectangle(chart->svg, panel->area.left, top,
                               panel->area.right - panel->area.left, bottom - top,
                               "fill=\"" SPATE_SVG_BAND "\"");
    spate_svg_append_line(chart->svg, panel->area.left, spate_chart_y(&panel->area, &panel->y, 0.0),
                          panel->area.right, spate_chart_y(&panel->area, &panel->y, 0.0),
                          "stroke=\"" SPATE_SVG_INK "\" stroke-width=\"1.5\"");
}

static void
add_legend(SpateChart *chart, const SpateFit *fit)
{
    bool has[N_SIGNS] = {false};
    for (guint i = 0; i < fit->samples->len; i++)
        has[sign_of(&g_array_index(fit->samples, SpateFitSample, i))] = true;
    chart->y += 8.0;
    for (int sign = 0; sign < N_SIGNS; sign++) {
        double x, y;
        if (!has[sign])
            continue;
        spate_chart_add_key(chart, SIGNS[sign].words, &x, &y);
        draw_sign(chart, sign, x + 0.5 * SPATE_CHART_SIGN_WIDTH, y);
    }
    spate_chart_end_keys(chart);
}

static void
tell(SpateChart *chart, const SpateFit *fit)
{
    g_string_append_printf(chart->words,
                           "Over the distance, how far the level of each of %zu samples is above "
                           "the fitted law; %zu were heard, %zu are wild. The law: exponent ",
                           fit->fit.n, fit->fit.n_heard, fit->n_wild);
    spate_append_fixed(chart->words, fit->fit.exponent.value, 2, false);
    g_string_append(chart->words, ", ");
    spate_append_fixed(chart->words, fit->fit.intercept_db.value, 1, false);
    g_string_append(chart->words, " dB at ");
    spate_append_fixed(chart->words, fit->fit.at_m, 0, false);
    g_string_append(chart->words, " m, sigma ");
    spate_append_fixed(chart->words, fit->fit.sigma_db.value, 1, false);
    g_string_append(chart->words, " dB.");
}

void
spate_fit_append_residuals(GString *svg, const SpateFit *fit)
{
    g_auto(SpateChart) chart;
    spate_chart_init(&chart);
    g_autofree char *name = spate_shown_line(fit->name);
    g_autofree char *title = g_strdup_printf("What the fit leaves: %s", name);
    spate_chart_add_title(&chart, "What the fit leaves");
    spate_chart_add_note(&chart, name);
    spate_chart_add_note(&chart, "level above the fitted law, over the distance; the band is one "
                                 "sigma to both sides");
    tell(&chart, fit);
    add_legend(&chart, fit);
    const Panel panel = panel_of(&chart, fit);
    draw_law(&chart, &panel, fit->fit.sigma_db.value);
    draw_y_axis(&chart, &panel);
    spate_chart_draw_x_axis(&chart, &panel.area, &panel.x, "distance, m");
    for (guint i = 0; i < fit->samples->len; i++) {
        const SpateFitSample *sample = &g_array_index(fit->samples, SpateFitSample, i);
        draw_sign(&chart, sign_of(sample), spate_chart_x(&panel.area, &panel.x, sample->distance_m),
                  spate_chart_y(&panel.area, &panel.y, sample->above_db));
    }
    chart.y = panel.area.bottom + X_AXIS;
    spate_chart_append_drawing(svg, &chart, "residuals", title);
}
