/* latency-kept.h - how long messages took in one run
 *
 * Counts of delivered pairs by traffic and bin (measure/detail-tally.h), without what is 0: a study
 * keeps some for every run.
 */
#pragma once

#include "measure/detail-tally.h"
#include "study/run/result.h"
#include "study/run/run.h"

typedef struct {
    uint32_t traffic, bin;
    uint64_t n;
} SpateLatencyCount;

/* Listens to the run; before it goes.  Free with spate_detail_tally_free(). */
SpateDetailTally *spate_latency_watch_new(SpateRun *run);
/* SpateLatencyCount, by traffic and bin; free with g_array_unref(). */
GArray *spate_latency_keep(const SpateDetailCounts *counts, uint32_t n_traffics);
/* Nothing, of each traffic of the plan; n_traffics of them, owned by the result's variant. */
SpateResultLatency *spate_latency_none(const SpatePlan *plan);
void spate_latency_add(SpateResultLatency *latencies, const GArray *kept);
