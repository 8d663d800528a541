/* explain-outages.c - who was down while the message was under way
 *
 * A radio that is off has no outcome: nothing in the trace speaks of it.
 */
#include "study/explain/explain-private.h"

#include "core/time.h"

/* Of a run in which everything fails all the time, the first ones say enough. */
#define MOST_KEPT 100000

typedef struct {
    uint32_t node;
    int64_t from_ns, to_ns; /* SPATE_NEVER_NS: it has not come back */
} Outage;

struct SpateOutageWatch {
    const SpateMessageTrace *trace;
    GArray *outages; /* Outage: those that were not over when the message was offered */
};

/* ---- watching -------------------------------------------------------------------------------- */

static void
end_outage(const SpateOutageWatch *watch, const SpateEvent *event)
{
    for (guint i = watch->outages->len; i-- > 0;) {
        Outage *outage = &g_array_index(watch->outages, Outage, i);
        if (outage->node != event->node || outage->to_ns != SPATE_NEVER_NS)
            continue;
        outage->to_ns = event->at_ns;
        if (watch->trace->offered_ns < 0)
            g_array_remove_index_fast(watch->outages, i);
        return;
    }
}

static void
see(gpointer self, const SpateEvent *event)
{
    const SpateOutageWatch *watch = self;
    const Outage outage = {event->node, event->at_ns, SPATE_NEVER_NS};
    if (event->kind == SPATE_EVENT_CAME_BACK)
        end_outage(watch, event);
    else if (watch->outages->len < MOST_KEPT)
        g_array_append_val(watch->outages, outage);
}

SpateOutageWatch *
spate_outage_watch_new(const SpateMessageTrace *trace)
{
    SpateOutageWatch *watch = g_new0(SpateOutageWatch, 1);
    watch->trace = trace;
    watch->outages = g_array_new(FALSE, FALSE, sizeof(Outage));
    return watch;
}

void
spate_outage_watch_free(SpateOutageWatch *watch)
{
    g_array_unref(watch->outages);
    g_free(watch);
}

SpateObserver
spate_outage_watch_observer(SpateOutageWatch *watch)
{
    return (SpateObserver){SPATE_EVENT_WENT_DOWN | SPATE_EVENT_CAME_BACK, see, watch};
}

/* ---- answering ------------------------------------------------------------------------------- */

/* Up to the last thing that happened to the message. */
static bool
overlaps(const SpateInquiry *inquiry, const Outage *outage)
{
    const SpateMessageTrace *trace = inquiry->trace;
    int64_t last_ns = trace->offered_ns;
    if (trace->steps->len > 0)
        last_ns = spate_message_trace_step(trace, trace->steps->len - 1)->at_ns;
    return outage->from_ns <= last_ns && outage->to_ns > inquiry->found->offered_ns;
}

bool
spate_inquiry_was_down(const SpateInquiry *inquiry, uint32_t node)
{
    for (guint i = 0; i < inquiry->outages->outages->len; i++) {
        const Outage *outage = &g_array_index(inquiry->outages->outages, Outage, i);
        if (outage->node == node && overlaps(inquiry, outage))
            return true;
    }
    return false;
}

static void
add(const SpateInquiry *inquiry, const Outage *outage)
{
    const SpateFact fact = {
        .kind = SPATE_FACT_WAS_DOWN,
        .node = spate_inquiry_node(inquiry, outage->node),
        .from_ns = outage->from_ns,
        .to_ns = outage->to_ns,
    };
    spate_inquiry_add(inquiry, fact);
}

bool
spate_inquiry_was_lost_waiting(const SpateInquiry *inquiry, const SpateEvent *decision)
{
    for (guint i = 0; i < inquiry->outages->outages->len; i++) {
        const Outage *outage = &g_array_index(inquiry->outages->outages, Outage, i);
        if (outage->node == decision->node && outage->from_ns >= decision->at_ns)
            return true;
    }
    return false;
}

static bool
may_carry_it(const SpateInquiry *inquiry, uint32_t number)
{
    const SpateNode *node = &inquiry->plan->nodes[number];
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        if (spate_inquiry_sends_on_from(inquiry, r))
            return true;
    return number == inquiry->wanted->node || number == inquiry->wanted->message.origin;
}

void
spate_inquiry_note_outages(const SpateInquiry *inquiry)
{
    uint32_t n = 0;
    for (guint i = 0; i < inquiry->outages->outages->len; i++) {
        const Outage *outage = &g_array_index(inquiry->outages->outages, Outage, i);
        if (overlaps(inquiry, outage) && may_carry_it(inquiry, outage->node) &&
            n++ < SPATE_INQUIRY_MOST_LINES)
            add(inquiry, outage);
    }
    spate_inquiry_add_more(inquiry, n);
}

void
spate_inquiry_add_lost_waiting(const SpateInquiry *inquiry, const SpateEvent *decision)
{
    spate_inquiry_add_decision(inquiry, decision);
    for (guint i = 0; i < inquiry->outages->outages->len; i++) {
        const Outage *outage = &g_array_index(inquiry->outages->outages, Outage, i);
        if (outage->node != decision->node || outage->from_ns < decision->at_ns)
            continue;
        add(inquiry, outage);
        return;
    }
}
