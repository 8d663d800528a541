/* lint-route.c - given routes that no frame can follow to their end */
#include "scenario/lint/lint.h"

/* A hop of a route, one way. */
static void
check_hop(SpateLint *lint, const SpateScenarioTraffic *traffic, SpateHop hop)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    const SpateMissingLink link = spate_hearing_link(lint->hearing, hop.from_radio, hop.to_radio);
    const SpateRadio *from = &plan->radios[hop.from_radio], *to = &plan->radios[hop.to_radio];
    if (link.short_db > 0)
        spate_faults_warn(lint->faults, traffic->place, "nodes that hear each other",
                          "the route of '%s' cannot get from '%s' to '%s' on '%s': the link is "
                          "%.1f dB too weak%s",
                          traffic->name, plan->nodes[from->node].name, plan->nodes[to->node].name,
                          plan->bearer_names[from->bearer], link.short_db,
                          spate_lint_layout_note(lint->scenario));
}

static void
check_crossing(SpateLint *lint, const SpateScenarioTraffic *traffic, uint32_t in, uint32_t out)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    if (in == out)
        return;
    for (uint32_t i = 0; i < plan->n_crossings; i++)
        if (plan->crossings[i].to_radio == out &&
            plan->crossings[i].from_bearer == plan->radios[in].bearer)
            return;
    spate_faults_warn(lint->faults, traffic->place, "a crossing of that bridge, or another way",
                      "the route of '%s' ends at '%s': nothing leads from '%s' to '%s' there",
                      traffic->name, plan->nodes[plan->radios[in].node].name,
                      plan->bearer_names[plan->radios[in].bearer],
                      plan->bearer_names[plan->radios[out].bearer]);
}

static void
check_route(SpateLint *lint, const SpateScenarioTraffic *traffic, uint32_t source)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    SpateHop before = {0, 0};
    for (uint32_t i = 0; i < traffic->n_along; i++) {
        uint32_t from = i == 0 ? source : traffic->along[i - 1].node;
        const SpateHop hop = spate_plan_hop(plan, from, &traffic->along[i]);
        check_hop(lint, traffic, hop);
        if (i > 0)
            check_crossing(lint, traffic, before.to_radio, hop.from_radio);
        if (traffic->is_back)
            check_hop(lint, traffic, (SpateHop){hop.to_radio, hop.from_radio});
        if (i > 0 && traffic->is_back)
            check_crossing(lint, traffic, hop.from_radio, before.to_radio);
        before = hop;
    }
}

/* Of several sources, the first stands for all. */
void
spate_lint_routes(SpateLint *lint)
{
    for (uint32_t i = 0; i < lint->scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &lint->scenario->traffics[i];
        if (traffic->route == SPATE_ROUTE_ALONG && traffic->n_sources > 0)
            check_route(lint, traffic, traffic->sources[0]);
    }
}
