/* result.c - the lifetime of a result, and names of its rows */
#include "study/result.h"

void
spate_result_row_name(SpateResultRow *named, const SpateMeasureRow *row, const SpatePlan *plan)
{
    named->measure = row->measure;
    if (row->traffic >= 0)
        named->traffic = g_strdup(plan->traffics[row->traffic].name);
    if (row->bearer >= 0)
        named->bearer = g_strdup(plan->bearer_names[row->bearer]);
    if (row->node >= 0)
        named->node = g_strdup(plan->nodes[row->node].name);
    if (row->bridge >= 0)
        named->bridge = g_strdup(plan->bridge_names[row->bridge]);
}

void
spate_result_row_clear(SpateResultRow *row)
{
    g_free(row->traffic);
    g_free(row->bearer);
    g_free(row->node);
    g_free(row->bridge);
    g_free(row->values);
    g_free(row->counts);
    g_free(row->ofs);
}

void
spate_result_free(SpateResult *result)
{
    if (result == NULL)
        return;
    for (size_t v = 0; v < result->n_variants; v++) {
        SpateResultVariant *variant = &result->variants[v];
        for (size_t i = 0; i < variant->n_rows; i++)
            spate_result_row_clear(&variant->rows[i]);
        g_free(variant->rows);
        g_free(variant->name);
        g_free(variant->summary);
        g_free(variant->is_drawn);
        for (size_t i = 0; i < variant->n_latencies; i++)
            g_free(variant->latencies[i].traffic);
        g_free(variant->latencies);
    }
    for (size_t i = 0; i < result->n_drawn; i++) {
        g_free(result->drawn[i].path);
        g_free(result->drawn[i].unit);
        g_free(result->drawn[i].values);
    }
    g_free(result->drawn);
    g_free(result->variants);
    g_free(result->differences);
    g_free(result->command);
    g_free(result->title);
    g_free(result->sha256);
    g_free(result);
}
