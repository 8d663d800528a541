/* test-relays.c - relays of one message that share out the time after it
 *
 * Relays all get a message at one instant.  With jitter alone they begin anywhere in the window;
 * with csma each draws one of 32 slots; with cad, when the channel is busy at their first look, a
 * whole number of airtimes.  Who chooses the same slot begins at the same instant, and both are
 * lost: they arrive with equal power.
 */
#include "rows.h"

#include "support/check-main.h"

#define N_RUNS 1500

/* Of runs with one message, those in which every audible frame was received. */
static void
judge_unharmed(const JudgeClaim *claim, const char *text)
{
    g_autoptr(SpateResult) result = judge_run(text, N_RUNS);
    const SpateResultRow *row = judge_row(result, "received", NULL, "air");
    g_autofree double *unharmed = g_new(double, row->n);
    for (uint32_t r = 0; r < row->n; r++)
        unharmed[r] = row->values[r] == 1.0 ? 1.0 : 0.0;
    judge_values(claim, unharmed, row->n);
}

START_TEST(copies_over_a_window_of_jitter_miss_each_other_as_points_on_a_line_do)
{
    /* Relays are deaf to each other; the whole preamble is needed, so that every overlap harms. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "relay-jitter")
    {
        g_autofree char *text = g_strdup_printf(
            "spate: 1\n"
            "run: {duration: 70 s}\n"
            "bearers:\n"
            "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
            "    lock: 8 symbols, propagation: {model: free-space, extra-loss: 300 dB}}\n"
            "flooding: {jitter: {at-most: %.0f airtimes}}\n"
            "links: [{from: source, to: relays, loss: 60 dB},"
            " {from: relays, to: mast, loss: 60 dB}]\n"
            "nodes:\n"
            "  source: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
            "  mast: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
            "  relays: {count: %d, at: {x: 0 m, y: 9 m}, radios: {air: {power: 10 dBm}},"
            " relay: [air]}\n"
            "traffic: {news: {from: source, to: mast, payload: 10 bytes, at: [1 s]}}\n",
            1.0 / reference_input(rows, i, "frame_over_window"),
            (int)reference_input(rows, i, "relays"));
        JudgeClaim claim =
            claim_of_row(rows, i, "relays that wait at random", "share without overlap", 0.05);
        judge_unharmed(&claim, text);
        n++;
    }
    ck_assert_int_eq(n, 5);
}
END_TEST

/* All hear each other but for mast and source.  A frame of 250 bytes at 1 Mbit/s lasts 2.536 ms,
 * longer than two backoffs, so that the deadline parts the first choice of a slot from later
 * ones: 2 (50 + 620 + 2536) us, and 7758 us at least where the first ones collided. */
static char *
csma_text(int n_relays)
{
    return g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 70 s}\n"
        "bearers:\n"
        "  air: {kind: dsss, frequency: 2437 MHz, rate: 1 Mbit/s, access: {method: csma},\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "flooding: {jitter: {at-most: 0 airtimes}}\n"
        "groups: {all: [source, relays, mast]}\n"
        "links: [{between: [relays, all], loss: 60 dB}]\n"
        "nodes:\n"
        "  source: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  mast: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  relays: {count: %d, at: {x: 0 m, y: 9 m}, radios: {air: {power: 10 dBm}},"
        " relay: [air]}\n"
        "traffic: {news: {from: source, to: mast, payload: 250 bytes, at: [1 s], deadline: "
        "6500 us}}\n",
        n_relays);
}

/* The first look finds a weaker and longer frame, which began with the source's and ends within an
 * airtime: 95.25 symbols and 155.25. */
static char *
cad_text(int n_relays, int n_slots, const char *policy)
{
    return g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 70 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    access: {method: cad, slots: %d},\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "flooding: {policy: %s, jitter: {at-most: 0 airtimes}}\n"
        "groups: {all: [source, relays, mast]}\n"
        "links:\n"
        "  - {between: [relays, all], loss: 60 dB}\n"
        "  - {from: other, to: relays, loss: 120 dB}\n"
        "nodes:\n"
        "  source: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  other: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  mast: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  relays: {count: %d, at: {x: 0 m, y: 9 m}, radios: {air: {power: 10 dBm}},"
        " relay: [air]}\n"
        "traffic:\n"
        "  news: {from: source, to: mast, payload: 50 bytes, at: [1 s]}\n"
        "  rest: {from: other, to: nobody, payload: 90 bytes, hop-limit: 1, at: [1 s]}\n",
        n_slots, policy, n_relays);
}

/* The runs in which nothing was lost but the other's frame, which each relay loses to that of the
 * source. */
static void
judge_copies(const JudgeClaim *claim, const char *text, int n_relays)
{
    g_autoptr(SpateResult) result = judge_run(text, N_RUNS);
    const SpateResultRow *sent = judge_row(result, "transmissions", "news", NULL);
    const SpateResultRow *lost = judge_row(result, "received", NULL, "air");
    g_autofree double *unharmed = g_new(double, lost->n);
    for (uint32_t r = 0; r < lost->n; r++) {
        ck_assert_double_eq(sent->values[r], 1.0 + n_relays);
        unharmed[r] = lost->ofs[r] - lost->counts[r] == n_relays ? 1.0 : 0.0;
    }
    judge_values(claim, unharmed, lost->n);
}

/* The first frame that comes alone silences all relays that are still to send: then it stays at the
 * source's and that one. */
static void
judge_first(const JudgeClaim *claim, const char *text)
{
    g_autoptr(SpateResult) result = judge_run(text, N_RUNS);
    const SpateResultRow *sent = judge_row(result, "transmissions", "news", NULL);
    g_autofree double *alone = g_new(double, sent->n);
    for (uint32_t r = 0; r < sent->n; r++)
        alone[r] = sent->values[r] == 2.0 ? 1.0 : 0.0;
    judge_values(claim, alone, sent->n);
}

START_TEST(slots_are_shared_as_counting_says)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "relay-slots")
    {
        int n_relays = (int)reference_input(rows, i, "relays");
        int n_slots = (int)reference_input(rows, i, "slots");
        bool is_first =
            strcmp(reference_text(rows, i, "quantity"), "probability_earliest_alone") == 0;
        if (n_slots == 32) {
            g_autofree char *text = csma_text(n_relays);
            JudgeClaim claim = claim_of_row(
                rows, i, "relays with csma, 32 slots",
                is_first ? "share in which the first is alone" : "share without a collision", 0.05);
            if (is_first) {
                g_autoptr(SpateResult) result = judge_run(text, N_RUNS);
                judge_mean(&claim, judge_row(result, "delivery-in-time", "news", NULL));
            } else {
                judge_unharmed(&claim, text);
            }
        } else if (is_first) {
            g_autofree char *text = cad_text(n_relays, n_slots, "counter, copies: 1");
            JudgeClaim claim =
                claim_of_row(rows, i, "relays with cad", "share in which the first is alone", 0.05);
            judge_first(&claim, text);
        } else {
            g_autofree char *text = cad_text(n_relays, n_slots, "classic");
            JudgeClaim claim =
                claim_of_row(rows, i, "relays with cad", "share without a collision", 0.05);
            judge_copies(&claim, text, n_relays);
        }
        n++;
    }
    ck_assert_int_eq(n, 12);
}
END_TEST

CHECK_MAIN("theory of relays",
           copies_over_a_window_of_jitter_miss_each_other_as_points_on_a_line_do,
           slots_are_shared_as_counting_says)
