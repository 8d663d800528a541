/* censored.h - regression where some values are only known to lie above a limit
 *
 *     y = offset + x_1 b_1 + ... + x_n b_n + sigma e,   e standard normal
 *
 * What lies above a limit counts with the probability that it does; to leave it out would make a
 * receiver that hears less look like a world with less loss.  J. Tobin, Econometrica 26, 1958.
 *
 * The most likely coefficients and sigma are found by Newton's method on 1 / sigma and the
 * coefficients over sigma, in which the likelihood has one summit and no ridges (R. J. Olsen,
 * Econometrica 46, 1978): where it starts does not matter.
 */
#pragma once

#include "core/statistics.h"

#define SPATE_CENSORED_MOST_X 3

typedef struct {
    double y, offset;
    double x[SPATE_CENSORED_MOST_X];
    double weight; /* of its part of the likelihood: 1, but less of what is doubted */
    bool is_above; /* y is what the value lies above */
} SpateCensored;

typedef struct {
    size_t n_x;
    double b[SPATE_CENSORED_MOST_X];
    double
        sigma; /* most likely: without values above a limit, the root of the mean square.  0 where
                  all known values lie exactly on the plane, and nothing speaks against it */
    double log_likelihood;               /* INFINITY where sigma is 0 */
    double error[SPATE_CENSORED_MOST_X]; /* standard errors, by the observed information */
    /* So many known values would tell as much of sigma; n of those without any above a limit. */
    double n_effective;
} SpateCensoredFit;

/* False if the known values are too few or too much alike to tell all coefficients and sigma. */
bool spate_censored_fit(const SpateCensored *samples, size_t n, size_t n_x, SpateCensoredFit *fit);

/* What is left of n_effective to judge sigma by, at least 1. */
double spate_censored_freedom(const SpateCensoredFit *fit);
/* sigma without the bias that comes from fitting the coefficients to the same values: without
 * values above a limit the textbook's s. */
double spate_censored_sigma(const SpateCensoredFit *fit);
/* 95 %, by the chi-square of s; exact without values above a limit. */
SpateInterval spate_censored_sigma_interval(const SpateCensoredFit *fit);
/* 95 %: all values of the coefficient that are not too unlikely once sigma and the others are
 * fitted anew to each (the profile of the likelihood).  How unlikely is judged by Student's t, as
 * in the textbook's interval, which it is without values above a limit. */
SpateInterval spate_censored_interval(const SpateCensored *samples, size_t n,
                                      const SpateCensoredFit *fit, size_t coefficient);
