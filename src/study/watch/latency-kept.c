/* latency-kept.c - how long messages took in one run */
#include "study/watch/latency-kept.h"

/* Nothing else of it is read. */
SpateDetailTally *
spate_latency_watch_new(SpateRun *run)
{
    const SpateWorld *world = spate_run_world(run);
    const SpateScenario *scenario = spate_world_scenario(world);
    SpateDetailTally *tally = spate_detail_tally_new(spate_world_plan(world), scenario->warm_up_ns,
                                                     scenario->duration_ns, 1);
    SpateObserver observer = spate_detail_tally_observer(tally);
    observer.kinds = SPATE_EVENT_DELIVERED;
    spate_run_add_observer(run, &observer);
    return tally;
}

GArray *
spate_latency_keep(const SpateDetailCounts *counts, uint32_t n_traffics)
{
    GArray *kept = g_array_new(FALSE, FALSE, sizeof(SpateLatencyCount));
    for (uint32_t t = 0; t < n_traffics; t++) {
        for (uint32_t bin = 0; bin < SPATE_LATENCY_BINS; bin++) {
            SpateLatencyCount count = {t, bin, 0};
            for (size_t hops = 0; hops < SPATE_DETAIL_HOPS; hops++)
                count.n +=
                    counts->latency[(t * SPATE_DETAIL_HOPS + hops) * SPATE_LATENCY_BINS + bin];
            if (count.n > 0)
                g_array_append_val(kept, count);
        }
    }
    return kept;
}

SpateResultLatency *
spate_latency_none(const SpatePlan *plan)
{
    SpateResultLatency *latencies = g_new0(SpateResultLatency, plan->n_traffics + 1u);
    for (uint32_t t = 0; t < plan->n_traffics; t++)
        latencies[t].traffic = g_strdup(plan->traffics[t].name);
    return latencies;
}

void
spate_latency_add(SpateResultLatency *latencies, const GArray *kept)
{
    for (guint i = 0; i < kept->len; i++) {
        const SpateLatencyCount *count = &g_array_index(kept, SpateLatencyCount, i);
        latencies[count->traffic].bins[count->bin] += count->n;
    }
}
