/* test-abramson.c - the curve of pure ALOHA, point by point
 *
 * A thousand sources of Poisson traffic, equally loud at the mast and silent to each other, stand
 * for the endless population.  The whole preamble is needed, so that a frame is vulnerable over two
 * airtimes.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define N_SOURCES 1000

/* 10 bytes at SF 7 and 125 kHz: 41.216 ms.  Long enough for 1000 frames a replication. */
static SpateResult *
run_load(double load)
{
    const double airtime_s = 0.041216;
    int duration_s = (int)(1000.0 * airtime_s / load) + 20;
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %d s, warm-up: 5 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    lock: 8 symbols, propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "links: [{from: sources, to: mast, loss: 60 dB}]\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  sources: {count: %d, at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "traffic: {talk: {from: sources, to: mast, payload: 10 bytes, mean-interval: %.6f s}}\n",
        duration_s, N_SOURCES, N_SOURCES * airtime_s / load);
    return judge_run(text, 20);
}

START_TEST(pure_aloha_follows_the_curve_of_abramson)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    g_autoptr(SpateResult) result = NULL;
    double load = 0.0;
    int n = 0;
    FOR_ROWS(rows, i, "aloha-pure")
    {
        /* Both rows of a load come from one study. */
        if (reference_input(rows, i, "G") != load) {
            load = reference_input(rows, i, "G");
            g_clear_pointer(&result, spate_result_free);
            result = run_load(load);
        }
        const SpateResultRow *received = judge_row(result, "delivery", "talk", NULL);
        if (strcmp(reference_text(rows, i, "quantity"), "success_probability") == 0) {
            JudgeClaim claim = claim_of_row(rows, i, "pure ALOHA", "share received", 0.025);
            judge_mean(&claim, received);
        } else {
            JudgeClaim claim =
                claim_of_row(rows, i, "pure ALOHA", "throughput", fmin(0.03 * load, 0.012));
            g_autofree double *throughput = g_new(double, received->n);
            for (uint32_t r = 0; r < received->n; r++)
                throughput[r] = load * received->values[r];
            claim.unit = "erlang";
            judge_values(&claim, throughput, received->n);
        }
        n++;
    }
    ck_assert_int_eq(n, 22);
}
END_TEST

CHECK_MAIN("theory of pure ALOHA", pure_aloha_follows_the_curve_of_abramson)
