/* mesh-private.h - the internals that the mesh's files share
 *
 *     mesh.c     the whole, its channel hooks, offers
 *     relay.c    what a node does with a copy that it has received
 *     way.c      whether it sends the message on, and how
 *     exchange.c tries and acknowledgements
 *     route.c    ways that frames list, given or learned
 *     delay.c    frames that wait for a quieter channel
 *     digest.c   messages that wait to be carried by one frame
 *     sending.c  from the decision to send to the end of the frame
 *     failing.c  what a node loses when it goes down
 *
 * A frame is made when a node decides to send a message on a radio.  It may be delayed, waits out
 * its jitter, then waits in the radio's queue, then flies; dropped or sent, it is given back.  As
 * long as it waits, its message names it at the radio.  What was sent needs no mark: a node decides
 * to send on the first copy only, and what it has forgotten it does not remember to have sent.
 */
#pragma once

#include "core/random.h"
#include "mesh/duplicates.h"
#include "mesh/mesh.h"
#include "mesh/message-pool.h"
#include "mesh/movers.h"
#include "mesh/observers.h"
#include "mesh/occupancy.h"
#include "mesh/outages.h"

typedef enum {
    SPATE_FRAME_FREE,
    SPATE_FRAME_DELAYED,
    SPATE_FRAME_JITTER,
    SPATE_FRAME_QUEUED,
    SPATE_FRAME_FLYING
} SpateFrameState;

typedef struct {
    SpateFrameFacts facts;
    uint32_t message;
    SpateFrameState state;
    uint64_t identity;  /* of the message on this radio: what is drawn for it hangs on that */
    bool is_governed;   /* a relay: the flooding policy may cancel it */
    SpateEventId timer; /* end of the delay; of the jitter; then expiry */
    int64_t jitter_ns;  /* DELAYED: the wait to come */
    double delayed_until_below; /* DELAYED: occupancy of the bearer */
    uint32_t previous, next;    /* in the queue; `next` also among the free */
    GArray *path; /* SpateHop: how the message came to the sender, where frames record it; NULL or
                     empty otherwise */
} SpateFrame;

/* The sending queue of one radio, and what comes before and after it. */
typedef struct {
    uint32_t head, tail, length;
    uint32_t flying;
    bool is_requested; /* the head waits for access */
} SpateSendQueue;

/* What concerns few nodes of many meshes: whoever has none of it does nothing but note a message
 * that it has received. */
typedef enum {
    SPATE_IS_RECIPIENT = 1 << 0,  /* of any traffic */
    SPATE_HAS_CROSSINGS = 1 << 1, /* arrivals are reported to those who look after them */
    SPATE_MAY_FORGET = 1 << 2,    /* its memory is bounded */
    SPATE_IS_RELAY = 1 << 3       /* on some radio */
} SpateNodeTrait;

typedef struct SpateDigests SpateDigests;
typedef struct SpateRoutes SpateRoutes;

struct SpateMesh {
    SpateEventQueue *queue;
    SpateChannel *channel;
    const SpateMedium *medium;
    const SpatePlan *plan;
    SpateAccessControl *access;
    SpateObservers observers;
    SpateArrivalFunc arrived;
    SpateFailedFunc failed;
    gpointer arrived_user; /* of both */
    SpateDeliveredFunc delivered;
    gpointer delivered_user;

    SpateMessagePool pool;
    SpateDuplicates *duplicates;
    uint32_t n_messages; /* offered so far */

    GPtrArray *frames; /* SpateFrame* */
    uint32_t first_free;
    SpateSendQueue *queues; /* by radio */
    SpateQueueCounts counts;

    uint64_t jitter_key, choice_key;
    uint32_t *node_of;              /* by radio */
    uint64_t *radio_hash;           /* by radio, of its node's name and its bearer's */
    bool forgets_with_time;         /* some node does */
    bool counts_copies;             /* likewise */
    uint8_t *traits;                /* by node, of SpateNodeTrait */
    uint32_t *unknown;              /* see relay.c: of the radios that a frame reached */
    int64_t *airtimes_ns;           /* by bearer and bytes, see sending.c; 0: not worked out yet */
    SpateRuleMemory **relay_memory; /* by node; NULL without rules */
    SpateOccupancy *occupancy;      /* for rules */
    SpateRoutes *routes;            /* learned ones */
    GArray *due;                    /* uint32_t: messages to be tried again at this instant */
    GArray *delayed;                /* uint32_t: frames, oldest first */
    SpateDigests *digests;
    SpateOutages *outages; /* NULL: no node ever fails */
    SpateMovers *movers;   /* NULL: none moves */
};

static inline SpateFrame *
spate_frame_at(const SpateMesh *mesh, uint32_t frame)
{
    return g_ptr_array_index(mesh->frames, frame);
}

static inline const SpateNode *
spate_node_of(const SpateMesh *mesh, uint32_t radio)
{
    return &mesh->plan->nodes[mesh->plan->radios[radio].node];
}

/* Whether the node knows that it has seen the message.  A node always knows its own. */
static inline bool
spate_mesh_knows(const SpateMessage *message, uint32_t node)
{
    return message->at_node[node].is_known || message->facts.origin == node;
}

static inline bool
spate_node_has_trait(const SpateMesh *mesh, uint32_t node, SpateNodeTrait trait)
{
    return (mesh->traits[node] & trait) != 0;
}

/* Now, at that radio, about a frame. */
static inline SpateEvent
spate_frame_event(const SpateMesh *mesh, SpateEventKind kind, const SpateFrameFacts *frame,
                  uint32_t radio)
{
    return (SpateEvent){
        .kind = kind,
        .node = mesh->plan->radios[radio].node,
        .radio = radio,
        .at_ns = spate_event_queue_now_ns(mesh->queue),
        .message = &frame->message,
        .frame = frame,
    };
}

/* Tells one that says no more. */
static inline void
spate_mesh_tell_frame(const SpateMesh *mesh, SpateEventKind kind, const SpateFrameFacts *frame,
                      uint32_t radio)
{
    if (!spate_observers_want(&mesh->observers, kind))
        return;
    const SpateEvent event = spate_frame_event(mesh, kind, frame, radio);
    spate_observers_tell(&mesh->observers, &event);
}

/* mesh.c */

/* Radios of its source on which the message goes out. */
uint32_t spate_mesh_n_ways_out(const SpateMesh *mesh, uint32_t message);
/* Sends it from there, now, without jitter. */
void spate_mesh_send_out(SpateMesh *mesh, uint32_t message);
/* Tells what happens at a node about a message, or (NULL) to the node, without a frame. */
void spate_mesh_tell_message(const SpateMesh *mesh, SpateEventKind kind, uint32_t node,
                             uint32_t hops, const SpateMessageFacts *message);
/* The message has reached a recipient for the first time. */
void spate_mesh_deliver(SpateMesh *mesh, const SpateMessageFacts *message, uint32_t node,
                        uint32_t hops);

/* exchange.c */

/* Sends a new message that wants an answer for the first time. */
void spate_exchange_open(SpateMesh *mesh, uint32_t message);
/* A frame that a node sent or meant to send is over at that instant: sent, or dropped. */
void spate_exchange_frame_is_over(SpateMesh *mesh, const SpateMessage *message, uint32_t node,
                                  int64_t at_ns);
/* A try has come to its recipient, by itself or in a digest. */
void spate_exchange_answer(SpateMesh *mesh, const SpateArrival *arrival, uint32_t message);
/* An acknowledgement has come to the source of what it is about. */
void spate_exchange_note_answer(SpateMesh *mesh, uint32_t asked);
/* After the timers of an instant: sends what is to be tried again. */
void spate_exchange_try_again(gpointer mesh);

/* route.c */

SpateRoutes *spate_routes_new(void);
void spate_routes_free(SpateRoutes *routes);
/* Gives a new message the way that its traffic lists. */
void spate_route_set_given(SpateMesh *mesh, uint32_t message);
/* Gives a try the route that its source has learned.  Returns its version, 0 if there is none. */
uint32_t spate_route_set_learned(SpateMesh *mesh, uint32_t message);
/* Gives an acknowledgement the way back, if the try that came so has one. */
void spate_route_set_back(SpateMesh *mesh, const SpateArrival *arrival, uint32_t its_try,
                          uint32_t message);
/* A try along that version of the route was not answered in time. */
void spate_route_drop(SpateMesh *mesh, const SpateMessage *asked, uint32_t version);
/* All that the node has learned. */
void spate_routes_forget(SpateMesh *mesh, uint32_t source);
/* Whether frames of the message record the way that they come; then so does a new one that a node
 * sends on after that arrival. */
void spate_route_record(SpateMesh *mesh, const SpateArrival *arrival, uint32_t frame);
/* Whether a frame of a routed message, after so many transmissions, goes on from that radio. */
bool spate_route_leads_on(const SpateMessage *message, uint32_t hops, uint32_t radio);
/* It has been there and goes back: no rule is asked. */
bool spate_route_turns(const SpateMessage *message, uint32_t hops);
/* A radio has decoded a frame of a routed message. */
void spate_route_receive(SpateMesh *mesh, const SpateArrival *arrival);

/* relay.c */

/* Asks for a relay and for crossings. */
void spate_mesh_send_on(SpateMesh *mesh, const SpateArrival *arrival);
void spate_mesh_deliver_try(SpateMesh *mesh, const SpateMessage *message, uint32_t node,
                            uint32_t hops);

/* sending.c */

int64_t *spate_airtimes_new(const SpatePlan *plan);
/* Decides that the message will be sent on the radio: marks it there. */
uint32_t spate_frame_new(SpateMesh *mesh, uint32_t message, uint32_t radio, uint32_t hops);
/* Puts it in the queue now, or drops it at the door. */
void spate_frame_enqueue(SpateMesh *mesh, uint32_t frame);
/* ... after a while. */
void spate_frame_enqueue_later(SpateMesh *mesh, uint32_t frame, int64_t wait_ns);
/* Takes a frame back that does not fly yet. */
void spate_frame_cancel(SpateMesh *mesh, uint32_t frame);
/* Its node has failed while it waited to reach a queue. */
void spate_frame_lose(SpateMesh *mesh, uint32_t frame);
/* The radio's node has failed: all that is in its queue. */
void spate_queue_lose(SpateMesh *mesh, uint32_t radio);
/* The head of the radio's queue goes on the air now. */
void spate_frame_begin(gpointer mesh, uint32_t radio, SpateAccessWaits waits);
/* The frame on the radio's air is over. */
void spate_frame_finish(SpateMesh *mesh, uint32_t frame);

/* way.c */

/* A wait between 0 and what the flooding of its node allows: from how well the node heard the
 * sender of what it received, or drawn. */
int64_t spate_mesh_jitter_ns(const SpateMesh *mesh, const SpateArrival *arrival, uint32_t frame);
/* The same, drawn. */
int64_t spate_mesh_random_jitter_ns(const SpateMesh *mesh, uint32_t frame);

/* delay.c */

/* Lets a new frame wait as the rule says, then for its jitter. */
void spate_frame_delay(SpateMesh *mesh, uint32_t frame, const SpateRule *rule, int64_t jitter_ns);
/* Takes a frame out of those that are delayed. */
void spate_frame_end_delay(SpateMesh *mesh, uint32_t frame);
/* After each look at the occupancy. */
void spate_mesh_release_delayed(gpointer mesh);

/* digest.c */

SpateDigests *spate_digests_new(const SpatePlan *plan);
void spate_digests_free(SpateDigests *digests);
/* The message waits for a digest on the radio. */
void spate_mesh_collect(SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio,
                        const SpateRule *rule);
/* Those that the node has begun. */
void spate_digests_lose(SpateMesh *mesh, uint32_t node);
/* Adds to each message's count how often an open digest holds it. */
void spate_digests_count_held(const SpateDigests *digests, uint32_t *held);

/* relay.c */

/* The channel's hook: copies of one message have been decoded. */
void spate_mesh_receive(gpointer mesh, const SpateAirFrame *air, const SpateReceivers *receivers);

/* failing.c */

/* After the outages of an instant have begun and ended. */
void spate_mesh_heed_outages(SpateMesh *mesh);
