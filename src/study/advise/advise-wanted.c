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

bool
spate_advise_run(const SpateScenario *scenario, const GPtrArray *changed, uint32_t first,
                 uint32_t n, const SpateStudyOptions *options, SpateResult **result, GError **error)
{
    guint n_changed = changed != NULL ? changed->len : 0;
    g_autofree const SpateScenario **scenarios = g_new(const SpateScenario *, n_changed + 1);
    g_autofree const char **names = g_new(const char *, n_changed + 1);
    scenarios[0] = scenario;
    names[0] = "base";
    for (guint i = 0; i < n_changed; i++) {
        scenarios[i + 1] = g_ptr_array_index(changed, i);
        names[i + 1] = "changed";
    }
    g_autoptr(SpateStudy) study = spate_study_new(scenarios, names, n_changed + 1, error);
    if (study == NULL)
        return false;
    spate_study_start_at(study, first);
    if (!spate_studies_run(&study, &n, 1, options, error))
        return false;
    *result = spate_study_n_replications(study) > 0 ? spate_study_result(study, "advise") : NULL;
    return true;
}
