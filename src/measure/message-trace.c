/* message-trace.c - the way of one message through a run */
#include "measure/message-trace.h"

#include <string.h>

/* More are no picture. */
#define MOST_OUTAGES 1000

/* An event with what it points to. */
typedef struct {
    SpateEvent event;
    SpateFrameFacts frame; /* without a frame: only its message */
    SpateReception receptions[];
} Step;

SpateMessageTrace *
spate_message_trace_new(const SpatePlan *plan, SpateMessageWanted wanted, SpateTraceOf of)
{
    SpateMessageTrace *trace = g_new0(SpateMessageTrace, 1);
    trace->wanted = wanted;
    trace->of = of;
    trace->plan = plan;
    trace->steps = g_ptr_array_new_with_free_func(g_free);
    trace->messages = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    trace->outages = g_array_new(FALSE, FALSE, sizeof(SpateTraceOutage));
    trace->down_ns = g_new(int64_t, MAX(plan->n_nodes, 1));
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        trace->down_ns[i] = -1;
    trace->offered_ns = -1;
    return trace;
}

void
spate_message_trace_free(SpateMessageTrace *trace)
{
    if (trace == NULL)
        return;
    g_ptr_array_unref(trace->steps);
    g_array_unref(trace->messages);
    g_array_unref(trace->outages);
    g_free(trace->down_ns);
    g_free(trace);
}

static bool
concerns(const SpateMessageTrace *trace, uint32_t message)
{
    for (guint i = 0; i < trace->messages->len; i++)
        if (g_array_index(trace->messages, uint32_t, i) == message)
            return true;
    return false;
}

static void
add_step(SpateMessageTrace *trace, const SpateEvent *event)
{
    size_t receptions_size = event->n_receptions * sizeof(SpateReception);
    Step *step = g_malloc0(sizeof(Step) + receptions_size);
    step->event = *event;
    if (event->frame != NULL) {
        step->frame = *event->frame;
        step->event.frame = &step->frame;
    } else {
        step->frame.message = *event->message;
    }
    step->event.message = &step->frame.message;
    if (receptions_size > 0)
        memcpy(step->receptions, event->receptions, receptions_size);
    step->event.receptions = step->receptions;
    step->event.carried = NULL;
    step->event.n_carried = 0;
    trace->n_receptions += event->n_receptions;
    g_ptr_array_add(trace->steps, step);
}

static bool
is_wanted(SpateMessageTrace *trace, const SpateMessageFacts *message)
{
    return message->traffic == trace->wanted.traffic && message->origin == trace->wanted.origin &&
           trace->n_offers++ == trace->wanted.offer;
}

static bool
carries_it(const SpateMessageTrace *trace, const SpateEvent *digested)
{
    for (size_t i = 0; i < digested->n_carried; i++)
        if (concerns(trace, digested->carried[i]))
            return true;
    return false;
}

/* Whether it is from now on one of those that are followed. */
static bool
is_to_be_followed(const SpateMessageTrace *trace, const SpateEvent *event)
{
    bool is_about_it = trace->offered_ns >= 0 && event->message->about == trace->number;
    switch ((unsigned)event->kind) {
    case SPATE_EVENT_OFFERED:
    case SPATE_EVENT_TRIED:
        return is_about_it && trace->of != SPATE_TRACE_ANSWERS;
    case SPATE_EVENT_ANSWERED:
        return is_about_it && trace->of != SPATE_TRACE_MESSAGE;
    case SPATE_EVENT_DIGESTED:
        return carries_it(trace, event);
    default:
        return false;
    }
}

static void
note_outage(SpateMessageTrace *trace, const SpateEvent *event)
{
    bool is_over = event->kind == SPATE_EVENT_CAME_BACK;
    SpateTraceOutage outage = {event->node, trace->down_ns[event->node], event->at_ns};
    trace->down_ns[event->node] = is_over ? -1 : event->at_ns;
    if (is_over && trace->offered_ns >= 0 && trace->outages->len < MOST_OUTAGES)
        g_array_append_val(trace->outages, outage);
}

GArray *
spate_message_trace_outages(const SpateMessageTrace *trace)
{
    GArray *met = g_array_new(FALSE, FALSE, sizeof(SpateTraceOutage));
    guint n = trace->steps->len;
    int64_t last_ns = n > 0 ? spate_message_trace_step(trace, n - 1)->at_ns : trace->offered_ns;
    for (guint i = 0; i < trace->outages->len; i++) {
        SpateTraceOutage outage = g_array_index(trace->outages, SpateTraceOutage, i);
        if (outage.from_ns <= last_ns)
            g_array_append_val(met, outage);
    }
    for (uint32_t i = 0; i < trace->plan->n_nodes; i++) {
        SpateTraceOutage outage = {i, trace->down_ns[i], INT64_MAX};
        if (outage.from_ns >= 0 && outage.from_ns <= last_ns)
            g_array_append_val(met, outage);
    }
    return met;
}

static void
see(gpointer self, const SpateEvent *event)
{
    SpateMessageTrace *trace = self;
    if (event->kind == SPATE_EVENT_WENT_DOWN || event->kind == SPATE_EVENT_CAME_BACK) {
        note_outage(trace, event);
        return;
    }
    if (event->kind == SPATE_EVENT_OFFERED && is_wanted(trace, event->message)) {
        trace->offered_ns = event->at_ns;
        trace->number = event->message->number;
    }
    if (is_to_be_followed(trace, event))
        g_array_append_val(trace->messages, event->message->number);
    if (concerns(trace, event->message->number))
        add_step(trace, event);
}

/* What no trace listens to. */
#define UNWANTED ((uint32_t)(SPATE_EVENT_REDUNDANT | SPATE_EVENT_MOVED))

SpateObserver
spate_message_trace_observer(SpateMessageTrace *trace)
{
    return (SpateObserver){SPATE_ALL_EVENTS & ~UNWANTED, see, trace};
}

/* ---- several --------------------------------------------------------------------------------- */

/* What a trace has to see of messages that it does not follow (yet). */
#define ALWAYS_SEEN                                                                                \
    (SPATE_EVENT_OFFERED | SPATE_EVENT_TRIED | SPATE_EVENT_ANSWERED | SPATE_EVENT_DIGESTED |       \
     SPATE_EVENT_WENT_DOWN | SPATE_EVENT_CAME_BACK)

SpateTraceGroup *
spate_trace_group_new(SpateMessageTrace *const *traces, guint n)
{
    SpateTraceGroup *group = g_new(SpateTraceGroup, 1);
    *group = (SpateTraceGroup){traces, n, g_byte_array_new()};
    return group;
}

void
spate_trace_group_free(SpateTraceGroup *group)
{
    if (group == NULL)
        return;
    g_byte_array_unref(group->is_followed);
    g_free(group);
}

static bool
follows(const SpateTraceGroup *group, uint32_t message)
{
    return message < group->is_followed->len && group->is_followed->data[message] != 0;
}

/* Of the messages that a trace follows, the last: the others it followed before. */
static void
note_followed(SpateTraceGroup *group, const SpateMessageTrace *trace)
{
    if (trace->messages->len == 0)
        return;
    uint32_t message = g_array_index(trace->messages, uint32_t, trace->messages->len - 1);
    guint n_before = group->is_followed->len;
    if (message >= n_before) {
        g_byte_array_set_size(group->is_followed, message + 1);
        memset(group->is_followed->data + n_before, 0, message + 1 - n_before);
    }
    group->is_followed->data[message] = 1;
}

static void
see_for_all(gpointer self, const SpateEvent *event)
{
    SpateTraceGroup *group = self;
    bool is_seen_always = (event->kind & ALWAYS_SEEN) != 0;
    if (!is_seen_always && !follows(group, event->message->number))
        return;
    for (guint i = 0; i < group->n; i++) {
        if (group->traces[i] == NULL)
            continue;
        see(group->traces[i], event);
        if (is_seen_always)
            note_followed(group, group->traces[i]);
    }
}

SpateObserver
spate_trace_group_observer(SpateTraceGroup *group)
{
    return (SpateObserver){SPATE_ALL_EVENTS & ~UNWANTED, see_for_all, group};
}
