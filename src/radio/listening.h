/* listening.h - the windows in which a radio that sleeps listens
 *
 * Arithmetic alone: whether a window is open follows from the clock, so nobody has to count
 * windows. A window holds its first instant and not its last.
 */
#pragma once

#include <stdbool.h>
#include <stdint.h>

typedef enum { SPATE_PHASE_RANDOM, SPATE_PHASE_TOGETHER } SpatePhase;

typedef struct {
    int64_t every_ns;         /* from the beginning of one window to that of the next; 0: the radio
                                 always listens */
    int64_t for_ns;           /* how long a window lasts, less than every_ns */
    int64_t after_sending_ns; /* how long the radio stays awake after a frame of its own */
    SpatePhase phase;         /* the first window begins at a random instant, or at 0 */
} SpateListening;

static inline bool
spate_listening_sleeps(const SpateListening *listening)
{
    return listening->every_ns > 0;
}

/* In what follows the first window begins at phase_ns, and none before it. */

/* Time since the last window began; -1 before the first. */
int64_t spate_listening_since_ns(const SpateListening *listening, int64_t phase_ns, int64_t at_ns);
/* When the first window after that instant begins. */
int64_t spate_listening_next_ns(const SpateListening *listening, int64_t phase_ns,
                                int64_t after_ns);
/* How much of the time from 0 to that instant lies within windows. */
int64_t spate_listening_open_ns(const SpateListening *listening, int64_t phase_ns,
                                int64_t until_ns);

/* Of frames that come at any time, whose critical part begins critical_ns after their start, the
 * share that a radio can lock on that does nothing else: min(1, (for + critical) / every).  A frame
 * is locked on when the time from its start to its critical part touches a window. */
double spate_listening_share(const SpateListening *listening, int64_t critical_ns);
