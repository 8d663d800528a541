/* test-token-bucket.c - `limit` at a bridge is a token bucket
 *
 * RFC 2697's committed bucket, in messages: full at the start, filled at the rate, one token for
 * each that passes; what finds no token does not pass.
 */
#include "judge.h"

#include "support/check-main.h"

static SpateResult *
run_limited(const char *limit, const char *times, uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 2 h, cool-down: 10 s}\n"
        "bearers:\n"
        "  yard: {kind: dsss, frequency: 2437 MHz}\n"
        "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7}\n"
        "links: [{between: [soil, gate], loss: 60 dB}, {between: [gate, hut], loss: 80 dB}]\n"
        "flooding: {jitter: {at-most: 0 airtimes}}\n"
        "nodes:\n"
        "  soil: {at: {x: 0 m, y: 0 m}, radios: {yard: {power: 14 dBm}}}\n"
        "  gate: {at: {x: 9 m, y: 0 m}, radios: {yard: {power: 14 dBm}, valley: {power: 14 dBm}}}\n"
        "  hut: {at: {x: 500 m, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
        "bridges: {gate: {up: {from: yard, to: valley, rules: [{do: {limit: {%s}}}]}}}\n"
        "traffic: {readings: {from: soil, to: hut, payload: 10 bytes, %s}}\n",
        limit, times);
    return judge_run(text, replications);
}

/* One token a minute, three at most.  Offers every 10 s find 3, 2.17, 1.33, then 0.5, 0.67, 0.83,
 * and the whole one again at 60 s; from then on one in six passes.  Of the 720 offers of two
 * hours less 10 s (at 0, 10, ... 7180 s: 719), those at 0, 10, 20 s and at 60, 120, ... 7140 s
 * pass. */
START_TEST(a_bucket_lets_through_what_was_worked_out_by_hand)
{
    g_autoptr(SpateResult) result =
        run_limited("rate: 1 per min, burst: 3", "every: 10 s, phase: together", 1);
    JudgeClaim claim = {
        .subject = "token bucket, 1 a minute, burst 3, offers every 10 s for 2 h",
        .quantity = "messages that pass",
        .unit = "1",
        .expected = 3 + 119,
        .source = "RFC 2697, section 3, in messages: worked by hand",
    };
    double offered = judge_row(result, "messages", "readings", NULL)->values[0];
    ck_assert(offered == 719.0);
    judge_value(&claim, offered * judge_row(result, "delivery", "readings", NULL)->values[0]);
}
END_TEST

/* Far more is offered than may pass: what passes is the burst, and what flows in. */
START_TEST(in_the_long_run_a_bucket_passes_its_rate)
{
    g_autoptr(SpateResult) result =
        run_limited("rate: 30 per hour, burst: 5", "mean-interval: 2 s", 8);
    const SpateResultRow *offered = judge_row(result, "messages", "readings", NULL);
    const SpateResultRow *share = judge_row(result, "delivery", "readings", NULL);
    double passed[8];
    for (uint32_t i = 0; i < 8; i++)
        passed[i] = offered->values[i] * share->values[i];
    double mean = 0.0;
    for (uint32_t i = 0; i < 8; i++)
        mean += passed[i] / 8;
    JudgeClaim claim = {
        .subject = "token bucket, 30 an hour, burst 5, Poisson offers every 2 s for 2 h",
        .quantity = "messages that pass",
        .unit = "1",
        .expected = 5 + 60,
        .tolerance = 1.0, /* the last token may lie in the bucket */
        .source = "RFC 2697, section 3, in messages: burst + rate x time",
    };
    judge_value(&claim, mean);
}
END_TEST

CHECK_MAIN("token-bucket", a_bucket_lets_through_what_was_worked_out_by_hand,
           in_the_long_run_a_bucket_passes_its_rate)
