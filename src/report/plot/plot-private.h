/* plot-private.h - what the files of the plots share
 *
 * Each draws its part of a chart, and returns false if there is nothing to draw.
 */
#pragma once

#include "report/plot/chart.h"
#include "report/table/table-lines.h"

/* A measure of a subject in all variants; by bearer and traffic: of the traffic.  NULL if there is
 * none.  bearer: NULL for those that are not by one. */
const SpateTableLine *spate_plot_find_line(const SpateSubject *subject, SpateMeasure measure,
                                           const char *bearer, size_t n_variants);
/* A group of the means of all variants, or of their differences to the first; none where there is
 * nothing to show, or no line. */
void spate_plot_add_group(GPtrArray *groups, const char *label, const SpateTableLine *line,
                          size_t n_variants, bool of_differences);
/* The least and the largest of all points and intervals, and of what they were before. */
void spate_plot_widen(const GPtrArray *groups, double *low, double *high);

bool spate_plot_shares(SpateChart *chart, const SpateResult *result, SpateMeasure measure);
bool spate_plot_load(SpateChart *chart, const SpateResult *result);
bool spate_plot_latency(SpateChart *chart, const SpateResult *result);
bool spate_plot_losses(SpateChart *chart, const SpateResult *result);
bool spate_plot_differences(SpateChart *chart, const SpateResult *result);
