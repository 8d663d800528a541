/* plan.h - what a mesh is made of, as numbers
 *
 * Immutable, shared by all runs.  Nodes, bearers, radios and traffics are numbered
 * in the alphabetical order of their names (radios by node, then bearer), so that
 * "first by name" is "lowest number".
 */
#pragma once

#include "core/ascending.h"
#include "propagation/track.h"
#include "radio/bearer.h"
#include "radio/listening.h"
#include "rules/rules.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum {
    SPATE_FLOOD_CLASSIC,
    SPATE_FLOOD_COUNTER,
    SPATE_FLOOD_PROBABILITY,
    SPATE_FLOOD_NONE
} SpateFloodPolicy;

/* RFC 6621's terms: classic flooding, duplicate packet detection. */
typedef struct {
    SpateFloodPolicy policy;
    uint32_t copies;    /* counter: cancelled when this many further copies were heard */
    double p;           /* probability */
    uint32_t hop_limit; /* transmissions on one way in all */
    double jitter_airtimes;
    bool weakest_first;
    uint32_t route_record_bytes;
    uint32_t duplicates_entries; /* remembered messages; 0: unbounded */
    int64_t duplicates_for_ns;   /* and for how long; 0: unbounded */
} SpateFlooding;

typedef struct {
    uint32_t frames; /* a frame on the air is not in the queue */
    bool by_class;
    int64_t expire_ns; /* a frame that waited longer is dropped; 0: never */
} SpateQueueSettings;

typedef struct {
    const char *name;
    uint64_t name_hash;
    uint32_t first_radio, n_radios;
    SpateFlooding flooding;
    SpateQueueSettings queue;
    const SpateRule *relay_rules; /* asked before the policy: what they hold back is not relayed */
    size_t n_relay_rules;
    SpateTrackPlan track; /* from where the medium has it at the start */
} SpateNode;

typedef struct {
    uint32_t node, bearer;
    bool relays;
    double supply_sending_w, supply_receiving_w; /* NAN: not given */
    double supply_asleep_w;
    SpateListening listening;
} SpateRadio;

/* How a source finds out whether its message arrived. */
typedef struct {
    uint32_t tries;         /* at most; 0: no answer is wanted */
    int64_t within_ns;      /* of the end of the source's last frame of a try */
    uint32_t payload_bytes; /* of an acknowledgement */
} SpateAcknowledgement;

typedef enum {
    SPATE_ROUTE_FLOOD,
    SPATE_ROUTE_SOURCE, /* RFC 4728: a source lists the way that an acknowledgement came back */
    SPATE_ROUTE_ALONG   /* the way is given */
} SpateRouteKind;

/* A node of a way that is given, and the bearer of the transmission to it; -1: the first by name
 * on which both ends have a radio. */
typedef struct {
    uint32_t node;
    int32_t bearer;
} SpateRouteEntry;

typedef struct {
    SpateRouteKind kind;
    const SpateRouteEntry *along; /* after the source; the last is the recipient */
    uint32_t n_along;
    bool back; /* and home the same way */
} SpateRouting;

/* What the mesh knows of a traffic: everything but when it is offered. */
typedef struct {
    const char *name;
    uint64_t name_hash;
    uint32_t class_rank; /* 0 goes first; classes without a priority share the last */
    uint32_t payload_bytes;
    uint32_t hop_limit;  /* 0: each node's own */
    bool *on_bearers;    /* by bearer; NULL: all radios of the source */
    int64_t deadline_ns; /* 0: none */
    SpateAcknowledgement acknowledgement;
    SpateRouting routing;
    const uint32_t
        *recipients; /* nodes, ascending; the source of a message is none of its own recipients */
    uint32_t n_recipients;
    /* Nodes whose share of the deliveries is measured by itself, ascending; of one that is no
     * recipient it has no value. */
    const uint32_t *measured_recipients;
    uint32_t n_measured;
} SpateTrafficKind;

/* Identities of further tries and of acknowledgements: that of the message, or of the try that is
 * answered, combined with one of these and a number. */
#define SPATE_OF_TRY             UINT64_C(0x5452595f414e4557)
#define SPATE_OF_ACKNOWLEDGEMENT UINT64_C(0x414e535745525f49)

/* What one offer may become: tries, and an acknowledgement of each. */
static inline uint32_t
spate_most_messages_of_offer(const SpateAcknowledgement *acknowledgement)
{
    return acknowledgement->tries > 0 ? 2 * acknowledgement->tries : 1;
}

/* The place of a node among the recipients; n_recipients if it is not one of them. */
static inline uint32_t
spate_recipient_index(const SpateTrafficKind *traffic, uint32_t node)
{
    return spate_ascending_find(traffic->recipients, traffic->n_recipients, node);
}

/* Of a message that has just one: the other of two, if its source is among them. */
static inline uint32_t
spate_only_recipient(const uint32_t *recipients, uint32_t origin)
{
    return recipients[recipients[0] == origin ? 1 : 0];
}

static inline bool
spate_is_recipient(const SpateTrafficKind *traffic, uint32_t node)
{
    return spate_recipient_index(traffic, node) < traffic->n_recipients;
}

/* A way across a bridge node. */
typedef struct {
    const char *name;
    uint32_t bridge; /* number of the entry of `bridges:` in alphabetical order */
    uint32_t node;
    uint32_t from_bearer;
    uint32_t to_radio;
    const SpateRule *rules;
    size_t n_rules;
    bool otherwise_passes;
} SpateCrossing;

/* When nodes are down: from at_ns on, for for_ns; or, where the means are not 0, drawn by each of
 * them for itself, up and down times exponential. */
typedef struct {
    const uint32_t *nodes; /* ascending */
    uint32_t n_nodes;
    int64_t at_ns, for_ns;
    int64_t mean_between_ns, mean_time_ns; /* up, down */
    bool is_left_out;                      /* never happens; those of others come as with it */
} SpateOutage;

typedef struct {
    const SpateNode *nodes;
    uint32_t n_nodes;
    const SpateRadio *radios;
    uint32_t n_radios;
    const SpateBearer *bearers;
    const char *const *bearer_names;
    uint32_t n_bearers;
    const SpateTrafficKind *traffics;
    uint32_t n_traffics;
    const SpateCrossing *crossings; /* by node; of one node in the order of the file */
    uint32_t n_crossings;
    const char *const *bridge_names;
    uint32_t n_bridges;
    const SpateOutage *outages; /* in the order of the file */
    uint32_t n_outages;
    double move_step_m; /* after which a node that moves is at a new place */
} SpatePlan;

/* UINT32_MAX: it has none there. */
static inline uint32_t
spate_plan_radio_on(const SpatePlan *plan, uint32_t node, uint32_t bearer)
{
    const SpateNode *at = &plan->nodes[node];
    for (uint32_t r = at->first_radio; r < at->first_radio + at->n_radios; r++)
        if (plan->radios[r].bearer == bearer)
            return r;
    return UINT32_MAX;
}

/* One transmission of a way. */
typedef struct {
    uint32_t from_radio, to_radio;
} SpateHop;

/* From a node to the next of a way that is given, as its entry says. */
SpateHop spate_plan_hop(const SpatePlan *plan, uint32_t from, const SpateRouteEntry *to);
