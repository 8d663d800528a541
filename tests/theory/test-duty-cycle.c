/* test-duty-cycle.c - a sender that always has something to say, against the hour's limit
 *
 * ETSI EN 300 220-1, definition of duty cycle over one hour (from memory): floor(3600 s d / T)
 * frames.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

#define N_HOURS 3
#define SPAN_S  (3600.0 * N_HOURS - 10.0)

typedef struct {
    double airtime_us;
    int spreading_factor, bytes;
} Frame;

/* What lasts as long as a row says, tests/reference/lora-airtime.csv. */
static const Frame FRAMES[] = {
    {164864, 9, 13}, {577536, 11, 10}, {41216, 7, 10}, {1974272, 12, 37}, {1318912, 12, 20},
};

static const Frame *
frame_of(double airtime_us)
{
    for (size_t i = 0; i < G_N_ELEMENTS(FRAMES); i++)
        if (fabs(FRAMES[i].airtime_us - airtime_us) < 0.5)
            return &FRAMES[i];
    ck_abort_msg("no frame of %g us", airtime_us);
}

/* Always something to send, for a little less than three hours. */
static SpateResult *
run_sender(const Frame *frame, double duty)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %.0f s, cool-down: 0 s}\n"
        "bearers: {air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, "
        "spreading-factor: %d, duty-cycle: %.3f}}\n"
        "links: [{between: [a, b], loss: 80 dB}]\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}, queue: {frames: 10000}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic: {talk: {from: a, to: b, payload: %d bytes, every: 1 s, phase: together}}\n",
        SPAN_S, frame->spreading_factor, duty, frame->bytes);
    return judge_run(text, 1);
}

static double
value_of(const SpateResult *result, const char *measure)
{
    return judge_row(result, measure, NULL, "air")->values[0];
}

/* A burst of n frames, and the next one when so much of the first has left the hour as does not fit
 * beside the others: at 3600 s - r, with r = 3600 s d - n T.  So three hours less 10 s hold three
 * bursts, and from the second on some hour is full to the nanosecond. */
static void
judge_frames(const Reference *rows, guint i, const SpateResult *result, double duty)
{
    JudgeClaim claim = claim_of_row(rows, i, "duty cycle", "frames in an hour", 0.0);
    claim.unit = "frames";
    judge_value(&claim, value_of(result, "transmissions") / N_HOURS);
    claim.quantity = "largest share of an hour";
    claim.unit = "1";
    claim.expected = duty;
    judge_value(&claim, value_of(result, "duty-max"));
}

/* Even spacing is a mean: bursts are allowed, and what is left of the hour's share beside whole
 * frames is lost, less than one frame in an hour. */
static void
judge_pause(const Reference *rows, guint i, const SpateResult *result, double airtime_us)
{
    double sent = value_of(result, "transmissions");
    double each_us = SPAN_S * 1e6 / sent;
    JudgeClaim claim =
        claim_of_row(rows, i, "duty cycle", "mean pause after a frame", each_us / (sent / N_HOURS));
    claim.unit = "us";
    judge_value(&claim, each_us - airtime_us);
}

START_TEST(an_hour_holds_as_many_frames_as_its_limit)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "duty-cycle")
    {
        double airtime_us = reference_input(rows, i, "airtime_us");
        double duty = reference_input(rows, i, "duty");
        g_autoptr(SpateResult) result = run_sender(frame_of(airtime_us), duty);
        if (strcmp(reference_text(rows, i, "quantity"), "frames_per_hour") == 0)
            judge_frames(rows, i, result, duty);
        else
            judge_pause(rows, i, result, airtime_us);
        n++;
    }
    ck_assert_int_eq(n, 10);
}
END_TEST

CHECK_MAIN("theory of the duty cycle", an_hour_holds_as_many_frames_as_its_limit)
