/* exchange.c - messages that want an answer: tries and acknowledgements
 *
 * The terms are those of RFC 4728.  A try is a message of its own, with an identity of its own, and
 * so is an acknowledgement; the first try is the message as it was offered.  All of them hold that
 * one, so that what they have in common lives as long as any of them is under way: an answer that
 * comes late still finds it.  The source holds it too until it is answered or gives up.
 */
#include "mesh/mesh-private.h"

/* A message of the same traffic, without a sender and an identity yet. */
static uint32_t
take_message_about(SpateMesh *mesh, uint32_t asked_slot)
{
    SpateMessage *asked = spate_message_at(&mesh->pool, asked_slot);
    uint32_t slot = spate_message_pool_take(&mesh->pool);
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    spate_message_set_kind(message, asked->kind);
    message->asked = asked_slot;
    asked->references++;
    message->facts = asked->facts;
    message->facts.route_length = 0;
    message->facts.number = mesh->n_messages++;
    return slot;
}

/* ---- at the source --------------------------------------------------------------------------- */

static void
close_exchange(SpateMesh *mesh, uint32_t slot)
{
    SpateExchange *exchange = &spate_message_at(&mesh->pool, slot)->exchange;
    spate_event_queue_cancel(mesh->queue, exchange->timer);
    exchange->timer = 0;
    exchange->is_open = false;
    spate_message_pool_unref(&mesh->pool, slot);
}

static void
is_due(gpointer subject, uint32_t slot)
{
    SpateMesh *mesh = subject;
    spate_message_at(&mesh->pool, slot)->exchange.timer = 0;
    g_array_append_val(mesh->due, slot);
    /* Not before it is needed: there are many instants of that rank. */
    spate_event_queue_on_close(mesh->queue, SPATE_RANK_TIMER, spate_exchange_try_again, mesh);
}

static void
count_frame_over(SpateMesh *mesh, uint32_t slot, int64_t at_ns)
{
    SpateMessage *asked = spate_message_at(&mesh->pool, slot);
    SpateExchange *exchange = &asked->exchange;
    g_assert(exchange->frames_left > 0);
    /* One that expired was over a nanosecond ago, and another may have ended now. */
    exchange->over_ns = MAX(exchange->over_ns, at_ns);
    if (--exchange->frames_left == 0 && exchange->is_open)
        exchange->timer = spate_event_queue_schedule(
            mesh->queue, exchange->over_ns + asked->kind->acknowledgement.within_ns,
            SPATE_RANK_TIMER, is_due, mesh, slot);
}

void
spate_exchange_frame_is_over(SpateMesh *mesh, const SpateMessage *message, uint32_t node,
                             int64_t at_ns)
{
    if (message->asked != SPATE_NO_MESSAGE && message->facts.attempt > 0 &&
        message->facts.origin == node)
        count_frame_over(mesh, message->asked, at_ns);
}

/* Frames may be dropped at once: what is being sent counts as one more, so that none is the last
 * too early, and there is a last one where the source has no radio for it. */
static void
send_try(SpateMesh *mesh, uint32_t asked, uint32_t slot)
{
    SpateExchange *exchange = &spate_message_at(&mesh->pool, asked)->exchange;
    SpateRouteKind routing = spate_message_at(&mesh->pool, asked)->kind->routing.kind;
    exchange->n_tries++;
    exchange->route_version = routing == SPATE_ROUTE_SOURCE && !exchange->must_flood
                                  ? spate_route_set_learned(mesh, slot)
                                  : 0;
    exchange->must_flood = false;
    exchange->frames_left = 1 + spate_mesh_n_ways_out(mesh, slot);
    spate_mesh_send_out(mesh, slot);
    count_frame_over(mesh, asked, spate_event_queue_now_ns(mesh->queue));
}

void
spate_exchange_open(SpateMesh *mesh, uint32_t slot)
{
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    message->asked = slot;
    message->references++;
    message->exchange = (SpateExchange){.is_open = true};
    send_try(mesh, slot, slot);
}

/* What falls due at a source that is down is lost: it does not try again. */
static void
try_once_more(SpateMesh *mesh, uint32_t asked_slot)
{
    SpateMessage *asked = spate_message_at(&mesh->pool, asked_slot);
    if (asked->exchange.route_version != 0) {
        spate_route_drop(mesh, asked, asked->exchange.route_version);
        asked->exchange.must_flood = true;
    }
    if (asked->exchange.n_tries >= asked->kind->acknowledgement.tries ||
        spate_outages_is_down(mesh->outages, asked->facts.origin) ||
        spate_mesh_burden(mesh).is_overloaded) {
        close_exchange(mesh, asked_slot);
        return;
    }
    uint32_t slot = take_message_about(mesh, asked_slot);
    SpateMessageFacts *facts = &spate_message_at(&mesh->pool, slot)->facts;
    facts->attempt = asked->exchange.n_tries + 1;
    facts->identity =
        spate_hash_combine(asked->facts.identity, spate_hash_combine(SPATE_OF_TRY, facts->attempt));
    spate_mesh_tell_message(mesh, SPATE_EVENT_TRIED, facts->origin, 0, facts);
    send_try(mesh, asked_slot, slot);
    spate_message_pool_unref(&mesh->pool, slot);
}

/* In one queue by the order of the offers, and of sources, so that numbers of messages do not hang
 * on when timers were set. */
static bool
is_tried_before(const SpateMesh *mesh, uint32_t a, uint32_t b)
{
    const SpateMessageFacts *first = &spate_message_at(&mesh->pool, a)->facts;
    const SpateMessageFacts *second = &spate_message_at(&mesh->pool, b)->facts;
    return first->origin != second->origin ? first->origin < second->origin
                                           : first->number < second->number;
}

/* Sorted by insertion: a library's sort would allocate, and few are due together. */
void
spate_exchange_try_again(gpointer user)
{
    SpateMesh *mesh = user;
    if (mesh->due->len == 0)
        return;
    uint32_t *due = (uint32_t *)(void *)mesh->due->data;
    for (guint i = 1; i < mesh->due->len; i++) {
        uint32_t slot = due[i];
        guint place = i;
        for (; place > 0 && is_tried_before(mesh, slot, due[place - 1]); place--)
            due[place] = due[place - 1];
        due[place] = slot;
    }
    for (guint i = 0; i < mesh->due->len; i++)
        try_once_more(mesh, g_array_index(mesh->due, uint32_t, i));
    g_array_set_size(mesh->due, 0);
}

void
spate_exchange_note_answer(SpateMesh *mesh, uint32_t slot)
{
    SpateMessage *asked = spate_message_at(&mesh->pool, slot);
    if (asked->exchange.is_acknowledged)
        return;
    asked->exchange.is_acknowledged = true;
    spate_mesh_tell_message(mesh, SPATE_EVENT_ACKNOWLEDGED, asked->facts.origin, 0, &asked->facts);
    if (asked->exchange.is_open)
        close_exchange(mesh, slot);
}

/* ---- at the recipient ------------------------------------------------------------------------ */

/* Along the way that the try came, at once; else on all radios, where each frame waits as that of a
 * relay. */
static void
send_answer(SpateMesh *mesh, const SpateArrival *arrival, uint32_t slot)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, slot);
    const SpateNode *node = &mesh->plan->nodes[arrival->node];
    if (spate_message_is_routed(message)) {
        uint32_t radio = g_array_index(message->route, SpateHop, 0).from_radio;
        spate_frame_enqueue_later(mesh, spate_frame_new(mesh, slot, radio, 1), 0);
        return;
    }
    for (uint32_t r = node->first_radio; r < node->first_radio + node->n_radios; r++) {
        uint32_t frame = spate_frame_new(mesh, slot, r, 1);
        spate_frame_enqueue_later(mesh, frame, spate_mesh_jitter_ns(mesh, arrival, frame));
    }
}

void
spate_exchange_answer(SpateMesh *mesh, const SpateArrival *arrival, uint32_t try_slot)
{
    SpateMessage *its_try = spate_message_at(&mesh->pool, try_slot);
    if (its_try->at_node[arrival->node].is_answered || spate_mesh_burden(mesh).is_overloaded)
        return;
    its_try->at_node[arrival->node].is_answered = true;
    const SpateMessage *asked = spate_message_at(&mesh->pool, its_try->asked);
    uint32_t slot = take_message_about(mesh, its_try->asked);
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    message->recipients = &asked->facts.origin;
    message->n_recipients = 1;
    message->facts.origin = arrival->node;
    message->facts.attempt = 0;
    message->facts.payload_bytes = asked->kind->acknowledgement.payload_bytes;
    message->facts.identity =
        spate_hash_combine(its_try->facts.identity,
                           spate_hash_combine(SPATE_OF_ACKNOWLEDGEMENT, its_try->n_answers++));
    if (asked->kind->routing.kind == SPATE_ROUTE_SOURCE)
        spate_route_set_back(mesh, arrival, try_slot, slot);
    spate_mesh_tell_message(mesh, SPATE_EVENT_ANSWERED, arrival->node, 0, &message->facts);
    send_answer(mesh, arrival, slot);
    spate_message_pool_unref(&mesh->pool, slot);
}
