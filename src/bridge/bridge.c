/* bridge.c - crossings between bearers at bridge nodes */
#include "bridge/bridge.h"

#include "mesh/occupancy.h"

struct SpateBridges {
    SpateEventQueue *queue;
    SpateMesh *mesh;
    const SpateMedium *medium;
    const SpatePlan *plan;
    SpateOccupancy *occupancy;
    uint32_t *first;          /* by node, and one more: its crossings in the plan */
    SpateRuleMemory **memory; /* by crossing */
};

typedef struct {
    const SpateBridges *bridges;
    uint32_t node;
} Listener;

static double
heard_occupancy(gpointer user, uint32_t bearer)
{
    const Listener *listener = user;
    return spate_occupancy_share(listener->bridges->occupancy, listener->node, bearer);
}

static SpateVerdict
judge(const SpateBridges *bridges, const SpateArrival *arrival, uint32_t number)
{
    const SpateCrossing *crossing = &bridges->plan->crossings[number];
    Listener listener = {bridges, arrival->node};
    SpateRuleSubject subject = spate_arrival_rule_subject(arrival, bridges->plan, bridges->medium,
                                                          spate_event_queue_now_ns(bridges->queue));
    subject.occupancy = heard_occupancy;
    subject.user = &listener;
    return spate_rules_judge(crossing->rules, crossing->n_rules, crossing->otherwise_passes,
                             bridges->memory[number], &subject);
}

static void
consider(const SpateBridges *bridges, const SpateArrival *arrival, uint32_t number)
{
    const SpateCrossing *crossing = &bridges->plan->crossings[number];
    SpateDecision decision = {
        .kind = spate_mesh_may_send(bridges->mesh, arrival, crossing->to_radio),
        .message = arrival->facts,
        .hops = arrival->hops,
        .radio = crossing->to_radio,
        .crossing = crossing,
        .rule = SPATE_NO_RULE,
    };
    if (decision.kind == SPATE_DECIDED_TO_SEND) {
        SpateVerdict verdict = judge(bridges, arrival, number);
        decision.rule = verdict.rule;
        if (verdict.passes)
            spate_mesh_send_on(bridges->mesh, arrival, crossing->to_radio);
        else
            decision.kind = SPATE_DECIDED_BY_RULE;
    }
    spate_mesh_report_decision(bridges->mesh, &decision);
}

static void
message_arrived(gpointer user, const SpateArrival *arrival)
{
    const SpateBridges *bridges = user;
    uint32_t bearer = bridges->plan->radios[arrival->radio].bearer;
    for (uint32_t i = bridges->first[arrival->node]; i < bridges->first[arrival->node + 1]; i++)
        if (bridges->plan->crossings[i].from_bearer == bearer)
            consider(bridges, arrival, i);
}

static void
index_crossings(SpateBridges *bridges)
{
    const SpatePlan *plan = bridges->plan;
    bridges->first = g_new0(uint32_t, plan->n_nodes + 1);
    for (uint32_t i = 0; i < plan->n_crossings; i++) {
        uint32_t node = plan->crossings[i].node;
        g_assert(i == 0 || plan->crossings[i - 1].node <= node);
        g_assert(plan->radios[plan->crossings[i].to_radio].node == node);
        bridges->first[node + 1] = i + 1;
    }
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        bridges->first[i + 1] = MAX(bridges->first[i + 1], bridges->first[i]);
}

SpateBridges *
spate_bridges_new(SpateEventQueue *queue, SpateMesh *mesh, const SpateChannel *channel,
                  const SpateMedium *medium, const SpatePlan *plan)
{
    SpateBridges *bridges = g_new0(SpateBridges, 1);
    bridges->queue = queue;
    bridges->mesh = mesh;
    bridges->medium = medium;
    bridges->plan = plan;
    bridges->occupancy = spate_occupancy_new(queue, channel, plan);
    bridges->memory = g_new0(SpateRuleMemory *, MAX(plan->n_crossings, 1));
    for (uint32_t i = 0; i < plan->n_crossings; i++) {
        const SpateCrossing *crossing = &plan->crossings[i];
        bridges->memory[i] =
            spate_rule_memory_new(crossing->rules, crossing->n_rules, plan->n_nodes);
        spate_occupancy_want(bridges->occupancy, crossing->node, crossing->rules,
                             crossing->n_rules);
    }
    index_crossings(bridges);
    spate_mesh_on_arrival(mesh, message_arrived, bridges);
    return bridges;
}

void
spate_bridges_free(SpateBridges *bridges)
{
    if (bridges == NULL)
        return;
    for (uint32_t i = 0; i < bridges->plan->n_crossings; i++)
        spate_rule_memory_free(bridges->memory[i]);
    g_free(bridges->memory);
    g_free(bridges->first);
    spate_occupancy_free(bridges->occupancy);
    g_free(bridges);
}
