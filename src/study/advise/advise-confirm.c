/* advise-confirm.c - whether fresh replications say what the search found */
#include "study/advise/advise-private.h"

#include "core/stop.h"

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

/* The same replications as it is; with the rules they were run for the verdict. */
static bool
find_prices(SpateAdvice *advice, const SpateStudyOptions *options, GError **error)
{
    g_autoptr(SpateResult) before = NULL;
    uint32_t n = advice->verified->n_replications;
    if (!spate_advise_run(advice->scenario, NULL, advice->first_fresh, n, options, &before, error))
        return false;
    if (spate_is_stopped(options->stop))
        return true;
    g_autofree bool *is_treated = g_new0(bool, advice->scenario->n_traffics + 1u);
    for (guint i = 0; i < advice->chosen->len; i++)
        is_treated[spate_advise_stream(advice, g_array_index(advice->chosen, guint, i))->traffic] =
            true;
    const SpateResultVariant *after =
        &advice->verified->result->variants[advice->verified->points[0].arm];
    g_clear_pointer(&advice->prices, g_array_unref);
    advice->prices =
        spate_advise_prices(advice->scenario, is_treated, &before->variants[0], after, n);
    return true;
}

bool
spate_advise_confirm(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                     const SpateStudyOptions *options, GError **error)
{
    static const SpateAdviseAnswer ANSWERS[] = {
        [SPATE_ADVISE_MEETS] = SPATE_ADVISE_FOUND,
        [SPATE_ADVISE_LEANS] = SPATE_ADVISE_UNSURE,
        [SPATE_ADVISE_MISSES] = SPATE_ADVISE_NOT_CONFIRMED,
    };
    advice->first_fresh = advice->n_searched;
    for (guint i = 0; i < advice->treatments->len; i++) {
        advice->one_of = g_array_index(advice->treatments, uint32_t, i);
        if (!judge(advice, wanted, options, error))
            return false;
        if (spate_is_stopped(options->stop)) {
            advice->answer = SPATE_ADVISE_OPEN;
            g_clear_pointer(&advice->rules, g_free);
            g_clear_pointer(&advice->verified, spate_check_free);
            g_clear_pointer(&advice->chosen, g_array_unref);
            return true;
        }
        advice->answer = ANSWERS[spate_advise_meets(advice->verified)];
        if (advice->answer == SPATE_ADVISE_FOUND)
            break;
        advice->n_refuted++;
        if (i + 1 < advice->treatments->len)
            advice->first_fresh += advice->verified->n_replications;
    }
    return find_prices(advice, options, error);
}
