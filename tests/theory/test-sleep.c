/* test-sleep.c - how often radios that sleep hear a frame, and what they save
 *
 * One sender, no noise to speak of.  A frame is received if the time from its start to its critical
 * part touches a window: with probability min(1, (for + time to the critical part) / every).
 */
#include "judge.h"

#include "support/check-main.h"
#include <math.h>

#define SHARE_SOURCE                                                                               \
    "preamble sampling (A. El-Hoiydi, IEEE ICC 2002; J. Polastre, J. Hill & D. Culler, SenSys "    \
    "2004: the preamble has to be as long as the interval between two looks): min(1, (for + time " \
    "to the critical part) / every); the papers from memory, the share derived here"

typedef struct {
    const char *bearer, *name;
    double critical_s; /* from the start of a frame */
    const char *listens;
    double every_s, for_s;
} Sleepers;

/* SF7 at 125 kHz: symbols of 1.024 ms, critical from (n - 5) of n on; dsss: from 96 us on. */
#define LORA(preamble)                                                                             \
    "kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7, "                  \
    "preamble: " #preamble " symbols",                                                             \
        "SF7, preamble=" #preamble " symbols", (preamble - 5) * 1.024e-3
#define DSSS "kind: dsss, frequency: 2437 MHz", "dsss", 96e-6

static const Sleepers SLEEPERS[] = {
    {LORA(8), "every: 1 s, for: 100 ms", 1.0, 0.1},
    {LORA(105), "every: 1 s, for: 100 ms", 1.0, 0.1},
    {LORA(405), "every: 1 s, for: 100 ms", 1.0, 0.1},
    {LORA(883), "every: 1 s, for: 100 ms", 1.0, 0.1},
    {LORA(885), "every: 1 s, for: 100 ms", 1.0, 0.1},
    {LORA(405), "every: 2.5 s, for: 20 ms", 2.5, 0.02},
    {LORA(105), "every: 300 ms, for: 40 ms", 0.3, 0.04},
    {DSSS, "every: 100 ms, for: 10 ms", 0.1, 0.01},
    {DSSS, "every: 20 ms, for: 15 ms", 0.02, 0.015},
};

START_TEST(a_frame_is_received_if_a_window_falls_before_its_critical_part)
{
    for (size_t i = 0; i < G_N_ELEMENTS(SLEEPERS); i++) {
        const Sleepers *its = &SLEEPERS[i];
        g_autofree char *text = g_strdup_printf(
            "spate: 1\n"
            "run: {duration: 2000 s, cool-down: 20 s}\n"
            "bearers: {air: {%s, propagation: {model: free-space}}}\n"
            "nodes:\n"
            "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
            "  leaf: {count: 40, at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm,\n"
            "    listens: {%s}}}}\n"
            "traffic: {beacon: {from: mast, to: leaf, payload: 10 bytes, every: 10 s,\n"
            "  spread: 4 s}}\n",
            its->bearer, its->listens);
        g_autofree char *subject =
            g_strdup_printf("Radios that sleep (%s; %s)", its->name, its->listens);
        JudgeClaim claim = {.subject = subject,
                            .quantity = "share received",
                            .unit = "1",
                            .expected = fmin(1.0, (its->for_s + its->critical_s) / its->every_s),
                            .tolerance = 0.01,
                            .source = SHARE_SOURCE};
        g_autoptr(SpateResult) result = judge_run(text, 20);
        judge_mean(&claim, judge_row(result, "delivery", "beacon", NULL));
        claim.quantity = "share lost asleep";
        claim.expected = 1.0 - claim.expected;
        judge_mean(&claim, judge_row(result, "lost-asleep", NULL, "air"));
    }
}
END_TEST

/* 1000 s with windows of 100 ms every 10 s, the first at 0: 10 s.  Five frames of 41.216 ms (SF7,
 * 10 bytes: 12.25 + 28 symbols) between windows, and 0.5 s awake after each.  800 mW sending for
 * 0.20608 s, 50 mW receiving for 10 + 2.5 s, 0.2 mW asleep for the rest. */
START_TEST(energy_is_that_of_sending_listening_and_sleep)
{
    static const char TEXT[] =
        "spate: 1\n"
        "run: {duration: 1000 s, cool-down: 1 s}\n"
        "bearers: {air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz,\n"
        "  spreading-factor: 7, propagation: {model: free-space}}}\n"
        "nodes:\n"
        "  leaf: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm,\n"
        "    supply: {sending: 800 mW, receiving: 50 mW, asleep: 0.2 mW},\n"
        "    listens: {every: 10 s, for: 100 ms, after-sending: 500 ms, phase: together}}}}\n"
        "traffic: {reading: {from: leaf, to: nobody, payload: 10 bytes,\n"
        "  at: [25 s, 225 s, 425 s, 625 s, 825 s]}}\n";
    const double sending_s = 5 * 41.216e-3, listening_s = 100 * 0.1 + 5 * 0.5;
    double mean_mw =
        (800.0 * sending_s + 50.0 * listening_s + 0.2 * (1000.0 - sending_s - listening_s)) /
        1000.0;
    JudgeClaim claim = {.subject = "Energy of a radio that sleeps",
                        .quantity = "energy",
                        .unit = "mWh per day",
                        .expected = 24.0 * mean_mw,
                        .tolerance = 1e-9,
                        .source = "worked by hand: time sending, awake and asleep"};
    g_autoptr(SpateResult) result = judge_run(TEXT, 1);
    for (size_t i = 0; i < result->variants[0].n_rows; i++)
        if (result->variants[0].rows[i].measure == SPATE_MEASURE_RADIO_ENERGY)
            judge_value(&claim, result->variants[0].rows[i].mean);
}
END_TEST

CHECK_MAIN("theory of sleep", a_frame_is_received_if_a_window_falls_before_its_critical_part,
           energy_is_that_of_sending_listening_and_sleep)
