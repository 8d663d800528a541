/* plot.h - single pictures of a result, for documents: stand-alone SVG
 *
 * A plot has a title, says how the result was made, and gives its numbers in words for those who do
 * not see it.  Equal results are equal bytes.
 */
#pragma once

#include "study/run/result.h"

typedef enum {
    SPATE_PLOT_DELIVERY,
    SPATE_PLOT_DELIVERY_IN_TIME,
    SPATE_PLOT_LATENCY, /* curves, if the result keeps latencies; else percentiles */
    SPATE_PLOT_LOAD,
    SPATE_PLOT_LOSSES,
    SPATE_PLOT_DIFFERENCE, /* of variants to the first */
    SPATE_N_PLOTS
} SpatePlot;

/* By plot, as in --plot NAME=FILE; NULL at the end. */
const char *const *spate_plot_names(void);

/* Appends the drawing.  False if the result has nothing to show there, which the drawing says. */
bool spate_plot_append(GString *svg, const SpateResult *result, SpatePlot plot);
