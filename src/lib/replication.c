/* replication.c - one run */
#include "private.h"

#include "study/run/run.h"
#include <string.h>

struct SpateReplication {
    double *values;
    size_t n_values;
};

static SpateReplication *
keep_values(const SpateRun *run, size_t n_values)
{
    const SpateMeasureValue *values = spate_run_values(run);
    SpateReplication *replication = g_new0(SpateReplication, 1);
    replication->n_values = n_values;
    replication->values = g_new(double, n_values);
    for (size_t i = 0; i < n_values; i++)
        replication->values[i] = values[i].value;
    return replication;
}

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

/* False with an error if its numbers would mean nothing. */
static bool
attach(SpateRun *run, const SpateModel *model, const SpateObserver *observer, GError **error)
{
    if (observer == NULL)
        return true;
    if (!is_same(spate_world_plan(spate_run_world(run)), spate_world_plan(model->world))) {
        g_set_error_literal(error, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO,
                            "'doubt' changes which nodes there are, so they cannot be observed");
        return false;
    }
    spate_run_add_observer(run, observer);
    return true;
}

SpateReplication *
spate_replicate(const SpateModel *model, uint32_t number, const SpateObserver *observer,
                const volatile int *stop, GError **error)
{
    GError *problem = NULL;
    g_autoptr(SpateRun) run = observer != NULL
                                  ? spate_run_new_with_disturbers(model->world, number, &problem)
                                  : spate_run_new(model->world, number, &problem);
    if (run == NULL) {
        spate_error_propagate(error, problem);
        return NULL;
    }
    if (!attach(run, model, observer, error))
        return NULL;
    spate_run_never_wait(run);
    if (spate_run_go(run, stop, &problem))
        return keep_values(run, model->n_rows);
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
