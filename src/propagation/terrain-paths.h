/* terrain-paths.h - what stands between all pairs of many places, worked out once
 *
 * A path over a height model costs some microseconds, and is asked for both ways, on each bearer,
 * and in each replication.  The figures that count are the same each time.  Immutable; for all
 * threads.
 */
#pragma once

#include "propagation/terrain.h"
#include <stdint.h>

typedef struct SpateTerrainPaths SpateTerrainPaths;

/* Between all places that are wanted, by so many threads; their number changes nothing.  Paths that
 * have no ground are left out.  NULL if they would take more than 200 MB. */
SpateTerrainPaths *spate_terrain_paths_new(const SpateTerrain *terrain, const SpatePosition *places,
                                           const bool *wanted, uint32_t n_places,
                                           unsigned n_threads);
void spate_terrain_paths_free(SpateTerrainPaths *paths);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateTerrainPaths, spate_terrain_paths_free)

/* What stands between two places, by number, if they are still there; false if that is not known.
 */
bool spate_terrain_paths_find(const SpateTerrainPaths *paths, uint32_t a, SpatePosition at_a,
                              uint32_t b, SpatePosition at_b, SpateObstacle *obstacle);
