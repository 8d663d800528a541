/* against.c - what changed since an earlier result of the same scenario */
#include "study/judge/against.h"

#include "core/time.h"
#include "study/run/summary.h"
#include <math.h>
#include <string.h>

G_DEFINE_QUARK(spate - against - error, spate_against_error)

/* Takes both texts over; always false. */
static bool
refuse(GError **error, const char *what, char *before, char *now)
{
    g_set_error(error, SPATE_AGAINST_ERROR, SPATE_AGAINST_ERROR_OTHER,
                "the earlier result is from another scenario: its %s is '%s', not '%s'", what,
                before, now);
    g_free(before);
    g_free(now);
    return false;
}

/* "60 s" */
static char *
seconds(int64_t time_ns)
{
    char number[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_dtostr(number, sizeof number, (double)time_ns / (double)SPATE_NS_PER_S);
    return g_strdup_printf("%s s", number);
}

bool
spate_against_is_fit(const SpateResult *before, const SpateScenario *scenario, GError **error)
{
    const char *old = before->title != NULL ? before->title : "";
    const char *title = scenario->title != NULL ? scenario->title : "";
    if (strcmp(old, title) != 0)
        return refuse(error, "title", g_strdup(old), g_strdup(title));
    if (before->seed != scenario->seed)
        return refuse(error, "seed", g_strdup_printf("%" G_GUINT64_FORMAT, (guint64)before->seed),
                      g_strdup_printf("%" G_GUINT64_FORMAT, (guint64)scenario->seed));
    if (before->duration_ns != scenario->duration_ns)
        return refuse(error, "duration", seconds(before->duration_ns),
                      seconds(scenario->duration_ns));
    return before->warm_up_ns == scenario->warm_up_ns ||
           refuse(error, "warm-up", seconds(before->warm_up_ns), seconds(scenario->warm_up_ns));
}

int
spate_against_worse(const SpateExpectation *expectation)
{
    if (expectation->at_least.is_given == expectation->at_most.is_given)
        return 0;
    return expectation->at_most.is_given ? 1 : -1;
}

/* ---- rows ------------------------------------------------------------------------------------ */

static const SpateResultVariant *
find_variant(const SpateResult *result, const char *name)
{
    for (size_t i = 0; i < result->n_variants; i++)
        if (strcmp(result->variants[i].name, name) == 0)
            return &result->variants[i];
    return NULL;
}

/* Of the same variant and names in the earlier result; NULL if it has none. */
static const SpateResultRow *
find_before(const SpateCheck *check, uint32_t arm, const SpateResultRow *row)
{
    const SpateResultVariant *before =
        find_variant(check->before, check->result->variants[arm].name);
    return before != NULL && row != NULL ? spate_result_find_row(before, row) : NULL;
}

static uint32_t
n_pairs(const SpateCheck *check)
{
    return MIN(check->before->n_replications, check->result->n_replications);
}

/* ---- judging --------------------------------------------------------------------------------- */

/* Adds sign (now - before) of the point's measure in that arm; false if one has none. */
static bool
add_change(const SpateCheck *check, const SpateExpectation *expectation, uint32_t arm, double sign,
           double *differences)
{
    const SpateResultRow *now = spate_check_find_row(&check->result->variants[arm], expectation);
    const SpateResultRow *before = find_before(check, arm, now);
    if (before == NULL)
        return false;
    for (uint32_t i = 0; i < n_pairs(check); i++)
        differences[i] += sign * (now->values[i] - before->values[i]);
    return true;
}

static void
judge_point(const SpateCheck *check, SpateCheckPoint *point)
{
    const SpateExpectation *expectation = point->expectation;
    int worse = spate_against_worse(expectation);
    if (expectation->measure == NULL || worse == 0)
        return;
    g_autofree double *differences = g_new0(double, n_pairs(check));
    point->has_since = add_change(check, expectation, point->arm, 1.0, differences);
    if (expectation->kind == SPATE_EXPECT_CHANGE)
        point->has_since =
            point->has_since && add_change(check, expectation, point->versus, -1.0, differences);
    if (!point->has_since)
        return;
    point->since = spate_judge_since(differences, n_pairs(check), worse > 0);
    if (expectation->kind != SPATE_EXPECT_VALUE || worse < 0)
        return;
    /* Replications that had a value before, and now have none because nothing is delivered. */
    uint32_t n_undelivered = 0;
    const SpateResultVariant *variant = &check->result->variants[point->arm];
    const SpateResultRow *now = spate_check_find_row(variant, expectation);
    const SpateResultRow *before = find_before(check, point->arm, now);
    for (uint32_t i = 0; i < n_pairs(check); i++)
        n_undelivered += !isnan(before->values[i]) && spate_undelivered(variant, now, i);
    spate_judge_undelivered(&point->since, n_undelivered);
}

/* ---- what has no counterpart ----------------------------------------------------------------- */

/* What names a row. */
static const struct {
    const char *what;
    size_t at;
} NAMES[] = {
    {"traffic", offsetof(SpateResultRow, traffic)}, {"bearer", offsetof(SpateResultRow, bearer)},
    {"node", offsetof(SpateResultRow, node)},       {"bridge", offsetof(SpateResultRow, bridge)},
    {"node", offsetof(SpateResultRow, to)},
};

/* Adds the names of all rows to those that are known; notes the new ones, unless check is NULL. */
static void
add_names(GHashTable *known, const SpateResultVariant *variant, SpateCheck *check, bool is_gone)
{
    for (size_t i = 0; i < variant->n_rows; i++)
        for (size_t k = 0; k < G_N_ELEMENTS(NAMES); k++) {
            const char *name = G_STRUCT_MEMBER(char *, &variant->rows[i], NAMES[k].at);
            if (name == NULL)
                continue;
            const SpateUncompared uncompared = {NAMES[k].what, name, is_gone};
            if (g_hash_table_add(known, g_strconcat(NAMES[k].what, " ", name, NULL)) &&
                check != NULL)
                g_array_append_val(check->uncompared, uncompared);
        }
}

/* Variants of the earlier result that are not run now were not asked for. */
static void
add_uncompared(SpateCheck *check)
{
    g_autoptr(GHashTable) before = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    g_autoptr(GHashTable) now = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    const SpateResult *result = check->result;
    for (size_t arm = 0; arm < result->n_variants; arm++) {
        const SpateResultVariant *old = find_variant(check->before, result->variants[arm].name);
        const SpateUncompared variant = {"variant", result->variants[arm].name, false};
        if (old == NULL) {
            g_array_append_val(check->uncompared, variant);
            continue;
        }
        add_names(before, old, NULL, false);
        add_names(now, &result->variants[arm], NULL, false);
    }
    for (size_t arm = 0; arm < result->n_variants; arm++) {
        const SpateResultVariant *old = find_variant(check->before, result->variants[arm].name);
        if (old == NULL)
            continue;
        add_names(now, old, check, true);
        add_names(before, &result->variants[arm], check, false);
    }
}

void
spate_against_judge(SpateCheck *check)
{
    check->uncompared = g_array_new(FALSE, FALSE, sizeof(SpateUncompared));
    add_uncompared(check);
    check->differences = g_array_new(FALSE, FALSE, sizeof(SpateDifference));
    for (size_t i = 0; i < check->n_points; i++)
        judge_point(check, &check->points[i]);
    for (uint32_t arm = 0; arm < check->result->n_variants; arm++) {
        const SpateResultVariant *variant = &check->result->variants[arm];
        for (size_t i = 0; i < variant->n_rows; i++) {
            const SpateResultRow *before = find_before(check, arm, &variant->rows[i]);
            if (before == NULL)
                continue;
            SpateDifference difference =
                spate_summary_of_pair(&variant->rows[i], before, n_pairs(check));
            difference.variant = variant->name;
            if (difference.ci95.low > 0.0 || difference.ci95.high < 0.0)
                g_array_append_val(check->differences, difference);
        }
    }
}
