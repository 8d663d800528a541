/* duty.h - the duty cycle of one radio
 *
 * "Over any window of one hour": a frame partly within a window counts by that part
 * (ETSI EN 300 220-1: the observation period is one hour, wherever it begins).
 */
#pragma once

#include "core/time.h"
#include <glib.h>
#include <stdint.h>

#define SPATE_DUTY_WINDOW_NS SPATE_NS_PER_HOUR

typedef struct {
    int64_t end_ns;
    int64_t before_ns; /* sent in all before it */
} SpateDutySent;

/* What a radio has sent within the last window, oldest first.  Starts as zeros. */
typedef struct {
    SpateDutySent *sent;
    uint32_t first, n, room; /* those before the first are forgotten */
    int64_t sent_ns;         /* in all, also what is forgotten */
} SpateDutyLog;

void spate_duty_log_clear(SpateDutyLog *log);

/* Times of one radio do not overlap and come in order. */
void spate_duty_log_note(SpateDutyLog *log, int64_t start_ns, int64_t end_ns);

/* The earliest instant, not before now_ns, at which a frame of that length may begin so that no
 * window holds more than limit_ns; SPATE_NEVER_NS if it is longer than that. */
int64_t spate_duty_log_earliest_ns(const SpateDutyLog *log, int64_t now_ns, int64_t airtime_ns,
                                   int64_t limit_ns);
