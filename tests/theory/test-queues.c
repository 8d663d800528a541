/* test-queues.c - one sender's queue against queueing theory
 *
 * A node sends to its neighbour as soon as its radio is free, so its queue is that of a server
 * whose service is the time on air: 10 bytes at SF7 in 125 kHz are 41.216 ms (AN1200.13).  Poisson
 * offers of several traffics of one source add up to Poisson offers.  Waits are latencies less the
 * frame's own time.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define SERVICE_S 0.041216

/* What happens less often is not seen often enough to be judged. */
#define SELDOM 1e-3

static SpateResult *
run_queue(const char *node_keys, const char *sections, const char *duration, uint32_t replications)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %s, warm-up: 5 min, cool-down: 2 min}\n"
        "bearers: {air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, "
        "spreading-factor: 7}}\n"
        "links: [{between: [a, b], loss: 80 dB}]\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}, queue: {frames: 10000%s}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "%s",
        duration, node_keys, sections);
    return judge_run(text, replications);
}

/* Deadlines of 0.5, 1, 2.5 and 5 service times of waiting, as the rows ask. */
static const double WAITS[] = {0.5, 1.0, 2.5, 5.0};
#define N_WAITS G_N_ELEMENTS(WAITS)

static SpateResult *
run_md1(double utilisation, const char *duration)
{
    g_autoptr(GString) traffic = g_string_new("traffic:\n");
    for (size_t i = 0; i < N_WAITS; i++)
        g_string_append_printf(traffic,
                               "  t%zu: {from: a, to: b, payload: 10 bytes, mean-interval: %.6f "
                               "s, deadline: %.0f us}\n",
                               i, N_WAITS * SERVICE_S / utilisation,
                               1e6 * SERVICE_S * (1.0 + WAITS[i]));
    return run_queue("", traffic->str, duration, 12);
}

static const SpateResultRow *
md1_row(const SpateResult *result, const char *measure, size_t traffic)
{
    g_autofree char *name = g_strdup_printf("t%zu", traffic);
    return judge_row(result, measure, name, NULL);
}

/* In service times, by replication. */
static void
judge_mean_wait(const JudgeClaim *claim, const SpateResult *result)
{
    g_autofree double *waits = g_new0(double, result->n_replications);
    for (uint32_t i = 0; i < result->n_replications; i++) {
        for (size_t k = 0; k < N_WAITS; k++)
            waits[i] += md1_row(result, "latency-mean", k)->values[i] / N_WAITS;
        waits[i] = waits[i] / SERVICE_S - 1.0;
    }
    judge_values(claim, waits, result->n_replications);
}

static void
judge_md1(const Reference *rows, guint i, const SpateResult *result)
{
    const char *quantity = reference_text(rows, i, "quantity");
    if (strcmp(quantity, "mean_wait") == 0) {
        double expected = reference_number(rows, i, "value");
        JudgeClaim claim = claim_of_row(rows, i, "M/D/1", "mean wait", 0.03 + 0.06 * expected);
        claim.unit = "service times";
        judge_mean_wait(&claim, result);
    } else if (strcmp(quantity, "probability_wait_at_most_t") == 0 &&
               reference_number(rows, i, "value") < 1.0 - SELDOM) {
        JudgeClaim claim = claim_of_row(rows, i, "M/D/1", "share that waits at most t", 0.02);
        for (size_t k = 0; k < N_WAITS; k++)
            if (fabs(reference_input(rows, i, "t") - WAITS[k]) < 1e-9)
                judge_mean(&claim, md1_row(result, "delivery-in-time", k));
    }
}

/* Rows of a utilisation come from one study. */
START_TEST(a_queue_waits_as_m_d_1)
{
    static const double UTILISATIONS[] = {0.1, 0.3, 0.5, 0.7, 0.8, 0.9};
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    for (size_t u = 0; u < G_N_ELEMENTS(UTILISATIONS); u++) {
        g_autoptr(SpateResult) result =
            run_md1(UTILISATIONS[u], UTILISATIONS[u] > 0.75 ? "2 h" : "30 min");
        uint32_t n_judged = 0;
        FOR_ROWS(rows, i, "md1")
        {
            if (fabs(reference_input(rows, i, "utilisation") - UTILISATIONS[u]) > 1e-9)
                continue;
            judge_md1(rows, i, result);
            n_judged++;
        }
        ck_assert_uint_ge(n_judged, 5);
    }
}
END_TEST

/* Pollaczek and Khinchine: lambda E[S^2] / (2 (1 - rho)).  10 bytes are 41.216 ms; 200 bytes are
 * 8 + 58 * 5 symbols and 12.25 of preamble, 317.696 ms. */
START_TEST(frames_of_two_sizes_wait_as_m_g_1)
{
    const double long_s = 0.317696, rate_each = 1.0;
    g_autofree char *traffic =
        g_strdup_printf("traffic:\n"
                        "  brief: {from: a, to: b, payload: 10 bytes, mean-interval: %.6f s}\n"
                        "  long: {from: a, to: b, payload: 200 bytes, mean-interval: %.6f s}\n",
                        1.0 / rate_each, 1.0 / rate_each);
    g_autoptr(SpateResult) result = run_queue("", traffic, "2 h", 12);
    double second_moment = SERVICE_S * SERVICE_S + long_s * long_s;
    double utilisation = rate_each * (SERVICE_S + long_s);
    JudgeClaim claim = {
        .subject = "M/G/1, frames of 41.216 and 317.696 ms, one of each a second",
        .quantity = "mean wait",
        .unit = "s",
        .expected = rate_each * second_moment / (2.0 * (1.0 - utilisation)),
        .tolerance = 0.004,
        .source = "Pollaczek-Khinchine; e.g. Kleinrock, Queueing Systems vol. 1, 1975, sec. 5.6: "
                  "from memory",
    };
    const SpateResultRow *row = judge_row(result, "latency-mean", "brief", NULL);
    g_autofree double *waits = g_new(double, row->n);
    for (uint32_t i = 0; i < row->n; i++)
        waits[i] = row->values[i] - SERVICE_S;
    judge_values(&claim, waits, row->n);
}
END_TEST

/* Rows 1 and 2: 0.2 and 0.4 erlang of equal frames; the rows' 200 ms scale to ours. */
START_TEST(two_classes_wait_as_cobham_says)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    g_autofree char *traffic = g_strdup_printf(
        "priority: [first, second]\n"
        "traffic:\n"
        "  c1: {class: first, from: a, to: b, payload: 10 bytes, mean-interval: %.6f s}\n"
        "  c2: {class: second, from: a, to: b, payload: 10 bytes, mean-interval: %.6f s}\n",
        SERVICE_S / 0.2, SERVICE_S / 0.4);
    g_autoptr(SpateResult) result = run_queue(", order: class", traffic, "2 h", 12);
    uint32_t n_judged = 0;
    FOR_ROWS(rows, i, "md1-priority")
    {
        g_autofree char *classes = reference_input_text(rows, i, "classes_high_first");
        if (strcmp(classes, "0.001/ms x 200 ms|0.002/ms x 200 ms") != 0)
            continue;
        int number = (int)reference_input(rows, i, "class");
        JudgeClaim claim =
            claim_of_row(rows, i, "M/D/1 with two classes, non-preemptive", "mean wait", 0.04);
        claim.unit = "service times";
        claim.expected /= 200.0;
        const SpateResultRow *row =
            judge_row(result, "latency-mean", number == 1 ? "c1" : "c2", NULL);
        g_autofree double *waits = g_new(double, row->n);
        for (uint32_t k = 0; k < row->n; k++)
            waits[k] = row->values[k] / SERVICE_S - 1.0;
        judge_values(&claim, waits, row->n);
        n_judged++;
    }
    ck_assert_uint_eq(n_judged, 2);
}
END_TEST

CHECK_MAIN("queues", a_queue_waits_as_m_d_1, frames_of_two_sizes_wait_as_m_g_1,
           two_classes_wait_as_cobham_says)
