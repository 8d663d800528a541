/* replication.c - one run */
#include "private.h"

#include "study/run/runner.h"
#include <string.h>

struct SpateReplication {
    size_t n_values;
    double values[];
};

typedef struct {
    const SpateModel *model;
    const SpateObserver *observer; /* the program's */
    SpateReplication *replication;
} Wanted;

/* Events tell nodes, radios and crossings by their numbers. */
static gpointer
watch_run(gpointer user, SpateRun *run, GError **error)
{
    const Wanted *wanted = user;
    const SpatePlan *drawn = spate_world_plan(spate_run_world(run));
    const SpatePlan *written = spate_world_plan(wanted->model->world);
    bool is_same = drawn->n_nodes == written->n_nodes && drawn->n_radios == written->n_radios &&
                   drawn->n_crossings == written->n_crossings;
    for (uint32_t i = 0; is_same && i < drawn->n_nodes; i++)
        is_same = strcmp(drawn->nodes[i].name, written->nodes[i].name) == 0;
    if (!is_same) {
        g_set_error_literal(error, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO,
                            "'doubt' changes which nodes there are, so they cannot be observed");
        return NULL;
    }
    /* What else a mask may hold is for observers of the house. */
    SpateObserver observer = *wanted->observer;
    observer.kinds &= SPATE_ALL_EVENTS;
    spate_run_add_observer(run, &observer);
    return user;
}

static void
keep_values(gpointer user, uint32_t number, SpateRun *run, gpointer watch)
{
    Wanted *wanted = user;
    const SpateMeasureValue *values = spate_run_values(run);
    size_t n = wanted->model->n_rows;
    wanted->replication = g_malloc(sizeof(SpateReplication) + n * sizeof(double));
    wanted->replication->n_values = n;
    for (size_t i = 0; i < n; i++)
        wanted->replication->values[i] = values[i].value;
}

SpateReplication *
spate_replicate(const SpateModel *model, uint32_t number, const SpateObserver *observer,
                const volatile int *stop, GError **error)
{
    const SpateRunWatcher watcher = {observer != NULL ? watch_run : NULL, keep_values, NULL};
    GError *problem = NULL;
    Wanted wanted = {model, observer, NULL};
    const SpateRunTask task = {.world = model->world,
                               .replication = number,
                               .names_disturbers = observer != NULL,
                               .never_waits = true,
                               .watcher = &watcher,
                               .user = &wanted};
    if (spate_run_task(&task, stop, &problem))
        return wanted.replication;
    if (problem != NULL)
        spate_error_propagate(error, problem);
    else
        g_set_error_literal(error, SPATE_ERROR, SPATE_ERROR_STOPPED, "stopped by its caller");
    return NULL;
}

double
spate_reception_level_dbm(const SpateEvent *event, size_t reception)
{
    g_assert(reception < event->n_receptions);
    const SpateReception *heard = &event->receptions[reception];
    return spate_medium_level_dbm(event->medium, heard->receiver, heard->power);
}

void
spate_replication_free(SpateReplication *replication)
{
    g_free(replication);
}

double
spate_replication_value(const SpateReplication *replication, size_t row)
{
    g_assert(row < replication->n_values);
    return replication->values[row];
}
