/* read-place.h - places, as `at:`, `place:` and tables of nodes give them
 *
 * Only the loader includes this header.
 */
#pragma once

#include "scenario/read/read-fields.h"

#define SPATE_HIGHEST_M  20e3
#define SPATE_FARTHEST_M 1e6
/* Coordinates of a plane: those of Mercator's projection run to 20,038 km. */
#define SPATE_LARGEST_COORDINATE_M 21e6

typedef struct {
    double x_m, y_m, lat_deg, lon_deg, height_m;
} SpateSpot;

/* For tables of fields whose struct begins with a SpateSpot. */
#define SPATE_SPOT_FIELDS                                                                          \
    {SPATE_NUMBER("x", SpateSpot, x_m, LENGTH, -SPATE_LARGEST_COORDINATE_M,                        \
                  SPATE_LARGEST_COORDINATE_M)},                                                    \
        {SPATE_NUMBER("y", SpateSpot, y_m, LENGTH, -SPATE_LARGEST_COORDINATE_M,                    \
                      SPATE_LARGEST_COORDINATE_M)},                                                \
        {SPATE_NUMBER("lat", SpateSpot, lat_deg, DEGREES, -90, 90)},                               \
    {                                                                                              \
        SPATE_NUMBER("lon", SpateSpot, lon_deg, DEGREES, -180, 180)                                \
    }
#define SPATE_HEIGHT_FIELD(type, member)                                                           \
    {                                                                                              \
        SPATE_NUMBER("height", type, member, LENGTH, 0, SPATE_HIGHEST_M)                           \
    }

/* In which form the keys of a map give a place.  A fault at `owner` if it is none, UNKNOWN, or not
 * that of the others. */
SpateGeo spate_geo_form(SpateReader *reader, SpatePlace owner, const SpateYaml *map);
/* A spot that was read without faults, form included. */
SpatePosition spate_settle_spot(SpateReader *reader, SpateGeo form, const SpateSpot *spot);

/* A row of a table of nodes.  NAN and NULL: as the entry says. */
typedef struct {
    SpateSpot spot;
    SpatePlace place;
    SpatePosition position;
    const SpateYamlPair *name, *relay, *label;
    double power_dbm, gain_dbi, feeder_loss_db, site_loss_db;
} SpateNodeRow;

/* The nodes of `table: FILE.csv`; NULL with a fault.  `height_m` is theirs where the table is
 * silent. */
GArray *spate_read_node_table(SpateReader *reader, const SpateYamlPair *table, double height_m);
