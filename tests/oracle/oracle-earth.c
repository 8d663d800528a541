/* oracle-earth.c - places in degrees (docs/model.md, Links)
 *
 * Geodesics on WGS 84 by the formulae of T. Vincenty, Survey Review 23 (176), 1975 (from memory;
 * tests of the program's own hold them too): exact to a tenth of a millimetre, but not for places
 * that are nearly opposite each other.
 */
#include "oracle/oracle-private.h"

#include <math.h>

#define RAD       (G_PI / 180.0)
#define EQUATOR_M 6378137.0
#define FLATNESS  (1.0 / 298.257223563)
#define POLE_M    ((1.0 - FLATNESS) * EQUATOR_M)

/* On the auxiliary sphere. */
typedef struct {
    double cos2_alpha, cos_2sigma_m; /* of the geodesic at the equator, of its middle */
    double a, b;                     /* of the series */
} Series;

static Series
series_of(double cos2_alpha, double cos_2sigma_m)
{
    double u2 = cos2_alpha * (EQUATOR_M * EQUATOR_M - POLE_M * POLE_M) / (POLE_M * POLE_M);
    return (Series){cos2_alpha, cos_2sigma_m,
                    1.0 + u2 / 16384.0 * (4096.0 + u2 * (-768.0 + u2 * (320.0 - 175.0 * u2))),
                    u2 / 1024.0 * (256.0 + u2 * (-128.0 + u2 * (74.0 - 47.0 * u2)))};
}

static double
delta_sigma(Series its, double sigma)
{
    double m = its.cos_2sigma_m, b = its.b;
    return b * sin(sigma) *
           (m + b / 4.0 *
                    (cos(sigma) * (2.0 * m * m - 1.0) -
                     b / 6.0 * m * (4.0 * pow(sin(sigma), 2.0) - 3.0) * (4.0 * m * m - 3.0)));
}

/* How much longer the longitude is on the sphere. */
static double
longer(Series its, double sin_alpha, double sigma)
{
    double c = FLATNESS / 16.0 * its.cos2_alpha * (4.0 + FLATNESS * (4.0 - 3.0 * its.cos2_alpha));
    double m = its.cos_2sigma_m;
    return (1.0 - c) * FLATNESS * sin_alpha *
           (sigma + c * sin(sigma) * (m + c * cos(sigma) * (2.0 * m * m - 1.0)));
}

static double
reduced(double latitude_deg)
{
    return atan((1.0 - FLATNESS) * tan(latitude_deg * RAD));
}

double
oracle_way_m(SpatePosition a, SpatePosition b, double *bearing)
{
    double u = reduced(a.latitude_deg), v = reduced(b.latitude_deg);
    double l = remainder(b.longitude_deg - a.longitude_deg, 360.0) * RAD, lambda = l;
    double sigma = 0.0;
    Series its = {0};
    *bearing = 0.0;
    for (int i = 0; i < 20; i++) {
        double east = cos(v) * sin(lambda);
        double north = cos(u) * sin(v) - sin(u) * cos(v) * cos(lambda);
        double sin_sigma = hypot(east, north);
        if (!(sin_sigma > 0.0))
            return 0.0;
        sigma = atan2(sin_sigma, sin(u) * sin(v) + cos(u) * cos(v) * cos(lambda));
        double sin_alpha = cos(u) * cos(v) * sin(lambda) / sin_sigma;
        double cos2_alpha = 1.0 - sin_alpha * sin_alpha;
        its = series_of(cos2_alpha,
                        cos2_alpha > 1e-15 ? cos(sigma) - 2.0 * sin(u) * sin(v) / cos2_alpha : 0.0);
        *bearing = atan2(east, north);
        lambda = l + longer(its, sin_alpha, sigma);
    }
    return POLE_M * its.a * (sigma - delta_sigma(its, sigma));
}

SpatePosition
oracle_place_towards(SpatePosition a, double bearing, double distance_m)
{
    double u = reduced(a.latitude_deg), sin_alpha = cos(u) * sin(bearing);
    double sigma_1 = atan2(tan(u), cos(bearing));
    Series its = series_of(1.0 - sin_alpha * sin_alpha, 0.0);
    double on_sphere = distance_m / (POLE_M * its.a), sigma = on_sphere;
    for (int i = 0; i < 20; i++) {
        its.cos_2sigma_m = cos(2.0 * sigma_1 + sigma);
        sigma = on_sphere + delta_sigma(its, sigma);
    }
    double polar = sin(u) * sin(sigma) - cos(u) * cos(sigma) * cos(bearing);
    double sine = sin(u) * cos(sigma) + cos(u) * sin(sigma) * cos(bearing);
    double lambda =
        atan2(sin(sigma) * sin(bearing), cos(u) * cos(sigma) - sin(u) * sin(sigma) * cos(bearing));
    SpatePosition at = a;
    at.latitude_deg = atan2(sine, (1.0 - FLATNESS) * hypot(sin_alpha, polar)) / RAD;
    at.longitude_deg =
        remainder(a.longitude_deg + (lambda - longer(its, sin_alpha, sigma)) / RAD, 360.0);
    return at;
}

/* The area from the equator to a parallel, in squares of the equator's radius and for each radian
 * of longitude, by Simpson's rule over the product of both radii of curvature and the cosine. */
static double
area_to(double latitude_deg)
{
    enum { N_STRIPS = 64 };
    const double e2 = FLATNESS * (2.0 - FLATNESS);
    double step = latitude_deg * RAD / N_STRIPS, sum = 0.0;
    for (int i = 0; i <= N_STRIPS; i++) {
        double sine = sin(i * step), weight = i == 0 || i == N_STRIPS ? 1.0
                                              : i % 2 == 1            ? 4.0
                                                                      : 2.0;
        sum += weight * (1.0 - e2) * cos(i * step) / pow(1.0 - e2 * sine * sine, 2.0);
    }
    return sum * step / 3.0;
}

double
oracle_parallel_deg(double from_deg, double to_deg, double area_share)
{
    double from = area_to(from_deg), wanted = from + area_share * (area_to(to_deg) - from);
    double low = fmin(from_deg, to_deg), high = fmax(from_deg, to_deg);
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        *(area_to(middle) < wanted ? &low : &high) = middle;
    }
    return 0.5 * (low + high);
}
