/* observed.c - measured levels beside those that a scenario predicts */
#include "study/fit/observed.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    const SpateScenario *scenario;
    const SpatePlan *plan;
    const SpateLinks *links;
    SpateFaults *faults;
    SpateObserved *observed;
} Comparing;

/* UINT32_MAX: the node has no radio on it. */
static uint32_t
radio_on(const Comparing *comparing, uint32_t node, uint32_t bearer)
{
    const SpateNode *of = &comparing->plan->nodes[node];
    for (uint32_t r = of->first_radio; r < of->first_radio + of->n_radios; r++)
        if (comparing->plan->radios[r].bearer == bearer)
            return r;
    return UINT32_MAX;
}

/* The bearer that the row names, or the only one that both have; UINT32_MAX with a fault. */
static uint32_t
find_bearer(Comparing *comparing, const SpateWalkSample *sample)
{
    uint32_t found = UINT32_MAX, n_found = 0;
    if (sample->bearer != NULL)
        return spate_scenario_find_bearer(comparing->scenario, sample->bearer);
    for (uint32_t b = 0; b < comparing->scenario->n_bearers; b++) {
        if (radio_on(comparing, sample->from_node, b) == UINT32_MAX ||
            radio_on(comparing, sample->to_node, b) == UINT32_MAX)
            continue;
        found = b;
        n_found++;
    }
    if (n_found == 1)
        return found;
    spate_faults_note(comparing->faults, sample->place, "a column 'bearer' says which",
                      n_found == 0 ? "'%s' and '%s' have no bearer in common"
                                   : "'%s' and '%s' have several bearers in common",
                      sample->sender, sample->receiver);
    return UINT32_MAX;
}

static uint32_t
find_radio(Comparing *comparing, const SpateWalkSample *sample, uint32_t node, uint32_t bearer)
{
    uint32_t radio = radio_on(comparing, node, bearer);
    if (radio == UINT32_MAX)
        spate_faults_note(comparing->faults, sample->place, "a level needs a radio at both ends",
                          "node '%s' has no radio on '%s'", comparing->plan->nodes[node].name,
                          comparing->plan->bearer_names[bearer]);
    return radio;
}

/* False with an error where the model does not hold; what is wrong with the row is noted. */
static bool
add_row(Comparing *comparing, const SpateWalkSample *sample, GError **error)
{
    uint32_t bearer = find_bearer(comparing, sample);
    if (bearer == UINT32_MAX)
        return true;
    uint32_t s = find_radio(comparing, sample, sample->from_node, bearer);
    uint32_t r = find_radio(comparing, sample, sample->to_node, bearer);
    SpateLink link;
    if (s == UINT32_MAX || r == UINT32_MAX)
        return true;
    if (!spate_links_budget(comparing->links, s, r, &link, error))
        return false;
    const SpateScenarioRadio *receiver =
        spate_scenario_radio(&comparing->scenario->nodes[sample->to_node], bearer);
    const SpateObservedRow row = {
        .from = comparing->plan->nodes[sample->from_node].name,
        .to = comparing->plan->nodes[sample->to_node].name,
        .bearer = comparing->plan->bearer_names[bearer],
        .line = (uint32_t)sample->place.line,
        .is_given = link.is_given,
        .observed_dbm = sample->received_dbm,
        .predicted_dbm = link.received_dbm,
        .difference_db = sample->received_dbm - link.received_dbm,
        .margin_db = link.received_dbm -
                     spate_bearer_sensitivity_dbm(&comparing->plan->bearers[bearer]) -
                     receiver->noise_rise_db,
    };
    SpateObserved *observed = comparing->observed;
    bool is_heard = !isnan(row.observed_dbm);
    g_array_append_val(is_heard ? observed->heard : observed->unheard, row);
    observed->n_given += row.is_given;
    observed->n_expected += !is_heard && row.margin_db >= 0.0;
    return true;
}

static int
compare_descending(double a, double b, const SpateObservedRow *first,
                   const SpateObservedRow *second)
{
    if (a != b)
        return a > b ? -1 : 1;
    return (first->line > second->line) - (first->line < second->line);
}

static int
compare_heard(const void *a, const void *b)
{
    const SpateObservedRow *first = a, *second = b;
    return compare_descending(fabs(first->difference_db), fabs(second->difference_db), first,
                              second);
}

static int
compare_unheard(const void *a, const void *b)
{
    const SpateObservedRow *first = a, *second = b;
    return compare_descending(first->margin_db, second->margin_db, first, second);
}

static void
sum_up(SpateObserved *observed)
{
    SpateRunning running = {0};
    for (guint i = 0; i < observed->heard->len; i++)
        spate_running_add(&running,
                          g_array_index(observed->heard, SpateObservedRow, i).difference_db);
    observed->bias_db = running.n > 0 ? running.mean : NAN;
    observed->spread_db = sqrt(spate_running_variance(&running));
    observed->bias_ci95 = spate_student_interval(&running);
    observed->spread_ci95 = (SpateInterval){NAN, NAN};
    if (running.n >= 2)
        observed->spread_ci95 = spate_spread_interval(observed->spread_db, (double)(running.n - 1));
    g_array_sort(observed->heard, compare_heard);
    g_array_sort(observed->unheard, compare_unheard);
}

SpateObserved *
spate_observed_new(const SpateWalk *walk, const SpateWorld *world, GError **error)
{
    g_autoptr(SpateFaults) faults = spate_faults_new_like(walk->faults);
    g_autoptr(SpateLinks) links = spate_world_links(world, 0);
    g_autoptr(SpateObserved) observed = g_new0(SpateObserved, 1);
    observed->heard = g_array_new(FALSE, FALSE, sizeof(SpateObservedRow));
    observed->unheard = g_array_new(FALSE, FALSE, sizeof(SpateObservedRow));
    Comparing comparing = {.scenario = spate_world_scenario(world),
                           .plan = spate_world_plan(world),
                           .links = links,
                           .faults = faults,
                           .observed = observed};
    for (guint i = 0; i < walk->samples->len; i++)
        if (!add_row(&comparing, &g_array_index(walk->samples, SpateWalkSample, i), error))
            return NULL;
    if (spate_faults_raise(faults, error))
        return NULL;
    sum_up(observed);
    return g_steal_pointer(&observed);
}

void
spate_observed_free(SpateObserved *observed)
{
    if (observed == NULL)
        return;
    g_array_unref(observed->heard);
    g_array_unref(observed->unheard);
    g_free(observed);
}
