/* hillshade.c - how bright the ground is in light from one side */
#include "ground/hillshade.h"

#include <math.h>

/* Towards the light: east, north, up.  Azimuth 315 degrees, altitude 45. */
#define LIGHT_EAST  (-0.5)
#define LIGHT_NORTH 0.5
#define LIGHT_UP    0.70710678118654752

double
spate_hillshade(const double heights_m[9], double east_m, double north_m)
{
    const double *h = heights_m;
    double rise_east = (h[2] + 2.0 * h[5] + h[8] - h[0] - 2.0 * h[3] - h[6]) / (8.0 * east_m);
    double rise_north = (h[0] + 2.0 * h[1] + h[2] - h[6] - 2.0 * h[7] - h[8]) / (8.0 * north_m);
    /* The normal is (-rise_east, -rise_north, 1) before it is scaled. */
    double towards = LIGHT_UP - LIGHT_EAST * rise_east - LIGHT_NORTH * rise_north;
    double shade = towards / sqrt(1.0 + rise_east * rise_east + rise_north * rise_north);
    if (isnan(shade) || isnan(h[4]))
        return NAN;
    return fmin(fmax(shade, 0.0), 1.0);
}
