/* event-queue.c - a ladder queue with a sorted run and a heap at its bottom
 *
 * The idea.  Most events lie far ahead and need no order yet.  So they are thrown, unsorted, into
 * buckets of time, and only the bucket whose turn has come is put in order:
 *
 *     bottom    the events of the bucket whose turn it is: a sorted run, to which an event is
 *               added if it belongs near the end, and a small 4-ary heap for the others
 *     rungs     rung 0 spreads what was in the top over buckets of equal width; a bucket that
 *               is still too full when its turn comes is spread over a finer rung below it
 *     top       a heap of paper: all that lies beyond rung 0
 *
 * Putting an event in costs a comparison for each rung and one link; taking it costs its
 * share of a few moves from bucket to bucket and a step of the run.  Neither depends on how many
 * events wait.  (W. T. Tang, R. S. M. Goh, I. L.-J. Thng, "Ladder queue: an O(1) priority queue
 * structure for large-scale discrete event simulation", ACM TOMACS 15(3), 2005; the heap at the
 * bottom is our change: the cost stays logarithmic where many events crowd in out of order.)
 *
 * Times compare first, then (rank, sequence) as one whole number.  Lists are moved in the order
 * they were scheduled, so that a thousand events of one instant are a sorted run already.
 * Cancelled events stay where they are and are dropped when they are moved or their turn comes.
 *
 * All memory grows with the slots, at one place: each event holds a slot, so nothing else can
 * need more.
 */
#include "core/event-queue.h"

#include <string.h>

#define NO_SLOT      UINT32_MAX
#define FEWEST_SLOTS 64
#define MOST_RUNGS   8
#define FULL_BUCKET  24 /* events; more are spread over a finer rung */
#define BUCKET_BITS  17 /* of the number of buckets in a rung, at most */
#define STEPS_IN_RUN 8  /* back from the end, to where an event belongs */
#define AHEAD        8  /* fetched before they are needed */
#define RANK_SHIFT   61

typedef struct {
    int64_t at_ns;
    uint64_t order;        /* rank, then sequence */
    SpateEventFunc happen; /* NULL: cancelled */
    gpointer subject;
    uint32_t item;
    uint32_t generation; /* of the slot's use, so that an old id finds nothing */
} Slot;

typedef struct {
    int64_t at_ns;
    uint64_t order;
    uint32_t slot;
} Entry;

typedef struct {
    int64_t start_ns; /* of bucket 0 */
    uint32_t shift;   /* a bucket is 2^shift ns wide */
    uint32_t n_buckets;
    uint32_t current;  /* the first bucket whose turn has not come */
    uint32_t *buckets; /* slots, linked by `links`, latest first */
} Rung;

struct SpateEventQueue {
    int64_t now_ns;
    uint64_t n_scheduled, n_run;
    size_t n_waiting;
    int present_rank; /* of the group that runs */
    int open_rank;    /* the lowest that is not yet over at this instant */

    Slot *slots;
    uint32_t *links; /* from a slot to the next in its bucket, or among the free */
    uint32_t n_slots, slots_capacity, first_free;

    Entry *run; /* sorted: from run_start to before run_end */
    uint32_t run_start, run_end;
    Entry *heap;
    uint32_t n_heap;

    Rung rungs[MOST_RUNGS];
    uint32_t n_rungs;

    uint32_t *top; /* slots */
    uint32_t n_top;
    int64_t top_start_ns, top_least_ns, top_most_ns;

    SpateCloseFunc close[SPATE_N_RANKS];
    gpointer close_subject[SPATE_N_RANKS];
};

static inline bool
precedes(const Entry *a, const Entry *b)
{
    return a->at_ns != b->at_ns ? a->at_ns < b->at_ns : a->order < b->order;
}

static void
heap_push(SpateEventQueue *queue, Entry entry)
{
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
    Entry last = queue->heap[--queue->n_heap];
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

/* Twice as long as there are slots: at least as many entries were taken as have to move. */
static void
run_back_to_start(SpateEventQueue *queue)
{
    uint32_t n = queue->run_end - queue->run_start;
    memmove(queue->run, queue->run + queue->run_start, n * sizeof queue->run[0]);
    queue->run_start = 0;
    queue->run_end = n;
}

static void
put_in_bottom(SpateEventQueue *queue, uint32_t index)
{
    const Slot *slot = &queue->slots[index];
    Entry entry = {slot->at_ns, slot->order, index};
    if (queue->run_end == 2 * queue->slots_capacity)
        run_back_to_start(queue);
    uint32_t place = queue->run_end;
    uint32_t least = queue->run_start;
    if (place - least > STEPS_IN_RUN)
        least = place - STEPS_IN_RUN;
    while (place > least && precedes(&entry, &queue->run[place - 1]))
        place--;
    if (place == least && place > queue->run_start && precedes(&entry, &queue->run[place - 1])) {
        heap_push(queue, entry);
        return;
    }
    for (uint32_t i = queue->run_end++; i > place; i--)
        queue->run[i] = queue->run[i - 1];
    queue->run[place] = entry;
}

/* The least of the bottom; NULL if it is empty. */
static inline const Entry *
bottom_first(const SpateEventQueue *queue)
{
    const Entry *run = &queue->run[queue->run_start];
    if (queue->n_heap == 0)
        return queue->run_start < queue->run_end ? run : NULL;
    return queue->run_start < queue->run_end && precedes(run, queue->heap) ? run : queue->heap;
}

static inline void
take_from_bottom(SpateEventQueue *queue, const Entry *first)
{
    if (first == queue->heap)
        heap_pop(queue);
    else if (++queue->run_start == queue->run_end)
        queue->run_start = queue->run_end = 0;
}

static void
grow(SpateEventQueue *queue)
{
    uint32_t n = MAX(FEWEST_SLOTS, 2 * queue->slots_capacity);
    queue->slots_capacity = n;
    queue->slots = g_renew(Slot, queue->slots, n);
    queue->links = g_renew(uint32_t, queue->links, n);
    queue->run = g_renew(Entry, queue->run, 2 * n);
    queue->heap = g_renew(Entry, queue->heap, n);
    queue->top = g_renew(uint32_t, queue->top, n);
    uint32_t n_buckets = MIN(2 * n, 1u << BUCKET_BITS);
    for (uint32_t r = 0; r < MOST_RUNGS; r++)
        queue->rungs[r].buckets = g_renew(uint32_t, queue->rungs[r].buckets, n_buckets);
}

static uint32_t
slot_take(SpateEventQueue *queue)
{
    if (queue->first_free != NO_SLOT) {
        uint32_t slot = queue->first_free;
        queue->first_free = queue->links[slot];
        return slot;
    }
    if (queue->n_slots == queue->slots_capacity)
        grow(queue);
    queue->slots[queue->n_slots].generation = 0;
    return queue->n_slots++;
}

static void
slot_give_back(SpateEventQueue *queue, uint32_t index)
{
    queue->slots[index].generation++;
    queue->links[index] = queue->first_free;
    queue->first_free = index;
}

static void
put_in_bucket(SpateEventQueue *queue, Rung *rung, uint32_t index)
{
    int64_t at_ns = queue->slots[index].at_ns;
    uint32_t *bucket = &rung->buckets[(at_ns - rung->start_ns) >> rung->shift];
    queue->links[index] = *bucket;
    *bucket = index;
}

static void
put_in_top(SpateEventQueue *queue, uint32_t index)
{
    int64_t at_ns = queue->slots[index].at_ns;
    if (queue->n_top == 0 || at_ns < queue->top_least_ns)
        queue->top_least_ns = at_ns;
    if (queue->n_top == 0 || at_ns > queue->top_most_ns)
        queue->top_most_ns = at_ns;
    queue->top[queue->n_top++] = index;
}

static void
put(SpateEventQueue *queue, uint32_t index)
{
    int64_t at_ns = queue->slots[index].at_ns;
    if (at_ns >= queue->top_start_ns) {
        put_in_top(queue, index);
        return;
    }
    for (uint32_t r = 0; r < queue->n_rungs; r++) {
        Rung *rung = &queue->rungs[r];
        if (at_ns >= rung->start_ns && (at_ns - rung->start_ns) >> rung->shift >= rung->current) {
            put_in_bucket(queue, rung, index);
            return;
        }
    }
    put_in_bottom(queue, index);
}

/* A new lowest rung for `n` events between two instants, both included. */
static Rung *
add_rung(SpateEventQueue *queue, uint32_t n, int64_t least_ns, int64_t most_ns)
{
    Rung *rung = &queue->rungs[queue->n_rungs++];
    uint64_t span_ns = (uint64_t)(most_ns - least_ns);
    uint32_t bits = MIN(g_bit_storage(n), BUCKET_BITS), span_bits = g_bit_storage(span_ns);
    rung->start_ns = least_ns;
    rung->shift = span_bits > bits ? span_bits - bits : 0;
    rung->n_buckets = (uint32_t)(span_ns >> rung->shift) + 1;
    rung->current = 0;
    for (uint32_t b = 0; b < rung->n_buckets; b++)
        rung->buckets[b] = NO_SLOT;
    return rung;
}

/* Moves an event that was not cancelled to a rung, or to the bottom if rung is NULL. */
static inline void
move(SpateEventQueue *queue, uint32_t index, Rung *rung)
{
    if (queue->slots[index].happen == NULL)
        slot_give_back(queue, index);
    else if (rung != NULL)
        put_in_bucket(queue, rung, index);
    else
        put_in_bottom(queue, index);
}

/* The top becomes rung 0; what comes later than it is the new top. */
static void
lower_top(SpateEventQueue *queue)
{
    uint32_t n = queue->n_top;
    Rung *rung = add_rung(queue, n, queue->top_least_ns, queue->top_most_ns);
    queue->top_start_ns = queue->top_most_ns + 1;
    queue->n_top = 0;
    for (uint32_t i = 0; i < n; i++) {
        __builtin_prefetch(&queue->slots[queue->top[MIN(i + AHEAD, n - 1)]], 1);
        move(queue, queue->top[i], rung);
    }
}

/* The list in the order it was scheduled, and how long it is. */
static uint32_t
reverse(uint32_t *links, uint32_t head, uint32_t *n)
{
    uint32_t reversed = NO_SLOT;
    for (*n = 0; head != NO_SLOT; ++*n) {
        uint32_t next = links[head];
        links[head] = reversed;
        reversed = head;
        head = next;
    }
    return reversed;
}

/* The slots of a bucket whose turn is near. */
static inline void
fetch_ahead(const SpateEventQueue *queue, const Rung *rung)
{
    uint32_t index = rung->buckets[MIN(rung->current + AHEAD, rung->n_buckets - 1)];
    for (int i = 0; i < AHEAD && index != NO_SLOT; i++) {
        __builtin_prefetch(&queue->slots[index], 1);
        index = queue->links[index];
    }
}

/* The next full bucket of the lowest rung goes to the bottom, or is spread over a finer rung. */
static void
lower_bucket(SpateEventQueue *queue)
{
    Rung *rung = &queue->rungs[queue->n_rungs - 1];
    for (; rung->current < rung->n_buckets; rung->current++) {
        fetch_ahead(queue, rung);
        if (rung->buckets[rung->current] != NO_SLOT)
            break;
    }
    if (rung->current == rung->n_buckets) {
        queue->n_rungs--;
        return;
    }
    int64_t start_ns = rung->start_ns + ((int64_t)rung->current << rung->shift);
    uint32_t n, head = reverse(queue->links, rung->buckets[rung->current++], &n);
    Rung *finer = NULL;
    if (n > FULL_BUCKET && rung->shift > 0 && queue->n_rungs < MOST_RUNGS) {
        int64_t width_ns = INT64_C(1) << rung->shift;
        finer =
            add_rung(queue, n, start_ns, start_ns + MIN(width_ns - 1, SPATE_NEVER_NS - start_ns));
    }
    while (head != NO_SLOT) {
        uint32_t next = queue->links[head];
        if (next != NO_SLOT)
            __builtin_prefetch(&queue->slots[next], 1);
        move(queue, head, finer);
        head = next;
    }
}

/* The next event to run; NULL if none waits. */
static const Entry *
find_next(SpateEventQueue *queue)
{
    for (;;) {
        const Entry *first;
        while ((first = bottom_first(queue)) == NULL) {
            if (queue->n_rungs > 0)
                lower_bucket(queue);
            else if (queue->n_top > 0)
                lower_top(queue);
            else
                return NULL;
        }
        uint32_t index = first->slot;
        if (queue->slots[index].happen != NULL)
            return first;
        take_from_bottom(queue, first);
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
    g_assert(at_ns > queue->now_ns || (int)rank >= queue->open_rank);
    uint32_t index = slot_take(queue);
    Slot *slot = &queue->slots[index];
    slot->at_ns = at_ns;
    slot->order = (uint64_t)rank << RANK_SHIFT | queue->n_scheduled++;
    slot->happen = happen;
    slot->subject = subject;
    slot->item = item;
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
    if (slot->generation != id >> 32 || slot->happen == NULL)
        return false;
    slot->happen = NULL;
    queue->n_waiting--;
    return true;
}

static void
run_event(SpateEventQueue *queue, const Entry *first)
{
    uint32_t index = first->slot;
    take_from_bottom(queue, first);
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
open_group(SpateEventQueue *queue, const Entry *first)
{
    queue->now_ns = first->at_ns;
    queue->present_rank = queue->open_rank = rank_of(first->order);
}

static void
close_group(SpateEventQueue *queue)
{
    int rank = queue->present_rank;
    queue->open_rank = rank + 1;
    if (queue->close[rank] != NULL)
        queue->close[rank](queue->close_subject[rank]);
}

/* The next event of the group that runs; NULL if there is none. */
static const Entry *
next_of_group(SpateEventQueue *queue)
{
    const Entry *first = find_next(queue);
    bool goes_on = first != NULL && first->at_ns == queue->now_ns &&
                   rank_of(first->order) == queue->present_rank;
    return goes_on ? first : NULL;
}

bool
spate_event_queue_run_next(SpateEventQueue *queue)
{
    const Entry *first = find_next(queue);
    if (first == NULL)
        return false;
    open_group(queue, first);
    run_event(queue, first);
    if (next_of_group(queue) == NULL)
        close_group(queue);
    return true;
}

static bool
is_set(const volatile int *stop)
{
    return stop != NULL && g_atomic_int_get(stop) != 0;
}

bool
spate_event_queue_run_until(SpateEventQueue *queue, int64_t until_ns, const volatile int *stop)
{
    g_assert(until_ns >= queue->now_ns);
    const Entry *first;
    while (!is_set(stop) && (first = find_next(queue)) != NULL && first->at_ns <= until_ns) {
        open_group(queue, first);
        do
            run_event(queue, first);
        while ((first = next_of_group(queue)) != NULL);
        close_group(queue);
    }
    if (is_set(stop))
        return false;
    if (until_ns > queue->now_ns)
        queue->open_rank = 0;
    queue->now_ns = until_ns;
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
    return queue;
}

void
spate_event_queue_free(SpateEventQueue *queue)
{
    if (queue == NULL)
        return;
    for (uint32_t r = 0; r < MOST_RUNGS; r++)
        g_free(queue->rungs[r].buckets);
    g_free(queue->links);
    g_free(queue->run);
    g_free(queue->top);
    g_free(queue->heap);
    g_free(queue->slots);
    g_free(queue);
}
