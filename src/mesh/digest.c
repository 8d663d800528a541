/* digest.c - messages that wait to be carried by one frame
 *
 * A rule that says `digest` collects what passes it, for each traffic by itself, so that a digest
 * has the class, the recipients and the deadline of what it carries.  It is made when
 * the first message in it has waited for `every`, when it holds `most`, or when the next would make
 * it longer than a frame may be.  Then it is a new message of the node that made it: its payload is
 * that of all it carries, it does its own hops, and its own copies are recognised.
 */
#include "mesh/mesh-private.h"

#define NO_DIGEST UINT32_MAX

/* Still being collected. */
typedef struct {
    const SpateRule *rule;
    uint32_t node, radio, traffic;
    uint32_t payload_bytes;
    GArray *carried; /* SpateCarried */
    SpateEventId timer;
    uint32_t next; /* of the node, or free */
} OpenDigest;

struct SpateDigests {
    GPtrArray *pool; /* OpenDigest* */
    uint32_t first_free;
    uint32_t *first_of; /* by node */
    GArray *numbers;    /* uint32_t: of what the digest in the making carries, for observers */
    GArray *unpacked;   /* SpateCarried: likewise, without digests */
};

static OpenDigest *
digest_at(const SpateDigests *digests, uint32_t index)
{
    return g_ptr_array_index(digests->pool, index);
}

/* ---- the open ones --------------------------------------------------------------------------- */

static uint32_t
take(SpateDigests *digests)
{
    if (digests->first_free == NO_DIGEST) {
        OpenDigest *digest = g_new0(OpenDigest, 1);
        digest->carried = g_array_new(FALSE, FALSE, sizeof(SpateCarried));
        g_ptr_array_add(digests->pool, digest);
        return digests->pool->len - 1;
    }
    uint32_t index = digests->first_free;
    digests->first_free = digest_at(digests, index)->next;
    return index;
}

static void
give_back(SpateDigests *digests, uint32_t index)
{
    OpenDigest *digest = digest_at(digests, index);
    uint32_t *link = &digests->first_of[digest->node];
    while (*link != index)
        link = &digest_at(digests, *link)->next;
    *link = digest->next;
    digest->next = digests->first_free;
    digests->first_free = index;
}

/* Of the rule and the traffic on a radio: a node may ask the same rules of what it relays on each
 * of its radios.  NO_DIGEST if none is open. */
static uint32_t
find(const SpateDigests *digests, const SpateArrival *arrival, uint32_t radio,
     const SpateRule *rule)
{
    uint32_t index = digests->first_of[arrival->node];
    while (index != NO_DIGEST) {
        const OpenDigest *digest = digest_at(digests, index);
        if (digest->rule == rule && digest->radio == radio &&
            digest->traffic == arrival->facts->traffic)
            return index;
        index = digest->next;
    }
    return NO_DIGEST;
}

/* ---- making one ------------------------------------------------------------------------------ */

/* Drawn from what the digest begins with, so that variants share it. */
static uint64_t
identity_of(const SpateMesh *mesh, const OpenDigest *digest)
{
    uint32_t first = g_array_index(digest->carried, SpateCarried, 0).message;
    return spate_hash_combine(mesh->radio_hash[digest->radio],
                              spate_message_at(&mesh->pool, first)->facts.identity);
}

/* The digest takes over what was collected; the lists change places, so that none is made anew. */
static uint32_t
make_message(SpateMesh *mesh, OpenDigest *digest)
{
    uint32_t slot = spate_message_pool_take(&mesh->pool);
    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    spate_message_set_kind(message, &mesh->plan->traffics[digest->traffic]);
    message->facts = (SpateMessageFacts){
        .number = mesh->n_messages,
        .about = mesh->n_messages++,
        .attempt = 1,
        .traffic = digest->traffic,
        .origin = digest->node,
        .payload_bytes = digest->payload_bytes,
        .offered_ns = spate_event_queue_now_ns(mesh->queue),
        .identity = identity_of(mesh, digest),
    };
    GArray *empty = message->carried;
    message->carried = digest->carried;
    digest->carried = empty != NULL ? empty : g_array_new(FALSE, FALSE, sizeof(SpateCarried));
    return slot;
}

static void
tell(const SpateMesh *mesh, const SpateMessage *message)
{
    if (!spate_observers_want(&mesh->observers, SPATE_EVENT_DIGESTED))
        return;
    GArray *numbers = mesh->digests->numbers;
    g_array_set_size(numbers, message->carried->len);
    for (guint i = 0; i < message->carried->len; i++) {
        uint32_t slot = g_array_index(message->carried, SpateCarried, i).message;
        g_array_index(numbers, uint32_t, i) = spate_message_at(&mesh->pool, slot)->facts.number;
    }
    const SpateEvent event = {
        .kind = SPATE_EVENT_DIGESTED,
        .node = message->facts.origin,
        .at_ns = message->facts.offered_ns,
        .message = &message->facts,
        .carried = &g_array_index(numbers, uint32_t, 0),
        .n_carried = numbers->len,
    };
    spate_observers_tell(&mesh->observers, &event);
}

/* From now on they may be sent there again. */
static void
unmark(const SpateMesh *mesh, const GArray *carried, uint32_t radio)
{
    for (guint i = 0; i < carried->len; i++) {
        SpateMessage *message =
            spate_message_at(&mesh->pool, g_array_index(carried, SpateCarried, i).message);
        message->on_radio[radio] = SPATE_NO_FRAME;
    }
}

/* A digest in a digest gives up what it carries to it: where digests go round in circles, each
 * would hold the one before it for ever. */
static void
unpack(SpateMesh *mesh, SpateMessage *message)
{
    GArray *unpacked = mesh->digests->unpacked;
    g_array_set_size(unpacked, 0);
    for (guint i = 0; i < message->carried->len; i++) {
        SpateCarried outer = g_array_index(message->carried, SpateCarried, i);
        const SpateMessage *within = spate_message_at(&mesh->pool, outer.message);
        if (!spate_message_is_digest(within)) {
            g_array_append_val(unpacked, outer);
            continue;
        }
        for (guint k = 0; k < within->carried->len; k++) {
            SpateCarried inner = g_array_index(within->carried, SpateCarried, k);
            inner.hops += outer.hops;
            spate_message_at(&mesh->pool, inner.message)->references++;
            g_array_append_val(unpacked, inner);
        }
        spate_message_pool_unref(&mesh->pool, outer.message);
    }
    mesh->digests->unpacked = message->carried;
    message->carried = unpacked;
}

static void
close_digest(SpateMesh *mesh, uint32_t index)
{
    OpenDigest *digest = digest_at(mesh->digests, index);
    uint32_t radio = digest->radio;
    spate_event_queue_cancel(mesh->queue, digest->timer);
    uint32_t slot = make_message(mesh, digest);
    give_back(mesh->digests, index);

    SpateMessage *message = spate_message_at(&mesh->pool, slot);
    unmark(mesh, message->carried, radio);
    tell(mesh, message);
    unpack(mesh, message);
    uint32_t frame = spate_frame_new(mesh, slot, radio, 1);
    spate_frame_enqueue_later(mesh, frame, spate_mesh_random_jitter_ns(mesh, frame));
    spate_message_pool_unref(&mesh->pool, slot);
}

static void
first_has_waited(gpointer subject, uint32_t index)
{
    SpateMesh *mesh = subject;
    digest_at(mesh->digests, index)->timer = 0;
    close_digest(mesh, index);
}

/* ---- collecting ------------------------------------------------------------------------------ */

static uint32_t
open_digest(SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio, const SpateRule *rule)
{
    SpateDigests *digests = mesh->digests;
    uint32_t index = take(digests);
    OpenDigest *digest = digest_at(digests, index);
    digest->rule = rule;
    digest->node = arrival->node;
    digest->radio = radio;
    digest->traffic = arrival->facts->traffic;
    digest->payload_bytes = 0;
    digest->next = digests->first_of[arrival->node];
    digests->first_of[arrival->node] = index;
    digest->timer = spate_event_queue_schedule(
        mesh->queue, spate_event_queue_now_ns(mesh->queue) + rule->digest_every_ns,
        SPATE_RANK_TIMER, first_has_waited, mesh, index);
    return index;
}

/* One message always does: what is too long for a frame is dropped where frames are. */
static bool
has_room(const SpateMesh *mesh, const OpenDigest *digest, const SpateArrival *arrival)
{
    const SpateBearer *bearer = &mesh->plan->bearers[mesh->plan->radios[digest->radio].bearer];
    return digest->carried->len == 0 || digest->payload_bytes + arrival->facts->payload_bytes +
                                                (uint32_t)bearer->overhead_bytes <=
                                            (uint32_t)bearer->largest_frame_bytes;
}

void
spate_mesh_collect(SpateMesh *mesh, const SpateArrival *arrival, uint32_t radio,
                   const SpateRule *rule)
{
    uint32_t index = find(mesh->digests, arrival, radio, rule);
    if (index != NO_DIGEST && !has_room(mesh, digest_at(mesh->digests, index), arrival)) {
        close_digest(mesh, index);
        index = NO_DIGEST;
    }
    if (index == NO_DIGEST)
        index = open_digest(mesh, arrival, radio, rule);

    OpenDigest *digest = digest_at(mesh->digests, index);
    SpateMessage *message = spate_message_at(&mesh->pool, arrival->message);
    SpateCarried carried = {arrival->message, arrival->hops};
    g_array_append_val(digest->carried, carried);
    digest->payload_bytes += arrival->facts->payload_bytes;
    message->references++;
    message->on_radio[radio] = SPATE_COLLECTED;
    if (digest->carried->len == rule->digest_most)
        close_digest(mesh, index);
}

void
spate_digests_lose(SpateMesh *mesh, uint32_t node)
{
    SpateDigests *digests = mesh->digests;
    while (digests->first_of[node] != NO_DIGEST) {
        uint32_t index = digests->first_of[node];
        OpenDigest *digest = digest_at(digests, index);
        spate_event_queue_cancel(mesh->queue, digest->timer);
        unmark(mesh, digest->carried, digest->radio);
        for (guint i = 0; i < digest->carried->len; i++)
            spate_message_pool_unref(&mesh->pool,
                                     g_array_index(digest->carried, SpateCarried, i).message);
        g_array_set_size(digest->carried, 0);
        give_back(digests, index);
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

SpateDigests *
spate_digests_new(const SpatePlan *plan)
{
    SpateDigests *digests = g_new0(SpateDigests, 1);
    digests->pool = g_ptr_array_new();
    digests->first_free = NO_DIGEST;
    digests->numbers = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    digests->unpacked = g_array_new(FALSE, FALSE, sizeof(SpateCarried));
    digests->first_of = g_new(uint32_t, MAX(plan->n_nodes, 1));
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        digests->first_of[i] = NO_DIGEST;
    return digests;
}

void
spate_digests_free(SpateDigests *digests)
{
    if (digests == NULL)
        return;
    for (guint i = 0; i < digests->pool->len; i++) {
        g_array_unref(digest_at(digests, i)->carried);
        g_free(digest_at(digests, i));
    }
    g_ptr_array_free(digests->pool, TRUE);
    g_array_free(digests->numbers, TRUE);
    g_array_free(digests->unpacked, TRUE);
    g_free(digests->first_of);
    g_free(digests);
}

void
spate_digests_count_held(const SpateDigests *digests, uint32_t *held)
{
    for (guint i = 0; i < digests->pool->len; i++) {
        const GArray *carried = digest_at(digests, i)->carried;
        for (guint k = 0; k < carried->len; k++)
            held[g_array_index(carried, SpateCarried, k).message]++;
    }
}
