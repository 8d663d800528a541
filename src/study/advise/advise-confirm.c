/* advise-confirm.c - whether fresh replications say what the search found */
#include "study/advise/advise-confirm.h"

#include "core/stop.h"
#include "study/advise/advise-judge.h"
#include "study/advise/advise-rules.h"

/* ---- the verdict ----------------------------------------------------------------------------- */

/* False with an error. */
static bool
judge(SpateAdvice *advice, const SpateAdviseWanted *wanted, const SpateStudyOptions *options,
      GError **error)
{
    g_free(advice->rules);
    g_clear_pointer(&advice->verified, spate_check_free);
    advice->rules = spate_advise_rules(advice, wanted, (const guint *)(void *)advice->chosen->data,
                                       advice->chosen->len, advice->one_of);
    advice->verified =
        spate_advise_check(advice, wanted, advice->rules, advice->first_fresh, error);
    return advice->verified != NULL && spate_checks_run(&advice->verified, 1, options, error);
}

static SpateAdviseAnswer
answer_of(SpateAdviseMeets meets)
{
    switch (meets) {
    case SPATE_ADVISE_MEETS:
        return SPATE_ADVISE_FOUND;
    case SPATE_ADVISE_LEANS:
        return SPATE_ADVISE_UNSURE;
    case SPATE_ADVISE_MISSES:
        return SPATE_ADVISE_NOT_CONFIRMED;
    }
    g_assert_not_reached();
}

static void
leave_open(SpateAdvice *advice)
{
    advice->answer = SPATE_ADVISE_OPEN;
    g_clear_pointer(&advice->rules, g_free);
    g_clear_pointer(&advice->verified, spate_check_free);
    g_clear_pointer(&advice->chosen, g_array_unref);
}

/* ---- the price ------------------------------------------------------------------------------- */

static bool *
treated(const SpateAdvice *advice)
{
    bool *is_treated = g_new0(bool, advice->scenario->n_traffics + 1u);
    for (guint i = 0; i < advice->chosen->len; i++)
        is_treated[spate_advise_stream(advice, g_array_index(advice->chosen, guint, i))->traffic] =
            true;
    return is_treated;
}

/* The same replications as it is; with the rules they were run for the verdict. */
static bool
find_prices(SpateAdvice *advice, const SpateStudyOptions *options, GError **error)
{
    const SpateScenario *const scenario = advice->scenario;
    const char *const name = "base";
    g_autoptr(SpateStudy) study = spate_study_new(&scenario, &name, 1, error);
    uint32_t n = advice->verified->n_replications;
    if (study == NULL)
        return false;
    spate_study_start_at(study, advice->first_fresh);
    if (!spate_studies_run(&study, &n, 1, options, error))
        return false;
    if (spate_is_stopped(options->stop))
        return true;
    g_autoptr(SpateResult) before = spate_study_result(study, "advise");
    g_autofree bool *is_treated = treated(advice);
    const SpateResultVariant *after =
        &advice->verified->result->variants[advice->verified->points[0].arm];
    g_clear_pointer(&advice->prices, g_array_unref);
    advice->prices = spate_advise_prices(scenario, is_treated, &before->variants[0], after, n);
    return true;
}

bool
spate_advise_confirm(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                     const SpateStudyOptions *options, GError **error)
{
    advice->first_fresh = advice->n_searched;
    for (guint i = 0; i < advice->treatments->len; i++) {
        advice->one_of = g_array_index(advice->treatments, uint32_t, i);
        if (!judge(advice, wanted, options, error))
            return false;
        if (spate_is_stopped(options->stop)) {
            leave_open(advice);
            return true;
        }
        advice->answer = answer_of(spate_advise_meets(advice->verified));
        if (advice->answer == SPATE_ADVISE_FOUND)
            break;
        advice->n_refuted++;
        if (i + 1 < advice->treatments->len)
            advice->first_fresh += advice->verified->n_replications;
    }
    return find_prices(advice, options, error);
}
