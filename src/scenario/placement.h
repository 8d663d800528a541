/* placement.h - where the nodes of a group stand
 *
 * A random place depends on the seed, the name of the entry and the number of the node, and on
 * nothing else: other entries of a file, or more nodes in this one, do not move it.
 */
#pragma once

#include "ground/position.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef enum {
    SPATE_PLACE_POINTS, /* given one by one: points, grid, line, `at` */
    SPATE_PLACE_CIRCLE, /* uniform inside */
    SPATE_PLACE_RECTANGLE,
    SPATE_PLACE_POLYGON
} SpatePlacementKind;

/* The places of one entry of `nodes:`. */
typedef struct {
    SpatePlacementKind kind;
    bool redraw;        /* random places: in each replication; else once for all */
    uint64_t name_hash; /* of the entry: draws are keyed by it and the index */
    double height_m;
    SpatePosition *points; /* POINTS: one for each node; POLYGON: the corners; RECTANGLE: two
                              corners; CIRCLE: the centre.  Longitudes of corners are counted on
                              from one to the next, beyond 180 degrees too */
    uint32_t n_points;
    double radius_m;
} SpatePlacement;

/* Of a polygon: which share of the box around it lies inside, about, by draws.  Its area does not
 * tell: where it goes around twice, nothing is inside. */
double spate_placement_share_inside(const SpatePlacement *polygon);

/* A place whose longitude was counted on beyond 180 degrees, with that from -180 to 180. */
SpatePosition spate_position_rolled(SpatePosition at);

void spate_placement_free(SpatePlacement *placement);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpatePlacement, spate_placement_free)

/* The place of the entry's index-th node. */
SpatePosition spate_placement_at(const SpatePlacement *placement, uint32_t index, uint64_t seed,
                                 uint32_t replication);
