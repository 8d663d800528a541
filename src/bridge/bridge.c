/* bridge.c - crossings between bearers at bridge nodes */
#include "bridge/bridge.h"

struct SpateBridges {
    SpateMesh *mesh;
    const SpatePlan *plan;
    uint32_t *first;          /* by node, and one more: its crossings in the plan */
    SpateRuleMemory **memory; /* by crossing */
};

static void
consider(const SpateBridges *bridges, const SpateArrival *arrival, uint32_t number)
{
    const SpateCrossing *crossing = &bridges->plan->crossings[number];
    SpateWay way = {
        .radio = crossing->to_radio,
        .crossing = crossing,
        .rules = crossing->rules,
        .n_rules = crossing->n_rules,
        .otherwise_passes = crossing->otherwise_passes,
        .memory = bridges->memory[number],
    };
    spate_mesh_consider(bridges->mesh, arrival, &way);
}

static void
message_arrived(gpointer user, const SpateArrival *arrival)
{
    const SpateBridges *bridges = user;
    const SpatePlan *plan = bridges->plan;
    for (uint32_t i = bridges->first[arrival->node]; i < bridges->first[arrival->node + 1]; i++)
        if (plan->crossings[i].from_bearer == plan->radios[arrival->radio].bearer)
            consider(bridges, arrival, i);
}

static void
node_failed(gpointer user, uint32_t node)
{
    const SpateBridges *bridges = user;
    for (uint32_t i = bridges->first[node]; i < bridges->first[node + 1]; i++)
        spate_rule_memory_reset(bridges->memory[i]);
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
spate_bridges_new(SpateMesh *mesh, const SpatePlan *plan)
{
    SpateBridges *bridges = g_new0(SpateBridges, 1);
    bridges->mesh = mesh;
    bridges->plan = plan;
    bridges->memory = g_new0(SpateRuleMemory *, MAX(plan->n_crossings, 1));
    for (uint32_t i = 0; i < plan->n_crossings; i++) {
        const SpateCrossing *crossing = &plan->crossings[i];
        bridges->memory[i] =
            spate_rule_memory_new(crossing->rules, crossing->n_rules, plan->n_nodes);
        spate_mesh_register_rules(mesh, crossing->to_radio, crossing->rules, crossing->n_rules);
    }
    index_crossings(bridges);
    spate_mesh_on_arrival(mesh, message_arrived, node_failed, bridges);
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
    g_free(bridges);
}
