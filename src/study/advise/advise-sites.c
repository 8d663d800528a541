/* advise-sites.c - which candidates to build */
#include "study/advise/advise-sites.h"

#include "core/stop.h"
#include "study/run/summary.h"
#include <string.h>

static void
clear_change(gpointer user)
{
    g_clear_pointer(&((SpateSiteChange *)user)->loads, g_free);
}

static void
clear_step(SpateSiteStep *step)
{
    clear_change(&step->change);
    g_clear_pointer(&step->ties, g_array_unref);
}

void
spate_site_ranking_free(SpateSiteRanking *ranking)
{
    if (ranking == NULL)
        return;
    for (size_t i = 0; i < ranking->n_sites; i++)
        clear_change(&ranking->sites[i].change);
    for (size_t i = 0; i < ranking->n_steps; i++)
        clear_step(&ranking->steps[i]);
    clear_step(&ranking->next);
    g_free(ranking->sites);
    g_free(ranking->joins);
    g_free(ranking->set);
    spate_people_clear(&ranking->people);
    spate_scenario_free(ranking->scenario);
    g_free(ranking);
}

/* ---- which sites are built ------------------------------------------------------------------- */

/* Paths and values that build some sites, as a variant or a trial sets them. */
typedef struct {
    GArray *settings; /* SpateSetting, whose texts are owned */
    GPtrArray *names; /* of the sites, borrowed; ends with NULL */
    SpateTrial trial;
} Build;

static void
clear_setting(gpointer user)
{
    SpateSetting *setting = user;
    g_free((char *)(uintptr_t)setting->path);
    g_free((char *)(uintptr_t)setting->value);
}

/* "no", or the list of those of an entry's sites that stay candidates. */
static char *
value_of_entry(const SpateScenario *scenario, const char *entry, const bool *is_built)
{
    g_autoptr(GString) left = g_string_new(NULL);
    for (uint32_t i = 0; i < scenario->n_sites; i++)
        if (!is_built[i] && strcmp(scenario->sites[i].entry, entry) == 0)
            g_string_append_printf(left, "%s%s", left->len > 0 ? ", " : "",
                                   scenario->sites[i].name);
    return left->len == 0 ? g_strdup("no") : g_strdup_printf("[%s]", left->str);
}

static bool
has_path(const Build *build, const char *path)
{
    for (guint i = 0; i < build->settings->len; i++)
        if (strcmp(g_array_index(build->settings, SpateSetting, i).path, path) == 0)
            return true;
    return false;
}

static void
free_build(gpointer user)
{
    Build *build = user;
    g_array_unref(build->settings);
    g_ptr_array_unref(build->names);
    g_free(build);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Build, free_build)

static Build *
build_of(const SpateScenario *scenario, const bool *is_built)
{
    Build *build = g_new0(Build, 1);
    build->settings = g_array_new(FALSE, FALSE, sizeof(SpateSetting));
    g_array_set_clear_func(build->settings, clear_setting);
    build->names = g_ptr_array_new_null_terminated(4, NULL, TRUE);
    for (uint32_t i = 0; i < scenario->n_sites; i++) {
        const SpateScenarioSite *site = &scenario->sites[i];
        if (!is_built[i])
            continue;
        g_ptr_array_add(build->names, site->name);
        g_autofree char *path = g_strdup_printf("nodes.%s.candidate", site->entry);
        if (has_path(build, path))
            continue;
        const SpateSetting setting = {g_steal_pointer(&path),
                                      value_of_entry(scenario, site->entry, is_built)};
        g_array_append_val(build->settings, setting);
    }
    build->trial = (SpateTrial){
        .settings = (const SpateSetting *)(const void *)build->settings->data,
        .n_settings = build->settings->len,
        .name = "the candidates tried",
        .mute.bystanders = (char **)build->names->pdata,
    };
    return build;
}

static char *
text_of(const Build *build)
{
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < build->settings->len; i++) {
        const SpateSetting *setting = &g_array_index(build->settings, SpateSetting, i);
        g_string_append_printf(text, "%s: %s\n", setting->path, setting->value);
    }
    return g_string_free(text, FALSE);
}

/* ---- one round ------------------------------------------------------------------------------- */

typedef struct {
    const SpateAdviseWanted *wanted;
    SpateSiteRanking *ranking;
    SpateAdviseTrials all;
    bool *is_built; /* by site: for good */
    /* Of the round: sites that are not built, each tried beside those that are; after them, all at
     * once, if there are several. */
    guint *sites;
    guint n;
    GArray *trials, *changes; /* SpateAdviseTrial, SpateSiteChange */
    SpateJudgedEffect *judged;
    guint *order;
} Sites;

static void
note_change(gpointer user, guint trial, const SpateResultVariant *as_it_is,
            const SpateResultVariant *changed, uint32_t n)
{
    const Sites *sites = user;
    const SpateScenario *scenario = sites->ranking->scenario;
    SpateSiteChange *change = &g_array_index(sites->changes, SpateSiteChange, trial);
    SpateRunning delivery = spate_people_delivery(&sites->ranking->people, changed, n, UINT32_MAX);
    change->delivery = spate_estimate_of(&delivery, 0.0, 1.0);
    change->loads = g_new0(SpateEstimate, scenario->n_bearers + 1u);
    for (uint32_t i = 0; i < scenario->n_bearers; i++) {
        const SpateResultRow like = {.measure = SPATE_MEASURE_LOAD,
                                     .bearer = scenario->bearers[i].name};
        const SpateResultRow *was = spate_result_find_row(as_it_is, &like);
        const SpateResultRow *is = spate_result_find_row(changed, &like);
        change->loads[i] = SPATE_NO_ESTIMATE;
        if (was == NULL || is == NULL)
            continue;
        SpateDifference grown = spate_summary_of_pair(is, was, n);
        change->loads[i] = (SpateEstimate){grown.mean, grown.ci95, grown.n};
    }
}

static void
clear_round(Sites *sites)
{
    g_clear_pointer(&sites->sites, g_free);
    g_clear_pointer(&sites->trials, g_array_unref);
    g_clear_pointer(&sites->changes, g_array_unref);
    g_clear_pointer(&sites->judged, g_free);
    g_clear_pointer(&sites->order, g_free);
}

static void
add_trial(Sites *sites, GPtrArray *builds, const bool *is_built)
{
    Build *build = build_of(sites->ranking->scenario, is_built);
    const SpateAdviseTrial trial = {.trial = build->trial, .counts = SPATE_EFFECT_GAIN};
    g_ptr_array_add(builds, build);
    g_array_append_val(sites->trials, trial);
}

/* The trials that are ahead; the builds own what they point to. */
static GPtrArray *
plan_round(Sites *sites)
{
    const SpateScenario *scenario = sites->ranking->scenario;
    GPtrArray *builds = g_ptr_array_new_with_free_func(free_build);
    g_autofree bool *all = g_new(bool, scenario->n_sites + 1u);
    memset(all, true, scenario->n_sites);
    clear_round(sites);
    sites->trials = spate_advise_trials_new();
    sites->sites = g_new(guint, scenario->n_sites + 1u);
    sites->n = 0;
    for (uint32_t i = 0; i < scenario->n_sites; i++) {
        if (sites->is_built[i])
            continue;
        sites->sites[sites->n++] = i;
        sites->is_built[i] = true;
        add_trial(sites, builds, sites->is_built);
        sites->is_built[i] = false;
    }
    if (sites->n > 1)
        add_trial(sites, builds, all);
    sites->changes = g_array_new(FALSE, TRUE, sizeof(SpateSiteChange));
    g_array_set_clear_func(sites->changes, clear_change);
    g_array_set_size(sites->changes, sites->trials->len);
    return builds;
}

/* Of the trials, by replication.  Free with g_free(). */
static const double **
effects_of(const Sites *sites)
{
    const double **effects = g_new0(const double *, sites->trials->len + 1);
    for (guint i = 0; i < sites->trials->len; i++)
        effects[i] = spate_advise_trial(sites->trials, i)->effects;
    return effects;
}

/* Tries each site that is not built beside those that are.  False with an error; after an
 * interruption nothing of the round is known. */
static bool
try_round(Sites *sites, GError **error)
{
    /* The trials borrow them. */
    G_GNUC_UNUSED g_autoptr(GPtrArray) builds = plan_round(sites);
    g_autoptr(Build) built = build_of(sites->ranking->scenario, sites->is_built);
    g_autoptr(SpateScenario) scenario = spate_advise_scenario(sites->wanted, &built->trial, error);
    if (scenario == NULL || !spate_advise_try(&sites->all, scenario, sites->trials, error))
        return false;
    if (spate_is_stopped(sites->all.options->stop))
        return true;
    uint32_t n_replications = sites->all.n_finished;
    g_autofree const double **effects = effects_of(sites);
    for (guint i = 0; i < sites->trials->len; i++)
        g_array_index(sites->changes, SpateSiteChange, i).loser =
            spate_advise_trial(sites->trials, i)->loser;
    sites->judged = g_new0(SpateJudgedEffect, sites->n + 1);
    spate_judge_effects(effects, sites->n, n_replications, sites->judged);
    sites->order = spate_order_effects(sites->judged, sites->n);
    if (sites->trials->len > sites->n)
        spate_judge_effects(&effects[sites->n], 1, n_replications, &sites->ranking->together);
    return true;
}

static GArray *
find_ties(const Sites *sites)
{
    GArray *ties = g_array_new(FALSE, FALSE, sizeof(SpateSiteTie));
    g_autofree const double **effects = effects_of(sites);
    g_autofree SpateJudgedEffect *behind = g_new0(SpateJudgedEffect, sites->n + 1);
    spate_judge_behind(effects, sites->order, sites->n, sites->all.n_finished, SPATE_BEHIND_FIRST,
                       behind);
    for (guint i = 1; i < sites->n; i++) {
        guint number = sites->order[i];
        const SpateSiteTie tie = {sites->sites[number], behind[number].more};
        if (!spate_effect_is_told(&behind[number]))
            g_array_append_val(ties, tie);
    }
    return ties;
}

/* The best of the round. */
static SpateSiteStep
take_step(Sites *sites)
{
    guint best = sites->order[0];
    SpateSiteChange *change = &g_array_index(sites->changes, SpateSiteChange, best);
    SpateSiteStep step = {sites->sites[best], sites->judged[best], *change, find_ties(sites)};
    change->loads = NULL; /* the step has them */
    return step;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void
rank_sites(Sites *sites)
{
    SpateSiteRanking *ranking = sites->ranking;
    guint n = sites->n;
    g_autofree const double **effects = effects_of(sites);
    g_autofree SpateJudgedEffect *behind = g_new0(SpateJudgedEffect, n + 1);
    spate_judge_behind(effects, sites->order, n, sites->all.n_finished, SPATE_BEHIND_NEXT, behind);
    ranking->sites = g_new0(SpateSiteWorth, n + 1);
    ranking->n_sites = n;
    for (guint i = 0; i < n; i++) {
        guint number = sites->order[i];
        const SpateSiteChange *change = &g_array_index(sites->changes, SpateSiteChange, number);
        SpateSiteWorth *worth = &ranking->sites[i];
        *worth =
            (SpateSiteWorth){sites->sites[number], sites->judged[number], behind[number], *change};
        worth->change.loads =
            g_memdup2(change->loads, (ranking->scenario->n_bearers + 1u) * sizeof *change->loads);
    }
}

/* Builds the best of the round for good, or says why not. */
static bool
go_on(Sites *sites)
{
    SpateSiteRanking *ranking = sites->ranking;
    guint best = sites->order[0];
    const SpateJudgedEffect *gain = &sites->judged[best];
    if (!spate_effect_is_told(gain) || gain->own.mean <= 0.0) {
        ranking->end = SPATE_SITES_NOT_TOLD;
        ranking->next = take_step(sites);
        return false;
    }
    sites->is_built[sites->sites[best]] = true;
    ranking->steps[ranking->n_steps++] = take_step(sites);
    ranking->together = (SpateJudgedEffect){0};
    ranking->end = sites->n == 1                                ? SPATE_SITES_ALL_BUILT
                   : ranking->n_steps == SPATE_SITES_MOST_STEPS ? SPATE_SITES_ENOUGH
                                                                : SPATE_SITES_OPEN;
    return ranking->end == SPATE_SITES_OPEN;
}

static bool
try_all(Sites *sites, GError **error)
{
    SpateSiteRanking *ranking = sites->ranking;
    bool goes_on = ranking->scenario->n_sites > 0;
    ranking->end = goes_on ? SPATE_SITES_OPEN : SPATE_SITES_NONE;
    while (goes_on) {
        if (!try_round(sites, error))
            return false;
        if (spate_is_stopped(sites->all.options->stop))
            break;
        if (ranking->n_sites == 0) {
            ranking->delivery = sites->all.delivery;
            ranking->n_replications = sites->all.n_finished;
            rank_sites(sites);
        }
        goes_on = go_on(sites);
    }
    ranking->interrupted = ranking->end == SPATE_SITES_OPEN;
    return true;
}

/* Which traffics would have a site among their ends. */
static bool
find_joins(SpateSiteRanking *ranking, const SpateAdviseWanted *wanted, GError **error)
{
    const SpateScenario *scenario = ranking->scenario;
    g_autofree bool *all = g_new(bool, scenario->n_sites + 1u);
    memset(all, true, scenario->n_sites);
    g_autoptr(Build) build = build_of(scenario, all);
    SpateTrial trial = build->trial;
    trial.mute.bystanders = NULL;
    g_autoptr(SpateScenario) built = spate_advise_scenario(wanted, &trial, error);
    if (built == NULL)
        return false;
    ranking->joins = g_new0(bool, scenario->n_traffics + 1u);
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *bare = &scenario->traffics[i], *full = &built->traffics[i];
        ranking->joins[i] =
            full->n_sources > bare->n_sources || full->n_recipients > bare->n_recipients;
    }
    return true;
}

static bool
has_room(const SpateScenario *scenario, GError **error)
{
    if (scenario->n_sites <= SPATE_SITES_MOST)
        return true;
    g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                "%s: %u candidates are too many to try one by one; at most %d", scenario->name,
                scenario->n_sites, SPATE_SITES_MOST);
    return false;
}

SpateSiteRanking *
spate_advise_sites(const SpateAdviseWanted *wanted, const SpateStudyOptions *options,
                   GError **error)
{
    SpateScenario *scenario = spate_advise_scenario(wanted, NULL, error);
    if (scenario == NULL)
        return NULL;
    g_autoptr(SpateSiteRanking) ranking = g_new0(SpateSiteRanking, 1);
    ranking->scenario = scenario;
    ranking->delivery = SPATE_NO_ESTIMATE;
    ranking->variant = wanted->variant != NULL ? wanted->variant : "base";
    spate_people_init(&ranking->people, scenario, wanted->variant);
    if (!has_room(scenario, error) || !find_joins(ranking, wanted, error))
        return NULL;
    g_autofree bool *is_built = g_new0(bool, scenario->n_sites + 1u);
    Sites sites = {.wanted = wanted, .ranking = ranking, .is_built = is_built};
    sites.all = (SpateAdviseTrials){.wanted = wanted,
                                    .options = options,
                                    .people = &ranking->people,
                                    .n_replications = spate_advise_replications(wanted, scenario),
                                    .note = note_change,
                                    .user = &sites};
    bool is_done = try_all(&sites, error);
    clear_round(&sites);
    if (!is_done)
        return NULL;
    if (ranking->n_steps > 0) {
        g_autoptr(Build) build = build_of(scenario, is_built);
        ranking->set = text_of(build);
    }
    return g_steal_pointer(&ranking);
}
