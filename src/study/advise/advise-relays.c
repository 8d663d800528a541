/* advise-relays.c - which relay is worth its mast, and which outage costs most */
#include "study/advise/advise-relays.h"

#include "core/stop.h"

void
spate_relay_ranking_free(SpateRelayRanking *ranking)
{
    if (ranking == NULL)
        return;
    g_free(ranking->relays);
    g_free(ranking->outages);
    spate_people_clear(&ranking->people);
    spate_scenario_free(ranking->scenario);
    g_free(ranking);
}

/* ---- what is tried --------------------------------------------------------------------------- */

static GArray *
find_relays(const SpateScenario *scenario, GArray *trials)
{
    GArray *worths = g_array_new(FALSE, FALSE, sizeof(SpateRelayWorth));
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        SpateRelayWorth worth = {.node = i};
        bool relays = false;
        for (uint32_t k = 0; k < scenario->n_crossings; k++)
            worth.is_bridge = worth.is_bridge || scenario->crossings[k].node == i;
        for (uint32_t k = 0; k < node->n_radios; k++)
            relays = relays || node->radios[k].relays;
        if (!worth.is_bridge && !relays)
            continue;
        const SpateAdviseTrial trial = {.trial = {.mute.silent = node->name},
                                        .counts = SPATE_EFFECT_LOSS};
        g_array_append_val(worths, worth);
        g_array_append_val(trials, trial);
    }
    return worths;
}

/* What is called the same fails as one. */
static GArray *
find_outages(const SpateScenario *scenario, GArray *trials)
{
    GArray *costs = g_array_new(FALSE, FALSE, sizeof(SpateOutageCost));
    for (uint32_t i = 0; i < scenario->n_groups; i++) {
        const SpateScenarioGroup *group = &scenario->groups[i];
        SpateOutageCost cost = {.name = group->name, .n_nodes = group->n_members};
        for (uint32_t k = 0; k < scenario->n_outages; k++)
            cost.n_entries += scenario->outages[k].group == i;
        if (cost.n_entries == 0 || cost.n_nodes == 0)
            continue;
        const SpateAdviseTrial trial = {.trial = {.mute.unfailing = group->name},
                                        .counts = SPATE_EFFECT_UNDONE};
        g_array_append_val(costs, cost);
        g_array_append_val(trials, trial);
    }
    return costs;
}

/* ---- what was found -------------------------------------------------------------------------- */

/* Effects of `n` trials from `begin` on, judged together; free both with g_free(). */
static SpateJudgedEffect *
judge(const GArray *trials, guint begin, guint n, uint32_t n_replications,
      SpateJudgedEffect *behind, guint **order)
{
    SpateJudgedEffect *judged = g_new0(SpateJudgedEffect, n + 1);
    g_autofree const double **effects = g_new0(const double *, n + 1);
    for (guint i = 0; i < n; i++)
        effects[i] = spate_advise_trial(trials, begin + i)->effects;
    spate_judge_effects(effects, n, n_replications, judged);
    *order = spate_order_effects(judged, n);
    spate_judge_behind(effects, *order, n, n_replications, SPATE_BEHIND_NEXT, behind);
    return judged;
}

static void
rank_relays(SpateRelayRanking *ranking, const GArray *worths, const GArray *trials)
{
    guint n = worths->len;
    g_autofree guint *order = NULL;
    g_autofree SpateJudgedEffect *behind = g_new0(SpateJudgedEffect, n + 1);
    g_autofree SpateJudgedEffect *judged =
        judge(trials, 0, n, ranking->n_replications, behind, &order);
    ranking->relays = g_new0(SpateRelayWorth, n + 1);
    ranking->n_relays = n;
    for (guint i = 0; i < n; i++) {
        SpateRelayWorth *worth = &ranking->relays[i];
        *worth = g_array_index(worths, SpateRelayWorth, order[i]);
        worth->loss = judged[order[i]];
        worth->loser = spate_advise_trial(trials, order[i])->loser;
    }
}

/* The trials of outages come after those of relays. */
static void
rank_outages(SpateRelayRanking *ranking, const GArray *costs, const GArray *trials)
{
    guint n = costs->len, begin = trials->len - n;
    g_autofree guint *order = NULL;
    g_autofree SpateJudgedEffect *behind = g_new0(SpateJudgedEffect, n + 1);
    g_autofree SpateJudgedEffect *judged =
        judge(trials, begin, n, ranking->n_replications, behind, &order);
    ranking->outages = g_new0(SpateOutageCost, n + 1);
    ranking->n_outages = n;
    for (guint i = 0; i < n; i++) {
        SpateOutageCost *cost = &ranking->outages[i];
        *cost = g_array_index(costs, SpateOutageCost, order[i]);
        cost->loss = judged[order[i]];
        cost->behind = behind[order[i]];
        cost->loser = spate_advise_trial(trials, begin + order[i])->loser;
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
    ranking->variant = wanted->variant != NULL ? wanted->variant : "base";
    spate_people_init(&ranking->people, scenario, wanted->variant);
    g_autoptr(GArray) trials = spate_advise_trials_new();
    g_autoptr(GArray) worths = find_relays(scenario, trials);
    g_autoptr(GArray) costs = find_outages(scenario, trials);
    SpateAdviseTrials all = {.wanted = wanted,
                             .options = options,
                             .people = &ranking->people,
                             .n_replications = spate_advise_replications(wanted, scenario),
                             .delivery = SPATE_NO_ESTIMATE};
    if (!spate_advise_try(&all, scenario, trials, error))
        return NULL;
    ranking->delivery = all.delivery;
    ranking->n_replications = all.n_finished;
    ranking->interrupted = spate_is_stopped(options->stop);
    if (ranking->interrupted)
        return g_steal_pointer(&ranking);
    rank_relays(ranking, worths, trials);
    rank_outages(ranking, costs, trials);
    return g_steal_pointer(&ranking);
}
