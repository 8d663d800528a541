/* scenario-free.c - the end of a scenario */
#include "scenario/scenario.h"

static void
free_nodes(SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        g_free(scenario->nodes[i].name);
        g_free(scenario->nodes[i].label);
        g_free(scenario->nodes[i].radios);
    }
    g_free(scenario->nodes);
    for (uint32_t i = 0; i < scenario->n_sites; i++) {
        g_free(scenario->sites[i].name);
        g_free(scenario->sites[i].entry);
    }
    g_free(scenario->sites);
    for (uint32_t i = 0; i < scenario->n_groups; i++) {
        g_free(scenario->groups[i].name);
        g_free(scenario->groups[i].members);
    }
    g_free(scenario->groups);
    g_ptr_array_unref(scenario->placements);
    g_ptr_array_unref(scenario->ways);
    g_ptr_array_unref(scenario->relay_rules);
}

static void
free_traffics(SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        SpateScenarioTraffic *traffic = &scenario->traffics[i];
        g_free(traffic->name);
        g_free(traffic->class_name);
        g_free(traffic->on_bearers);
        g_free(traffic->sources);
        g_free(traffic->recipients);
        g_free(traffic->at_ns);
        g_free(traffic->along);
        g_free(traffic->follows);
    }
    g_free(scenario->traffics);
}

static void
free_expectations(SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_expectations; i++) {
        SpateExpectation *expectation = &scenario->expectations[i];
        char *const texts[] = {expectation->variant, expectation->versus, expectation->traffic,
                               expectation->bearer,  expectation->node,   expectation->bridge,
                               expectation->from,    expectation->to};
        for (size_t k = 0; k < G_N_ELEMENTS(texts); k++)
            g_free(texts[k]);
    }
    g_free(scenario->expectations);
}

void
spate_scenario_free(SpateScenario *scenario)
{
    if (scenario == NULL)
        return;
    for (uint32_t i = 0; i < scenario->n_bearers; i++) {
        SpatePropagation *propagation = &scenario->bearers[i].propagation;
        for (size_t k = 0; k < propagation->n_between; k++) {
            g_free(propagation->between[k].members_a);
            g_free(propagation->between[k].members_b);
        }
        g_free(propagation->between);
        g_free(scenario->bearers[i].name);
    }
    g_free(scenario->bearers);
    g_free(scenario->size.vary);
    g_free(scenario->size.unit);
    free_nodes(scenario);
    g_strfreev(scenario->bridge_names);
    for (uint32_t i = 0; i < scenario->n_crossings; i++) {
        g_free(scenario->crossings[i].name);
        g_array_unref(scenario->crossings[i].rules);
    }
    g_free(scenario->crossings);
    free_traffics(scenario);
    g_free(scenario->ambient);
    g_free(scenario->outages);
    spate_terrain_free(scenario->terrain);
    g_free(scenario->given_losses);
    g_array_unref(scenario->empty_tables);
    g_free(scenario->links);
    for (uint32_t i = 0; i < scenario->n_variants; i++) {
        g_free(scenario->variants[i].name);
        g_free(scenario->variants[i].summary);
    }
    g_free(scenario->variants);
    free_expectations(scenario);
    for (uint32_t i = 0; i < scenario->n_sweep; i++)
        spate_sweep_axis_clear(&scenario->sweep[i]);
    g_free(scenario->sweep);
    for (uint32_t i = 0; i < scenario->n_doubts; i++)
        spate_doubt_clear(&scenario->doubts[i]);
    g_free(scenario->doubts);
    spate_mute_clear(&scenario->mute);
    spate_yaml_free(scenario->in_doubt);
    spate_scenario_file_free(scenario->file);
    g_free(scenario->name);
    g_free(scenario->sha256);
    g_free(scenario->links_sha256);
    g_free(scenario->variant);
    g_free(scenario->title);
    g_free(scenario->summary);
    spate_faults_free(scenario->later);
    g_free(scenario);
}
