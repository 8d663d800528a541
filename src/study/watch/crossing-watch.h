/* crossing-watch.h - what bridges let across in one run, and what it costs the far side
 *
 * Each message that a crossing lets across marks the frames that carry it from there on, hop by
 * hop, until it crosses again: their time on air is what it costs, and so are the collisions that
 * they are to blame for (the frame of the disturber that overlaps the broken one).  What a
 * recipient on that side answers is marked as the try that it answers.  Crossings of one name in
 * one entry of `bridges:` count together; so do sources from one entry of `nodes:`.  A digest
 * counts for the first message that it carries.  Messages are remembered for the next 4096
 * messages; what comes later is not told apart.
 */
#pragma once

#include "mesh/plan.h"
#include "scenario/world/world.h"
#include "spate/event.h"

/* Crossings of one name in one entry of `bridges:`. */
typedef struct {
    uint32_t bridge;
    const char *name;
    uint32_t from_bearer, to_bearer;
} SpateCrossingGroup;

/* How things are distinguished; groups, traffics and entries have the same numbers in all that is
 * drawn of a scenario, crossings need not. */
typedef struct {
    GArray *groups;     /* SpateCrossingGroup, by bridge, then in the order of the file */
    uint32_t *group_of; /* by crossing of the scenario and the plan */
    uint32_t n_traffics, n_entries;
    const SpateScenario *scenario; /* borrowed */
} SpateCrossingIndex;

void spate_crossing_index_init(SpateCrossingIndex *index, const SpateScenario *scenario);
void spate_crossing_index_clear(SpateCrossingIndex *index);

/* What one crossing let across of one traffic from one entry of `nodes:`, after the warm-up. */
typedef struct {
    uint64_t n_messages;
    int64_t airtime_ns;    /* on the far bearer, because of it */
    uint64_t n_collisions; /* likewise: audible pairs that its frames broke */
    uint32_t
        first_rule; /* the first that let one pass, ever; SPATE_NO_RULE: `otherwise`, or none */
} SpateCrossingCell;

typedef struct {
    SpateCrossingCell *cells; /* [(group * n_traffics + traffic) * n_entries + entry] */
    int64_t *airtime_ns;      /* by bearer: all of it */
    uint64_t *n_collisions;   /* by bearer */
} SpateCrossingCounts;

void spate_crossing_counts_clear(SpateCrossingCounts *counts);
size_t spate_crossing_cell(const SpateCrossingIndex *index, uint32_t group, uint32_t traffic,
                           uint32_t entry);

typedef struct SpateCrossingWatch SpateCrossingWatch;

/* Borrows the world, that of the run.  The run must name disturbers. */
SpateCrossingWatch *spate_crossing_watch_new(const SpateWorld *world);
void spate_crossing_watch_free(SpateCrossingWatch *watch);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateCrossingWatch, spate_crossing_watch_free)
SpateObserver spate_crossing_watch_observer(SpateCrossingWatch *watch);
/* After the run; takes them out of the watch. */
SpateCrossingCounts spate_crossing_watch_counts(SpateCrossingWatch *watch);
