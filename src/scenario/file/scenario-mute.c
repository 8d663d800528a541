/* scenario-mute.c - what a trial takes out of a scenario that was read */
#include "scenario/file/scenario-file.h"

#include "core/ascending.h"
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

/* Lists of ends may have one more number after their last. */
static void
leave_out_end(uint32_t *nodes, uint32_t *n, uint32_t node)
{
    uint32_t at = nodes != NULL ? spate_ascending_find(nodes, *n, node) : *n;
    if (at == *n)
        return;
    memmove(nodes + at, nodes + at + 1, (*n - at - 1) * sizeof *nodes);
    --*n;
}

static void
make_bystander(SpateScenario *scenario, const char *name)
{
    uint32_t node = spate_scenario_find_node(scenario, name);
    for (uint32_t i = 0; node != UINT32_MAX && i < scenario->n_traffics; i++) {
        SpateScenarioTraffic *traffic = &scenario->traffics[i];
        leave_out_end(traffic->sources, &traffic->n_sources, node);
        leave_out_end(traffic->recipients, &traffic->n_recipients, node);
    }
}

void
spate_file_mute(SpateScenario *scenario, const SpateMute *mute)
{
    silence(scenario, mute->silent);
    leave_out_outages(scenario, mute->unfailing);
    for (char **name = mute->bystanders; name != NULL && *name != NULL; name++)
        make_bystander(scenario, *name);
    scenario->mute = (SpateMute){.silent = g_strdup(mute->silent),
                                 .unfailing = g_strdup(mute->unfailing),
                                 .bystanders = g_strdupv(mute->bystanders)};
}

void
spate_mute_clear(SpateMute *mute)
{
    g_free(mute->silent);
    g_free(mute->unfailing);
    g_strfreev(mute->bystanders);
}
