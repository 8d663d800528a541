/* advise-wanted.h - from what advice starts, the same for all kinds of it */
#pragma once

#include "mesh/plan.h"
#include "spate/event.h"
#include "study/judge/check.h"

typedef struct {
    const SpateScenarioFile *file; /* borrowed */
    const char *variant; /* from which it starts, and whose expectations count; NULL: the base */
    bool has_seed;
    uint64_t seed;
    uint32_t replications; /* 0: as the scenario says */
} SpateAdviseWanted;

/* The scenario from which it starts, with the trial's changes (NULL: none) in the variant that is
 * wanted. */
SpateScenario *spate_advise_scenario(const SpateAdviseWanted *wanted, const SpateTrial *trial,
                                     GError **error);
uint32_t spate_advise_replications(const SpateAdviseWanted *wanted, const SpateScenario *scenario);

/* Runs replications of a world that name disturbers, each with an observer of its own: `begin`
 * makes its subject, `observer` what listens for it, `end` takes what it saw (for the place of that
 * replication) and frees it.  All from any thread.  Returns how many are finished, from 0 without a
 * gap; 0 with an error if one failed. */
typedef struct {
    gpointer (*begin)(gpointer user, const SpateWorld *world); /* that of the replication */
    SpateObserver (*observer)(gpointer subject);
    void (*end)(gpointer user, uint32_t replication, gpointer subject, bool is_finished);
    gpointer user;
} SpateAdviseWatcher;
uint32_t spate_advise_watch(const SpateWorld *world, uint32_t n_replications,
                            const SpateAdviseWatcher *watcher, const SpateStudyOptions *options,
                            GError **error);
