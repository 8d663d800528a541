/* test-intervals.c - 95 % intervals hold the truth in about 95 % of studies
 *
 * Student (W. S. Gosset), Biometrika 6, 1908.  400 studies, each with a seed of its own, of
 * measures whose mean is known.
 */
#include "rows.h"

#include "support/check-main.h"
#include <gsl/gsl_cdf.h>
#include <math.h>

#define N_STUDIES 400

/* One node that hears nobody, and Poisson offers: 90 in an hour. */
static SpateResult *
run_offers(uint32_t seed, uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "seed: %u\n"
        "run: {duration: 1 h, cool-down: 0 s}\n"
        "bearers: {air: {kind: dsss, frequency: 2437 MHz}}\n"
        "nodes: {a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}}\n"
        "traffic: {talk: {from: a, to: nobody, payload: 10 bytes, mean-interval: 40 s}}\n",
        seed);
    return judge_run(text, replications);
}

/* A relay lets half of ten messages through, after up to ten airtimes of 41.216 ms: 7 airtimes in
 * the mean, the frames themselves included. */
static SpateResult *
run_relay(uint32_t seed, uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "seed: %u\n"
        "run: {duration: 70 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "flooding: {policy: probability, p: 50 %%, jitter: {at-most: 10 airtimes}}\n"
        "links: [{between: [a, b], loss: 60 dB}, {between: [b, c], loss: 60 dB}]\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 14 dBm}}, relay: [air]}\n"
        "  c: {at: {x: 18 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic: {talk: {from: a, to: c, payload: 10 bytes, every: 1 s, phase: together}}\n",
        seed);
    return judge_run(text, replications);
}

typedef SpateResult *(*RunFunc)(uint32_t seed, uint32_t replications);

static uint32_t
count_held(RunFunc run, uint32_t replications, const char *measure, double truth)
{
    uint32_t n_held = 0;
    for (uint32_t seed = 1; seed <= N_STUDIES; seed++) {
        g_autoptr(SpateResult) result = run(seed, replications);
        const SpateResultRow *row = judge_row(result, measure, "talk", NULL);
        n_held += row->ci95.low <= truth && truth <= row->ci95.high;
    }
    return n_held;
}

/* Binomial: the 0.05 % and the 99.95 % point of how many of the studies hold the truth. */
static uint32_t
least_held(void)
{
    uint32_t least = 0;
    while (gsl_cdf_binomial_P(least, 0.95, N_STUDIES) < 0.0005)
        least++;
    return least;
}

static uint32_t
most_held(void)
{
    uint32_t most = N_STUDIES;
    while (gsl_cdf_binomial_Q(most - 1, 0.95, N_STUDIES) < 0.0005)
        most--;
    return most;
}

static void
judge_coverage(RunFunc run, uint32_t replications, const char *measure, double truth)
{
    g_autofree char *subject = g_strdup_printf(
        "Student-t intervals: %s, %u studies of %u replications", measure, N_STUDIES, replications);
    double widest = fmax(0.95 * N_STUDIES - least_held(), most_held() - 0.95 * N_STUDIES);
    JudgeClaim claim = {
        .subject = subject,
        .quantity = "share of studies whose 95 % interval holds the true mean",
        .unit = "1",
        .expected = 0.95,
        .tolerance = widest / N_STUDIES,
        .source = "Student 1908; bound: binomial at 99.9 %",
    };
    judge_value(&claim, (double)count_held(run, replications, measure, truth) / N_STUDIES);
}

START_TEST(of_400_studies_about_95_percent_hold_the_true_mean)
{
    judge_coverage(run_offers, 3, "messages", 90.0);
    judge_coverage(run_offers, 8, "messages", 90.0);
    judge_coverage(run_relay, 6, "latency-mean", 7.0 * 41.216e-3);
}
END_TEST

START_TEST(intervals_of_shares_hold_the_truth_at_least_as_often)
{
    /* They are never narrower than Wilson's, of the pooled counts. */
    ck_assert_uint_ge(count_held(run_relay, 6, "delivery", 0.5), least_held());
}
END_TEST

START_TEST(the_half_width_is_students_quantile_over_the_root_of_n)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n_rows = 0;
    FOR_ROWS(rows, i, "student-t")
    {
        uint32_t n = (uint32_t)reference_input(rows, i, "replications");
        g_autoptr(SpateResult) result = run_offers(1, n);
        const SpateResultRow *row = judge_row(result, "messages", "talk", NULL);
        double mean = 0.0, squares = 0.0;
        for (uint32_t r = 0; r < n; r++)
            mean += row->values[r] / n;
        for (uint32_t r = 0; r < n; r++)
            squares += (row->values[r] - mean) * (row->values[r] - mean);
        JudgeClaim claim =
            claim_of_row(rows, i, "Student-t intervals", "half width, times root n over s",
                         reference_tolerance(rows, i));
        judge_value(&claim, (row->ci95.high - mean) * sqrt(n / (squares / (n - 1))));
        n_rows++;
    }
    ck_assert_int_eq(n_rows, 7);
}
END_TEST

CHECK_MAIN("theory of intervals", of_400_studies_about_95_percent_hold_the_true_mean,
           intervals_of_shares_hold_the_truth_at_least_as_often,
           the_half_width_is_students_quantile_over_the_root_of_n)
