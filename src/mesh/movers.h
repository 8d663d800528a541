/* movers.h - nodes that move: when each makes its next step, and what that changes
 *
 * Where a node is after which step follows from its way (propagation/track.h), how its links are
 * then from the medium.  Steps of one instant are made in the order of the nodes' names, after
 * outages that begin or end there.
 */
#pragma once

#include "mesh/mesh.h"

typedef struct SpateMovers SpateMovers;

/* Everything is borrowed; the channel may be NULL where nothing is ever sent.  The ways begin where
 * the nodes of the medium are.  NULL if the plan has no node that moves: nothing is kept or
 * scheduled then. */
SpateMovers *spate_movers_new(SpateEventQueue *queue, SpateChannel *channel, SpateMedium *medium,
                              const SpatePlan *plan);
void spate_movers_free(SpateMovers *movers);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateMovers, spate_movers_free)

/* After all events of rank SWITCH of an instant: makes the steps that are due.  Calls `moved` after
 * each. */
typedef void (*SpateMovedFunc)(gpointer user, uint32_t node, SpatePosition to);
void spate_movers_settle(SpateMovers *movers, SpateMovedFunc moved, gpointer user);

/* Why no node moves any more: a path loss model does not hold where one came to.  NULL else, and
 * for NULL.  Borrowed. */
const SpateMoveProblem *spate_movers_problem(const SpateMovers *movers);
