/* claim.c - from the names of an expectation to the numbers of a plan */
#include "study/watch/claim.h"

#include <string.h>

/* Every variant is read with the expectations: names that they use are there. */
static uint32_t
find_by_name(const void *things, uint32_t n, size_t size, const char *name)
{
    for (uint32_t i = 0; i < n; i++) {
        const char *const *its = (const void *)((const char *)things + i * size);
        if (strcmp(*its, name) == 0)
            return i;
    }
    g_assert_not_reached();
}

SpateClaim
spate_claim_of(const SpateExpectation *expectation, const SpateScenario *scenario)
{
    G_STATIC_ASSERT(offsetof(SpateScenarioTraffic, name) == 0);
    G_STATIC_ASSERT(offsetof(SpateScenarioNode, name) == 0);
    G_STATIC_ASSERT(offsetof(SpateScenarioBearer, name) == 0);
    G_STATIC_ASSERT(offsetof(SpateScenarioGroup, name) == 0);
    SpateClaim claim = {.kind = expectation->kind, .within_ns = expectation->within_ns};
    claim.traffic = find_by_name(scenario->traffics, scenario->n_traffics,
                                 sizeof(SpateScenarioTraffic), expectation->traffic);
    if (expectation->node != NULL)
        claim.node = find_by_name(scenario->nodes, scenario->n_nodes, sizeof(SpateScenarioNode),
                                  expectation->node);
    if (expectation->bearer != NULL)
        claim.bearer = find_by_name(scenario->bearers, scenario->n_bearers,
                                    sizeof(SpateScenarioBearer), expectation->bearer);
    if (expectation->from == NULL)
        return claim;
    uint32_t group = find_by_name(scenario->groups, scenario->n_groups, sizeof(SpateScenarioGroup),
                                  expectation->from);
    claim.from = scenario->groups[group].members;
    claim.n_from = scenario->groups[group].n_members;
    return claim;
}
