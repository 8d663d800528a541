/* message-pool.h - messages that are still under way
 *
 * A message lives as long as somebody holds it: a frame of it waits or flies, a digest carries or
 * will carry it, or it is being handled.  With it live the marks that nodes and radios keep about
 * it, so that memory is bounded by what is under way at once, however long the run.  Slots are used
 * again; a slot and the message's number together name a message for ever.
 */
#pragma once

#include "core/event-queue.h"
#include "mesh/plan.h"
#include "spate/event.h"
#include <glib.h>

/* What one node knows of a message. */
typedef struct {
    uint32_t copies : 29; /* heard after the first, if any node counts them */
    uint32_t is_known : 1;
    uint32_t is_delivered : 1;
    uint32_t is_answered : 1; /* this try, as far as the node remembers */
} SpateKnowledge;

/* What the source of a message that wants an answer keeps about it, and what is known of all its
 * tries together. */
typedef struct {
    SpateEventId timer;     /* until the next try */
    int64_t over_ns;        /* when the latest frame of the source that is over was */
    uint32_t n_tries;       /* so far */
    uint32_t frames_left;   /* of the source, of its last try: not over yet */
    uint32_t route_version; /* of the route that the last try took; 0: it flooded */
    bool must_flood;        /* the next try */
    bool is_open;           /* the source waits for an answer: it holds the message */
    bool is_delivered, is_acknowledged;
} SpateExchange;

#define SPATE_NO_MESSAGE UINT32_MAX
#define SPATE_NO_FRAME   UINT32_MAX
/* No frame yet: the message waits there for a digest. */
#define SPATE_COLLECTED (UINT32_MAX - 1)

/* A message in a digest. */
typedef struct {
    uint32_t message;
    uint32_t hops; /* that it had done */
} SpateCarried;

typedef struct {
    SpateMessageFacts facts;
    const SpateTrafficKind *kind;
    const uint32_t *recipients; /* the kind's; the source of what an acknowledgement answers */
    uint32_t n_recipients;
    uint32_t asked;         /* the message of which this is a try (the first: itself) or that this
                               acknowledges, which it holds; SPATE_NO_MESSAGE: no answer is wanted */
    uint32_t n_answers;     /* of a try */
    SpateExchange exchange; /* of the message that the others are about */
    uint32_t references;    /* 0: the slot is free */
    uint32_t next_free;
    SpateKnowledge *at_node; /* by node */
    uint32_t *on_radio;      /* by radio: the frame that waits there, an index of the mesh */
    GArray *carried;         /* SpateCarried, which it holds: no digests; NULL or empty: is none */
    GArray *route;           /* SpateHop, from its source on; of a routed one */
} SpateMessage;

typedef struct {
    GPtrArray *messages; /* SpateMessage* */
    uint32_t first_free;
    uint32_t n_nodes, n_radios;
    uint32_t n_taken;
} SpateMessagePool;

void spate_message_pool_init(SpateMessagePool *pool, uint32_t n_nodes, uint32_t n_radios);
void spate_message_pool_clear(SpateMessagePool *pool);

/* A slot with one reference, without facts, unknown to all.  A message stays at its address. */
uint32_t spate_message_pool_take(SpateMessagePool *pool);
void spate_message_pool_unref(SpateMessagePool *pool, uint32_t message);

/* Memory that the pool has taken, whether its slots are used or not. */
size_t spate_message_pool_bytes(const SpateMessagePool *pool);

static inline void
spate_message_set_kind(SpateMessage *message, const SpateTrafficKind *kind)
{
    message->kind = kind;
    message->recipients = kind->recipients;
    message->n_recipients = kind->n_recipients;
}

/* It carries others. */
static inline bool
spate_message_is_digest(const SpateMessage *message)
{
    return message->carried != NULL && message->carried->len > 0;
}

static inline bool
spate_message_is_routed(const SpateMessage *message)
{
    return message->facts.route_length > 0;
}

static inline SpateMessage *
spate_message_at(const SpateMessagePool *pool, uint32_t message)
{
    return g_ptr_array_index(pool->messages, message);
}
