/* fit.h - path loss fitted to the samples of a walk test
 *
 * Levels become losses by the radios of both ends; what was not heard was weaker than the receiver
 * could hear.  The fit itself is propagation/loss-fit.h.
 */
#pragma once

#include "propagation/loss-fit.h"
#include "scenario/read/walk-table.h"

/* NAN and NULL: not given, so that the scenario says it. */
typedef struct {
    const char *bearer;
    double power_dbm; /* with gains, without feeder losses, of both ends */
    double sensitivity_dbm;
    double frequency_hz;
    const SpateTerrain *terrain; /* borrowed */
    bool leaves_diffraction;     /* in the law, where it could be told apart */
    bool wants_models;
    bool leaves_out_wild;
} SpateFitQuestion;

/* What becomes of that which the ground takes from the samples. */
typedef enum {
    SPATE_FIT_FLAT,      /* there is no height model: it is in the law */
    SPATE_FIT_KNOWN,     /* it is known, and not the law's */
    SPATE_FIT_LEFT,      /* it is left in the law, as was asked */
    SPATE_FIT_NO_PLACES, /* there is a height model, but only distances: it is in the law */
    SPATE_N_FIT_GROUNDS
} SpateFitGround;

/* A sample with its place in the file, nearest first. */
typedef struct {
    uint32_t line;
    double distance_m;
    bool is_heard, is_wild;
    double received_dbm;   /* not heard: weaker than that, the sensitivity */
    double above_db;       /* how far that is above the law that is shown */
    double diffraction_db; /* NAN: not known */
} SpateFitSample;

typedef struct {
    char *name, *bearer; /* of the table; NULL: it names none */
    bool is_of_scenario; /* the bearer is one of a scenario */
    SpateLossFit fit;
    SpateFitGround ground;
    /* Where the ground is known: its least and its most, and `model: terrain` by the samples. */
    SpateInterval diffraction_db;
    SpateLossEstimate terrain_extra_db, terrain_sigma_db;
    bool leaves_out_wild;
    size_t n_wild;
    bool has_other;       /* where some are wild and enough are left */
    SpateLossFit other;   /* without the wild ones, or with them if the fit leaves them out */
    double alike_p;       /* spate_loss_fit_alike_p() */
    double free_space_db; /* at fit.at_m; NAN without a frequency */
    bool has_models;
    SpateLossModel models[SPATE_N_LOSS_MODELS];
    double sensitivity_dbm; /* of the samples that were not heard, the weakest; NAN without any */
    size_t n_below;         /* heard although weaker than the sensitivity */
    size_t n_elsewhere;     /* rows of other bearers, which do not count */
    GArray *samples;        /* SpateFitSample */
} SpateFit;

/* NULL with all that is wrong with the question or the table.  scenario NULL: without one. */
SpateFit *spate_fit_new(const char *name, const SpateWalk *walk, const SpateScenario *scenario,
                        const SpateFitQuestion *question, GError **error);
void spate_fit_free(SpateFit *fit);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateFit, spate_fit_free)
