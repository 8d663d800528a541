/* advise-wanted.c - from what advice starts */
#include "study/advise/advise-wanted.h"

#include "core/stop.h"
#include "study/run/pool.h"
#include "study/run/run.h"

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

typedef struct {
    const SpateWorld *world;
    const SpateAdviseWatcher *watcher;
    const SpateStudyOptions *options;
    bool *is_finished; /* by replication */
    uint32_t n;
} Watching;

static bool
watch_one(gpointer user, uint32_t number, GError **error)
{
    Watching *watching = user;
    const SpateAdviseWatcher *watcher = watching->watcher;
    g_autoptr(SpateRun) run = spate_run_new_with_disturbers(watching->world, number, error);
    if (run == NULL)
        return false;
    gpointer subject = watcher->begin(watcher->user, spate_run_world(run));
    SpateObserver observer = watcher->observer(subject);
    spate_run_add_observer(run, &observer);
    watching->is_finished[number] = spate_run_go(run, watching->options->stop, error);
    watcher->end(watcher->user, number, subject, watching->is_finished[number]);
    return watching->is_finished[number];
}

static void
tell_progress(gpointer user, uint32_t done)
{
    const Watching *watching = user;
    if (watching->options->progress != NULL)
        watching->options->progress(watching->options->user, done, watching->n);
}

uint32_t
spate_advise_watch(const SpateWorld *world, uint32_t n_replications,
                   const SpateAdviseWatcher *watcher, const SpateStudyOptions *options,
                   GError **error)
{
    g_autofree bool *is_finished = g_new0(bool, n_replications + 1);
    Watching watching = {world, watcher, options, is_finished, n_replications};
    const SpatePool pool = {.n_tasks = n_replications,
                            .perform = watch_one,
                            .user = &watching,
                            .jobs = options->jobs,
                            .stop = options->stop,
                            .progress = tell_progress};
    if (!spate_pool_run(&pool, error))
        return 0;
    uint32_t n = 0;
    while (n < n_replications && is_finished[n])
        n++;
    return n;
}
