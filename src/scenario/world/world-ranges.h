/* world-ranges.h - where a path loss model or the height model is asked for more than it holds for
 *
 * Only the world includes this header.
 */
#pragma once

#include "scenario/world/world.h"

/* Notes, at the nodes, the first that have no ground under them in a replication, and how many more
 * there are. */
void spate_world_note_grounds(const SpateWorld *world, uint32_t replication, SpateFaults *faults);

/* Notes, at the `propagation` of each bearer, the first pairs of radios for which its model does
 * not hold where these links have them, and how many more there are.  Bearers whose models always
 * hold take no time.  `when` says since when it is so, as in "after 3 s: "; else "". */
void spate_world_note_ranges(const SpateWorld *world, const SpateLinks *links, const char *when,
                             SpateFaults *faults);
