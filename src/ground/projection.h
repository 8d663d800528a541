/* projection.h - from WGS 84 to the system of a map and back, by PROJ
 *
 * Of PROJ's ways each thread needs its own: those that nobody uses are kept for the next.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

typedef struct SpateProjection SpateProjection;

/* The definition is any that PROJ reads.  NULL if it cannot make a way there. */
SpateProjection *spate_projection_new(const char *definition);
void spate_projection_free(SpateProjection *projection);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateProjection, spate_projection_free)

/* Each pair of coordinates anew, in place: east, north; in degrees or in the unit of the system.
 * NAN where the system ends.  Several threads at once may call these. */
void spate_projection_from_globe(SpateProjection *projection, double (*places)[2], size_t n);
void spate_projection_to_globe(SpateProjection *projection, double (*places)[2], size_t n);
