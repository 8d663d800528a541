/* test-queues.c - one sender's queue against queueing theory
 *
 * A node sends to its neighbour as soon as its radio is free, so its queue is that of a server
 * whose service is the time on air.  At 2 Mbit/s a byte takes 4 us, and so does the preamble here:
 * a payload of n bytes is served in 4 (n + 1) us.  Poisson offers of several traffics of one source
 * add up to Poisson offers.  Waits are latencies less the frame's own time; nothing is offered in
 * the cool-down, and all that was offered arrives in it.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define WARM_UP_S   4.0
#define COOL_DOWN_S 1.0

/* What happens less often is not seen often enough to have an interval. */
#define SELDOM 1e-3

/* A traffic of the queue. */
typedef struct {
    double rate_per_ms, service_ms;
    double deadline_ms; /* 0: none */
} Stream;

#define MOST_STREAMS 4

typedef struct {
    Stream streams[MOST_STREAMS];
    size_t n_streams;
    int most_frames; /* that wait */
    double span_s;   /* in which offers count */
} Queue;

static void
append_stream(GString *text, const Stream *stream, size_t number)
{
    g_string_append_printf(text,
                           "  t%zu: {from: a, to: b, payload: %.0f bytes, "
                           "mean-interval: %.0f ns",
                           number, 250.0 * stream->service_ms - 1.0, 1e6 / stream->rate_per_ms);
    if (stream->deadline_ms > 0.0)
        g_string_append_printf(text, ", deadline: %.0f ns", 1e6 * stream->deadline_ms);
    g_string_append(text, "}\n");
}

static SpateResult *
run_queue(const Queue *queue)
{
    g_autoptr(GString) text = g_string_new(NULL);
    g_string_printf(
        text,
        "spate: 1\n"
        "run: {duration: %.0f s, warm-up: %.0f s, cool-down: %.0f s}\n"
        "bearers: {air: {kind: dsss, frequency: 2437 MHz, rate: 2 Mbit/s, preamble: 4 us,\n"
        "    overhead: 0 bytes, largest-frame: 4095 bytes}}\n"
        "links: [{between: [a, b], loss: 60 dB}]\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}, queue: {frames: %d}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic:\n",
        WARM_UP_S + queue->span_s + COOL_DOWN_S, WARM_UP_S, COOL_DOWN_S, queue->most_frames);
    for (size_t i = 0; i < queue->n_streams; i++)
        append_stream(text, &queue->streams[i], i);
    return judge_run(text->str, 20);
}

static const SpateResultRow *
row_of(const SpateResult *result, const char *measure, size_t stream)
{
    g_autofree char *name = g_strdup_printf("t%zu", stream);
    return judge_row(result, measure, name, NULL);
}

/* The mean wait of all messages; free with g_free(). */
static double *
mean_waits_ms(const SpateResult *result, const Queue *queue)
{
    double *waits = g_new0(double, result->n_replications);
    for (uint32_t r = 0; r < result->n_replications; r++) {
        double n_messages = 0.0;
        for (size_t i = 0; i < queue->n_streams; i++) {
            double n = row_of(result, "messages", i)->values[r];
            ck_assert_double_eq(row_of(result, "delivery", i)->values[r], 1.0);
            waits[r] += n * (1e3 * row_of(result, "latency-mean", i)->values[r] -
                             queue->streams[i].service_ms);
            n_messages += n;
        }
        waits[r] /= n_messages;
    }
    return waits;
}

/* ---- M/D/1 ----------------------------------------------------------------------------------- */

/* In service times, as the rows ask. */
static const double WAITS[] = {0.5, 1.0, 2.5, 5.0};

/* Services of 1 ms; a deadline for each of the waits. */
static Queue
md1_queue(double utilisation)
{
    Queue queue = {.n_streams = G_N_ELEMENTS(WAITS),
                   .most_frames = 100000,
                   .span_s = utilisation < 0.75 ? 10.0 : 50.0};
    for (size_t i = 0; i < queue.n_streams; i++)
        queue.streams[i] = (Stream){utilisation / (double)queue.n_streams, 1.0, 1.0 + WAITS[i]};
    return queue;
}

static void
judge_in_system(JudgeClaim *claim, const SpateResult *result, const Queue *queue)
{
    /* Little: what all messages spend in the system, over the time in which they came. */
    g_autofree double *waits = mean_waits_ms(result, queue);
    for (uint32_t r = 0; r < result->n_replications; r++) {
        double n = 0.0;
        for (size_t i = 0; i < queue->n_streams; i++)
            n += row_of(result, "messages", i)->values[r];
        waits[r] = (waits[r] + 1.0) * n / (1e3 * queue->span_s);
    }
    judge_values(claim, waits, result->n_replications);
}

static void
judge_wait_at_most(JudgeClaim *claim, const SpateResult *result, double t)
{
    size_t i = 0;
    while (fabs(WAITS[i] - t) > 1e-9)
        i++;
    const SpateResultRow *row = row_of(result, "delivery-in-time", i);
    if (claim->expected < 1.0 - SELDOM) {
        judge_mean(claim, row);
    } else {
        claim->tolerance = SELDOM / 2.0;
        judge_value(claim, row->mean);
    }
}

static void
judge_md1(const Reference *rows, guint i, const SpateResult *result, const Queue *queue)
{
    const char *quantity = reference_text(rows, i, "quantity");
    double most = 0.004 + 0.2 * reference_number(rows, i, "value");
    if (strcmp(quantity, "mean_wait") == 0) {
        JudgeClaim claim = claim_of_row(rows, i, "M/D/1", "mean wait", most);
        claim.unit = "service times";
        g_autofree double *waits = mean_waits_ms(result, queue);
        judge_values(&claim, waits, result->n_replications);
    } else if (strcmp(quantity, "mean_in_system") == 0) {
        JudgeClaim claim = claim_of_row(rows, i, "M/D/1", "mean number in the system", most);
        judge_in_system(&claim, result, queue);
    } else {
        ck_assert_str_eq(quantity, "probability_wait_at_most_t");
        JudgeClaim claim = claim_of_row(rows, i, "M/D/1", "share that waits at most t", 0.03);
        judge_wait_at_most(&claim, result, reference_input(rows, i, "t"));
    }
}

START_TEST(a_queue_waits_as_m_d_1)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    g_autoptr(SpateResult) result = NULL;
    Queue queue = {0};
    double utilisation = 0.0;
    int n = 0;
    FOR_ROWS(rows, i, "md1")
    {
        /* Rows of one utilisation stand together. */
        if (reference_input(rows, i, "utilisation") != utilisation) {
            utilisation = reference_input(rows, i, "utilisation");
            queue = md1_queue(utilisation);
            g_clear_pointer(&result, spate_result_free);
            result = run_queue(&queue);
        }
        judge_md1(rows, i, result, &queue);
        n++;
    }
    ck_assert_int_eq(n, 48);
}
END_TEST

/* ---- M/G/1 ----------------------------------------------------------------------------------- */

/* The mean wait depends on two moments of the service only (Pollaczek and Khinchine).  The nodes of
 * Gauss and Laguerre, 2 -+ sqrt 2 with weights (2 +- sqrt 2) / 4, have the first three of an
 * exponential one. */
START_TEST(sizes_with_the_moments_of_exponential_ones_wait_as_m_m_1)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    const double mean_ms = 2.0;
    int n = 0;
    FOR_ROWS(rows, i, "mm1")
    {
        double utilisation = reference_input(rows, i, "utilisation");
        Queue queue = {
            .n_streams = 2, .most_frames = 100000, .span_s = utilisation < 0.75 ? 15.0 : 60.0};
        for (size_t k = 0; k < 2; k++) {
            double root = k == 0 ? -M_SQRT2 : M_SQRT2;
            queue.streams[k] =
                (Stream){utilisation / mean_ms * (2.0 - root) / 4.0, (2.0 + root) * mean_ms, 0.0};
        }
        g_autoptr(SpateResult) result = run_queue(&queue);
        JudgeClaim claim = claim_of_row(
            rows, i, "M/G/1, two sizes with the first three moments of exponential service",
            "mean wait", 0.005 + 0.3 * reference_number(rows, i, "value"));
        claim.unit = "service times";
        g_autofree double *waits = mean_waits_ms(result, &queue);
        for (uint32_t r = 0; r < result->n_replications; r++)
            waits[r] /= mean_ms;
        judge_values(&claim, waits, result->n_replications);
        n++;
    }
    ck_assert_int_eq(n, 8);
}
END_TEST

/* ---- a queue that is full -------------------------------------------------------------------- */

/* One on the air and one that waits: just after a service there is nobody with probability
 * e^-rho (no arrival in it), else one; so a share 1 - 1 / (e^-rho + rho) is turned away. */
START_TEST(a_queue_of_one_turns_away_as_m_d_1_2)
{
    static const double UTILISATIONS[] = {0.5, 1.0, 2.0};
    for (size_t i = 0; i < G_N_ELEMENTS(UTILISATIONS); i++) {
        double utilisation = UTILISATIONS[i];
        Queue queue = {
            .streams = {{utilisation, 1.0, 0.0}}, .n_streams = 1, .most_frames = 1, .span_s = 10.0};
        g_autoptr(SpateResult) result = run_queue(&queue);
        g_autofree char *subject = g_strdup_printf("M/D/1/2 (utilisation=%.1f)", utilisation);
        JudgeClaim claim = {.subject = subject,
                            .quantity = "share delivered",
                            .unit = "1",
                            .expected = 1.0 / (exp(-utilisation) + utilisation),
                            .tolerance = 0.01,
                            .source = "M/G/1/K by its chain at departures, e.g. Gross and Harris, "
                                      "Fundamentals of Queueing Theory: from memory; 1 / (e^-rho + "
                                      "rho) derived here"};
        judge_mean(&claim, row_of(result, "delivery", 0));
    }
}
END_TEST

CHECK_MAIN("theory of queues", a_queue_waits_as_m_d_1,
           sizes_with_the_moments_of_exponential_ones_wait_as_m_m_1,
           a_queue_of_one_turns_away_as_m_d_1_2)
