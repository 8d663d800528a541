/* observer.h - the run tells what happened; nobody answers
 *
 * A table of functions, any of which may be NULL.  Observers never change a result.
 * Pointers live until the function returns.
 */
#pragma once

#include "channel/access.h"
#include "channel/channel.h"
#include "mesh/plan.h"
#include <stdint.h>

typedef struct {
    uint32_t number; /* unique in the run, in the order of offers */
    uint32_t traffic;
    uint32_t origin; /* of a digest: the node that made it */
    uint32_t payload_bytes;
    int64_t offered_ns;
    uint64_t identity; /* the same in every variant */
} SpateMessageFacts;

typedef struct {
    SpateMessageFacts message;
    uint32_t radio;
    uint32_t hops; /* transmissions on its way, this one included */
    uint32_t frame_bytes;
    int64_t airtime_ns;
    int64_t queued_ns;
} SpateFrameFacts;

typedef enum {
    SPATE_DROP_QUEUE,     /* the queue was full */
    SPATE_DROP_EXPIRED,   /* waited too long */
    SPATE_DROP_SIZE,      /* too long for the bearer */
    SPATE_DROP_CANCELLED, /* counter-based flooding: enough copies were heard */
    SPATE_N_DROPS
} SpateDropCause;

/* What a node that got the first copy of a message decided about sending it on, on one radio. */
typedef enum {
    SPATE_DECIDED_TO_SEND,    /* after its jitter */
    SPATE_DECIDED_TO_DELAY,   /* when the channel is quieter */
    SPATE_DECIDED_TO_COLLECT, /* in a digest */
    SPATE_DECIDED_NO_RELAY,   /* the node does not relay on that bearer */
    SPATE_DECIDED_HOP_LIMIT,  /* it has come as far as it may */
    SPATE_DECIDED_IS_WAITING, /* it waits to be sent there already */
    SPATE_DECIDED_BY_RULE,    /* a rule refused it, or `otherwise` */
    SPATE_DECIDED_BY_POLICY,  /* the flooding policy: none, or the draw of probability */
    SPATE_N_DECISIONS
} SpateDecisionKind;

typedef struct {
    SpateDecisionKind kind;
    const SpateMessageFacts *message;
    uint32_t hops;                 /* transmissions so far */
    uint32_t radio;                /* on which it would be sent */
    const SpateCrossing *crossing; /* NULL: a relay, on the bearer on which it came */
    uint32_t rule; /* that matched, of the crossing's or the node's list; SPATE_NO_RULE: none */
} SpateDecision;

typedef struct {
    void (*offered)(gpointer self, int64_t now_ns, const SpateMessageFacts *message);
    /* A node made a digest of what it had collected.  Not `offered`: nobody wrote it. */
    void (*digested)(gpointer self, int64_t now_ns, const SpateMessageFacts *digest,
                     const SpateMessageFacts *const *carried, size_t n_carried);
    /* A frame has reached the queue.  One dropped at its door (size, queue) is only told as
     * `dropped`. */
    void (*queued)(gpointer self, int64_t now_ns, const SpateFrameFacts *frame);
    void (*dropped)(gpointer self, int64_t now_ns, const SpateFrameFacts *frame,
                    SpateDropCause cause);
    /* Enough copies were heard before the frame reached a queue (queued_ns: now).  One that they
     * cancel within a queue is `dropped`. */
    void (*cancelled)(gpointer self, int64_t now_ns, const SpateFrameFacts *frame);
    void (*started)(gpointer self, int64_t now_ns, const SpateFrameFacts *frame,
                    SpateAccessWaits waits);
    /* started_ns: when this frame began. */
    void (*ended)(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
                  const SpateReception *receptions, size_t n_receptions);
    /* The frame was decoded at a node that knew the message already. */
    void (*redundant)(gpointer self, int64_t now_ns, const SpateFrameFacts *frame,
                      int64_t started_ns, uint32_t receiver);
    /* The first copy of a message, as far as the node remembers, at a radio of it. */
    void (*arrived)(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
                    uint32_t receiver);
    /* After `arrived`: for the relay, and for each crossing from that bearer. */
    void (*decided)(gpointer self, int64_t now_ns, const SpateDecision *decision);
    /* For the first time at one of its recipients; what a digest carried, when that arrived. */
    void (*delivered)(gpointer self, int64_t now_ns, const SpateMessageFacts *message,
                      uint32_t node, uint32_t hops);
    void (*held_back)(gpointer self, int64_t now_ns, const SpateMessageFacts *message,
                      const SpateCrossing *crossing, uint32_t rule);
    gpointer self;
} SpateObserver;
