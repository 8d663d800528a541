/* scenario-find.c - the numbers of what a scenario names */
#include "scenario/scenario.h"

#include <stdlib.h>
#include <string.h>

const SpateScenarioRadio *
spate_scenario_radio(const SpateScenarioNode *node, uint32_t bearer)
{
    for (uint32_t i = 0; i < node->n_radios; i++)
        if (node->radios[i].bearer == bearer)
            return &node->radios[i];
    return NULL;
}

static int
compare_name(const void *name, const void *node)
{
    return strcmp(name, ((const SpateScenarioNode *)node)->name);
}

uint32_t
spate_scenario_find_node(const SpateScenario *scenario, const char *name)
{
    if (name == NULL || scenario->n_nodes == 0)
        return UINT32_MAX;
    const SpateScenarioNode *node =
        bsearch(name, scenario->nodes, scenario->n_nodes, sizeof *scenario->nodes, compare_name);
    return node != NULL ? (uint32_t)(node - scenario->nodes) : UINT32_MAX;
}

/* The first member of each of the things is its name. */
static uint32_t
find(const void *things, uint32_t n, size_t stride, const char *name)
{
    for (uint32_t i = 0; name != NULL && i < n; i++)
        if (strcmp(*(const char *const *)(const void *)((const char *)things + i * stride), name) ==
            0)
            return i;
    return UINT32_MAX;
}

G_STATIC_ASSERT(offsetof(SpateScenarioNode, name) == 0);
G_STATIC_ASSERT(offsetof(SpateScenarioTraffic, name) == 0);
G_STATIC_ASSERT(offsetof(SpateScenarioBearer, name) == 0);
G_STATIC_ASSERT(offsetof(SpateScenarioGroup, name) == 0);

uint32_t
spate_scenario_find_traffic(const SpateScenario *scenario, const char *name)
{
    return find(scenario->traffics, scenario->n_traffics, sizeof *scenario->traffics, name);
}

uint32_t
spate_scenario_find_bearer(const SpateScenario *scenario, const char *name)
{
    return find(scenario->bearers, scenario->n_bearers, sizeof *scenario->bearers, name);
}

uint32_t
spate_scenario_find_group(const SpateScenario *scenario, const char *name)
{
    return find(scenario->groups, scenario->n_groups, sizeof *scenario->groups, name);
}

bool
spate_scenario_node_relays(const SpateScenarioNode *node)
{
    for (uint32_t i = 0; i < node->n_radios; i++)
        if (node->radios[i].relays)
            return true;
    return false;
}
