/* town.h - a small mesh on a hand-made medium, and a log of what happens there
 *
 * Radios hear each other only where town_link() says so, on two bearers that do not
 * disturb each other.  A frame of the fast one with the payload of 20 bytes that
 * town_add_traffic() gives lasts 2208 us: 192 us + 63 bytes of 32 us.
 * Everything may be changed in the arrays until town_start().
 */
#pragma once

#include "bridge/bridge.h"
#include "mesh/mesh.h"
#include "traffic/traffic.h"

enum { FAST, SLOW, TOWN_BEARERS };
#define ON_FAST 1u
#define ON_SLOW 2u
#define ON_BOTH 3u

#define TOWN_PAYLOAD_BYTES 20
#define TOWN_FRAME_NS      (2208 * SPATE_NS_PER_US)

#define TOWN_NODES    64
#define TOWN_TRAFFICS 8
#define TOWN_OUTAGES  8

typedef enum {
    HAPPENED_OFFERED, /* what: 1 if its source was down */
    HAPPENED_QUEUED,
    HAPPENED_DROPPED,   /* what: cause */
    HAPPENED_CANCELLED, /* before it reached a queue; what: cause */
    HAPPENED_STARTED,
    HAPPENED_ENDED,     /* what: receptions */
    HAPPENED_REDUNDANT, /* radio: the receiver */
    HAPPENED_DELIVERED,
    HAPPENED_HELD_BACK, /* what: rule; at a crossing */
    HAPPENED_ARRIVED,   /* radio: the receiver */
    HAPPENED_DECIDED,   /* what: SpateDecision; radio: on which it would be sent */
    HAPPENED_TRIED,     /* what: which try */
    HAPPENED_ANSWERED,
    HAPPENED_ACKNOWLEDGED,
    HAPPENED_LEARNED,   /* a route */
    HAPPENED_UNLEARNED, /* it was dropped */
    HAPPENED_WENT_DOWN,
    HAPPENED_CAME_BACK,
    HAPPENED_MOVED,
} TownHappening;

typedef struct {
    TownHappening happening;
    int64_t at_ns;
    uint32_t message, traffic; /* number */
    uint32_t node, radio;
    uint32_t hops, bytes, what;
    uint64_t identity;
    double x_m; /* MOVED */
} TownEntry;

typedef struct {
    SpateBearer bearers[TOWN_BEARERS];
    uint32_t n_nodes, n_radios, n_traffics, n_crossings;
    SpateNode nodes[TOWN_NODES];
    SpateRadio radios[2 * TOWN_NODES];
    SpateTrafficKind traffics[TOWN_TRAFFICS];
    SpateCrossing crossings[8];
    SpateOutage outages[TOWN_OUTAGES];
    uint32_t n_outages, numbers[TOWN_NODES];
    char names[TOWN_NODES][8];
    uint32_t everyone[TOWN_NODES];
    GArray *given; /* SpateGivenLoss */
    uint64_t seed;
    uint32_t replication;
    double
        extra_loss_db; /* on free space, where town_link() says nothing: unheard unless changed */
    double sigma_db;   /* of shadowing there */
    double move_step_m;

    SpatePlan plan;
    SpateEventQueue *queue;
    SpatePropagation propagation[TOWN_BEARERS];
    SpateRadioSite sites[2 * TOWN_NODES];
    SpateMedium *medium;
    SpateChannel *channel;
    SpateMesh *mesh;
    SpateBridges *bridges;
    GArray *log;    /* TownEntry */
    GArray *offers; /* what town_offer_at() was asked for */
    bool keeps_log;
} Town;

Town *town_new(void);
void town_free(Town *town);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Town, town_free)

/* Nodes are named n00, n01, ... in this order, relay on all their radios, and flood classically
 * with a hop limit of 8 and no jitter. */
uint32_t town_add_node(Town *town, unsigned bearers);
uint32_t town_radio(const Town *town, uint32_t node, uint32_t bearer);
/* Both ways. */
void town_link(Town *town, uint32_t a, uint32_t b, uint32_t bearer, double loss_db);
/* To everyone. */
uint32_t town_add_traffic(Town *town, const char *name);
SpateCrossing *town_add_crossing(Town *town, uint32_t node, uint32_t from, uint32_t to,
                                 const SpateRule *rules, size_t n_rules);
/* Node n begins at x = 100 n metres; the place is at x_m, y_m. */
void town_add_move(Town *town, uint32_t node, const SpatePosition *to, double speed_m_per_s,
                   int64_t from_ns);
/* Of one node. */
void town_add_outage(Town *town, uint32_t node, int64_t at_ns, int64_t for_ns);
/* A line of nodes, each of which hears its neighbours on the fast bearer, and a traffic. */
Town *town_new_line(uint32_t n_nodes);

void town_start(Town *town);
void town_offer_at(Town *town, int64_t at_ns, uint32_t traffic, uint32_t origin);
/* Runs up to an instant, and checks the mesh and the channel there. */
void town_run(Town *town, int64_t until_ns);

const TownEntry *town_entry(const Town *town, guint index);
uint32_t town_count(const Town *town, TownHappening happening);
/* At one node (of the sender, receiver or recipient). */
uint32_t town_count_at(const Town *town, TownHappening happening, uint32_t node);
/* The n-th from 0; aborts if there are fewer. */
const TownEntry *town_find(const Town *town, TownHappening happening, uint32_t n);
/* The n-th at a node. */
const TownEntry *town_find_at(const Town *town, TownHappening happening, uint32_t node, uint32_t n);
/* Drops by one cause. */
uint32_t town_count_drops(const Town *town, SpateDropCause cause);
