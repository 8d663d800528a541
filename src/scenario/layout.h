/* layout.h - which layouts an answer rests on
 *
 * Random places are drawn anew in each replication: the intervals of an answer then hold what
 * nobody has decided yet.  `redraw: once` holds them over all replications; the answer is then for
 * that one layout, and every report says so with the words below.
 */
#pragma once

#include "scenario/scenario.h"

/* What a report adds where random places are held. */
#define SPATE_ONE_LAYOUT_WORDS "for this one layout (redraw: once)"

/* Whether some places differ from one replication to the next. */
bool spate_scenario_redraws_places(const SpateScenario *scenario);
/* Whether some random places are the same in all replications. */
bool spate_scenario_holds_layout(const SpateScenario *scenario);
/* Whether one of them does. */
bool spate_scenarios_hold_layout(const SpateScenario *const *scenarios, size_t n_scenarios);
