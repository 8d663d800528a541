/* map-points.h - points of a map as a table of nodes
 *
 * GeoJSON (RFC 7946), GPX and KML as GDAL reads them.  Each feature is a row: `lat` and `lon` are
 * those of its point, `name` is its name; of GeoJSON all other properties are columns too, as those
 * of a CSV table.  Heights of points are above the sea or the ellipsoid, where a node's is above
 * the ground: they are ignored.
 *
 * Places have the number of the feature, from 1 in the order of the file, as line.
 */
#pragma once

#include "scenario/text/csv-table.h"

/* What the suffix of a path says that it holds: "GeoJSON", "GPX" or "KML"; NULL: no map. */
const char *spate_map_format(const char *path);
/* NULL with faults: at `place`, which names the file, if there is no reading it, else at its
 * features.  `origin` comes from spate_faults_add_map().  One thread at a time. */
SpateCsvTable *spate_map_points_parse(const char *path, const char *text, size_t length, int origin,
                                      SpatePlace place, SpateFaults *faults);
