/* sliding-hour.c - the frames of the last hour, and their sum */
#include "measure/sliding-hour.h"

#include "core/time.h"
#include <stdbool.h>

#define NONE UINT32_MAX

typedef struct {
    int64_t start_ns, end_ns;
    uint32_t next; /* of the same radio, or free */
} Sending;

typedef struct {
    uint32_t oldest, newest; /* in the pool */
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
        hour->windows[i].oldest = hour->windows[i].newest = NONE;
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

static void
keep(SpateSlidingHour *hour, Window *window, int64_t start_ns, int64_t end_ns)
{
    uint32_t sending = hour->first_free;
    if (sending != NONE) {
        hour->first_free = sending_at(hour, sending)->next;
    } else {
        sending = hour->pool->len;
        g_array_set_size(hour->pool, sending + 1);
    }
    *sending_at(hour, sending) = (Sending){start_ns, end_ns, NONE};
    if (window->newest == NONE)
        window->oldest = sending;
    else
        sending_at(hour, window->newest)->next = sending;
    window->newest = sending;
}

/* Forgets what ended before the window begins; returns how much of the oldest that is left lies
 * before it. */
static int64_t
forget_before(SpateSlidingHour *hour, Window *window, int64_t begin_ns)
{
    Sending *oldest = sending_at(hour, window->oldest);
    while (oldest->end_ns <= begin_ns) {
        uint32_t forgotten = window->oldest;
        window->sum_ns -= oldest->end_ns - oldest->start_ns;
        window->oldest = oldest->next;
        oldest->next = hour->first_free;
        hour->first_free = forgotten;
        /* the newest ends with the window, so one is always left */
        oldest = sending_at(hour, window->oldest);
    }
    return MAX(begin_ns - oldest->start_ns, 0);
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
        keep(hour, window, start_ns, end_ns);
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
