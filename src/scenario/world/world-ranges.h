/* world-ranges.h - where a path loss model is asked for more than it holds for
 *
 * Only the world includes this header.
 */
#pragma once

#include "scenario/world/world.h"

/* Notes, at the `propagation` of each bearer, the first pairs of radios for which its model does
 * not hold in a replication, and how many more there are.  Bearers whose models always hold take
 * no time. */
void spate_world_note_ranges(const SpateWorld *world, uint32_t replication, SpateFaults *faults);
