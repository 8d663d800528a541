/* run.h - one replication of a world
 *
 * A run owns the event queue, the channel, the mesh, bridges and traffic of one
 * replication, and the tally that turns what happens into measures.
 */
#pragma once

#include "measure/measures.h"
#include "mesh/plan.h"
#include "scenario/world/world.h"
#include "spate/event.h"

typedef struct SpateRun SpateRun;

/* Borrows the world.  Where something is uncertain, the run is that of what the replication draws.
 */
SpateRun *spate_run_new(const SpateWorld *world, uint32_t replication, GError **error);

/* Neither changes a result. */
typedef struct {
    bool names_disturbers; /* receptions name who disturbed them, which takes longer */
    unsigned n_builders;   /* threads that build the world of the replication; 0: all cores */
} SpateRunMaking;

SpateRun *spate_run_new_made(const SpateWorld *world, uint32_t replication, SpateRunMaking making,
                             GError **error);
void spate_run_free(SpateRun *run);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateRun, spate_run_free)

/* Before the run; it is copied. */
void spate_run_add_observer(SpateRun *run, const SpateObserver *observer);

/* Before the run: for one whose observers are foreign, and may wait for other runs themselves. */
void spate_run_never_wait(SpateRun *run);

/* To the end.  A run that takes much memory may wait for others that do, until they are
 * freed, which their own threads have to do (turns.h).  False if *stop (may be NULL) became
 * non-zero, without an error, or with SPATE_RUN_ERROR_OVERLOADED: the measures are void then. */
bool spate_run_go(SpateRun *run, const volatile int *stop, GError **error);

#define SPATE_RUN_ERROR (spate_run_error_quark())
GQuark spate_run_error_quark(void);
typedef enum {
    SPATE_RUN_ERROR_OVERLOADED /* what is under way would take more memory than a run may have */
} SpateRunError;

/* Runs some n_events more, to see what a run takes; false if it is over or overloaded by then. What
 * was tried is freed, not finished. */
bool spate_run_try(SpateRun *run, uint64_t n_events);
int64_t spate_run_now_ns(const SpateRun *run);

/* The world that is run: for observers, whose numbers are those of its plan; borrowed. */
const SpateWorld *spate_run_world(const SpateRun *run);

/* After the run: one value for each row of spate_measure_rows() of the world from which the run was
 * made; borrowed.  None of a node that this replication does not have. */
const SpateMeasureValue *spate_run_values(const SpateRun *run);

/* Who hears whom in this replication; borrowed. */
const SpateMedium *spate_run_medium(const SpateRun *run);

/* Events run and frames sent, for benchmarks. */
uint64_t spate_run_n_events(const SpateRun *run);
uint64_t spate_run_n_transmissions(const SpateRun *run);
