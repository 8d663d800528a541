/* mesh-check.c - what must hold whenever no event is being run */
#include "mesh/mesh-private.h"

static void
check_counts(const SpateMesh *mesh)
{
    const SpateQueueCounts *counts = &mesh->counts;
    uint64_t accounted = counts->sent + counts->waiting;
    for (int i = 0; i < SPATE_N_DROPS; i++)
        accounted += counts->dropped[i];
    g_assert(accounted == counts->offered);
}

static void
check_queued_frame(const SpateMesh *mesh, uint32_t slot, uint32_t radio)
{
    const SpateFrame *frame = spate_frame_at(mesh, slot);
    const SpateQueueSettings *settings = &spate_node_of(mesh, radio)->queue;
    int64_t waited_ns = spate_event_queue_now_ns(mesh->queue) - frame->facts.queued_ns;
    g_assert(frame->state == SPATE_FRAME_QUEUED && frame->facts.radio == radio);
    g_assert(spate_message_at(&mesh->pool, frame->message)->on_radio[radio] == slot);
    g_assert(settings->expire_ns == 0 || waited_ns <= settings->expire_ns);
    if (frame->next == SPATE_NO_FRAME)
        return;
    const SpateFrame *next = spate_frame_at(mesh, frame->next);
    uint32_t rank = mesh->plan->traffics[frame->facts.message.traffic].class_rank;
    uint32_t next_rank = mesh->plan->traffics[next->facts.message.traffic].class_rank;
    g_assert(next->previous == slot);
    g_assert(!settings->by_class || rank <= next_rank);
    g_assert((settings->by_class && rank < next_rank) ||
             frame->facts.queued_ns <= next->facts.queued_ns);
}

/* Returns how many frames wait there. */
static uint32_t
check_queue(const SpateMesh *mesh, uint32_t radio)
{
    const SpateSendQueue *queue = &mesh->queues[radio];
    uint32_t length = 0;
    for (uint32_t slot = queue->head; slot != SPATE_NO_FRAME;
         slot = spate_frame_at(mesh, slot)->next) {
        check_queued_frame(mesh, slot, radio);
        length++;
    }
    bool is_flying = queue->flying != SPATE_NO_FRAME;
    g_assert(length == queue->length && length <= spate_node_of(mesh, radio)->queue.frames);
    g_assert(is_flying == spate_channel_is_sending(mesh->channel, radio));
    g_assert(queue->is_requested == (length > 0 && !is_flying));
    g_assert(length == 0 || !spate_outages_is_down(mesh->outages, mesh->plan->radios[radio].node));
    g_assert(!is_flying || spate_frame_at(mesh, queue->flying)->state == SPATE_FRAME_FLYING);
    return length;
}

static void
check_queues(const SpateMesh *mesh)
{
    uint64_t waiting = 0;
    for (uint32_t r = 0; r < mesh->plan->n_radios; r++)
        waiting += check_queue(mesh, r);
    g_assert(waiting == mesh->counts.waiting);
}

static void
count_carried(const SpateMesh *mesh, uint32_t *held)
{
    for (guint i = 0; i < mesh->pool.messages->len; i++) {
        const GArray *carried = spate_message_at(&mesh->pool, i)->carried;
        for (guint k = 0; carried != NULL && k < carried->len; k++)
            held[g_array_index(carried, SpateCarried, k).message]++;
    }
}

/* A try or an acknowledgement holds what it is about, as does a source that waits for an answer. */
static void
count_asked(const SpateMesh *mesh, uint32_t *held)
{
    for (guint i = 0; i < mesh->pool.messages->len; i++) {
        const SpateMessage *message = spate_message_at(&mesh->pool, i);
        if (message->references == 0 || message->asked == SPATE_NO_MESSAGE)
            continue;
        if (message->asked != i)
            held[message->asked]++;
        else if (message->exchange.is_open)
            held[i]++;
        g_assert(!message->exchange.is_acknowledged || message->exchange.is_delivered);
        g_assert(message->exchange.n_tries <= message->kind->acknowledgement.tries);
    }
}

/* Each frame holds its message once, each digest what it carries; nothing but these and exchanges
 * does between events. */
static void
check_references(const SpateMesh *mesh)
{
    g_autofree uint32_t *held = g_new0(uint32_t, MAX(mesh->pool.messages->len, 1));
    for (guint i = 0; i < mesh->frames->len; i++) {
        const SpateFrame *frame = spate_frame_at(mesh, i);
        if (frame->state == SPATE_FRAME_FREE)
            continue;
        held[frame->message]++;
        g_assert(
            frame->state == SPATE_FRAME_FLYING ||
            !spate_outages_is_down(mesh->outages, mesh->plan->radios[frame->facts.radio].node));
    }
    count_carried(mesh, held);
    count_asked(mesh, held);
    spate_digests_count_held(mesh->digests, held);
    for (guint i = 0; i < mesh->pool.messages->len; i++)
        g_assert(held[i] == spate_message_at(&mesh->pool, i)->references);
}

static void
check_duplicates(const SpateMesh *mesh)
{
    for (uint32_t i = 0; i < mesh->plan->n_nodes; i++) {
        uint32_t bound = mesh->plan->nodes[i].flooding.duplicates_entries;
        g_assert(bound == 0 || spate_duplicates_length(mesh->duplicates, i) <= bound);
    }
}

void
spate_mesh_check(const SpateMesh *mesh)
{
    check_counts(mesh);
    check_queues(mesh);
    check_references(mesh);
    check_duplicates(mesh);
}
