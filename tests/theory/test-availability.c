/* test-availability.c - how much of the time a node with drawn outages is up
 *
 * A receiver next to a sender that sends short frames at random: a message is delivered if the
 * receiver is up.  Times up and down are exponential with the means U and D, the first time up
 * begins with the run, so it is up at t with probability  A + (1 - A) e^(-t (1/U + 1/D)),  A = U /
 * (U + D).
 */
#include "judge.h"

#include "support/check-main.h"
#include <math.h>

#define SOURCE                                                                                     \
    "R. E. Barlow & F. Proschan, Mathematical Theory of Reliability, 1965: availability of a "     \
    "system with exponential times to failure and to repair, U / (U + D), and from a new start "   \
    "A + (1 - A) e^(-t (1/U + 1/D)); from memory"

typedef struct {
    const char *between, *time;
    double up_s, down_s;
} Means;

static const Means MEANS[] = {
    {"mean-between: 10 min, mean-time: 10 min", "10 min, 10 min", 600, 600},
    {"mean-between: 30 min, mean-time: 2 min", "30 min, 2 min", 1800, 120},
    {"mean-between: 1 min, mean-time: 5 s", "1 min, 5 s", 60, 5},
    {"mean-between: 20 s, mean-time: 3 min", "20 s, 3 min", 20, 180},
};

/* Forty receivers, each with outages of its own; a frame lasts 41 ms. */
static SpateResult *
run(const Means *means, const char *times, uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {%s}\n"
        "bearers: {air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz,\n"
        "  spreading-factor: 7, propagation: {model: free-space}}}\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  leaf: {count: 40, at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "traffic: {beacon: {from: mast, to: leaf, payload: 10 bytes, mean-interval: 10 s}}\n"
        "outages: [{node: leaf, %s}]\n",
        times, means->between);
    return judge_run(text, replications);
}

START_TEST(in_the_long_run_availability_is_up_by_up_and_down)
{
    for (size_t i = 0; i < G_N_ELEMENTS(MEANS); i++) {
        const Means *means = &MEANS[i];
        /* After more than twenty times the pace at which the start is forgotten. */
        g_autoptr(SpateResult) result =
            run(means, "duration: 6 h, warm-up: 1 h, cool-down: 10 s", 20);
        g_autofree char *subject =
            g_strdup_printf("Availability with drawn outages (means up and down: %s)", means->time);
        const JudgeClaim claim = {.subject = subject,
                                  .quantity = "share delivered",
                                  .unit = "1",
                                  .expected = means->up_s / (means->up_s + means->down_s),
                                  .tolerance = 0.02,
                                  .source = SOURCE};
        judge_mean(&claim, judge_row(result, "delivery", "beacon", NULL));
    }
}
END_TEST

/* The mean of the formula over the time in which messages are offered. */
START_TEST(after_the_start_availability_falls_from_one)
{
    const Means *means = &MEANS[0];
    const double offered_s = 390.0, up = means->up_s / (means->up_s + means->down_s);
    const double pace = 1.0 / means->up_s + 1.0 / means->down_s;
    g_autoptr(SpateResult) result = run(means, "duration: 400 s, cool-down: 10 s", 100);
    const JudgeClaim claim = {
        .subject = "Availability with drawn outages (the first 390 s; means up and down: 10 min)",
        .quantity = "share delivered",
        .unit = "1",
        .expected = up + (1.0 - up) * (1.0 - exp(-pace * offered_s)) / (pace * offered_s),
        .tolerance = 0.03,
        .source = SOURCE};
    judge_mean(&claim, judge_row(result, "delivery", "beacon", NULL));
}
END_TEST

CHECK_MAIN("theory of availability", in_the_long_run_availability_is_up_by_up_and_down,
           after_the_start_availability_falls_from_one)
