/* advise-relays.c - which relay is worth its mast */
#include "study/advise/advise-relays.h"

#include "core/stop.h"
#include <math.h>

/* Worlds that are in memory at once. */
#define ABREAST 32

typedef struct {
    const SpateAdviseWanted *wanted;
    const SpateStudyOptions *options;
    SpateRelayRanking *ranking;
    GArray *worths;       /* SpateRelayWorth */
    double *p;            /* by relay */
    SpateRunning *losses; /* likewise */
    uint32_t n_replications;
    uint32_t n_before, n_total; /* runs */
} Relays;

void
spate_relay_ranking_free(SpateRelayRanking *ranking)
{
    if (ranking == NULL)
        return;
    g_free(ranking->relays);
    spate_people_clear(&ranking->people);
    spate_scenario_free(ranking->scenario);
    g_free(ranking);
}

/* ---- who relays ------------------------------------------------------------------------------ */

static void
find_relays(Relays *all)
{
    const SpateScenario *scenario = all->ranking->scenario;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        SpateRelayWorth worth = {.node = i};
        bool relays = false;
        for (uint32_t k = 0; k < scenario->n_crossings; k++)
            worth.is_bridge = worth.is_bridge || scenario->crossings[k].node == i;
        for (uint32_t k = 0; k < node->n_radios; k++)
            relays = relays || node->radios[k].relays;
        if (worth.is_bridge || relays)
            g_array_append_val(all->worths, worth);
    }
}

/* ---- silence --------------------------------------------------------------------------------- */

static void
tell_progress(gpointer user, uint32_t done, uint32_t total)
{
    const Relays *all = user;
    if (all->options->progress != NULL)
        all->options->progress(all->options->user, all->n_before + done, all->n_total);
}

/* Whose messages are missing most; of all traffics, people's or not. */
static void
find_loser(const Relays *all, SpateRelayWorth *worth, const SpateResultVariant *base,
           const SpateResultVariant *silent, uint32_t n)
{
    const SpateScenario *scenario = all->ranking->scenario;
    worth->loser_loss = SPATE_NO_ESTIMATE;
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        SpateEstimate loss = spate_traffic_loss(&scenario->traffics[i], base, silent, n);
        bool is_sure = loss.n > 0 && loss.ci95.low > 0.0;
        if (!is_sure || (worth->loser_loss.n > 0 && loss.mean <= worth->loser_loss.mean))
            continue;
        worth->loser = i;
        worth->loser_loss = loss;
    }
}

static void
note_losses(Relays *all, const SpateResult *result, guint begin)
{
    const SpatePeople *people = &all->ranking->people;
    uint32_t n = result->n_replications;
    SpateRunning delivery = spate_people_delivery(people, &result->variants[0], n, UINT32_MAX);
    all->ranking->n_replications = n;
    all->ranking->delivery = spate_estimate_of(&delivery, 0.0, 1.0);
    for (size_t i = 1; i < result->n_variants; i++) {
        guint relay = begin + (guint)i - 1;
        SpateRunning loss =
            spate_people_gain(people, &result->variants[0], &result->variants[i], n, UINT32_MAX);
        SpateRelayWorth *worth = &g_array_index(all->worths, SpateRelayWorth, relay);
        worth->loss = spate_estimate_of(&loss, -1.0, 1.0);
        find_loser(all, worth, &result->variants[0], &result->variants[i], n);
        all->p[relay] = spate_student_p(&loss);
        all->losses[relay] = loss;
    }
}

/* With all of them, and without each of these.  False with an error. */
static bool
run_some(Relays *all, guint begin, guint end, GError **error)
{
    g_autoptr(GPtrArray) silent =
        g_ptr_array_new_with_free_func((GDestroyNotify)spate_scenario_free);
    g_autoptr(SpateResult) result = NULL;
    for (guint i = begin; i < end; i++) {
        uint32_t node = g_array_index(all->worths, SpateRelayWorth, i).node;
        const SpateTrial trial = {.silent = all->ranking->scenario->nodes[node].name};
        SpateScenario *scenario = spate_advise_scenario(all->wanted, &trial, error);
        if (scenario == NULL)
            return false;
        g_ptr_array_add(silent, scenario);
    }
    SpateStudyOptions options = *all->options;
    options.progress = tell_progress;
    options.user = all;
    if (!spate_advise_run(all->ranking->scenario, silent, 0, all->n_replications, &options, &result,
                          error))
        return false;
    all->n_before += all->n_replications * (silent->len + 1);
    if (!spate_is_stopped(all->options->stop))
        note_losses(all, result, begin);
    return true;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static int
compare_worths(gconstpointer a, gconstpointer b)
{
    const SpateRelayWorth *first = a, *second = b;
    const double losses[] = {spate_estimate_or_least(&first->loss),
                             spate_estimate_or_least(&second->loss)};
    if (losses[0] != losses[1])
        return losses[0] > losses[1] ? -1 : 1;
    return (first->node > second->node) - (first->node < second->node);
}

static bool
run_all(Relays *all, GError **error)
{
    guint n = all->worths->len, n_batches = (n + ABREAST - 1) / ABREAST;
    all->n_total = all->n_replications * (n + n_batches);
    for (guint begin = 0; begin < n && !spate_is_stopped(all->options->stop); begin += ABREAST)
        if (!run_some(all, begin, MIN(begin + ABREAST, n), error))
            return false;
    return true;
}

/* All at once, when all were worked out: what each is tested at hangs on the others. */
static void
judge(Relays *all)
{
    guint n = all->worths->len;
    g_autofree double *risks = g_new0(double, n + 1);
    spate_holm_risks(all->p, n, SPATE_RELAY_RISK, risks);
    spate_holm_adjust(all->p, n);
    for (guint i = 0; i < n; i++) {
        SpateRelayWorth *worth = &g_array_index(all->worths, SpateRelayWorth, i);
        worth->p = all->p[i];
        worth->tested =
            spate_interval_clip(spate_student_interval_at(&all->losses[i], risks[i]), -1.0, 1.0);
        worth->more = spate_more_to_tell(&all->losses[i], risks[i]);
    }
}

SpateRelayRanking *
spate_advise_relays(const SpateAdviseWanted *wanted, const SpateStudyOptions *options,
                    GError **error)
{
    SpateScenario *scenario = spate_advise_scenario(wanted, NULL, error);
    if (scenario == NULL)
        return NULL;
    g_autoptr(SpateRelayRanking) ranking = g_new0(SpateRelayRanking, 1);
    ranking->scenario = scenario;
    ranking->delivery = SPATE_NO_ESTIMATE;
    ranking->variant = wanted->variant != NULL ? wanted->variant : "base";
    spate_people_init(&ranking->people, scenario, wanted->variant);
    g_autoptr(GArray) worths = g_array_new(FALSE, FALSE, sizeof(SpateRelayWorth));
    Relays all = {.wanted = wanted,
                  .options = options,
                  .ranking = ranking,
                  .worths = worths,
                  .n_replications = spate_advise_replications(wanted, scenario)};
    find_relays(&all);
    g_autofree double *p = g_new0(double, worths->len + 1);
    g_autofree SpateRunning *losses = g_new0(SpateRunning, worths->len + 1);
    all.p = p;
    all.losses = losses;
    if (!run_all(&all, error))
        return NULL;
    ranking->interrupted = spate_is_stopped(options->stop);
    if (ranking->interrupted)
        return g_steal_pointer(&ranking);
    judge(&all);
    g_array_sort(worths, compare_worths);
    gsize n = 0;
    ranking->relays = g_array_steal(worths, &n);
    ranking->n_relays = n;
    return g_steal_pointer(&ranking);
}
