/* event-queue.c - a ladder queue with a heap at its bottom
 *
 * The idea.  Most events lie far ahead and need no order yet.  So they are thrown, unsorted, into
 * buckets of time, and only the bucket whose turn has come is put in order:
 *
 *     bottom    a small 4-ary heap: the events of the bucket whose turn it is
 *     rungs     rung 0 spreads what was in the top over buckets of equal width; a bucket that
 *               is still too full when its turn comes is spread over a finer rung below it
 *     top       a heap of paper: all that lies beyond rung 0
 *
 * Putting an event in costs a comparison for each rung and one link; taking it costs its
 * share of a few moves from bucket to bucket and a pop from a heap of some tens.  Neither
 * depends on how many events wait.  (W. T. Tang, R. S. M. Goh, I. L.-J. Thng, "Ladder queue: an
 * O(1) priority queue structure for large-scale discrete event simulation", ACM TOMACS 15(3),
 * 2005; the heap at the bottom is our change: it keeps the promise of order, and the cost stays
 * logarithmic where a thousand events share one instant.)
 *
 * Times compare first, then (rank, sequence) as one whole number.  Cancelled events stay
 * where they are and are dropped when their bucket is moved or their turn comes.
 */
#include "core/event-queue.h"

#define NO_SLOT      UINT32_MAX
#define MOST_RUNGS   8
#define FULL_BUCKET  24 /* events; more are spread over a finer rung */
#define MOST_BUCKETS (1u << 17)
#define RANK_SHIFT   61
#define ROOT_OF_HEAP 0

typedef struct {
    int64_t at_ns;
    uint64_t order;        /* rank, then sequence */
    SpateEventFunc happen; /* NULL: cancelled */
    gpointer subject;
    uint32_t item;
    uint32_t generation; /* of the slot's use, so that an old id finds nothing */
    uint32_t next;       /* in its bucket, or among the free */
    bool in_use;
} Slot;

typedef struct {
    int64_t at_ns;
    uint64_t order;
    uint32_t slot;
} HeapEntry;

typedef struct {
    int64_t start_ns; /* of bucket 0 */
    int64_t width_ns;
    uint32_t n_buckets;
    uint32_t current; /* the first bucket whose turn has not come */
    uint32_t *heads;  /* slots, linked by `next` */
    uint32_t *counts;
    uint32_t capacity;
} Rung;

struct SpateEventQueue {
    int64_t now_ns;
    uint64_t n_scheduled, n_run;
    size_t n_waiting;
    int present_rank; /* of the group that runs; -1 outside of any */
    bool closing;     /* the group's closing function runs: the rank is over */

    Slot *slots;
    uint32_t n_slots, slots_capacity, first_free;

    HeapEntry *heap;
    uint32_t n_heap, heap_capacity;

    Rung rungs[MOST_RUNGS];
    uint32_t n_rungs;

    uint32_t top; /* linked slots */
    uint32_t n_top;
    int64_t top_start_ns, top_least_ns, top_most_ns;

    SpateCloseFunc close[SPATE_N_RANKS];
    gpointer close_subject[SPATE_N_RANKS];
};

static inline bool
precedes(const HeapEntry *a, const HeapEntry *b)
{
    return a->at_ns != b->at_ns ? a->at_ns < b->at_ns : a->order < b->order;
}

static void
heap_push(SpateEventQueue *queue, HeapEntry entry)
{
    if (queue->n_heap == queue->heap_capacity) {
        queue->heap_capacity = MAX(64, queue->heap_capacity * 2);
        queue->heap = g_renew(HeapEntry, queue->heap, queue->heap_capacity);
    }
    uint32_t hole = queue->n_heap++;
    while (hole > 0) {
        uint32_t parent = (hole - 1) / 4;
        if (!precedes(&entry, &queue->heap[parent]))
            break;
        queue->heap[hole] = queue->heap[parent];
        hole = parent;
    }
    queue->heap[hole] = entry;
}

static void
heap_pop(SpateEventQueue *queue)
{
    HeapEntry last = queue->heap[--queue->n_heap];
    uint32_t n = queue->n_heap, hole = 0;
    for (;;) {
        uint32_t child = 4 * hole + 1;
        if (child >= n)
            break;
        uint32_t least = child, end = MIN(child + 4, n);
        for (uint32_t i = child + 1; i < end; i++)
            if (precedes(&queue->heap[i], &queue->heap[least]))
                least = i;
        if (!precedes(&queue->heap[least], &last))
            break;
        queue->heap[hole] = queue->heap[least];
        hole = least;
    }
    queue->heap[hole] = last;
}

static uint32_t
slot_take(SpateEventQueue *queue)
{
    if (queue->first_free != NO_SLOT) {
        uint32_t slot = queue->first_free;
        queue->first_free = queue->slots[slot].next;
        return slot;
    }
    if (queue->n_slots == queue->slots_capacity) {
        queue->slots_capacity = MAX(64, queue->slots_capacity * 2);
        queue->slots = g_renew(Slot, queue->slots, queue->slots_capacity);
    }
    queue->slots[queue->n_slots].generation = 0;
    return queue->n_slots++;
}

static void
slot_give_back(SpateEventQueue *queue, uint32_t index)
{
    Slot *slot = &queue->slots[index];
    slot->in_use = false;
    slot->generation++;
    slot->next = queue->first_free;
    queue->first_free = index;
}

static void
put_in_bucket(SpateEventQueue *queue, Rung *rung, uint32_t index)
{
    Slot *slot = &queue->slots[index];
    uint32_t bucket = (uint32_t)((slot->at_ns - rung->start_ns) / rung->width_ns);
    slot->next = rung->heads[bucket];
    rung->heads[bucket] = index;
    rung->counts[bucket]++;
}

static void
put_in_top(SpateEventQueue *queue, uint32_t index)
{
    Slot *slot = &queue->slots[index];
    slot->next = queue->top;
    queue->top = index;
    if (queue->n_top == 0 || slot->at_ns < queue->top_least_ns)
        queue->top_least_ns = slot->at_ns;
    if (queue->n_top == 0 || slot->at_ns > queue->top_most_ns)
        queue->top_most_ns = slot->at_ns;
    queue->n_top++;
}

static void
put(SpateEventQueue *queue, uint32_t index)
{
    const Slot *slot = &queue->slots[index];
    if (slot->at_ns >= queue->top_start_ns) {
        put_in_top(queue, index);
        return;
    }
    for (uint32_t r = 0; r < queue->n_rungs; r++) {
        Rung *rung = &queue->rungs[r];
        if (slot->at_ns >= rung->start_ns + (int64_t)rung->current * rung->width_ns) {
            put_in_bucket(queue, rung, index);
            return;
        }
    }
    heap_push(queue, (HeapEntry){slot->at_ns, slot->order, index});
}

/* A new lowest rung for `n` events between two instants, both included. */
static Rung *
add_rung(SpateEventQueue *queue, uint32_t n, int64_t least_ns, int64_t most_ns)
{
    Rung *rung = &queue->rungs[queue->n_rungs++];
    uint32_t wanted = CLAMP(n, 1, MOST_BUCKETS);
    rung->start_ns = least_ns;
    rung->width_ns = (most_ns - least_ns) / wanted + 1;
    rung->n_buckets = (uint32_t)((most_ns - least_ns) / rung->width_ns) + 1;
    rung->current = 0;
    if (rung->n_buckets > rung->capacity) {
        rung->capacity = MAX(rung->n_buckets, 2 * rung->capacity);
        rung->heads = g_renew(uint32_t, rung->heads, rung->capacity);
        rung->counts = g_renew(uint32_t, rung->counts, rung->capacity);
    }
    for (uint32_t b = 0; b < rung->n_buckets; b++) {
        rung->heads[b] = NO_SLOT;
        rung->counts[b] = 0;
    }
    return rung;
}

/* Moves a list of slots to a rung, or to the heap if rung is NULL. */
static void
move_list(SpateEventQueue *queue, uint32_t head, Rung *rung)
{
    while (head != NO_SLOT) {
        uint32_t index = head;
        const Slot *slot = &queue->slots[index];
        head = slot->next;
        if (slot->happen == NULL)
            slot_give_back(queue, index);
        else if (rung != NULL)
            put_in_bucket(queue, rung, index);
        else
            heap_push(queue, (HeapEntry){slot->at_ns, slot->order, index});
    }
}

/* The top becomes rung 0; what comes later than it is the new top. */
static void
lower_top(SpateEventQueue *queue)
{
    uint32_t head = queue->top;
    Rung *rung = add_rung(queue, queue->n_top, queue->top_least_ns, queue->top_most_ns);
    queue->top_start_ns = queue->top_most_ns + 1;
    queue->top = NO_SLOT;
    queue->n_top = 0;
    move_list(queue, head, rung);
}

/* The next full bucket of the lowest rung goes to the bottom, or is spread over a finer rung. */
static void
lower_bucket(SpateEventQueue *queue)
{
    Rung *rung = &queue->rungs[queue->n_rungs - 1];
    while (rung->current < rung->n_buckets && rung->heads[rung->current] == NO_SLOT)
        rung->current++;
    if (rung->current == rung->n_buckets) {
        queue->n_rungs--;
        return;
    }
    uint32_t bucket = rung->current++;
    uint32_t head = rung->heads[bucket], count = rung->counts[bucket];
    rung->heads[bucket] = NO_SLOT;
    Rung *finer = NULL;
    if (count > FULL_BUCKET && rung->width_ns > 1 && queue->n_rungs < MOST_RUNGS) {
        int64_t start_ns = rung->start_ns + (int64_t)bucket * rung->width_ns;
        finer = add_rung(queue, count, start_ns, start_ns + rung->width_ns - 1);
    }
    move_list(queue, head, finer);
}

/* The next event to run is at the root of the heap; false if none waits. */
static bool
find_next(SpateEventQueue *queue)
{
    for (;;) {
        while (queue->n_heap == 0) {
            if (queue->n_rungs > 0)
                lower_bucket(queue);
            else if (queue->n_top > 0)
                lower_top(queue);
            else
                return false;
        }
        uint32_t index = queue->heap[ROOT_OF_HEAP].slot;
        if (queue->slots[index].happen != NULL)
            return true;
        heap_pop(queue);
        slot_give_back(queue, index);
    }
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
    g_assert(at_ns >= queue->now_ns && at_ns < SPATE_NEVER_NS && happen != NULL);
    g_assert(at_ns > queue->now_ns || (int)rank > queue->present_rank ||
             ((int)rank == queue->present_rank && !queue->closing));
    uint32_t index = slot_take(queue);
    Slot *slot = &queue->slots[index];
    slot->at_ns = at_ns;
    slot->order = (uint64_t)rank << RANK_SHIFT | queue->n_scheduled++;
    slot->happen = happen;
    slot->subject = subject;
    slot->item = item;
    slot->in_use = true;
    uint32_t generation = slot->generation;
    put(queue, index);
    queue->n_waiting++;
    return (uint64_t)generation << 32 | (index + UINT64_C(1));
}

bool
spate_event_queue_cancel(SpateEventQueue *queue, SpateEventId id)
{
    uint64_t position = id & UINT32_MAX;
    if (position == 0 || position > queue->n_slots)
        return false;
    Slot *slot = &queue->slots[position - 1];
    if (!slot->in_use || slot->generation != id >> 32 || slot->happen == NULL)
        return false;
    slot->happen = NULL;
    queue->n_waiting--;
    return true;
}

static void
run_root(SpateEventQueue *queue)
{
    uint32_t index = queue->heap[ROOT_OF_HEAP].slot;
    heap_pop(queue);
    const Slot *slot = &queue->slots[index];
    SpateEventFunc happen = slot->happen;
    gpointer subject = slot->subject;
    uint32_t item = slot->item;
    slot_give_back(queue, index);
    queue->n_waiting--;
    queue->n_run++;
    happen(subject, item);
}

static void
close_group(SpateEventQueue *queue)
{
    SpateCloseFunc close = queue->close[queue->present_rank];
    if (close == NULL)
        return;
    queue->closing = true;
    close(queue->close_subject[queue->present_rank]);
    queue->closing = false;
}

/* Whether the next event is of the group that runs. */
static bool
group_goes_on(SpateEventQueue *queue)
{
    return find_next(queue) && queue->heap[ROOT_OF_HEAP].at_ns == queue->now_ns &&
           rank_of(queue->heap[ROOT_OF_HEAP].order) == queue->present_rank;
}

bool
spate_event_queue_run_next(SpateEventQueue *queue)
{
    if (!find_next(queue))
        return false;
    queue->now_ns = queue->heap[ROOT_OF_HEAP].at_ns;
    queue->present_rank = rank_of(queue->heap[ROOT_OF_HEAP].order);
    run_root(queue);
    if (!group_goes_on(queue))
        close_group(queue);
    return true;
}

bool
spate_event_queue_run_until(SpateEventQueue *queue, int64_t until_ns, const volatile int *stop)
{
    g_assert(until_ns >= queue->now_ns);
    while ((stop == NULL || g_atomic_int_get(stop) == 0) && find_next(queue) &&
           queue->heap[ROOT_OF_HEAP].at_ns <= until_ns) {
        queue->now_ns = queue->heap[ROOT_OF_HEAP].at_ns;
        queue->present_rank = rank_of(queue->heap[ROOT_OF_HEAP].order);
        do
            run_root(queue);
        while (group_goes_on(queue));
        close_group(queue);
    }
    if (stop != NULL && g_atomic_int_get(stop) != 0)
        return false;
    queue->now_ns = until_ns;
    queue->present_rank = -1;
    return true;
}

int64_t
spate_event_queue_now_ns(const SpateEventQueue *queue)
{
    return queue->now_ns;
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
    queue->first_free = NO_SLOT;
    queue->top = NO_SLOT;
    queue->present_rank = -1;
    return queue;
}

void
spate_event_queue_free(SpateEventQueue *queue)
{
    if (queue == NULL)
        return;
    for (uint32_t r = 0; r < MOST_RUNGS; r++) {
        g_free(queue->rungs[r].heads);
        g_free(queue->rungs[r].counts);
    }
    g_free(queue->heap);
    g_free(queue->slots);
    g_free(queue);
}
