/* ladder.c - a ladder queue with a sorted run and a heap at its bottom
 *
 * The idea.  Most events lie far ahead and need no order yet.  So they are thrown, unsorted, into
 * buckets of time, and only the bucket whose turn has come is put in order:
 *
 *     top       one bucket: all that lies beyond rung 0
 *     rungs     rung 0 spreads what was in the top over buckets of equal width; a bucket that
 *               is still too full when its turn comes is spread over a finer rung below it
 *     bottom    the events of the bucket whose turn it is: a sorted run, to which an event is
 *               added if it belongs near one of its ends, and a small 4-ary heap for the others
 *
 * An event goes to the first of top, rung 0, rung 1 ... bottom that may hold it, and all that is
 * in the one comes after all that is in the next.  A small case, with buckets of 10 ns from 100 on:
 * when 100, 104 and 131 wait, bucket 0 becomes the run 100, 104 and bucket 3 keeps 131.  Now 106
 * comes: bucket 0 has had its turn, so it joins the run; 112 goes to bucket 1 and waits there.
 * (W. T. Tang, R. S. M. Goh, I. L.-J. Thng, "Ladder queue: an O(1) priority queue structure for
 * large-scale discrete event simulation", ACM TOMACS 15(3), 2005; the heap is our change.)
 *
 * An event is moved a few times and compared with the few in its bucket, however many wait.  For
 * the time to keep to that too, memory has to be met in order: a bucket is a list of chunks that
 * hold the entries themselves, and what an event does, in its slot, is not read before its
 * turn, but fetched a few turns ahead.
 *
 * Buckets keep the order in which they were filled, so that a thousand events of one instant are
 * a sorted run already.  Limits: events of one instant whose ranks come in no order, and what eight
 * rungs cannot part, fall back on the heap and its logarithm.
 *
 * All memory grows with the slots, at one place: each event holds a slot, so nothing else can
 * need more.
 */
#include "core/ladder.h"

#include <string.h>

#define NO_CHUNK     UINT32_MAX
#define FEWEST_SLOTS 64
#define PER_CHUNK    32
#define PER_BUCKET   8  /* when a rung begins, were its entries spread evenly */
#define FULL_BUCKET  16 /* more are spread over a finer rung */
#define MOST_IN_HEAP 32 /* more are spread over a finer rung */
#define STEPS_IN_RUN 8  /* from one of its ends, to where an entry belongs */

typedef SpateLadder Ladder;
typedef SpateLadderEntry Entry;
typedef SpateLadderBucket Bucket;
typedef SpateLadderRung Rung;

struct SpateLadderChunk {
    Entry entries[PER_CHUNK];
};

typedef struct {
    int64_t least_ns, most_ns; /* both included */
} Span;

static void
heap_push(Ladder *ladder, Entry entry)
{
    uint32_t hole = ladder->n_heap++;
    while (hole > 0) {
        uint32_t parent = (hole - 1) / 4;
        if (!spate_ladder_precedes(&entry, &ladder->heap[parent]))
            break;
        ladder->heap[hole] = ladder->heap[parent];
        hole = parent;
    }
    ladder->heap[hole] = entry;
}

void
spate_ladder_pop_heap(Ladder *ladder)
{
    Entry last = ladder->heap[--ladder->n_heap];
    uint32_t n = ladder->n_heap, hole = 0;
    for (;;) {
        uint32_t child = 4 * hole + 1;
        if (child >= n)
            break;
        uint32_t least = child, end = MIN(child + 4, n);
        for (uint32_t i = child + 1; i < end; i++)
            if (spate_ladder_precedes(&ladder->heap[i], &ladder->heap[least]))
                least = i;
        if (!spate_ladder_precedes(&ladder->heap[least], &last))
            break;
        ladder->heap[hole] = ladder->heap[least];
        hole = least;
    }
    ladder->heap[hole] = last;
}

/* What comes before the entry makes room for it on the way; something comes after it. */
static void
insert_from_start(Entry *place, const Entry *entry)
{
    const Entry added = *entry;
    for (; spate_ladder_precedes(place, &added); place++)
        place[-1] = *place;
    place[-1] = added;
}

static void
insert_from_end(const Entry *start, Entry *place, const Entry *entry)
{
    const Entry added = *entry;
    for (; place > start && spate_ladder_precedes(&added, place - 1); place--)
        *place = place[-1];
    *place = added;
}

/* From the nearer end: what has been taken left room before the start. */
static inline void
put_in_bottom(Ladder *ladder, const Entry *entry)
{
    if (ladder->run_end == 2 * ladder->slots_capacity) {
        /* Back to its start: at least as many entries were taken as have to move. */
        uint32_t n = ladder->run_end - ladder->run_start;
        memmove(ladder->run, ladder->run + ladder->run_start, n * sizeof ladder->run[0]);
        ladder->run_start = 0;
        ladder->run_end = n;
    }
    Entry *start = ladder->run + ladder->run_start, *end = ladder->run + ladder->run_end;
    uint32_t n = ladder->run_end - ladder->run_start;
    if (n > 0 && ladder->run_start > 0 && spate_ladder_precedes(entry, start + n / 2)) {
        if (n > 2 * STEPS_IN_RUN && spate_ladder_precedes(start + STEPS_IN_RUN, entry)) {
            heap_push(ladder, *entry);
            return;
        }
        insert_from_start(start, entry);
        ladder->run_start--;
    } else {
        if (n > STEPS_IN_RUN && spate_ladder_precedes(entry, end - STEPS_IN_RUN)) {
            heap_push(ladder, *entry);
            return;
        }
        insert_from_end(start, end, entry);
        ladder->run_end++;
    }
}

static void
chunk_give_back(Ladder *ladder, uint32_t index)
{
    ladder->links[index] = ladder->first_free_chunk;
    ladder->first_free_chunk = index;
}

static void
grow(Ladder *ladder)
{
    uint32_t n = MAX(FEWEST_SLOTS, 2 * ladder->slots_capacity);
    ladder->slots_capacity = n;
    ladder->slots = g_renew(SpateLadderSlot, ladder->slots, n);
    ladder->run = g_renew(Entry, ladder->run, 2 * n);
    ladder->heap = g_renew(Entry, ladder->heap, n);
    /* In each bucket one that is not full; one more while a bucket is emptied. */
    uint32_t n_chunks = n / PER_CHUNK + MIN(n, SPATE_LADDER_RUNGS * SPATE_LADDER_BUCKETS + 2) + 1;
    ladder->chunks = g_renew(SpateLadderChunk, ladder->chunks, n_chunks);
    ladder->links = g_renew(uint32_t, ladder->links, n_chunks);
    while (ladder->n_chunks < n_chunks)
        chunk_give_back(ladder, ladder->n_chunks++);
}

static uint32_t
slot_take(Ladder *ladder)
{
    if (ladder->first_free_slot != SPATE_LADDER_NO_SLOT) {
        uint32_t slot = ladder->first_free_slot;
        ladder->first_free_slot = ladder->slots[slot].item;
        return slot;
    }
    if (ladder->n_slots == ladder->slots_capacity)
        grow(ladder);
    ladder->slots[ladder->n_slots].generation = 0;
    return ladder->n_slots++;
}

static inline void
put_in_bucket(Ladder *ladder, Bucket *bucket, const Entry *entry)
{
    uint32_t place = bucket->n++ % PER_CHUNK;
    if (place == 0) {
        uint32_t fresh = ladder->first_free_chunk;
        ladder->first_free_chunk = ladder->links[fresh];
        ladder->links[fresh] = bucket->last;
        bucket->last = fresh;
    }
    ladder->chunks[bucket->last].entries[place] = *entry;
}

static inline uint32_t
n_in_last_chunk(const Bucket *bucket)
{
    return (bucket->n - 1) % PER_CHUNK + 1;
}

static Span
span_of(const Ladder *ladder, const Bucket *bucket)
{
    Span span = {INT64_MAX, INT64_MIN};
    uint32_t chunk = bucket->last, n_in_chunk = n_in_last_chunk(bucket);
    for (uint32_t left = bucket->n;; n_in_chunk = PER_CHUNK) {
        for (uint32_t i = 0; i < n_in_chunk; i++) {
            int64_t at_ns = ladder->chunks[chunk].entries[i].at_ns;
            span.least_ns = MIN(span.least_ns, at_ns);
            span.most_ns = MAX(span.most_ns, at_ns);
        }
        left -= n_in_chunk;
        if (left == 0)
            return span;
        chunk = ladder->links[chunk];
    }
}

/* As if the last bucket had an end. */
static inline int64_t
bucket_number(const Rung *rung, int64_t at_ns)
{
    return (at_ns - rung->start_ns) >> rung->shift;
}

/* A new lowest rung for `n` events. */
static Rung *
add_rung(Ladder *ladder, uint32_t n, Span span)
{
    Rung *rung = &ladder->rungs[ladder->n_rungs++];
    uint64_t span_ns = (uint64_t)(span.most_ns - span.least_ns);
    uint32_t bits = MIN(g_bit_storage(n / PER_BUCKET), SPATE_LADDER_BUCKET_BITS);
    uint32_t span_bits = g_bit_storage(span_ns);
    rung->start_ns = rung->turn_ns = span.least_ns;
    rung->shift = span_bits > bits ? span_bits - bits : 0;
    rung->n_buckets = (uint32_t)(span_ns >> rung->shift) + 1;
    rung->current = 0;
    memset(rung->buckets, 0, rung->n_buckets * sizeof rung->buckets[0]);
    return rung;
}

/* The chunks of a bucket, the first one first. */
static uint32_t
reverse(uint32_t *links, const Bucket *bucket)
{
    uint32_t first = NO_CHUNK, chunk = bucket->last;
    for (uint32_t n = 0; n < bucket->n; n += PER_CHUNK) {
        uint32_t before = links[chunk];
        links[chunk] = first;
        first = chunk;
        chunk = before;
    }
    return first;
}

/* Moves a bucket's events to a rung, or to the bottom if rung is NULL. */
static void
empty(Ladder *ladder, Bucket bucket, Rung *rung)
{
    uint32_t chunk = reverse(ladder->links, &bucket);
    while (bucket.n > 0) {
        uint32_t n = MIN(bucket.n, PER_CHUNK), next = ladder->links[chunk];
        for (uint32_t i = 0; i < n; i++) {
            const Entry *entry = &ladder->chunks[chunk].entries[i];
            if (rung != NULL)
                put_in_bucket(ladder, &rung->buckets[bucket_number(rung, entry->at_ns)], entry);
            else
                put_in_bottom(ladder, entry);
        }
        chunk_give_back(ladder, chunk);
        bucket.n -= n;
        chunk = next;
    }
}

/* For a few events in no order: the place of each is the number of those before it.  No branch
 * depends on which comes first, which a processor could only guess. */
static void
sort_into_bottom(Ladder *ladder, const Bucket *bucket)
{
    const Entry *entries[FULL_BUCKET];
    uint32_t places[FULL_BUCKET], n = 0;
    uint32_t chunk = bucket->last, n_in_chunk = n_in_last_chunk(bucket);
    for (; n < bucket->n; n_in_chunk = PER_CHUNK) {
        for (uint32_t i = 0; i < n_in_chunk; i++)
            entries[n++] = &ladder->chunks[chunk].entries[i];
        uint32_t before = ladder->links[chunk];
        chunk_give_back(ladder, chunk);
        chunk = before;
    }
    for (uint32_t i = 0; i < n; i++) {
        places[i] = i;
        for (uint32_t j = 0; j < i; j++) {
            bool is_first = spate_ladder_precedes(entries[i], entries[j]);
            places[j] += is_first;
            places[i] -= is_first;
        }
    }
    for (uint32_t i = 0; i < n; i++) {
        ladder->run[places[i]] = *entries[i];
        __builtin_prefetch(&ladder->slots[entries[i]->slot], 1);
    }
    ladder->run_end = n;
}

/* A bucket's turn has come and the bottom is empty. */
static void
lower(Ladder *ladder, Bucket bucket)
{
    if (bucket.n <= FULL_BUCKET) {
        sort_into_bottom(ladder, &bucket);
        return;
    }
    Span span = span_of(ladder, &bucket);
    bool can_spread = span.least_ns < span.most_ns && ladder->n_rungs < SPATE_LADDER_RUNGS;
    empty(ladder, bucket, can_spread ? add_rung(ladder, bucket.n, span) : NULL);
}

/* A rung goes with its last bucket, whose events may need its place for a finer one. */
static void
lower_bucket(Ladder *ladder)
{
    Rung *rung = &ladder->rungs[ladder->n_rungs - 1];
    Bucket bucket;
    do {
        bucket = rung->buckets[rung->current++];
    } while (bucket.n == 0 && rung->current < rung->n_buckets);
    if (rung->current == rung->n_buckets)
        ladder->n_rungs--;
    else
        rung->turn_ns = rung->start_ns + ((int64_t)rung->current << rung->shift);
    if (bucket.n > 0)
        lower(ladder, bucket);
}

/* Where many come before what was thought to be next, in no order. */
static void
spread_bottom(Ladder *ladder)
{
    if (ladder->n_rungs == SPATE_LADDER_RUNGS)
        return;
    Bucket bottom = {0};
    for (uint32_t i = ladder->run_start; i < ladder->run_end; i++)
        put_in_bucket(ladder, &bottom, &ladder->run[i]);
    for (uint32_t i = 0; i < ladder->n_heap; i++)
        put_in_bucket(ladder, &bottom, &ladder->heap[i]);
    ladder->run_start = ladder->run_end = ladder->n_heap = 0;
    lower(ladder, bottom);
}

uint32_t
spate_ladder_put(Ladder *ladder, int64_t at_ns, uint64_t order)
{
    Entry entry = {at_ns, order, slot_take(ladder)};
    if (at_ns >= ladder->top_start_ns) {
        put_in_bucket(ladder, &ladder->top, &entry);
        return entry.slot;
    }
    for (uint32_t r = 0; r < ladder->n_rungs; r++) {
        Rung *rung = &ladder->rungs[r];
        if (at_ns >= rung->turn_ns) {
            int64_t number = MIN(bucket_number(rung, at_ns), (int64_t)rung->n_buckets - 1);
            put_in_bucket(ladder, &rung->buckets[number], &entry);
            return entry.slot;
        }
    }
    put_in_bottom(ladder, &entry);
    if (ladder->n_heap == MOST_IN_HEAP)
        spread_bottom(ladder);
    return entry.slot;
}

/* False if nothing is left above. */
bool
spate_ladder_fill_bottom(Ladder *ladder)
{
    while (ladder->run_end == 0 && ladder->n_heap == 0) {
        Bucket top = ladder->top;
        if (ladder->n_rungs > 0) {
            lower_bucket(ladder);
        } else if (top.n > 0) {
            /* What comes later than the latest event in it is the new top. */
            ladder->top.n = 0;
            ladder->top_start_ns = span_of(ladder, &top).most_ns + 1;
            lower(ladder, top);
        } else {
            return false;
        }
    }
    return true;
}

void
spate_ladder_init(Ladder *ladder)
{
    ladder->first_free_slot = SPATE_LADDER_NO_SLOT;
    ladder->first_free_chunk = NO_CHUNK;
}

void
spate_ladder_clear(Ladder *ladder)
{
    g_free(ladder->slots);
    g_free(ladder->chunks);
    g_free(ladder->links);
    g_free(ladder->run);
    g_free(ladder->heap);
}
