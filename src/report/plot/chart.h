/* chart.h - the parts that plots are put together from, one below the other
 *
 * A chart grows downwards.  What is drawn is also described in words, for those who do not see it:
 * both come from the same numbers.
 */
#pragma once

#include "report/table/scale.h"
#include "study/run/result.h"

#define SPATE_CHART_WIDTH  720.0
#define SPATE_CHART_MARGIN 16.0

typedef struct {
    GString *svg;   /* elements */
    GString *words; /* plain text, sentence by sentence */
    double y;       /* where what is drawn ends */
    double key_x;   /* where the next key of a legend goes; 0: on a new line */
} SpateChart;

void spate_chart_init(SpateChart *chart);
void spate_chart_clear(SpateChart *chart);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(SpateChart, spate_chart_clear)

/* At the top. */
void spate_chart_add_title(SpateChart *chart, const char *title);
/* A line of small print, shortened to the width. */
void spate_chart_add_note(SpateChart *chart, const char *words);
/* A legend: keys side by side, as many as a line holds.  A sign of SPATE_CHART_SIGN_WIDTH, which
 * the caller draws, belongs at *x and around *y. */
#define SPATE_CHART_SIGN_WIDTH 28.0
void spate_chart_add_key(SpateChart *chart, const char *words, double *x, double *y);
void spate_chart_end_keys(SpateChart *chart);
/* Variants from the first one on, by their mark, and by their dash if they are lines; none if there
 * is one alone. */
void spate_chart_add_variants(SpateChart *chart, const SpateResult *result, size_t first,
                              bool are_lines);

/* The chart as a drawing of its own, with its words as description.  Names of its elements begin
 * with `name`: several drawings may be put into one page. */
void spate_chart_append_drawing(GString *svg, const SpateChart *chart, const char *name,
                                const char *title);

/* ---- axes ------------------------------------------------------------------------------------ */

/* The part of the paper that values are drawn in. */
typedef struct {
    double left, right, top, bottom;
} SpateChartArea;

double spate_chart_x(const SpateChartArea *area, const SpateScale *scale, double value);
double spate_chart_y(const SpateChartArea *area, const SpateScale *scale, double value);
/* Ticks along the bottom with their lines across the area, and what they count below them. */
void spate_chart_draw_x_axis(SpateChart *chart, const SpateChartArea *area, const SpateScale *scale,
                             const char *words);

/* ---- intervals (chart-intervals.c) ----------------------------------------------------------- */

typedef struct {
    size_t variant;
    double mean;
    SpateInterval ci95;
} SpateChartPoint;

/* What is compared with each other. */
typedef struct {
    char *label;
    GArray *points; /* SpateChartPoint */
} SpateChartGroup;

/* SpateChartGroup*; free with g_ptr_array_unref(). */
GPtrArray *spate_chart_groups_new(void);
SpateChartGroup *spate_chart_groups_add(GPtrArray *groups, const char *label);

/* Points with their intervals, group by group, on one axis. */
typedef struct {
    const char *heading; /* NULL: none */
    const char *axis;    /* what it counts: "s" */
    const GPtrArray *groups;
    double factor;      /* from points to what the axis counts */
    SpateScale scale;   /* of the axis */
    bool is_difference; /* figures have a sign, and 0 a line */
} SpateChartIntervals;

void spate_chart_add_intervals(SpateChart *chart, const SpateChartIntervals *intervals,
                               const SpateResult *result);
