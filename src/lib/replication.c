/* replication.c - one run */
#include "private.h"

#include "study/run/runner.h"
#include <string.h>

struct SpateReplication {
    double *values;
    size_t n_values;
};

/* Events tell nodes, radios and crossings by their numbers. */
static bool
is_same(const SpatePlan *drawn, const SpatePlan *as_written)
{
    bool is_same = drawn->n_nodes == as_written->n_nodes &&
                   drawn->n_radios == as_written->n_radios &&
                   drawn->n_crossings == as_written->n_crossings;
    for (uint32_t i = 0; is_same && i < drawn->n_nodes; i++)
        is_same = strcmp(drawn->nodes[i].name, as_written->nodes[i].name) == 0;
    return is_same;
}

typedef struct {
    const SpateModel *model;
    const SpateObserver *observer; /* the program's */
    SpateReplication *replication;
} Wanted;

static gpointer
watch_run(gpointer user, SpateRun *run, GError **error)
{
    const Wanted *wanted = user;
    if (!is_same(spate_world_plan(spate_run_world(run)), spate_world_plan(wanted->model->world))) {
        g_set_error_literal(error, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO,
                            "'doubt' changes which nodes there are, so they cannot be observed");
        return NULL;
    }
    spate_run_add_observer(run, wanted->observer);
    return user;
}

static void
keep_values(gpointer user, uint32_t number, SpateRun *run, gpointer watch)
{
    Wanted *wanted = user;
    const SpateMeasureValue *values = spate_run_values(run);
    SpateReplication *replication = g_new0(SpateReplication, 1);
    replication->n_values = wanted->model->n_rows;
    replication->values = g_new(double, replication->n_values);
    for (size_t i = 0; i < replication->n_values; i++)
        replication->values[i] = values[i].value;
    wanted->replication = replication;
}

SpateReplication *
spate_replicate(const SpateModel *model, uint32_t number, const SpateObserver *observer,
                const volatile int *stop, GError **error)
{
    static const SpateRunWatcher OBSERVED = {watch_run, keep_values, NULL},
                                 UNOBSERVED = {NULL, keep_values, NULL};
    GError *problem = NULL;
    Wanted wanted = {model, observer, NULL};
    const SpateRunTask task = {.world = model->world,
                               .replication = number,
                               .names_disturbers = observer != NULL,
                               .never_waits = true,
                               .watcher = observer != NULL ? &OBSERVED : &UNOBSERVED,
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
    if (replication == NULL)
        return;
    g_free(replication->values);
    g_free(replication);
}

double
spate_replication_value(const SpateReplication *replication, size_t row)
{
    g_assert(row < replication->n_values);
    return replication->values[row];
}
