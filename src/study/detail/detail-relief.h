/* detail-relief.h - the ground under a map, as light from one side shows it
 *
 * A grid of at most SPATE_RELIEF_SIDE points a side over the places and ways of all nodes, with a
 * margin; no finer than the height model.  It is a picture, from the heights at the points alone.
 */
#pragma once

#include "scenario/world/world.h"
#include "study/coverage/grid.h"

#define SPATE_RELIEF_SIDE 256

typedef struct {
    const char *elevation; /* the name of the height model's file; borrowed */
    SpateGrid grid;
    double *shades; /* spate_hillshade(), row by row from the north-west; NAN: no ground there */
} SpateRelief;

/* Of scenarios that lie over one height model; NULL where they do not, or where none of it is below
 * them.  Borrows the worlds. */
SpateRelief *spate_relief_new(const SpateWorld *const *worlds, size_t n_worlds);
void spate_relief_free(SpateRelief *relief);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateRelief, spate_relief_free)
