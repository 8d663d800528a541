/* detail-tally.h - what a picture of a run shows: by node, by radio, over time, by latency
 *
 * A second tally beside tally.h, for reports; only runs whose result is to carry details have one.
 * It counts what that one counts: messages offered at or after the end of the warm-up, frames that
 * began at or after it.  The timeline alone begins with the run.  Nothing is allocated while
 * the run goes on.
 */
#pragma once

#include "mesh/plan.h"
#include "spate/event.h"

/* Latencies fall into bins of a twentieth of a decade, from 1 ms on; the first holds what is below
 * it, the last (from 10^5 s on) what is above. */
#define SPATE_LATENCY_BINS       161
#define SPATE_LATENCY_PER_DECADE 20
#define SPATE_LATENCY_FIRST_NS   1000000
/* More hops count as the most. */
#define SPATE_DETAIL_HOPS 32

/* The bin of a latency. */
uint32_t spate_latency_bin(int64_t latency_ns);

typedef struct {
    uint64_t n_pairs, n_delivered;           /* to this node */
    uint64_t n_from_pairs, n_from_delivered; /* from it */
} SpateNodeCounts;

typedef struct {
    uint64_t n_transmissions, n_redundant;
    int64_t airtime_ns;
} SpateRadioCounts;

typedef struct {
    SpateNodeCounts *nodes;   /* by node */
    SpateRadioCounts *radios; /* by radio */
    int64_t *airtime_ns;      /* [(bearer * n_traffics + traffic) * n_steps + step] */
    uint32_t n_steps;
    int64_t step_ns;
    uint64_t *latency; /* [(traffic * SPATE_DETAIL_HOPS + hops - 1) * SPATE_LATENCY_BINS + bin] */
} SpateDetailCounts;

void spate_detail_counts_clear(SpateDetailCounts *counts);

typedef struct SpateDetailTally SpateDetailTally;

/* Borrows the plan.  The timeline has so many equal steps from the start to the end. */
SpateDetailTally *spate_detail_tally_new(const SpatePlan *plan, int64_t warm_up_ns, int64_t end_ns,
                                         uint32_t n_steps);
void spate_detail_tally_free(SpateDetailTally *tally);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDetailTally, spate_detail_tally_free)
SpateObserver spate_detail_tally_observer(SpateDetailTally *tally);
/* After the run; takes them out of the tally. */
SpateDetailCounts spate_detail_tally_counts(SpateDetailTally *tally);
