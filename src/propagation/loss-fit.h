/* loss-fit.h - what a walk test says of path loss
 *
 * The law fitted is the model `log-distance` with log-normal shadowing:
 *
 *     loss = intercept + 10 exponent log10(distance / at) + known + sigma e
 *
 * What is known of the loss of a sample beside the law, such as what the ground takes, is no
 * business of the law.
 *
 * A sample that was not heard counts with what is known of it: its loss was at least so much.
 * Samples are taken as independent; spate_loss_fit_alike_p() tells whether they look like it.
 */
#pragma once

#include "core/statistics.h"
#include "propagation/path-loss.h"

typedef struct {
    SpatePosition from, to;
    bool is_heard;
    double loss_db;        /* not heard: it was at least that */
    double known_db;       /* of it, what the law has not to explain */
    double diffraction_db; /* by the ground in between, beyond free space; NAN: not known */
} SpateLossSample;

typedef struct {
    double value;
    SpateInterval ci95;
} SpateLossEstimate;

typedef struct {
    double at_m; /* see spate_loss_fit() */
    SpateLossEstimate exponent, intercept_db, sigma_db;
    size_t n, n_heard;
    /* Distances, of the heard samples and of all: beyond them the law extrapolates. */
    SpateInterval heard_m, all_m;
} SpateLossFit;

/* Fewer tell nothing of the spread. */
#define SPATE_LOSS_FIT_LEAST 3

/* False unless at least three samples were heard, at two distances that differ by 1 %.  The
 * intercept is stated at the distance in the middle of the heard samples (of 1, 2, 5, 10 ... m the
 * nearest to their geometric mean): there it hardly depends on the exponent, so that both may be
 * uncertain by themselves.  At 1 m, far from all samples, an error of one would be hidden by one of
 * the other. */
bool spate_loss_fit(const SpateLossSample *samples, size_t n, SpateLossFit *fit);

/* The law, without its spread and without what is known beside it. */
double spate_loss_fit_law_db(const SpateLossFit *fit, double distance_m);

/* Marks the samples that the others do not explain: more than three sigma from the law that most of
 * them follow (one that was not heard: if its limit is that far above the law).  That law is
 * fitted with weights that fall with the distance from it, and sigma is taken from the median, so
 * that wild samples do not hide themselves by pulling at either.  Returns how many; of samples that
 * tell too little, none. */
size_t spate_loss_fit_mark_wild(const SpateLossSample *samples, size_t n, bool *is_wild);

/* How likely heard samples of one place (or, at places apart, of exactly one distance) are as much
 * alike by chance: F test of lack of fit to a line, of the samples that are nearer than all that
 * were not heard.  NAN where no two are of one place, or the places are too few. */
double spate_loss_fit_alike_p(const SpateLossSample *samples, size_t n);

/* ---- several models -------------------------------------------------------------------------- */

typedef struct {
    const char *name;     /* that of the model in a scenario; after a comma what else is fitted */
    const char *left_out; /* why it cannot be compared; NULL: it can */
    unsigned n_parameters;
    double sigma_db; /* NAN if left out */
    double aic;      /* -2 log-likelihood + 2 parameters; NAN if left out or if sigma is 0 */
} SpateLossModel;

#define SPATE_N_LOSS_MODELS 13

/* H. Akaike, IEEE Trans. Automatic Control 19, 1974: the smallest is the best; of those that are
 * less than 2 above it, none is worse enough to tell.  Models take of the samples what each knows
 * itself: only those over terrain the diffraction, none what is known beside the law. */
void spate_loss_fit_compare(const SpateLossSample *samples, size_t n, double frequency_hz,
                            SpateLossModel models[SPATE_N_LOSS_MODELS]);

/* The model `terrain` with `extra-loss` and shadowing, fitted to the same samples.  False if it
 * cannot be. */
bool spate_loss_fit_terrain(const SpateLossSample *samples, size_t n, double frequency_hz,
                            SpateLossEstimate *extra_loss_db, SpateLossEstimate *sigma_db);
