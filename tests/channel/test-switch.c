/* test-switch.c - radios that are switched off and on again, by hand
 *
 * SF7 at 125 kHz with 8 symbols of preamble: a symbol of 1.024 ms, the critical part from 3 symbols
 * on, the preamble ends after 12.25.
 */
#include "channel/channel.h"
#include "channel/star.h"
#include "support/check-main.h"

#define SYMBOL_NS   INT64_C(1024000)
#define CRITICAL_NS (3 * SYMBOL_NS)
#define AIRTIME_NS  (50 * SYMBOL_NS)
#define N_RADIOS    3
#define NO_OUTCOME  SPATE_N_OUTCOMES

typedef struct {
    Star star;
    SpateEventQueue *queue;
    SpateMedium *medium;
    SpateChannel *channel;
    uint32_t outcome[N_RADIOS][N_RADIOS]; /* by sender of the last frame, and receiver */
} Yard;

/* Radio 0 hears both others, the last one louder, and is heard by it. */
static double
level(uint32_t sender, uint32_t receiver, void *user)
{
    (void)user;
    if (receiver == 0)
        return sender == 2 ? -60.0 : -90.0;
    return sender == 0 && receiver == 2 ? -90.0 : -300.0;
}

static void
note(gpointer user, const SpateAirFrame *frame, const SpateReception *receptions, size_t n)
{
    Yard *yard = user;
    for (size_t i = 0; i < n; i++)
        yard->outcome[frame->sender][receptions[i].receiver] = receptions[i].outcome;
}

static void
yard_init(Yard *yard)
{
    *yard = (Yard){.star = {.bearer = star_lora(7, 8, 5)}};
    yard->medium = star_medium(&yard->star, N_RADIOS, 14.0, level, NULL);
    yard->queue = spate_event_queue_new();
    yard->channel = spate_channel_new(yard->queue, yard->medium, 1, 0, false);
    const SpateChannelHooks hooks = {.outcomes = note};
    spate_channel_set_hooks(yard->channel, &hooks, yard);
    for (int s = 0; s < N_RADIOS; s++)
        for (int r = 0; r < N_RADIOS; r++)
            yard->outcome[s][r] = NO_OUTCOME;
}

static void
yard_clear(Yard *yard)
{
    spate_channel_check(yard->channel);
    spate_channel_free(yard->channel);
    spate_event_queue_free(yard->queue);
    spate_medium_unref(yard->medium);
}

static void
begin(gpointer subject, uint32_t radio)
{
    spate_channel_begin(((Yard *)subject)->channel, radio, AIRTIME_NS, 0, radio);
}

static void
off(gpointer subject, uint32_t radio)
{
    spate_channel_switch_off(((Yard *)subject)->channel, radio);
}

static void
on(gpointer subject, uint32_t radio)
{
    spate_channel_switch_on(((Yard *)subject)->channel, radio);
}

static void
send_at(Yard *yard, int64_t at_ns, uint32_t radio)
{
    spate_event_queue_schedule(yard->queue, at_ns, SPATE_RANK_START, begin, yard, radio);
}

/* Radio 0. */
static void
is_off(Yard *yard, int64_t from_ns, int64_t to_ns)
{
    spate_event_queue_schedule(yard->queue, from_ns, SPATE_RANK_SWITCH, off, yard, 0);
    spate_event_queue_schedule(yard->queue, to_ns, SPATE_RANK_SWITCH, on, yard, 0);
}

static void
play(Yard *yard)
{
    spate_event_queue_run_until(yard->queue, 10 * AIRTIME_NS, NULL);
}

/* What became of the frame of radio 1 at radio 0, which was off for that time after its start. */
static uint32_t
outcome_when_off(int64_t from_ns, int64_t to_ns)
{
    Yard yard;
    yard_init(&yard);
    send_at(&yard, AIRTIME_NS, 1);
    is_off(&yard, AIRTIME_NS + from_ns, AIRTIME_NS + to_ns);
    play(&yard);
    yard_clear(&yard);
    return yard.outcome[1][0];
}

START_TEST(a_radio_that_is_off_as_the_critical_part_begins_does_not_hear_the_frame)
{
    ck_assert_uint_eq(outcome_when_off(-SYMBOL_NS, CRITICAL_NS + 1), NO_OUTCOME);
    ck_assert_uint_eq(outcome_when_off(-SYMBOL_NS, 2 * AIRTIME_NS), NO_OUTCOME);
    ck_assert_uint_eq(outcome_when_off(0, CRITICAL_NS + 1), NO_OUTCOME);
}
END_TEST

START_TEST(a_radio_that_comes_back_in_time_still_locks)
{
    ck_assert_uint_eq(outcome_when_off(-SYMBOL_NS, CRITICAL_NS), SPATE_OUTCOME_RECEIVED);
    ck_assert_uint_eq(outcome_when_off(-SYMBOL_NS, SYMBOL_NS), SPATE_OUTCOME_RECEIVED);
    ck_assert_uint_eq(outcome_when_off(-2 * SYMBOL_NS, -SYMBOL_NS), SPATE_OUTCOME_RECEIVED);
}
END_TEST

START_TEST(a_frame_that_the_radio_was_locked_on_counts_nowhere)
{
    ck_assert_uint_eq(outcome_when_off(10 * SYMBOL_NS, 11 * SYMBOL_NS), NO_OUTCOME);
    /* Nor is it locked on once more. */
    ck_assert_uint_eq(outcome_when_off(SYMBOL_NS, 2 * SYMBOL_NS), NO_OUTCOME);
    ck_assert_uint_eq(outcome_when_off(AIRTIME_NS, 2 * AIRTIME_NS), SPATE_OUTCOME_RECEIVED);
}
END_TEST

START_TEST(another_frame_may_be_locked_on_instead)
{
    Yard yard;
    yard_init(&yard);
    send_at(&yard, AIRTIME_NS, 1);
    send_at(&yard, AIRTIME_NS + 20 * SYMBOL_NS, 2);
    is_off(&yard, AIRTIME_NS + 10 * SYMBOL_NS, AIRTIME_NS + 22 * SYMBOL_NS);
    play(&yard);
    yard_clear(&yard);
    ck_assert_uint_eq(yard.outcome[1][0], NO_OUTCOME);
    ck_assert_uint_eq(yard.outcome[2][0], SPATE_OUTCOME_RECEIVED);
}
END_TEST

/* The frame of radio 1 begins 20 symbols after the louder one of radio 2, and nothing else begins
 * or ends until its critical part does. */
static uint32_t
outcome_beside_a_louder_one(int64_t from_ns, int64_t to_ns)
{
    Yard yard;
    yard_init(&yard);
    send_at(&yard, AIRTIME_NS, 2);
    send_at(&yard, AIRTIME_NS + 20 * SYMBOL_NS, 1);
    is_off(&yard, AIRTIME_NS + 20 * SYMBOL_NS + from_ns, AIRTIME_NS + 20 * SYMBOL_NS + to_ns);
    play(&yard);
    yard_clear(&yard);
    return yard.outcome[1][0];
}

START_TEST(a_frame_that_it_never_locked_on_is_settled_as_the_critical_part_begins)
{
    ck_assert_uint_eq(outcome_beside_a_louder_one(SYMBOL_NS, 9 * AIRTIME_NS), NO_OUTCOME);
    ck_assert_uint_eq(outcome_beside_a_louder_one(-SYMBOL_NS, SYMBOL_NS),
                      SPATE_OUTCOME_LOST_COLLISION);
    ck_assert_uint_eq(outcome_beside_a_louder_one(CRITICAL_NS + 1, 9 * AIRTIME_NS),
                      SPATE_OUTCOME_LOST_BUSY);
}
END_TEST

START_TEST(what_it_was_sending_goes_on_and_hides_others)
{
    Yard yard;
    yard_init(&yard);
    send_at(&yard, AIRTIME_NS, 0);
    send_at(&yard, AIRTIME_NS + 40 * SYMBOL_NS, 1);
    is_off(&yard, AIRTIME_NS + 30 * SYMBOL_NS, 5 * AIRTIME_NS);
    spate_event_queue_run_until(yard.queue, 2 * AIRTIME_NS, NULL);
    ck_assert_int_eq(spate_channel_off_ns(yard.channel, 0), 0);
    play(&yard);
    yard_clear(&yard);
    ck_assert_uint_eq(yard.outcome[0][2], SPATE_OUTCOME_RECEIVED);
    ck_assert_uint_eq(yard.outcome[1][0], SPATE_OUTCOME_LOST_SENDING);
}
END_TEST

/* Its critical part begins after the end of the own frame, when the radio is off. */
START_TEST(after_its_own_frame_it_hears_nothing)
{
    Yard yard;
    yard_init(&yard);
    send_at(&yard, AIRTIME_NS, 0);
    send_at(&yard, AIRTIME_NS + 48 * SYMBOL_NS, 1);
    is_off(&yard, AIRTIME_NS + 30 * SYMBOL_NS, 5 * AIRTIME_NS);
    play(&yard);
    ck_assert_int_eq(spate_channel_off_ns(yard.channel, 0), 3 * AIRTIME_NS);
    yard_clear(&yard);
    ck_assert_uint_eq(yard.outcome[1][0], NO_OUTCOME);
}
END_TEST

/* The frame of radio 2 takes the lock from that of radio 1 two symbols after its start. */
static void
play_capture(Yard *yard, int64_t off_after_ns)
{
    yard_init(yard);
    send_at(yard, AIRTIME_NS, 1);
    send_at(yard, AIRTIME_NS + 2 * SYMBOL_NS, 2);
    is_off(yard, AIRTIME_NS + off_after_ns, 5 * AIRTIME_NS);
    play(yard);
    yard_clear(yard);
    ck_assert_uint_eq(yard->outcome[2][0], NO_OUTCOME);
}

START_TEST(a_captured_frame_counts_if_the_radio_was_on_as_its_critical_part_began)
{
    Yard yard;
    play_capture(&yard, CRITICAL_NS);
    ck_assert_uint_eq(yard.outcome[1][0], NO_OUTCOME);
    play_capture(&yard, CRITICAL_NS + 1);
    ck_assert_uint_eq(yard.outcome[1][0], SPATE_OUTCOME_LOST_COLLISION);
}
END_TEST

START_TEST(a_radio_that_is_off_is_not_busy)
{
    Yard yard;
    yard_init(&yard);
    send_at(&yard, AIRTIME_NS, 1);
    send_at(&yard, 3 * AIRTIME_NS, 1);
    is_off(&yard, AIRTIME_NS + 10 * SYMBOL_NS, 3 * AIRTIME_NS + 20 * SYMBOL_NS);
    spate_event_queue_run_until(yard.queue, 2 * AIRTIME_NS, NULL);
    ck_assert_int_eq(spate_channel_busy_ns(yard.channel, 0), 10 * SYMBOL_NS);
    play(&yard);
    ck_assert_int_eq(spate_channel_busy_ns(yard.channel, 0), 10 * SYMBOL_NS + 30 * SYMBOL_NS);
    ck_assert_int_eq(spate_channel_off_ns(yard.channel, 0), 2 * AIRTIME_NS + 10 * SYMBOL_NS);
    yard_clear(&yard);
}
END_TEST

CHECK_MAIN("switch", a_radio_that_is_off_as_the_critical_part_begins_does_not_hear_the_frame,
           a_radio_that_comes_back_in_time_still_locks,
           a_frame_that_the_radio_was_locked_on_counts_nowhere,
           another_frame_may_be_locked_on_instead,
           a_frame_that_it_never_locked_on_is_settled_as_the_critical_part_begins,
           what_it_was_sending_goes_on_and_hides_others, after_its_own_frame_it_hears_nothing,
           a_captured_frame_counts_if_the_radio_was_on_as_its_critical_part_began,
           a_radio_that_is_off_is_not_busy)
