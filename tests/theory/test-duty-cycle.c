/* test-duty-cycle.c - a sender that always has something to say, against the hour's limit
 *
 * ETSI EN 300 220-1, definition of duty cycle over one hour (from memory): floor(3600 s d / T)
 * frames.  Rows `duty-cycle`, `frames_per_hour`; `pause_after_frame` is of senders that space their
 * frames evenly, which these do not.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

typedef struct {
    double airtime_us;
    int spreading_factor, bytes;
    const char *keys;
} Frame;

/* What lasts as long as a row says, tests/reference/lora-airtime.csv. */
static const Frame FRAMES[] = {
    {164864, 9, 13, ""},   {577536, 11, 10, ""},  {41216, 7, 10, ""},
    {1974272, 12, 37, ""}, {1318912, 12, 20, ""},
};

static const Frame *
frame_of(double airtime_us)
{
    for (size_t i = 0; i < G_N_ELEMENTS(FRAMES); i++)
        if (fabs(FRAMES[i].airtime_us - airtime_us) < 0.5)
            return &FRAMES[i];
    ck_abort_msg("no frame of %g us", airtime_us);
}

/* Just below an hour: within a window, whichever it is. */
static double
frames_sent(const Frame *frame, double duty)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 3595 s, cool-down: 0 s}\n"
        "bearers: {air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, "
        "spreading-factor: %d, duty-cycle: %.3f}}\n"
        "links: [{between: [a, b], loss: 80 dB}]\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}, queue: {frames: 10000}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic: {talk: {from: a, to: b, payload: %d bytes, every: 1 s, phase: together}}\n",
        frame->spreading_factor, duty, frame->bytes);
    g_autoptr(SpateResult) result = judge_run(text, 1);
    return judge_row(result, "transmissions", NULL, "air")->values[0];
}

START_TEST(an_hour_holds_as_many_frames_as_its_limit)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    uint32_t n_judged = 0;
    FOR_ROWS(rows, i, "duty-cycle")
    {
        if (strcmp(reference_text(rows, i, "quantity"), "frames_per_hour") != 0)
            continue;
        const Frame *frame = frame_of(reference_input(rows, i, "airtime_us"));
        JudgeClaim claim = claim_of_row(rows, i, "duty cycle", "frames in an hour", 0.0);
        claim.unit = "frames";
        judge_value(&claim, frames_sent(frame, reference_input(rows, i, "duty")));
        n_judged++;
    }
    ck_assert_uint_eq(n_judged, 5);
}
END_TEST

CHECK_MAIN("duty-cycle", an_hour_holds_as_many_frames_as_its_limit)
