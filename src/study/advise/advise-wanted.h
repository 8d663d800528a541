/* advise-wanted.h - from what advice starts, the same for all kinds of it */
#pragma once

#include "study/judge/check.h"

typedef struct {
    const SpateScenarioFile *file; /* borrowed */
    const char *variant; /* from which it starts, and whose expectations count; NULL: the base */
    bool has_seed;
    uint64_t seed;
    uint32_t replications; /* 0: as the scenario says */
} SpateAdviseWanted;

/* The scenario from which it starts, with the trial's changes (NULL: none) in the variant that is
 * wanted. */
SpateScenario *spate_advise_scenario(const SpateAdviseWanted *wanted, const SpateTrial *trial,
                                     GError **error);
/* Runs a scenario and what others make of it (NULL: none), `n` replications of each from `first`
 * on. *result is of them all, in that order; NULL if none is finished.  False with an error. */
bool spate_advise_run(const SpateScenario *scenario, const GPtrArray *changed, uint32_t first,
                      uint32_t n, const SpateStudyOptions *options, SpateResult **result,
                      GError **error);
uint32_t spate_advise_replications(const SpateAdviseWanted *wanted, const SpateScenario *scenario);
