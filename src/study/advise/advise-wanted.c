/* advise-wanted.c - from what advice starts */
#include "study/advise/advise-wanted.h"

SpateScenario *
spate_advise_scenario(const SpateAdviseWanted *wanted, const SpateTrial *trial, GError **error)
{
    SpateTrial tried = trial != NULL ? *trial : (SpateTrial){0};
    tried.variant = wanted->variant;
    SpateScenario *scenario = spate_scenario_try(wanted->file, &tried, error);
    if (scenario != NULL && wanted->has_seed)
        scenario->seed = wanted->seed;
    return scenario;
}

uint32_t
spate_advise_replications(const SpateAdviseWanted *wanted, const SpateScenario *scenario)
{
    return wanted->replications > 0 ? wanted->replications : scenario->replications;
}
