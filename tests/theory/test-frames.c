/* test-frames.c - how long a frame takes, and keeps a receiver busy
 *
 * A source alone on the channel: latency is time on air, and with csma the wait before it.
 */
#include "rows.h"

#include "support/check-main.h"

/* One neighbour, 1000 messages of `payload` bytes; `keys` of the bearer. */
static SpateResult *
run_pair(const char *keys, int payload)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 10060 s}\n"
        "bearers: {air: {%s}}\n"
        "links: [{between: [here, there], loss: 60 dB}]\n"
        "nodes:\n"
        "  here: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  there: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "traffic: {news: {from: here, to: there, payload: %d bytes, every: 10 s}}\n",
        keys, payload);
    return judge_run(text, 10);
}

static void
judge_latency(const JudgeClaim *claim, const char *keys, int payload)
{
    g_autoptr(SpateResult) result = run_pair(keys, payload);
    judge_value(claim, judge_row(result, "latency-mean", "news", NULL)->mean * 1e6);
}

/* As claim_of_row(), of files whose rows have no inputs. */
static JudgeClaim
claim_of_time(const Reference *rows, guint i, const char *subject, const char *column)
{
    return (JudgeClaim){.subject = g_intern_string(subject),
                        .quantity = "latency over one hop",
                        .unit = "us",
                        .expected = reference_number(rows, i, column),
                        .tolerance = 1e-3,
                        .source = g_intern_string(reference_text(rows, i, "source"))};
}

START_TEST(a_lora_frame_takes_the_published_time)
{
    g_autoptr(Reference) rows = reference_read("lora-airtime.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *case_text = reference_text(rows, i, "case");
        if (!g_str_has_prefix(case_text, "published"))
            continue;
        bool is_on = reference_number(rows, i, "low_data_rate_optimise") == 1.0;
        g_autofree char *keys = g_strdup_printf(
            "kind: lora, frequency: 869.5 MHz, bandwidth: %s Hz, spreading-factor: %s,"
            " coding-rate: 4/%s, preamble: %s symbols, header: %s, crc: %s,"
            " low-data-rate-optimise: %s",
            reference_text(rows, i, "bw_hz"), reference_text(rows, i, "sf"),
            reference_text(rows, i, "cr_denominator"), reference_text(rows, i, "preamble_symbols"),
            reference_number(rows, i, "explicit_header") == 1.0 ? "explicit" : "implicit",
            reference_number(rows, i, "crc") == 1.0 ? "on" : "off", is_on ? "on" : "off");
        int payload = (int)reference_number(rows, i, "payload_bytes");
        g_autofree char *subject = g_strdup_printf("LoRa frame at SF %s, %d bytes",
                                                   reference_text(rows, i, "sf"), payload);
        JudgeClaim claim = claim_of_time(rows, i, subject, "airtime_us");
        claim.source = "Semtech AN1200.13 (LoRa Modem Designer's Guide) and SX1276 data sheet, "
                       "4.1.1.7; published examples";
        judge_latency(&claim, keys, payload);
        n++;
    }
    ck_assert_int_eq(n, 14);
}
END_TEST

START_TEST(a_dsss_frame_takes_the_time_of_the_standard)
{
    g_autoptr(Reference) rows = reference_read("ieee80211-dsss.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *condition = reference_text(rows, i, "condition");
        int rate, body;
        if (sscanf(condition, "%d Mbit/s, long preamble, body %d bytes", &rate, &body) != 2 ||
            body == 0)
            continue;
        g_autofree char *keys =
            g_strdup_printf("kind: dsss, frequency: 2437 MHz, rate: %d Mbit/s", rate);
        g_autofree char *subject = g_strdup_printf("dsss frame, %s", condition);
        JudgeClaim claim = claim_of_time(rows, i, subject, "value");
        judge_latency(&claim, keys, body);
        n++;
    }
    ck_assert_int_eq(n, 10);
}
END_TEST

START_TEST(csma_on_an_idle_channel_waits_difs_and_half_of_its_window)
{
    g_autoptr(Reference) rows = reference_read("ieee80211-dsss.csv");
    double expected_us = 0.0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *quantity = reference_text(rows, i, "quantity");
        if (strcmp(quantity, "mean_backoff") == 0 || strcmp(quantity, "difs") == 0 ||
            strcmp(reference_text(rows, i, "condition"),
                   "1 Mbit/s, long preamble, body 100 bytes") == 0)
            expected_us += reference_number(rows, i, "value");
    }
    JudgeClaim claim = {.subject = "csma on an idle channel, dsss at 1 Mbit/s, 100 bytes",
                        .quantity = "mean latency over one hop",
                        .unit = "us",
                        .expected = expected_us,
                        .tolerance = 10.0,
                        .source = "IEEE Std 802.11-2020, clauses 10 and 15: DIFS 50 us, mean of 0 "
                                  "to 31 slots of 20 us, 1336 us on the air"};
    g_autoptr(SpateResult) result =
        run_pair("kind: dsss, frequency: 2437 MHz, rate: 1 Mbit/s, access: {method: csma}", 100);
    const SpateResultRow *row = judge_row(result, "latency-mean", "news", NULL);
    g_autofree double *latency_us = g_new(double, row->n);
    for (uint32_t r = 0; r < row->n; r++)
        latency_us[r] = row->values[r] * 1e6;
    judge_values(&claim, latency_us, row->n);
}
END_TEST

START_TEST(a_receiver_is_a_single_server_without_a_queue)
{
    /* Frames of a crowd that hears the mast alone do each other no harm (60 dB of protection to
     * spare); whoever comes while the mast is locked is lost.  The whole preamble is needed, so
     * that no late start can be caught; that a frame takes the lock over within the first 10.25 of
     * its 378.25 symbols lengthens the mean lock by 0.04 %. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    guint i = next_row(rows, 0, "erlang-b");
    ck_assert_uint_lt(i, rows->rows->len);
    ck_assert_double_eq(reference_input(rows, i, "servers"), 1.0);
    const double airtime_s = 378.25 * 1.024e-3;
    const int n_senders = 1000;
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 1001 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    preamble: 6 symbols, lock: 6 symbols, protection: {same: -60 dB},\n"
        "    propagation: {model: free-space, extra-loss: 300 dB}}\n"
        "links: [{from: crowd, to: mast, loss: 60 dB}]\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "  crowd: {count: %d, at: {x: 9 m, y: 0 m}, radios: {air: {power: 10 dBm}}}\n"
        "traffic: {news: {from: crowd, to: mast, payload: 250 bytes, mean-interval: %.6f s}}\n",
        n_senders, n_senders * airtime_s / reference_input(rows, i, "offered_erlang"));
    g_autoptr(SpateResult) result = judge_run(text, 20);
    const SpateResultRow *row = judge_row(result, "received", NULL, "air");
    g_autofree double *lost = g_new(double, row->n);
    for (uint32_t r = 0; r < row->n; r++)
        lost[r] = 1.0 - row->values[r];
    JudgeClaim claim = claim_of_row(rows, i, "frames at a busy receiver", "share lost", 0.02);
    judge_values(&claim, lost, row->n);
}
END_TEST

CHECK_MAIN("theory of frames", a_lora_frame_takes_the_published_time,
           a_dsss_frame_takes_the_time_of_the_standard,
           csma_on_an_idle_channel_waits_difs_and_half_of_its_window,
           a_receiver_is_a_single_server_without_a_queue)
