/* study.h - replications on threads, and their summary
 *
 * The same scenario, seed and version give the same result for any number of threads.  A study can
 * be run further: replications are the same, whether they are run at once or bit by bit.
 */
#pragma once

#include "scenario/scenario.h"
#include "scenario/world/world.h"
#include "study/run/result.h"
#include "study/run/runner.h"
#include "study/watch/detail-kept.h"
#include "study/watch/witness.h"

typedef struct SpateStudy SpateStudy;

/* Scenarios (named variants of one study) that share their replications' random numbers. Borrows
 * them and their names; builds a world of each, of which the error tells. */
SpateStudy *spate_study_new(const SpateScenario *const *scenarios, const char *const *names,
                            size_t n_scenarios, GError **error);
/* The same.  Its worlds share links with those of another study (NULL: none) that lives as long,
 * where these are the same. */
SpateStudy *spate_study_new_beside(const SpateStudy *other, const SpateScenario *const *scenarios,
                                   const char *const *names, size_t n_scenarios, GError **error);
void spate_study_free(SpateStudy *study);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateStudy, spate_study_free)

/* Before it is run: expectations of messages, to be witnessed in every replication; borrowed. */
void spate_study_watch(SpateStudy *study, size_t scenario,
                       const SpateExpectation *const *expectations, size_t n_expectations);

/* Before it is run: replications that are new to whoever has seen those before `first`.  Number i
 * of the study is then replication first + i; `first` is 0 unless it is given. */
void spate_study_start_at(SpateStudy *study, uint32_t first);
/* Before it is run: every run keeps what pictures show, and takes longer. */
bool spate_study_keep_detail(SpateStudy *study, GError **error);
/* Before it is run: the result has how latencies are distributed, at hardly any cost. */
void spate_study_keep_latency(SpateStudy *study);

/* Before it is run: what else sees each run of a scenario; borrowed.  Its `watch` must be given.
 * The runs name disturbers, which takes longer and changes no result. */
void spate_study_observe(SpateStudy *study, size_t scenario, const SpateRunWatcher *watcher,
                         gpointer user);
/* Before it is run: a scenario need not be run again for what another study has finished of the
 * same, scenario `of` there, from the same first replication on, with the same expectations
 * watched. Copies. */
void spate_study_adopt(SpateStudy *study, size_t scenario, const SpateStudy *from, size_t of);

/* Runs all studies side by side until each has that many replications, or the options' `stop` is
 * set (their `replications` do not matter here).  False if a run failed: the error is that of
 * the first one. */
bool spate_studies_run(SpateStudy *const *studies, const uint32_t *n_replications, size_t n_studies,
                       const SpateStudyOptions *options, GError **error);

/* Those that all its scenarios have finished, from 0 without a gap. */
uint32_t spate_study_n_replications(const SpateStudy *study);
const SpateWorld *spate_study_world(const SpateStudy *study, size_t scenario);
/* What a replication that is finished says of one of the expectations; numbers are those of the
 * replication's own world.  Borrowed. */
const SpateClaimResult *spate_study_claim_result(const SpateStudy *study, size_t scenario,
                                                 uint32_t replication, size_t expectation);
/* The world that is shown, that of the first replication; and what a finished replication left
 * behind, by the numbers of that world.  Only if it was to be kept; borrowed. */
const SpateWorld *spate_study_shown_world(const SpateStudy *study, size_t scenario);
const SpateDetailKept *spate_study_kept(const SpateStudy *study, size_t scenario,
                                        uint32_t replication);
/* Of the replications that are finished; with more than one scenario, differences of each to the
 * first are worked out. */
SpateResult *spate_study_result(const SpateStudy *study, const char *command);

/* Replications of each: as the options say, or else as many as all scenarios have. */
uint32_t spate_study_wanted(const SpateScenario *const *scenarios, size_t n_scenarios,
                            uint32_t replications);

/* All of it at once: runs every scenario (named variants of one study) for all replications.  With
 * more than one, differences of each to the first are worked out.  After an interruption, the
 * result holds the replications that all variants have finished, from 0 without a gap; with none
 * finished it is NULL and the error says so. Error domains: scenario and propagation errors (world
 * cannot be built), or SPATE_STUDY_ERROR. */
SpateResult *spate_study_run(const char *command, const SpateScenario *const *scenarios,
                             const char *const *names, size_t n_scenarios,
                             const SpateStudyOptions *options, GError **error);

#define SPATE_STUDY_ERROR (spate_study_error_quark())
GQuark spate_study_error_quark(void);
typedef enum {
    SPATE_STUDY_ERROR_INTERRUPTED,
    SPATE_STUDY_ERROR_TOO_LARGE /* more would be kept than memory holds */
} SpateStudyError;
