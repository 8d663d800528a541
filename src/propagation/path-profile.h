/* path-profile.h - the ground between two antennas, and how near it comes to the ray
 *
 * For people: what is drawn, and what stands in the first Fresnel zone (docs/model.md, The ground).
 */
#pragma once

#include "propagation/terrain.h"

typedef struct {
    double distance_m;  /* along the ground, from the first end */
    double ground_m;    /* its height */
    double bulge_m;     /* of the curved earth above the chord between the ends */
    double ray_m;       /* the straight line from antenna to antenna */
    double fresnel_m;   /* radius of the first zone */
    double clearance_m; /* of the ray above ground and bulge */
} SpatePathPoint;

/* Of a path that is clear, and of one that is not. */
#define SPATE_CLEAR_SHARE 0.6

/* Points from a to b (SpatePathPoint), those of the profile that `model: terrain` judges; on flat
 * ground (NULL) 101 of them.  NULL with an error where there is no ground; one point, where the
 * ends stand above each other. */
GArray *spate_path_points(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                          double frequency_hz, GError **error);
/* The point between the ends that costs most: that of the least clearance in radii of the zone.
 * NULL if there is none. */
const SpatePathPoint *spate_path_worst(const GArray *points);
