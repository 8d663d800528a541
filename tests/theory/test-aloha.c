/* test-aloha.c - many senders who listen to nobody, and receivers that need part of a preamble
 *
 * N. Abramson, "The ALOHA System", AFIPS FJCC 37, 1970, as LoRa changes it: the first n - lock
 * symbols of a preamble may be lost (timing of Bor, Roedig, Voigt, Alonso, MSWiM 2016).  A thousand
 * sources of Poisson traffic, equally loud at the mast and silent to each other, stand for the
 * endless population; a source never disturbs itself, which makes G smaller by a thousandth.
 *
 * No LoRa payload has 60 symbols, as the rows ask.  What counts is the share of the frame that may
 * be lost: two symbols more of preamble and of lock before 58 of payload make the same one.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define N_SOURCES 1000

/* SF7 at 125 kHz: symbols of 1.024 ms. */
#define SYMBOL_S 1.024e-3

/* AN1200.13: 33 bytes at 4/5 are 8 + 10 * 5 symbols, 10 bytes at 4/8 are 8 + 4 * 8. */
typedef struct {
    int symbols, bytes, coding_rate;
} Payload;

static const Payload PAYLOADS[] = {{58, 33, 5}, {40, 10, 8}};

/* The share that is received, by replication. */
static SpateResult *
run_sources(double load, const Payload *payload, int preamble, int lock)
{
    double airtime_s = (preamble + 4.25 + payload->symbols) * SYMBOL_S;
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %.0f s, warm-up: 5 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    coding-rate: 4/%d, preamble: %d symbols, lock: %d symbols,\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "links: [{from: sources, to: mast, loss: 80 dB}]\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  sources: {count: %d, at: {x: 90 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic: {talk: {from: sources, to: mast, payload: %d bytes, mean-interval: %.6f s}}\n",
        6.0 + ceil(3000.0 * airtime_s / load), payload->coding_rate, preamble, lock, N_SOURCES,
        payload->bytes, N_SOURCES * airtime_s / load);
    return judge_run(text, 20);
}

START_TEST(the_part_of_a_preamble_that_may_be_lost_lets_more_through)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "aloha-preamble-tolerant")
    {
        double load = reference_input(rows, i, "G");
        int symbols = (int)reference_input(rows, i, "payload_symbols");
        const Payload *payload = symbols == 40 ? &PAYLOADS[1] : &PAYLOADS[0];
        int shift = symbols - payload->symbols;
        g_autoptr(SpateResult) result =
            run_sources(load, payload, shift + (int)reference_input(rows, i, "preamble_symbols"),
                        shift + (int)reference_input(rows, i, "lock_symbols"));
        const SpateResultRow *received = judge_row(result, "delivery", "talk", NULL);
        g_autofree double *throughput = g_new(double, received->n);
        for (uint32_t r = 0; r < received->n; r++)
            throughput[r] = load * received->values[r];
        JudgeClaim claim =
            claim_of_row(rows, i, "unslotted ALOHA, tolerant preambles", "throughput", 0.02 * load);
        claim.unit = "erlang";
        judge_values(&claim, throughput, received->n);
        n++;
    }
    ck_assert_int_eq(n, 5);
}
END_TEST

START_TEST(a_long_preamble_lets_through_nearly_as_much_as_slots)
{
    /* Of 122.25 symbols 55 may be lost. */
    const double load = 0.5, tolerated = 55.0 / 122.25;
    g_autoptr(SpateResult) result = run_sources(load, &PAYLOADS[0], 60, 5);
    JudgeClaim claim = {
        .subject = "unslotted ALOHA, tolerant preambles "
                   "(G=0.5;preamble_symbols=60;lock_symbols=5;payload_symbols=58)",
        .quantity = "share received",
        .unit = "1",
        .expected = exp(-load * (2.0 - tolerated)),
        .tolerance = 0.02,
        .source = "exp(-G (2 - x)), x = (n - lock) / (n + 4.25 + payload symbols), after "
                  "Abramson 1970 and Bor et al., MSWiM 2016: derived here",
    };
    judge_mean(&claim, judge_row(result, "delivery", "talk", NULL));
}
END_TEST

CHECK_MAIN("theory of ALOHA", the_part_of_a_preamble_that_may_be_lost_lets_more_through,
           a_long_preamble_lets_through_nearly_as_much_as_slots)
