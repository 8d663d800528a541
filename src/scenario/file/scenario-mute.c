/* scenario-mute.c - what a trial takes out of a scenario that was read */
#include "scenario/file/scenario-file.h"

#include <string.h>

static void
remove_crossings(SpateScenario *scenario, uint32_t node)
{
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

static void
silence(SpateScenario *scenario, const char *name)
{
    uint32_t number = spate_scenario_find_node(scenario, name);
    if (number == UINT32_MAX)
        return;
    SpateScenarioNode *node = &scenario->nodes[number];
    for (uint32_t r = 0; r < node->n_radios; r++)
        node->radios[r].relays = false;
    remove_crossings(scenario, number);
}

static void
leave_out_outages(SpateScenario *scenario, const char *name)
{
    uint32_t group = spate_scenario_find_group(scenario, name);
    for (uint32_t i = 0; group != UINT32_MAX && i < scenario->n_outages; i++)
        if (scenario->outages[i].group == group)
            scenario->outages[i].is_left_out = true;
}

void
spate_file_mute(SpateScenario *scenario, const SpateMute *mute)
{
    silence(scenario, mute->silent);
    leave_out_outages(scenario, mute->unfailing);
    scenario->mute =
        (SpateMute){.silent = g_strdup(mute->silent), .unfailing = g_strdup(mute->unfailing)};
}

void
spate_mute_clear(SpateMute *mute)
{
    g_free(mute->silent);
    g_free(mute->unfailing);
}
