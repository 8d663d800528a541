/* path-profile.c - the ground between two antennas, and how near it comes to the ray */
#include "propagation/path-profile.h"

#include <math.h>

#define FLAT_STEPS 100

GArray *
spate_path_points(const SpateTerrain *terrain, SpatePosition a, SpatePosition b,
                  double frequency_hz, GError **error)
{
    double length_m = spate_ground_distance_m(a, b);
    g_autoptr(GArray) ground = g_array_new(FALSE, TRUE, sizeof(double));
    if (terrain == NULL)
        g_array_set_size(ground, length_m > 0.0 ? FLAT_STEPS + 1 : 1);
    else if (!spate_terrain_append_ground(terrain, a, b, ground, error))
        return NULL;
    guint last = ground->len - 1;
    double first_m = g_array_index(ground, double, 0) + a.height_m;
    double last_m = g_array_index(ground, double, last) + b.height_m;
    GArray *points = g_array_new(FALSE, FALSE, sizeof(SpatePathPoint));
    for (guint i = 0; i <= last; i++) {
        double share = last > 0 ? (double)i / (double)last : 0.0;
        double here_m = share * length_m, left_m = length_m - here_m;
        SpatePathPoint point = {
            .distance_m = here_m,
            .ground_m = g_array_index(ground, double, i),
            .ray_m = first_m + share * (last_m - first_m),
            .fresnel_m = spate_fresnel_radius_m(here_m, left_m, frequency_hz),
        };
        if (terrain != NULL)
            point.bulge_m =
                spate_earth_bulge_m(here_m, left_m, spate_terrain_earth_radius_m(terrain));
        point.clearance_m = point.ray_m - point.ground_m - point.bulge_m;
        g_array_append_val(points, point);
    }
    return points;
}

const SpatePathPoint *
spate_path_worst(const GArray *points)
{
    const SpatePathPoint *worst = NULL;
    for (guint i = 1; i + 1 < points->len; i++) {
        const SpatePathPoint *point = &g_array_index(points, SpatePathPoint, i);
        if (worst == NULL ||
            point->clearance_m * worst->fresnel_m < worst->clearance_m * point->fresnel_m)
            worst = point;
    }
    return worst;
}
