/* test-slotted.c - slotted ALOHA, by relays that do not wait
 *
 * A beacon is relayed by each of N stations with probability p and without jitter: what a mast
 * that hears the stations alone gets is slotted ALOHA, a slot for each beacon, G = N p frames a
 * slot.  Throughput is then the share of the beacons that reach the mast.  The closed forms for an
 * endless population are met within their tolerance by N = 100 (binomial instead of Poisson:
 * below 0.004).
 */
#include "rows.h"

#include "support/check-main.h"

static double
throughput_error(double expected)
{
    /* 8000 slots: 4 standard errors, and what the replications' own spread makes of it */
    return expected < 0.05 ? 0.012 : 0.026;
}

/* Judges one row with its population. */
static void
judge_slots(const Reference *rows, guint i, const char *subject, int n_stations, double p,
            const char *bearer_keys)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 401 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}, %s}\n"
        "flooding: {policy: probability, p: %.9f, hop-limit: 2, jitter: {at-most: 0 airtimes}}\n"
        "links: [{from: beacon, to: stations, loss: 60 dB},"
        " {from: stations, to: mast, loss: 60 dB}]\n"
        "nodes:\n"
        "  beacon: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 20 dBm}}}\n"
        "  stations: {count: %d, at: {x: 90 m, y: 0 m}, radios: {air: {power: 10 dBm}},"
        " relay: [air]}\n"
        "  mast: {at: {x: 180 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "traffic: {slots: {from: beacon, to: mast, payload: 10 bytes, every: 1 s,"
        " phase: together}}\n",
        bearer_keys, p, n_stations);
    g_autoptr(SpateResult) result = judge_run(text, 20);
    double expected = reference_number(rows, i, "value");
    JudgeClaim claim =
        claim_of_row(rows, i, subject, "frames received a slot", throughput_error(expected));
    judge_mean(&claim, judge_row(result, "delivery", "slots", NULL));
}

#define N_STATIONS 100

START_TEST(one_frame_alone_in_its_slot_gets_through)
{
    /* Equal powers: of two nobody stands 1 dB above the other. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "aloha-slotted")
    {
        judge_slots(rows, i, "slotted ALOHA", N_STATIONS,
                    reference_input(rows, i, "G") / N_STATIONS, "protection: {same: 1 dB}");
        n++;
    }
    FOR_ROWS(rows, i, "aloha-slotted-finite")
    {
        judge_slots(rows, i, "slotted ALOHA, few stations",
                    (int)reference_input(rows, i, "stations"), reference_input(rows, i, "p"),
                    "protection: {same: 1 dB}");
        n++;
    }
    ck_assert_int_eq(n, 15);
}
END_TEST

START_TEST(with_perfect_capture_one_of_each_slot_gets_through)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "aloha-slotted-perfect-capture")
    {
        judge_slots(rows, i, "slotted ALOHA, perfect capture", N_STATIONS,
                    reference_input(rows, i, "G") / N_STATIONS, "protection: {same: -60 dB}");
        n++;
    }
    ck_assert_int_eq(n, 5);
}
END_TEST

START_TEST(fading_lets_the_strongest_of_a_slot_through)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "aloha-slotted-rayleigh-capture")
    {
        g_autofree char *keys = g_strdup_printf("protection: {same: %.6f dB}, fading: rayleigh",
                                                reference_input(rows, i, "threshold_db"));
        judge_slots(rows, i, "slotted ALOHA, capture under Rayleigh fading", N_STATIONS,
                    reference_input(rows, i, "G") / N_STATIONS, keys);
        n++;
    }
    ck_assert_int_eq(n, 10);
}
END_TEST

CHECK_MAIN("theory of slotted ALOHA", one_frame_alone_in_its_slot_gets_through,
           with_perfect_capture_one_of_each_slot_gets_through,
           fading_lets_the_strongest_of_a_slot_through)
