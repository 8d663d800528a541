/* layout.c - which layouts an answer rests on */
#include "scenario/layout.h"

bool
spate_scenario_redraws_places(const SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        if (scenario->nodes[i].placement->redraw)
            return true;
    return false;
}

bool
spate_scenario_holds_layout(const SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpatePlacement *placement = scenario->nodes[i].placement;
        if (placement->kind != SPATE_PLACE_POINTS && !placement->redraw)
            return true;
    }
    return false;
}

bool
spate_scenarios_hold_layout(const SpateScenario *const *scenarios, size_t n_scenarios)
{
    for (size_t i = 0; i < n_scenarios; i++)
        if (spate_scenario_holds_layout(scenarios[i]))
            return true;
    return false;
}
