/* time.h - simulated time
 *
 * Time inside the model is a signed 64-bit count of nanoseconds from the start
 * of the run (292 years).  It is an integer so that two machines agree on what
 * "at once" means.
 */
#pragma once

#include <stdint.h>

#define SPATE_NS_PER_US   INT64_C(1000)
#define SPATE_NS_PER_MS   INT64_C(1000000)
#define SPATE_NS_PER_S    INT64_C(1000000000)
#define SPATE_NS_PER_MIN  (60 * SPATE_NS_PER_S)
#define SPATE_NS_PER_HOUR (3600 * SPATE_NS_PER_S)

/* "Never": later than any event of a run. */
#define SPATE_NEVER_NS INT64_MAX

/* Events of one instant happen by kind, in this order (docs/model.md, Time). */
typedef enum {
    SPATE_RANK_END,      /* frames leave the air */
    SPATE_RANK_SWITCH,   /* radios go off and on again, listening windows begin */
    SPATE_RANK_TIMER,    /* offers and timers */
    SPATE_RANK_CRITICAL, /* critical parts begin */
    SPATE_RANK_START,    /* frames enter the air */
    SPATE_N_RANKS
} SpateRank;
