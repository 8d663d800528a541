/* silence.c - a node that carries nothing for others */
#include "scenario/scenario.h"

void
spate_scenario_silence(SpateScenario *scenario, uint32_t node)
{
    g_free(scenario->silent);
    scenario->silent = g_strdup(scenario->nodes[node].name);
    for (uint32_t i = 0; i < scenario->nodes[node].n_radios; i++)
        scenario->nodes[node].radios[i].relays = false;
    uint32_t n = 0;
    for (uint32_t i = 0; i < scenario->n_crossings; i++) {
        SpateScenarioCrossing crossing = scenario->crossings[i];
        if (crossing.node != node) {
            scenario->crossings[n++] = crossing;
            continue;
        }
        g_free(crossing.name);
        g_array_unref(crossing.rules);
    }
    scenario->n_crossings = n;
}
