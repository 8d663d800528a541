/* summary.c - means, intervals, paired differences */
#include "study/run/summary.h"

#include <math.h>

void
spate_summary_of_row(SpateResultRow *row, uint32_t n_replications)
{
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    SpateRunning running = {0};
    for (uint32_t i = 0; i < n_replications; i++)
        if (!isnan(row->values[i]))
            spate_running_add(&running, row->values[i]);
    row->n = (uint32_t)running.n;
    row->mean = running.n > 0 ? running.mean : NAN;
    row->ci95 = spate_student_interval(&running);
    if (running.n < 2)
        return;
    double count = 0.0, of = 0.0; /* of all replications together */
    for (uint32_t i = 0; row->counts != NULL && i < n_replications; i++) {
        count += row->counts[i];
        of += row->ofs[i];
    }
    if (info->is_share)
        row->ci95 = spate_interval_union(row->ci95, spate_wilson_interval(count, of));
    row->ci95 = spate_interval_clip(row->ci95, info->least, info->most);
}

/* A difference of shares is never surer than the things counted allow: where all messages arrive
 * with and without a change, some further one might not. */
static double
resolution_of(const SpateResultRow *variant, const SpateResultRow *versus, uint32_t n_replications)
{
    double of_variant = 0.0, of_versus = 0.0;
    if (variant->counts == NULL || versus->counts == NULL)
        return 0.0;
    for (uint32_t i = 0; i < n_replications; i++) {
        if (isnan(variant->values[i]) || isnan(versus->values[i]))
            continue;
        of_variant += variant->ofs[i];
        of_versus += versus->ofs[i];
    }
    return spate_share_resolution(fmin(of_variant, of_versus), SPATE_RISK);
}

SpateDifference
spate_summary_of_pair(const SpateResultRow *variant, const SpateResultRow *versus,
                      uint32_t n_replications)
{
    g_assert(variant->measure == versus->measure);
    const SpateMeasureInfo *info = spate_measure_info(variant->measure);
    SpateRunning running = {0};
    for (uint32_t i = 0; i < n_replications; i++) {
        double difference = variant->values[i] - versus->values[i];
        if (!isnan(difference))
            spate_running_add(&running, difference);
    }
    double widest = info->most - info->least;
    SpateInterval ci95 = spate_interval_widen(spate_student_interval(&running),
                                              resolution_of(variant, versus, n_replications));
    return (SpateDifference){
        .row = variant,
        .mean = running.n > 0 ? running.mean : NAN,
        .ci95 = spate_interval_clip(ci95, -widest, widest),
        .n = (uint32_t)running.n,
    };
}

void
spate_summary_add_differences(SpateResult *result)
{
    g_autoptr(GArray) differences = g_array_new(FALSE, FALSE, sizeof(SpateDifference));
    g_autoptr(GHashTable) versus_rows =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    for (size_t i = 0; i < result->variants[0].n_rows; i++) {
        SpateResultRow *row = &result->variants[0].rows[i];
        g_hash_table_insert(versus_rows, spate_result_row_key(row), row);
    }
    for (size_t v = 1; v < result->n_variants; v++) {
        const SpateResultVariant *variant = &result->variants[v];
        for (size_t i = 0; i < variant->n_rows; i++) {
            g_autofree char *key = spate_result_row_key(&variant->rows[i]);
            const SpateResultRow *versus = g_hash_table_lookup(versus_rows, key);
            if (versus == NULL)
                continue;
            SpateDifference difference =
                spate_summary_of_pair(&variant->rows[i], versus, result->n_replications);
            difference.variant = variant->name;
            difference.versus = result->variants[0].name;
            g_array_append_val(differences, difference);
        }
    }
    g_free(result->differences);
    gsize n_differences = 0;
    result->differences = g_array_steal(differences, &n_differences);
    result->n_differences = n_differences;
}
