/* diffraction.c - what hills, and the earth itself, take from a wave
 *
 * Numbers of sections are those of Recommendation ITU-R P.526-16.  Lengths are in metres here, in
 * kilometres there.
 */
#include "propagation/diffraction.h"

#include <glib.h>
#include <math.h>

#define LIGHT_M_PER_S 299792458.0 /* SI Brochure, 9th edition */

/* Land; waves are polarised vertically (docs/model.md). */
#define PERMITTIVITY         22.0
#define CONDUCTIVITY_S_PER_M 0.003

double
spate_fresnel_radius_m(double from_first_m, double from_last_m, double frequency_hz)
{
    double distance_m = from_first_m + from_last_m;
    double wavelength_m = LIGHT_M_PER_S / frequency_hz;
    return distance_m > 0.0 ? sqrt(wavelength_m * from_first_m * from_last_m / distance_m) : 0.0;
}

double
spate_earth_bulge_m(double from_first_m, double from_last_m, double earth_radius_m)
{
    return from_first_m * from_last_m / (2.0 * earth_radius_m);
}

/* ---- one edge -------------------------------------------------------------------------------- */

/* What one walk along a profile finds. */
typedef struct {
    /* Of the points between the ends: the steepest slopes above the line from antenna to antenna,
     * seen from the ends; with the bulge of the earth, and of the ground alone. */
    double first_slope, last_slope;
    double first_bare_slope, last_bare_slope;
    double highest_bare_m;
    double fullest; /* of height |height| / (x y), with the bulge: it grows with nu */
    double v1, v2;  /* the sums of 4.5.3 */
} Survey;

static inline double
larger(double a, double b)
{
    return a > b ? a : b;
}

/* All in one walk: the sums wait for each other, the slopes do not. */
static Survey
survey(const SpateProfile *profile, double earth_radius_m)
{
    Survey found = {-INFINITY, -INFINITY, -INFINITY, -INFINITY, -INFINITY, -INFINITY, 0.0, 0.0};
    size_t end = profile->n_points - 1;
    double distance_m = profile->distance_m[end];
    double slope = (profile->last_m - profile->first_m) / distance_m;
    double curvature = 1.0 / (2.0 * earth_radius_m);
    double before_m = 0.0, ground_before_m = profile->ground_m[0];
    for (size_t i = 1; i <= end; i++) {
        double x_m = profile->distance_m[i], ground_m = profile->ground_m[i];
        double step_m = x_m - before_m;
        found.v1 += step_m * (ground_m + ground_before_m);
        found.v2 +=
            step_m * (ground_m * (2.0 * x_m + before_m) + ground_before_m * (x_m + 2.0 * before_m));
        before_m = x_m;
        ground_before_m = ground_m;
        if (i == end)
            break;
        double y_m = distance_m - x_m;
        double area_m2 = x_m * y_m, over_area = 1.0 / area_m2;
        double over_x = y_m * over_area, over_y = x_m * over_area;
        double bare_m = ground_m - profile->first_m - slope * x_m;
        double above_m = bare_m + area_m2 * curvature;
        found.first_slope = larger(above_m * over_x, found.first_slope);
        found.last_slope = larger(above_m * over_y, found.last_slope);
        found.fullest = larger(above_m * fabs(above_m) * over_area, found.fullest);
        found.highest_bare_m = larger(bare_m, found.highest_bare_m);
        found.first_bare_slope = larger(bare_m * over_x, found.first_bare_slope);
        found.last_bare_slope = larger(bare_m * over_y, found.last_bare_slope);
    }
    return found;
}

/* nu times the root of the wavelength (4.5.1): nu^2 = 2 h^2 d / (lambda x y).  Where the ends see
 * each other (case 1), that of the point with the largest nu.  Else that of the point where the two
 * horizons meet (case 2), with h / x and h / y the slopes of these. */
static double
edge_of(double first_slope, double last_slope, double fullest, double distance_m)
{
    double fullness = first_slope < 0.0 ? fullest : first_slope * last_slope;
    return copysign(sqrt(2.0 * distance_m * fabs(fullness)), fullness);
}

double
spate_knife_edge_db(double nu)
{
    if (nu <= -0.78)
        return 0.0;
    double x = nu - 0.1;
    return 6.9 + 20.0 * log10(sqrt(x * x + 1.0) + x);
}

double
spate_bullington_db(double edge, double distance_m, double frequency_hz)
{
    double edge_db = spate_knife_edge_db(edge * sqrt(frequency_hz / LIGHT_M_PER_S));
    return edge_db + (1.0 - exp(-edge_db / 6.0)) * (10.0 + 0.02 * distance_m / 1e3);
}

/* ---- the smooth surface ---------------------------------------------------------------------- */

/* The heights of the straight line that fits the ground best at both ends (4.5.3), lowered where
 * something stands above the antennas' own line, and nowhere above the ground at the ends. */
static void
settle_smooth_surface(const SpateProfile *profile, const Survey *found, SpateObstacle *obstacle)
{
    double distance_m = obstacle->distance_m, square_m2 = distance_m * distance_m;
    double first_m = (2.0 * found->v1 * distance_m - found->v2) / square_m2;
    double last_m = (found->v2 - found->v1 * distance_m) / square_m2;
    if (found->highest_bare_m > 0.0) {
        double sum = found->first_bare_slope + found->last_bare_slope;
        first_m -= found->highest_bare_m * found->first_bare_slope / sum;
        last_m -= found->highest_bare_m * found->last_bare_slope / sum;
    }
    size_t end = profile->n_points - 1;
    obstacle->first_m = profile->first_m - fmin(first_m, profile->ground_m[0]);
    obstacle->last_m = profile->last_m - fmin(last_m, profile->ground_m[end]);
}

/* The last point not beyond a place, but for both ends. */
static size_t
point_before(const SpateProfile *profile, double place_m)
{
    size_t low = 1, high = profile->n_points - 2;
    while (low < high) {
        size_t middle = high - (high - low) / 2;
        if (profile->distance_m[middle] <= place_m)
            low = middle;
        else
            high = middle - 1;
    }
    return low;
}

/* How a point of the bare smooth earth stands above the line from antenna to antenna. */
static double
above_line_m(const SpateObstacle *over, double x_m)
{
    double y_m = over->distance_m - x_m;
    return spate_earth_bulge_m(x_m, y_m, over->earth_radius_m) -
           (over->first_m * y_m + over->last_m * x_m) / over->distance_m;
}

/* What survey() and edge_of() find for the smooth surface, of which most needs no walk: seen from
 * an antenna its slope rises up to the horizon, at the root of 2 h a_e, and falls from there on. */
static double
smooth_edge(const SpateProfile *profile, const SpateObstacle *over)
{
    double distance_m = over->distance_m, twice_radius_m = 2.0 * over->earth_radius_m;
    double first_slope = -INFINITY, last_slope = -INFINITY, fullest = -INFINITY;
    size_t end = profile->n_points - 1;
    const size_t horizons[2] = {
        point_before(profile, sqrt(twice_radius_m * over->first_m)),
        point_before(profile, distance_m - sqrt(twice_radius_m * over->last_m))};
    for (size_t i = horizons[0]; i < MIN(horizons[0] + 2, end); i++)
        first_slope = larger(above_line_m(over, profile->distance_m[i]) / profile->distance_m[i],
                             first_slope);
    for (size_t i = horizons[1]; i < MIN(horizons[1] + 2, end); i++)
        last_slope = larger(above_line_m(over, profile->distance_m[i]) /
                                (distance_m - profile->distance_m[i]),
                            last_slope);
    double curvature = 1.0 / twice_radius_m, slope = (over->last_m - over->first_m) / distance_m;
    for (size_t i = 1; first_slope < 0.0 && i < end; i++) {
        double x_m = profile->distance_m[i], area_m2 = x_m * (distance_m - x_m);
        double above_m = area_m2 * curvature - over->first_m - slope * x_m;
        fullest = larger(-above_m * above_m / area_m2, fullest);
    }
    return edge_of(first_slope, last_slope, fullest, distance_m);
}

double
spate_profile_edge(const SpateProfile *profile, double earth_radius_m)
{
    Survey found = survey(profile, earth_radius_m);
    return edge_of(found.first_slope, found.last_slope, found.fullest,
                   profile->distance_m[profile->n_points - 1]);
}

SpateObstacle
spate_profile_obstacle(const SpateProfile *profile, double earth_radius_m)
{
    SpateObstacle obstacle = {.distance_m = profile->distance_m[profile->n_points - 1],
                              .earth_radius_m = earth_radius_m};
    Survey found = survey(profile, earth_radius_m);
    obstacle.edge =
        edge_of(found.first_slope, found.last_slope, found.fullest, obstacle.distance_m);
    settle_smooth_surface(profile, &found, &obstacle);
    obstacle.smooth_edge = smooth_edge(profile, &obstacle);
    return obstacle;
}

/* ---- the spherical earth --------------------------------------------------------------------- */

/* Gain of an antenna's height (3.1.1); beta is 1. */
static double
height_gain_db(double height_m, double earth_radius_m, double f_mhz, double admittance)
{
    double y = 9.575e-3 * pow(f_mhz * f_mhz / (earth_radius_m / 1e3), 1.0 / 3.0) * height_m;
    double gain_db = y > 2.0 ? 17.6 * sqrt(y - 1.1) - 5.0 * log10(y - 1.1) - 8.0
                             : 20.0 * log10(y + 0.1 * y * y * y);
    return fmax(gain_db, 2.0 + 20.0 * log10(admittance));
}

/* The first term of the residue series, for an earth of that radius (3.1.1); below 0 where it does
 * not hold. */
static double
first_term_db(const SpateObstacle *obstacle, double earth_radius_m, double f_mhz)
{
    double radius_km = earth_radius_m / 1e3, conduction = 18e3 * CONDUCTIVITY_S_PER_M / f_mhz;
    double horizontal =
        0.36 / cbrt(radius_km * f_mhz) / sqrt(hypot(PERMITTIVITY - 1.0, conduction));
    double admittance = horizontal * hypot(PERMITTIVITY, conduction);
    double x = 2.188 * cbrt(f_mhz / (radius_km * radius_km)) * obstacle->distance_m / 1e3;
    double distance_db =
        x >= 1.6 ? 11.0 + 10.0 * log10(x) - 17.6 * x : -20.0 * log10(x) - 5.6488 * pow(x, 1.425);
    return -distance_db - height_gain_db(obstacle->first_m, earth_radius_m, f_mhz, admittance) -
           height_gain_db(obstacle->last_m, earth_radius_m, f_mhz, admittance);
}

/* How near the line of sight comes to the smooth earth, and how wide a clearance costs nothing,
 * both where it comes nearest (3.2). */
static double
smallest_clearance_m(const SpateObstacle *obstacle, double frequency_hz, double *enough_m)
{
    double sum_m = obstacle->first_m + obstacle->last_m, distance_m = obstacle->distance_m;
    double c = (obstacle->first_m - obstacle->last_m) / sum_m;
    double m = distance_m * distance_m / (4.0 * obstacle->earth_radius_m * sum_m);
    /* Within -1 .. 1, and so is b, but for rounding. */
    double angle = acos(fmin(fmax(1.5 * c * sqrt(3.0 * m / pow(m + 1.0, 3.0)), -1.0), 1.0));
    double b = 2.0 * sqrt((m + 1.0) / (3.0 * m)) * cos((M_PI + angle) / 3.0);
    b = fmin(fmax(b, -1.0), 1.0);
    double x_m = distance_m / 2.0 * (1.0 + b), y_m = distance_m - x_m;
    double twice_radius_m = 2.0 * obstacle->earth_radius_m;
    *enough_m = 0.552 * spate_fresnel_radius_m(x_m, y_m, frequency_hz);
    return ((obstacle->first_m - x_m * x_m / twice_radius_m) * y_m +
            (obstacle->last_m - y_m * y_m / twice_radius_m) * x_m) /
           distance_m;
}

double
spate_spherical_earth_db(const SpateObstacle *obstacle, double frequency_hz)
{
    double f_mhz = frequency_hz / 1e6, distance_m = obstacle->distance_m;
    double roots = sqrt(obstacle->first_m) + sqrt(obstacle->last_m);
    if (distance_m >= sqrt(2.0 * obstacle->earth_radius_m) * roots)
        return fmax(first_term_db(obstacle, obstacle->earth_radius_m, f_mhz), 0.0);
    double enough_m, clearance_m = smallest_clearance_m(obstacle, frequency_hz, &enough_m);
    if (clearance_m > enough_m)
        return 0.0;
    /* The earth on which this distance would be that of the horizons. */
    double radius_m = distance_m * distance_m / (2.0 * roots * roots);
    double there_db = first_term_db(obstacle, radius_m, f_mhz);
    return there_db < 0.0 ? 0.0 : (1.0 - clearance_m / enough_m) * there_db;
}

double
spate_diffraction_db(const SpateObstacle *obstacle, double frequency_hz)
{
    double distance_m = obstacle->distance_m;
    double more_db = spate_spherical_earth_db(obstacle, frequency_hz) -
                     spate_bullington_db(obstacle->smooth_edge, distance_m, frequency_hz);
    return spate_bullington_db(obstacle->edge, distance_m, frequency_hz) + fmax(more_db, 0.0);
}
