/* tally-traffic.c - messages, pairs and latencies of one traffic */
#include "measure/tally-private.h"

#include "core/statistics.h"
#include "core/time.h"
#include <math.h>

/* Room for latencies that is made before the run; what goes beyond it grows.  Memory that is not
 * touched costs nothing, so the bound (64 MiB) only has to keep absurd scenarios from asking for
 * all of it. */
#define LATENCIES_RESERVED_MOST (8u << 20)

void
spate_traffic_tally_init(SpateTrafficTally *traffic, const SpateTrafficKind *kind,
                         double expected_offers)
{
    double expected = ceil(expected_offers) * kind->n_recipients;
    *traffic = (SpateTrafficTally){.kind = kind};
    traffic->latencies_room = (size_t)CLAMP(expected, 1.0, (double)LATENCIES_RESERVED_MOST);
    traffic->latencies_ns = g_new(int64_t, traffic->latencies_room);
    traffic->offered_by = g_new0(uint64_t, kind->n_recipients);
    traffic->delivered_to = g_new0(uint64_t, kind->n_recipients);
    traffic->in_time_to = g_new0(uint64_t, kind->n_recipients);
}

void
spate_traffic_tally_clear(SpateTrafficTally *traffic)
{
    g_free(traffic->latencies_ns);
    g_free(traffic->offered_by);
    g_free(traffic->delivered_to);
    g_free(traffic->in_time_to);
}

void
spate_traffic_tally_offered(SpateTrafficTally *traffic, uint32_t origin)
{
    const SpateTrafficKind *kind = traffic->kind;
    traffic->messages++;
    traffic->pairs += kind->n_recipients;
    uint32_t index = spate_recipient_index(kind, origin);
    if (index < kind->n_recipients) {
        traffic->offered_by[index]++;
        traffic->pairs--;
    }
}

/* Of one more pair, before it is counted. */
static void
note_latency(SpateTrafficTally *traffic, int64_t latency_ns)
{
    if (G_UNLIKELY(traffic->delivered == traffic->latencies_room)) {
        traffic->latencies_room *= 2;
        traffic->latencies_ns = g_renew(int64_t, traffic->latencies_ns, traffic->latencies_room);
    }
    traffic->latencies_ns[traffic->delivered] = latency_ns;
    traffic->latency_sum_ns += latency_ns;
}

void
spate_traffic_tally_delivered(SpateTrafficTally *traffic, uint32_t node, int64_t latency_ns,
                              uint32_t hops)
{
    const SpateTrafficKind *kind = traffic->kind;
    uint32_t index = spate_recipient_index(kind, node);
    g_assert(index < kind->n_recipients && latency_ns >= 0 && hops > 0);
    note_latency(traffic, latency_ns);
    traffic->delivered++;
    traffic->delivered_to[index]++;
    bool is_in_time = kind->deadline_ns == 0 || latency_ns <= kind->deadline_ns;
    traffic->in_time += is_in_time;
    traffic->in_time_to[index] += is_in_time;
    traffic->hops += hops;
}

void
spate_traffic_tally_worst(const SpateTrafficTally *traffic, uint64_t *delivered, uint64_t *pairs)
{
    double worst = INFINITY;
    *delivered = *pairs = 0;
    for (uint32_t i = 0; i < traffic->kind->n_recipients; i++) {
        uint64_t meant = traffic->messages - traffic->offered_by[i];
        if (meant == 0 || (double)traffic->delivered_to[i] / (double)meant >= worst)
            continue;
        *delivered = traffic->delivered_to[i];
        *pairs = meant;
        worst = (double)*delivered / (double)meant;
    }
}

void
spate_traffic_tally_to(const SpateTrafficTally *traffic, uint32_t node, bool in_time,
                       uint64_t *delivered, uint64_t *pairs)
{
    uint32_t index = spate_recipient_index(traffic->kind, node);
    *delivered = *pairs = 0;
    if (index == traffic->kind->n_recipients)
        return;
    *delivered = in_time ? traffic->in_time_to[index] : traffic->delivered_to[index];
    *pairs = traffic->messages - traffic->offered_by[index];
}

double
spate_traffic_tally_latency_s(SpateTrafficTally *traffic, double percentile)
{
    if (traffic->delivered == 0)
        return NAN;
    int64_t latency_ns =
        spate_percentile_i64(traffic->latencies_ns, traffic->delivered, percentile);
    return (double)latency_ns / (double)SPATE_NS_PER_S;
}
