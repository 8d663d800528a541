/* message-trace.h - the way of one message through a run
 *
 * Listens to a run and keeps every step of one message, and of the digests that carry it: each
 * frame with what became of it at each radio that could hear it, each first copy, each decision,
 * each frame that was dropped.  From it, a person is told why a message did not arrive, and a
 * picture shows how it travelled.
 */
#pragma once

#include "mesh/observer.h"
#include <glib.h>

/* Which message: the n-th that a source offered of a traffic, from 0, over the whole run. */
typedef struct {
    uint32_t traffic, origin;
    uint64_t offer;
} SpateMessageWanted;

typedef enum {
    SPATE_STEP_OFFERED,
    SPATE_STEP_DIGESTED, /* a digest was made that carries it [message: the digest] */
    SPATE_STEP_QUEUED,   /* a frame stands in a queue */
    SPATE_STEP_DROPPED,  /* a frame will not be sent [cause] */
    SPATE_STEP_STARTED,  /* a frame is on the air [waits] */
    SPATE_STEP_ENDED,    /* ... and was [receptions] */
    SPATE_STEP_ARRIVED,  /* the first copy at a node [node, from] */
    SPATE_STEP_DECIDED,  /* a node decided about sending it on [decision] */
    SPATE_STEP_DELIVERED /* a recipient has it [node, hops] */
} SpateStepKind;

typedef struct {
    SpateStepKind kind;
    int64_t at_ns;
    uint32_t message; /* number of the message, or of a digest that carries it */
    uint32_t node;    /* where it happened: sender, receiver, decider, maker */
    uint32_t radio;   /* frames: the sender's; ARRIVED: the receiver's; DECIDED: the way's */
    uint32_t hops;    /* frames, ARRIVED, DELIVERED: this transmission included */
    uint32_t from;    /* ARRIVED: the sender's radio */
    int64_t airtime_ns;
    int64_t queued_ns; /* STARTED, ENDED, DROPPED: when the frame reached the queue */
    SpateAccessWaits waits;
    SpateDropCause cause;
    SpateDecision decision;
    const SpateCrossing *crossing;        /* DECIDED: NULL for a relay */
    uint32_t rule;                        /* DECIDED: SPATE_NO_RULE if none matched */
    size_t first_reception, n_receptions; /* ENDED */
} SpateStep;

typedef struct {
    SpateMessageWanted wanted;
    const SpatePlan *plan; /* borrowed */
    GArray *steps;         /* SpateStep, in the order of time */
    GArray *receptions;    /* SpateReception */
    GArray *messages;      /* uint32_t: numbers of the message and of digests that carry it */
    int64_t offered_ns;    /* -1: not offered (yet) */
    uint64_t n_offers;     /* of that source so far */
} SpateMessageTrace;

SpateMessageTrace *spate_message_trace_new(const SpatePlan *plan, SpateMessageWanted wanted);
void spate_message_trace_free(SpateMessageTrace *trace);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateMessageTrace, spate_message_trace_free)

/* Listens on behalf of the trace. */
SpateObserver spate_message_trace_observer(SpateMessageTrace *trace);

static inline const SpateStep *
spate_message_trace_step(const SpateMessageTrace *trace, guint step)
{
    return &g_array_index(trace->steps, SpateStep, step);
}
static inline const SpateReception *
spate_message_trace_reception(const SpateMessageTrace *trace, const SpateStep *step, size_t index)
{
    return &g_array_index(trace->receptions, SpateReception,
                          (guint)(step->first_reception + index));
}
