/* lint-follows.c - traffics that follow what never comes */
#include "core/ascending.h"
#include "scenario/lint/lint.h"

/* Each traffic follows one other, so nothing leads into a circle.  Of its traffics, the first by
 * name stands for all. */
static bool
is_first_of_circle(const SpateScenario *scenario, uint32_t number)
{
    uint32_t at = scenario->traffics[number].followed;
    for (uint32_t i = 0; i < scenario->n_traffics && at != UINT32_MAX && at > number; i++)
        at = scenario->traffics[at].followed;
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
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        if (traffic->followed == UINT32_MAX)
            continue;
        const char *other = scenario->traffics[traffic->followed].name;
        g_autofree char *hint = g_strdup_printf("a node to which '%s' is sent", other);
        if (is_first_of_circle(scenario, i))
            spate_faults_warn(lint->faults, traffic->place,
                              "'every', 'mean-interval' or 'at' for one of the circle",
                              "'%s' is never offered: it follows itself, and nothing starts the "
                              "circle",
                              traffic->name);
        else if (!is_followed_by_some(&scenario->traffics[traffic->followed], traffic))
            spate_faults_warn(lint->faults, traffic->place, hint,
                              "'%s' is never offered: no node of its 'from' is a recipient of '%s'",
                              traffic->name, other);
    }
}
