/* advise-trials.c - one thing changed at a time, and what people's delivery makes of it */
#include "study/advise/advise-trials.h"

#include "core/stop.h"
#include <math.h>
#include <stdlib.h>

/* Worlds that are in memory at once. */
#define ABREAST 32

static void
clear_trial(gpointer user)
{
    SpateAdviseTrial *trial = user;
    g_free(trial->effects);
}

GArray *
spate_advise_trials_new(void)
{
    GArray *trials = g_array_new(FALSE, TRUE, sizeof(SpateAdviseTrial));
    g_array_set_clear_func(trials, clear_trial);
    return trials;
}

/* ---- runs ------------------------------------------------------------------------------------ */

typedef struct {
    SpateAdviseTrials *all;
    uint32_t n_total; /* runs */
} Progress;

static void
tell_progress(gpointer user, uint32_t done, uint32_t total)
{
    const Progress *progress = user;
    const SpateStudyOptions *options = progress->all->options;
    if (options->progress != NULL)
        options->progress(options->user, progress->all->n_before + done, progress->n_total);
}

static SpateAdviseLoser
find_loser(const SpatePeople *people, const SpateResultVariant *before,
           const SpateResultVariant *after, uint32_t n)
{
    const SpateScenario *scenario = people->scenario;
    SpateAdviseLoser loser = {.loss = SPATE_NO_ESTIMATE};
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        SpateEstimate loss = spate_traffic_loss(&scenario->traffics[i], before, after, n);
        bool is_sure = loss.n > 0 && loss.ci95.low > 0.0;
        if (is_sure && (loser.loss.n == 0 || loss.mean > loser.loss.mean))
            loser = (SpateAdviseLoser){i, loss};
    }
    return loser;
}

static void
note_results(SpateAdviseTrials *all, const SpateResult *result, GArray *trials, guint begin)
{
    uint32_t n = result->n_replications;
    const SpateResultVariant *as_it_is = &result->variants[0];
    SpateRunning delivery = spate_people_delivery(all->people, as_it_is, n, UINT32_MAX);
    all->n_finished = n;
    all->delivery = spate_estimate_of(&delivery, 0.0, 1.0);
    for (guint i = 1; i < result->n_variants; i++) {
        SpateAdviseTrial *trial = spate_advise_trial(trials, begin + i - 1);
        const SpateResultVariant *changed = &result->variants[i];
        bool takes_away = trial->counts == SPATE_EFFECT_LOSS;
        bool gives_back = trial->counts == SPATE_EFFECT_UNDONE;
        trial->effects = takes_away ? spate_people_gains(all->people, as_it_is, changed, n)
                                    : spate_people_gains(all->people, changed, as_it_is, n);
        trial->loser = gives_back ? find_loser(all->people, changed, as_it_is, n)
                                  : find_loser(all->people, as_it_is, changed, n);
        if (all->note != NULL)
            all->note(all->user, begin + i - 1, as_it_is, changed, n);
    }
}

static bool
try_some(SpateAdviseTrials *all, const SpateScenario *as_it_is, GArray *trials, guint begin,
         guint end, Progress *progress, GError **error)
{
    g_autoptr(GPtrArray) changed =
        g_ptr_array_new_with_free_func((GDestroyNotify)spate_scenario_free);
    g_autoptr(SpateResult) result = NULL;
    for (guint i = begin; i < end; i++) {
        SpateScenario *scenario =
            spate_advise_scenario(all->wanted, &spate_advise_trial(trials, i)->trial, error);
        if (scenario == NULL)
            return false;
        g_ptr_array_add(changed, scenario);
    }
    SpateStudyOptions options = *all->options;
    options.progress = tell_progress;
    options.user = progress;
    if (!spate_advise_run(as_it_is, changed, 0, all->n_replications, &options, &result, error))
        return false;
    all->n_before += all->n_replications * (changed->len + 1);
    if (!spate_is_stopped(all->options->stop))
        note_results(all, result, trials, begin);
    return true;
}

bool
spate_advise_try(SpateAdviseTrials *all, const SpateScenario *as_it_is, GArray *trials,
                 GError **error)
{
    guint n = trials->len, n_batches = (n + ABREAST - 1) / ABREAST;
    Progress progress = {all, all->n_before + all->n_replications * (n + n_batches)};
    for (guint begin = 0; begin < n && !spate_is_stopped(all->options->stop); begin += ABREAST)
        if (!try_some(all, as_it_is, trials, begin, MIN(begin + ABREAST, n), &progress, error))
            return false;
    return true;
}

/* ---- judgement ------------------------------------------------------------------------------- */

/* `p` of each before it is adjusted. */
static void
judge(const SpateRunning *means, double *p, size_t n, SpateJudgedEffect *into)
{
    g_autofree double *risks = g_new0(double, n + 1);
    spate_holm_risks(p, n, SPATE_ADVISE_RISK, risks);
    spate_holm_adjust(p, n);
    for (size_t i = 0; i < n; i++) {
        SpateInterval tested = spate_student_interval_at(&means[i], risks[i]);
        into[i] = (SpateJudgedEffect){
            .own = spate_estimate_of(&means[i], -1.0, 1.0),
            .p = p[i],
            .tested = spate_interval_clip(tested, -1.0, 1.0),
            .more = spate_more_to_tell(&means[i], risks[i]),
        };
    }
}

void
spate_judge_effects(const double *const *effects, size_t n, uint32_t n_replications,
                    SpateJudgedEffect *into)
{
    g_autofree SpateRunning *means = g_new0(SpateRunning, n + 1);
    g_autofree double *p = g_new0(double, n + 1);
    for (size_t i = 0; i < n; i++) {
        for (uint32_t k = 0; k < n_replications; k++)
            if (!isnan(effects[i][k]))
                spate_running_add(&means[i], effects[i][k]);
        p[i] = spate_student_p(&means[i]);
    }
    judge(means, p, n, into);
}

void
spate_judge_behind(const double *const *effects, const guint *order, size_t n,
                   uint32_t n_replications, SpateBehind whom, SpateJudgedEffect *into)
{
    g_autofree const double **behind = g_new0(const double *, n + 1);
    g_autofree SpateJudgedEffect *judged = g_new0(SpateJudgedEffect, n + 1);
    for (size_t i = 1; i < n; i++) {
        const double *before = effects[order[whom == SPATE_BEHIND_FIRST ? 0 : i - 1]];
        double *less = g_new(double, n_replications + 1);
        for (uint32_t k = 0; k < n_replications; k++)
            less[k] = before[k] - effects[order[i]][k];
        behind[i - 1] = less;
    }
    if (n > 1)
        spate_judge_effects(behind, n - 1, n_replications, judged);
    for (size_t i = 1; i < n; i++)
        into[order[i]] = judged[i - 1];
    for (size_t i = 0; i + 1 < n; i++)
        g_free((gpointer)(uintptr_t)behind[i]);
}

static int
compare_effects(const void *a, const void *b, gpointer user)
{
    const guint *first = a, *second = b;
    const SpateJudgedEffect *effects = user;
    const double means[] = {spate_estimate_or_least(&effects[*first].own),
                            spate_estimate_or_least(&effects[*second].own)};
    if (means[0] != means[1])
        return means[0] > means[1] ? -1 : 1;
    return (*first > *second) - (*first < *second);
}

guint *
spate_order_effects(const SpateJudgedEffect *effects, size_t n)
{
    guint *order = g_new(guint, n + 1);
    for (guint i = 0; i < n; i++)
        order[i] = i;
    g_qsort_with_data(order, (gint)n, sizeof *order, compare_effects, (gpointer)effects);
    return order;
}
