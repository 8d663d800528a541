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

static SpatePosition
within_rectangle(SpatePosition from, SpatePosition to, double height_m, SpateRandom *random)
{
    double along_x = spate_random_unit(random), along_y = spate_random_unit(random);
    return (SpatePosition){
        .x_m = from.x_m + along_x * (to.x_m - from.x_m),
        .y_m = from.y_m + along_y * (to.y_m - from.y_m),
        .height_m = height_m,
    };
}

/* The square root makes rings of equal area equally likely. */
static SpatePosition
within_circle(const SpatePlacement *placement, SpateRandom *random)
{
    double distance_m = placement->radius_m * sqrt(spate_random_unit(random));
    double angle = 2.0 * G_PI * spate_random_unit(random);
    return (SpatePosition){
        .x_m = placement->points[0].x_m + distance_m * cos(angle),
        .y_m = placement->points[0].y_m + distance_m * sin(angle),
        .height_m = placement->height_m,
    };
}

/* A ray to the east crosses the border an odd number of times from inside. */
static bool
is_inside(const SpatePlacement *polygon, SpatePosition at)
{
    bool inside = false;
    for (uint32_t i = 0, j = polygon->n_points - 1; i < polygon->n_points; j = i++) {
        SpatePosition a = polygon->points[i], b = polygon->points[j];
        if ((a.y_m > at.y_m) != (b.y_m > at.y_m) &&
            at.x_m < a.x_m + (at.y_m - a.y_m) / (b.y_m - a.y_m) * (b.x_m - a.x_m))
            inside = !inside;
    }
    return inside;
}

static void
find_box(const SpatePlacement *polygon, SpatePosition *low, SpatePosition *high)
{
    *low = *high = polygon->points[0];
    for (uint32_t i = 1; i < polygon->n_points; i++) {
        low->x_m = fmin(low->x_m, polygon->points[i].x_m);
        low->y_m = fmin(low->y_m, polygon->points[i].y_m);
        high->x_m = fmax(high->x_m, polygon->points[i].x_m);
        high->y_m = fmax(high->y_m, polygon->points[i].y_m);
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
        if (is_inside(polygon, within_rectangle(low, high, 0, &random)))
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
        SpatePosition at = within_rectangle(low, high, polygon->height_m, random);
        if (is_inside(polygon, at))
            return at;
    }
    SpatePosition corner = polygon->points[0];
    corner.height_m = polygon->height_m;
    return corner;
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
        return within_rectangle(placement->points[0], placement->points[1], placement->height_m,
                                &random);
    case SPATE_PLACE_POLYGON:
        return within_polygon(placement, &random);
    case SPATE_PLACE_POINTS:
        break;
    }
    g_assert_not_reached();
}
