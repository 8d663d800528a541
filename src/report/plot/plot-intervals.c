/* plot-intervals.c - plots of means and differences with their intervals */
#include "report/plot/plot-private.h"

#include <math.h>
#include <string.h>

/* ---- what they share with others ------------------------------------------------------------- */

const SpateTableLine *
spate_plot_find_line(const SpateSubject *subject, SpateMeasure measure, const char *bearer,
                     size_t n_variants)
{
    bool is_bearer = subject->kind == SPATE_SUBJECT_BEARER;
    for (guint i = 0; i < subject->lines->len; i++) {
        const SpateTableLine *line = g_ptr_array_index(subject->lines, i);
        const SpateResultRow *row = spate_table_line_row(line, n_variants);
        if (row->measure == measure && (is_bearer || g_strcmp0(row->bearer, bearer) == 0))
            return line;
    }
    return NULL;
}

void
spate_plot_add_group(GPtrArray *groups, const char *label, const SpateTableLine *line,
                     size_t n_variants, bool of_differences)
{
    if (line == NULL)
        return;
    SpateChartGroup *group = spate_chart_groups_add(groups, label);
    for (size_t v = 0; v < n_variants; v++) {
        const SpateResultRow *row = line->rows[v];
        const SpateDifference *difference = line->differences[v];
        SpateChartPoint point = {v, NAN, {NAN, NAN}};
        if (of_differences && difference != NULL)
            point = (SpateChartPoint){v, difference->mean, difference->ci95};
        else if (!of_differences && row != NULL)
            point = (SpateChartPoint){v, row->mean, row->ci95};
        if (!isnan(point.mean))
            g_array_append_val(group->points, point);
    }
    if (group->points->len == 0)
        g_ptr_array_remove_index(groups, groups->len - 1);
}

void
spate_plot_widen(const GPtrArray *groups, double *low, double *high)
{
    for (guint i = 0; i < groups->len; i++) {
        const SpateChartGroup *group = g_ptr_array_index(groups, i);
        for (guint k = 0; k < group->points->len; k++) {
            const SpateChartPoint *point = &g_array_index(group->points, SpateChartPoint, k);
            /* Each leaves out what is NAN. */
            *low = fmin(*low, fmin(point->mean, point->ci95.low));
            *high = fmax(*high, fmax(point->mean, point->ci95.high));
        }
    }
}

/* A group for each subject of the kind. */
static GPtrArray *
groups_of(const GPtrArray *subjects, SpateSubjectKind kind, SpateMeasure measure, size_t n_variants,
          bool of_differences)
{
    GPtrArray *groups = spate_chart_groups_new();
    for (guint i = 0; i < subjects->len; i++) {
        const SpateSubject *subject = g_ptr_array_index(subjects, i);
        if (subject->kind != kind)
            continue;
        const SpateTableLine *line = spate_plot_find_line(subject, measure, NULL, n_variants);
        spate_plot_add_group(groups, subject->name, line, n_variants, of_differences);
    }
    return groups;
}

/* ---- shares ---------------------------------------------------------------------------------- */

bool
spate_plot_shares(SpateChart *chart, const SpateResult *result, SpateMeasure measure)
{
    g_autoptr(GPtrArray) subjects = spate_table_subjects(result);
    g_autoptr(GPtrArray) groups =
        groups_of(subjects, SPATE_SUBJECT_TRAFFIC, measure, result->n_variants, false);
    if (groups->len == 0)
        return false;
    const SpateChartIntervals intervals = {
        .axis = measure == SPATE_MEASURE_DELIVERY ? "delivered, %" : "delivered in time, %",
        .groups = groups,
        .factor = 100.0,
        .scale = spate_scale_linear(0.0, 100.0, 10),
    };
    spate_chart_add_variants(chart, result, 0, false);
    spate_chart_add_intervals(chart, &intervals, result);
    return true;
}

/* ---- load ------------------------------------------------------------------------------------ */

/* Parts below this share of the greatest load would be dots at 0. */
#define LEAST_PART 0.02

static double
largest_of(const SpateChartGroup *group)
{
    double largest = 0.0;
    for (guint i = 0; i < group->points->len; i++)
        largest = fmax(largest, g_array_index(group->points, SpateChartPoint, i).mean);
    return largest;
}

static int
compare_largest(gconstpointer a, gconstpointer b)
{
    double first = largest_of(*(const SpateChartGroup *const *)a);
    double second = largest_of(*(const SpateChartGroup *const *)b);
    return first < second ? 1 : first > second ? -1 : 0;
}

/* The traffics on a bearer, the heaviest first; takes no note of those that are never on it. */
static GPtrArray *
parts_of(const SpateSubject *bearer, const GPtrArray *subjects, size_t n_variants)
{
    GPtrArray *parts = spate_chart_groups_new();
    for (guint i = 0; i < subjects->len; i++) {
        const SpateSubject *subject = g_ptr_array_index(subjects, i);
        if (subject->kind != SPATE_SUBJECT_TRAFFIC)
            continue;
        const SpateTableLine *line =
            spate_plot_find_line(subject, SPATE_MEASURE_LOAD, bearer->name, n_variants);
        g_autofree char *label = g_strdup_printf("%s: %s", bearer->name, subject->name);
        spate_plot_add_group(parts, label, line, n_variants, false);
    }
    g_ptr_array_sort(parts, compare_largest);
    while (parts->len > 0 && largest_of(g_ptr_array_index(parts, parts->len - 1)) == 0.0)
        g_ptr_array_remove_index(parts, parts->len - 1);
    return parts;
}

static GPtrArray *
loads_of(const SpateResult *result)
{
    g_autoptr(GPtrArray) subjects = spate_table_subjects(result);
    GPtrArray *groups = spate_chart_groups_new();
    for (guint i = 0; i < subjects->len; i++) {
        const SpateSubject *subject = g_ptr_array_index(subjects, i);
        if (subject->kind != SPATE_SUBJECT_BEARER)
            continue;
        const SpateTableLine *line =
            spate_plot_find_line(subject, SPATE_MEASURE_LOAD, NULL, result->n_variants);
        g_autofree char *label = g_strdup_printf("%s, all", subject->name);
        spate_plot_add_group(groups, label, line, result->n_variants, false);
        g_ptr_array_extend_and_steal(groups, parts_of(subject, subjects, result->n_variants));
    }
    return groups;
}

/* Returns how many were left out. */
static guint
leave_out_small_parts(GPtrArray *groups)
{
    double largest = 0.0;
    guint n = groups->len;
    for (guint i = 0; i < groups->len; i++)
        largest = fmax(largest, largest_of(g_ptr_array_index(groups, i)));
    for (guint i = groups->len; i-- > 0;) {
        const SpateChartGroup *group = g_ptr_array_index(groups, i);
        bool is_whole = g_str_has_suffix(group->label, ", all");
        if (!is_whole && largest_of(group) < LEAST_PART * largest)
            g_ptr_array_remove_index(groups, i);
    }
    return n - groups->len;
}

bool
spate_plot_load(SpateChart *chart, const SpateResult *result)
{
    double low = 0.0, high = 0.0;
    g_autoptr(GPtrArray) groups = loads_of(result);
    guint n_left_out = leave_out_small_parts(groups);
    if (groups->len == 0)
        return false;
    spate_plot_widen(groups, &low, &high);
    const SpateChartIntervals intervals = {
        .axis = "erlang: 1 is one frame on the air all the time",
        .groups = groups,
        .factor = 1.0,
        .scale = spate_scale_linear(low, high, 8),
    };
    if (n_left_out > 0) {
        g_autofree char *note =
            g_strdup_printf("left out: %u traffic%s with less than 2 %% of the greatest load",
                            n_left_out, n_left_out == 1 ? "" : "s");
        spate_chart_add_note(chart, note);
        g_string_append_printf(chart->words, " %s.", note);
    }
    spate_chart_add_variants(chart, result, 0, false);
    spate_chart_add_intervals(chart, &intervals, result);
    return true;
}

/* ---- differences ----------------------------------------------------------------------------- */

typedef struct {
    SpateMeasure measure;
    SpateSubjectKind kind;
    const char *heading, *axis;
    double factor;
} Panel;

static bool
add_panel(SpateChart *chart, const Panel *panel, const GPtrArray *subjects,
          const SpateResult *result)
{
    double low = 0.0, high = 0.0;
    g_autoptr(GPtrArray) groups =
        groups_of(subjects, panel->kind, panel->measure, result->n_variants, true);
    if (groups->len == 0)
        return false;
    spate_plot_widen(groups, &low, &high);
    const SpateChartIntervals intervals = {
        .heading = panel->heading,
        .axis = panel->axis,
        .groups = groups,
        .factor = panel->factor,
        .scale = spate_scale_linear(low * panel->factor, high * panel->factor, 8),
        .is_difference = true,
    };
    spate_chart_add_intervals(chart, &intervals, result);
    return true;
}

bool
spate_plot_differences(SpateChart *chart, const SpateResult *result)
{
    static const Panel PANELS[] = {
        {SPATE_MEASURE_DELIVERY, SPATE_SUBJECT_TRAFFIC, "delivery", "percentage points", 100.0},
        {SPATE_MEASURE_DELIVERY_IN_TIME, SPATE_SUBJECT_TRAFFIC, "delivery in time",
         "percentage points", 100.0},
        {SPATE_MEASURE_LATENCY_P95, SPATE_SUBJECT_TRAFFIC, "latency that 95 % stay within", "s",
         1.0},
        {SPATE_MEASURE_LOAD, SPATE_SUBJECT_BEARER, "load", "erlang", 1.0},
    };
    bool is_drawn = false;
    g_autoptr(GPtrArray) subjects = spate_table_subjects(result);
    if (result->n_differences == 0)
        return false;
    g_autofree char *note = g_strdup_printf("differences to %s", result->variants[0].name);
    spate_chart_add_note(chart, note);
    g_string_append_printf(chart->words, " %s.", note);
    if (result->n_variants > 2)
        spate_chart_add_variants(chart, result, 1, false);
    for (size_t i = 0; i < G_N_ELEMENTS(PANELS); i++)
        is_drawn |= add_panel(chart, &PANELS[i], subjects, result);
    return is_drawn;
}
