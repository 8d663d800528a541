/* test-locking.c - which frame a radio locks on, one case for each sentence of docs/model.md
 *
 * "A frame at a receiver", rules 1 (locking), 2 (capture), 5 (half-duplex), and what happens at one
 * instant.  Levels are worked out beside each case; see scene.h for the settings.
 */
#include "channel/scene.h"
#include "support/check-main.h"

#define COLLISION SPATE_OUTCOME_LOST_COLLISION
#define BUSY      SPATE_OUTCOME_LOST_BUSY
#define SENDING   SPATE_OUTCOME_LOST_SENDING
#define NOBODY    SPATE_NO_DISTURBER

static Scene scene;

/* The usual settings, but any number of preamble symbols and any protection. */
static void
init_with(int preamble_symbols, double protection_same_db)
{
    SpateBearer bearer = star_lora(7, preamble_symbols, 5);
    bearer.protection_same_db = protection_same_db;
    scene_init(&scene, &bearer);
}

START_TEST(a_frame_below_the_sensitivity_is_not_audible)
{
    scene_init_usual(&scene);
    uint32_t above = scene_add_sender(&scene, 0, SENSITIVITY_DBM + 0.01);
    uint32_t below = scene_add_sender(&scene, 0, SENSITIVITY_DBM - 0.01);
    uint32_t heard = scene_send(&scene, above, 0, AIRTIME_NS);
    uint32_t missed = scene_send(&scene, below, 2 * AIRTIME_NS, 3 * AIRTIME_NS);
    scene_play(&scene);
    scene_expect_received(&scene, heard, 0);
    scene_expect_inaudible(&scene, missed, 0);
}
END_TEST

START_TEST(a_radio_does_not_decode_frames_of_another_bearer_even_of_the_same_settings)
{
    scene_init_usual(&scene);
    SpateBearer same = star_lora(7, PREAMBLE_SYMBOLS, 5);
    uint32_t other = scene_add_sender(&scene, scene_add_bearer(&scene, &same), -60.0);
    uint32_t frame = scene_send(&scene, other, 0, AIRTIME_NS);
    scene_play(&scene);
    scene_expect_inaudible(&scene, frame, 0);
    scene_expect_busy(&scene, 0, 0);
}
END_TEST

/* A first frame ends `late_ns` after the critical part of a weaker second one has begun. */
static void
play_second_after_first(int64_t late_ns)
{
    scene_init_usual(&scene);
    uint32_t first = scene_add_sender(&scene, 0, -60.0),
             second = scene_add_sender(&scene, 0, -80.0);
    int64_t start_ns = AIRTIME_NS - CRITICAL_NS - late_ns;
    scene_send(&scene, first, 0, AIRTIME_NS);
    scene_send(&scene, second, start_ns, start_ns + AIRTIME_NS);
    scene_play(&scene);
    scene_expect_received(&scene, 0, 0);
}

START_TEST(a_radio_that_is_free_when_the_critical_part_begins_locks)
{
    play_second_after_first(0);
    scene_expect_received(&scene, 1, 0);
}
END_TEST

START_TEST(a_radio_that_is_free_one_ns_later_does_not_lock)
{
    play_second_after_first(1);
    scene_expect(&scene, 1, 0, BUSY, 1);
}
END_TEST

START_TEST(a_radio_locks_when_what_drowned_the_preamble_is_over)
{
    /* The first is of another bearer with the same settings: heard as interference alone.
     * Over at the start of the critical part, or 1 ns after. */
    for (int late = 0; late <= 1; late++) {
        scene_init_usual(&scene);
        SpateBearer same = star_lora(7, PREAMBLE_SYMBOLS, 5);
        uint32_t loud = scene_add_sender(&scene, scene_add_bearer(&scene, &same), -60.0);
        uint32_t quiet = scene_add_sender(&scene, 0, -80.0);
        scene_send(&scene, loud, 0, AIRTIME_NS + late);
        uint32_t frame = scene_send(&scene, quiet, AIRTIME_NS - CRITICAL_NS, 2 * AIRTIME_NS);
        scene_play(&scene);
        if (late == 0)
            scene_expect_received(&scene, frame, 0);
        else
            scene_expect(&scene, frame, 0, COLLISION, loud);
    }
}
END_TEST

/* Two frames that survive each other begin while the receiver sends, which then looks for one. */
static void
play_two_candidates(double first_dbm, double second_dbm)
{
    init_with(40, -6.0);
    uint32_t first = scene_add_sender(&scene, 0, first_dbm);
    uint32_t second = scene_add_sender(&scene, 0, second_dbm);
    scene_send(&scene, 0, 0, 20 * SYMBOL_NS);
    scene_send(&scene, second, 2 * SYMBOL_NS, 100 * SYMBOL_NS);
    scene_send(&scene, first, SYMBOL_NS, 100 * SYMBOL_NS);
    scene_play(&scene);
}

START_TEST(of_several_candidates_a_radio_locks_on_the_strongest)
{
    play_two_candidates(-61.0, -60.0);
    scene_expect_received(&scene, 1, 0);
    scene_expect(&scene, 2, 0, BUSY, 2);
}
END_TEST

START_TEST(of_equally_strong_candidates_a_radio_locks_on_the_earlier)
{
    play_two_candidates(-60.0, -60.0);
    scene_expect(&scene, 1, 0, BUSY, 1);
    scene_expect_received(&scene, 2, 0);
}
END_TEST

START_TEST(of_frames_that_begin_together_a_radio_locks_on_the_strongest)
{
    init_with(PREAMBLE_SYMBOLS, -6.0);
    const double levels_dbm[] = {-61.0, -60.0, -62.0};
    for (int i = 0; i < 3; i++)
        scene_send(&scene, scene_add_sender(&scene, 0, levels_dbm[i]), 0, AIRTIME_NS);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, BUSY, 2);
    scene_expect_received(&scene, 1, 0);
    scene_expect(&scene, 2, 0, BUSY, 2);
}
END_TEST

START_TEST(of_equally_strong_frames_that_begin_together_a_radio_locks_on_the_first_by_name)
{
    init_with(PREAMBLE_SYMBOLS, -6.0);
    uint32_t first = scene_add_sender(&scene, 0, -60.0);
    uint32_t second = scene_add_sender(&scene, 0, -60.0);
    scene_send(&scene, first, 0, AIRTIME_NS);
    scene_send(&scene, second, 0, AIRTIME_NS);
    scene_play(&scene);
    scene_expect_received(&scene, 0, 0);
    scene_expect(&scene, 1, 0, BUSY, first);
}
END_TEST

START_TEST(a_preamble_no_longer_than_the_lock_needs_is_critical_from_its_start)
{
    /* n = lock = 8: a radio that stops sending 1 ns after the frame began is too late. */
    for (int late = 0; late <= 1; late++) {
        SpateBearer bearer = star_lora(7, 8, 8);
        scene_init(&scene, &bearer);
        uint32_t sender = scene_add_sender(&scene, 0, -60.0);
        scene_send(&scene, 0, 0, AIRTIME_NS + late);
        uint32_t frame = scene_send(&scene, sender, AIRTIME_NS, 2 * AIRTIME_NS);
        scene_play(&scene);
        if (late == 0)
            scene_expect_received(&scene, frame, 0);
        else
            scene_expect(&scene, frame, 0, SENDING, NOBODY);
    }
}
END_TEST

/* A frame of -80 dBm, and a later one. */
static void
play_later(double later_dbm, int64_t later_ns)
{
    scene_init_usual(&scene);
    scene_send(&scene, scene_add_sender(&scene, 0, -80.0), 0, AIRTIME_NS);
    scene_send(&scene, scene_add_sender(&scene, 0, later_dbm), later_ns, later_ns + AIRTIME_NS);
    scene_play(&scene);
}

START_TEST(a_stronger_frame_takes_the_lock_within_the_preamble)
{
    play_later(-70.0, HEADER_NS - 1);
    scene_expect(&scene, 0, 0, COLLISION, 2);
    scene_expect_received(&scene, 1, 0);
}
END_TEST

START_TEST(a_stronger_frame_does_not_take_the_lock_when_the_preamble_is_over)
{
    play_later(-70.0, HEADER_NS);
    scene_expect(&scene, 0, 0, COLLISION, 2);
    scene_expect(&scene, 1, 0, BUSY, 1);
}
END_TEST

START_TEST(a_frame_takes_the_lock_only_if_it_survives_the_first)
{
    /* Protection 1 dB: the first survives neither; the later one only from 1 dB above it. */
    play_later(-79.1, SYMBOL_NS);
    scene_expect(&scene, 0, 0, COLLISION, 2);
    scene_expect(&scene, 1, 0, BUSY, 1);
    play_later(-78.9, SYMBOL_NS);
    scene_expect(&scene, 0, 0, COLLISION, 2);
    scene_expect_received(&scene, 1, 0);
}
END_TEST

START_TEST(a_frame_takes_the_lock_only_if_it_survives_all_else_on_the_air)
{
    /* Shares at 1 dB of protection: the first, 1.5 dB weaker, 0.891; a third, 9 dB weaker,
     * 0.158. */
    for (int with_third = 0; with_third <= 1; with_third++) {
        scene_init_usual(&scene);
        SpateBearer same = star_lora(7, PREAMBLE_SYMBOLS, 5);
        uint32_t other = scene_add_bearer(&scene, &same);
        uint32_t first = scene_add_sender(&scene, 0, -71.5);
        uint32_t later = scene_add_sender(&scene, 0, -70.0);
        uint32_t third = scene_add_sender(&scene, other, -79.0);
        scene_send(&scene, first, 0, AIRTIME_NS);
        uint32_t frame = scene_send(&scene, later, 2 * SYMBOL_NS, 2 * AIRTIME_NS);
        if (with_third)
            scene_send(&scene, third, SYMBOL_NS, AIRTIME_NS);
        scene_play(&scene);
        if (with_third)
            scene_expect(&scene, frame, 0, BUSY, first);
        else
            scene_expect_received(&scene, frame, 0);
    }
}
END_TEST

START_TEST(of_two_that_could_take_the_lock_at_one_instant_the_stronger_does_and_is_to_blame)
{
    /* Protection of -6 dB: all survive each other.  The weaker comes first by name. */
    init_with(PREAMBLE_SYMBOLS, -6.0);
    uint32_t first = scene_add_sender(&scene, 0, -60.5);
    uint32_t weaker = scene_add_sender(&scene, 0, -61.0);
    uint32_t stronger = scene_add_sender(&scene, 0, -60.0);
    scene_send(&scene, first, 0, AIRTIME_NS);
    scene_send(&scene, weaker, 2 * SYMBOL_NS, AIRTIME_NS);
    scene_send(&scene, stronger, 2 * SYMBOL_NS, AIRTIME_NS);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, COLLISION, stronger);
    scene_expect(&scene, 1, 0, BUSY, stronger);
    scene_expect_received(&scene, 2, 0);
}
END_TEST

START_TEST(a_frame_lost_to_half_duplex_has_no_disturber)
{
    /* Nothing happens between the frame's start and its critical part. */
    scene_init_usual(&scene);
    uint32_t sender = scene_add_sender(&scene, 0, -60.0);
    scene_send(&scene, 0, 0, AIRTIME_NS);
    scene_send(&scene, sender, SYMBOL_NS, 2 * AIRTIME_NS);
    scene_play(&scene);
    scene_expect(&scene, 1, 0, SENDING, NOBODY);
}
END_TEST

START_TEST(a_radio_that_sends_when_the_critical_part_begins_has_lost_the_frame)
{
    for (int late = 0; late <= 1; late++) {
        scene_init_usual(&scene);
        uint32_t sender = scene_add_sender(&scene, 0, -60.0);
        scene_send(&scene, 0, 0, AIRTIME_NS + late);
        int64_t start_ns = AIRTIME_NS - CRITICAL_NS;
        uint32_t frame = scene_send(&scene, sender, start_ns, start_ns + AIRTIME_NS);
        scene_play(&scene);
        if (late == 0)
            scene_expect_received(&scene, frame, 0);
        else
            scene_expect(&scene, frame, 0, SENDING, NOBODY);
    }
}
END_TEST

START_TEST(a_locked_radio_does_not_begin_to_send)
{
    scene_init_usual(&scene);
    uint32_t sender = scene_add_sender(&scene, 0, -60.0);
    scene_heard(&scene, 0, sender, -60.0);
    uint32_t frame = scene_send(&scene, sender, 0, AIRTIME_NS);
    uint32_t within = scene_send(&scene, 0, AIRTIME_NS - 1, AIRTIME_NS + 1);
    uint32_t after = scene_send(&scene, 0, AIRTIME_NS + 1, 2 * AIRTIME_NS);
    scene_play(&scene);
    scene_expect_received(&scene, frame, 0);
    scene_expect_skipped(&scene, within, true);
    scene_expect_skipped(&scene, after, false);
    scene_expect_received(&scene, after, sender);
}
END_TEST

START_TEST(a_radio_may_send_at_the_instant_at_which_its_lock_ends)
{
    scene_init_usual(&scene);
    uint32_t sender = scene_add_sender(&scene, 0, -60.0);
    scene_send(&scene, sender, 0, AIRTIME_NS);
    uint32_t answer = scene_send(&scene, 0, AIRTIME_NS, 2 * AIRTIME_NS);
    scene_play(&scene);
    scene_expect_skipped(&scene, answer, false);
}
END_TEST

START_TEST(radios_that_begin_to_send_together_all_begin)
{
    scene_init_usual(&scene);
    uint32_t a = scene_add_sender(&scene, 0, -60.0), b = scene_add_sender(&scene, 0, -63.0);
    scene_heard(&scene, 0, a, -60.0);
    scene_heard(&scene, b, a, -60.0);
    for (uint32_t radio = 0; radio <= b; radio++)
        scene_send(&scene, radio, 0, AIRTIME_NS);
    scene_play(&scene);
    for (uint32_t frame = 0; frame < 3; frame++)
        scene_expect_skipped(&scene, frame, false);
}
END_TEST

START_TEST(a_frame_that_ends_does_not_disturb_one_that_starts_at_the_same_instant)
{
    scene_init_usual(&scene);
    uint32_t loud = scene_add_sender(&scene, 0, -50.0), quiet = scene_add_sender(&scene, 0, -90.0);
    scene_send(&scene, loud, 0, AIRTIME_NS);
    scene_send(&scene, quiet, AIRTIME_NS, 2 * AIRTIME_NS);
    scene_send(&scene, loud, 2 * AIRTIME_NS, 3 * AIRTIME_NS);
    scene_play(&scene);
    for (uint32_t frame = 0; frame < 3; frame++)
        scene_expect_received(&scene, frame, 0);
}
END_TEST

START_TEST(a_radio_is_busy_while_it_hears_or_sends_at_least_one_frame)
{
    /* 0 to 10 and 5 to 20 symbols heard, 30 to 35 not, 40 to 50 sent, 45 to 60 heard. */
    scene_init_usual(&scene);
    uint32_t a = scene_add_sender(&scene, 0, -60.0), b = scene_add_sender(&scene, 0, -110.0);
    uint32_t faint = scene_add_sender(&scene, 0, SENSITIVITY_DBM - 1.0);
    scene_send(&scene, a, 0, 10 * SYMBOL_NS);
    scene_send(&scene, b, 5 * SYMBOL_NS, 20 * SYMBOL_NS);
    scene_send(&scene, faint, 30 * SYMBOL_NS, 35 * SYMBOL_NS);
    scene_send(&scene, 0, 40 * SYMBOL_NS, 50 * SYMBOL_NS);
    scene_send(&scene, b, 45 * SYMBOL_NS, 60 * SYMBOL_NS);
    scene_play(&scene);
    scene_expect_busy(&scene, 0, 40 * SYMBOL_NS);
}
END_TEST

CHECK_MAIN("locking", a_frame_below_the_sensitivity_is_not_audible,
           a_radio_does_not_decode_frames_of_another_bearer_even_of_the_same_settings,
           a_radio_that_is_free_when_the_critical_part_begins_locks,
           a_radio_that_is_free_one_ns_later_does_not_lock,
           a_radio_locks_when_what_drowned_the_preamble_is_over,
           of_several_candidates_a_radio_locks_on_the_strongest,
           of_equally_strong_candidates_a_radio_locks_on_the_earlier,
           of_frames_that_begin_together_a_radio_locks_on_the_strongest,
           of_equally_strong_frames_that_begin_together_a_radio_locks_on_the_first_by_name,
           a_preamble_no_longer_than_the_lock_needs_is_critical_from_its_start,
           a_stronger_frame_takes_the_lock_within_the_preamble,
           a_stronger_frame_does_not_take_the_lock_when_the_preamble_is_over,
           a_frame_takes_the_lock_only_if_it_survives_the_first,
           a_frame_takes_the_lock_only_if_it_survives_all_else_on_the_air,
           of_two_that_could_take_the_lock_at_one_instant_the_stronger_does_and_is_to_blame,
           a_frame_lost_to_half_duplex_has_no_disturber,
           a_radio_that_sends_when_the_critical_part_begins_has_lost_the_frame,
           a_locked_radio_does_not_begin_to_send,
           a_radio_may_send_at_the_instant_at_which_its_lock_ends,
           radios_that_begin_to_send_together_all_begin,
           a_frame_that_ends_does_not_disturb_one_that_starts_at_the_same_instant,
           a_radio_is_busy_while_it_hears_or_sends_at_least_one_frame)
