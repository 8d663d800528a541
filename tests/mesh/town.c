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
    town->extra_loss_db = UNHEARD_DB;
    town->move_step_m = 10.0;
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
town_add_move(Town *town, uint32_t node, const SpatePosition *to, double speed_m_per_s,
              int64_t from_ns)
{
    town->nodes[node].track = (SpateTrackPlan){
        .points = to, .n_points = 1, .speed_m_per_s = speed_m_per_s, .from_ns = from_ns};
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

void
town_add_outage(Town *town, uint32_t node, int64_t at_ns, int64_t for_ns)
{
    g_assert(town->n_outages < TOWN_OUTAGES);
    town->numbers[node] = node;
    town->outages[town->n_outages++] = (SpateOutage){
        .nodes = &town->numbers[node], .n_nodes = 1, .at_ns = at_ns, .for_ns = for_ns};
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

static TownHappening
happening_of(const SpateEvent *event)
{
    switch (event->kind) {
    case SPATE_EVENT_OFFERED:
        return HAPPENED_OFFERED;
    case SPATE_EVENT_QUEUED:
        return HAPPENED_QUEUED;
    case SPATE_EVENT_DROPPED:
        return event->frame->queued_ns < 0 ? HAPPENED_CANCELLED : HAPPENED_DROPPED;
    case SPATE_EVENT_STARTED:
        return HAPPENED_STARTED;
    case SPATE_EVENT_ENDED:
        g_assert(event->at_ns - event->frame->started_ns == event->frame->airtime_ns);
        return HAPPENED_ENDED;
    case SPATE_EVENT_REDUNDANT:
        return HAPPENED_REDUNDANT;
    case SPATE_EVENT_TRIED:
        return HAPPENED_TRIED;
    case SPATE_EVENT_ANSWERED:
        return HAPPENED_ANSWERED;
    case SPATE_EVENT_ACKNOWLEDGED:
        return HAPPENED_ACKNOWLEDGED;
    case SPATE_EVENT_ROUTE_LEARNED:
        return HAPPENED_LEARNED;
    case SPATE_EVENT_ROUTE_DROPPED:
        return HAPPENED_UNLEARNED;
    case SPATE_EVENT_DELIVERED:
        return HAPPENED_DELIVERED;
    case SPATE_EVENT_ARRIVED:
        return HAPPENED_ARRIVED;
    case SPATE_EVENT_DECIDED:
        return HAPPENED_DECIDED;
    case SPATE_EVENT_WENT_DOWN:
        return HAPPENED_WENT_DOWN;
    case SPATE_EVENT_CAME_BACK:
        return HAPPENED_CAME_BACK;
    case SPATE_EVENT_MOVED:
        return HAPPENED_MOVED;
    case SPATE_EVENT_DIGESTED:
        break;
    }
    g_assert_not_reached();
}

static uint32_t
what_of(const SpateEvent *event)
{
    if (event->kind == SPATE_EVENT_OFFERED)
        return event->is_lost;
    if (event->kind == SPATE_EVENT_DROPPED)
        return event->cause;
    if (event->kind == SPATE_EVENT_DECIDED)
        return event->decision;
    if (event->kind == SPATE_EVENT_TRIED)
        return event->message->attempt;
    return (uint32_t)event->n_receptions;
}

static void
note(gpointer self, const SpateEvent *event)
{
    Town *town = self;
    const SpateFrameFacts *frame = event->frame;
    TownEntry entry = {.happening = happening_of(event),
                       .at_ns = event->at_ns,
                       .message = event->message != NULL ? event->message->number : UINT32_MAX,
                       .traffic = event->message != NULL ? event->message->traffic : UINT32_MAX,
                       .node = event->node,
                       .x_m = event->place.x_m,
                       .radio = event->radio,
                       .hops = frame != NULL ? frame->hops : event->hops,
                       .bytes = frame != NULL ? frame->frame_bytes : 0,
                       .what = what_of(event),
                       .identity = event->message != NULL ? event->message->identity : 0};
    g_assert(frame == NULL || town->radios[event->radio].node == event->node);
    g_assert(frame == NULL || (frame->waited_duty_ns >= 0 && frame->waited_access_ns >= 0));
    if (!town->keeps_log)
        return;
    g_array_append_val(town->log, entry);
    if (event->kind == SPATE_EVENT_DECIDED && event->decision == SPATE_DECISION_HELD_BACK &&
        event->crossing != SPATE_NO_CROSSING) {
        g_assert(town->crossings[event->crossing].node == event->node);
        entry.happening = HAPPENED_HELD_BACK;
        entry.what = event->rule;
        g_array_append_val(town->log, entry);
    }
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
build_medium(Town *town)
{
    SpateNodeSite nodes[TOWN_NODES] = {0};
    double isolation_db[TOWN_NODES];
    static const double noise_rise_db[2 * TOWN_NODES];
    SpateRadioSite *radios = town->sites;
    bool moves[TOWN_NODES], any_moves = false;
    for (uint32_t i = 0; i < town->n_nodes; i++) {
        moves[i] = town->nodes[i].track.n_points > 0;
        any_moves = any_moves || moves[i];
        nodes[i].position = (SpatePosition){.x_m = 100.0 * i, .height_m = 1.0};
        nodes[i].name_hash = town->nodes[i].name_hash;
        isolation_db[i] = 40.0;
    }
    for (uint32_t r = 0; r < town->n_radios; r++) {
        radios[r].node = town->radios[r].node;
        radios[r].bearer = town->radios[r].bearer;
        radios[r].power_dbm = 20.0;
    }
    for (uint32_t b = 0; b < TOWN_BEARERS; b++)
        town->propagation[b] = (SpatePropagation){
            .model = {.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = town->extra_loss_db},
            .shadowing = {.sigma_db = town->sigma_db, .redraw = true, .decorrelation_m = 50.0}};
    static const SpateFading fading[TOWN_BEARERS];
    uint64_t hashes[TOWN_BEARERS] = {spate_hash_name(BEARER_NAMES[FAST]),
                                     spate_hash_name(BEARER_NAMES[SLOW])};
    g_autoptr(SpateLinks) links =
        spate_links_new(nodes, town->n_nodes, isolation_db, radios, town->n_radios, town->bearers,
                        town->propagation, TOWN_BEARERS,
                        (const SpateGivenLoss *)(const void *)town->given->data, town->given->len);
    SpateMediumPlan plan = {
        .links = links,
        .nodes = nodes,
        .radios = radios,
        .noise_rise_db = noise_rise_db,
        .bearers = town->bearers,
        .propagation = town->propagation,
        .fading = fading,
        .bearer_hash = hashes,
        .moves = any_moves ? moves : NULL,
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
        .outages = town->outages,
        .n_outages = town->n_outages,
        .move_step_m = town->move_step_m,
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
    const SpateObserver observer = {SPATE_ALL_EVENTS & ~(uint32_t)SPATE_EVENT_DIGESTED, note, town};
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
