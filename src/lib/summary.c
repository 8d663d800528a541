/* summary.c - many runs, as programs see them */
#include "private.h"

#include "report/report.h"

struct SpateSummary {
    SpateResult *result;
};

static void
free_scenario(gpointer scenario)
{
    spate_scenario_free(scenario);
}

/* "base", then the file's own. */
static GPtrArray *
all_variants(const SpateFile *file)
{
    GPtrArray *names = g_ptr_array_new();
    g_ptr_array_add(names, (gpointer) "base");
    for (const char *const *name = spate_file_variants(file); *name != NULL; name++)
        g_ptr_array_add(names, (gpointer)*name);
    return names;
}

static GPtrArray *
chosen_variants(const char *const *variants)
{
    GPtrArray *names = g_ptr_array_new();
    for (; *variants != NULL; variants++)
        g_ptr_array_add(names, (gpointer)*variants);
    return names;
}

static SpateResult *
run_variants(const SpateFile *file, const GPtrArray *names, const SpateStudyOptions *options,
             GError **problem)
{
    g_autoptr(GPtrArray) scenarios = g_ptr_array_new_with_free_func(free_scenario);
    for (guint i = 0; i < names->len; i++) {
        SpateScenario *scenario =
            spate_scenario_new(file->inside, g_ptr_array_index(names, i), problem);
        if (scenario == NULL)
            return NULL;
        g_ptr_array_add(scenarios, scenario);
    }
    return spate_study_run(names->len > 1 ? "compare" : "run",
                           (const SpateScenario *const *)scenarios->pdata,
                           (const char *const *)names->pdata, names->len, options, problem);
}

SpateStudyOptions
spate_study_options_of(const SpateSummaryOptions *options)
{
    if (options == NULL)
        return (SpateStudyOptions){0};
    return (SpateStudyOptions){
        .replications = options->replications,
        .jobs = options->jobs,
        .stop = options->stop,
        .progress = options->progress,
        .user = options->user,
    };
}

SpateSummary *
spate_summarise(const SpateFile *file, const char *const *variants,
                const SpateSummaryOptions *options, GError **error)
{
    g_return_val_if_fail(variants == NULL || variants[0] != NULL, NULL);
    const SpateStudyOptions inside = spate_study_options_of(options);
    g_autoptr(GPtrArray) names = variants != NULL ? chosen_variants(variants) : all_variants(file);
    GError *problem = NULL;
    SpateResult *result = run_variants(file, names, &inside, &problem);
    if (result == NULL) {
        spate_error_propagate(error, problem);
        return NULL;
    }
    SpateSummary *summary = g_new0(SpateSummary, 1);
    summary->result = result;
    return summary;
}

void
spate_summary_free(SpateSummary *summary)
{
    if (summary == NULL)
        return;
    spate_result_free(summary->result);
    g_free(summary);
}

uint32_t
spate_summary_n_replications(const SpateSummary *summary)
{
    return summary->result->n_replications;
}

bool
spate_summary_is_of_one_layout(const SpateSummary *summary)
{
    return summary->result->one_layout;
}

size_t
spate_summary_n_variants(const SpateSummary *summary)
{
    return summary->result->n_variants;
}

static const SpateResultVariant *
variant_at(const SpateSummary *summary, size_t variant)
{
    g_assert(variant < summary->result->n_variants);
    return &summary->result->variants[variant];
}

const char *
spate_summary_variant(const SpateSummary *summary, size_t variant)
{
    return variant_at(summary, variant)->name;
}

size_t
spate_summary_n_rows(const SpateSummary *summary, size_t variant)
{
    return variant_at(summary, variant)->n_rows;
}

static SpateRowNames
names_of(const SpateResultRow *row)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    return (SpateRowNames){
        info->name, spate_unit_name(info->unit), row->traffic, row->bearer, row->node, row->bridge,
        row->to};
}

SpateSummaryRow
spate_summary_row(const SpateSummary *summary, size_t variant, size_t row)
{
    const SpateResultVariant *of = variant_at(summary, variant);
    g_assert(row < of->n_rows);
    const SpateResultRow *inside = &of->rows[row];
    return (SpateSummaryRow){
        .names = names_of(inside),
        .mean = inside->mean,
        .low = inside->ci95.low,
        .high = inside->ci95.high,
        .n = inside->n,
        .values = inside->values,
    };
}

size_t
spate_summary_n_differences(const SpateSummary *summary)
{
    return summary->result->n_differences;
}

SpateSummaryDifference
spate_summary_difference(const SpateSummary *summary, size_t difference)
{
    g_assert(difference < summary->result->n_differences);
    const SpateDifference *inside = &summary->result->differences[difference];
    return (SpateSummaryDifference){
        .variant = inside->variant,
        .versus = inside->versus,
        .names = names_of(inside->row),
        .mean = inside->mean,
        .low = inside->ci95.low,
        .high = inside->ci95.high,
        .n = inside->n,
    };
}

char *
spate_summary_json(const SpateSummary *summary)
{
    GString *text = g_string_new(NULL);
    spate_report_append_detailed(text, summary->result, NULL);
    return g_string_free(text, FALSE);
}
