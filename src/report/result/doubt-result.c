/* doubt-result.c - what was drawn for a result, and what follows it
 *
 * Of all measures only those that a plan is judged by are used: the others say the same
 * at more length.
 */
#include "report/words/doubt-words.h"

#include "document/numbers.h"
#include <math.h>
#include <string.h>

static bool
is_looked_at(const SpateResultRow *row)
{
    bool is_of_traffic = row->traffic != NULL && row->bearer == NULL;
    bool is_of_bearer = row->traffic == NULL && row->bearer != NULL;
    return (is_of_traffic && (row->measure == SPATE_MEASURE_DELIVERY ||
                              row->measure == SPATE_MEASURE_DELIVERY_IN_TIME ||
                              row->measure == SPATE_MEASURE_LATENCY_P95)) ||
           (is_of_bearer &&
            (row->measure == SPATE_MEASURE_LOAD || row->measure == SPATE_MEASURE_RECEIVED));
}

static void
append_name(GString *text, const SpateResultVariant *variant, const SpateResultRow *row,
            bool is_alone)
{
    if (!is_alone)
        g_string_append_printf(text, "%s: ", variant->name);
    g_string_append(text, spate_measure_info(row->measure)->name);
    if (row->traffic != NULL)
        g_string_append_printf(text, " of %s", row->traffic);
    if (row->bearer != NULL)
        g_string_append_printf(text, " on %s", row->bearer);
}

/* "base: load on valley rises as nodes.soil.count rises", if something does. */
static bool
append_effects(GString *text, const SpateResult *result, size_t variant, const SpateResultRow *row)
{
    uint32_t n = result->n_replications;
    bool is_any = false;
    g_autofree double *held = g_new(double, n + 1);
    for (uint32_t i = 0; i < n; i++)
        held[i] = isnan(row->values[i]) ? NAN : 1.0;
    g_autoptr(SpateDoubtVerdict) verdict =
        spate_doubt_judge(result, variant, variant, row->values, held);
    for (uint32_t i = 0; verdict != NULL && i < verdict->n_effects; i++) {
        if (!verdict->effects[i].is_detectable)
            continue;
        g_string_append(text, is_any ? ", " : "  ");
        if (!is_any)
            append_name(text, &result->variants[variant], row, result->n_variants == 1);
        g_string_append(text, is_any ? "" : " ");
        spate_doubt_append_effect(text, &verdict->effects[i]);
        is_any = true;
    }
    g_string_append(text, is_any ? "\n" : "");
    return is_any;
}

/* "people-first: load on valley is less than in base", and in how many draws it is; of differences
 * that can be told from 0. */
static void
append_difference(GString *text, const SpateResult *result, const SpateDifference *difference)
{
    uint32_t n = result->n_replications;
    size_t variant = 1;
    while (strcmp(result->variants[variant].name, difference->variant) != 0)
        variant++;
    const SpateResultRow *row = difference->row,
                         *versus = spate_result_find_row(&result->variants[0], row);
    if (isnan(difference->ci95.low) || (difference->ci95.low <= 0 && difference->ci95.high >= 0))
        return;
    g_autofree double *change = g_new(double, n + 1), *held = g_new(double, n + 1);
    for (uint32_t i = 0; i < n; i++) {
        change[i] = row->values[i] - versus->values[i];
        held[i] = isnan(change[i]) ? NAN : change[i] * difference->mean > 0.0;
    }
    g_autoptr(SpateDoubtVerdict) verdict = spate_doubt_judge(result, variant, 0, change, held);
    if (verdict == NULL)
        return;
    g_string_append(text, "  ");
    append_name(text, &result->variants[variant], row, false);
    g_string_append_printf(text, " is %s than in %s\n", difference->mean > 0.0 ? "more" : "less",
                           result->variants[0].name);
    spate_doubt_append(text, verdict, "    ");
}

static void
append_drawn(GString *text, const SpateResult *result)
{
    g_string_append(text, "\nuncertain inputs, drawn anew in each replication\n");
    for (size_t i = 0; i < result->n_drawn; i++) {
        const SpateDrawn *drawn = &result->drawn[i];
        g_string_append_printf(text, "  %s: ", drawn->path);
        spate_append_number(text, drawn->low);
        g_string_append(text, " to ");
        spate_append_number(text, drawn->high);
        g_string_append_printf(text, "%s%s", drawn->unit[0] != '\0' ? " " : "", drawn->unit);
        for (size_t v = 0; v < result->n_variants; v++)
            if (!result->variants[v].is_drawn[i])
                g_string_append_printf(text, "; fixed by %s", result->variants[v].name);
        g_string_append_c(text, '\n');
    }
}

void
spate_doubt_append_result(GString *text, const SpateResult *result)
{
    if (result->n_drawn == 0)
        return;
    append_drawn(text, result);
    if (result->n_replications < SPATE_LEAST_DRAWS) {
        g_string_append_printf(text, "at least %d draws are needed to tell which input matters\n",
                               SPATE_LEAST_DRAWS);
        return;
    }
    g_string_append(text, "effects of the uncertain inputs\n");
    bool is_any = false;
    for (size_t v = 0; v < result->n_variants; v++)
        for (size_t i = 0; i < result->variants[v].n_rows; i++)
            if (is_looked_at(&result->variants[v].rows[i]))
                is_any |= append_effects(text, result, v, &result->variants[v].rows[i]);
    if (!is_any)
        g_string_append(text, "  no single uncertain input has a detectable effect\n");
    for (size_t i = 0; i < result->n_differences; i++)
        if (is_looked_at(result->differences[i].row))
            append_difference(text, result, &result->differences[i]);
}
