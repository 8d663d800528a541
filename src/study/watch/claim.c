/* claim.c - from the names of an expectation to the numbers of a plan */
#include "study/watch/claim.h"

/* Every variant is read with the expectations: names that they use are there. */
SpateClaim
spate_claim_of(const SpateExpectation *expectation, const SpateScenario *scenario)
{
    SpateClaim claim = {.kind = expectation->kind, .within_ns = expectation->within_ns};
    claim.traffic = spate_scenario_find_traffic(scenario, expectation->traffic);
    g_assert(claim.traffic != UINT32_MAX);
    if (expectation->node != NULL)
        claim.node = spate_scenario_find_node(scenario, expectation->node);
    if (expectation->bearer != NULL)
        claim.bearer = spate_scenario_find_bearer(scenario, expectation->bearer);
    g_assert(claim.node != UINT32_MAX && claim.bearer != UINT32_MAX);
    if (expectation->from == NULL)
        return claim;
    uint32_t group = spate_scenario_find_group(scenario, expectation->from);
    g_assert(group != UINT32_MAX);
    claim.from = scenario->groups[group].members;
    claim.n_from = scenario->groups[group].n_members;
    return claim;
}
