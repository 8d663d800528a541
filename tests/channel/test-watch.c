/* test-watch.c - radios that are watched: whom the channel tells of, and in which order */
#include "channel/channel.h"
#include "channel/star.h"
#include "support/check-main.h"

#define AIRTIME_NS (50 * SPATE_NS_PER_MS)
#define MOST_TOLD  16

typedef struct {
    SpateEventQueue *queue;
    SpateChannel *channel;
    uint32_t told[MOST_TOLD]; /* radios */
    uint32_t n_told;
} Watch;

/* Senders 0 and 1; radio 3 hears the first alone, radio 2 both, the second by 30 dB more. */
static double
two_over_two(uint32_t sender, uint32_t receiver, void *user)
{
    (void)user;
    if (sender == 0 && receiver >= 2)
        return receiver == 3 ? -60.0 : -90.0;
    return sender == 1 && receiver == 2 ? -60.0 : -300.0;
}

static void
changed(gpointer user, uint32_t radio)
{
    Watch *watch = user;
    ck_assert_uint_lt(watch->n_told, MOST_TOLD);
    watch->told[watch->n_told++] = radio;
}

static void
begin(gpointer subject, uint32_t radio)
{
    spate_channel_begin(((Watch *)subject)->channel, radio, AIRTIME_NS, 0, radio);
}

static void
forget(gpointer subject, uint32_t radio)
{
    (void)radio;
    ((Watch *)subject)->n_told = 0;
}

/* Both send at once; told is what happens at the end. */
static void
play(Watch *watch, const uint32_t *watched, size_t n_watched)
{
    Star star = {.bearer = star_lora(7, 8, 5)};
    g_autoptr(SpateMedium) medium = star_medium(&star, 4, 14.0, two_over_two, NULL);
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    g_autoptr(SpateChannel) channel = spate_channel_new(queue, medium, 1, 0, false);
    *watch = (Watch){.queue = queue, .channel = channel};
    SpateChannelHooks hooks = {.changed = changed};
    spate_channel_set_hooks(channel, &hooks, watch);
    for (size_t i = 0; i < n_watched; i++)
        spate_channel_watch(channel, watched[i], true);
    for (uint32_t sender = 0; sender < 2; sender++)
        spate_event_queue_schedule(queue, 0, SPATE_RANK_START, begin, watch, sender);
    spate_event_queue_schedule(queue, AIRTIME_NS / 2, SPATE_RANK_TIMER, forget, watch, 0);
    while (spate_event_queue_run_next(queue))
        continue;
    ck_assert(!spate_channel_is_locked(channel, 2) && !spate_channel_is_locked(channel, 3));
}

START_TEST(of_frames_that_end_together_radios_are_told_of_as_the_first_leaves_them)
{
    Watch watch;

    play(&watch, (const uint32_t[]){3, 2}, 2);

    /* Radio 2 was locked on the second. */
    ck_assert_uint_eq(watch.n_told, 2);
    ck_assert_uint_eq(watch.told[0], 2);
    ck_assert_uint_eq(watch.told[1], 3);
}
END_TEST

START_TEST(nobody_is_told_of_a_radio_that_is_not_watched)
{
    Watch watch;

    play(&watch, (const uint32_t[]){3}, 1);

    ck_assert_uint_eq(watch.n_told, 1);
    ck_assert_uint_eq(watch.told[0], 3);
}
END_TEST

CHECK_MAIN("watch", of_frames_that_end_together_radios_are_told_of_as_the_first_leaves_them,
           nobody_is_told_of_a_radio_that_is_not_watched)
