/* disturber-watch.h - whose frames break whose reception, in one run
 *
 * Of each frame that a radio could have received after the warm-up and did not, the channel names
 * one sender that is to blame (docs/model.md): the strongest of those that drowned it, the one that
 * it was locked on instead, or the node's own other radio.  Own sending and sleep have nobody to
 * blame.
 */
#pragma once

#include "mesh/plan.h"
#include "spate/event.h"
#include <glib.h>

/* A sender and a receiver; radios of the plan, or (from its n_radios on) ambient traffic. */
typedef struct {
    uint32_t receiver, sender;
    uint64_t n_collision, n_busy, n_blocked;
    uint64_t n_missed; /* messages (missed-watch.h); 0 unless they are watched */
} SpateDisturbance;

/* By receiver, then sender. */
int spate_disturbance_compare(gconstpointer a, gconstpointer b);

typedef struct {
    uint64_t *audible;  /* by radio */
    uint64_t *received; /* likewise */
    uint64_t *sending;  /* lost because the radio itself was sending */
    uint64_t *asleep;   /* ... because it was asleep */
    uint64_t *needed;   /* messages within reach that it needs; 0 unless they are watched */
    GArray *pairs;      /* SpateDisturbance, by receiver, then sender */
} SpateDisturberCounts;

void spate_disturber_counts_clear(SpateDisturberCounts *counts);

typedef struct SpateDisturberWatch SpateDisturberWatch;
SpateDisturberWatch *spate_disturber_watch_new(const SpatePlan *plan, int64_t warm_up_ns);
void spate_disturber_watch_free(SpateDisturberWatch *watch);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDisturberWatch, spate_disturber_watch_free)
/* Before the run: messages that are never got are counted too. */
void spate_disturber_watch_messages(SpateDisturberWatch *watch);
SpateObserver spate_disturber_watch_observer(SpateDisturberWatch *watch);
/* After the run; takes them out of the watch. */
SpateDisturberCounts spate_disturber_watch_counts(SpateDisturberWatch *watch);
