/* path-loss.h - median path loss between two places */
#pragma once

#include "ground/position.h"
#include "propagation/terrain.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef enum {
    SPATE_PATH_FREE_SPACE,   /* ITU-R P.525 */
    SPATE_PATH_LOG_DISTANCE, /* exponent, intercept */
    SPATE_PATH_TWO_RAY, /* free space up to the crossover 4 pi h h / lambda, plane earth beyond */
    SPATE_PATH_HATA,    /* Hata 1980, within its range */
    SPATE_PATH_STREET_LEVEL, /* ITU-R P.1411 4.3.1, both ends near the street */
    SPATE_PATH_TERRAIN,      /* free space and diffraction over the ground, P.526 */
    SPATE_N_PATH_MODELS
} SpatePathModelKind;

typedef enum {
    SPATE_HATA_URBAN_MEDIUM,
    SPATE_HATA_URBAN_LARGE,
    SPATE_HATA_SUBURBAN,
    SPATE_HATA_OPEN
} SpateHataArea;

typedef enum { SPATE_STREET_URBAN, SPATE_STREET_SUBURBAN } SpateStreetEnvironment;

typedef struct {
    SpatePathModelKind kind;
    double exponent;
    double intercept_at_m;    /* log-distance; 1 m unless given */
    double intercept_loss_db; /* NAN: free space at intercept_at_m */
    SpateHataArea area;
    SpateStreetEnvironment environment;
    double location_share;       /* street level: of places, in which the loss is not exceeded */
    const SpateTerrain *terrain; /* borrowed */
    double extra_loss_db;
} SpatePathModel;

#define SPATE_PROPAGATION_ERROR (spate_propagation_error_quark())
GQuark spate_propagation_error_quark(void);
typedef enum {
    SPATE_PROPAGATION_ERROR_OUT_OF_RANGE, /* a model does not hold there */
    SPATE_PROPAGATION_ERROR_TOO_LARGE     /* more links than fit into memory */
} SpatePropagationError;

/* Whether street level is asked for within what its measurements cover.  It answers beyond too. */
#define SPATE_STREET_LONGEST_M 3e3
bool spate_street_level_is_made_for(double frequency_hz, double distance_m);

/* Whether it holds for some heights, distances or frequencies alone. */
bool spate_path_model_has_range(SpatePathModelKind kind);

/* Loss in dB, extra loss included.  NAN with an error that names the figure and the
 * range if the model does not hold there (Hata: 150-1500 MHz, base 30-200 m,
 * mobile 1-10 m, 1-20 km; the higher end is the base.  Two-ray: both ends above the ground.
 * Terrain: the whole path over heights that are known). */
double spate_path_loss_db(const SpatePathModel *model, double frequency_hz, SpatePosition a,
                          SpatePosition b, GError **error);
/* Whether all places that lie equally far apart lose the same, and what that is. */
bool spate_path_model_is_of_distance(SpatePathModelKind kind);
double spate_path_loss_at_db(const SpatePathModel *model, double frequency_hz, double distance_m);
/* No more than any two places lose that are at least so far apart on the map, with antennas between
 * lowest_m and highest_m above the ground: it only grows with the distance.  -INFINITY where no
 * such bound is known. */
double spate_path_least_loss_db(const SpatePathModel *model, double frequency_hz, double distance_m,
                                double lowest_m, double highest_m);
/* spate_path_loss_db() by a model of kind TERRAIN, where it is known what stands in between. */
double spate_path_loss_over_db(const SpatePathModel *model, double frequency_hz, SpatePosition a,
                               SpatePosition b, const SpateObstacle *obstacle);
