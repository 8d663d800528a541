/* detail-tally.c - what a picture of a run shows */
#include "measure/detail-tally.h"

#include <glib.h>
#include <math.h>

struct SpateDetailTally {
    const SpatePlan *plan;
    int64_t warm_up_ns, end_ns;
    SpateDetailCounts counts;
};

uint32_t
spate_latency_bin(int64_t latency_ns)
{
    if (latency_ns < SPATE_LATENCY_FIRST_NS)
        return 0;
    double decades = log10((double)latency_ns / (double)SPATE_LATENCY_FIRST_NS);
    return (uint32_t)fmin(floor(decades * SPATE_LATENCY_PER_DECADE + 1e-9), SPATE_LATENCY_BINS - 1);
}

void
spate_detail_counts_clear(SpateDetailCounts *counts)
{
    g_clear_pointer(&counts->nodes, g_free);
    g_clear_pointer(&counts->radios, g_free);
    g_clear_pointer(&counts->airtime_ns, g_free);
    g_clear_pointer(&counts->latency, g_free);
}

SpateDetailTally *
spate_detail_tally_new(const SpatePlan *plan, int64_t warm_up_ns, int64_t end_ns, uint32_t n_steps)
{
    g_assert(n_steps > 0 && end_ns > 0);
    SpateDetailTally *tally = g_new0(SpateDetailTally, 1);
    size_t n_traffics = plan->n_traffics;
    tally->plan = plan;
    tally->warm_up_ns = warm_up_ns;
    tally->end_ns = end_ns;
    tally->counts = (SpateDetailCounts){
        .nodes = g_new0(SpateNodeCounts, plan->n_nodes + 1u),
        .radios = g_new0(SpateRadioCounts, plan->n_radios + 1u),
        .airtime_ns = g_new0(int64_t, plan->n_bearers * n_traffics * n_steps + 1),
        .n_steps = n_steps,
        .step_ns = (end_ns + n_steps - 1) / n_steps,
        .latency = g_new0(uint64_t, n_traffics * SPATE_DETAIL_HOPS * SPATE_LATENCY_BINS + 1),
    };
    return tally;
}

void
spate_detail_tally_free(SpateDetailTally *tally)
{
    if (tally == NULL)
        return;
    spate_detail_counts_clear(&tally->counts);
    g_free(tally);
}

static void
note_offered(const SpateDetailTally *tally, const SpateMessageFacts *message)
{
    const SpateTrafficKind *kind = &tally->plan->traffics[message->traffic];
    if (message->offered_ns < tally->warm_up_ns)
        return;
    for (uint32_t i = 0; i < kind->n_recipients; i++) {
        if (kind->recipients[i] == message->origin)
            continue;
        tally->counts.nodes[kind->recipients[i]].n_pairs++;
        tally->counts.nodes[message->origin].n_from_pairs++;
    }
}

static void
note_delivered(const SpateDetailTally *tally, const SpateEvent *event)
{
    const SpateMessageFacts *message = event->message;
    if (message->offered_ns < tally->warm_up_ns)
        return;
    tally->counts.nodes[event->node].n_delivered++;
    tally->counts.nodes[message->origin].n_from_delivered++;
    size_t row =
        (size_t)message->traffic * SPATE_DETAIL_HOPS + MIN(event->hops, SPATE_DETAIL_HOPS) - 1;
    uint32_t bin = spate_latency_bin(event->at_ns - message->offered_ns);
    tally->counts.latency[row * SPATE_LATENCY_BINS + bin]++;
}

static void
note_started(const SpateDetailTally *tally, const SpateFrameFacts *frame)
{
    const SpateDetailCounts *counts = &tally->counts;
    uint32_t bearer = tally->plan->radios[frame->radio].bearer;
    size_t row = (size_t)bearer * tally->plan->n_traffics + frame->message.traffic;
    int64_t from_ns = frame->started_ns;
    /* What the end of the run cuts off lies in no step. */
    int64_t end_ns = MIN(from_ns + frame->airtime_ns, tally->end_ns);
    while (from_ns < end_ns) {
        int64_t step = from_ns / counts->step_ns;
        int64_t to_ns = MIN(end_ns, (step + 1) * counts->step_ns);
        counts->airtime_ns[row * counts->n_steps + (size_t)step] += to_ns - from_ns;
        from_ns = to_ns;
    }
    if (frame->started_ns < tally->warm_up_ns)
        return;
    counts->radios[frame->radio].n_transmissions++;
    counts->radios[frame->radio].airtime_ns += frame->airtime_ns;
}

/* There are many redundant copies: they are those received but the first ones, which are told of
 * when their frame has ended.  Along a route nothing comes twice. */
static bool
may_be_redundant(const SpateDetailTally *tally, const SpateFrameFacts *frame)
{
    return frame->started_ns >= tally->warm_up_ns && frame->message.route_length == 0;
}

static void
note_ended(const SpateDetailTally *tally, const SpateEvent *event)
{
    for (size_t i = 0; i < event->n_receptions; i++)
        tally->counts.radios[event->receptions[i].receiver].n_redundant +=
            event->receptions[i].outcome == SPATE_OUTCOME_RECEIVED;
}

static void
see(gpointer self, const SpateEvent *event)
{
    const SpateDetailTally *tally = self;
    if (event->kind == SPATE_EVENT_OFFERED)
        note_offered(tally, event->message);
    else if (event->kind == SPATE_EVENT_DELIVERED)
        note_delivered(tally, event);
    else if (event->kind == SPATE_EVENT_STARTED)
        note_started(tally, event->frame);
    else if (!may_be_redundant(tally, event->frame))
        return;
    else if (event->kind == SPATE_EVENT_ENDED)
        note_ended(tally, event);
    else
        tally->counts.radios[event->radio].n_redundant--; /* ARRIVED */
}

SpateObserver
spate_detail_tally_observer(SpateDetailTally *tally)
{
    return (SpateObserver){SPATE_EVENT_OFFERED | SPATE_EVENT_DELIVERED | SPATE_EVENT_STARTED |
                               SPATE_EVENT_ENDED | SPATE_EVENT_ARRIVED,
                           see, tally};
}

SpateDetailCounts
spate_detail_tally_counts(SpateDetailTally *tally)
{
    SpateDetailCounts counts = tally->counts;
    tally->counts = (SpateDetailCounts){0};
    return counts;
}
