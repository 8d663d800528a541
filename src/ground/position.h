/* position.h - places of antennas, and the way from one to another
 *
 * A place is given in a plane (metres east and north) or on the ellipsoid WGS 84 (degrees); all
 * places of a scenario in one form.  On the ellipsoid, ways are geodesics: C. F. F. Karney,
 * Algorithms for geodesics, Journal of Geodesy 87 (2013), as PROJ implements them.
 */
#pragma once

#include <stdbool.h>

typedef struct {
    union {
        struct {
            double x_m, y_m; /* x east, y north */
        };
        struct {
            double longitude_deg, latitude_deg; /* WGS 84 */
        };
        struct {
            double east, north; /* either pair, for what treats both alike */
        };
    };
    double height_m; /* above the ground there */
    double ground_m; /* height of the ground there; 0 where there is no height model */
    bool is_geographic;
} SpatePosition;

/* Distance along the ground: a straight line in the plane, a geodesic on the ellipsoid.  Both in
 * the same form. */
double spate_ground_distance_m(SpatePosition a, SpatePosition b);
/* Distance between the antennas in three dimensions, without the curvature of the earth; 1 m when
 * both are at the same place. */
double spate_distance_m(SpatePosition a, SpatePosition b);
/* The place on the map as a point in space, such that a straight line between two points is no
 * longer than the way along the ground: in the plane that of the map, else from the earth's centre,
 * the axis last. */
void spate_position_in_space(SpatePosition position, double point_m[3]);
/* Bearing of b from a: 0 along +y (north), clockwise, [0, 360).  On the ellipsoid the direction in
 * which the geodesic sets out; 0 where both are at the same place. */
double spate_bearing_deg(SpatePosition a, SpatePosition b);
/* The place that a share (0 .. 1) of the way from a to b reaches; the height above the ground
 * changes evenly, the ground under it is not known (0). */
SpatePosition spate_position_between(SpatePosition a, SpatePosition b, double share);
/* The place at that distance and bearing from a, with a's height above the ground. */
SpatePosition spate_position_towards(SpatePosition a, double bearing_deg, double distance_m);
/* The parallel up to which that share (0 .. 1) of the area between two parallels lies. */
double spate_parallel_between_deg(double from_deg, double to_deg, double area_share);
