/* sliding-hour.c - the frames of the last hour, and their sum */
#include "measure/sliding-hour.h"

#include "core/time.h"
#include <stdbool.h>
#include <string.h>

#define NONE UINT32_MAX

typedef struct {
    int64_t start_ns, end_ns;
} Sending;

/* Some sendings of one radio, one after the other: a cache line. */
#define SENDINGS_A_BLOCK 3
#define LINE             64
typedef struct {
    Sending sendings[SENDINGS_A_BLOCK];
    uint32_t next; /* of the same radio, or free */
    uint32_t pad[3];
} Block;

G_STATIC_ASSERT(sizeof(Block) == LINE);

/* What one radio has sent within the last hour.  The oldest is kept here: it is looked at with each
 * frame, but leaves late. */
typedef struct {
    Sending oldest;
    int64_t newest_end_ns;
    int64_t sum_ns; /* of all that are kept, the oldest in full */
    int64_t most_ns;
    uint32_t first, last;    /* blocks; `last` NONE: none yet */
    uint8_t oldest_at, room; /* in the first block; left in the last */
} Window;

struct SpateSlidingHour {
    bool keeps; /* something can leave the window */
    Window *windows;
    uint32_t n_radios;
    Block *blocks; /* the pool */
    uint32_t n_blocks, capacity;
    uint32_t first_free;
};

static void
reserve_blocks(SpateSlidingHour *hour, uint32_t capacity)
{
    Block *blocks = g_aligned_alloc(capacity, sizeof(Block), LINE);
    if (hour->n_blocks > 0)
        memcpy(blocks, hour->blocks, hour->n_blocks * sizeof(Block));
    g_aligned_free(hour->blocks);
    hour->blocks = blocks;
    hour->capacity = capacity;
}

SpateSlidingHour *
spate_sliding_hour_new(uint32_t n_radios, int64_t span_ns, size_t reserve)
{
    SpateSlidingHour *hour = g_new0(SpateSlidingHour, 1);
    hour->keeps = span_ns > SPATE_NS_PER_HOUR;
    hour->n_radios = n_radios;
    hour->windows = g_new0(Window, n_radios);
    for (uint32_t i = 0; i < n_radios; i++)
        hour->windows[i].last = NONE;
    /* The first block of a radio and the last may be in use by a part. */
    if (hour->keeps)
        reserve_blocks(hour, (uint32_t)(reserve / SENDINGS_A_BLOCK) + 2 * n_radios + 1);
    hour->first_free = NONE;
    return hour;
}

void
spate_sliding_hour_free(SpateSlidingHour *hour)
{
    if (hour == NULL)
        return;
    g_aligned_free(hour->blocks);
    g_free(hour->windows);
    g_free(hour);
}

static uint32_t
take_block(SpateSlidingHour *hour)
{
    uint32_t block = hour->first_free;
    if (block != NONE) {
        hour->first_free = hour->blocks[block].next;
        return block;
    }
    if (hour->n_blocks == hour->capacity)
        reserve_blocks(hour, 2 * hour->capacity);
    return hour->n_blocks++;
}

static void
append_block(SpateSlidingHour *hour, Window *window)
{
    uint32_t block = take_block(hour);
    if (window->last == NONE)
        window->first = block;
    else
        hour->blocks[window->last].next = block;
    window->last = block;
    window->room = SENDINGS_A_BLOCK;
}

static void
keep(SpateSlidingHour *hour, Window *window, Sending sending)
{
    if (window->last == NONE)
        window->oldest = sending;
    if (window->room == 0)
        append_block(hour, window);
    hour->blocks[window->last].sendings[SENDINGS_A_BLOCK - window->room--] = sending;
}

/* There is one after it. */
static void
forget_oldest(SpateSlidingHour *hour, Window *window)
{
    window->sum_ns -= window->oldest.end_ns - window->oldest.start_ns;
    Block *block = &hour->blocks[window->first];
    if (++window->oldest_at == SENDINGS_A_BLOCK) {
        uint32_t next = block->next;
        block->next = hour->first_free;
        hour->first_free = window->first;
        window->first = next;
        window->oldest_at = 0;
        block = &hour->blocks[next];
    }
    window->oldest = block->sendings[window->oldest_at];
}

/* Forgets what ended before the window begins; returns how much of the oldest that is left lies
 * before it. */
static int64_t
forget_before(SpateSlidingHour *hour, Window *window, int64_t begin_ns)
{
    /* The newest ends with the window, so one is always left. */
    while (window->oldest.end_ns <= begin_ns)
        forget_oldest(hour, window);
    return MAX(begin_ns - window->oldest.start_ns, 0);
}

void
spate_sliding_hour_expect(const SpateSlidingHour *hour, uint32_t radio)
{
    const Window *window = &hour->windows[radio];
    if (window->last == NONE)
        return;
    __builtin_prefetch(&hour->blocks[window->first], 1);
    __builtin_prefetch(&hour->blocks[window->last], 1);
}

void
spate_sliding_hour_add(SpateSlidingHour *hour, uint32_t radio, int64_t start_ns, int64_t end_ns)
{
    g_assert(radio < hour->n_radios);
    Window *window = &hour->windows[radio];
    g_assert(end_ns >= start_ns && start_ns >= window->newest_end_ns);
    window->newest_end_ns = end_ns;
    window->sum_ns += end_ns - start_ns;
    int64_t outside_ns = 0;
    if (hour->keeps) {
        keep(hour, window, (Sending){start_ns, end_ns});
        outside_ns = forget_before(hour, window, end_ns - SPATE_NS_PER_HOUR);
    }
    window->most_ns = MAX(window->most_ns, window->sum_ns - outside_ns);
}

int64_t
spate_sliding_hour_most_ns(const SpateSlidingHour *hour, uint32_t radio)
{
    g_assert(radio < hour->n_radios);
    return hour->windows[radio].most_ns;
}
