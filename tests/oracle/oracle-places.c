/* oracle-places.c - where nodes stand, antennas, and the loss between two places (docs/model.md,
 * Links)
 */
#include "oracle/oracle-private.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#define LIGHT_M_PER_S 299792458.0
#define MOST_TRIES    1000000

/* ---- places ---------------------------------------------------------------------------------- */

static SpatePosition
draw_in_box(SpatePosition a, SpatePosition b, SpateRandom *draws)
{
    SpatePosition at = a;
    at.east = a.east + spate_random_unit(draws) * (b.east - a.east);
    double share = spate_random_unit(draws);
    at.north = a.is_geographic ? oracle_parallel_deg(a.north, b.north, share)
                               : a.north + share * (b.north - a.north);
    return at;
}

/* Longitudes of corners are counted on beyond half a turn. */
static SpatePosition
within_half_a_turn(SpatePosition at)
{
    while (at.is_geographic && at.longitude_deg > 180.0)
        at.longitude_deg -= 360.0;
    while (at.is_geographic && at.longitude_deg < -180.0)
        at.longitude_deg += 360.0;
    return at;
}

/* Winding number: how often the border goes around the place. */
static bool
is_within(const SpatePlacement *polygon, SpatePosition at)
{
    double turned = 0.0;
    for (uint32_t i = 0; i < polygon->n_points; i++) {
        SpatePosition a = polygon->points[i], b = polygon->points[(i + 1) % polygon->n_points];
        double ax = a.east - at.east, ay = a.north - at.north, bx = b.east - at.east,
               by = b.north - at.north;
        turned += atan2(ax * by - ay * bx, ax * bx + ay * by);
    }
    return fabs(turned) > G_PI;
}

static SpatePosition
draw_in_polygon(const SpatePlacement *polygon, SpateRandom *draws)
{
    SpatePosition low = polygon->points[0], high = low;
    for (uint32_t i = 1; i < polygon->n_points; i++) {
        low.east = fmin(low.east, polygon->points[i].east);
        low.north = fmin(low.north, polygon->points[i].north);
        high.east = fmax(high.east, polygon->points[i].east);
        high.north = fmax(high.north, polygon->points[i].north);
    }
    for (int i = 0; i < MOST_TRIES; i++) {
        SpatePosition at = draw_in_box(low, high, draws);
        if (is_within(polygon, at))
            return at;
    }
    return polygon->points[0];
}

static SpatePosition
draw_in_circle(const SpatePlacement *circle, SpateRandom *draws)
{
    double radius_m = circle->radius_m * sqrt(spate_random_unit(draws));
    double angle = 2.0 * G_PI * spate_random_unit(draws);
    SpatePosition at = circle->points[0];
    if (at.is_geographic)
        return oracle_place_towards(at, angle, radius_m);
    at.x_m += radius_m * cos(angle);
    at.y_m += radius_m * sin(angle);
    return at;
}

static SpatePosition
draw_place(const SpatePlacement *placement, SpateRandom *draws)
{
    switch (placement->kind) {
    case SPATE_PLACE_CIRCLE:
        return draw_in_circle(placement, draws);
    case SPATE_PLACE_RECTANGLE:
        return within_half_a_turn(draw_in_box(placement->points[0], placement->points[1], draws));
    case SPATE_PLACE_POLYGON:
        return within_half_a_turn(draw_in_polygon(placement, draws));
    case SPATE_PLACE_POINTS:
        break;
    }
    g_assert_not_reached();
}

SpatePosition
oracle_place(const Oracle *oracle, uint32_t number)
{
    const SpateScenarioNode *node = oracle_node(oracle, number);
    const SpatePlacement *placement = node->placement;
    if (placement->kind == SPATE_PLACE_POINTS)
        return placement->points[node->placement_index];
    SpateRandom draws =
        spate_random_stream(oracle_key(oracle, SPATE_FOR_PLACE, placement->redraw),
                            spate_hash_combine(placement->name_hash, node->placement_index));
    SpatePosition at = draw_place(placement, &draws);
    at.height_m = placement->height_m;
    return at;
}

double
oracle_distance_m(SpatePosition a, SpatePosition b)
{
    double x = a.x_m - b.x_m, y = a.y_m - b.y_m, height = a.height_m - b.height_m, bearing;
    double distance_m = a.is_geographic ? hypot(oracle_way_m(a, b, &bearing), height)
                                        : sqrt(x * x + y * y + height * height);
    return distance_m > 0.0 ? distance_m : 1.0;
}

/* ---- antennas -------------------------------------------------------------------------------- */

/* 3GPP TR 36.942, 4.2.1.  Towards a node at the same place is towards the north. */
double
oracle_antenna_dbi(const SpateAntenna *antenna, SpatePosition from, SpatePosition to)
{
    if (!(antenna->beamwidth_deg > 0.0))
        return antenna->gain_dbi;
    double bearing = atan2(to.x_m - from.x_m, to.y_m - from.y_m);
    if (from.is_geographic)
        oracle_way_m(from, to, &bearing);
    double bearing_deg = bearing * 180.0 / G_PI;
    double off_deg = remainder(bearing_deg - antenna->azimuth_deg, 360.0);
    double down_db = 12.0 * pow(off_deg / antenna->beamwidth_deg, 2.0);
    return antenna->gain_dbi - fmin(down_db, antenna->front_to_back_db);
}

/* ---- path loss ------------------------------------------------------------------------------- */

/* Rec. ITU-R P.525. */
static double
free_space_db(double frequency_hz, double distance_m)
{
    return 20.0 * log10(4.0 * G_PI * distance_m * frequency_hz / LIGHT_M_PER_S);
}

/* Rappaport, 2nd ed., 4.9. */
static double
log_distance_db(const SpatePathModel *model, double frequency_hz, double distance_m)
{
    double intercept_db = isnan(model->intercept_loss_db)
                              ? free_space_db(frequency_hz, model->intercept_at_m)
                              : model->intercept_loss_db;
    return intercept_db + 10.0 * model->exponent * log10(distance_m / model->intercept_at_m);
}

/* Rappaport 4.6: plane earth beyond the crossover. */
static double
two_ray_db(double frequency_hz, double distance_m, double height_a_m, double height_b_m)
{
    double crossover_m = 4.0 * G_PI * height_a_m * height_b_m * frequency_hz / LIGHT_M_PER_S;
    if (distance_m <= crossover_m)
        return free_space_db(frequency_hz, distance_m);
    return 40.0 * log10(distance_m) - 20.0 * log10(height_a_m * height_b_m);
}

/* M. Hata, IEEE Transactions on Vehicular Technology 29(3), 1980. */
static double
hata_db(SpateHataArea area, double frequency_hz, double distance_m, double base_m, double mobile_m)
{
    double f = log10(frequency_hz / 1e6);
    double medium_db = (1.1 * f - 0.7) * mobile_m - (1.56 * f - 0.8);
    double large_db = frequency_hz < 300e6 ? 8.29 * pow(log10(1.54 * mobile_m), 2.0) - 1.1
                                           : 3.2 * pow(log10(11.75 * mobile_m), 2.0) - 4.97;
    double urban_db = 69.55 + 26.16 * f - 13.82 * log10(base_m) +
                      (44.9 - 6.55 * log10(base_m)) * log10(distance_m / 1000.0);
    switch (area) {
    case SPATE_HATA_URBAN_LARGE:
        return urban_db - large_db;
    case SPATE_HATA_URBAN_MEDIUM:
        return urban_db - medium_db;
    case SPATE_HATA_SUBURBAN:
        return urban_db - medium_db - 2.0 * pow(f - log10(28.0), 2.0) - 5.4;
    case SPATE_HATA_OPEN:
        return urban_db - medium_db - 4.78 * f * f + 18.33 * f - 40.94;
    }
    g_assert_not_reached();
}

/* P.1411-12, 4.3.1, as docs/model.md has it. */
static double
street_level_db(const SpatePathModel *model, double frequency_hz, double distance_m)
{
    double f = log10(frequency_hz / 1e6), p = model->location_share;
    double corner_m = p < 0.45 ? 212.0 * pow(log10(p), 2.0) - 64.0 * log10(p) : 79.2 - 70.0 * p;
    double near_m = fmin(distance_m, corner_m), far_m = fmax(distance_m, corner_m + 20.0);
    double near_db = 32.45 + 20.0 * f + 20.0 * log10(near_m / 1e3) +
                     1.5624 * 7.0 * (sqrt(-2.0 * log(1.0 - p)) - 1.1774);
    double far_db = 9.5 + 45.0 * f + 40.0 * log10(far_m / 1e3) +
                    (model->environment == SPATE_STREET_URBAN ? 6.8 : 0.0) +
                    7.0 * gsl_cdf_ugaussian_Pinv(p);
    double beyond = fmin(fmax((distance_m - corner_m) / 20.0, 0.0), 1.0);
    return near_db + beyond * (far_db - near_db);
}

double
oracle_path_loss_db(const SpatePathModel *model, double frequency_hz, SpatePosition a,
                    SpatePosition b)
{
    double distance_m = oracle_distance_m(a, b);
    switch (model->kind) {
    case SPATE_PATH_FREE_SPACE:
        return model->extra_loss_db + free_space_db(frequency_hz, distance_m);
    case SPATE_PATH_LOG_DISTANCE:
        return model->extra_loss_db + log_distance_db(model, frequency_hz, distance_m);
    case SPATE_PATH_TWO_RAY:
        return model->extra_loss_db + two_ray_db(frequency_hz, distance_m, a.height_m, b.height_m);
    case SPATE_PATH_HATA:
        return model->extra_loss_db + hata_db(model->area, frequency_hz, distance_m,
                                              fmax(a.height_m, b.height_m),
                                              fmin(a.height_m, b.height_m));
    case SPATE_PATH_STREET_LEVEL:
        return model->extra_loss_db + street_level_db(model, frequency_hz, distance_m);
    case SPATE_PATH_TERRAIN: /* the oracle's scenarios have no height models */
    case SPATE_N_PATH_MODELS:
        break;
    }
    g_assert_not_reached();
}
