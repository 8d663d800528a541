/* mesh.h - messages, nodes, queues, flooding
 *
 * The mesh owns messages and the frames that wait or fly: sending queues, duplicate
 * detection, relay policies.  It hears receptions from the channel, and asks
 * access for the air.  What crosses a bridge is asked of a function (bridge/); what is
 * offered comes from outside (traffic/).
 */
#pragma once

#include "channel/access.h"
#include "channel/channel.h"
#include "mesh/plan.h"

typedef struct SpateMesh SpateMesh;

/* Takes over the channel's hooks and makes its own access control.  All arguments are borrowed. */
SpateMesh *spate_mesh_new(SpateEventQueue *queue, SpateChannel *channel, SpateMedium *medium,
                          const SpatePlan *plan, uint64_t seed, uint32_t replication);
void spate_mesh_free(SpateMesh *mesh);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateMesh, spate_mesh_free)

/* It is copied, its `self` borrowed. */
void spate_mesh_add_observer(SpateMesh *mesh, const SpateObserver *observer);

/* A new message at its source, now.  `identity` is the same in every variant (source and number
 * of the offer).  It goes out on the radios that the traffic names, without jitter. */
void spate_mesh_offer(SpateMesh *mesh, uint32_t traffic, uint32_t origin, uint64_t identity);

/* A message as it came to a node for the first time. */
typedef struct {
    uint32_t message; /* handle, for the calls below, valid until the function returns */
    const SpateMessageFacts *facts;
    uint32_t frame;       /* that brought it; a handle too */
    uint32_t node, radio; /* where it came in */
    uint32_t hops;        /* transmissions so far */
    uint64_t power;       /* in the radio's units */
} SpateArrival;

/* Called on the first copy of a message at a node with crossings that did not offer it, on any
 * radio, after the relay on that bearer was decided.  A node always knows its own messages; others
 * it may forget, and then take a later copy for the first. */
typedef void (*SpateArrivalFunc)(gpointer user, const SpateArrival *arrival);
/* Called when a node goes down: what is remembered for it is lost. */
typedef void (*SpateFailedFunc)(gpointer user, uint32_t node);
void spate_mesh_on_arrival(SpateMesh *mesh, SpateArrivalFunc arrived, SpateFailedFunc failed,
                           gpointer user);

/* Called when a message was delivered at a node, after the observers. */
typedef void (*SpateDeliveredFunc)(gpointer user, const SpateMessageFacts *message, uint32_t node);
void spate_mesh_on_delivered(SpateMesh *mesh, SpateDeliveredFunc delivered, gpointer user);

/* A way out of a node: the relay on the bearer on which the message came, or a crossing. */
typedef struct {
    uint32_t radio;                /* of the arrival's node, on which the message would be sent */
    const SpateCrossing *crossing; /* NULL: the relay */
    const SpateRule *rules;        /* asked about what may still be sent there */
    size_t n_rules;
    bool otherwise_passes;
    SpateRuleMemory *memory;
} SpateWay;

/* Decides whether and how the message goes on there, does so, and reports it to the observers. */
void spate_mesh_consider(SpateMesh *mesh, const SpateArrival *arrival, const SpateWay *way);
/* At the start: rules of that list will be asked about sending on that radio. */
void spate_mesh_register_rules(SpateMesh *mesh, uint32_t radio, const SpateRule *rules,
                               size_t n_rules);

/* Asserts the invariants of docs/model.md that can be seen from here. */
void spate_mesh_check(const SpateMesh *mesh);
/* Memory that messages and frames under way may take in one run.  A mesh that goes beyond it is
 * overloaded: more is offered than it can ever carry.  From then on it takes no further message,
 * and what it would measure is void. */
#define SPATE_MESH_MOST_BYTES ((size_t)1 << 30)

typedef struct {
    uint32_t messages; /* under way */
    uint64_t waiting;  /* frames in sending queues */
    size_t bytes;
    bool is_overloaded;
} SpateMeshBurden;
/* Why the run cannot go on: a path loss model does not hold where a node came to that moves; NULL
 * if it can.  Borrowed. */
typedef struct {
    GError *error;
    int64_t at_ns;
} SpateMoveProblem;
const SpateMoveProblem *spate_mesh_move_problem(const SpateMesh *mesh);

/* Costs as much as a few additions. */
SpateMeshBurden spate_mesh_burden(const SpateMesh *mesh);

/* Frames offered to queues, and what became of them: sent, dropped by cause, still waiting.  They
 * add up; spate_mesh_check() asserts it. */
typedef struct {
    uint64_t offered, sent, dropped[SPATE_N_DROPS], waiting;
} SpateQueueCounts;
SpateQueueCounts spate_mesh_queue_counts(const SpateMesh *mesh);
