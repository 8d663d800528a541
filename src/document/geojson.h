/* geojson.h - geometries of GeoJSON (RFC 7946)
 *
 * Places are longitude and latitude on WGS 84, in degrees, from -180 to 180 and from -90 to 90.
 * Features are forms (document/form.h) whose geometry is SPATE_CELL_OTHER.
 */
#pragma once

#include <glib.h>

/* [10.12345678, 60.12345678]: to a millimetre. */
void spate_geojson_append_position(GString *text, double longitude_deg, double latitude_deg);
void spate_geojson_append_point(GString *text, double longitude_deg, double latitude_deg);
/* Between two places, each longitude and latitude.  What lies across the 180th meridian is cut
 * there (RFC 7946, 3.1.9). */
void spate_geojson_append_line(GString *text, const double from_deg[2], const double to_deg[2]);
