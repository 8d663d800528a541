/* ladder.h - events that wait, and which of them is next
 *
 * The ladder orders entries by time, then by `order`, a whole number of which no two are alike.
 * Each entry holds a slot for what the event does; slots never move, so that their number can be
 * part of an event's id.  What to do with an entry whose slot was cleared is for the event queue
 * to say, which alone uses this header.
 */
#pragma once

#include "core/event-queue.h"
#include "core/units.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#define SPATE_LADDER_NO_SLOT     UINT32_MAX
#define SPATE_LADDER_RUNGS       8
#define SPATE_LADDER_BUCKET_BITS 10 /* of the number of buckets in a rung, at most */
#define SPATE_LADDER_BUCKETS     (1u << SPATE_LADDER_BUCKET_BITS)
#define SPATE_LADDER_AHEAD       4 /* turns, that slots are fetched before they are needed */

typedef struct {
    SpateEventFunc happen; /* NULL: cancelled */
    gpointer subject;
    uint32_t item;       /* of a free slot: the next free one */
    uint32_t generation; /* of the slot's use, so that an old id finds nothing */
} SpateLadderSlot;

typedef struct {
    int64_t at_ns;
    uint64_t order;
    uint32_t slot;
} SpateLadderEntry;

typedef struct SpateLadderChunk SpateLadderChunk;

/* A list of chunks; all but the last are full. */
typedef struct {
    uint32_t last; /* chunk, if n > 0 */
    uint32_t n;    /* entries */
} SpateLadderBucket;

typedef struct {
    int64_t start_ns; /* of bucket 0 */
    uint32_t shift;   /* a bucket is 2^shift ns wide; the last has no end */
    uint32_t n_buckets;
    uint32_t current; /* the first bucket whose turn has not come */
    int64_t turn_ns;  /* ... and where it starts */
    SpateLadderBucket buckets[SPATE_LADDER_BUCKETS];
} SpateLadderRung;

/* Fill with zeros, then spate_ladder_init(). */
typedef struct {
    SpateLadderSlot *slots;
    uint32_t n_slots, slots_capacity, first_free_slot;

    SpateLadderChunk *chunks;
    uint32_t *links; /* from a chunk to the one before it in its bucket, or to the next free one */
    uint32_t n_chunks, first_free_chunk;

    SpateLadderEntry *run; /* sorted: from run_start to before run_end; both 0 if it is empty */
    uint32_t run_start, run_end;
    SpateLadderEntry *heap;
    uint32_t n_heap;

    SpateLadderBucket top;
    int64_t top_start_ns;
    uint32_t n_rungs;
    SpateLadderRung rungs[SPATE_LADDER_RUNGS];
} SpateLadder;

void spate_ladder_init(SpateLadder *ladder);
void spate_ladder_clear(SpateLadder *ladder);

/* Returns the slot, for the caller to fill. */
uint32_t spate_ladder_put(SpateLadder *ladder, int64_t at_ns, uint64_t order);

/* For the inline functions below. */
bool spate_ladder_fill_bottom(SpateLadder *ladder);
void spate_ladder_pop_heap(SpateLadder *ladder);

/* As one whole number of 128 bits, which takes no branch: often there is no telling which comes
 * first.  No time is negative. */
static inline bool
spate_ladder_precedes(const SpateLadderEntry *a, const SpateLadderEntry *b)
{
    spate_uint128 of_a = (spate_uint128)(uint64_t)a->at_ns << 64 | a->order;
    spate_uint128 of_b = (spate_uint128)(uint64_t)b->at_ns << 64 | b->order;
    return of_a < of_b;
}

/* The least entry; NULL if there is none.  Valid until the next put. */
static inline const SpateLadderEntry *
spate_ladder_first(SpateLadder *ladder)
{
    if (ladder->run_start == ladder->run_end && ladder->n_heap == 0 &&
        !spate_ladder_fill_bottom(ladder))
        return NULL;
    const SpateLadderEntry *run = &ladder->run[ladder->run_start];
    if (ladder->n_heap == 0)
        return run;
    bool run_is_first =
        ladder->run_start < ladder->run_end && spate_ladder_precedes(run, ladder->heap);
    return run_is_first ? run : ladder->heap;
}

/* Takes the first entry away; its slot stays until it is given back. */
static inline void
spate_ladder_take(SpateLadder *ladder, const SpateLadderEntry *first)
{
    if (first == ladder->heap)
        spate_ladder_pop_heap(ladder);
    else if (++ladder->run_start == ladder->run_end)
        ladder->run_start = ladder->run_end = 0;
    else {
        uint32_t ahead = MIN(ladder->run_start + SPATE_LADDER_AHEAD, ladder->run_end - 1);
        __builtin_prefetch(&ladder->slots[ladder->run[ahead].slot], 1);
    }
}

static inline void
spate_ladder_give_back(SpateLadder *ladder, uint32_t slot)
{
    ladder->slots[slot].generation++;
    ladder->slots[slot].item = ladder->first_free_slot;
    ladder->first_free_slot = slot;
}
