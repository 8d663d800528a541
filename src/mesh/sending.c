/* sending.c - from the decision to send to the end of the frame */
#include "mesh/mesh-private.h"

#define KEPT_AIRTIMES 256 /* of frames shorter than that */

static void
put_among_free(SpateMesh *mesh, uint32_t slot)
{
    SpateFrame *frame = spate_frame_at(mesh, slot);
    frame->state = SPATE_FRAME_FREE;
    frame->next = mesh->first_free;
    mesh->first_free = slot;
}

/* As many again as there are, so that a pool that is about large enough seldom grows, up to some
 * ten megabytes. */
static void
grow_pool(SpateMesh *mesh)
{
    guint old = mesh->frames->len, grown = old + CLAMP(old, 64, 1 << 16);
    for (guint i = old; i < grown; i++)
        g_ptr_array_add(mesh->frames, g_new0(SpateFrame, 1));
    for (guint i = grown; i > old; i--)
        put_among_free(mesh, i - 1);
}

static uint32_t
take_slot(SpateMesh *mesh)
{
    if (mesh->first_free == SPATE_NO_FRAME)
        grow_pool(mesh);
    uint32_t slot = mesh->first_free;
    mesh->first_free = spate_frame_at(mesh, slot)->next;
    return slot;
}

static uint32_t
frame_bytes(const SpateMesh *mesh, const SpateMessage *message, uint32_t radio, uint32_t hops)
{
    const SpateBearer *bearer = &mesh->plan->bearers[mesh->plan->radios[radio].bearer];
    uint32_t record = spate_node_of(mesh, radio)->flooding.route_record_bytes;
    uint32_t n_listed = spate_message_is_routed(message) ? message->facts.route_length : hops - 1;
    return message->facts.payload_bytes + (uint32_t)bearer->overhead_bytes + record * n_listed;
}

int64_t *
spate_airtimes_new(const SpatePlan *plan)
{
    return g_new0(int64_t, MAX(plan->n_bearers, 1) * KEPT_AIRTIMES);
}

/* Most frames are short, and of a few lengths. */
static int64_t
airtime_ns(const SpateMesh *mesh, uint32_t bearer, uint32_t bytes)
{
    const SpateModulation *modulation = &mesh->plan->bearers[bearer].modulation;
    if (bytes >= KEPT_AIRTIMES)
        return modulation->kind->airtime_ns(modulation, bytes);
    int64_t *kept_ns = &mesh->airtimes_ns[bearer * KEPT_AIRTIMES + bytes];
    if (*kept_ns == 0)
        *kept_ns = modulation->kind->airtime_ns(modulation, bytes);
    return *kept_ns;
}

uint32_t
spate_frame_new(SpateMesh *mesh, uint32_t number, uint32_t radio, uint32_t hops)
{
    SpateMessage *message = spate_message_at(&mesh->pool, number);
    uint32_t slot = take_slot(mesh);
    uint32_t bytes = frame_bytes(mesh, message, radio, hops);
    GArray *path = spate_frame_at(mesh, slot)->path;
    if (path != NULL)
        g_array_set_size(path, 0);
    *spate_frame_at(mesh, slot) = (SpateFrame){
        .facts = {.message = message->facts,
                  .radio = radio,
                  .hops = hops,
                  .frame_bytes = bytes,
                  .airtime_ns = airtime_ns(mesh, mesh->plan->radios[radio].bearer, bytes),
                  .queued_ns = -1},
        .message = number,
        .identity = spate_hash_combine(message->facts.identity, mesh->radio_hash[radio]),
        .state = SPATE_FRAME_JITTER,
        .path = path,
        .previous = SPATE_NO_FRAME,
        .next = SPATE_NO_FRAME,
    };
    message->references++;
    message->on_radio[radio] = slot;
    return slot;
}

static void
give_back(SpateMesh *mesh, uint32_t slot)
{
    SpateFrame *frame = spate_frame_at(mesh, slot);
    SpateMessage *message = spate_message_at(&mesh->pool, frame->message);
    if (message->on_radio[frame->facts.radio] == slot)
        message->on_radio[frame->facts.radio] = SPATE_NO_FRAME;
    spate_event_queue_cancel(mesh->queue, frame->timer);
    put_among_free(mesh, slot);
    spate_message_pool_unref(&mesh->pool, frame->message);
}

/* Whether it had reached a queue or not. */
static void
report_drop(const SpateMesh *mesh, uint32_t slot, SpateDropCause cause)
{
    const SpateFrameFacts *frame = &spate_frame_at(mesh, slot)->facts;
    SpateEvent event = spate_frame_event(mesh, SPATE_EVENT_DROPPED, frame, frame->radio);
    event.cause = cause;
    if (spate_observers_want(&mesh->observers, event.kind))
        spate_observers_tell(&mesh->observers, &event);
}

static void
drop(SpateMesh *mesh, uint32_t slot, SpateDropCause cause)
{
    const SpateFrame *frame = spate_frame_at(mesh, slot);
    /* What waited too long is over when its time was, a nanosecond before this event. */
    int64_t over_ns = spate_event_queue_now_ns(mesh->queue) - (cause == SPATE_DROP_EXPIRED);
    mesh->counts.dropped[cause]++;
    report_drop(mesh, slot, cause);
    spate_exchange_frame_is_over(mesh, spate_message_at(&mesh->pool, frame->message),
                                 mesh->plan->radios[frame->facts.radio].node, over_ns);
    give_back(mesh, slot);
}

/* ---- the queue of a radio -------------------------------------------------------------------- */

/* Asks for the air on behalf of the head, unless the radio is sending. */
static void
request_access(SpateMesh *mesh, uint32_t radio)
{
    SpateSendQueue *queue = &mesh->queues[radio];
    if (queue->head == SPATE_NO_FRAME || queue->flying != SPATE_NO_FRAME)
        return;
    const SpateFrame *head = spate_frame_at(mesh, queue->head);
    queue->is_requested = true;
    spate_access_request(mesh->access, radio, head->facts.airtime_ns, head->identity);
}

static void
withdraw_request(SpateMesh *mesh, uint32_t radio)
{
    if (mesh->queues[radio].is_requested)
        spate_access_withdraw(mesh->access, radio);
    mesh->queues[radio].is_requested = false;
}

static uint32_t
class_rank(const SpateMesh *mesh, uint32_t slot)
{
    uint32_t traffic = spate_frame_at(mesh, slot)->facts.message.traffic;
    return mesh->plan->traffics[traffic].class_rank;
}

/* The frame after which the new one is queued; none: it goes first. */
static uint32_t
find_place(const SpateMesh *mesh, const SpateSendQueue *queue, uint32_t slot, bool by_class)
{
    uint32_t before = queue->tail;
    while (by_class && before != SPATE_NO_FRAME &&
           class_rank(mesh, before) > class_rank(mesh, slot))
        before = spate_frame_at(mesh, before)->previous;
    return before;
}

static void
link_after(SpateMesh *mesh, SpateSendQueue *queue, uint32_t before, uint32_t slot)
{
    SpateFrame *frame = spate_frame_at(mesh, slot);
    uint32_t after = before == SPATE_NO_FRAME ? queue->head : spate_frame_at(mesh, before)->next;
    frame->previous = before;
    frame->next = after;
    if (before == SPATE_NO_FRAME)
        queue->head = slot;
    else
        spate_frame_at(mesh, before)->next = slot;
    if (after == SPATE_NO_FRAME)
        queue->tail = slot;
    else
        spate_frame_at(mesh, after)->previous = slot;
    queue->length++;
}

static void
unlink_frame(SpateMesh *mesh, uint32_t slot)
{
    const SpateFrame *frame = spate_frame_at(mesh, slot);
    SpateSendQueue *queue = &mesh->queues[frame->facts.radio];
    if (frame->previous == SPATE_NO_FRAME)
        queue->head = frame->next;
    else
        spate_frame_at(mesh, frame->previous)->next = frame->next;
    if (frame->next == SPATE_NO_FRAME)
        queue->tail = frame->previous;
    else
        spate_frame_at(mesh, frame->next)->previous = frame->previous;
    queue->length--;
    mesh->counts.waiting--;
}

/* Drops a frame from within the queue; if it was the head, the next one asks for the air. */
static void
drop_queued(SpateMesh *mesh, uint32_t slot, SpateDropCause cause)
{
    uint32_t radio = spate_frame_at(mesh, slot)->facts.radio;
    bool was_head = mesh->queues[radio].head == slot;
    unlink_frame(mesh, slot);
    drop(mesh, slot, cause);
    if (was_head) {
        withdraw_request(mesh, radio);
        request_access(mesh, radio);
    }
}

static void
expire(gpointer subject, uint32_t slot)
{
    SpateMesh *mesh = subject;
    spate_frame_at(mesh, slot)->timer = 0;
    drop_queued(mesh, slot, SPATE_DROP_EXPIRED);
}

static void
insert(SpateMesh *mesh, uint32_t slot)
{
    SpateFrame *frame = spate_frame_at(mesh, slot);
    uint32_t radio = frame->facts.radio;
    SpateSendQueue *queue = &mesh->queues[radio];
    const SpateQueueSettings *settings = &spate_node_of(mesh, radio)->queue;
    int64_t now_ns = spate_event_queue_now_ns(mesh->queue);
    frame->state = SPATE_FRAME_QUEUED;
    mesh->counts.waiting++;
    link_after(mesh, queue, find_place(mesh, queue, slot, settings->by_class), slot);
    /* "Waited longer than": at that instant it still may go. */
    if (settings->expire_ns > 0)
        frame->timer = spate_event_queue_schedule(mesh->queue, now_ns + settings->expire_ns + 1,
                                                  SPATE_RANK_TIMER, expire, mesh, slot);
    spate_mesh_tell_frame(mesh, SPATE_EVENT_QUEUED, &frame->facts, radio);
    if (queue->head == slot) {
        withdraw_request(mesh, radio);
        request_access(mesh, radio);
    }
}

void
spate_frame_enqueue(SpateMesh *mesh, uint32_t slot)
{
    SpateFrame *frame = spate_frame_at(mesh, slot);
    uint32_t radio = frame->facts.radio;
    const SpateBearer *bearer = &mesh->plan->bearers[mesh->plan->radios[radio].bearer];
    frame->facts.queued_ns = spate_event_queue_now_ns(mesh->queue);
    frame->timer = 0;
    mesh->counts.offered++;
    if (frame->facts.frame_bytes > (uint32_t)bearer->largest_frame_bytes)
        drop(mesh, slot, SPATE_DROP_SIZE);
    else if (mesh->queues[radio].length >= spate_node_of(mesh, radio)->queue.frames)
        drop(mesh, slot, SPATE_DROP_QUEUE);
    else
        insert(mesh, slot);
}

static void
jitter_is_over(gpointer subject, uint32_t slot)
{
    spate_frame_enqueue(subject, slot);
}

void
spate_frame_enqueue_later(SpateMesh *mesh, uint32_t slot, int64_t wait_ns)
{
    spate_frame_at(mesh, slot)->timer =
        spate_event_queue_schedule(mesh->queue, spate_event_queue_now_ns(mesh->queue) + wait_ns,
                                   SPATE_RANK_TIMER, jitter_is_over, mesh, slot);
}

static void
cancel_before_queue(SpateMesh *mesh, uint32_t slot)
{
    report_drop(mesh, slot, SPATE_DROP_CANCELLED);
    give_back(mesh, slot);
}

/* In its jitter a frame has not reached a queue, and is not counted as one of it. */
void
spate_frame_cancel(SpateMesh *mesh, uint32_t slot)
{
    switch (spate_frame_at(mesh, slot)->state) {
    case SPATE_FRAME_DELAYED:
        spate_frame_end_delay(mesh, slot);
        cancel_before_queue(mesh, slot);
        break;
    case SPATE_FRAME_JITTER:
        cancel_before_queue(mesh, slot);
        break;
    case SPATE_FRAME_QUEUED:
        drop_queued(mesh, slot, SPATE_DROP_CANCELLED);
        break;
    case SPATE_FRAME_FREE:
    case SPATE_FRAME_FLYING:
        g_assert_not_reached();
    }
}

void
spate_frame_lose(SpateMesh *mesh, uint32_t slot)
{
    if (spate_frame_at(mesh, slot)->state == SPATE_FRAME_DELAYED)
        spate_frame_end_delay(mesh, slot);
    else
        report_drop(mesh, slot, SPATE_DROP_OUTAGE);
    give_back(mesh, slot);
}

void
spate_queue_lose(SpateMesh *mesh, uint32_t radio)
{
    const SpateSendQueue *queue = &mesh->queues[radio];
    withdraw_request(mesh, radio);
    while (queue->head != SPATE_NO_FRAME) {
        uint32_t slot = queue->head;
        unlink_frame(mesh, slot);
        drop(mesh, slot, SPATE_DROP_OUTAGE);
    }
}

/* ---- on the air ------------------------------------------------------------------------------ */

void
spate_frame_begin(gpointer user, uint32_t radio, SpateAccessWaits waits)
{
    SpateMesh *mesh = user;
    SpateSendQueue *queue = &mesh->queues[radio];
    uint32_t slot = queue->head;
    g_assert(queue->is_requested && queue->flying == SPATE_NO_FRAME && slot != SPATE_NO_FRAME);
    SpateFrame *frame = spate_frame_at(mesh, slot);
    unlink_frame(mesh, slot);
    queue->is_requested = false;
    queue->flying = slot;
    frame->state = SPATE_FRAME_FLYING;
    spate_event_queue_cancel(mesh->queue, frame->timer);
    frame->timer = 0;
    mesh->counts.sent++;

    spate_message_at(&mesh->pool, frame->message)->on_radio[radio] = SPATE_NO_FRAME;
    frame->facts.started_ns = spate_event_queue_now_ns(mesh->queue);
    frame->facts.waited_duty_ns = waits.duty_ns;
    frame->facts.waited_access_ns = waits.access_ns;
    spate_mesh_tell_frame(mesh, SPATE_EVENT_STARTED, &frame->facts, radio);
    spate_channel_begin(mesh->channel, radio, frame->facts.airtime_ns, slot, frame->identity);
}

void
spate_frame_finish(SpateMesh *mesh, uint32_t slot)
{
    const SpateFrame *frame = spate_frame_at(mesh, slot);
    uint32_t radio = frame->facts.radio;
    g_assert(mesh->queues[radio].flying == slot);
    mesh->queues[radio].flying = SPATE_NO_FRAME;
    spate_exchange_frame_is_over(mesh, spate_message_at(&mesh->pool, frame->message),
                                 mesh->plan->radios[radio].node,
                                 spate_event_queue_now_ns(mesh->queue));
    give_back(mesh, slot);
    request_access(mesh, radio);
}
