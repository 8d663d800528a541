/* missed-watch.h - messages that a radio needs and its node never got, in one run
 *
 * A radio needs a message of another node if it relays or a crossing begins at it, and the copy has
 * hops left; or if its node is a recipient.  Of the messages that were within its reach, in any
 * copy that it needs, those count as missed that no copy brought to the node; the sender that broke
 * the last one is to blame.  A message that is lost once and comes again is no harm.  Messages are
 * remembered for the next 512.
 */
#pragma once

#include "mesh/plan.h"
#include "spate/event.h"

typedef struct SpateMissedWatch SpateMissedWatch;

typedef struct {
    void (*needed)(gpointer user, uint32_t radio);
    void (*missed)(gpointer user, uint32_t radio, uint32_t disturber);
    gpointer user;
} SpateMissedFuncs;

/* Messages that were offered before `warm_up_ns` do not count. */
SpateMissedWatch *spate_missed_watch_new(const SpatePlan *plan, int64_t warm_up_ns,
                                         SpateMissedFuncs funcs);
void spate_missed_watch_free(SpateMissedWatch *watch);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateMissedWatch, spate_missed_watch_free)

/* Of each SPATE_EVENT_ENDED. */
void spate_missed_watch_note(SpateMissedWatch *watch, const SpateEvent *ended);
/* After the run: reports those that are still remembered. */
void spate_missed_watch_end(SpateMissedWatch *watch);
