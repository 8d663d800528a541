/* drawn.h - what the replications of a result drew for uncertain inputs */
#pragma once

#include "scenario/scenario.h"
#include "study/run/result.h"

/* Of the scenarios of its variants, in their order; its replications are those from `first` on. */
void spate_drawn_fill(SpateResult *result, const SpateScenario *const *scenarios, uint32_t first);
