/* lint-follows.c - traffics that follow what never comes */
#include "core/ascending.h"
#include "scenario/lint/lint.h"

/* By traffic: the one that it follows; UINT32_MAX: it has times of its own. */
static uint32_t *
find_followed(const SpateScenario *scenario)
{
    uint32_t *followed = g_new(uint32_t, scenario->n_traffics + 1u);
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        followed[i] = spate_scenario_find_traffic(scenario, scenario->traffics[i].follows);
    return followed;
}

/* Each traffic follows one other, so nothing leads into a circle.  Of its traffics, the first by
 * name stands for all. */
static bool
is_first_of_circle(const uint32_t *followed, uint32_t n_traffics, uint32_t number)
{
    uint32_t at = followed[number];
    for (uint32_t i = 0; i < n_traffics && at != UINT32_MAX && at > number; i++)
        at = followed[at];
    return at == number;
}

/* A source does not follow messages of its own. */
static bool
is_ever_delivered_at(const SpateScenarioTraffic *traffic, uint32_t node)
{
    bool is_only_source = traffic->n_sources == 1 && traffic->sources[0] == node;
    return !is_only_source && spate_ascending_find(traffic->recipients, traffic->n_recipients,
                                                   node) < traffic->n_recipients;
}

static bool
is_followed_by_some(const SpateScenarioTraffic *traffic, const SpateScenarioTraffic *follower)
{
    for (uint32_t i = 0; i < follower->n_sources; i++)
        if (is_ever_delivered_at(traffic, follower->sources[i]))
            return true;
    return follower->n_sources == 0;
}

void
spate_lint_follows(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    g_autofree uint32_t *followed = find_followed(scenario);
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        if (followed[i] == UINT32_MAX)
            continue;
        const char *other = scenario->traffics[followed[i]].name;
        g_autofree char *hint = g_strdup_printf("a node to which '%s' is sent", other);
        if (is_first_of_circle(followed, scenario->n_traffics, i))
            spate_faults_warn(lint->faults, traffic->place,
                              "'every', 'mean-interval' or 'at' for one of the circle",
                              "'%s' is never offered: it follows itself, and nothing starts the "
                              "circle",
                              traffic->name);
        else if (!is_followed_by_some(&scenario->traffics[followed[i]], traffic))
            spate_faults_warn(lint->faults, traffic->place, hint,
                              "'%s' is never offered: no node of its 'from' is a recipient of '%s'",
                              traffic->name, other);
    }
}
