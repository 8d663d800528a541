/* summary.c - many runs, as programs see them */
#include "private.h"

#include "report/report.h"

struct SpateSummary {
    SpateResult *result;
};

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
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    g_autoptr(GPtrArray) scenarios =
        g_ptr_array_new_with_free_func((GDestroyNotify)spate_scenario_free);
    GError *problem = NULL;
    SpateResult *result = NULL;
    if (variants == NULL) {
        g_ptr_array_add(names, (gpointer) "base");
        variants = spate_file_variants(file);
    }
    for (; *variants != NULL; variants++)
        g_ptr_array_add(names, (gpointer)*variants);
    for (guint i = 0; problem == NULL && i < names->len; i++)
        g_ptr_array_add(scenarios,
                        spate_scenario_new(file->inside, g_ptr_array_index(names, i), &problem));
    if (problem == NULL)
        result = spate_study_run(names->len > 1 ? "compare" : "run",
                                 (const SpateScenario *const *)scenarios->pdata,
                                 (const char *const *)names->pdata, names->len, &inside, &problem);
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
