/* world-ranges.h - where a path loss model or the height model is asked for more than it holds for
 *
 * Only the world includes this header.
 */
#pragma once

#include "scenario/world/world.h"

/* Notes, at the nodes, the first that have no ground under them in a replication, and how many more
 * there are. */
void spate_world_note_grounds(const SpateWorld *world, uint32_t replication, SpateFaults *faults);

/* Whether one of its models does not hold everywhere. */
bool spate_world_may_fail(const SpatePropagation *propagation);

/* Notes one pair of radios, at the `propagation` of the sender's bearer. */
void spate_world_note_pair(const SpateWorld *world, uint32_t sender, uint32_t receiver,
                           const char *why, SpateFaults *faults);

/* Notes, at the `propagation` of each bearer, the first pairs of radios for which its model does
 * not hold where these links have them, and how many more there are.  Bearers whose models always
 * hold take no time.  `when` says since when it is so, as in "after 3 s: "; else "". */
void spate_world_note_ranges(const SpateWorld *world, const SpateLinks *links, const char *when,
                             SpateFaults *faults);
