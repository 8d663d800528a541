/* relay.c - what a node does with a copy that it has received
 *
 * On the first copy: deliver, relay on the bearer on which it came, then hand it on to
 * those who look after crossings.  On a further copy: count it, which may cancel a relay.
 */
#include "mesh/mesh-private.h"

/* ---- the first copy -------------------------------------------------------------------------- */

/* Once, however often the node forgets the message. */
static void
deliver(SpateMesh *mesh, const SpateMessage *message, uint32_t node, uint32_t hops)
{
    if (!spate_node_has_trait(mesh, node, SPATE_IS_RECIPIENT) ||
        message->at_node[node].is_delivered || !spate_is_recipient(message->kind, node))
        return;
    message->at_node[node].is_delivered = true;
    spate_mesh_deliver(mesh, &message->facts, node, hops);
}

/* The same of a message that wants an answer: with the first of its tries that comes. */
void
spate_mesh_deliver_try(SpateMesh *mesh, const SpateMessage *message, uint32_t node, uint32_t hops)
{
    SpateMessage *asked = spate_message_at(&mesh->pool, message->asked);
    if (asked->exchange.is_delivered || !spate_is_recipient(message->kind, node))
        return;
    asked->exchange.is_delivered = true;
    spate_mesh_deliver(mesh, &asked->facts, node, hops);
}

static void
deliver_one(SpateMesh *mesh, uint32_t slot, uint32_t node, uint32_t hops)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, slot);
    if (message->facts.origin == node)
        return;
    if (message->asked == SPATE_NO_MESSAGE)
        deliver(mesh, message, node, hops);
    else if (message->facts.attempt > 0)
        spate_mesh_deliver_try(mesh, message, node, hops);
    else if (message->recipients[0] == node)
        spate_exchange_note_answer(mesh, message->asked);
}

/* A digest is delivered as what it carries; a node takes nothing of its own from it. */
static void
deliver_content(SpateMesh *mesh, uint32_t slot, uint32_t node, uint32_t hops)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, slot);
    if (!spate_message_is_digest(message)) {
        deliver_one(mesh, slot, node, hops);
        return;
    }
    for (guint i = 0; i < message->carried->len; i++) {
        const SpateCarried *carried = &g_array_index(message->carried, SpateCarried, i);
        deliver_one(mesh, carried->message, node, carried->hops + hops);
    }
}

static void
answer_one(SpateMesh *mesh, const SpateArrival *arrival, uint32_t slot)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, slot);
    if (message->asked != SPATE_NO_MESSAGE && message->facts.attempt > 0 &&
        message->facts.origin != arrival->node && spate_is_recipient(message->kind, arrival->node))
        spate_exchange_answer(mesh, arrival, slot);
}

/* Tries are answered after the node has decided about sending them on. */
static void
answer_content(SpateMesh *mesh, const SpateArrival *arrival)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    if (!spate_message_is_digest(message)) {
        answer_one(mesh, arrival, arrival->message);
        return;
    }
    for (guint i = 0; i < message->carried->len; i++)
        answer_one(mesh, arrival, g_array_index(message->carried, SpateCarried, i).message);
}

static void
relay(SpateMesh *mesh, const SpateArrival *arrival)
{
    /* In many meshes most nodes only listen. */
    bool may_relay = mesh->plan->radios[arrival->radio].relays || arrival->facts->route_length > 0;
    if (!may_relay && !spate_observers_want_decision(&mesh->observers, false))
        return;
    const SpateNode *node = &mesh->plan->nodes[arrival->node];
    SpateWay way = {
        .radio = arrival->radio,
        .rules = node->relay_rules,
        .n_rules = node->n_relay_rules,
        .otherwise_passes = true,
        .memory = mesh->relay_memory[arrival->node],
    };
    spate_mesh_consider(mesh, arrival, &way);
}

void
spate_mesh_send_on(SpateMesh *mesh, const SpateArrival *arrival)
{
    relay(mesh, arrival);
    if (mesh->arrived != NULL && spate_node_has_trait(mesh, arrival->node, SPATE_HAS_CROSSINGS))
        mesh->arrived(mesh->arrived_user, arrival);
}

static void
note_first(const SpateMessage *message, uint32_t node)
{
    message->at_node[node].is_known = true;
    message->at_node[node].copies = 0;
}

static void
receive_first(SpateMesh *mesh, const SpateArrival *arrival)
{
    note_first(spate_message_at(&mesh->pool, arrival->message), arrival->node);
    if (spate_node_has_trait(mesh, arrival->node, SPATE_MAY_FORGET))
        spate_duplicates_note(mesh->duplicates, arrival->node, arrival->message,
                              spate_event_queue_now_ns(mesh->queue));
    deliver_content(mesh, arrival->message, arrival->node, arrival->hops);
    spate_mesh_send_on(mesh, arrival);
    answer_content(mesh, arrival);
}

/* ---- further copies -------------------------------------------------------------------------- */

/* Relays that do not fly yet; a node has at most one of a message on each of its radios. */
static void
cancel_relays(SpateMesh *mesh, const SpateMessage *message, const SpateNode *node)
{
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++) {
        uint32_t slot = message->on_radio[r];
        if (slot != SPATE_NO_FRAME && slot != SPATE_COLLECTED &&
            spate_frame_at(mesh, slot)->is_governed)
            spate_frame_cancel(mesh, slot);
    }
}

static void
receive_again(SpateMesh *mesh, const SpateMessage *message, uint32_t number)
{
    const SpateNode *node = &mesh->plan->nodes[number];
    SpateKnowledge *knowledge = &message->at_node[number];
    knowledge->copies++;
    if (node->flooding.policy == SPATE_FLOOD_COUNTER && knowledge->copies >= node->flooding.copies)
        cancel_relays(mesh, message, node);
}

/* `event` is put together for the first of those that a frame brings to several nodes. */
static void
tell_arrived(const SpateMesh *mesh, const SpateFrameFacts *frame, const SpateArrival *arrival,
             SpateEvent *event)
{
    if (!spate_observers_want(&mesh->observers, SPATE_EVENT_ARRIVED))
        return;
    if (event->kind != SPATE_EVENT_ARRIVED)
        *event = spate_frame_event(mesh, SPATE_EVENT_ARRIVED, frame, arrival->radio);
    event->node = arrival->node;
    event->radio = arrival->radio;
    spate_observers_tell(&mesh->observers, event);
}

/* By itself: the way of a copy that is known, of which there are many, stays short. */
static G_GNUC_NO_INLINE void
receive_unknown(SpateMesh *mesh, const SpateFrameFacts *frame, const SpateArrival *arrival,
                SpateEvent *event)
{
    if (arrival->facts->route_length > 0) {
        spate_route_receive(mesh, arrival);
        return;
    }
    tell_arrived(mesh, frame, arrival, event);
    receive_first(mesh, arrival);
}

/* Those places of the receivers, in order, whose nodes do not know the message. */
static uint32_t
list_unknown(SpateMesh *mesh, const SpateMessage *message, const SpateReceivers *receivers)
{
    const uint32_t *node_of = mesh->node_of, *at = receivers->at, *receiver = receivers->receiver;
    uint32_t *unknown = mesh->unknown, n_unknown = 0, n = receivers->n;
    for (uint32_t i = 0; i < n; i++) {
        uint32_t place = at[i];
        unknown[n_unknown] = place;
        n_unknown += !spate_mesh_knows(message, node_of[receiver[place]]);
    }
    return n_unknown;
}

/* Whether a node of no trait does nothing with the message but note it. */
static bool
is_only_noted(const SpateMesh *mesh, const SpateMessage *message)
{
    return message->facts.route_length == 0 && message->asked == SPATE_NO_MESSAGE &&
           !spate_message_is_digest(message) &&
           !spate_observers_want(&mesh->observers, SPATE_EVENT_ARRIVED) &&
           !spate_observers_want_decision(&mesh->observers, false);
}

static void
tell_first_copies(const SpateMesh *mesh, const SpateFrameFacts *frame, uint32_t n_first)
{
    if (n_first == 0 || !spate_observers_wish(&mesh->observers, SPATE_ARRIVED_IN_NUMBERS))
        return;
    SpateEvent event = spate_frame_event(mesh, SPATE_EVENT_ARRIVED, frame, frame->radio);
    event.n_receptions = n_first;
    spate_observers_tell(&mesh->observers, &event);
}

void
spate_mesh_receive(gpointer user, const SpateAirFrame *air, const SpateReceivers *receivers)
{
    SpateMesh *mesh = user;
    const SpateFrame *frame = spate_frame_at(mesh, air->cargo);
    const SpateMessage *message = spate_message_at(&mesh->pool, frame->message);
    bool floods = message->facts.route_length == 0, noted_only = is_only_noted(mesh, message);
    /* A node forgets what is old when it looks for what it knows: not for what has a route. */
    bool forgets = floods && mesh->forgets_with_time;
    bool is_told = spate_observers_want(&mesh->observers, SPATE_EVENT_REDUNDANT);
    /* Mostly nothing is done with a copy of what is known. */
    bool all_matter = !floods || forgets || is_told || mesh->counts_copies;
    uint32_t n = all_matter ? receivers->n : list_unknown(mesh, message, receivers), n_first = 0;
    const uint32_t *places = all_matter ? receivers->at : mesh->unknown;
    SpateArrival arrival = {.message = frame->message,
                            .facts = &message->facts,
                            .frame = air->cargo,
                            .hops = frame->facts.hops};
    SpateEvent event;
    event.kind = 0;
    for (uint32_t i = 0; i < n; i++) {
        uint32_t radio = receivers->receiver[places[i]], node = mesh->node_of[radio];
        if (forgets)
            spate_duplicates_expire(mesh->duplicates, node, air->end_ns);
        if (!floods || !spate_mesh_knows(message, node)) {
            n_first += floods;
            if (noted_only && mesh->traits[node] == 0) {
                note_first(message, node);
                continue;
            }
            arrival.node = node;
            arrival.radio = radio;
            arrival.power = receivers->power[places[i]];
            receive_unknown(mesh, &frame->facts, &arrival, &event);
            continue;
        }
        if (is_told)
            spate_mesh_tell_frame(mesh, SPATE_EVENT_REDUNDANT, &frame->facts, radio);
        if (mesh->counts_copies)
            receive_again(mesh, message, node);
    }
    tell_first_copies(mesh, &frame->facts, n_first);
}
