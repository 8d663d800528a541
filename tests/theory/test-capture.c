/* test-capture.c - which of several frames that begin at once a receiver gets
 *
 * Senders offer a message at every full second together, so that their frames lie on each other
 * from the first symbol to the last, and only the ratio of their powers decides.  `protection` is
 * the threshold z of the closed forms.  Unless a test says so, noise is 60 dB and more below.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

/* Thermal noise in 125 kHz with a noise figure of 6 dB: -174 + 10 log10(125000) + 6. */
#define NOISE_DBM -117.0308998699194

/* The keys of the bearer and the sections below it; free with g_free(). */
static char *
scenario_of(const char *bearer_keys, const char *sections)
{
    return g_strdup_printf("spate: 1\n"
                           "run: {duration: 502 s, cool-down: 1 s}\n"
                           "bearers:\n"
                           "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz,\n"
                           "    spreading-factor: 7, %s}\n"
                           "%s",
                           bearer_keys, sections);
}

/* One wanted frame against one other; `keys` of the bearer. */
static SpateResult *
run_two(const char *keys, double advantage_db)
{
    g_autofree char *sections =
        g_strdup_printf("groups: {senders: [own, other]}\n"
                        "links: [{from: senders, to: mast, loss: 60 dB}]\n"
                        "nodes:\n"
                        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
                        "  own: {at: {x: 9 m, y: 0 m}, radios: {air: {power: %.6f dBm}}}\n"
                        "  other: {at: {x: 0 m, y: 9 m}, radios: {air: {power: 10 dBm}}}\n"
                        "traffic:\n"
                        "  wanted: {from: own, to: mast, payload: 10 bytes, every: 1 s,"
                        " phase: together}\n"
                        "  rest: {from: other, to: nobody, payload: 10 bytes, every: 1 s,"
                        " phase: together}\n",
                        10.0 + advantage_db);
    g_autofree char *text = scenario_of(keys, sections);
    return judge_run(text, 20);
}

/* The other on a spreading factor of its own, which the mast cannot decode. */
static SpateResult *
run_two_spreading_factors(double threshold_db, double advantage_db)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 502 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    protection: {other: %.6f dB}, fading: rayleigh}\n"
        "  slow: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"
        "    fading: rayleigh}\n"
        "groups: {senders: [own, other]}\n"
        "links: [{from: senders, to: mast, loss: 60 dB}]\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  own: {at: {x: 9 m, y: 0 m}, radios: {air: {power: %.6f dBm}}}\n"
        "  other: {at: {x: 0 m, y: 9 m}, radios: {slow: {power: 10 dBm}}}\n"
        "traffic:\n"
        "  wanted: {from: own, to: mast, payload: 10 bytes, every: 1 s, phase: together}\n"
        "  rest: {from: other, to: nobody, payload: 10 bytes, every: 1 s, phase: together}\n",
        threshold_db, 10.0 + advantage_db);
    return judge_run(text, 20);
}

START_TEST(of_two_faded_frames_one_survives_as_often_as_the_ratio_of_exponentials_says)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "capture-rayleigh-two")
    {
        double threshold_db = reference_input(rows, i, "threshold_db");
        double advantage_db = reference_input(rows, i, "mean_power_advantage_db");
        g_autofree char *keys =
            g_strdup_printf("protection: {same: %.6f dB}, fading: rayleigh", threshold_db);
        /* Below 0 dB both frames of one setting may survive, of which a radio takes the stronger:
         * thresholds of two settings. */
        g_autoptr(SpateResult) result = threshold_db < 0.0
                                            ? run_two_spreading_factors(threshold_db, advantage_db)
                                            : run_two(keys, advantage_db);
        JudgeClaim claim =
            claim_of_row(rows, i, "capture, two Rayleigh-faded frames", "share received", 0.02);
        judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
        n++;
    }
    ck_assert_int_eq(n, 10);
}
END_TEST

/* `count` senders of equal mean power, that far above the noise; the share that each brings
 * through is that of one against count - 1. */
static SpateResult *
run_many(int count, double threshold_db, double snr_db, int replications)
{
    g_autofree char *keys = g_strdup_printf("sensitivity: %.9f dBm, protection: {same: %.6f dB},"
                                            " fading: rayleigh",
                                            NOISE_DBM + threshold_db, threshold_db);
    g_autofree char *sections =
        g_strdup_printf("links: [{from: crowd, to: mast, loss: %.9f dB}]\n"
                        "nodes:\n"
                        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
                        "  crowd: {count: %d, at: {x: 9 m, y: 0 m}, radios: {air: {power: 0 "
                        "dBm}}}\n"
                        "traffic: {wanted: {from: crowd, to: mast, payload: 10 bytes, every: 1 s,"
                        " phase: together}}\n",
                        -NOISE_DBM - snr_db, count);
    g_autofree char *text = scenario_of(keys, sections);
    return judge_run(text, (uint32_t)replications);
}

START_TEST(interference_of_many_adds_up)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "capture-rayleigh-many")
    {
        int interferers = (int)reference_input(rows, i, "equal_interferers");
        double expected = reference_number(rows, i, "value");
        /* Rare survivors need many frames. */
        int replications = expected < 0.01 ? 60 : 20;
        g_autoptr(SpateResult) result =
            run_many(1 + interferers, reference_input(rows, i, "threshold_db"), 75.0, replications);
        JudgeClaim claim =
            claim_of_row(rows, i, "capture, many Rayleigh-faded frames", "share received",
                         expected < 0.01 ? 4e-4 + expected / 8.0 : 0.015);
        judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
        n++;
    }
    ck_assert_int_eq(n, 6);
}
END_TEST

START_TEST(noise_takes_its_share_beside_interference)
{
    /* Threshold of noise: sensitivity less noise. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "capture-rayleigh-noise")
    {
        g_autoptr(SpateResult) result = run_many(
            1 + (int)reference_input(rows, i, "equal_interferers"),
            reference_input(rows, i, "threshold_db"), reference_input(rows, i, "mean_snr_db"), 20);
        JudgeClaim claim = claim_of_row(rows, i, "capture, Rayleigh-faded frames and noise",
                                        "share received", 0.02);
        judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

/* The wanted sender at `ratio` of the other's distance, 1 km; `more` keys of the bearer. */
static SpateResult *
run_distances(double ratio, double exponent, double threshold_db, const char *more,
              uint32_t replications)
{
    g_autofree char *keys =
        g_strdup_printf("protection: {same: %.6f dB}, propagation: {model: log-distance,"
                        " exponent: %.6f, extra-loss: -60 dB}%s",
                        threshold_db, exponent, more);
    g_autofree char *sections =
        g_strdup_printf("nodes:\n"
                        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 20 dBm}}}\n"
                        "  own: {at: {x: %.9f m, y: 0 m}, radios: {air: {power: 20 dBm}}}\n"
                        "  other: {at: {x: -1000 m, y: 0 m}, radios: {air: {power: 20 dBm}}}\n"
                        "traffic:\n"
                        "  wanted: {from: own, to: mast, payload: 10 bytes, every: 1 s,"
                        " phase: together}\n"
                        "  rest: {from: other, to: nobody, payload: 10 bytes, every: 1 s,"
                        " phase: together}\n",
                        1000.0 * ratio);
    g_autofree char *text = scenario_of(keys, sections);
    return judge_run(text, replications);
}

START_TEST(a_nearer_sender_captures_by_the_power_of_the_ratio_of_distances)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "capture-distance")
    {
        g_autoptr(SpateResult) result =
            run_distances(reference_input(rows, i, "own_over_interferer_distance"),
                          reference_input(rows, i, "exponent"),
                          reference_input(rows, i, "threshold_db"), ", fading: rayleigh", 20);
        JudgeClaim claim = claim_of_row(rows, i, "capture by distance, Rayleigh-faded frames",
                                        "share received", 0.02);
        judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

START_TEST(without_fading_capture_ends_at_one_ratio_of_distances)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "capture-no-fading-ratio")
    {
        double low = 0.1, high = 1.5;
        while (high - low > 1e-6) {
            double middle = (low + high) / 2.0;
            g_autoptr(SpateResult) result =
                run_distances(middle, reference_input(rows, i, "exponent"),
                              reference_input(rows, i, "threshold_db"), "", 1);
            double share = judge_row(result, "delivery", "wanted", NULL)->mean;
            ck_assert(share == 0.0 || share == 1.0);
            *(share == 1.0 ? &low : &high) = middle;
        }
        JudgeClaim claim = claim_of_row(rows, i, "capture by distance, no fading",
                                        "largest ratio of distances", 1e-5);
        judge_value(&claim, low);
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

CHECK_MAIN("theory of capture",
           of_two_faded_frames_one_survives_as_often_as_the_ratio_of_exponentials_says,
           interference_of_many_adds_up, noise_takes_its_share_beside_interference,
           a_nearer_sender_captures_by_the_power_of_the_ratio_of_distances,
           without_fading_capture_ends_at_one_ratio_of_distances)
