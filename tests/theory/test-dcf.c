/* test-dcf.c - saturated stations that all hear each other, by the rules of IEEE 802.11 DCF
 *
 * Rows `dcf-broadcast-saturated`: slot-exact simulation of the standard's rules for group-addressed
 * frames (G. Bianchi, IEEE JSAC 18(3), 2000, is beside it in the rows, as an approximation).  100
 * bytes and 43 of overhead at 1 Mbit/s are 1336 us.  A sink that hears all equally loud counts what
 * came alone.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define SPAN_S 60.0

static SpateResult *
run_stations(uint32_t n)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 60 s, cool-down: 0 s}\n"
        "bearers: {air: {kind: dsss, frequency: 2437 MHz, rate: 1 Mbit/s, access: {method: "
        "csma}}}\n"
        "links: [{between: [stations, sink], loss: 60 dB}]\n"
        "nodes:\n"
        "  sink: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  stations: {count: %u, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 0 m}, height: "
        "1 m},\n"
        "    radios: {air: {power: 14 dBm}}, queue: {frames: 8}}\n"
        "traffic: {talk: {from: stations, to: sink, payload: 100 bytes, every: %u us}}\n",
        n, 600 * n);
    return judge_run(text, 6);
}

/* What reached the sink, by replication; free with g_free(). */
static double *
delivered(const SpateResult *result)
{
    const SpateResultRow *share = judge_row(result, "delivery", "talk", NULL);
    const SpateResultRow *offered = judge_row(result, "messages", "talk", NULL);
    double *counts = g_new(double, result->n_replications);
    for (uint32_t i = 0; i < result->n_replications; i++)
        counts[i] = share->values[i] * offered->values[i];
    return counts;
}

static void
judge_stations(const Reference *rows, guint row, const SpateResult *result)
{
    const char *quantity = reference_text(rows, row, "quantity");
    g_autofree double *values = delivered(result);
    const SpateResultRow *sent = judge_row(result, "transmissions", NULL, "air");
    bool is_collision = strcmp(quantity, "collision_probability_simulated") == 0;
    for (uint32_t i = 0; i < result->n_replications; i++)
        values[i] = is_collision
                        ? 1.0 - values[i] / sent->values[i]
                        : values[i] * reference_input(rows, row, "payload_bits") / (SPAN_S * 1e6);
    double mean = 0.0, expected = reference_number(rows, row, "value");
    for (uint32_t i = 0; i < result->n_replications; i++)
        mean += values[i] / result->n_replications;
    /* The rows are simulated themselves, to 0.004 and 1 %. */
    JudgeClaim claim = claim_of_row(rows, row, "saturated DCF broadcast",
                                    is_collision ? "share that collides" : "throughput",
                                    is_collision ? 0.006 : 0.012 * expected);
    claim.unit = is_collision ? "1" : "Mbit/s";
    judge_value(&claim, mean);
}

START_TEST(saturated_stations_collide_and_carry_as_dcf_does)
{
    static const uint32_t STATIONS[] = {1, 2, 5, 10, 20};
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    uint32_t n_judged = 0;
    for (size_t s = 0; s < G_N_ELEMENTS(STATIONS); s++) {
        g_autoptr(SpateResult) result = run_stations(STATIONS[s]);
        FOR_ROWS(rows, i, "dcf-broadcast-saturated")
        {
            if (reference_input(rows, i, "stations") != STATIONS[s] ||
                !g_str_has_suffix(reference_text(rows, i, "quantity"), "_simulated"))
                continue;
            judge_stations(rows, i, result);
            n_judged++;
        }
    }
    ck_assert_uint_eq(n_judged, 10);
}
END_TEST

CHECK_MAIN("dcf", saturated_stations_collide_and_carry_as_dcf_does)
