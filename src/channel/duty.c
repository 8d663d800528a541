/* duty.c - the duty cycle of one radio */
#include "channel/duty.h"

#include <stdbool.h>
#include <string.h>

void
spate_duty_log_clear(SpateDutyLog *log)
{
    g_free(log->sent);
    *log = (SpateDutyLog){0};
}

static void
forget(SpateDutyLog *log, int64_t now_ns)
{
    while (log->first < log->n && log->sent[log->first].end_ns <= now_ns - SPATE_DUTY_WINDOW_NS)
        log->first++;
    /* Moving the rest forward now and then costs a constant for each entry. */
    if (log->first > 16 && log->first > log->n / 2) {
        log->n -= log->first;
        memmove(log->sent, &log->sent[log->first], log->n * sizeof log->sent[0]);
        log->first = 0;
    }
}

void
spate_duty_log_note(SpateDutyLog *log, int64_t start_ns, int64_t end_ns)
{
    g_assert(start_ns < end_ns);
    g_assert(log->n == 0 || log->sent[log->n - 1].end_ns <= start_ns);
    forget(log, start_ns);
    if (G_UNLIKELY(log->n == log->room)) {
        log->room = MAX(2 * log->room, 16);
        log->sent = g_renew(SpateDutySent, log->sent, log->room);
    }
    log->sent[log->n++] = (SpateDutySent){end_ns, log->sent_ns};
    log->sent_ns += end_ns - start_ns;
}

static bool
begins_outside(const SpateDutySent *sent, int64_t outside_ns)
{
    return sent->before_ns < outside_ns;
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
    uint32_t low = log->first, high = log->n;
    /* Most hours are far from full. */
    if (low == high || !begins_outside(&log->sent[low], outside_ns))
        return now_ns;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (begins_outside(&log->sent[middle], outside_ns))
            low = middle + 1;
        else
            high = middle;
    }
    int64_t up_to_ns = low < log->n ? log->sent[low].before_ns : log->sent_ns;
    int64_t begin_ns = log->sent[low - 1].end_ns - (up_to_ns - outside_ns);
    return MAX(now_ns, begin_ns + SPATE_DUTY_WINDOW_NS - airtime_ns);
}
