/* drawn.h - what the replications of a result drew of what nobody knows */
#pragma once

#include "scenario/scenario.h"
#include "study/result.h"

/* Of the scenarios of its variants, in their order. */
void spate_drawn_fill(SpateResult *result, const SpateScenario *const *scenarios);
