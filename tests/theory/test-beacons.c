/* test-beacons.c - beacons heard at random are the coupons of the collector
 *
 * Beacons of equal mean power, all at once and each faded by itself, do each other no harm (60 dB
 * of protection to spare), and a radio takes the strongest: each time one of them, any with equal
 * chance, whatever it took before.
 */
#include "rows.h"

#include "support/check-main.h"

/* `kinds` beacons, each a traffic of its own: c1, c2, ... */
static char *
beacons_text(int kinds, int draws)
{
    g_autoptr(GString) text = g_string_new(NULL);
    g_string_append_printf(
        text,
        "spate: 1\n"
        "run: {duration: %d s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    protection: {same: -60 dB}, fading: rayleigh,\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "links: [{from: beacons, to: collector, loss: 60 dB}]\n"
        "nodes:\n"
        "  collector: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  beacons: {count: %d, at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "traffic:\n",
        draws + 1, kinds);
    for (int k = 1; k <= kinds; k++)
        g_string_append_printf(text,
                               "  c%d: {from: beacons-%d, to: collector, payload: 10 bytes, every: "
                               "1 s, phase: together}\n",
                               k, k);
    return g_string_free(g_steal_pointer(&text), FALSE);
}

START_TEST(the_number_of_beacons_heard_is_that_of_the_coupon_collector)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "coupon-collector")
    {
        int kinds = (int)reference_input(rows, i, "kinds");
        int draws = (int)reference_input(rows, i, "draws");
        g_autofree char *text = beacons_text(kinds, draws);
        const uint32_t replications = kinds < 100 ? 200 : 60;
        g_autoptr(SpateResult) result = judge_run(text, replications);
        double heard[200] = {0}, taken = 0.0;
        for (int k = 1; k <= kinds; k++) {
            g_autofree char *traffic = g_strdup_printf("c%d", k);
            const SpateResultRow *row = judge_row(result, "delivery", traffic, NULL);
            for (uint32_t r = 0; r < replications; r++)
                heard[r] += row->values[r] > 0.0;
            taken += row->mean * draws;
        }
        ck_assert_double_eq_tol(taken, draws, 1e-9);
        JudgeClaim claim =
            claim_of_row(rows, i, "beacons heard at random", "different beacons heard",
                         0.06 * reference_number(rows, i, "value"));
        judge_values(&claim, heard, replications);
        n++;
    }
    ck_assert_int_eq(n, 8);
}
END_TEST

CHECK_MAIN("theory of beacons", the_number_of_beacons_heard_is_that_of_the_coupon_collector)
