/* message-trace.c - the way of one message through a run */
#include "measure/message-trace.h"

SpateMessageTrace *
spate_message_trace_new(const SpatePlan *plan, SpateMessageWanted wanted)
{
    SpateMessageTrace *trace = g_new0(SpateMessageTrace, 1);
    trace->wanted = wanted;
    trace->plan = plan;
    trace->steps = g_array_new(FALSE, FALSE, sizeof(SpateStep));
    trace->receptions = g_array_new(FALSE, FALSE, sizeof(SpateReception));
    trace->messages = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    trace->offered_ns = -1;
    return trace;
}

void
spate_message_trace_free(SpateMessageTrace *trace)
{
    if (trace == NULL)
        return;
    g_array_unref(trace->steps);
    g_array_unref(trace->receptions);
    g_array_unref(trace->messages);
    g_free(trace);
}

/* ---- what concerns it ------------------------------------------------------------------------ */

static bool
concerns(const SpateMessageTrace *trace, const SpateMessageFacts *message)
{
    for (guint i = 0; i < trace->messages->len; i++)
        if (g_array_index(trace->messages, uint32_t, i) == message->number)
            return true;
    return false;
}

static void
follow(SpateMessageTrace *trace, const SpateMessageFacts *message)
{
    g_array_append_val(trace->messages, message->number);
}

static void
add(SpateMessageTrace *trace, SpateStep step)
{
    g_array_append_val(trace->steps, step);
}

static SpateStep
step_of_message(SpateStepKind kind, int64_t now_ns, const SpateMessageFacts *message, uint32_t node)
{
    return (SpateStep){.kind = kind,
                       .at_ns = now_ns,
                       .message = message->number,
                       .node = node,
                       .rule = SPATE_NO_RULE};
}

static SpateStep
step_of_frame(const SpateMessageTrace *trace, SpateStepKind kind, int64_t now_ns,
              const SpateFrameFacts *frame)
{
    SpateStep step =
        step_of_message(kind, now_ns, &frame->message, trace->plan->radios[frame->radio].node);
    step.radio = frame->radio;
    step.hops = frame->hops;
    step.airtime_ns = frame->airtime_ns;
    step.queued_ns = frame->queued_ns;
    return step;
}

/* ---- listening ------------------------------------------------------------------------------- */

static void
note_offered(gpointer self, int64_t now_ns, const SpateMessageFacts *message)
{
    SpateMessageTrace *trace = self;
    if (message->traffic != trace->wanted.traffic || message->origin != trace->wanted.origin)
        return;
    if (trace->n_offers++ != trace->wanted.offer)
        return;
    trace->offered_ns = now_ns;
    follow(trace, message);
    add(trace, step_of_message(SPATE_STEP_OFFERED, now_ns, message, message->origin));
}

static void
note_digested(gpointer self, int64_t now_ns, const SpateMessageFacts *digest,
              const SpateMessageFacts *const *carried, size_t n_carried)
{
    SpateMessageTrace *trace = self;
    for (size_t i = 0; i < n_carried; i++) {
        if (!concerns(trace, carried[i]))
            continue;
        follow(trace, digest);
        add(trace, step_of_message(SPATE_STEP_DIGESTED, now_ns, digest, digest->origin));
        return;
    }
}

static void
note_queued(gpointer self, int64_t now_ns, const SpateFrameFacts *frame)
{
    if (concerns(self, &frame->message))
        add(self, step_of_frame(self, SPATE_STEP_QUEUED, now_ns, frame));
}

static void
note_dropped(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateDropCause cause)
{
    if (!concerns(self, &frame->message))
        return;
    SpateStep step = step_of_frame(self, SPATE_STEP_DROPPED, now_ns, frame);
    step.cause = cause;
    add(self, step);
}

static void
note_cancelled(gpointer self, int64_t now_ns, const SpateFrameFacts *frame)
{
    note_dropped(self, now_ns, frame, SPATE_DROP_CANCELLED);
}

static void
note_started(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateAccessWaits waits)
{
    if (!concerns(self, &frame->message))
        return;
    SpateStep step = step_of_frame(self, SPATE_STEP_STARTED, now_ns, frame);
    step.waits = waits;
    add(self, step);
}

static void
note_ended(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
           const SpateReception *receptions, size_t n_receptions)
{
    SpateMessageTrace *trace = self;
    if (!concerns(trace, &frame->message))
        return;
    SpateStep step = step_of_frame(trace, SPATE_STEP_ENDED, now_ns, frame);
    step.first_reception = trace->receptions->len;
    step.n_receptions = n_receptions;
    g_array_append_vals(trace->receptions, receptions, (guint)n_receptions);
    add(trace, step);
}

static void
note_arrived(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
             uint32_t receiver)
{
    const SpateMessageTrace *trace = self;
    if (!concerns(trace, &frame->message))
        return;
    SpateStep step = step_of_frame(trace, SPATE_STEP_ARRIVED, now_ns, frame);
    step.from = frame->radio;
    step.radio = receiver;
    step.node = trace->plan->radios[receiver].node;
    add(self, step);
}

static void
note_decided(gpointer self, int64_t now_ns, const SpateDecided *decision)
{
    const SpateMessageTrace *trace = self;
    if (!concerns(trace, decision->message))
        return;
    SpateStep step = step_of_message(SPATE_STEP_DECIDED, now_ns, decision->message,
                                     trace->plan->radios[decision->radio].node);
    step.radio = decision->radio;
    step.hops = decision->hops;
    step.decision = decision->kind;
    step.crossing = decision->crossing;
    step.rule = decision->rule;
    add(self, step);
}

static void
note_delivered(gpointer self, int64_t now_ns, const SpateMessageFacts *message, uint32_t node,
               uint32_t hops)
{
    if (!concerns(self, message))
        return;
    SpateStep step = step_of_message(SPATE_STEP_DELIVERED, now_ns, message, node);
    step.hops = hops;
    add(self, step);
}

SpateObserver
spate_message_trace_observer(SpateMessageTrace *trace)
{
    return (SpateObserver){
        .offered = note_offered,
        .digested = note_digested,
        .queued = note_queued,
        .dropped = note_dropped,
        .cancelled = note_cancelled,
        .started = note_started,
        .ended = note_ended,
        .arrived = note_arrived,
        .decided = note_decided,
        .delivered = note_delivered,
        .self = trace,
    };
}
