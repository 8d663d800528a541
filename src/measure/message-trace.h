/* message-trace.h - the way of one message through a run
 *
 * Listens to a run and keeps every step of one message, and of the digests that carry it: each
 * frame with what became of it at each radio that could hear it, each first copy, each decision,
 * each frame that was dropped.  It explains why a message did not arrive, and a
 * picture shows how it travelled.
 */
#pragma once

#include "mesh/plan.h"
#include "spate/event.h"
#include <glib.h>

/* Which message: the n-th that a source offered of a traffic, from 0, over the whole run. */
typedef struct {
    uint32_t traffic, origin;
    uint64_t offer;
} SpateMessageWanted;

/* Of a message that wants an answer, its further tries are steps of it too. */
typedef enum {
    SPATE_TRACE_MESSAGE,
    SPATE_TRACE_ANSWERS, /* only its acknowledgements */
    SPATE_TRACE_BOTH
} SpateTraceOf;

/* A node was down; of those that were over before the message was offered nothing is kept. */
typedef struct {
    uint32_t node;
    int64_t from_ns, until_ns; /* until_ns: INT64_MAX, not over yet */
} SpateTraceOutage;

/* Steps are copies of what was seen: kinds as in spate/event.h but REDUNDANT, without `carried`. */
typedef struct {
    SpateMessageWanted wanted;
    SpateTraceOf of;
    uint32_t number;       /* of the message, once it was offered */
    const SpatePlan *plan; /* borrowed */
    GPtrArray *steps;      /* SpateEvent*, in the order of time */
    uint64_t n_receptions; /* of all steps */
    GArray *messages;      /* uint32_t: numbers of what is followed, and of digests that carry it */
    GArray *outages;       /* SpateTraceOutage that are over, by their ends; the first thousand */
    int64_t *down_ns;      /* by node: since when it is down; -1: it is up */
    int64_t offered_ns;    /* -1: not offered (yet) */
    uint64_t n_offers;     /* of that source so far */
} SpateMessageTrace;

SpateMessageTrace *spate_message_trace_new(const SpatePlan *plan, SpateMessageWanted wanted,
                                           SpateTraceOf of);
void spate_message_trace_free(SpateMessageTrace *trace);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateMessageTrace, spate_message_trace_free)

/* Listens on behalf of the trace. */
SpateObserver spate_message_trace_observer(SpateMessageTrace *trace);

/* Listens on behalf of several traces: what concerns none of them, as nearly all does, is asked
 * about once. */
typedef struct {
    SpateMessageTrace *const *traces; /* borrowed; NULL among them: none */
    guint n;
    GByteArray *is_followed; /* by number of a message, as far as there are any */
} SpateTraceGroup;

SpateTraceGroup *spate_trace_group_new(SpateMessageTrace *const *traces, guint n);
void spate_trace_group_free(SpateTraceGroup *group);
SpateObserver spate_trace_group_observer(SpateTraceGroup *group);

/* SpateTraceOutage that met the time from the offer to the last step; free with g_array_unref(). */
GArray *spate_message_trace_outages(const SpateMessageTrace *trace);

static inline const SpateEvent *
spate_message_trace_step(const SpateMessageTrace *trace, guint step)
{
    return g_ptr_array_index(trace->steps, step);
}
