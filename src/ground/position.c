/* position.c - places of antennas, and the way from one to another */
#include "ground/position.h"

#include "ground/proj.h"
#include <glib.h>
#include <math.h>
#include <pthread.h>

#define SAME_PLACE_M 1.0 /* two nodes at the same place are this far apart */

/* WGS 84: NIMA TR8350.2, 3rd edition, table 3.1. */
#define EQUATOR_RADIUS_M   6378137.0
#define INVERSE_FLATTENING 298.257223563
/* sqrt(f (2 - f)) of it. */
#define ECCENTRICITY 0.0818191908426215

static struct geod_geodesic ellipsoid;

static void
make_ellipsoid(void)
{
    spate_proj()->geod_init(&ellipsoid, EQUATOR_RADIUS_M, 1.0 / INVERSE_FLATTENING);
}

/* Its series take a sixth of the time of a geodesic: once for all. */
static const struct geod_geodesic *
earth(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, make_ellipsoid);
    return &ellipsoid;
}

/* Distance and bearing at the start. */
static double
geodesic_m(SpatePosition a, SpatePosition b, double *bearing_deg)
{
    double distance_m, there_deg;
    spate_proj()->geod_inverse(earth(), a.latitude_deg, a.longitude_deg, b.latitude_deg,
                               b.longitude_deg, &distance_m, bearing_deg, &there_deg);
    return distance_m;
}

double
spate_ground_distance_m(SpatePosition a, SpatePosition b)
{
    double bearing_deg;
    return a.is_geographic
               ? geodesic_m(a, b, &bearing_deg)
               : sqrt((a.x_m - b.x_m) * (a.x_m - b.x_m) + (a.y_m - b.y_m) * (a.y_m - b.y_m));
}

double
spate_distance_m(SpatePosition a, SpatePosition b)
{
    double up_m = a.ground_m + a.height_m - b.ground_m - b.height_m;
    double distance_m;
    if (a.is_geographic) {
        distance_m = hypot(spate_ground_distance_m(a, b), up_m);
    } else {
        double x_m = a.x_m - b.x_m, y_m = a.y_m - b.y_m;
        distance_m = sqrt(x_m * x_m + y_m * y_m + up_m * up_m);
    }
    return distance_m > 0.0 ? distance_m : SAME_PLACE_M;
}

/* NIMA TR8350.2, 4.2: the normal of the ellipsoid at a latitude meets its axis so far below. */
void
spate_position_in_space(SpatePosition position, double point_m[3])
{
    if (!position.is_geographic) {
        point_m[0] = position.x_m;
        point_m[1] = position.y_m;
        point_m[2] = 0.0;
        return;
    }
    double latitude = position.latitude_deg * G_PI / 180.0;
    double longitude = position.longitude_deg * G_PI / 180.0;
    double sine = ECCENTRICITY * sin(latitude);
    double normal_m = EQUATOR_RADIUS_M / sqrt(1.0 - sine * sine);
    point_m[0] = normal_m * cos(latitude) * cos(longitude);
    point_m[1] = normal_m * cos(latitude) * sin(longitude);
    point_m[2] = normal_m * (1.0 - ECCENTRICITY * ECCENTRICITY) * sin(latitude);
}

double
spate_bearing_deg(SpatePosition a, SpatePosition b)
{
    double bearing_deg;
    if (!a.is_geographic)
        bearing_deg = atan2(b.x_m - a.x_m, b.y_m - a.y_m) * 180.0 / G_PI;
    /* Of no way at all, one in the north sets out to the south. */
    else if (!(geodesic_m(a, b, &bearing_deg) > 0.0))
        bearing_deg = 0.0;
    if (bearing_deg < 0.0)
        bearing_deg += 360.0;
    /* Just west of north, the sum rounds to a full turn. */
    return bearing_deg < 360.0 ? bearing_deg : 0.0;
}

SpatePosition
spate_position_between(SpatePosition a, SpatePosition b, double share)
{
    SpatePosition at = a;
    if (a.is_geographic) {
        double bearing_deg, distance_m = geodesic_m(a, b, &bearing_deg);
        at = spate_position_towards(a, bearing_deg, share * distance_m);
    } else {
        at.x_m = a.x_m + share * (b.x_m - a.x_m);
        at.y_m = a.y_m + share * (b.y_m - a.y_m);
    }
    at.height_m = a.height_m + share * (b.height_m - a.height_m);
    at.ground_m = 0.0;
    return at;
}

SpatePosition
spate_position_towards(SpatePosition a, double bearing_deg, double distance_m)
{
    SpatePosition at = a;
    at.ground_m = 0.0;
    if (a.is_geographic) {
        double there_deg;
        spate_proj()->geod_direct(earth(), a.latitude_deg, a.longitude_deg, bearing_deg, distance_m,
                                  &at.latitude_deg, &at.longitude_deg, &there_deg);
    } else {
        at.x_m += distance_m * sin(bearing_deg * G_PI / 180.0);
        at.y_m += distance_m * cos(bearing_deg * G_PI / 180.0);
    }
    return at;
}

/* Half of what Snyder calls q (Map Projections: A Working Manual, USGS Professional Paper 1395,
 * 1987, eq. 3-12; from memory, held against a sum of strips by a test), without a constant factor:
 * the area between the equator and the parallel of that sine grows with it.  On a sphere it is the
 * sine itself. */
static double
area_of_sine(double sine)
{
    double square = ECCENTRICITY * ECCENTRICITY * sine * sine;
    return 0.5 * (sine / (1.0 - square) + atanh(ECCENTRICITY * sine) / ECCENTRICITY);
}

double
spate_parallel_between_deg(double from_deg, double to_deg, double area_share)
{
    double from = area_of_sine(sin(from_deg * G_PI / 180.0));
    double to = area_of_sine(sin(to_deg * G_PI / 180.0));
    double wanted = from + area_share * (to - from);
    double sine = wanted / area_of_sine(1.0);
    /* Newton's method: the area is all but straight over the sine, so that each step more than
     * doubles the digits. */
    for (int i = 0; i < 4; i++) {
        double square = ECCENTRICITY * ECCENTRICITY * sine * sine;
        sine -= (area_of_sine(sine) - wanted) * (1.0 - square) * (1.0 - square);
        sine = CLAMP(sine, -1.0, 1.0);
    }
    return CLAMP(asin(sine) * 180.0 / G_PI, MIN(from_deg, to_deg), MAX(from_deg, to_deg));
}
