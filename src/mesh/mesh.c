/* mesh.c - the whole: construction, channel hooks, offers */
#include "mesh/mesh-private.h"

/* What comes to a node at one instant comes in the order of the offers (docs/model.md, Time). */
static uint32_t
turn_of_frame(gpointer user, const SpateAirFrame *air)
{
    return spate_frame_at(user, air->cargo)->facts.message.number;
}

static void
frame_counted(gpointer user, const SpateAirFrame *air, const uint32_t *n_by_outcome)
{
    const SpateMesh *mesh = user;
    const SpateFrameFacts *frame = &spate_frame_at(mesh, air->cargo)->facts;
    SpateEvent event = spate_frame_event(mesh, SPATE_EVENT_ENDED, frame, frame->radio);
    event.n_by_outcome = n_by_outcome;
    spate_observers_tell(&mesh->observers, &event);
}

static void
frame_outcomes(gpointer user, const SpateAirFrame *air, const SpateReception *receptions,
               size_t n_receptions)
{
    const SpateMesh *mesh = user;
    const SpateFrameFacts *frame = &spate_frame_at(mesh, air->cargo)->facts;
    SpateEvent event = spate_frame_event(mesh, SPATE_EVENT_ENDED, frame, frame->radio);
    event.receptions = receptions;
    event.n_receptions = n_receptions;
    event.medium = mesh->medium;
    spate_observers_tell(&mesh->observers, &event);
}

static void
frame_sent(gpointer user, const SpateAirFrame *air)
{
    spate_frame_finish(user, air->cargo);
}

static void
radio_changed(gpointer user, uint32_t radio)
{
    SpateMesh *mesh = user;
    spate_access_channel_changed(mesh->access, radio);
}

static void
tell_moved(gpointer user, uint32_t node, SpatePosition to)
{
    const SpateMesh *mesh = user;
    if (!spate_observers_want(&mesh->observers, SPATE_EVENT_MOVED))
        return;
    const SpateEvent event = {
        .kind = SPATE_EVENT_MOVED,
        .node = node,
        .at_ns = spate_event_queue_now_ns(mesh->queue),
        .place = to.is_geographic ? (SpateEventPlace){.latitude_deg = to.latitude_deg,
                                                      .longitude_deg = to.longitude_deg,
                                                      .is_geographic = true}
                                  : (SpateEventPlace){.x_m = to.x_m, .y_m = to.y_m},
    };
    spate_observers_tell(&mesh->observers, &event);
}

/* All that the events of rank SWITCH have asked for. */
static void
switched(gpointer user)
{
    SpateMesh *mesh = user;
    if (mesh->outages != NULL)
        spate_mesh_heed_outages(mesh);
    if (mesh->movers != NULL)
        spate_movers_settle(mesh->movers, tell_moved, mesh);
}

const SpateMoveProblem *
spate_mesh_move_problem(const SpateMesh *mesh)
{
    return spate_movers_problem(mesh->movers);
}

/* Those that somebody has a use for. */
static void
take_hooks(SpateMesh *mesh)
{
    const SpateObservers *observers = &mesh->observers;
    SpateChannelHooks hooks = {
        .turn = turn_of_frame,
        .counted = spate_observers_wish(observers, SPATE_ENDED_IN_NUMBERS) ? frame_counted : NULL,
        .outcomes = spate_observers_want(observers, SPATE_EVENT_ENDED) ? frame_outcomes : NULL,
        .received = spate_mesh_receive,
        .sent = frame_sent,
        .switched = mesh->outages != NULL || mesh->movers != NULL ? switched : NULL,
        .changed = radio_changed,
    };
    spate_channel_set_hooks(mesh->channel, &hooks, mesh);
}

void
spate_mesh_register_rules(SpateMesh *mesh, uint32_t radio, const SpateRule *rules, size_t n_rules)
{
    const SpateRadio *facts = &mesh->plan->radios[radio];
    spate_occupancy_want(mesh->occupancy, facts->node, facts->bearer, rules, n_rules);
}

static void
init_relay_rules(SpateMesh *mesh)
{
    const SpatePlan *plan = mesh->plan;
    mesh->relay_memory = g_new0(SpateRuleMemory *, MAX(plan->n_nodes, 1));
    mesh->occupancy = spate_occupancy_new(mesh->queue, mesh->channel, plan);
    spate_occupancy_on_sample(mesh->occupancy, spate_mesh_release_delayed, mesh);
    for (uint32_t i = 0; i < plan->n_nodes; i++) {
        const SpateNode *node = &plan->nodes[i];
        if (node->n_relay_rules == 0)
            continue;
        mesh->relay_memory[i] =
            spate_rule_memory_new(node->relay_rules, node->n_relay_rules, plan->n_nodes);
        for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
            spate_mesh_register_rules(mesh, r, node->relay_rules, node->n_relay_rules);
    }
}

static void
free_frame(gpointer item)
{
    SpateFrame *frame = item;
    if (frame->path != NULL)
        g_array_unref(frame->path);
    g_free(frame);
}

/* What is asked of them often, side by side. */
static void
list_radios(SpateMesh *mesh)
{
    const SpatePlan *plan = mesh->plan;
    mesh->node_of = g_new(uint32_t, MAX(plan->n_radios, 1));
    mesh->radio_hash = g_new(uint64_t, MAX(plan->n_radios, 1));
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        mesh->node_of[r] = plan->radios[r].node;
        mesh->radio_hash[r] =
            spate_hash_combine(spate_node_of(mesh, r)->name_hash,
                               spate_hash_name(plan->bearer_names[plan->radios[r].bearer]));
    }
}

static void
find_traits(SpateMesh *mesh)
{
    const SpatePlan *plan = mesh->plan;
    mesh->traits = g_new0(uint8_t, MAX(plan->n_nodes, 1));
    for (uint32_t i = 0; i < plan->n_nodes; i++) {
        const SpateFlooding *flooding = &plan->nodes[i].flooding;
        mesh->forgets_with_time |= flooding->duplicates_for_ns > 0;
        mesh->counts_copies |= flooding->policy == SPATE_FLOOD_COUNTER;
        if (flooding->duplicates_for_ns > 0 || flooding->duplicates_entries > 0)
            mesh->traits[i] |= SPATE_MAY_FORGET;
    }
    for (uint32_t r = 0; r < plan->n_radios; r++)
        if (plan->radios[r].relays)
            mesh->traits[plan->radios[r].node] |= SPATE_IS_RELAY;
    for (uint32_t i = 0; i < plan->n_traffics; i++)
        for (uint32_t k = 0; k < plan->traffics[i].n_recipients; k++)
            mesh->traits[plan->traffics[i].recipients[k]] |= SPATE_IS_RECIPIENT;
    for (uint32_t i = 0; i < plan->n_crossings; i++)
        mesh->traits[plan->crossings[i].node] |= SPATE_HAS_CROSSINGS;
}

SpateMesh *
spate_mesh_new(SpateEventQueue *queue, SpateChannel *channel, SpateMedium *medium,
               const SpatePlan *plan, uint64_t seed, uint32_t replication)
{
    SpateMesh *mesh = g_new0(SpateMesh, 1);
    mesh->queue = queue;
    mesh->channel = channel;
    mesh->medium = medium;
    mesh->plan = plan;
    mesh->access =
        spate_access_new(queue, channel, medium, seed, replication, spate_frame_begin, mesh);
    spate_observers_init(&mesh->observers);
    spate_message_pool_init(&mesh->pool, plan->n_nodes, plan->n_radios);
    mesh->duplicates = spate_duplicates_new(plan, &mesh->pool);
    mesh->frames = g_ptr_array_new_with_free_func(free_frame);
    mesh->first_free = SPATE_NO_FRAME;
    mesh->queues = g_new(SpateSendQueue, MAX(plan->n_radios, 1));
    for (uint32_t r = 0; r < plan->n_radios; r++)
        mesh->queues[r] = (SpateSendQueue){
            .head = SPATE_NO_FRAME, .tail = SPATE_NO_FRAME, .flying = SPATE_NO_FRAME};
    mesh->jitter_key = spate_random_key(seed, replication, SPATE_FOR_RELAY_JITTER);
    mesh->choice_key = spate_random_key(seed, replication, SPATE_FOR_RELAY_CHOICE);
    list_radios(mesh);
    find_traits(mesh);
    mesh->unknown = g_new(uint32_t, plan->n_radios + 1);
    mesh->airtimes_ns = spate_airtimes_new(plan);
    mesh->routes = spate_routes_new();
    mesh->due = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    mesh->delayed = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    mesh->digests = spate_digests_new(plan);
    mesh->outages = spate_outages_new(queue, plan, seed, replication);
    mesh->movers = spate_movers_new(queue, channel, medium, plan);
    init_relay_rules(mesh);
    take_hooks(mesh);
    return mesh;
}

void
spate_mesh_free(SpateMesh *mesh)
{
    if (mesh == NULL)
        return;
    for (uint32_t i = 0; i < mesh->plan->n_nodes; i++)
        spate_rule_memory_free(mesh->relay_memory[i]);
    g_free(mesh->relay_memory);
    spate_occupancy_free(mesh->occupancy);
    spate_routes_free(mesh->routes);
    g_array_free(mesh->due, TRUE);
    g_array_free(mesh->delayed, TRUE);
    spate_digests_free(mesh->digests);
    spate_outages_free(mesh->outages);
    spate_movers_free(mesh->movers);
    g_free(mesh->traits);
    g_free(mesh->unknown);
    g_free(mesh->airtimes_ns);
    g_free(mesh->node_of);
    g_free(mesh->radio_hash);
    g_free(mesh->queues);
    g_ptr_array_free(mesh->frames, TRUE);
    spate_duplicates_free(mesh->duplicates);
    spate_message_pool_clear(&mesh->pool);
    spate_observers_clear(&mesh->observers);
    spate_access_free(mesh->access);
    g_free(mesh);
}

void
spate_mesh_add_observer(SpateMesh *mesh, const SpateObserver *observer)
{
    spate_observers_add(&mesh->observers, observer);
    take_hooks(mesh);
}

void
spate_mesh_on_arrival(SpateMesh *mesh, SpateArrivalFunc arrived, SpateFailedFunc failed,
                      gpointer user)
{
    mesh->arrived = arrived;
    mesh->failed = failed;
    mesh->arrived_user = user;
}

static bool
goes_out_on(const SpateTrafficKind *kind, uint32_t bearer)
{
    return kind->on_bearers == NULL || kind->on_bearers[bearer];
}

void
spate_mesh_tell_message(const SpateMesh *mesh, SpateEventKind kind, uint32_t node, uint32_t hops,
                        const SpateMessageFacts *message)
{
    if (!spate_observers_want(&mesh->observers, kind))
        return;
    const SpateEvent event = {
        .kind = kind,
        .node = node,
        .hops = hops,
        .at_ns = spate_event_queue_now_ns(mesh->queue),
        .message = message,
    };
    spate_observers_tell(&mesh->observers, &event);
}

void
spate_mesh_deliver(SpateMesh *mesh, const SpateMessageFacts *message, uint32_t node, uint32_t hops)
{
    spate_mesh_tell_message(mesh, SPATE_EVENT_DELIVERED, node, hops, message);
    if (mesh->delivered != NULL)
        mesh->delivered(mesh->delivered_user, message, node);
}

void
spate_mesh_on_delivered(SpateMesh *mesh, SpateDeliveredFunc delivered, gpointer user)
{
    mesh->delivered = delivered;
    mesh->delivered_user = user;
}

uint32_t
spate_mesh_n_ways_out(const SpateMesh *mesh, uint32_t slot)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, slot);
    const SpateNode *node = &mesh->plan->nodes[message->facts.origin];
    uint32_t n = 0;
    if (spate_message_is_routed(message))
        return 1;
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        n += goes_out_on(message->kind, mesh->plan->radios[r].bearer) ? 1 : 0;
    return n;
}

void
spate_mesh_send_out(SpateMesh *mesh, uint32_t slot)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, slot);
    const SpateNode *node = &mesh->plan->nodes[message->facts.origin];
    if (spate_message_is_routed(message)) {
        uint32_t radio = g_array_index(message->route, SpateHop, 0).from_radio;
        spate_frame_enqueue(mesh, spate_frame_new(mesh, slot, radio, 1));
        return;
    }
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++)
        if (goes_out_on(message->kind, mesh->plan->radios[r].bearer))
            spate_frame_enqueue(mesh, spate_frame_new(mesh, slot, r, 1));
}

void
spate_mesh_offer(SpateMesh *mesh, uint32_t traffic, uint32_t origin, uint64_t identity)
{
    if (spate_mesh_burden(mesh).is_overloaded)
        return;
    int64_t now_ns = spate_event_queue_now_ns(mesh->queue);
    uint32_t slot = spate_message_pool_take(&mesh->pool);
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    spate_message_set_kind(message, &mesh->plan->traffics[traffic]);
    message->facts = (SpateMessageFacts){
        .number = mesh->n_messages,
        .about = mesh->n_messages++,
        .attempt = 1,
        .traffic = traffic,
        .origin = origin,
        .payload_bytes = message->kind->payload_bytes,
        .offered_ns = now_ns,
        .identity = identity,
    };
    if (message->kind->routing.kind == SPATE_ROUTE_ALONG)
        spate_route_set_given(mesh, slot);
    const SpateEvent event = {
        .kind = SPATE_EVENT_OFFERED,
        .node = origin,
        .at_ns = now_ns,
        .message = &message->facts,
        .is_lost = spate_outages_is_down(mesh->outages, origin),
    };
    if (spate_observers_want(&mesh->observers, event.kind))
        spate_observers_tell(&mesh->observers, &event);
    if (!event.is_lost && message->kind->acknowledgement.tries > 0)
        spate_exchange_open(mesh, slot);
    else if (!event.is_lost)
        spate_mesh_send_out(mesh, slot);
    spate_message_pool_unref(&mesh->pool, slot);
}

SpateMeshBurden
spate_mesh_burden(const SpateMesh *mesh)
{
    SpateMeshBurden burden = {
        .messages = mesh->pool.n_taken,
        .waiting = mesh->counts.waiting,
        .bytes = spate_message_pool_bytes(&mesh->pool) + mesh->frames->len * sizeof(SpateFrame) +
                 spate_duplicates_bytes(mesh->duplicates),
    };
    burden.is_overloaded = burden.bytes > SPATE_MESH_MOST_BYTES;
    return burden;
}

SpateQueueCounts
spate_mesh_queue_counts(const SpateMesh *mesh)
{
    return mesh->counts;
}
