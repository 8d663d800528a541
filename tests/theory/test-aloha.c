/* test-aloha.c - many senders who listen to nobody
 *
 * N. Abramson, "The ALOHA System", AFIPS FJCC 37, 1970, with two changes that LoRa makes (rows
 * `aloha-preamble-tolerant` and `aloha-unequal-frames` of tests/reference/): the first n - lock
 * symbols of a preamble may be lost (timing of Bor, Roedig, Voigt, Alonso, MSWiM 2016), and frames
 * differ in length.  400 sources of Poisson traffic, equally loud at the mast and silent to each
 * other, stand for the infinite population; a source never disturbs itself, which makes G smaller
 * by one part in 400.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define N_SOURCES 400

/* SF7 at 125 kHz: symbols of 1.024 ms; 33 bytes at 4/5 are 8 + 10 * 5 = 58 payload symbols
 * (AN1200.13). */
#define SYMBOL_S        1.024e-3
#define PAYLOAD_SYMBOLS 58

#define NODES                                                                                      \
    "links: [{from: sources, to: mast, loss: 80 dB}]\n"                                            \
    "nodes:\n"                                                                                     \
    "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"                             \
    "  sources: {count: 400, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 90 m}, height: "   \
    "1 m},\n"                                                                                      \
    "    radios: {air: {power: 14 dBm}}}\n"

static void
judge_throughput(double load, int preamble, int lock)
{
    double frame_symbols = preamble + 4.25 + PAYLOAD_SYMBOLS;
    double airtime_s = frame_symbols * SYMBOL_S;
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 1000 s, warm-up: 10 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    preamble: %d symbols, lock: %d symbols,\n"
        "    propagation: {model: free-space, extra-loss: 200 dB}}\n" NODES
        "traffic: {talk: {from: sources, to: mast, payload: 33 bytes, mean-interval: %.6f s}}\n",
        preamble, lock, N_SOURCES * airtime_s / load);
    g_autoptr(SpateResult) result = judge_run(text, 16);
    double felt_load = load * (N_SOURCES - 1) / N_SOURCES;
    double tolerated = (preamble - lock) / frame_symbols;
    g_autofree char *subject =
        g_strdup_printf("unslotted ALOHA, tolerant preambles: G = %.1f, %d symbols of preamble, "
                        "lock %d",
                        load, preamble, lock);
    JudgeClaim claim = {
        .subject = subject,
        .quantity = "share received",
        .unit = "1",
        .expected = exp(-felt_load * (2.0 - tolerated)),
        .tolerance = 0.02,
        .source = "exp(-G (2 - x)), x = (n - lock) / (n + 4.25 + payload symbols), after "
                  "Abramson 1970 and Bor et al., MSWiM 2016: derived here",
    };
    judge_mean(&claim, judge_row(result, "delivery", "talk", NULL));
}

START_TEST(unslotted_aloha_with_tolerant_preambles)
{
    judge_throughput(0.2, 16, 5);
    judge_throughput(0.5, 16, 5);
    judge_throughput(1.0, 16, 5);
    judge_throughput(0.5, 60, 5);
}
END_TEST

START_TEST(unslotted_aloha_as_abramson_has_it)
{
    /* Nothing of the preamble may be lost. */
    judge_throughput(0.1, 16, 16);
    judge_throughput(0.5, 16, 16);
    judge_throughput(1.0, 16, 16);
}
END_TEST

/* Own frames of 10 bytes, 41.216 ms; others' of 10 or 200 bytes. */
static void
judge_unequal(double rate_per_s, int other_bytes, double other_s)
{
    const double own_s = 0.041216;
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 2000 s, warm-up: 10 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    preamble: 8 symbols, lock: 8 symbols,\n"
        "    propagation: {model: free-space, extra-loss: 200 dB}}\n"
        "groups: {all: [sources, own]}\n"
        "links: [{from: all, to: mast, loss: 80 dB}]\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  own: {at: {x: 5 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  sources: {count: 400, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 90 m}, "
        "height: 1 m},\n"
        "    radios: {air: {power: 14 dBm}}}\n"
        "traffic:\n"
        "  own: {from: own, to: mast, payload: 10 bytes, every: 400 ms, spread: 100 ms}\n"
        "  rest: {from: sources, to: nobody, payload: %d bytes, mean-interval: %.6f s}\n",
        other_bytes, N_SOURCES / rate_per_s);
    g_autoptr(SpateResult) result = judge_run(text, 16);
    g_autofree char *subject =
        g_strdup_printf("unslotted ALOHA, unequal frames: %.3f others a second of %.3f ms, own of "
                        "41.216 ms",
                        rate_per_s, 1e3 * other_s);
    JudgeClaim claim = {
        .subject = subject,
        .quantity = "share received",
        .unit = "1",
        .expected = exp(-rate_per_s * (own_s + other_s)),
        .tolerance = 0.02,
        .source = "exp(-lambda (T_own + T_other)), the vulnerable period of unequal frames, "
                  "generalises Abramson 1970: derived here (row A-aloha-unequal-frames-003 with "
                  "equal ones)",
    };
    judge_mean(&claim, judge_row(result, "delivery", "own", NULL));
}

START_TEST(unequal_frames_have_the_sum_as_vulnerable_period)
{
    /* 200 bytes at SF7: ceil((1600 + 16) / 28) = 58 blocks, 8 + 290 symbols, 317.696 ms. */
    judge_unequal(2.0, 10, 0.041216);
    judge_unequal(1.0, 200, 0.317696);
    judge_unequal(3.0, 200, 0.317696);
}
END_TEST

CHECK_MAIN("aloha", unslotted_aloha_with_tolerant_preambles, unslotted_aloha_as_abramson_has_it,
           unequal_frames_have_the_sum_as_vulnerable_period)
