/* result.c - the lifetime of a result */
#include "study/result.h"

static void
clear_row(SpateResultRow *row)
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
            clear_row(&variant->rows[i]);
        g_free(variant->rows);
        g_free(variant->name);
        g_free(variant->summary);
    }
    g_free(result->variants);
    g_free(result->differences);
    g_free(result->command);
    g_free(result->title);
    g_free(result->sha256);
    g_free(result);
}
