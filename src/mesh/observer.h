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
    SpateDecision kind;
    const SpateMessageFacts *message;
    uint32_t hops;                 /* transmissions so far */
    uint32_t radio;                /* on which it would be sent */
    const SpateCrossing *crossing; /* NULL: a relay, on the bearer on which it came */
    uint32_t rule; /* that matched, of the crossing's or the node's list; SPATE_NO_RULE: none */
} SpateDecided;

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
    void (*decided)(gpointer self, int64_t now_ns, const SpateDecided *decision);
    /* For the first time at one of its recipients; what a digest carried, when that arrived. */
    void (*delivered)(gpointer self, int64_t now_ns, const SpateMessageFacts *message,
                      uint32_t node, uint32_t hops);
    void (*held_back)(gpointer self, int64_t now_ns, const SpateMessageFacts *message,
                      const SpateCrossing *crossing, uint32_t rule);
    gpointer self;
} SpateObserver;
