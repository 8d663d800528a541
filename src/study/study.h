/* study.h - replications on threads, and their summary
 *
 * The same scenario, seed and version give the same result for any number of threads.
 */
#pragma once

#include "scenario/scenario.h"
#include "study/result.h"

typedef struct {
    uint32_t replications; /* 0: as the scenarios say, the fewest of them */
    unsigned jobs;         /* threads; 0: all cores */
    /* Set (atomically) by a signal handler or another thread: finished replications are kept. */
    const volatile int *stop;
    /* Called from the calling thread, now and then, with runs finished and in all (each scenario's
     * replication is a run). */
    void (*progress)(gpointer user, uint32_t done, uint32_t total);
    gpointer user;
} SpateStudyOptions;

/* Runs every scenario (named variants of one study) for all replications.  With more than one,
 * differences of each to the first are worked out.  After an interruption, the result holds the
 * replications that all variants have finished, from 0 without a gap; with none finished it is NULL
 * and the error says so. Error domains: scenario and propagation errors (world cannot be built), or
 * SPATE_STUDY_ERROR. */
SpateResult *spate_study_run(const char *command, const SpateScenario *const *scenarios,
                             const char *const *names, size_t n_scenarios,
                             const SpateStudyOptions *options, GError **error);

#define SPATE_STUDY_ERROR (spate_study_error_quark())
GQuark spate_study_error_quark(void);
typedef enum { SPATE_STUDY_ERROR_INTERRUPTED } SpateStudyError;
