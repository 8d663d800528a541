/* event-queue.c - groups of events, and the ids by which they are cancelled
 *
 * What waits is kept in order by the ladder, by time and then by (rank, sequence) as one whole
 * number.  A cancelled event stays where it is, and keeps its slot, until its turn comes.
 */
#include "core/event-queue.h"

#include "core/ladder.h"
#include "core/stop.h"

#define RANK_SHIFT 61 /* the sequence is below */

struct SpateEventQueue {
    SpateEventClock clock; /* first, see the header */
    uint64_t n_scheduled, n_run;
    size_t n_waiting;
    int present_rank; /* of the group that runs */
    int open_rank;    /* the lowest that is not yet over at this instant */
    SpateCloseFunc close[SPATE_N_RANKS];
    gpointer close_subject[SPATE_N_RANKS];
    SpateLadder ladder;
};

/* After cancelled ones. */
static G_GNUC_NO_INLINE const SpateLadderEntry *
skip_cancelled(SpateEventQueue *queue, const SpateLadderEntry *first)
{
    while (first != NULL && queue->ladder.slots[first->slot].happen == NULL) {
        uint32_t slot = first->slot;
        spate_ladder_take(&queue->ladder, first);
        spate_ladder_give_back(&queue->ladder, slot);
        first = spate_ladder_first(&queue->ladder);
    }
    return first;
}

/* The next event to run; NULL if none waits. */
static inline const SpateLadderEntry *
find_next(SpateEventQueue *queue)
{
    const SpateLadderEntry *first = spate_ladder_first(&queue->ladder);
    bool is_cancelled = first != NULL && queue->ladder.slots[first->slot].happen == NULL;
    return G_UNLIKELY(is_cancelled) ? skip_cancelled(queue, first) : first;
}

static int
rank_of(uint64_t order)
{
    return (int)(order >> RANK_SHIFT);
}

SpateEventId
spate_event_queue_schedule(SpateEventQueue *queue, int64_t at_ns, SpateRank rank,
                           SpateEventFunc happen, gpointer subject, uint32_t item)
{
    g_assert(at_ns >= queue->clock.now_ns && at_ns < SPATE_NEVER_NS && happen != NULL);
    g_assert(at_ns > queue->clock.now_ns || (int)rank >= queue->open_rank);
    uint64_t order = (uint64_t)rank << RANK_SHIFT | queue->n_scheduled++;
    uint32_t index = spate_ladder_put(&queue->ladder, at_ns, order);
    SpateLadderSlot *slot = &queue->ladder.slots[index];
    slot->happen = happen;
    slot->subject = subject;
    slot->item = item;
    queue->n_waiting++;
    return (uint64_t)slot->generation << 32 | (index + UINT64_C(1));
}

bool
spate_event_queue_cancel(SpateEventQueue *queue, SpateEventId id)
{
    uint64_t position = id & UINT32_MAX;
    if (position == 0 || position > queue->ladder.n_slots)
        return false;
    SpateLadderSlot *slot = &queue->ladder.slots[position - 1];
    if (slot->generation != id >> 32 || slot->happen == NULL)
        return false;
    slot->happen = NULL;
    queue->n_waiting--;
    return true;
}

static void
run_event(SpateEventQueue *queue, const SpateLadderEntry *first)
{
    uint32_t index = first->slot;
    spate_ladder_take(&queue->ladder, first);
    SpateLadderSlot slot = queue->ladder.slots[index];
    spate_ladder_give_back(&queue->ladder, index);
    queue->n_waiting--;
    queue->n_run++;
    slot.happen(slot.subject, slot.item);
}

static void
open_group(SpateEventQueue *queue, const SpateLadderEntry *first)
{
    queue->clock.now_ns = first->at_ns;
    queue->present_rank = queue->open_rank = rank_of(first->order);
}

/* False if there was nothing to be done. */
static bool
close_group(SpateEventQueue *queue)
{
    int rank = queue->present_rank;
    queue->open_rank = rank + 1;
    if (queue->close[rank] == NULL)
        return false;
    queue->close[rank](queue->close_subject[rank]);
    return true;
}

static bool
is_of_group(const SpateEventQueue *queue, const SpateLadderEntry *entry)
{
    return entry->at_ns == queue->clock.now_ns && rank_of(entry->order) == queue->present_rank;
}

/* Runs the events of the next group; returns what comes after them. */
static const SpateLadderEntry *
run_group(SpateEventQueue *queue, const SpateLadderEntry *first)
{
    open_group(queue, first);
    do {
        run_event(queue, first);
        first = find_next(queue);
    } while (first != NULL && is_of_group(queue, first));
    return close_group(queue) ? find_next(queue) : first;
}

bool
spate_event_queue_run_next(SpateEventQueue *queue)
{
    const SpateLadderEntry *first = find_next(queue);
    if (first == NULL)
        return false;
    open_group(queue, first);
    run_event(queue, first);
    first = find_next(queue);
    if (first == NULL || !is_of_group(queue, first))
        close_group(queue);
    return true;
}

SpateQueuePause
spate_event_queue_run_some(SpateEventQueue *queue, int64_t until_ns, uint64_t n_events,
                           const volatile int *stop)
{
    g_assert(until_ns >= queue->clock.now_ns);
    const uint64_t n_run_before = queue->n_run;
    const SpateLadderEntry *first = find_next(queue);
    while (!spate_is_stopped(stop) && first != NULL && first->at_ns <= until_ns) {
        if (queue->n_run - n_run_before >= n_events)
            return SPATE_QUEUE_PAUSED;
        first = run_group(queue, first);
    }
    if (spate_is_stopped(stop))
        return SPATE_QUEUE_STOPPED;
    if (until_ns > queue->clock.now_ns)
        queue->open_rank = 0;
    queue->clock.now_ns = until_ns;
    return SPATE_QUEUE_DONE;
}

bool
spate_event_queue_run_until(SpateEventQueue *queue, int64_t until_ns, const volatile int *stop)
{
    return spate_event_queue_run_some(queue, until_ns, UINT64_MAX, stop) == SPATE_QUEUE_DONE;
}

size_t
spate_event_queue_length(const SpateEventQueue *queue)
{
    return queue->n_waiting;
}

uint64_t
spate_event_queue_n_run(const SpateEventQueue *queue)
{
    return queue->n_run;
}

void
spate_event_queue_on_close(SpateEventQueue *queue, SpateRank rank, SpateCloseFunc close,
                           gpointer subject)
{
    queue->close[rank] = close;
    queue->close_subject[rank] = subject;
}

SpateEventQueue *
spate_event_queue_new(void)
{
    SpateEventQueue *queue = g_new0(SpateEventQueue, 1);
    spate_ladder_init(&queue->ladder);
    return queue;
}

void
spate_event_queue_free(SpateEventQueue *queue)
{
    if (queue == NULL)
        return;
    spate_ladder_clear(&queue->ladder);
    g_free(queue);
}
