/* terrain.h - the ground under antennas and between them
 *
 * docs/model.md, "The ground": heights of a raster, the profile of a path over them, what that
 * profile takes from a wave.  Places are in the raster's own plane or on WGS 84.  Immutable; for
 * all threads.
 */
#pragma once

#include "ground/position.h"
#include "ground/raster.h"
#include "propagation/diffraction.h"

typedef struct SpateTerrain SpateTerrain;

/* The raster: a new reference is held. */
SpateTerrain *spate_terrain_new(SpateRaster *raster, double earth_radius_factor);
void spate_terrain_free(SpateTerrain *terrain);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateTerrain, spate_terrain_free)

const SpateRaster *spate_terrain_raster(const SpateTerrain *terrain);
double spate_terrain_earth_radius_m(const SpateTerrain *terrain);

/* Sets the height of the ground at the place.  False with an error (SPATE_PROPAGATION_ERROR,
 * OUT_OF_RANGE) where there is none: outside of the raster, or without data. */
bool spate_terrain_settle(const SpateTerrain *terrain, SpatePosition *position, GError **error);

/* False with an error as above where the straight line or the geodesic leaves the raster, or has no
 * data. */
bool spate_terrain_covers(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                          GError **error);

/* Appends the heights (double) of the profile from a to b: n + 1 at equal steps, n the number of
 * cells that the path is long, at least 10; one where both are at the same place.  False with an
 * error as above. */
bool spate_terrain_append_ground(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                                 GArray *ground_m, GError **error);

/* What stands between two antennas, from whichever it is looked at.  Without horizontal distance
 * its length is 0, and nothing does.  False with an error as above. */
bool spate_terrain_obstacle(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                            SpateObstacle *obstacle, GError **error);
/* What that takes at the least, by a glance at some points of the profile: more points only make
 * the edge higher.  0 where nothing can be said so soon, a path without ground among them. */
double spate_terrain_least_loss_db(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                                   double frequency_hz);
/* Beyond free space; 0 or more. */
double spate_terrain_loss_db(const SpateObstacle *obstacle, double frequency_hz);
