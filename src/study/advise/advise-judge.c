/* advise-judge.c - whether the file with rules put into it meets its expectations */
#include "study/advise/advise-judge.h"

/* Times the scenario's replications that a doubtful set may have. */
#define MORE_FOR_DOUBT 8

SpateAdviseMeets
spate_advise_meets(const SpateCheck *check)
{
    SpateAdviseMeets meets = SPATE_ADVISE_MEETS;
    for (size_t i = 0; i < check->n_points; i++) {
        const SpateJudgement *judgement = &check->points[i].judgement;
        if (!spate_judgement_passes(judgement, false))
            return SPATE_ADVISE_MISSES;
        if (judgement->kind == SPATE_VERDICT_UNDECIDED)
            meets = SPATE_ADVISE_LEANS;
    }
    return check->n_replications > 0 ? meets : SPATE_ADVISE_MISSES;
}

SpateCheck *
spate_advise_check(const SpateAdvice *advice, const SpateAdviseWanted *wanted, const char *rules,
                   uint32_t first, GError **error)
{
    const char *const variants[] = {advice->variant, NULL};
    const SpateTrial trial = {.rules = rules, .rules_of = wanted->variant};
    const SpateCheckOptions options = {
        .variants = variants,
        .has_seed = wanted->has_seed,
        .seed = wanted->seed,
        .replications = wanted->replications,
        .most_replications = advice->scenario->replications * MORE_FOR_DOUBT,
        .first = first,
        .trial = &trial,
    };
    return spate_check_new(wanted->file, &options, error);
}
