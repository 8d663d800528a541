/* sweep.h - the runs of a design go into a store
 *
 * A run is one replication of one point.  Runs that the store has are not run again.  Each is
 * written as soon as it is finished, together with those that have finished meanwhile: whatever
 * ends the sweep, what was finished stays, and the next one goes on from there.  What the store
 * holds in the end does not depend on the number of threads, nor on interruptions.
 */
#pragma once

#include "scenario/scenario.h"
#include "study/sweep/design.h"
#include "study/sweep/store.h"

/* Runs of one sweep, all shards together. */
#define SPATE_SWEEP_MAX_RUNS 50000000u

typedef struct {
    const SpateScenarioFile *file;
    const SpateDesign *design;
    SpateStore *store; /* begun with the same */
    uint32_t replications;
    uint32_t shard, n_shards; /* the shard-th (from 0): points are dealt in turn */
    unsigned jobs;            /* threads; 0: all cores */
    const volatile int *stop; /* set from elsewhere: what is finished is kept */
    /* Called from the calling thread with the runs that are in the store, of this shard: first
     * before any is made. */
    void (*progress)(gpointer user, uint32_t done, uint32_t total);
    gpointer user;
} SpateSweep;

/* Whether points can be built, the first ones of all and of each variant at least: nothing is
 * written before.  Notes whether one of them holds its random places (scenario/layout.h). */
bool spate_sweep_check(const SpateScenarioFile *file, SpateDesign *design, GError **error);

typedef struct {
    uint32_t n_wanted; /* of this shard */
    uint32_t n_before; /* of them: in the store already */
    uint32_t n_done;   /* of them: in the store now */
} SpateSweepTally;

/* False if a run failed or the store could not be written (the error is of a scenario, of its
 * propagation or of the store); what was finished before is kept all the same. */
bool spate_sweep_run(const SpateSweep *sweep, SpateSweepTally *tally, GError **error);
