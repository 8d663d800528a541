/* test-intervals.c - 95 % intervals hold the truth in about 95 % of studies
 *
 * Student (W. S. Gosset), Biometrika 6, 1908.  400 studies of 8 replications, each with a seed of
 * its own; the number of Poisson offers in an hour has a known mean.
 */
#include "judge.h"

#include "support/check-main.h"
#include <gsl/gsl_cdf.h>

#define N_STUDIES 400

/* One node that hears nobody: offers cost nothing else. */
static bool
holds_the_mean(uint32_t seed)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "seed: %u\n"
        "run: {duration: 1 h, cool-down: 0 s, replications: 8}\n"
        "bearers: {air: {kind: dsss, frequency: 2437 MHz}}\n"
        "nodes: {a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}}\n"
        "traffic: {talk: {from: a, to: nobody, payload: 10 bytes, mean-interval: 40 s}}\n",
        seed);
    g_autoptr(SpateResult) result = judge_run(text, 0);
    const SpateResultRow *row = judge_row(result, "messages", "talk", NULL);
    return row->ci95.low <= 90.0 && 90.0 <= row->ci95.high;
}

START_TEST(of_400_studies_about_95_percent_hold_the_true_mean)
{
    uint32_t n_held = 0;
    for (uint32_t seed = 1; seed <= N_STUDIES; seed++)
        n_held += holds_the_mean(seed);
    /* Binomial: between the 0.05 % and the 99.95 % point. */
    uint32_t least = 0, most = N_STUDIES;
    while (gsl_cdf_binomial_P(least, 0.95, N_STUDIES) < 0.0005)
        least++;
    while (gsl_cdf_binomial_Q(most - 1, 0.95, N_STUDIES) < 0.0005)
        most--;
    JudgeClaim claim = {
        .subject = "Student-t intervals, 400 studies of 8 replications",
        .quantity = "share of studies whose 95 % interval holds the true mean",
        .unit = "1",
        .expected = 0.95,
        .tolerance = 0.036,
        .source = "Student 1908; binomial bounds at 99.9 % (GSL)",
    };
    judge_value(&claim, (double)n_held / N_STUDIES);
    ck_assert_uint_ge(n_held, least);
    ck_assert_uint_le(n_held, most);
}
END_TEST

CHECK_MAIN("intervals", of_400_studies_about_95_percent_hold_the_true_mean)
