/* runner.h - replications, each with observers of its own
 *
 * Whoever wants to know of a run what its measures do not say gives a factory: it makes what
 * observes one run, takes out what was seen, and frees it.  Runs may go on several threads, so
 * what is taken out goes to a place that belongs to that replication alone.
 */
#pragma once

#include "study/run/run.h"

typedef struct {
    uint32_t replications; /* 0: as the scenarios say, the fewest of them */
    unsigned jobs;         /* threads; 0: all cores */
    /* Of studies that run together: one replication of all of them, then the next; else one study
     * after the other. */
    bool in_step;
    /* Set (atomically) by a signal handler or another thread: finished replications are kept. */
    const volatile int *stop;
    /* Called from the calling thread, now and then, with runs finished and in all (each scenario's
     * replication is a run). */
    void (*progress)(gpointer user, uint32_t done, uint32_t total);
    gpointer user;
} SpateStudyOptions;

/* From any thread. */
typedef struct {
    /* Before the run: adds observers to it.  NULL with an error if it must not go. Optional. */
    gpointer (*watch)(gpointer user, SpateRun *run, GError **error);
    /* After a run that went to its end; `watch` is NULL without the function above. */
    void (*collect)(gpointer user, uint32_t replication, SpateRun *run, gpointer watch);
    GDestroyNotify free; /* of what watches, however the run ended; optional */
} SpateRunWatcher;

typedef struct {
    const SpateWorld *world; /* borrowed */
    uint32_t replication;
    bool names_disturbers; /* as in SpateRunMaking */
    bool never_waits;      /* spate_run_never_wait() */
    const SpateRunWatcher *watcher;
    gpointer user; /* the watcher's */
    /* The runner's. */
    unsigned n_builders; /* threads for its world; 0: one */
    bool is_over;        /* it went to its end */
} SpateRunTask;

/* In this thread.  False if it was stopped, without an error, or failed. */
bool spate_run_task(const SpateRunTask *task, const volatile int *stop, GError **error);

/* All of them, on threads; progress counts `n_before` runs as done.  False with the error of the
 * first task that failed. */
bool spate_run_tasks(SpateRunTask *tasks, uint32_t n_tasks, uint32_t n_before,
                     const SpateStudyOptions *options, GError **error);

/* Replications 0 to `n` - 1 of what is otherwise that task.  Returns how many went to their end,
 * from 0 without a gap; 0 with an error if one failed. */
uint32_t spate_run_replications(const SpateRunTask *task, uint32_t n,
                                const SpateStudyOptions *options, GError **error);
