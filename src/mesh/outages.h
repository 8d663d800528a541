/* outages.h - when nodes are down
 *
 * A node is down while any outage of the plan holds it: outages that overlap or meet are one. Given
 * ones begin and end at stated instants; drawn ones alternate with times in between, each node by a
 * stream of its own, the first of which begins with the run.  What a node loses is not known here
 * (failing.c).
 */
#pragma once

#include "core/event-queue.h"
#include "mesh/plan.h"

typedef struct SpateOutages SpateOutages;

/* Everything is borrowed.  NULL if the plan has no outages: nothing is kept or scheduled then. */
SpateOutages *spate_outages_new(SpateEventQueue *queue, const SpatePlan *plan, uint64_t seed,
                                uint32_t replication);
void spate_outages_free(SpateOutages *outages);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateOutages, spate_outages_free)

typedef struct {
    const uint32_t *down; /* nodes that were up before this instant */
    uint32_t n_down;
    const uint32_t *back; /* nodes that were down */
    uint32_t n_back;
} SpateOutageChanges;

/* After all events of rank SWITCH of an instant: what they have changed.  Lives until the next
 * call.
 */
SpateOutageChanges spate_outages_settle(SpateOutages *outages);

/* False without outages. */
bool spate_outages_is_down(const SpateOutages *outages, uint32_t node);
