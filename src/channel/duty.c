/* duty.c - the duty cycle of one radio */
#include "channel/duty.h"

typedef struct {
    int64_t end_ns;
    int64_t before_ns; /* sent in all before it */
} Sent;

void
spate_duty_log_init(SpateDutyLog *log)
{
    log->sent = g_array_new(FALSE, FALSE, sizeof(Sent));
    log->first = 0;
    log->sent_ns = 0;
}

void
spate_duty_log_clear(SpateDutyLog *log)
{
    g_array_free(log->sent, TRUE);
    log->sent = NULL;
}

static void
forget(SpateDutyLog *log, int64_t now_ns)
{
    while (log->first < log->sent->len &&
           g_array_index(log->sent, Sent, log->first).end_ns <= now_ns - SPATE_DUTY_WINDOW_NS)
        log->first++;
    /* Moving the rest forward now and then costs a constant for each entry. */
    if (log->first > 16 && log->first > log->sent->len / 2) {
        g_array_remove_range(log->sent, 0, log->first);
        log->first = 0;
    }
}

void
spate_duty_log_note(SpateDutyLog *log, int64_t start_ns, int64_t end_ns)
{
    g_assert(start_ns < end_ns);
    g_assert(log->sent->len == 0 ||
             g_array_index(log->sent, Sent, log->sent->len - 1).end_ns <= start_ns);
    forget(log, start_ns);
    Sent sent = {end_ns, log->sent_ns};
    g_array_append_val(log->sent, sent);
    log->sent_ns += end_ns - start_ns;
}

/* The window that ends with the new frame is the fullest of those that hold it whole, and windows
 * that hold a part of it are never fuller: as their end moves into the frame, each ns
 * gained there is at most one lost at the other end.  So what was sent may reach into the window by
 * the limit less the new frame: it begins within the last frame before which little enough was
 * sent. */
int64_t
spate_duty_log_earliest_ns(const SpateDutyLog *log, int64_t now_ns, int64_t airtime_ns,
                           int64_t limit_ns)
{
    if (airtime_ns > limit_ns)
        return SPATE_NEVER_NS;
    int64_t outside_ns = log->sent_ns - (limit_ns - airtime_ns);
    guint low = log->first, high = log->sent->len;
    while (low < high) {
        guint middle = low + (high - low) / 2;
        if (g_array_index(log->sent, Sent, middle).before_ns < outside_ns)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == log->first)
        return now_ns;
    int64_t up_to_ns =
        low < log->sent->len ? g_array_index(log->sent, Sent, low).before_ns : log->sent_ns;
    int64_t begin_ns = g_array_index(log->sent, Sent, low - 1).end_ns - (up_to_ns - outside_ns);
    return MAX(now_ns, begin_ns + SPATE_DUTY_WINDOW_NS - airtime_ns);
}
