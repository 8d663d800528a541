/* town.c - a small mesh on a hand-made medium, and a log of what happens there */
#include "town.h"

#include "core/random.h"
#include <math.h>

#define UNHEARD_DB 400.0 /* where town_link() says nothing */

static const char *const BEARER_NAMES[TOWN_BEARERS] = {"fast", "slow"};
static const char *const BRIDGE_NAMES[] = {"bridge"};

typedef struct {
    uint32_t traffic, origin;
} Offer;

/* ---- what it is made of ---------------------------------------------------------------------- */

static void
set_bearers(Town *town)
{
    town->bearers[FAST] = (SpateBearer){
        .modulation = {.kind = &spate_radio_dsss,
                       .centre_hz = 2437000000,
                       .rate_bps = 250000,
                       .preamble_ns = 192 * SPATE_NS_PER_US},
        .overhead_bytes = 43,
        .largest_frame_bytes = 293,
    };
    town->bearers[SLOW] = (SpateBearer){
        .modulation = {.kind = &spate_radio_lora,
                       .centre_hz = 869500000,
                       .bandwidth_hz = {125000, 1},
                       .spreading_factor = 7,
                       .coding_rate_denominator = 5,
                       .preamble_symbols = 12,
                       .explicit_header = true,
                       .crc = true,
                       .lock_symbols = 5},
        .largest_frame_bytes = 255,
    };
    for (uint32_t b = 0; b < TOWN_BEARERS; b++) {
        town->bearers[b].noise_figure_db = 6.0;
        town->bearers[b].sensitivity_dbm = NAN;
        town->bearers[b].protection_same_db = NAN;
        town->bearers[b].protection_other_db = NAN;
        town->bearers[b].access.csma_threshold_dbm = NAN;
    }
}

Town *
town_new(void)
{
    Town *town = g_new0(Town, 1);
    set_bearers(town);
    town->given = g_array_new(FALSE, FALSE, sizeof(SpateGivenLoss));
    town->log = g_array_sized_new(FALSE, FALSE, sizeof(TownEntry), 1024);
    town->offers = g_array_sized_new(FALSE, FALSE, sizeof(Offer), 1024);
    town->seed = 1;
    town->keeps_log = true;
    return town;
}

void
town_free(Town *town)
{
    if (town == NULL)
        return;
    spate_bridges_free(town->bridges);
    spate_mesh_free(town->mesh);
    spate_channel_free(town->channel);
    spate_medium_unref(town->medium);
    spate_event_queue_free(town->queue);
    g_array_free(town->given, TRUE);
    g_array_free(town->log, TRUE);
    g_array_free(town->offers, TRUE);
    g_free(town);
}

uint32_t
town_add_node(Town *town, unsigned bearers)
{
    uint32_t number = town->n_nodes++;
    g_assert(number < TOWN_NODES);
    g_snprintf(town->names[number], sizeof town->names[number], "n%02u", number % 100);
    SpateNode *node = &town->nodes[number];
    *node = (SpateNode){
        .name = town->names[number],
        .name_hash = spate_hash_name(town->names[number]),
        .first_radio = town->n_radios,
        .flooding = {.policy = SPATE_FLOOD_CLASSIC, .hop_limit = 8},
        .queue = {.frames = 32},
    };
    for (uint32_t b = 0; b < TOWN_BEARERS; b++) {
        if ((bearers & 1u << b) == 0)
            continue;
        town->radios[town->n_radios++] = (SpateRadio){number, b, true, NAN, NAN};
        node->n_radios++;
    }
    town->everyone[number] = number;
    return number;
}

uint32_t
town_radio(const Town *town, uint32_t node, uint32_t bearer)
{
    for (uint32_t r = 0; r < town->n_radios; r++)
        if (town->radios[r].node == node && town->radios[r].bearer == bearer)
            return r;
    g_assert_not_reached();
}

void
town_link(Town *town, uint32_t a, uint32_t b, uint32_t bearer, double loss_db)
{
    SpateGivenLoss there = {a, b, (int32_t)bearer, loss_db},
                   back = {b, a, (int32_t)bearer, loss_db};
    g_array_append_val(town->given, there);
    g_array_append_val(town->given, back);
}

uint32_t
town_add_traffic(Town *town, const char *name)
{
    g_assert(town->n_traffics < TOWN_TRAFFICS);
    town->traffics[town->n_traffics] = (SpateTrafficKind){
        .name = name,
        .name_hash = spate_hash_name(name),
        .payload_bytes = TOWN_PAYLOAD_BYTES,
        .recipients = town->everyone,
    };
    return town->n_traffics++;
}

SpateCrossing *
town_add_crossing(Town *town, uint32_t node, uint32_t from, uint32_t to, const SpateRule *rules,
                  size_t n_rules)
{
    SpateCrossing *crossing = &town->crossings[town->n_crossings++];
    *crossing = (SpateCrossing){
        .name = from == FAST ? "down" : "up",
        .node = node,
        .from_bearer = from,
        .to_radio = town_radio(town, node, to),
        .rules = rules,
        .n_rules = n_rules,
        .otherwise_passes = true,
    };
    return crossing;
}

Town *
town_new_line(uint32_t n_nodes)
{
    Town *town = town_new();
    for (uint32_t i = 0; i < n_nodes; i++)
        town_add_node(town, ON_FAST);
    for (uint32_t i = 1; i < n_nodes; i++)
        town_link(town, i - 1, i, FAST, 80.0);
    town_add_traffic(town, "talk");
    return town;
}

/* ---- the log --------------------------------------------------------------------------------- */

static void
note(Town *town, TownEntry entry)
{
    if (town->keeps_log)
        g_array_append_val(town->log, entry);
}

static void
note_message(Town *town, TownHappening happening, int64_t now_ns, const SpateMessageFacts *message,
             uint32_t node, uint32_t hops, uint32_t what)
{
    note(town, (TownEntry){.happening = happening,
                           .at_ns = now_ns,
                           .message = message->number,
                           .traffic = message->traffic,
                           .node = node,
                           .hops = hops,
                           .what = what,
                           .identity = message->identity});
}

static void
note_frame(Town *town, TownHappening happening, int64_t now_ns, const SpateFrameFacts *frame,
           uint32_t radio, uint32_t what)
{
    note(town, (TownEntry){.happening = happening,
                           .at_ns = now_ns,
                           .message = frame->message.number,
                           .traffic = frame->message.traffic,
                           .node = town->radios[radio].node,
                           .radio = radio,
                           .hops = frame->hops,
                           .bytes = frame->frame_bytes,
                           .what = what,
                           .identity = frame->message.identity});
}

static void
note_offered(gpointer self, int64_t now_ns, const SpateMessageFacts *message)
{
    note_message(self, HAPPENED_OFFERED, now_ns, message, message->origin, 0, 0);
}

static void
note_queued(gpointer self, int64_t now_ns, const SpateFrameFacts *frame)
{
    note_frame(self, HAPPENED_QUEUED, now_ns, frame, frame->radio, 0);
}

static void
note_dropped(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateDropCause cause)
{
    note_frame(self, HAPPENED_DROPPED, now_ns, frame, frame->radio, cause);
}

static void
note_started(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateAccessWaits waits)
{
    g_assert(waits.duty_ns >= 0 && waits.access_ns >= 0);
    note_frame(self, HAPPENED_STARTED, now_ns, frame, frame->radio, 0);
}

static void
note_ended(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
           const SpateReception *receptions, size_t n_receptions)
{
    g_assert(now_ns - started_ns == frame->airtime_ns);
    note_frame(self, HAPPENED_ENDED, now_ns, frame, frame->radio, (uint32_t)n_receptions);
}

static void
note_redundant(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
               uint32_t receiver)
{
    note_frame(self, HAPPENED_REDUNDANT, now_ns, frame, receiver, 0);
}

static void
note_delivered(gpointer self, int64_t now_ns, const SpateMessageFacts *message, uint32_t node,
               uint32_t hops)
{
    note_message(self, HAPPENED_DELIVERED, now_ns, message, node, hops, 0);
}

static void
note_held_back(gpointer self, int64_t now_ns, const SpateMessageFacts *message,
               const SpateCrossing *crossing, uint32_t rule)
{
    note_message(self, HAPPENED_HELD_BACK, now_ns, message, crossing->node, 0, rule);
}

static void
note_arrived(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
             uint32_t receiver)
{
    note_frame(self, HAPPENED_ARRIVED, now_ns, frame, receiver, 0);
}

static void
note_decided(gpointer self, int64_t now_ns, const SpateDecided *decision)
{
    const Town *town = self;
    uint32_t node = town->radios[decision->radio].node;
    g_assert(decision->crossing == NULL || decision->crossing->node == node);
    note_message(self, HAPPENED_DECIDED, now_ns, decision->message, node, decision->hops,
                 (uint32_t)decision->kind);
}

const TownEntry *
town_entry(const Town *town, guint index)
{
    return &g_array_index(town->log, TownEntry, index);
}

const TownEntry *
town_find_at(const Town *town, TownHappening happening, uint32_t node, uint32_t n)
{
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        if (entry->happening == happening && (node == UINT32_MAX || entry->node == node) &&
            n-- == 0)
            return entry;
    }
    g_assert_not_reached();
}

const TownEntry *
town_find(const Town *town, TownHappening happening, uint32_t n)
{
    return town_find_at(town, happening, UINT32_MAX, n);
}

uint32_t
town_count_at(const Town *town, TownHappening happening, uint32_t node)
{
    uint32_t count = 0;
    for (guint i = 0; i < town->log->len; i++)
        count += town_entry(town, i)->happening == happening &&
                 (node == UINT32_MAX || town_entry(town, i)->node == node);
    return count;
}

uint32_t
town_count(const Town *town, TownHappening happening)
{
    return town_count_at(town, happening, UINT32_MAX);
}

uint32_t
town_count_drops(const Town *town, SpateDropCause cause)
{
    uint32_t count = 0;
    for (guint i = 0; i < town->log->len; i++)
        count += town_entry(town, i)->happening == HAPPENED_DROPPED &&
                 town_entry(town, i)->what == cause;
    return count;
}

/* ---- the run --------------------------------------------------------------------------------- */

static SpateMedium *
build_medium(const Town *town)
{
    SpateNodeSite nodes[TOWN_NODES] = {0};
    double isolation_db[TOWN_NODES], noise_rise_db[2 * TOWN_NODES] = {0};
    SpateRadioSite radios[2 * TOWN_NODES] = {0};
    for (uint32_t i = 0; i < town->n_nodes; i++) {
        nodes[i].position = (SpatePosition){100.0 * i, 0.0, 1.0};
        nodes[i].name_hash = town->nodes[i].name_hash;
        isolation_db[i] = 40.0;
    }
    for (uint32_t r = 0; r < town->n_radios; r++) {
        radios[r].node = town->radios[r].node;
        radios[r].bearer = town->radios[r].bearer;
        radios[r].power_dbm = 20.0;
    }
    static const SpatePropagation propagation[TOWN_BEARERS] = {
        {.model = {.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = UNHEARD_DB}},
        {.model = {.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = UNHEARD_DB}}};
    static const SpateFading fading[TOWN_BEARERS];
    uint64_t hashes[TOWN_BEARERS] = {spate_hash_name(BEARER_NAMES[FAST]),
                                     spate_hash_name(BEARER_NAMES[SLOW])};
    g_autoptr(SpateLinks) links = spate_links_new(
        nodes, town->n_nodes, isolation_db, radios, town->n_radios, town->bearers, propagation,
        TOWN_BEARERS, (const SpateGivenLoss *)(const void *)town->given->data, town->given->len);
    SpateMediumPlan plan = {
        .links = links,
        .nodes = nodes,
        .radios = radios,
        .noise_rise_db = noise_rise_db,
        .bearers = town->bearers,
        .propagation = propagation,
        .fading = fading,
        .bearer_hash = hashes,
        .n_nodes = town->n_nodes,
        .n_radios = town->n_radios,
        .n_bearers = TOWN_BEARERS,
        .seed = town->seed,
    };
    SpateMedium *medium = spate_medium_new(&plan, NULL);
    g_assert(medium != NULL);
    return medium;
}

static void
set_plan(Town *town)
{
    for (uint32_t i = 0; i < town->n_traffics; i++)
        if (town->traffics[i].recipients == town->everyone)
            town->traffics[i].n_recipients = town->n_nodes;
    town->plan = (SpatePlan){
        .nodes = town->nodes,
        .n_nodes = town->n_nodes,
        .radios = town->radios,
        .n_radios = town->n_radios,
        .bearers = town->bearers,
        .bearer_names = BEARER_NAMES,
        .n_bearers = TOWN_BEARERS,
        .traffics = town->traffics,
        .n_traffics = town->n_traffics,
        .crossings = town->crossings,
        .n_crossings = town->n_crossings,
        .bridge_names = BRIDGE_NAMES,
        .n_bridges = 1,
    };
}

void
town_start(Town *town)
{
    set_plan(town);
    town->medium = build_medium(town);
    town->queue = spate_event_queue_new();
    town->channel =
        spate_channel_new(town->queue, town->medium, town->seed, town->replication, false);
    town->mesh = spate_mesh_new(town->queue, town->channel, town->medium, &town->plan, town->seed,
                                town->replication);
    town->bridges = spate_bridges_new(town->mesh, &town->plan);
    SpateObserver observer = {
        .offered = note_offered,
        .queued = note_queued,
        .dropped = note_dropped,
        .started = note_started,
        .ended = note_ended,
        .redundant = note_redundant,
        .delivered = note_delivered,
        .held_back = note_held_back,
        .arrived = note_arrived,
        .decided = note_decided,
        .self = town,
    };
    spate_mesh_add_observer(town->mesh, &observer);
}

static void
offer(gpointer subject, uint32_t item)
{
    Town *town = subject;
    const Offer *wanted = &g_array_index(town->offers, Offer, item);
    spate_mesh_offer(town->mesh, wanted->traffic, wanted->origin, 1000 + item);
}

void
town_offer_at(Town *town, int64_t at_ns, uint32_t traffic, uint32_t origin)
{
    Offer wanted = {traffic, origin};
    g_array_append_val(town->offers, wanted);
    spate_event_queue_schedule(town->queue, at_ns, SPATE_RANK_TIMER, offer, town,
                               town->offers->len - 1);
}

void
town_run(Town *town, int64_t until_ns)
{
    spate_event_queue_run_until(town->queue, until_ns, NULL);
    spate_mesh_check(town->mesh);
    spate_channel_check(town->channel);
}
