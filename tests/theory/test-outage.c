/* test-outage.c - how often fading and shadowing leave a receiver without the frame
 *
 * Fading is drawn for each frame, shadowing for each pair and replication; many receivers in one
 * spot, 1 km away, share a replication.  The log-distance model has its intercept there, so that
 * the loss is a round figure.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define N_RECEIVERS 40

/* Share of the lost, by replication. */
static void
judge_outage(const JudgeClaim *claim, const SpateResult *result)
{
    const SpateResultRow *row = judge_row(result, "delivery", "beacon", NULL);
    g_autofree double *lost = g_new(double, row->n);
    for (uint32_t r = 0; r < row->n; r++)
        lost[r] = 1.0 - row->values[r];
    judge_values(claim, lost, row->n);
}

/* A beacon at 0 dBm whose mean level lies `margin_db` above the sensitivity of -100 dBm. */
static SpateResult *
run_beacon(double margin_db, const char *bearer_keys, const char *shadowing, int n_messages,
           uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %d s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    sensitivity: -100 dBm, %s propagation: {model: log-distance, exponent: 3,\n"
        "      intercept: {at: 1 km, loss: %.9f dB}%s}}\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "  homes: {count: %d, at: {x: 1 km, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "traffic: {beacon: {from: mast, to: homes, payload: 10 bytes, every: 1 s,"
        " phase: together}}\n",
        n_messages + 1, bearer_keys, 100.0 - margin_db, shadowing, N_RECEIVERS);
    return judge_run(text, replications);
}

START_TEST(rayleigh_fading_loses_what_the_exponential_leaves_below_the_margin)
{
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    int n = 0;
    FOR_ROWS(rows, i, "rayleigh-outage")
    {
        g_autoptr(SpateResult) result =
            run_beacon(reference_input(rows, i, "margin_db"), "fading: rayleigh,", "", 100, 20);
        JudgeClaim claim =
            claim_of_row(rows, i, "outage under Rayleigh fading", "share lost", 0.01);
        judge_outage(&claim, result);
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

START_TEST(shadowing_loses_what_the_normal_tail_leaves_below_the_margin)
{
    /* A bad place of the mast is bad for all: shared by none of the pairs here. */
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    int n = 0;
    FOR_ROWS(rows, i, "shadowing-outage")
    {
        g_autofree char *shadowing = g_strdup_printf(", shadowing: {sigma: %.6f dB, shared: 0 %%}",
                                                     reference_input(rows, i, "sigma_db"));
        g_autoptr(SpateResult) result =
            run_beacon(reference_input(rows, i, "margin_db"), "", shadowing, 1, 800);
        JudgeClaim claim =
            claim_of_row(rows, i, "outage under log-normal shadowing", "share lost", 0.015);
        judge_outage(&claim, result);
        n++;
    }
    ck_assert_int_eq(n, 5);
}
END_TEST

START_TEST(a_shared_part_leaves_each_pair_its_sigma)
{
    /* Var = sigma^2 (rho (1 + 1) / 2 + 1 - rho) = sigma^2 for any share rho: the same tail, over
     * replications that scatter more. */
    JudgeClaim claim = {
        .subject = "outage under log-normal shadowing, half of it shared (margin_db=8;sigma_db=6)",
        .quantity = "share lost",
        .unit = "1",
        .expected = 0.09121121973,
        .tolerance = 0.02,
        .source = "Q(M/sigma); 3GPP TR 36.942 for the site correlation of 50 %, from memory"};
    g_autoptr(SpateResult) result =
        run_beacon(8.0, "", ", shadowing: {sigma: 6 dB, shared: 50 %}", 1, 1000);
    judge_outage(&claim, result);
}
END_TEST

/* Two senders in one spot, the first `advantage_db` stronger. */
static SpateResult *
run_two(double threshold_db, double sigma_db, double advantage_db, int shared_percent,
        uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 2 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    protection: {same: %.6f dB}, propagation: {model: log-distance, exponent: 3,\n"
        "      intercept: {at: 1 km, loss: 50 dB}, shadowing: {sigma: %.6f dB, shared: %d %%}}}\n"
        "nodes:\n"
        "  own: {at: {x: 0 m, y: 0 m}, radios: {air: {power: %.6f dBm}}}\n"
        "  other: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "  homes: {count: %d, at: {x: 1 km, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "traffic:\n"
        "  wanted: {from: own, to: homes, payload: 10 bytes, at: [0 s]}\n"
        "  rest: {from: other, to: nobody, payload: 10 bytes, at: [0 s]}\n",
        threshold_db, sigma_db, shared_percent, advantage_db, N_RECEIVERS);
    return judge_run(text, replications);
}

START_TEST(of_two_shadowed_frames_one_survives_as_often_as_the_difference_of_normals_says)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "capture-lognormal-two")
    {
        g_autoptr(SpateResult) result =
            run_two(reference_input(rows, i, "threshold_db"), reference_input(rows, i, "sigma_db"),
                    reference_input(rows, i, "mean_advantage_db"), 0, 800);
        JudgeClaim claim =
            claim_of_row(rows, i, "capture, two shadowed frames", "share received", 0.02);
        judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

START_TEST(what_shadows_the_receiver_shadows_both_frames)
{
    /* The receiver's half of the shared part falls out of the difference:
     * Var = 2 sigma^2 (1 - rho / 2), rho = 50 %; z = 6 dB, sigma = 6 dB: Q(6 / (6 sqrt 1.5)). */
    JudgeClaim claim = {.subject = "capture, two shadowed frames, half of it shared",
                        .quantity = "share received",
                        .unit = "1",
                        .expected = 0.5 * erfc(1.0 / sqrt(1.5) / sqrt(2.0)),
                        .tolerance = 0.03,
                        .source = "difference of two correlated normals: Q((z - m) / (sigma "
                                  "sqrt(2 - rho))), derived here"};
    g_autoptr(SpateResult) result = run_two(6.0, 6.0, 0.0, 50, 1000);
    judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
}
END_TEST

CHECK_MAIN("theory of outage", rayleigh_fading_loses_what_the_exponential_leaves_below_the_margin,
           shadowing_loses_what_the_normal_tail_leaves_below_the_margin,
           a_shared_part_leaves_each_pair_its_sigma,
           of_two_shadowed_frames_one_survives_as_often_as_the_difference_of_normals_says,
           what_shadows_the_receiver_shadows_both_frames)
