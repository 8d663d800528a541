/* advise.c - which traffic a bridge should hold back */
#include "study/advise/advise-private.h"

#include "core/stop.h"

static void
clear_stream(gpointer stream)
{
    g_free(((SpateAdviseStream *)stream)->source);
}

void
spate_advice_free(SpateAdvice *advice)
{
    if (advice == NULL)
        return;
    spate_study_free(advice->study); /* borrows expectations of the check */
    spate_check_free(advice->unjudged);
    spate_check_free(advice->as_it_is);
    spate_check_free(advice->verified);
    g_free(advice->rules);
    g_clear_pointer(&advice->chosen, g_array_unref);
    g_clear_pointer(&advice->treatments, g_array_unref);
    g_clear_pointer(&advice->prices, g_array_unref);
    g_array_unref(advice->streams);
    spate_crossing_index_clear(&advice->index);
    spate_people_clear(&advice->people);
    spate_scenario_free(advice->scenario);
    g_free(advice);
}

SpateAdvice *
spate_advise(const SpateAdviseWanted *wanted, SpateAdviseGentle gentle,
             const SpateStudyOptions *how, GError **error)
{
    /* So that they find the links of a replication that another has worked out, and an interruption
     * leaves them with equally many. */
    SpateStudyOptions stepping = *how;
    const SpateStudyOptions *options = &stepping;
    stepping.in_step = true;
    SpateScenario *scenario = spate_advise_scenario(wanted, NULL, error);
    if (scenario == NULL)
        return NULL;
    g_autoptr(SpateAdvice) advice = g_new0(SpateAdvice, 1);
    advice->scenario = scenario;
    advice->variant = wanted->variant != NULL ? wanted->variant : "base";
    advice->gentle = gentle;
    advice->delivery = SPATE_NO_ESTIMATE;
    advice->answer = SPATE_ADVISE_OPEN;
    advice->streams = g_array_new(FALSE, FALSE, sizeof(SpateAdviseStream));
    g_array_set_clear_func(advice->streams, clear_stream);
    spate_people_init(&advice->people, scenario, wanted->variant);
    spate_crossing_index_init(&advice->index, scenario);
    if (!spate_advise_find_streams(advice, wanted, options, error))
        return NULL;
    if (!spate_is_stopped(options->stop) &&
        (!spate_advise_find_gains(advice, wanted, options, error) ||
         (!spate_is_stopped(options->stop) &&
          !spate_advise_search(advice, wanted, options, error))))
        return NULL;
    advice->interrupted = spate_is_stopped(options->stop);
    return g_steal_pointer(&advice);
}
