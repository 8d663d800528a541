/* advise-gains.c - what holding back each stream wins
 *
 * Most streams win people next to nothing, and few replications show it.  So all are tried in the
 * first quarter of the replications, and those that are sure to change people's delivery by less
 * than is worth a rule are tried no further (futility, as clinical trials call it; C. Jennison,
 * B. W. Turnbull, Group Sequential Methods, 2000, from memory).  That can never make an effect of
 * what has none: to give up only takes occasions away.  What it may cost is power, and this is
 * bounded: each stream has an equal share of the risk (Bonferroni), so that of streams that truly
 * win, or lose, that much or more any is given up with a probability of SPATE_ADVISE_GIVE_UP_RISK
 * at most, as far as Student's t holds for gains.  A stream by which people lose goes on: by how
 * much decides whether it may be in a set.
 */
#include "study/advise/advise-private.h"

#include "core/stop.h"
#include <math.h>

/* Streams that are held back one at a time: those that cost the far side most; and what those that
 * are not tried may cost a far side in all.  Both keep the number of runs small; common practice,
 * no source. */
#define MOST_TRIED 24
#define LEAST_COST 0.02

/* ---- which streams --------------------------------------------------------------------------- */

/* By crossing; then what wins most, then what costs most, first. */
static int
compare_streams(gconstpointer a, gconstpointer b)
{
    const SpateAdviseStream *first = a, *second = b;
    if (first->group != second->group)
        return first->group < second->group ? -1 : 1;
    const double gains[] = {spate_estimate_or_least(&first->gain),
                            spate_estimate_or_least(&second->gain)};
    if (gains[0] != gains[1])
        return gains[0] > gains[1] ? -1 : 1;
    if (first->load_share.mean != second->load_share.mean)
        return first->load_share.mean > second->load_share.mean ? -1 : 1;
    if (first->traffic != second->traffic)
        return first->traffic < second->traffic ? -1 : 1;
    return (first->entry > second->entry) - (first->entry < second->entry);
}

/* Of a share, the greater part of both. */
static double
cost_of(const SpateAdviseStream *stream)
{
    return MAX(stream->load_share.mean, stream->collision_share.mean);
}

/* What all streams that are not tried, and might be, cost the far side of this one. */
static double
cost_of_untried(const SpateAdvice *advice, const SpateAdviseStream *like)
{
    double cost = 0.0;
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        if (!stream->is_tried && spate_advise_crossing(advice, stream)->to_bearer ==
                                     spate_advise_crossing(advice, like)->to_bearer)
            cost += cost_of(stream);
    }
    return cost;
}

static bool
is_worth_trying(const SpateAdvice *advice, const SpateAdviseStream *stream)
{
    return !stream->is_tried &&
           (spate_people_restrict(advice->scenario, advice->variant, stream->traffic) ||
            cost_of_untried(advice, stream) > LEAST_COST);
}

static void
choose_tried(SpateAdvice *advice)
{
    SpateAdviseStream *streams = (SpateAdviseStream *)(void *)advice->streams->data;
    for (guint n = 0; n < MOST_TRIED; n++) {
        SpateAdviseStream *most = NULL; /* the one that costs most of those worth trying */
        for (guint i = 0; i < advice->streams->len; i++)
            if (is_worth_trying(advice, &streams[i]) &&
                (most == NULL || cost_of(&streams[i]) > cost_of(most)))
                most = &streams[i];
        if (most == NULL)
            break;
        most->is_tried = true;
    }
    for (guint i = 0; i < advice->streams->len; i++)
        if (!streams[i].is_tried)
            streams[i].left_out = is_worth_trying(advice, &streams[i])
                                      ? SPATE_ADVISE_OTHERS_COST_MORE
                                      : SPATE_ADVISE_COSTS_LITTLE;
}

/* ---- the first look -------------------------------------------------------------------------- */

uint32_t
spate_advise_first_look(uint32_t n_replications)
{
    uint32_t n = spate_early_replications(n_replications);
    return (uint64_t)4 * n < (uint64_t)3 * n_replications ? n : n_replications;
}

/* Two sides, of which each has its own error: a stream cannot both win and lose. */
static double
risk_of_look(guint n_tried)
{
    return fmin(SPATE_RISK, 2.0 * SPATE_ADVISE_GIVE_UP_RISK / n_tried);
}

/* How much a share may change that was the same in all of so many pairs: more than none of them
 * would have differed, but for that risk (C. J. Clopper, E. S. Pearson, Biometrika 26, 1934). */
static double
resolution(double n_pairs, double risk)
{
    return n_pairs > 0.0 ? -expm1(log(risk) / n_pairs) : 1.0;
}

SpateInterval
spate_advise_look_interval(const SpateRunning *gain, double n_offered, guint n_tried)
{
    double risk = risk_of_look(n_tried);
    SpateInterval interval = spate_student_interval_at(gain, risk);
    if (isnan(interval.low))
        return interval;
    return spate_interval_clip(spate_interval_widen(interval, resolution(n_offered, 0.5 * risk)),
                               -1.0, 1.0);
}

bool
spate_advise_is_hopeless(SpateInterval gain)
{
    return gain.low > -SPATE_ADVISE_WORTH && gain.high < SPATE_ADVISE_WORTH;
}

/* ---- trials ---------------------------------------------------------------------------------- */

/* A stream that is tried. */
typedef struct {
    SpateAdviseStream *stream;
    SpateScenario *scenario; /* in which it is held back */
    SpateStudy *study;
} Trial;

typedef struct {
    SpateAdvice *advice;
    const SpateStudyOptions *options;
    SpateResult *as_it_is;
    GArray *trials; /* Trial */
} Gains;

static void
clear_trial(gpointer user)
{
    Trial *trial = user;
    spate_study_free(trial->study);
    spate_scenario_free(trial->scenario);
}

static bool
add_trial(Gains *gains, const SpateAdviseWanted *wanted, guint number, GError **error)
{
    static const char *const NAME = "changed";
    SpateAdvice *advice = gains->advice;
    g_autofree char *rules = spate_advise_rules(advice, wanted, &number, 1, 0);
    const SpateTrial change = {.rules = rules, .rules_of = wanted->variant};
    Trial trial = {.stream = &g_array_index(advice->streams, SpateAdviseStream, number),
                   .scenario = spate_advise_scenario(wanted, &change, error)};
    if (trial.scenario != NULL)
        trial.study = spate_study_new_beside(
            advice->study, (const SpateScenario *const *)&trial.scenario, &NAME, 1, error);
    g_array_append_val(gains->trials, trial);
    return trial.study != NULL;
}

/* So many replications of each that is not given up, in one list of work: no thread waits for
 * another between streams.  False with an error. */
static bool
run(Gains *gains, uint32_t n_replications, GError **error)
{
    guint n = 0;
    SpateAdvice *advice = gains->advice;
    g_autofree SpateStudy **studies = g_new(SpateStudy *, gains->trials->len + 1);
    g_autofree uint32_t *wanted = g_new(uint32_t, gains->trials->len + 1);
    /* Finished: it only counts as done, for the progress. */
    studies[n] = advice->study;
    wanted[n++] = advice->n_replications;
    for (guint i = 0; i < gains->trials->len; i++) {
        const Trial *trial = &g_array_index(gains->trials, Trial, i);
        if (trial->stream->is_hopeless)
            continue;
        studies[n] = trial->study;
        wanted[n++] = n_replications;
    }
    return n == 1 || spate_studies_run(studies, wanted, n, gains->options, error);
}

static void
note_gain(const Gains *gains, const Trial *trial, bool is_first_look)
{
    SpateAdviseStream *stream = trial->stream;
    const SpatePeople *people = &gains->advice->people;
    const SpateResultVariant *as_it_is = &gains->as_it_is->variants[0];
    uint32_t n = spate_study_n_replications(trial->study);
    if (n == 0)
        return;
    g_autoptr(SpateResult) result = spate_study_result(trial->study, "advise");
    SpateRunning gain =
        spate_people_gain(people, &result->variants[0], as_it_is, n, stream->traffic);
    stream->gain = spate_estimate_of(&gain, -1.0, 1.0);
    stream->n_gain = n;
    stream->gain_level = 1.0 - SPATE_RISK;
    double n_offered = spate_people_offered(people, as_it_is, n, stream->traffic);
    SpateInterval interval = spate_advise_look_interval(&gain, n_offered, gains->trials->len);
    if (!is_first_look || !spate_advise_is_hopeless(interval))
        return;
    stream->is_hopeless = true;
    stream->gain.ci95 = interval;
    stream->gain_level = 1.0 - risk_of_look(gains->trials->len);
}

static void
note_gains(const Gains *gains, bool is_first_look)
{
    for (guint i = 0; i < gains->trials->len; i++) {
        const Trial *trial = &g_array_index(gains->trials, Trial, i);
        if (!trial->stream->is_hopeless)
            note_gain(gains, trial, is_first_look);
    }
}

/* All of them as far as the first look, the others to the end.  An interruption leaves the gains of
 * so far. */
static bool
try_streams(Gains *gains, const SpateAdviseWanted *wanted, GError **error)
{
    SpateAdvice *advice = gains->advice;
    uint32_t n = advice->n_replications;
    uint32_t looks[] = {wanted->replications > 0 ? n : spate_advise_first_look(n), n};
    for (guint i = 0; i < advice->streams->len; i++)
        if (spate_advise_stream(advice, i)->is_tried && !add_trial(gains, wanted, i, error))
            return false;
    for (size_t i = 0; i < G_N_ELEMENTS(looks) && !spate_is_stopped(gains->options->stop); i++) {
        if (!run(gains, looks[i], error))
            return false;
        note_gains(gains, looks[i] < n && !spate_is_stopped(gains->options->stop));
    }
    return true;
}

bool
spate_advise_find_gains(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                        const SpateStudyOptions *options, GError **error)
{
    uint32_t n = advice->n_replications;
    g_autoptr(SpateResult) as_it_is = spate_study_result(advice->study, "advise");
    g_autoptr(GArray) trials = g_array_new(FALSE, FALSE, sizeof(Trial));
    g_array_set_clear_func(trials, clear_trial);
    Gains gains = {advice, options, as_it_is, trials};
    SpateRunning delivery =
        spate_people_delivery(&advice->people, &as_it_is->variants[0], n, UINT32_MAX);
    advice->delivery = spate_estimate_of(&delivery, 0.0, 1.0);
    advice->n_searched = n;
    choose_tried(advice);
    if (!try_streams(&gains, wanted, error))
        return false;
    g_array_sort(advice->streams, compare_streams);
    return true;
}
