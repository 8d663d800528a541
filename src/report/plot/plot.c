/* plot.c - single pictures of a result, for documents */
#include "report/plot/plot.h"

#include "report/plot/plot-private.h"
#include "report/plot/svg.h"
#include "report/words/run-words.h"

#define TITLE_SIZE 17.0

typedef struct {
    const char *name, *title;
    const char *meaning; /* of what is drawn */
    const char *nothing; /* why there may be nothing to draw */
} Kind;

static const Kind KINDS[SPATE_N_PLOTS] = {
    [SPATE_PLOT_DELIVERY] = {"delivery", "Delivery",
                             "of the messages, the share that each recipient gets: mean and 95 % "
                             "interval",
                             "no message had a recipient"},
    [SPATE_PLOT_DELIVERY_IN_TIME] = {"delivery-in-time", "Delivery in time",
                                     "share that each recipient gets within the deadline: mean and "
                                     "95 % interval",
                                     "no traffic has a deadline"},
    [SPATE_PLOT_LATENCY] = {"latency", "Latency",
                            "from the offer to the end of the frame that brings the message first",
                            "nothing was delivered"},
    [SPATE_PLOT_LOAD] = {"load", "Load",
                         "time on the air of all frames, by bearer and by traffic on it: mean and "
                         "95 % interval",
                         "there are no bearers"},
    [SPATE_PLOT_LOSSES] =
        {"losses", "Outcomes of frames",
         "outcomes at all radios that receive a frame at their sensitivity or above",
         "no frame was audible"},
    [SPATE_PLOT_DIFFERENCE] = {"difference", "Differences",
                               "replication by replication, on the same random numbers: mean and "
                               "95 % interval",
                               "there are no variants to compare"},
};

const char *const *
spate_plot_names(void)
{
    static const char *names[SPATE_N_PLOTS + 1];
    for (int i = 0; i < SPATE_N_PLOTS; i++)
        names[i] = KINDS[i].name;
    return names;
}

static bool
draw(SpateChart *chart, const SpateResult *result, SpatePlot plot)
{
    switch (plot) {
    case SPATE_PLOT_DELIVERY:
        return spate_plot_shares(chart, result, SPATE_MEASURE_DELIVERY);
    case SPATE_PLOT_DELIVERY_IN_TIME:
        return spate_plot_shares(chart, result, SPATE_MEASURE_DELIVERY_IN_TIME);
    case SPATE_PLOT_LATENCY:
        return spate_plot_latency(chart, result);
    case SPATE_PLOT_LOAD:
        return spate_plot_load(chart, result);
    case SPATE_PLOT_LOSSES:
        return spate_plot_losses(chart, result);
    case SPATE_PLOT_DIFFERENCE:
        return spate_plot_differences(chart, result);
    case SPATE_N_PLOTS:
        break;
    }
    g_assert_not_reached();
}

/* Title, scenario, how it was run, what is shown. */
static void
add_head(SpateChart *chart, const SpateResult *result, const Kind *kind)
{
    chart->y = 30.0;
    spate_svg_append_text(chart->svg, SPATE_CHART_MARGIN, chart->y,
                          (SpateSvgTextStyle){.size = TITLE_SIZE, .is_bold = true}, kind->title);
    chart->y += 4.0;
    if (result->title != NULL && result->title[0] != '\0')
        spate_chart_add_note(chart, result->title);
    g_autoptr(GString) run = g_string_new(NULL);
    spate_append_run_words(run, result);
    if (result->interrupted)
        g_string_append(run, "; interrupted: these are the finished replications");
    spate_chart_add_note(chart, run->str);
    spate_chart_add_note(chart, kind->meaning);
    g_string_append_printf(chart->words, "%s; %s.", run->str, kind->meaning);
}

static void
append_element(GString *svg, const char *element, const char *id, const char *words)
{
    g_string_append_printf(svg, "<%s id=\"%s-%s\">", element, id, element);
    spate_svg_append_escaped(svg, words);
    g_string_append_printf(svg, "</%s>\n", element);
}

/* Names of elements begin with that of the plot: several plots may be put into one page. */
static void
append_drawing(GString *svg, const SpateChart *chart, const SpateResult *result, const Kind *kind)
{
    double height = chart->y + SPATE_CHART_MARGIN;
    bool has_title = result->title != NULL && result->title[0] != '\0';
    g_autofree char *title =
        has_title ? g_strdup_printf("%s: %s", kind->title, result->title) : g_strdup(kind->title);
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
        kind->name, kind->name, SPATE_SVG_FONT_SIZE);
    append_element(svg, "title", kind->name, title);
    append_element(svg, "desc", kind->name, chart->words->str);
    spate_svg_append_rectangle(svg, 0.0, 0.0, SPATE_CHART_WIDTH, height, "fill=\"#ffffff\"");
    g_string_append_len(svg, chart->svg->str, (gssize)chart->svg->len);
    g_string_append(svg, "</svg>\n");
}

bool
spate_plot_append(GString *svg, const SpateResult *result, SpatePlot plot)
{
    const Kind *kind = &KINDS[plot];
    g_auto(SpateChart) chart;
    spate_chart_init(&chart);
    add_head(&chart, result, kind);
    bool is_drawn = draw(&chart, result, plot);
    if (!is_drawn) {
        g_autofree char *note = g_strdup_printf("nothing to show: %s", kind->nothing);
        chart.y += 12.0;
        spate_chart_add_note(&chart, note);
        g_string_append_printf(chart.words, " %s.", note);
    }
    append_drawing(svg, &chart, result, kind);
    return is_drawn;
}
