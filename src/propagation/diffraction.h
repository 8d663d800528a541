/* diffraction.h - what hills, and the earth itself, take from a wave
 *
 * The delta-Bullington construction of Recommendation ITU-R P.526-16, 4.5: one edge in place of a
 * whole profile, and the difference between a spherical earth and such an edge for the smooth
 * surface that fits the profile best.  What follows from geometry alone is worked out once; each
 * frequency then costs a few logarithms.
 */
#pragma once

#include <stddef.h>

/* The ground from one antenna to the other. */
typedef struct {
    const double *distance_m; /* ascending, from 0 to the length of the path */
    const double *ground_m;   /* heights there */
    size_t n_points;          /* 3 or more */
    double first_m, last_m;   /* heights of the antennas, counted as the ground's */
} SpateProfile;

/* What of a profile counts, whatever the wavelength. */
typedef struct {
    double distance_m;
    double earth_radius_m; /* the effective one */
    /* Bullington's nu times the square root of the wavelength in metres: of the profile, and of
     * the smooth surface. */
    double edge, smooth_edge;
    double first_m, last_m; /* antennas above the smooth surface */
} SpateObstacle;

/* SpateObstacle's `edge` alone: no lower than that of some of the same points. */
double spate_profile_edge(const SpateProfile *profile, double earth_radius_m);
SpateObstacle spate_profile_obstacle(const SpateProfile *profile, double earth_radius_m);

/* In dB, 0 or more: the whole loss beyond free space, and its parts. */
double spate_diffraction_db(const SpateObstacle *obstacle, double frequency_hz);
double spate_bullington_db(double edge, double distance_m, double frequency_hz);
double spate_spherical_earth_db(const SpateObstacle *obstacle, double frequency_hz);
/* Behind a knife edge: P.526-16, equation 31. */
double spate_knife_edge_db(double nu);

/* Radius of the first Fresnel zone, and how high the curved ground rises above the chord: so far
 * from the two ends. */
double spate_fresnel_radius_m(double from_first_m, double from_last_m, double frequency_hz);
double spate_earth_bulge_m(double from_first_m, double from_last_m, double earth_radius_m);
