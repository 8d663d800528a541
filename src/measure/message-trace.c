/* message-trace.c - the way of one message through a run */
#include "measure/message-trace.h"

#include <string.h>

/* An event with what it points to. */
typedef struct {
    SpateEvent event;
    SpateFrameFacts frame; /* without a frame: only its message */
    SpateReception receptions[];
} Step;

SpateMessageTrace *
spate_message_trace_new(const SpatePlan *plan, SpateMessageWanted wanted)
{
    SpateMessageTrace *trace = g_new0(SpateMessageTrace, 1);
    trace->wanted = wanted;
    trace->plan = plan;
    trace->steps = g_ptr_array_new_with_free_func(g_free);
    trace->messages = g_array_new(FALSE, FALSE, sizeof(uint32_t));
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

static void
see(gpointer self, const SpateEvent *event)
{
    SpateMessageTrace *trace = self;
    const SpateMessageFacts *message = event->message;
    bool is_offer =
        event->kind == SPATE_EVENT_OFFERED && message->traffic == trace->wanted.traffic &&
        message->origin == trace->wanted.origin && trace->n_offers++ == trace->wanted.offer;
    bool is_carrier = false;
    for (size_t i = 0; event->kind == SPATE_EVENT_DIGESTED && i < event->n_carried; i++)
        is_carrier = is_carrier || concerns(trace, event->carried[i]);
    bool is_about_it = (event->kind == SPATE_EVENT_TRIED || event->kind == SPATE_EVENT_ANSWERED) &&
                       concerns(trace, event->message->about);
    if (is_offer)
        trace->offered_ns = event->at_ns;
    if (is_offer || is_carrier || is_about_it)
        g_array_append_val(trace->messages, message->number);
    if (concerns(trace, message->number))
        add_step(trace, event);
}

SpateObserver
spate_message_trace_observer(SpateMessageTrace *trace)
{
    return (SpateObserver){SPATE_ALL_EVENTS & ~(uint32_t)SPATE_EVENT_REDUNDANT, see, trace};
}
