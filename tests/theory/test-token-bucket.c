/* test-token-bucket.c - `limit` at a bridge is a token bucket
 *
 * RFC 2697's committed bucket, in messages: full at the start, filled at the rate, one token for
 * each that passes; what finds no token does not pass.
 */
#include "judge.h"

#include "support/check-main.h"
#include <math.h>

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

/* A token every ten seconds, three at most: times of offers, and what the bucket holds then. */
typedef struct {
    int at_s;
    bool passes;
} Offer;

static const Offer BY_HAND[] = {
    {0, true},    /* 3 */
    {1, true},    /* 2.1 */
    {2, true},    /* 1.2 */
    {3, false},   /* 0.3 */
    {9, false},   /* 0.9: what is refused takes nothing */
    {10, true},   /* 1, just */
    {19, false},  /* 0.9 */
    {21, true},   /* 1.1 */
    {100, true},  /* 8, but three is all it holds */
    {101, true},  /* 2.1 */
    {102, true},  /* 1.2 */
    {103, false}, /* 0.3 */
};

START_TEST(a_bucket_fills_steadily_and_holds_its_burst_at_most)
{
    int n_expected = 0, n_passed = 0;
    for (size_t i = 0; i < G_N_ELEMENTS(BY_HAND); i++)
        n_expected += BY_HAND[i].passes;
    /* Each run offers one more than the one before: what passes in addition is that one. */
    g_autoptr(GString) times = g_string_new("at: [");
    for (size_t i = 0; i < G_N_ELEMENTS(BY_HAND); i++) {
        g_string_append_printf(times, "%s%d s", i == 0 ? "" : ", ", BY_HAND[i].at_s);
        g_autofree char *all = g_strconcat(times->str, "]", NULL);
        g_autoptr(SpateResult) result = run_limited("rate: 6 per min, burst: 3", all, 1);
        int held = (int)judge_row(result, "held-back", "readings", NULL)->values[0];
        int passed = (int)(i + 1) - held;
        ck_assert_msg(passed == n_passed + BY_HAND[i].passes, "the offer at %d s", BY_HAND[i].at_s);
        n_passed = passed;
    }
    JudgeClaim claim = {
        .subject = "token bucket, 6 a minute, burst 3, twelve offers at chosen times",
        .quantity = "messages that pass",
        .unit = "1",
        .expected = n_expected,
        .source = "RFC 2697, section 3, in messages: worked by hand, offer by offer",
    };
    judge_value(&claim, n_passed);
}
END_TEST

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

/* What the bucket lacks is work that waits for a server: a token takes 1 / rate to serve, and an
 * offer passes if fewer than `burst` are unserved.  So it is M/D/1/burst. */
static void
judge_refusals(const char *limit, double offers_per_token, double expected, const char *source)
{
    const double token_s = 4.0;
    g_autofree char *times = g_strdup_printf("mean-interval: %.6f s", token_s / offers_per_token);
    g_autofree char *keys = g_strdup_printf("rate: 15 per min, %s", limit);
    g_autoptr(SpateResult) result = run_limited(keys, times, 20);
    g_autofree char *subject =
        g_strdup_printf("token bucket, Poisson offers, %s, %.0f a token", limit, offers_per_token);
    JudgeClaim claim = {.subject = subject,
                        .quantity = "share that passes",
                        .unit = "1",
                        .expected = expected,
                        .tolerance = 0.02,
                        .source = source};
    judge_mean(&claim, judge_row(result, "delivery", "readings", NULL));
}

START_TEST(a_bucket_refuses_at_random_what_a_full_server_does)
{
    static const char ONE[] = "one server without a queue (A. K. Erlang, 1917, from memory; any "
                              "service): 1 / (1 + a)";
    static const char TWO[] = "M/D/1/2: 1 / (e^-a + a), by the chain at departures: derived here";
    judge_refusals("burst: 1", 1.0, 1.0 / 2.0, ONE);
    judge_refusals("burst: 1", 4.0, 1.0 / 5.0, ONE);
    judge_refusals("burst: 2", 1.0, 1.0 / (exp(-1.0) + 1.0), TWO);
    judge_refusals("burst: 2", 2.0, 1.0 / (exp(-2.0) + 2.0), TWO);
}
END_TEST

CHECK_MAIN("theory of token buckets", a_bucket_fills_steadily_and_holds_its_burst_at_most,
           a_bucket_lets_through_what_was_worked_out_by_hand,
           in_the_long_run_a_bucket_passes_its_rate,
           a_bucket_refuses_at_random_what_a_full_server_does)
