/* sliding-hour.c - the frames of the last hour, and their sum */
#include "measure/sliding-hour.h"

#include "core/time.h"
#include <stdbool.h>

#define NONE UINT32_MAX

typedef struct {
    int64_t start_ns, end_ns;
    uint32_t next; /* of the same radio, or free */
} Sending;

/* The oldest is kept here: it is looked at with each frame, but leaves late. */
typedef struct {
    bool is_empty;
    Sending oldest;
    uint32_t newest; /* in the pool; NONE: the oldest is the only one */
    int64_t newest_end_ns;
    int64_t sum_ns; /* of all that are kept, the oldest in full */
    int64_t most_ns;
} Window;

struct SpateSlidingHour {
    bool keeps; /* something can leave the window */
    Window *windows;
    uint32_t n_radios;
    GArray *pool; /* Sending */
    uint32_t first_free;
};

SpateSlidingHour *
spate_sliding_hour_new(uint32_t n_radios, int64_t span_ns, size_t reserve)
{
    SpateSlidingHour *hour = g_new0(SpateSlidingHour, 1);
    hour->keeps = span_ns > SPATE_NS_PER_HOUR;
    hour->n_radios = n_radios;
    hour->windows = g_new0(Window, n_radios);
    for (uint32_t i = 0; i < n_radios; i++)
        hour->windows[i] = (Window){.is_empty = true, .newest = NONE};
    hour->pool = g_array_sized_new(FALSE, FALSE, sizeof(Sending), hour->keeps ? (guint)reserve : 0);
    hour->first_free = NONE;
    return hour;
}

void
spate_sliding_hour_free(SpateSlidingHour *hour)
{
    if (hour == NULL)
        return;
    g_array_unref(hour->pool);
    g_free(hour->windows);
    g_free(hour);
}

static Sending *
sending_at(const SpateSlidingHour *hour, uint32_t sending)
{
    return &g_array_index(hour->pool, Sending, sending);
}

static uint32_t
take_place(SpateSlidingHour *hour)
{
    uint32_t place = hour->first_free;
    if (place != NONE) {
        hour->first_free = sending_at(hour, place)->next;
        return place;
    }
    g_array_set_size(hour->pool, hour->pool->len + 1);
    return hour->pool->len - 1;
}

static void
keep(SpateSlidingHour *hour, Window *window, Sending sending)
{
    if (window->is_empty) {
        window->is_empty = false;
        window->oldest = sending;
        return;
    }
    uint32_t place = take_place(hour);
    *sending_at(hour, place) = sending;
    if (window->newest == NONE)
        window->oldest.next = place;
    else
        sending_at(hour, window->newest)->next = place;
    window->newest = place;
}

/* Forgets what ended before the window begins; returns how much of the oldest that is left lies
 * before it. */
static int64_t
forget_before(SpateSlidingHour *hour, Window *window, int64_t begin_ns)
{
    Sending *oldest = &window->oldest;
    while (oldest->end_ns <= begin_ns) {
        window->sum_ns -= oldest->end_ns - oldest->start_ns;
        /* the newest ends with the window, so one is always left */
        uint32_t place = oldest->next;
        *oldest = *sending_at(hour, place);
        sending_at(hour, place)->next = hour->first_free;
        hour->first_free = place;
        if (window->newest == place)
            window->newest = NONE;
    }
    return MAX(begin_ns - oldest->start_ns, 0);
}

void
spate_sliding_hour_expect(const SpateSlidingHour *hour, uint32_t radio)
{
    const Window *window = &hour->windows[radio];
    if (window->newest == NONE)
        return;
    __builtin_prefetch(sending_at(hour, window->oldest.next), 1);
    __builtin_prefetch(sending_at(hour, window->newest), 1);
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
        keep(hour, window, (Sending){start_ns, end_ns, NONE});
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
