/* test-sizes.c - frames of several lengths, in a queue and on the air
 *
 * dsss frames with a preamble of 8 us last 8 us for each byte and those: any ratio of lengths can
 * be had, and the rows' milliseconds stand for hundredths (their rates for a hundredfold).
 */
#include "rows.h"

#include "support/check-main.h"

/* Bytes of a frame that lasts so long, preamble and all. */
static int
bytes_of(double airtime_us)
{
    return (int)((airtime_us - 8.0) / 8.0 + 0.5);
}

#define BEARER                                                                                     \
    "bearers:\n"                                                                                   \
    "  air: {kind: dsss, frequency: 2437 MHz, rate: 1 Mbit/s, preamble: 8 us, overhead: 0 "        \
    "bytes,\n"                                                                                     \
    "    largest-frame: 4095 bytes, propagation: {model: free-space, extra-loss: 300 dB}}\n"

/* One sender with a queue for all it has; `traffic` and `priority` sections. */
static SpateResult *
run_queue(const char *order, const char *sections)
{
    g_autofree char *text =
        g_strdup_printf("spate: 1\n"
                        "run: {duration: 300 s, warm-up: 2 s, cool-down: 2 s}\n" BEARER
                        "links: [{between: [here, there], loss: 60 dB}]\n"
                        "nodes:\n"
                        "  here: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}},"
                        " queue: {frames: 100000, order: %s}}\n"
                        "  there: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
                        "%s",
                        order, sections);
    return judge_run(text, 12);
}

/* In the rows' milliseconds. */
static void
judge_wait(const JudgeClaim *claim, const SpateResult *result, const char *traffic,
           double airtime_ms)
{
    const SpateResultRow *row = judge_row(result, "latency-mean", traffic, NULL);
    g_autofree double *wait_ms = g_new(double, row->n);
    for (uint32_t r = 0; r < row->n; r++)
        wait_ms[r] = row->values[r] * 1e5 - airtime_ms;
    judge_values(claim, wait_ms, row->n);
}

START_TEST(frames_of_two_sizes_wait_as_pollaczek_and_khinchine_say)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "mg1-two-sizes")
    {
        double share[2], size_ms[2], rate_per_ms = reference_input(rows, i, "rate_per_ms");
        g_autofree char *mix = reference_input_text(rows, i, "mix");
        ck_assert_int_eq(
            sscanf(mix, "%lfx%lfms+%lfx%lfms", &share[0], &size_ms[0], &share[1], &size_ms[1]), 4);
        g_autoptr(GString) sections = g_string_new("traffic:\n");
        for (int k = 0; k < 2; k++)
            g_string_append_printf(
                sections,
                "  c%d: {from: here, to: there, payload: %d bytes, mean-interval: %.6f ms}\n",
                k + 1, bytes_of(size_ms[k] * 10.0), 0.01 / (rate_per_ms * share[k]));
        g_autoptr(SpateResult) result = run_queue("arrival", sections->str);
        JudgeClaim claim = claim_of_row(rows, i, "M/G/1, frames of two sizes", "mean wait",
                                        0.06 * reference_number(rows, i, "value"));
        claim.unit = "ms";
        judge_wait(&claim, result, "c1", size_ms[0]);
        n++;
    }
    ck_assert_int_eq(n, 2);
}
END_TEST

/* "0.001/ms x 200 ms|0.002/ms x 200 ms", the first goes first: traffic c1, c2, ... */
static SpateResult *
run_classes(char *const *classes)
{
    g_autoptr(GString) sections =
        g_string_new(classes[2] != NULL ? "priority: [k1, k2, k3]\n" : "priority: [k1, k2]\n");
    g_string_append(sections, "traffic:\n");
    for (int k = 0; classes[k] != NULL; k++) {
        double rate_per_ms, size_ms;
        ck_assert_int_eq(sscanf(classes[k], "%lf/ms x %lf ms", &rate_per_ms, &size_ms), 2);
        g_string_append_printf(sections,
                               "  c%d: {class: k%d, from: here, to: there, payload: %d bytes,"
                               " mean-interval: %.6f ms}\n",
                               k + 1, k + 1, bytes_of(size_ms * 10.0), 0.01 / rate_per_ms);
    }
    return run_queue("class", sections->str);
}

START_TEST(classes_wait_as_cobham_says)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    g_autoptr(SpateResult) result = NULL;
    int n = 0;
    FOR_ROWS(rows, i, "md1-priority")
    {
        g_autofree char *all = reference_input_text(rows, i, "classes_high_first");
        g_auto(GStrv) classes = g_strsplit(all, "|", -1);
        int own = (int)reference_input(rows, i, "class");
        double own_ms;
        ck_assert_int_eq(sscanf(classes[own - 1], "%*f/ms x %lf ms", &own_ms), 1);
        /* Rows of one mix follow each other, and come from one study. */
        if (own == 1) {
            g_clear_pointer(&result, spate_result_free);
            result = run_classes(classes);
        }
        JudgeClaim claim = claim_of_row(rows, i, "M/D/1 with classes, non-preemptive", "mean wait",
                                        0.06 * reference_number(rows, i, "value"));
        claim.unit = "ms";
        g_autofree char *traffic = g_strdup_printf("c%d", own);
        judge_wait(&claim, result, traffic, own_ms);
        n++;
    }
    ck_assert_int_eq(n, 5);
}
END_TEST

START_TEST(a_frame_is_vulnerable_for_both_lengths)
{
    /* Of the preamble half may be lost: 4 us. A crowd of 500 that hears the mast alone. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "aloha-unequal-frames")
    {
        const int n_others = 500;
        double own_us = 1000.0, other_us = own_us * reference_input(rows, i, "other_ms") /
                                           reference_input(rows, i, "own_ms");
        double load = reference_input(rows, i, "rate_per_ms") * reference_input(rows, i, "own_ms");
        g_autofree char *text = g_strdup_printf(
            "spate: 1\n"
            "run: {duration: 52 s, warm-up: 1 s, cool-down: 1 s}\n" BEARER
            "groups: {all: [own, others]}\n"
            "links: [{from: all, to: mast, loss: 60 dB}]\n"
            "nodes:\n"
            "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
            "  own: {at: {x: 0 m, y: 9 m}, radios: {air: {power: 10 dBm}}}\n"
            "  others: {count: %d, at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
            "traffic:\n"
            "  wanted: {from: own, to: mast, payload: %d bytes, every: 30 ms}\n"
            "  rest: {from: others, to: nobody, payload: %d bytes, mean-interval: %.6f us}\n",
            n_others, bytes_of(own_us), bytes_of(other_us), n_others * own_us / load);
        g_autoptr(SpateResult) result = judge_run(text, 12);
        JudgeClaim claim = claim_of_row(rows, i, "ALOHA, unequal frames", "share received", 0.025);
        judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
        n++;
    }
    ck_assert_int_eq(n, 3);
}
END_TEST

CHECK_MAIN("theory of sizes", frames_of_two_sizes_wait_as_pollaczek_and_khinchine_say,
           classes_wait_as_cobham_says, a_frame_is_vulnerable_for_both_lengths)
