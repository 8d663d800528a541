/* result.c - the lifetime of a result, and names of its rows */
#include "study/run/result.h"

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
    if (row->to >= 0)
        named->to = g_strdup(plan->nodes[row->to].name);
}

/* Names hold no line breaks. */
char *
spate_result_row_key(const SpateResultRow *row)
{
    const char *const names[] = {row->traffic, row->bearer, row->node, row->bridge, row->to};
    GString *key = g_string_new(spate_measure_info(row->measure)->name);
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        g_string_append_printf(key, "\n%s", names[i] != NULL ? names[i] : "");
    return g_string_free(key, FALSE);
}

const SpateResultRow *
spate_result_find_row(const SpateResultVariant *variant, const SpateResultRow *like)
{
    for (size_t i = 0; i < variant->n_rows; i++) {
        const SpateResultRow *row = &variant->rows[i];
        if (row->measure == like->measure && g_strcmp0(row->traffic, like->traffic) == 0 &&
            g_strcmp0(row->bearer, like->bearer) == 0 && g_strcmp0(row->node, like->node) == 0 &&
            g_strcmp0(row->bridge, like->bridge) == 0 && g_strcmp0(row->to, like->to) == 0)
            return row;
    }
    return NULL;
}

const SpateResultRow *
spate_result_find_of_traffic(const SpateResultVariant *variant, SpateMeasure measure,
                             const char *traffic)
{
    const SpateResultRow like = {.measure = measure, .traffic = (char *)(uintptr_t)traffic};
    return spate_result_find_row(variant, &like);
}

void
spate_result_row_clear(SpateResultRow *row)
{
    g_free(row->traffic);
    g_free(row->bearer);
    g_free(row->node);
    g_free(row->bridge);
    g_free(row->to);
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
