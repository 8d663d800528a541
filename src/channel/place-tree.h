/* place-tree.h - which places lie near one
 *
 * Places are halved along the longer side of the box that holds them, again and again; a search
 * opens only boxes that reach into its circle.  So it costs about what it finds, however the places
 * are spread: close together in villages, with nothing in between, or at random.
 */
#pragma once

#include <glib.h>
#include <stdint.h>

typedef struct SpatePlaceTree SpatePlaceTree;

typedef struct {
    double at_m[3]; /* a point in space */
    double value;   /* the caller's own, as is the number */
    uint32_t number;
} SpatePlace;

/* The places are taken over. */
SpatePlaceTree *spate_place_tree_new(SpatePlace *places, uint32_t n);
void spate_place_tree_free(SpatePlaceTree *tree);
/* Calls back with all places no farther than that from a point, perhaps with some that are, and the
 * square of their distance. */
typedef void (*SpatePlaceFound)(gpointer user, const SpatePlace *place, double away_m2);
void spate_place_tree_search(const SpatePlaceTree *tree, const double from_m[3], double within_m,
                             SpatePlaceFound found, gpointer user);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpatePlaceTree, spate_place_tree_free)
