/* world-ranges.h - where a path loss model is asked for more than it holds for
 *
 * Only the world includes this header.
 */
#pragma once

#include "scenario/world/world.h"

/* Notes, at the `propagation` of each bearer, the first pairs of radios for which its model does
 * not hold where these links have them, and how many more there are.  Bearers whose models always
 * hold take no time.  `when` says since when it is so, as in "after 3 s: "; else "". */
void spate_world_note_ranges(const SpateWorld *world, const SpateLinks *links, const char *when,
                             SpateFaults *faults);
