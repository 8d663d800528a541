/* route.c - ways that frames list, given or learned
 *
 * Source routes in the terms of RFC 4728.  A message that floods to find its recipient has frames
 * that record the way they come; the acknowledgement goes back along it, and its source keeps it.
 * A frame along a route is meant for one radio alone.  Hops are numbered from 0: the frame that has
 * done h transmissions, its own included, is that of hop h - 1.
 */
#include "mesh/mesh-private.h"

/* ---- what sources have learned --------------------------------------------------------------- */

/* The way to one recipient; empty: it was dropped. */
typedef struct {
    GArray *hops; /* SpateHop */
    uint32_t version;
} Learned;

struct SpateRoutes {
    GHashTable *by_pair; /* source and recipient -> Learned */
    uint32_t n_versions;
};

static void
free_learned(gpointer item)
{
    Learned *learned = item;
    g_array_unref(learned->hops);
    g_free(learned);
}

SpateRoutes *
spate_routes_new(void)
{
    SpateRoutes *routes = g_new0(SpateRoutes, 1);
    routes->by_pair = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, free_learned);
    return routes;
}

void
spate_routes_free(SpateRoutes *routes)
{
    g_hash_table_unref(routes->by_pair);
    g_free(routes);
}

static gint64
pair_of(uint32_t source, uint32_t recipient)
{
    return (gint64)((uint64_t)source << 32 | recipient);
}

/* NULL: none is known. */
static Learned *
find_learned(const SpateMesh *mesh, uint32_t source, uint32_t recipient)
{
    gint64 pair = pair_of(source, recipient);
    Learned *learned = g_hash_table_lookup(mesh->routes->by_pair, &pair);
    return learned != NULL && learned->hops->len > 0 ? learned : NULL;
}

/* With a place for what comes, once for each pair. */
static Learned *
take_learned(const SpateMesh *mesh, uint32_t source, uint32_t recipient)
{
    gint64 pair = pair_of(source, recipient);
    Learned *learned = g_hash_table_lookup(mesh->routes->by_pair, &pair);
    if (learned == NULL) {
        gint64 *key = g_new(gint64, 1);
        *key = pair;
        learned = g_new0(Learned, 1);
        learned->hops = g_array_new(FALSE, FALSE, sizeof(SpateHop));
        g_hash_table_insert(mesh->routes->by_pair, key, learned);
    }
    return learned;
}

/* Of a message with one recipient. */
static uint32_t
recipient_of(const SpateMessage *message)
{
    return spate_only_recipient(message->recipients, message->facts.origin);
}

/* ---- lists of hops --------------------------------------------------------------------------- */

static GArray *
emptied(GArray **hops)
{
    if (*hops == NULL)
        *hops = g_array_new(FALSE, FALSE, sizeof(SpateHop));
    g_array_set_size(*hops, 0);
    return *hops;
}

static SpateHop
hop_at(const GArray *hops, guint index)
{
    return g_array_index(hops, SpateHop, index);
}

/* To itself too: what is appended is not read. */
static void
append_back(GArray *into, const GArray *hops)
{
    for (guint i = hops->len; i-- > 0;) {
        const SpateHop back = {hop_at(hops, i).to_radio, hop_at(hops, i).from_radio};
        g_array_append_val(into, back);
    }
}

/* The reader of the scenario has made sure that there is one. */
SpateHop
spate_plan_hop(const SpatePlan *plan, uint32_t from, const SpateRouteEntry *to)
{
    for (uint32_t b = 0; b < plan->n_bearers; b++) {
        const SpateHop hop = {spate_plan_radio_on(plan, from, b),
                              spate_plan_radio_on(plan, to->node, b)};
        bool is_wanted = to->bearer < 0 || (uint32_t)to->bearer == b;
        if (is_wanted && hop.from_radio != UINT32_MAX && hop.to_radio != UINT32_MAX)
            return hop;
    }
    g_assert_not_reached();
}

/* ---- what messages list ---------------------------------------------------------------------- */

void
spate_route_set_given(SpateMesh *mesh, uint32_t slot)
{
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    const SpateRouting *routing = &message->kind->routing;
    GArray *route = emptied(&message->route);
    uint32_t from = message->facts.origin;
    for (uint32_t i = 0; i < routing->n_along; from = routing->along[i++].node) {
        const SpateHop hop = spate_plan_hop(mesh->plan, from, &routing->along[i]);
        g_array_append_val(route, hop);
    }
    if (routing->back)
        append_back(route, route);
    message->facts.route_length = routing->n_along;
}

uint32_t
spate_route_set_learned(SpateMesh *mesh, uint32_t slot)
{
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    const Learned *learned = find_learned(mesh, message->facts.origin, recipient_of(message));
    if (learned == NULL)
        return 0;
    g_array_append_vals(emptied(&message->route), learned->hops->data, learned->hops->len);
    message->facts.route_length = learned->hops->len;
    return learned->version;
}

void
spate_route_set_back(SpateMesh *mesh, const SpateArrival *arrival, uint32_t its_try, uint32_t slot)
{
    const SpateMessage *asking = spate_message_at(&mesh->pool, its_try);
    const SpateFrame *frame = spate_frame_at(mesh, arrival->frame);
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    /* In a digest, the frame has not recorded the way of what it carries. */
    if (arrival->message != its_try)
        return;
    GArray *route = emptied(&message->route);
    if (spate_message_is_routed(asking)) {
        append_back(route, asking->route);
    } else {
        const SpateHop last = {arrival->radio, frame->facts.radio};
        g_array_append_val(route, last);
        if (frame->path != NULL)
            append_back(route, frame->path);
    }
    message->facts.route_length = route->len;
}

void
spate_route_record(SpateMesh *mesh, const SpateArrival *arrival, uint32_t slot)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    bool is_search = message->asked != SPATE_NO_MESSAGE && message->facts.attempt > 0 &&
                     message->kind->routing.kind == SPATE_ROUTE_SOURCE &&
                     !spate_message_is_routed(message);
    if (!is_search)
        return;
    const SpateFrame *before = spate_frame_at(mesh, arrival->frame);
    const SpateHop last = {before->facts.radio, arrival->radio};
    GArray *path = emptied(&spate_frame_at(mesh, slot)->path);
    if (before->path != NULL)
        g_array_append_vals(path, before->path->data, before->path->len);
    g_array_append_val(path, last);
}

/* ---- learning and forgetting ----------------------------------------------------------------- */

/* An acknowledgement that came along a route is home. */
static void
learn(SpateMesh *mesh, const SpateMessage *acknowledgement)
{
    const SpateMessage *asked = spate_message_at(&mesh->pool, acknowledgement->asked);
    Learned *learned = take_learned(mesh, asked->facts.origin, recipient_of(asked));
    append_back(emptied(&learned->hops), acknowledgement->route);
    learned->version = ++mesh->routes->n_versions;
    spate_mesh_tell_message(mesh, SPATE_EVENT_ROUTE_LEARNED, asked->facts.origin,
                            learned->hops->len, &asked->facts);
}

void
spate_route_drop(SpateMesh *mesh, const SpateMessage *asked, uint32_t version)
{
    Learned *learned = find_learned(mesh, asked->facts.origin, recipient_of(asked));
    if (learned == NULL || learned->version != version)
        return;
    spate_mesh_tell_message(mesh, SPATE_EVENT_ROUTE_DROPPED, asked->facts.origin,
                            learned->hops->len, &asked->facts);
    g_array_set_size(learned->hops, 0);
}

void
spate_routes_forget(SpateMesh *mesh, uint32_t source)
{
    GHashTableIter iter;
    gpointer pair, learned;
    g_hash_table_iter_init(&iter, mesh->routes->by_pair);
    while (g_hash_table_iter_next(&iter, &pair, &learned))
        if ((uint64_t) * (const gint64 *)pair >> 32 == source)
            g_array_set_size(((Learned *)learned)->hops, 0);
}

/* ---- on the way ------------------------------------------------------------------------------ */

bool
spate_route_leads_on(const SpateMessage *message, uint32_t hops, uint32_t radio)
{
    return hops < message->route->len && hop_at(message->route, hops).from_radio == radio;
}

bool
spate_route_turns(const SpateMessage *message, uint32_t hops)
{
    const SpateRouting *routing = &message->kind->routing;
    return routing->kind == SPATE_ROUTE_ALONG && routing->back && hops == routing->n_along;
}

/* At the end of its way. */
static void
arrive(SpateMesh *mesh, const SpateArrival *arrival)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    const SpateRouting *routing = &message->kind->routing;
    if (routing->kind == SPATE_ROUTE_ALONG) {
        spate_mesh_deliver(mesh, &message->facts, routing->along[routing->n_along - 1].node,
                           arrival->hops);
    } else if (message->facts.attempt > 0) {
        spate_mesh_deliver_try(mesh, message, arrival->node, arrival->hops);
        spate_exchange_answer(mesh, arrival, arrival->message);
    } else {
        learn(mesh, message);
        spate_exchange_note_answer(mesh, message->asked);
    }
}

void
spate_route_receive(SpateMesh *mesh, const SpateArrival *arrival)
{
    const SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    if (hop_at(message->route, arrival->hops - 1).to_radio != arrival->radio)
        return;
    spate_mesh_tell_frame(mesh, SPATE_EVENT_ARRIVED, &spate_frame_at(mesh, arrival->frame)->facts,
                          arrival->radio);
    if (arrival->hops == message->route->len)
        arrive(mesh, arrival);
    else
        spate_mesh_send_on(mesh, arrival);
}
