/* test-fading.c - fading by its moments and closed forms */
#include "propagation/links.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#define KEY    5
#define N_MANY 100000
#define N_MEAN 1000000

/* Share of draws below a level. */
static double
share_below(const SpateFading *fading, double level)
{
    int below = 0;
    for (uint64_t i = 0; i < N_MANY; i++)
        below += spate_fading_gain(fading, KEY, i) < level;
    return (double)below / N_MANY;
}

/* 4.5 standard errors of a share of many draws. */
static double
error_of_share(double p)
{
    return 4.5 * sqrt(p * (1.0 - p) / N_MANY) + 1e-5;
}

/* P(gain > level) of Rician fading: the noncentral chi-square of two degrees of freedom, as a
 * Poisson mixture of gamma tails (Abramowitz and Stegun, 26.4.25, from memory). */
static double
rician_tail(double k, double level)
{
    double tail = 0.0, weight = exp(-k);
    for (int j = 0; j < 500; j++) {
        tail += weight * gsl_cdf_gamma_Q((k + 1.0) * level, j + 1.0, 1.0);
        weight *= k / (j + 1.0);
    }
    return tail;
}

START_TEST(none_is_a_factor_of_one)
{
    SpateFading none = {.kind = SPATE_FADING_NONE};
    ck_assert_double_eq(spate_fading_gain(&none, KEY, 1), 1.0);
    ck_assert_double_eq(spate_fading_highest_gain(&none), 1.0);
}
END_TEST

START_TEST(the_same_arguments_give_the_same_factor)
{
    for (int kind = SPATE_FADING_RAYLEIGH; kind <= SPATE_FADING_NAKAGAMI; kind++) {
        SpateFading fading = {.kind = (SpateFadingKind)kind, .nakagami_m = 2.0};
        double gain = spate_fading_gain(&fading, KEY, 17);
        ck_assert_double_eq(spate_fading_gain(&fading, KEY, 17), gain);
        ck_assert(spate_fading_gain(&fading, KEY, 18) != gain);
        ck_assert(spate_fading_gain(&fading, KEY + 1, 17) != gain);
    }
}
END_TEST

START_TEST(rayleigh_outage_is_the_closed_form)
{
    /* P(below) = 1 - exp(-10^(-margin/10)) */
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    SpateFading fading = {.kind = SPATE_FADING_RAYLEIGH};
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "rayleigh-outage") != 0)
            continue;
        double level = pow(10.0, -reference_input(rows, i, "margin_db") / 10.0);
        double p = reference_number(rows, i, "value");
        ck_assert_double_eq_tol(share_below(&fading, level), p, error_of_share(p));
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

START_TEST(every_fading_has_mean_1_and_its_own_spread)
{
    /* Variances of the power: Rayleigh 1; Rician (1 + 2K) / (1 + K)^2, K = 4 for 6.02 dB: 0.36;
     * Nakagami 1 / m. */
    static const struct {
        SpateFading fading;
        double variance;
    } cases[] = {
        {{.kind = SPATE_FADING_RAYLEIGH}, 1.0},
        {{.kind = SPATE_FADING_RICIAN, .rician_k_db = 6.0206}, 0.36},
        {{.kind = SPATE_FADING_NAKAGAMI, .nakagami_m = 3.0}, 1.0 / 3.0},
        {{.kind = SPATE_FADING_NAKAGAMI, .nakagami_m = 0.5}, 2.0},
    };
    for (size_t c = 0; c < G_N_ELEMENTS(cases); c++) {
        double sum = 0, squares = 0;
        for (uint64_t i = 0; i < N_MEAN; i++) {
            double gain = spate_fading_gain(&cases[c].fading, KEY, i);
            sum += gain;
            squares += gain * gain;
        }
        double mean = sum / N_MEAN, variance = squares / N_MEAN - mean * mean;
        ck_assert_double_eq_tol(mean, 1.0, 5.0 * sqrt(cases[c].variance / N_MEAN));
        ck_assert_double_eq_tol(variance, cases[c].variance, 0.02 * cases[c].variance);
    }
}
END_TEST

START_TEST(rician_follows_the_noncentral_chi_square)
{
    static const double ks_db[] = {-40.0, 0.0, 6.0, 15.0};
    for (size_t c = 0; c < G_N_ELEMENTS(ks_db); c++) {
        SpateFading fading = {.kind = SPATE_FADING_RICIAN, .rician_k_db = ks_db[c]};
        for (double level = 0.1; level < 3.0; level += 0.4) {
            double p = 1.0 - rician_tail(pow(10.0, ks_db[c] / 10.0), level);
            ck_assert_double_eq_tol(share_below(&fading, level), p, error_of_share(p));
        }
    }
}
END_TEST

START_TEST(nakagami_follows_the_gamma_distribution)
{
    static const double shapes[] = {0.5, 0.7, 1.0, 4.0};
    for (size_t c = 0; c < G_N_ELEMENTS(shapes); c++) {
        SpateFading fading = {.kind = SPATE_FADING_NAKAGAMI, .nakagami_m = shapes[c]};
        for (double level = 0.1; level < 3.0; level += 0.4) {
            double p = gsl_cdf_gamma_P(level, shapes[c], 1.0 / shapes[c]);
            ck_assert_double_eq_tol(share_below(&fading, level), p, error_of_share(p));
        }
    }
}
END_TEST

START_TEST(the_highest_gain_is_rarely_exceeded)
{
    /* Exactly 1e-12 where a closed form gives the quantile; at most that for Rician, whose bound is
     * that of the sum of its parts, and not more than 2 dB too high. */
    SpateFading fading = {.kind = SPATE_FADING_RAYLEIGH};
    ck_assert_double_eq_tol(exp(-spate_fading_highest_gain(&fading)) * 1e12, 1.0, 1e-9);
    fading.kind = SPATE_FADING_NAKAGAMI;
    static const double shapes[] = {0.5, 1.0, 3.0, 100.0};
    for (size_t c = 0; c < G_N_ELEMENTS(shapes); c++) {
        fading.nakagami_m = shapes[c];
        double tail =
            gsl_cdf_gamma_Q(spate_fading_highest_gain(&fading), shapes[c], 1.0 / shapes[c]);
        ck_assert_double_eq_tol(tail * 1e12, 1.0, 1e-6);
    }
    fading.kind = SPATE_FADING_RICIAN;
    static const double ks_db[] = {-40.0, -10.0, 0.0, 6.0, 20.0};
    for (size_t c = 0; c < G_N_ELEMENTS(ks_db); c++) {
        fading.rician_k_db = ks_db[c];
        double k = pow(10.0, ks_db[c] / 10.0), highest = spate_fading_highest_gain(&fading);
        ck_assert_double_le(rician_tail(k, highest), 1e-12);
        ck_assert_double_gt(rician_tail(k, highest / pow(10.0, 0.2)), 1e-12);
    }
}
END_TEST

CHECK_MAIN("fading", none_is_a_factor_of_one, the_same_arguments_give_the_same_factor,
           rayleigh_outage_is_the_closed_form, every_fading_has_mean_1_and_its_own_spread,
           rician_follows_the_noncentral_chi_square, nakagami_follows_the_gamma_distribution,
           the_highest_gain_is_rarely_exceeded)
