/* plot.c - single pictures of a result, for documents */
#include "report/plot/plot.h"

#include "report/plot/plot-private.h"
#include "report/plot/svg.h"
#include "report/words/run-words.h"

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
    spate_chart_add_title(chart, kind->title);
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
    bool has_title = result->title != NULL && result->title[0] != '\0';
    g_autofree char *title =
        has_title ? g_strdup_printf("%s: %s", kind->title, result->title) : g_strdup(kind->title);
    spate_chart_append_drawing(svg, &chart, kind->name, title);
    return is_drawn;
}
