/* path-loss.c - median path loss between two places */
#include "propagation/path-loss.h"

#include "core/units.h"
#include <gsl/gsl_cdf.h>
#include <math.h>

#define LIGHT_M_PER_S 299792458.0 /* SI Brochure, 9th edition */

G_DEFINE_QUARK(spate - propagation - error - quark, spate_propagation_error)

/* Recommendation ITU-R P.525: 20 log10(4 pi d / lambda). */
static double
free_space_db(double frequency_hz, double distance_m)
{
    return 20.0 * log10(4.0 * G_PI * distance_m * frequency_hz / LIGHT_M_PER_S);
}

/* Without the extra loss; as spate_path_loss_db() fails. */
typedef double (*LossFunc)(const SpatePathModel *model, double frequency_hz, SpatePosition a,
                           SpatePosition b, GError **error);

/* T. S. Rappaport, Wireless Communications, 2nd ed., 4.9.1. */
static double
log_distance_db(const SpatePathModel *model, double frequency_hz, double distance_m)
{
    double at_m = model->intercept_at_m > 0.0 ? model->intercept_at_m : 1.0;
    double slope_db = 10.0 * model->exponent * log10(distance_m / at_m);
    if (isnan(model->intercept_loss_db))
        return free_space_db(frequency_hz, at_m) + slope_db;
    return model->intercept_loss_db + slope_db;
}

/* Free space up to the crossover 4 pi h1 h2 / lambda, the plane-earth loss 40 log10 d - 20 log10
 * (h1 h2) beyond; the two meet there.  Rappaport, 4.6.  An end on the ground would hear nothing
 * at any distance: that is an oversight in a scenario, not a mesh. */
static double
two_ray(const SpatePathModel *model, double frequency_hz, SpatePosition a, SpatePosition b,
        GError **error)
{
    double distance_m = spate_distance_m(a, b), h1_m = a.height_m, h2_m = b.height_m;
    double lower_m = fmin(h1_m, h2_m);
    if (lower_m <= 0.0) {
        g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                    "the two-ray model does not hold for a height of %.6g m: both ends must stand "
                    "above 0 m",
                    lower_m);
        return NAN;
    }
    double crossover_m = 4.0 * G_PI * h1_m * h2_m * frequency_hz / LIGHT_M_PER_S;
    if (distance_m <= crossover_m)
        return free_space_db(frequency_hz, distance_m);
    return 40.0 * log10(distance_m) - 20.0 * log10(h1_m * h2_m);
}

static bool
within(double value, double least, double most, const char *what, const char *unit, GError **error)
{
    if (value >= least && value <= most)
        return true;
    g_set_error(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE,
                "the Hata model does not hold for %s of %.6g %s: its range is %.6g to %.6g %s",
                what, value, unit, least, most, unit);
    return false;
}

/* M. Hata, IEEE Trans. Vehicular Technology VT-29(3), 1980: correction for the mobile's height. */
static double
hata_mobile_db(SpateHataArea area, double f_mhz, double mobile_m)
{
    if (area != SPATE_HATA_URBAN_LARGE) {
        double log_f = log10(f_mhz);
        return (1.1 * log_f - 0.7) * mobile_m - (1.56 * log_f - 0.8);
    }
    if (f_mhz <= 300.0)
        return 8.29 * pow(log10(1.54 * mobile_m), 2.0) - 1.1;
    return 3.2 * pow(log10(11.75 * mobile_m), 2.0) - 4.97;
}

static double
hata(const SpatePathModel *model, double frequency_hz, SpatePosition a, SpatePosition b,
     GError **error)
{
    double f_mhz = frequency_hz / 1e6, d_km = spate_distance_m(a, b) / 1e3;
    double base_m = fmax(a.height_m, b.height_m), mobile_m = fmin(a.height_m, b.height_m);
    if (!within(f_mhz, 150.0, 1500.0, "a frequency", "MHz", error) ||
        !within(base_m, 30.0, 200.0, "a base height", "m", error) ||
        !within(mobile_m, 1.0, 10.0, "a mobile height", "m", error) ||
        !within(d_km, 1.0, 20.0, "a distance", "km", error))
        return NAN;
    double log_f = log10(f_mhz);
    double urban_db = 69.55 + 26.16 * log_f - 13.82 * log10(base_m) -
                      hata_mobile_db(model->area, f_mhz, mobile_m) +
                      (44.9 - 6.55 * log10(base_m)) * log10(d_km);
    switch (model->area) {
    case SPATE_HATA_URBAN_MEDIUM:
    case SPATE_HATA_URBAN_LARGE:
        return urban_db;
    case SPATE_HATA_SUBURBAN:
        return urban_db - 2.0 * pow(log10(f_mhz / 28.0), 2.0) - 5.4;
    case SPATE_HATA_OPEN:
        return urban_db - 4.78 * log_f * log_f + 18.33 * log_f - 40.94;
    }
    g_assert_not_reached();
}

/* Recommendation ITU-R P.1411-12, Annex 1, 4.3.1: in sight along the street up to a corner, beyond
 * it round corners; in between, over the width of a street, a straight line.  Both vary from place
 * to place with a standard deviation of 7 dB. */
#define STREET_SIGMA_DB 7.0
#define STREET_WIDTH_M  20.0

bool
spate_street_level_is_made_for(double frequency_hz, double distance_m)
{
    return frequency_hz >= 300e6 && frequency_hz <= 3e9 && distance_m <= SPATE_STREET_LONGEST_M;
}

static double
in_sight_db(double f_mhz, double distance_m, double share)
{
    double spread_db = 1.5624 * STREET_SIGMA_DB * (sqrt(-2.0 * log(1.0 - share)) - 1.1774);
    return 32.45 + 20.0 * log10(f_mhz) + 20.0 * log10(distance_m / 1e3) + spread_db;
}

static double
round_corners_db(const SpatePathModel *model, double f_mhz, double distance_m)
{
    double town_db = model->environment == SPATE_STREET_URBAN ? 6.8 : 0.0;
    double spread_db = STREET_SIGMA_DB * gsl_cdf_ugaussian_Pinv(model->location_share);
    return 9.5 + 45.0 * log10(f_mhz) + 40.0 * log10(distance_m / 1e3) + town_db + spread_db;
}

static double
corner_m(double share)
{
    double log_share = log10(share);
    return share < 0.45 ? 212.0 * log_share * log_share - 64.0 * log_share : 79.2 - 70.0 * share;
}

static double
street_level_db(const SpatePathModel *model, double frequency_hz, double distance_m)
{
    double f_mhz = frequency_hz / 1e6;
    double near_m = corner_m(model->location_share), far_m = near_m + STREET_WIDTH_M;
    if (distance_m <= near_m)
        return in_sight_db(f_mhz, distance_m, model->location_share);
    if (distance_m >= far_m)
        return round_corners_db(model, f_mhz, distance_m);
    double near_db = in_sight_db(f_mhz, near_m, model->location_share);
    double far_db = round_corners_db(model, f_mhz, far_m);
    return near_db + (far_db - near_db) * (distance_m - near_m) / STREET_WIDTH_M;
}

static double
over_obstacle_db(double frequency_hz, SpatePosition a, SpatePosition b,
                 const SpateObstacle *obstacle)
{
    return free_space_db(frequency_hz, spate_distance_m(a, b)) +
           spate_terrain_loss_db(obstacle, frequency_hz);
}

static double
over_terrain(const SpatePathModel *model, double frequency_hz, SpatePosition a, SpatePosition b,
             GError **error)
{
    SpateObstacle obstacle;
    if (!spate_terrain_obstacle(model->terrain, a, b, &obstacle, error))
        return NAN;
    return over_obstacle_db(frequency_hz, a, b, &obstacle);
}

double
spate_path_loss_at_db(const SpatePathModel *model, double frequency_hz, double distance_m)
{
    g_assert(spate_path_model_is_of_distance(model->kind));
    double loss_db =
        model->kind == SPATE_PATH_LOG_DISTANCE ? log_distance_db(model, frequency_hz, distance_m)
        : model->kind == SPATE_PATH_FREE_SPACE ? free_space_db(frequency_hz, distance_m)
                                               : street_level_db(model, frequency_hz, distance_m);
    return loss_db + model->extra_loss_db;
}

/* By distance alone where loss_db is missing. */
static const struct {
    LossFunc loss_db;
    bool has_range;
} MODELS[SPATE_N_PATH_MODELS] = {
    [SPATE_PATH_TWO_RAY] = {two_ray, true},
    [SPATE_PATH_HATA] = {hata, true},
    [SPATE_PATH_TERRAIN] = {over_terrain, true},
};

bool
spate_path_model_has_range(SpatePathModelKind kind)
{
    return MODELS[kind].has_range;
}

bool
spate_path_model_is_of_distance(SpatePathModelKind kind)
{
    return MODELS[kind].loss_db == NULL;
}

double
spate_path_loss_db(const SpatePathModel *model, double frequency_hz, SpatePosition a,
                   SpatePosition b, GError **error)
{
    if (spate_path_model_is_of_distance(model->kind))
        return spate_path_loss_at_db(model, frequency_hz, spate_distance_m(a, b));
    return MODELS[model->kind].loss_db(model, frequency_hz, a, b, error) + model->extra_loss_db;
}

double
spate_path_loss_over_db(const SpatePathModel *model, double frequency_hz, SpatePosition a,
                        SpatePosition b, const SpateObstacle *obstacle)
{
    return over_obstacle_db(frequency_hz, a, b, obstacle) + model->extra_loss_db;
}

/* Along the street or round corners, whichever loses less; between the two the loss at a distance
 * is no less than that a street's width nearer. */
static double
least_street_level_db(const SpatePathModel *model, double frequency_hz, double distance_m)
{
    double f_mhz = frequency_hz / 1e6, nearer_m = fmax(distance_m - STREET_WIDTH_M, 0.0);
    return fmin(in_sight_db(f_mhz, nearer_m, model->location_share),
                round_corners_db(model, f_mhz, nearer_m));
}

double
spate_path_least_loss_db(const SpatePathModel *model, double frequency_hz, double distance_m,
                         double lowest_m, double highest_m)
{
    SpatePosition here = {.height_m = highest_m};
    SpatePosition there = {.x_m = distance_m, .height_m = highest_m};
    switch (model->kind) {
    case SPATE_PATH_FREE_SPACE:
    case SPATE_PATH_TERRAIN: /* what stands in between only adds to it */
        return free_space_db(frequency_hz, distance_m) + model->extra_loss_db;
    case SPATE_PATH_LOG_DISTANCE:
        return log_distance_db(model, frequency_hz, distance_m) + model->extra_loss_db;
    case SPATE_PATH_TWO_RAY: /* the higher the antennas, the less is lost */
        return lowest_m > 0.0 && distance_m > 0.0
                   ? two_ray(model, frequency_hz, here, there, NULL) + model->extra_loss_db
                   : -INFINITY;
    case SPATE_PATH_STREET_LEVEL:
        return least_street_level_db(model, frequency_hz, distance_m) + model->extra_loss_db;
    case SPATE_PATH_HATA: /* holds between bounds, beyond which every pair is an error */
    case SPATE_N_PATH_MODELS:
        break;
    }
    return -INFINITY;
}
