/* test-sleep.c - radios that sleep, one case for each sentence of docs/model.md
 *
 * The receiver (radio 0) listens in windows of 10 symbols that begin every 100, the first at 0; a
 * frame has a preamble of 8 symbols, of which 3 are before its critical part, unless it is said
 * otherwise.  See scene.h for the settings.
 */
#include "channel/scene.h"
#include "core/time.h"
#include "support/check-main.h"

#define ASLEEP    SPATE_OUTCOME_LOST_ASLEEP
#define BUSY      SPATE_OUTCOME_LOST_BUSY
#define COLLISION SPATE_OUTCOME_LOST_COLLISION
#define SENDING   SPATE_OUTCOME_LOST_SENDING

#define EVERY_NS  (100 * SYMBOL_NS)
#define WINDOW_NS (10 * SYMBOL_NS)

static Scene scene;
static int64_t airtime_ns; /* of a frame: its preamble and 42 symbols */

static void
init_sleeper(int preamble_symbols)
{
    airtime_ns = (preamble_symbols + 42) * SYMBOL_NS;
    SpateBearer bearer = star_lora(7, preamble_symbols, 5);
    scene_init(&scene, &bearer);
    scene_listens(&scene, 0, EVERY_NS, WINDOW_NS);
}

static uint32_t
send_at(uint32_t radio, int64_t start_ns)
{
    return scene_send(&scene, radio, start_ns, start_ns + airtime_ns);
}

/* One frame of -80 dBm, at that time. */
static void
play_one(int preamble_symbols, int64_t start_ns)
{
    init_sleeper(preamble_symbols);
    send_at(scene_add_sender(&scene, 0, -80.0), start_ns);
    scene_play(&scene);
}

static void
expect_asleep(uint32_t frame)
{
    scene_expect(&scene, frame, 0, ASLEEP, SPATE_NO_DISTURBER);
}

START_TEST(a_frame_that_begins_in_a_window_is_received_though_the_window_ends)
{
    play_one(PREAMBLE_SYMBOLS, 5 * SYMBOL_NS);
    scene_expect_received(&scene, 0, 0);
}
END_TEST

START_TEST(a_frame_between_two_windows_is_lost_asleep)
{
    play_one(PREAMBLE_SYMBOLS, 50 * SYMBOL_NS);
    expect_asleep(0);
}
END_TEST

START_TEST(a_window_holds_its_first_instant_and_not_its_last)
{
    play_one(PREAMBLE_SYMBOLS, WINDOW_NS - 1);
    scene_expect_received(&scene, 0, 0);
    play_one(PREAMBLE_SYMBOLS, WINDOW_NS);
    expect_asleep(0);
    play_one(PREAMBLE_SYMBOLS, EVERY_NS);
    scene_expect_received(&scene, 0, 0);
}
END_TEST

START_TEST(a_radio_that_wakes_up_to_the_start_of_the_critical_part_locks)
{
    play_one(PREAMBLE_SYMBOLS, EVERY_NS - CRITICAL_NS);
    scene_expect_received(&scene, 0, 0);
    play_one(PREAMBLE_SYMBOLS, EVERY_NS - CRITICAL_NS - 1);
    expect_asleep(0);
}
END_TEST

START_TEST(a_preamble_as_long_as_the_sleep_is_never_missed)
{
    /* 95 symbols of preamble, 90 before the critical part; the sleep lasts 90. */
    for (int symbol = 0; symbol < 100; symbol++) {
        play_one(95, symbol * SYMBOL_NS);
        scene_expect_received(&scene, 0, 0);
    }
    /* A symbol less before it: what begins as the radio falls asleep is missed. */
    play_one(94, WINDOW_NS);
    expect_asleep(0);
    play_one(94, WINDOW_NS - 1);
    scene_expect_received(&scene, 0, 0);
}
END_TEST

START_TEST(of_frames_on_the_air_at_waking_the_strongest_is_taken)
{
    init_sleeper(60);
    uint32_t weak = scene_add_sender(&scene, 0, -90.0), strong = scene_add_sender(&scene, 0, -80.0);
    send_at(weak, 60 * SYMBOL_NS);
    send_at(strong, 70 * SYMBOL_NS);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, BUSY, strong);
    scene_expect_received(&scene, 1, 0);
}
END_TEST

START_TEST(a_radio_wakes_again_while_a_preamble_lasts)
{
    /* A loud frame of other settings covers the first window, and is gone at the second. */
    init_sleeper(250);
    SpateBearer same = star_lora(7, PREAMBLE_SYMBOLS, 5);
    uint32_t wanted = scene_add_sender(&scene, 0, -80.0);
    uint32_t loud = scene_add_sender(&scene, scene_add_bearer(&scene, &same), -60.0);
    scene_send(&scene, wanted, 20 * SYMBOL_NS, 300 * SYMBOL_NS);
    scene_send(&scene, loud, 90 * SYMBOL_NS, 150 * SYMBOL_NS);
    scene_play(&scene);
    scene_expect_received(&scene, 0, 0);
}
END_TEST

START_TEST(a_radio_that_is_awake_looks_when_a_disturber_ends_one_that_sleeps_does_not)
{
    /* The loud frame ends in the second window, or after it. */
    for (int late = 0; late <= 1; late++) {
        init_sleeper(150);
        SpateBearer same = star_lora(7, PREAMBLE_SYMBOLS, 5);
        uint32_t wanted = scene_add_sender(&scene, 0, -80.0);
        uint32_t loud = scene_add_sender(&scene, scene_add_bearer(&scene, &same), -60.0);
        scene_send(&scene, wanted, 20 * SYMBOL_NS, 300 * SYMBOL_NS);
        scene_send(&scene, loud, 90 * SYMBOL_NS, (late ? 115 : 105) * SYMBOL_NS);
        scene_play(&scene);
        if (late)
            expect_asleep(0);
        else
            scene_expect_received(&scene, 0, 0);
    }
}
END_TEST

START_TEST(a_frame_that_does_not_survive_is_lost_by_what_the_radio_does_at_its_critical_part)
{
    /* Critical 3 symbols after its start: within the window, or when it is over. */
    for (int late = 0; late <= 1; late++) {
        init_sleeper(PREAMBLE_SYMBOLS);
        SpateBearer same = star_lora(7, PREAMBLE_SYMBOLS, 5);
        uint32_t wanted = scene_add_sender(&scene, 0, -80.0);
        uint32_t loud = scene_add_sender(&scene, scene_add_bearer(&scene, &same), -60.0);
        send_at(wanted, (late ? 7 : 6) * SYMBOL_NS);
        send_at(loud, 0);
        scene_play(&scene);
        if (late)
            expect_asleep(0);
        else
            scene_expect(&scene, 0, 0, COLLISION, loud);
    }
}
END_TEST

START_TEST(a_lock_and_a_sending_come_before_sleep)
{
    init_sleeper(PREAMBLE_SYMBOLS);
    uint32_t first = scene_add_sender(&scene, 0, -80.0),
             second = scene_add_sender(&scene, 0, -90.0);
    send_at(first, 0);
    send_at(second, 20 * SYMBOL_NS); /* while it is locked, outside of windows */
    scene_play(&scene);
    scene_expect_received(&scene, 0, 0);
    scene_expect(&scene, 1, 0, BUSY, first);

    init_sleeper(PREAMBLE_SYMBOLS);
    uint32_t other = scene_add_sender(&scene, 0, -80.0);
    send_at(0, 20 * SYMBOL_NS);
    send_at(other, 30 * SYMBOL_NS);
    scene_play(&scene);
    scene_expect(&scene, 1, 0, SENDING, SPATE_NO_DISTURBER);
}
END_TEST

START_TEST(a_frame_that_was_captured_over_stays_a_collision)
{
    init_sleeper(60);
    uint32_t weak = scene_add_sender(&scene, 0, -90.0), strong = scene_add_sender(&scene, 0, -80.0);
    send_at(weak, 5 * SYMBOL_NS);
    scene_send(&scene, strong, 20 * SYMBOL_NS, 40 * SYMBOL_NS); /* over before its own, and the
                                                                   other's, critical part */
    scene_play(&scene);
    scene_expect(&scene, 0, 0, COLLISION, strong);
}
END_TEST

/* Its own frame, then one that begins that much after its end. */
static void
play_answer(int64_t after_sending_ns, int64_t gap_ns)
{
    init_sleeper(PREAMBLE_SYMBOLS);
    scene.script.listening[0].after_sending_ns = after_sending_ns;
    uint32_t other = scene_add_sender(&scene, 0, -80.0);
    send_at(0, 20 * SYMBOL_NS);
    send_at(other, 20 * SYMBOL_NS + airtime_ns + gap_ns);
    scene_play(&scene);
}

START_TEST(it_stays_awake_after_sending_as_long_as_it_is_told)
{
    play_answer(0, 0);
    expect_asleep(1);
    play_answer(5 * SYMBOL_NS, 0);
    scene_expect_received(&scene, 1, 0);
    play_answer(5 * SYMBOL_NS, 5 * SYMBOL_NS - 1);
    scene_expect_received(&scene, 1, 0);
    play_answer(5 * SYMBOL_NS, 5 * SYMBOL_NS);
    expect_asleep(1);
}
END_TEST

START_TEST(after_sending_it_looks_at_once_for_a_frame_on_the_air)
{
    play_answer(1, -CRITICAL_NS);
    scene_expect_received(&scene, 1, 0);
    play_answer(0, -CRITICAL_NS);
    expect_asleep(1);
}
END_TEST

START_TEST(time_awake_is_that_of_windows_locks_and_sendings)
{
    /* To the end of the last frame at 300 symbols: windows at 0, 100, 200, of 10 symbols each. A
     * frame of 50 symbols from 5 on keeps it awake until 55; its own from 120 to 170 and 7 more
     * after it. */
    init_sleeper(PREAMBLE_SYMBOLS);
    scene.script.listening[0].after_sending_ns = 7 * SYMBOL_NS;
    uint32_t other = scene_add_sender(&scene, 0, -80.0);
    send_at(other, 5 * SYMBOL_NS);
    send_at(0, 120 * SYMBOL_NS);
    send_at(other, 250 * SYMBOL_NS);
    scene_play(&scene);
    scene_expect_awake(&scene, 0, (55 + 10 + 57 + 10) * SYMBOL_NS);
    /* Asleep it hears nothing: the third frame goes unheard. */
    scene_expect_busy(&scene, 0, (50 + 50) * SYMBOL_NS);
    scene_expect_awake(&scene, other, 300 * SYMBOL_NS);
    scene_expect_busy(&scene, other, (50 + 50) * SYMBOL_NS);
}
END_TEST

CHECK_MAIN("sleep", a_frame_that_begins_in_a_window_is_received_though_the_window_ends,
           a_frame_between_two_windows_is_lost_asleep,
           a_window_holds_its_first_instant_and_not_its_last,
           a_radio_that_wakes_up_to_the_start_of_the_critical_part_locks,
           a_preamble_as_long_as_the_sleep_is_never_missed,
           of_frames_on_the_air_at_waking_the_strongest_is_taken,
           a_radio_wakes_again_while_a_preamble_lasts,
           a_radio_that_is_awake_looks_when_a_disturber_ends_one_that_sleeps_does_not,
           a_frame_that_does_not_survive_is_lost_by_what_the_radio_does_at_its_critical_part,
           a_lock_and_a_sending_come_before_sleep, a_frame_that_was_captured_over_stays_a_collision,
           it_stays_awake_after_sending_as_long_as_it_is_told,
           after_sending_it_looks_at_once_for_a_frame_on_the_air,
           time_awake_is_that_of_windows_locks_and_sendings)
