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

/* The list is in every frame.  Of what is too long without it at its source, lint-traffic.c warns.
 * False: it does not fit, which was told. */
static bool
check_size(SpateLint *lint, const SpateScenarioTraffic *traffic, uint32_t radio)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    const SpateNode *node = &plan->nodes[plan->radios[radio].node];
    const SpateBearer *bearer = &plan->bearers[plan->radios[radio].bearer];
    uint32_t list_bytes = node->flooding.route_record_bytes * traffic->n_along;
    uint32_t bytes = traffic->payload_bytes + (uint32_t)bearer->overhead_bytes;
    uint32_t most_bytes = (uint32_t)bearer->largest_frame_bytes;
    if (bytes + list_bytes <= most_bytes)
        return true;
    if (bytes > most_bytes && plan->radios[radio].node == traffic->sources[0])
        return false;
    spate_faults_warn(lint->faults, traffic->place, "a shorter payload, list or 'route-record'",
                      "'%s' cannot send '%s' along its route: %u bytes of payload, %d of overhead "
                      "and %u of route record are more than the largest frame of '%s', %d bytes",
                      node->name, traffic->name, traffic->payload_bytes, bearer->overhead_bytes,
                      list_bytes, plan->bearer_names[plan->radios[radio].bearer],
                      bearer->largest_frame_bytes);
    return false;
}

static void
check_route(SpateLint *lint, const SpateScenarioTraffic *traffic, uint32_t source)
{
    const SpatePlan *plan = spate_world_plan(lint->world);
    SpateHop before = {0, 0};
    bool fits = true;
    for (uint32_t i = 0; i < traffic->n_along; i++) {
        uint32_t from = i == 0 ? source : traffic->along[i - 1].node;
        const SpateHop hop = spate_plan_hop(plan, from, &traffic->along[i]);
        check_hop(lint, traffic, hop);
        fits = fits && check_size(lint, traffic, hop.from_radio);
        if (i > 0)
            check_crossing(lint, traffic, before.to_radio, hop.from_radio);
        if (traffic->is_back)
            check_hop(lint, traffic, (SpateHop){hop.to_radio, hop.from_radio});
        if (traffic->is_back)
            fits = fits && check_size(lint, traffic, hop.to_radio);
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
