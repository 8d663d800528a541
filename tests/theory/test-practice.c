/* test-practice.c - the figures that practitioners report
 *
 * Common practice, no source: orders of magnitude that people with such meshes tell of.  The
 * model has to land within a factor of 1.6.
 *
 *     about 49 ms for a probe over ten hops of 2.4 GHz long-range frames
 *     about 357 ms over one LoRa hop, there and back
 *     about 0.2 Mbit/s of payload over one hop of the fast bearer
 */
#include "core/time.h"
#include "scenario/scenario.h"
#include "study/study.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

#define FACTOR 1.6

static SpateResult *
result_of(const char *text)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("practice", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
    ck_assert_ptr_nonnull(scenario);
    const SpateScenario *scenarios[] = {scenario};
    const char *names[] = {"base"};
    SpateStudyOptions options = {.replications = 4, .jobs = 1};
    SpateResult *result = spate_study_run("run", scenarios, names, 1, &options, &error);
    ck_assert_ptr_nonnull(result);
    return result;
}

static double
value_of(const SpateResult *result, SpateMeasure measure, const char *traffic)
{
    for (size_t i = 0; i < result->variants[0].n_rows; i++) {
        const SpateResultRow *row = &result->variants[0].rows[i];
        if (row->measure == measure && g_strcmp0(row->traffic, traffic) == 0 && row->bearer == NULL)
            return row->mean;
    }
    ck_abort_msg("no such row");
}

static void
lies_near(double got, double reported)
{
    ck_assert_msg(got > reported / FACTOR && got < reported * FACTOR, "%g, reported %g", got,
                  reported);
}

START_TEST(ten_hops_of_long_range_frames_take_tens_of_milliseconds)
{
    /* Each node hears its neighbours only; a frame of 60 bytes lasts 3.5 ms, its access 0.4 ms.
     */
    g_autoptr(SpateResult) result =
        result_of("spate: 1\n"
                  "run: {duration: 10 min}\n"
                  "bearers: {fast: {kind: dsss, frequency: 2437 MHz, access: {method: csma},\n"
                  "    propagation: {model: log-distance, exponent: 4}}}\n"
                  "flooding: {hop-limit: 10, jitter: {at-most: 0 airtimes}}\n"
                  "nodes:\n"
                  "  n: {count: 11, place: {line: {from: {x: 0 m, y: 0 m}, to: {x: 500 m, y: "
                  "0 m}}, height: 2 "
                  "m},\n"
                  "      radios: {fast: {power: 10 dBm}}, relay: [fast]}\n"
                  "traffic: {probe: {from: n-1, to: n-11, payload: 60 bytes, every: 1 s}}\n");
    ck_assert_double_eq_tol(value_of(result, SPATE_MEASURE_HOPS_MEAN, "probe"), 10.0, 1e-9);
    lies_near(value_of(result, SPATE_MEASURE_LATENCY_MEAN, "probe"), 0.049);
}
END_TEST

/* The same as probes along given routes, which wait no jitter. */
START_TEST(a_probe_along_ten_hops_takes_tens_of_milliseconds)
{
    g_autoptr(SpateResult) result = result_of(
        "spate: 1\n"
        "run: {duration: 10 min}\n"
        "bearers: {fast: {kind: dsss, frequency: 2437 MHz, access: {method: csma},\n"
        "    propagation: {model: log-distance, exponent: 4}}}\n"
        "nodes:\n"
        "  n: {count: 11, place: {line: {from: {x: 0 m, y: 0 m}, to: {x: 500 m, y: 0 m}}, height: "
        "2 m},\n"
        "      radios: {fast: {power: 10 dBm}}}\n"
        "traffic: {probe: {from: n-1, to: n-11, payload: 60 bytes, every: 1 s, route: {along:\n"
        "    [n-2, n-3, n-4, n-5, n-6, n-7, n-8, n-9, n-10, n-11]}}}\n");
    ck_assert_double_eq_tol(value_of(result, SPATE_MEASURE_HOPS_MEAN, "probe"), 10.0, 1e-9);
    lies_near(value_of(result, SPATE_MEASURE_LATENCY_MEAN, "probe"), 0.049);
}
END_TEST

START_TEST(a_probe_over_one_lora_hop_comes_home_in_hundreds_of_milliseconds)
{
    g_autoptr(SpateResult) result =
        result_of("spate: 1\n"
                  "run: {duration: 1 h}\n"
                  "bearers: {slow: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, "
                  "spreading-factor: 9, access: {method: cad}}}\n"
                  "links: [{between: [a, b], loss: 110 dB}]\n"
                  "nodes:\n"
                  "  a: {at: {x: 0 m, y: 0 m}, radios: {slow: {power: 14 dBm}}}\n"
                  "  b: {at: {x: 900 m, y: 0 m}, radios: {slow: {power: 14 dBm}}}\n"
                  "traffic: {probe: {from: a, to: b, payload: 16 bytes, every: 30 s,\n"
                  "    route: {along: [b], back: yes}}}\n");
    ck_assert_double_eq_tol(value_of(result, SPATE_MEASURE_HOPS_MEAN, "probe"), 2.0, 1e-9);
    lies_near(value_of(result, SPATE_MEASURE_LATENCY_MEAN, "probe"), 0.357);
}
END_TEST

START_TEST(one_lora_hop_there_and_back_takes_hundreds_of_milliseconds)
{
    g_autoptr(SpateResult) result =
        result_of("spate: 1\n"
                  "run: {duration: 1 h}\n"
                  "bearers: {slow: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, "
                  "spreading-factor: 9, "
                  "access: {method: cad}}}\n"
                  "links: [{between: [a, b], loss: 110 dB}]\n"
                  "nodes:\n"
                  "  a: {at: {x: 0 m, y: 0 m}, radios: {slow: {power: 14 dBm}}}\n"
                  "  b: {at: {x: 900 m, y: 0 m}, radios: {slow: {power: 14 dBm}}}\n"
                  "traffic:\n"
                  "  there: {from: a, to: b, payload: 16 bytes, every: 30 s, phase: together}\n"
                  "  back: {from: b, to: a, payload: 16 bytes, at: [95 s, 205 s, 315 s, 425 s, "
                  "535 s]}\n");
    lies_near(value_of(result, SPATE_MEASURE_LATENCY_MEAN, "there") +
                  value_of(result, SPATE_MEASURE_LATENCY_MEAN, "back"),
              0.357);
}
END_TEST

START_TEST(the_fast_bearer_carries_a_fifth_of_a_megabit_in_one_hop)
{
    /* More is offered than fits; largest bodies of 250 bytes. */
    g_autoptr(SpateResult) result =
        result_of("spate: 1\n"
                  "run: {duration: 5 min, warm-up: 10 s}\n"
                  "bearers: {fast: {kind: dsss, frequency: 2437 MHz, access: {method: csma}}}\n"
                  "links: [{between: [a, b], loss: 80 dB}]\n"
                  "nodes:\n"
                  "  a: {at: {x: 0 m, y: 0 m}, radios: {fast: {power: 14 dBm}}}\n"
                  "  b: {at: {x: 100 m, y: 0 m}, radios: {fast: {power: 14 dBm}}}\n"
                  "traffic: {bulk: {from: a, to: b, payload: 250 bytes, every: 8 ms}}\n");
    double delivered = value_of(result, SPATE_MEASURE_DELIVERY, "bulk") *
                       value_of(result, SPATE_MEASURE_MESSAGES, "bulk");
    /* Offers stop a minute before the end: 5 min less 10 s less 60 s. */
    lies_near(delivered * 250.0 * 8.0 / 230.0 / 1e6, 0.2);
}
END_TEST

CHECK_MAIN("practice", ten_hops_of_long_range_frames_take_tens_of_milliseconds,
           a_probe_along_ten_hops_takes_tens_of_milliseconds,
           one_lora_hop_there_and_back_takes_hundreds_of_milliseconds,
           a_probe_over_one_lora_hop_comes_home_in_hundreds_of_milliseconds,
           the_fast_bearer_carries_a_fifth_of_a_megabit_in_one_hop)
