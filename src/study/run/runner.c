/* runner.c - replications, each with observers of its own */
#include "study/run/runner.h"

#include "core/pool.h"

bool
spate_run_task(const SpateRunTask *task, const volatile int *stop, GError **error)
{
    const SpateRunWatcher *watcher = task->watcher;
    const SpateRunMaking making = {task->names_disturbers, MAX(task->n_builders, 1)};
    g_autoptr(SpateRun) run = spate_run_new_made(task->world, task->replication, making, error);
    gpointer watch = NULL;
    if (run == NULL)
        return false;
    if (watcher->watch != NULL && (watch = watcher->watch(task->user, run, error)) == NULL)
        return false;
    if (task->never_waits)
        spate_run_never_wait(run);
    bool is_over = spate_run_go(run, stop, error);
    if (is_over)
        watcher->collect(task->user, task->replication, run, watch);
    if (watcher->free != NULL)
        watcher->free(watch);
    return is_over;
}

typedef struct {
    SpateRunTask *tasks;
    uint32_t n_tasks, n_before;
    const SpateStudyOptions *options;
} Round;

static bool
perform(gpointer user, uint32_t number, GError **error)
{
    const Round *round = user;
    SpateRunTask *task = &round->tasks[number];
    task->is_over = spate_run_task(task, round->options->stop, error);
    return task->is_over;
}

static void
tell_progress(gpointer user, uint32_t done)
{
    const Round *round = user;
    if (round->options->progress != NULL)
        round->options->progress(round->options->user, round->n_before + done,
                                 round->n_before + round->n_tasks);
}

bool
spate_run_tasks(SpateRunTask *tasks, uint32_t n_tasks, uint32_t n_before,
                const SpateStudyOptions *options, GError **error)
{
    Round round = {tasks, n_tasks, n_before, options};
    unsigned n_threads = options->jobs > 0 ? options->jobs : g_get_num_processors();
    /* Threads that have no run of their own help to build the worlds of those that have one. */
    for (uint32_t i = 0; i < n_tasks; i++)
        tasks[i].n_builders = n_threads / n_tasks;
    const SpatePool pool = {
        .n_tasks = n_tasks,
        .perform = perform,
        .user = &round,
        .jobs = options->jobs,
        .stop = options->stop,
        .progress = tell_progress,
    };
    return spate_pool_run(&pool, error);
}

uint32_t
spate_run_replications(const SpateRunTask *task, uint32_t n, const SpateStudyOptions *options,
                       GError **error)
{
    uint32_t n_over = 0;
    g_autofree SpateRunTask *tasks = g_new(SpateRunTask, n + 1);
    for (uint32_t i = 0; i < n; i++) {
        tasks[i] = *task;
        tasks[i].replication = i;
    }
    if (!spate_run_tasks(tasks, n, 0, options, error))
        return 0;
    while (n_over < n && tasks[n_over].is_over)
        n_over++;
    return n_over;
}
