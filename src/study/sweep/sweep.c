/* sweep.c - the runs of a design go into a store
 *
 * Tasks are runs, point by point.  A thread that begins a point builds its world, which the others
 * share; it goes when the last run of its point is written.  Threads leave finished runs in a
 * tray; the calling thread empties the tray into the store, a batch at a time.  While
 * it waits for the disk, the tray fills again, so a slow disk means larger batches, not
 * waiting threads.
 */
#include "study/sweep/sweep.h"

#include "core/pool.h"
#include "scenario/layout.h"
#include "study/run/runner.h"

#include <pthread.h>
#include <string.h>

/* Points that are tried out before anything is written. */
#define N_CHECKED 1000

/* A point that has runs to be made. */
typedef struct {
    uint32_t number;
    uint32_t n_left; /* runs that are not yet written; only the calling thread knows */
    pthread_mutex_t mutex;
    /* under the mutex until the world is built, then fixed */
    SpateScenario *scenario;
    SpateWorld *world;
    SpateMeasureRow *rows;
    size_t n_rows;
    int64_t *measures; /* numbers in the store, by row; only the calling thread's */
} Point;

typedef struct {
    uint32_t point; /* among `points` */
    uint32_t replication;
} Task;

typedef struct {
    uint32_t task;
    SpateMeasureValue *values;
} Finished;

typedef struct {
    const SpateSweep *sweep;
    SpateSweepTally *tally;
    Point *points;
    uint32_t n_points;
    GArray *tasks; /* Task */

    pthread_mutex_t mutex;
    /* under the mutex */
    GArray *tray; /* Finished */

    pthread_mutex_t reading; /* one scenario is read at a time */
    gint is_broken;          /* the store: atomic */
    GError *store_failure;
} Work;

/* ---- worlds ---------------------------------------------------------------------------------- */

static SpateScenario *
new_scenario(const SpateScenarioFile *file, const SpateDesign *design, uint32_t point,
             GError **error)
{
    size_t n_settings = 0;
    g_autofree SpateSetting *settings = spate_design_settings(design, point, &n_settings);
    g_autofree char *name = g_strdup_printf("point %u", point);
    const SpateTrial trial = {.variant = design->variants[point],
                              .settings = settings,
                              .n_settings = n_settings,
                              .name = name};
    return spate_scenario_try(file, &trial, error);
}

bool
spate_sweep_check(const SpateScenarioFile *file, SpateDesign *design, GError **error)
{
    for (uint32_t i = 0; i < design->n_points; i++) {
        /* Points come variant by variant; the first of each is tried in any case. */
        if (i >= N_CHECKED && strcmp(design->variants[i], design->variants[i - 1]) == 0)
            continue;
        g_autoptr(SpateScenario) scenario = new_scenario(file, design, i, error);
        if (scenario == NULL)
            return false;
        design->one_layout = design->one_layout || spate_scenario_holds_layout(scenario);
    }
    return true;
}

/* NULL with an error; the next thread then tries again, and fails likewise. */
static const SpateWorld *
world_of(Work *work, Point *point, GError **error)
{
    pthread_mutex_lock(&point->mutex);
    if (point->world == NULL) {
        pthread_mutex_lock(&work->reading);
        point->scenario =
            new_scenario(work->sweep->file, work->sweep->design, point->number, error);
        pthread_mutex_unlock(&work->reading);
    }
    if (point->world == NULL && point->scenario != NULL) {
        point->world = spate_world_new(point->scenario, error);
        if (point->world != NULL)
            point->rows = spate_measure_rows(spate_world_plan(point->world), &point->n_rows);
        else
            g_prefix_error(error, "point %u: ", point->number);
    }
    const SpateWorld *world = point->world;
    if (world == NULL)
        g_clear_pointer(&point->scenario, spate_scenario_free);
    pthread_mutex_unlock(&point->mutex);
    return world;
}

static void
release(Point *point)
{
    g_clear_pointer(&point->world, spate_world_free);
    g_clear_pointer(&point->scenario, spate_scenario_free);
    g_clear_pointer(&point->rows, g_free);
    g_clear_pointer(&point->measures, g_free);
}

/* ---- threads --------------------------------------------------------------------------------- */

typedef struct {
    const Point *point;
    SpateMeasureValue *values;
} Taken;

static void
take_values(gpointer user, uint32_t replication, SpateRun *run, gpointer watch)
{
    Taken *taken = user;
    taken->values =
        g_memdup2(spate_run_values(run), taken->point->n_rows * sizeof(SpateMeasureValue));
}

/* From the moment that the values lie in the tray, the world may go. */
static bool
perform(gpointer user, uint32_t number, GError **error)
{
    static const SpateRunWatcher WATCHER = {.collect = take_values};
    Work *work = user;
    if (g_atomic_int_get(&work->is_broken) != 0)
        return false;
    const Task *task = &g_array_index(work->tasks, Task, number);
    Point *point = &work->points[task->point];
    Taken taken = {.point = point};
    const SpateRunTask run = {.world = world_of(work, point, error),
                              .replication = task->replication,
                              .watcher = &WATCHER,
                              .user = &taken};
    if (run.world == NULL || !spate_run_task(&run, work->sweep->stop, error))
        return false;
    const Finished finished = {number, taken.values};
    pthread_mutex_lock(&work->mutex);
    g_array_append_val(work->tray, finished);
    pthread_mutex_unlock(&work->mutex);
    return true;
}

/* ---- writing --------------------------------------------------------------------------------- */

/* The numbers of the point's rows in the store. */
static bool
number_rows(Work *work, Point *point, GError **error)
{
    if (point->measures != NULL)
        return true;
    const SpatePlan *plan = spate_world_plan(point->world);
    point->measures = g_new0(int64_t, point->n_rows);
    for (size_t i = 0; i < point->n_rows; i++) {
        SpateResultRow row = {0};
        spate_result_row_name(&row, &point->rows[i], plan);
        bool is_found =
            spate_store_find_measure(work->sweep->store, &row, &point->measures[i], error);
        spate_result_row_clear(&row);
        if (!is_found)
            return false;
    }
    return true;
}

static bool
write_run(Work *work, const Finished *finished, GError **error)
{
    const Task *task = &g_array_index(work->tasks, Task, finished->task);
    Point *point = &work->points[task->point];
    if (!number_rows(work, point, error))
        return false;
    const SpateStoreRun run = {
        .point = point->number,
        .replication = task->replication,
        .measures = point->measures,
        .values = finished->values,
        .n_values = point->n_rows,
    };
    if (!spate_store_add_run(work->sweep->store, &run, error))
        return false;
    return --point->n_left > 0 || spate_store_sum_up(work->sweep->store, point->number, error);
}

static bool
write_batch(Work *work, const GArray *batch, GError **error)
{
    SpateStore *store = work->sweep->store;
    bool is_written = spate_store_begin_batch(store, error);
    for (guint i = 0; is_written && i < batch->len; i++)
        is_written = write_run(work, &g_array_index(batch, Finished, i), error);
    if (is_written && spate_store_end_batch(store, error))
        return true;
    spate_store_drop_batch(store);
    return false;
}

static void
clear_finished(gpointer finished)
{
    g_free(((Finished *)finished)->values);
}

static GArray *
new_tray(void)
{
    GArray *tray = g_array_new(FALSE, FALSE, sizeof(Finished));
    g_array_set_clear_func(tray, clear_finished);
    return tray;
}

static void
tell_progress(const Work *work)
{
    const SpateSweep *sweep = work->sweep;
    if (sweep->progress != NULL)
        sweep->progress(sweep->user, work->tally->n_done, work->tally->n_wanted);
}

static void
empty_tray(gpointer user, uint32_t done)
{
    Work *work = user;
    pthread_mutex_lock(&work->mutex);
    g_autoptr(GArray) batch = work->tray;
    work->tray = new_tray();
    pthread_mutex_unlock(&work->mutex);
    if (batch->len == 0 || work->store_failure != NULL)
        return;
    if (!write_batch(work, batch, &work->store_failure)) {
        g_atomic_int_set(&work->is_broken, 1);
        return;
    }
    work->tally->n_done += batch->len;
    for (guint i = 0; i < batch->len; i++) {
        Point *point =
            &work->points[g_array_index(work->tasks, Task, g_array_index(batch, Finished, i).task)
                              .point];
        if (point->n_left == 0)
            release(point);
    }
    tell_progress(work);
}

/* ---- what is to be run ----------------------------------------------------------------------- */

/* Walks the design along with the runs of the store, which come in the same order. */
typedef struct {
    Work *work;
    uint32_t point, replication; /* the next one */
} Walk;

static void
add_task(Work *work, uint32_t point, uint32_t replication)
{
    if (work->n_points == 0 || work->points[work->n_points - 1].number != point) {
        Point *added = &work->points[work->n_points++];
        *added = (Point){.number = point};
        pthread_mutex_init(&added->mutex, NULL);
    }
    const Task task = {work->n_points - 1, replication};
    work->points[task.point].n_left++;
    g_array_append_val(work->tasks, task);
}

/* Up to a run that is in the store, without it. */
static void
walk_to(Walk *walk, uint32_t point, uint32_t replication)
{
    const SpateSweep *sweep = walk->work->sweep;
    uint32_t end = MIN(point, sweep->design->n_points);
    while (walk->point < end || (walk->point == point && walk->replication < replication)) {
        if (walk->replication >= sweep->replications) {
            if (walk->point == point)
                return;
            walk->point++;
            walk->replication = 0;
        } else if (walk->point % sweep->n_shards != sweep->shard) {
            walk->replication = sweep->replications;
        } else {
            add_task(walk->work, walk->point, walk->replication++);
        }
    }
}

static void
pass_over(gpointer user, uint32_t point, uint32_t replication)
{
    Walk *walk = user;
    const SpateSweep *sweep = walk->work->sweep;
    if (point >= sweep->design->n_points || point % sweep->n_shards != sweep->shard ||
        replication >= sweep->replications)
        return;
    walk_to(walk, point, replication);
    walk->replication = replication + 1;
    walk->work->tally->n_before++;
}

static bool
list_tasks(Work *work, GError **error)
{
    const SpateSweep *sweep = work->sweep;
    work->points = g_new0(Point, sweep->design->n_points);
    Walk walk = {.work = work};
    if (!spate_store_each_run(sweep->store, pass_over, &walk, error))
        return false;
    walk_to(&walk, sweep->design->n_points, 0);
    work->tally->n_wanted = work->tally->n_before + work->tasks->len;
    work->tally->n_done = work->tally->n_before;
    return true;
}

/* ---- all of it ------------------------------------------------------------------------------- */

static bool
sum_up_rest(SpateStore *store, GError **error)
{
    if (spate_store_begin_batch(store, error) && spate_store_sum_up_all(store, error) &&
        spate_store_end_batch(store, error))
        return true;
    spate_store_drop_batch(store);
    return false;
}

static bool
run_all(Work *work, GError **error)
{
    const SpatePool pool = {
        .n_tasks = work->tasks->len,
        .perform = perform,
        .user = work,
        .jobs = work->sweep->jobs,
        .stop = work->sweep->stop,
        .progress = empty_tray,
    };
    tell_progress(work);
    GError *failure = NULL;
    spate_pool_run(&pool, &failure);
    empty_tray(work, work->tasks->len);
    if (work->store_failure != NULL) {
        g_clear_error(&failure);
        failure = g_steal_pointer(&work->store_failure);
    }
    if (failure == NULL)
        return sum_up_rest(work->sweep->store, error);
    if (failure->domain != SPATE_STORE_ERROR)
        sum_up_rest(work->sweep->store, NULL);
    g_propagate_error(error, failure);
    return false;
}

bool
spate_sweep_run(const SpateSweep *sweep, SpateSweepTally *tally, GError **error)
{
    g_assert(sweep->n_shards > 0 && sweep->shard < sweep->n_shards && sweep->replications > 0);
    *tally = (SpateSweepTally){0};
    if ((uint64_t)sweep->design->n_points * sweep->replications > SPATE_SWEEP_MAX_RUNS) {
        g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                    "too many runs: %u points with %u replications each; the limit is %u\n",
                    sweep->design->n_points, sweep->replications, SPATE_SWEEP_MAX_RUNS);
        return false;
    }
    Work work = {
        .sweep = sweep,
        .tally = tally,
        .tasks = g_array_new(FALSE, FALSE, sizeof(Task)),
        .mutex = PTHREAD_MUTEX_INITIALIZER,
        .tray = new_tray(),
        .reading = PTHREAD_MUTEX_INITIALIZER,
    };
    bool is_done = list_tasks(&work, error) && run_all(&work, error);
    for (uint32_t i = 0; i < work.n_points; i++) {
        release(&work.points[i]);
        pthread_mutex_destroy(&work.points[i].mutex);
    }
    g_free(work.points);
    g_array_unref(work.tasks);
    g_array_unref(work.tray);
    g_clear_error(&work.store_failure);
    pthread_mutex_destroy(&work.mutex);
    pthread_mutex_destroy(&work.reading);
    return is_done;
}
