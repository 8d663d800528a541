/* test-dcf.c - saturated stations that all hear each other, by the rules of IEEE 802.11 DCF
 *
 * Rows `dcf-broadcast-saturated`: a slot-exact simulation of the standard's rules for
 * group-addressed frames, and beside it the chain of G. Bianchi, IEEE JSAC 18(3), 2000, with a
 * constant window, which is an approximation.  100 bytes and 43 of overhead at 1 Mbit/s are 1336
 * us.  A frame that collides is received by nobody, neither by those who sent at the same time
 * nor by the others, one that does not by all.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define SPAN_S 20.0

/* How far the chain may be off: the simulated rows differ from it by 0.010 and 1.2 %. */
#define CHAIN_COLLISIONS 0.012
#define CHAIN_THROUGHPUT 0.015

/* More than a station can send is offered, so that it always has a frame. */
static SpateResult *
run_stations(int n)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %.0f s, cool-down: 0 s}\n"
        "bearers: {air: {kind: dsss, frequency: 2437 MHz, rate: 1 Mbit/s, access: {method: "
        "csma}}}\n"
        "links: [{between: [stations, sink], loss: 60 dB}]\n"
        "nodes:\n"
        "  sink: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  stations: {count: %d, at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}, queue: "
        "{frames: 8}}\n"
        "traffic: {talk: {from: stations, to: sink, payload: 100 bytes, every: %d us, phase: "
        "together}}\n",
        SPAN_S, n, 600 * n);
    return judge_run(text, 20);
}

static void
judge_stations(const Reference *rows, guint i, const SpateResult *result)
{
    const char *quantity = reference_text(rows, i, "quantity");
    const SpateResultRow *sent = judge_row(result, "transmissions", NULL, "air");
    const SpateResultRow *received = judge_row(result, "received", NULL, "air");
    bool is_collision = g_str_has_prefix(quantity, "collision");
    bool is_chain = g_str_has_suffix(quantity, "_markov");
    g_autofree double *values = g_new(double, sent->n);
    double mean = 0.0;
    for (uint32_t r = 0; r < sent->n; r++) {
        values[r] = is_collision ? 1.0 - received->values[r]
                                 : sent->values[r] * received->values[r] *
                                       reference_input(rows, i, "payload_bits") / (SPAN_S * 1e6);
        mean += values[r] / sent->n;
    }
    JudgeClaim claim = claim_of_row(
        rows, i, is_chain ? "saturated DCF broadcast, Markov chain" : "saturated DCF broadcast",
        is_collision ? "share that collides" : "throughput", 0.0);
    claim.unit = is_collision ? "1" : "Mbit/s";
    if (is_chain) {
        claim.tolerance = is_collision ? CHAIN_COLLISIONS : CHAIN_THROUGHPUT * claim.expected;
        judge_value(&claim, mean);
    } else {
        /* The rows are simulated themselves: to 0.004 and 1 %. */
        claim.tolerance = is_collision ? 0.004 : 0.01 * claim.expected;
        judge_values(&claim, values, sent->n);
    }
}

START_TEST(saturated_stations_collide_and_carry_as_dcf_does)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    g_autoptr(SpateResult) result = NULL;
    int n_stations = 0, n = 0;
    FOR_ROWS(rows, i, "dcf-broadcast-saturated")
    {
        /* Rows of as many stations stand together. */
        if (reference_input(rows, i, "stations") != n_stations) {
            n_stations = (int)reference_input(rows, i, "stations");
            g_clear_pointer(&result, spate_result_free);
            result = run_stations(n_stations);
        }
        judge_stations(rows, i, result);
        n++;
    }
    ck_assert_int_eq(n, 20);
}
END_TEST

CHECK_MAIN("theory of DCF", saturated_stations_collide_and_carry_as_dcf_does)
