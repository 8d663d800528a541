/* test-nonpersistent.c - many senders who look before they send, and come back later
 *
 * L. Kleinrock and F. Tobagi, IEEE Trans. Commun. COM-23(12), 1975: nonpersistent CSMA, where a
 * busy channel puts an attempt off to some other time.  `cad` with many tries and a wide choice of
 * waits is that, with a delay of detection of nothing (a = 0), to which their a = 0.001 comes
 * nearest: at a throughput S, the share S / G of the attempts finds the channel free.
 *
 * A radio that receives a frame ends that before it looks, and so all who wait for a frame's end
 * look together.  Here noise lets no radio receive any: they only find that somebody sends.
 *
 * What a frame waited for the channel tells how often it looked: each look takes two symbols, each
 * that finds it busy is followed by 1 to `slots` airtimes.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define N_SENDERS 500
#define N_SLOTS   20

/* 200 bytes at SF7 and 125 kHz: 8 + 290 symbols and 12.25 of preamble (AN1200.13). */
#define SYMBOL_S  1.024e-3
#define AIRTIME_S (310.25 * SYMBOL_S)

/* Of more attempts a thousandth of a frame's delay makes more than the interval shows; and messages
 * wait so long that a sender often has the next one. */
#define MOST_ATTEMPTS 2.0

static SpateResult *
run_throughput(double throughput)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %.0f s, warm-up: 60 s, cool-down: 0 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    access: {method: cad, slots: %d, tries: 1000}}\n"
        "ambient: [{bearer: air, everywhere: yes, power: -30 dBm, busy: 99.9 %%, burst: 1 h}]\n"
        "links: [{between: [all, all], loss: 60 dB}]\n"
        "groups: {all: [senders]}\n"
        "nodes: {senders: {count: %d, at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}}\n"
        "traffic: {talk: {from: senders, to: nobody, payload: 200 bytes, mean-interval: %.6f s}}\n",
        60.0 + 1000.0 * AIRTIME_S / throughput, N_SLOTS, N_SENDERS,
        N_SENDERS * AIRTIME_S / throughput);
    return judge_run(text, 10);
}

START_TEST(who_comes_back_later_finds_the_channel_as_free_as_kleinrock_and_tobagi_say)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "csma-nonpersistent")
    {
        double attempts = reference_input(rows, i, "G");
        if (attempts > MOST_ATTEMPTS)
            continue;
        double throughput = reference_number(rows, i, "value");
        g_autoptr(SpateResult) result = run_throughput(throughput);
        const SpateResultRow *waited = judge_row(result, "waited-access", NULL, "air");
        g_autofree double *free_share = g_new(double, waited->n);
        for (uint32_t r = 0; r < waited->n; r++) {
            double look_s = 2.0 * SYMBOL_S;
            double n_busy =
                (waited->values[r] - look_s) / ((N_SLOTS + 1) / 2.0 * AIRTIME_S + look_s);
            free_share[r] = 1.0 / (1.0 + n_busy);
        }
        JudgeClaim claim = claim_of_row(rows, i, "nonpersistent CSMA",
                                        "share of the looks that find the channel free", 0.03);
        claim.expected = throughput / attempts;
        judge_values(&claim, free_share, waited->n);
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

CHECK_MAIN("theory of nonpersistent CSMA",
           who_comes_back_later_finds_the_channel_as_free_as_kleinrock_and_tobagi_say)
