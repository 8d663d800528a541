/* drawn.c - what the replications of a result drew */
#include "study/run/drawn.h"

#include <string.h>

/* The doubt of that path, if the scenario draws it. */
static bool
draws(const SpateScenario *scenario, const char *path)
{
    for (uint32_t i = 0; i < scenario->n_doubts; i++)
        if (strcmp(scenario->doubts[i].path, path) == 0)
            return !scenario->doubts[i].is_fixed;
    return false;
}

static bool
is_drawn_before(const GArray *drawn, const char *path)
{
    for (guint i = 0; i < drawn->len; i++)
        if (strcmp(g_array_index(drawn, SpateDrawn, i).path, path) == 0)
            return true;
    return false;
}

static void
add_drawn(GArray *drawn, const SpateScenario *scenario, uint32_t first, uint32_t n_replications)
{
    for (uint32_t i = 0; i < scenario->n_doubts; i++) {
        const SpateDoubt *doubt = &scenario->doubts[i];
        if (doubt->is_fixed || is_drawn_before(drawn, doubt->path))
            continue;
        SpateDrawn its = {g_strdup(doubt->path), g_strdup(doubt->unit), doubt->low, doubt->high,
                          g_new(double, n_replications + 1)};
        for (uint32_t k = 0; k < n_replications; k++)
            its.values[k] = spate_doubt_value(doubt, scenario->seed, first + k);
        g_array_append_val(drawn, its);
    }
}

void
spate_drawn_fill(SpateResult *result, const SpateScenario *const *scenarios, uint32_t first)
{
    g_autoptr(GArray) drawn = g_array_new(FALSE, FALSE, sizeof(SpateDrawn));
    for (size_t i = 0; i < result->n_variants; i++)
        add_drawn(drawn, scenarios[i], first, result->n_replications);
    gsize n = 0;
    result->drawn = (SpateDrawn *)g_array_steal(drawn, &n);
    result->n_drawn = n;
    for (size_t i = 0; i < result->n_variants; i++) {
        result->variants[i].is_drawn = g_new0(bool, n + 1);
        for (size_t k = 0; k < n; k++)
            result->variants[i].is_drawn[k] = draws(scenarios[i], result->drawn[k].path);
    }
}
