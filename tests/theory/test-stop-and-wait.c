/* test-stop-and-wait.c - a source that tries again until it is answered, on a link of known loss
 *
 * Two nodes, nobody else, and Rayleigh fading drawn for each frame: a frame whose mean level lies M
 * above the sensitivity is lost with probability 1 - exp(-1 / M), whatever became of others.  Let p
 * be that of a try and q that of its acknowledgement.  A try is answered with probability
 * s = (1 - p) (1 - q), so the tries of a message are geometric, cut off at n:
 *
 *     tries         (1 - r^n) / (1 - r),  r = 1 - s
 *     acknowledged  1 - r^n
 *     delivered     1 - p^n        (what is not delivered was never answered: n tries were lost)
 *     frames        tries (2 - p)  (an acknowledgement follows each try that arrives)
 *     latency       T + (T + W) (p / (1 - p) - n p^n / (1 - p^n))
 *
 * T is the time on air of a try and W the wait; the bracket is the mean number of tries lost before
 * the first that arrives, of messages that do arrive.
 */
#include "judge.h"

#include "support/check-main.h"
#include <math.h>

#define N_MESSAGES     1500
#define N_REPLICATIONS 20
#define WITHIN_S       1.0
/* 10 bytes at SF 7 in 125 kHz, tests/reference/lora-airtime.csv. */
#define AIRTIME_S 0.041216

#define RAYLEIGH "p = 1 - exp(-1/M) of each frame (Rayleigh)"
#define ARQ                                                                                        \
    "the geometric law of stop-and-wait, cut off at n tries; Bertsekas and Gallager, Data "        \
    "Networks, 2nd edition, 2.4.1, from memory; " RAYLEIGH

typedef struct {
    double there_db, back_db; /* margins of the link, each way */
    int tries;
} Case;

static const Case CASES[] = {
    {0.0, 0.0, 1}, {0.0, 0.0, 2},  {0.0, 0.0, 3},   {0.0, 0.0, 5},
    {6.0, 6.0, 3}, {3.0, -3.0, 4}, {-3.0, 10.0, 4},
};

static double
loss_share(double margin_db)
{
    return 1.0 - exp(-pow(10.0, -margin_db / 10.0));
}

static SpateResult *
run_case(const Case *of)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %d s, cool-down: 10 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    sensitivity: -100 dBm, fading: rayleigh}\n"
        "links: [{from: a, to: b, loss: %.9f dB}, {from: b, to: a, loss: %.9f dB}]\n"
        "flooding: {jitter: {at-most: 0 airtimes}}\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "traffic:\n"
        "  talk: {from: a, to: b, payload: 10 bytes, every: 10 s, phase: together,\n"
        "    acknowledge: {within: %g s, tries: %d, payload: 10 bytes}}\n",
        10 * N_MESSAGES + 10, 100.0 - of->there_db, 100.0 - of->back_db, WITHIN_S, of->tries);
    return judge_run(text, N_REPLICATIONS);
}

static void
judge_measure(const JudgeClaim *claim, const SpateResult *result, const char *measure)
{
    judge_mean(claim, judge_row(result, measure, "talk", NULL));
}

static void
judge_frames_of_message(const JudgeClaim *claim, const SpateResult *result)
{
    const SpateResultRow *frames = judge_row(result, "transmissions", "talk", NULL);
    const SpateResultRow *messages = judge_row(result, "messages", "talk", NULL);
    double each[N_REPLICATIONS];
    for (uint32_t r = 0; r < N_REPLICATIONS; r++)
        each[r] = frames->values[r] / messages->values[r];
    judge_values(claim, each, N_REPLICATIONS);
}

/* What a message and its tries come to. */
static void
judge_case(const Case *of)
{
    double p = loss_share(of->there_db), q = loss_share(of->back_db), n = of->tries;
    double r = 1.0 - (1.0 - p) * (1.0 - q);
    double tries = (1.0 - pow(r, n)) / (1.0 - r);
    double lost_before = p / (1.0 - p) - n * pow(p, n) / (1.0 - pow(p, n));
    g_autofree char *subject =
        g_strdup_printf("stop and wait on a fading link (tries=%d;margin_db=%g;margin_back_db=%g)",
                        of->tries, of->there_db, of->back_db);
    JudgeClaim claim = {.subject = subject, .unit = "1", .source = ARQ};
    g_autoptr(SpateResult) result = run_case(of);

    claim.quantity = "tries of a message";
    claim.expected = tries;
    claim.tolerance = 0.05;
    judge_measure(&claim, result, "tries-mean");

    claim.quantity = "frames of a message";
    claim.expected = tries * (2.0 - p);
    judge_frames_of_message(&claim, result);

    claim.quantity = "share acknowledged";
    claim.expected = 1.0 - pow(r, n);
    claim.tolerance = 0.015;
    judge_measure(&claim, result, "acknowledged");

    claim.quantity = "share delivered";
    claim.expected = 1.0 - pow(p, n);
    judge_measure(&claim, result, "delivery");

    claim.quantity = "mean latency";
    claim.unit = "s";
    claim.expected = AIRTIME_S + (AIRTIME_S + WITHIN_S) * lost_before;
    claim.tolerance = 0.05;
    judge_measure(&claim, result, "latency-mean");
}

START_TEST(tries_are_geometric_and_cut_off)
{
    for (size_t i = 0; i < G_N_ELEMENTS(CASES); i++)
        judge_case(&CASES[i]);
}
END_TEST

CHECK_MAIN("theory of stop and wait", tries_are_geometric_and_cut_off)
