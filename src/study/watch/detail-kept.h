/* detail-kept.h - what one run keeps for the pictures of a report
 *
 * Nodes and radios are numbered as in the world that is shown, that of the first replication.  What
 * is in doubt may give another replication other nodes: those that are not shown are left out.
 */
#pragma once

#include "measure/detail-tally.h"
#include "scenario/world/world.h"
#include "study/run/run.h"
#include "study/watch/disturber-watch.h"
#include "study/watch/message-choice.h"

/* Equal steps of the timeline. */
#define SPATE_DETAIL_STEPS 200

typedef struct {
    SpateDetailCounts counts;
    SpateDisturberCounts disturbers;
    GArray *chosen; /* SpateChosenMessage of the first replication; NULL: of another */
} SpateDetailKept;

/* How many numbers a run keeps, not counting who disturbs whom. */
uint64_t spate_detail_kept_values(const SpatePlan *plan);
void spate_detail_kept_free(SpateDetailKept *kept);

typedef struct SpateDetailWatch SpateDetailWatch;

/* Watches the run, which must name disturbers; before it goes. */
SpateDetailWatch *spate_detail_watch_new(SpateRun *run, bool is_first);
void spate_detail_watch_free(SpateDetailWatch *watch);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDetailWatch, spate_detail_watch_free)
/* After the run. */
SpateDetailKept *spate_detail_watch_keep(SpateDetailWatch *watch, const SpateWorld *shown);
