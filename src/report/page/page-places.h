/* page-places.h - places on a sheet of paper
 *
 * The map of a page is drawn in metres to the east and north of the middle of the nodes.  Of nodes
 * on the ellipsoid each is put there by its distance and bearing from the middle (an azimuthal
 * equidistant projection).  Other distances come out too long, by d^2 / 6 R^2 of them at a distance
 * d from the middle: 0.1 % at 500 km.  They only serve for drawing.
 */
#pragma once

#include <json-glib/json-glib.h>

/* Of checked details, as JSON: for each variant and node of it the [x, y] of its place and of the
 * points of its way; null where places are in metres already. */
void spate_page_append_places(GString *text, JsonObject *detail);

/* The same of what lies under the map: `relief` and, by variant, `coverage`, each as [[x, y] of its
 * north-west corner, the way along its northern edge, the way along its western edge]; null where
 * there is none.  A grid in degrees is laid flat from its middle; a corner that lies w to the side
 * and h above it is then off by some w h tan(latitude) / 2 R: 9 m where both are 10 km, at 50
 * degrees. */
void spate_page_append_layers(GString *text, JsonObject *detail);
