/* placement.c - where the nodes of a group stand */
#include "scenario/placement.h"

#include "core/random.h"
#include <math.h>

/* What is drawn once is drawn as for a replication of its own. */
#define ONCE UINT32_MAX

/* A polygon that fills a 20000th of its box is still met, but for one place in 10^21.  What is
 * thinner is a line in all but name; where no draw meets it, its first corner serves. */
#define MOST_DRAWS 1000000

void
spate_placement_free(SpatePlacement *placement)
{
    if (placement == NULL)
        return;
    g_free(placement->points);
    g_free(placement);
}

/* Evenly over the area of a box: between two meridians, over the area between two parallels.  Its
 * longitudes may lie beyond 180 degrees. */
static SpatePosition
within_box(SpatePosition from, SpatePosition to, double height_m, SpateRandom *random)
{
    double along_east = spate_random_unit(random), along_north = spate_random_unit(random);
    SpatePosition at = {.is_geographic = from.is_geographic, .height_m = height_m};
    at.east = from.east + along_east * (to.east - from.east);
    at.north = from.is_geographic
                   ? spate_parallel_between_deg(from.latitude_deg, to.latitude_deg, along_north)
                   : from.y_m + along_north * (to.y_m - from.y_m);
    return at;
}

SpatePosition
spate_position_rolled(SpatePosition at)
{
    if (at.is_geographic)
        at.longitude_deg = remainder(at.longitude_deg, 360.0);
    return at;
}

/* The square root makes rings of equal area equally likely: exactly so in a plane, on the ellipsoid
 * to a share of radius^2 / 6 R^2 (0.4 % at 1000 km). */
static SpatePosition
within_circle(const SpatePlacement *placement, SpateRandom *random)
{
    SpatePosition centre = placement->points[0];
    double distance_m = placement->radius_m * sqrt(spate_random_unit(random));
    double angle = 2.0 * G_PI * spate_random_unit(random);
    centre.height_m = placement->height_m;
    if (centre.is_geographic)
        return spate_position_towards(centre, angle * 180.0 / G_PI, distance_m);
    centre.x_m += distance_m * cos(angle);
    centre.y_m += distance_m * sin(angle);
    return centre;
}

/* Borders are straight in x and y, or in longitude and latitude, as in GeoJSON (RFC 7946, 3.1.1).
 * A ray to the east crosses the border an odd number of times from inside. */
static bool
is_inside(const SpatePlacement *polygon, SpatePosition at)
{
    bool inside = false;
    for (uint32_t i = 0, j = polygon->n_points - 1; i < polygon->n_points; j = i++) {
        SpatePosition a = polygon->points[i], b = polygon->points[j];
        if ((a.north > at.north) != (b.north > at.north) &&
            at.east < a.east + (at.north - a.north) / (b.north - a.north) * (b.east - a.east))
            inside = !inside;
    }
    return inside;
}

static void
find_box(const SpatePlacement *polygon, SpatePosition *low, SpatePosition *high)
{
    *low = *high = polygon->points[0];
    for (uint32_t i = 1; i < polygon->n_points; i++) {
        low->east = fmin(low->east, polygon->points[i].east);
        low->north = fmin(low->north, polygon->points[i].north);
        high->east = fmax(high->east, polygon->points[i].east);
        high->north = fmax(high->north, polygon->points[i].north);
    }
}

/* One that fills a 2000th of its box is met 16 times.  Not a grid: what is narrow and aslant would
 * pass between its points. */
#define N_SHARE_DRAWS 32768

double
spate_placement_share_inside(const SpatePlacement *polygon)
{
    SpatePosition low, high;
    find_box(polygon, &low, &high);
    SpateRandom random = spate_random_stream(spate_random_key(0, ONCE, SPATE_FOR_PLACE), 0);
    int n_inside = 0;
    for (int i = 0; i < N_SHARE_DRAWS; i++)
        if (is_inside(polygon, within_box(low, high, 0, &random)))
            n_inside++;
    return (double)n_inside / N_SHARE_DRAWS;
}

/* Draws from the box around it until one lies inside. */
static SpatePosition
within_polygon(const SpatePlacement *polygon, SpateRandom *random)
{
    SpatePosition low, high;
    find_box(polygon, &low, &high);
    for (int i = 0; i < MOST_DRAWS; i++) {
        SpatePosition at = within_box(low, high, polygon->height_m, random);
        if (is_inside(polygon, at))
            return spate_position_rolled(at);
    }
    SpatePosition corner = polygon->points[0];
    corner.height_m = polygon->height_m;
    return spate_position_rolled(corner);
}

SpatePosition
spate_placement_at(const SpatePlacement *placement, uint32_t index, uint64_t seed,
                   uint32_t replication)
{
    if (placement->kind == SPATE_PLACE_POINTS) {
        g_assert(index < placement->n_points);
        return placement->points[index];
    }
    uint64_t key = spate_random_key(seed, placement->redraw ? replication : ONCE, SPATE_FOR_PLACE);
    SpateRandom random = spate_random_stream(key, spate_hash_combine(placement->name_hash, index));
    switch (placement->kind) {
    case SPATE_PLACE_CIRCLE:
        return within_circle(placement, &random);
    case SPATE_PLACE_RECTANGLE:
        return spate_position_rolled(
            within_box(placement->points[0], placement->points[1], placement->height_m, &random));
    case SPATE_PLACE_POLYGON:
        return within_polygon(placement, &random);
    case SPATE_PLACE_POINTS:
        break;
    }
    g_assert_not_reached();
}
