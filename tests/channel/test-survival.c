/* test-survival.c - what breaks a frame, and who is to blame, one case for each sentence of
 * docs/model.md
 *
 * "A frame at a receiver", rules 3 (survival), 4 (protection ratios: tests/radio/test-bearer.c has
 * the tables), 6 (same mast) and 7 (outcome).  Levels are worked out beside each case; see scene.h
 * for the settings.  With 1 dB of protection an interferer d dB below the wanted frame has a share
 * of 10^((1 - d) / 10).
 */
#include "channel/scene.h"
#include "core/time.h"
#include "support/check-main.h"

#define COLLISION SPATE_OUTCOME_LOST_COLLISION
#define BUSY      SPATE_OUTCOME_LOST_BUSY
#define BLOCKED   SPATE_OUTCOME_LOST_BLOCKED

/* Within the critical part of a frame that starts at 0, past its preamble. */
#define LATE_NS (20 * SYMBOL_NS)

static Scene scene;

/* A second bearer of the usual settings: its frames disturb and are never decoded. */
static uint32_t
add_same_settings(void)
{
    SpateBearer same = star_lora(7, PREAMBLE_SYMBOLS, 5);
    return scene_add_bearer(&scene, &same);
}

/* Frame 0 of -80 dBm by radio 1, the receiver at radio 0. */
static void
init_wanted(void)
{
    scene_init_usual(&scene);
    scene_send(&scene, scene_add_sender(&scene, 0, -80.0), 0, AIRTIME_NS);
}

START_TEST(one_interferer_is_survived_from_the_protection_ratio_on)
{
    for (int stronger = 0; stronger <= 1; stronger++) {
        init_wanted();
        uint32_t other = scene_add_sender(&scene, 0, stronger ? -80.9 : -81.1);
        scene_send(&scene, other, LATE_NS, 2 * AIRTIME_NS);
        scene_play(&scene);
        if (stronger)
            scene_expect(&scene, 0, 0, COLLISION, other);
        else
            scene_expect_received(&scene, 0, 0);
        scene_expect(&scene, 1, 0, BUSY, 1);
    }
}
END_TEST

START_TEST(shares_of_several_interferers_add_up)
{
    /* 5 dB below: 0.398 each; two leave the frame, three break it. */
    for (uint32_t n = 2; n <= 3; n++) {
        init_wanted();
        for (uint32_t i = 0; i < n; i++) {
            uint32_t other = scene_add_sender(&scene, 0, -85.0 + 0.01 * i);
            scene_send(&scene, other, LATE_NS + i, 2 * AIRTIME_NS);
        }
        scene_play(&scene);
        if (n == 2)
            scene_expect_received(&scene, 0, 0);
        else
            scene_expect(&scene, 0, 0, COLLISION, 4); /* the largest, by a hundredth of a dB */
    }
}
END_TEST

START_TEST(noise_has_its_share)
{
    /* 3 dB above the sensitivity the noise has 0.501; an interferer 5 dB below adds 0.398, one
     * 3.5 dB below 0.562. */
    for (int stronger = 0; stronger <= 1; stronger++) {
        double wanted_dbm = SENSITIVITY_DBM + 3.0;
        scene_init_usual(&scene);
        uint32_t wanted = scene_add_sender(&scene, 0, wanted_dbm);
        uint32_t other = scene_add_sender(&scene, 0, wanted_dbm - (stronger ? 3.5 : 5.0));
        scene_send(&scene, wanted, 0, AIRTIME_NS);
        scene_send(&scene, other, LATE_NS, 2 * AIRTIME_NS);
        scene_play(&scene);
        if (stronger)
            scene_expect(&scene, 0, 0, COLLISION, other);
        else
            scene_expect_received(&scene, 0, 0);
    }
}
END_TEST

/* The wanted frame, of 40 symbols of preamble (critical from 35), and a loud interferer. */
static void
play_interferer(int64_t start_ns, int64_t end_ns)
{
    SpateBearer bearer = star_lora(7, 40, 5);
    scene_init(&scene, &bearer);
    uint32_t wanted = scene_add_sender(&scene, 0, -80.0);
    uint32_t loud = scene_add_sender(&scene, add_same_settings(), -60.0);
    scene_send(&scene, wanted, 0, 100 * SYMBOL_NS);
    scene_send(&scene, loud, start_ns, end_ns);
    scene_play(&scene);
}

START_TEST(an_interferer_that_is_over_before_the_critical_part_does_no_harm)
{
    play_interferer(SYMBOL_NS, 35 * SYMBOL_NS);
    scene_expect_received(&scene, 0, 0);
}
END_TEST

START_TEST(an_interferer_that_reaches_into_the_critical_part_breaks_the_frame)
{
    play_interferer(SYMBOL_NS, 35 * SYMBOL_NS + 1);
    scene_expect(&scene, 0, 0, COLLISION, 2);
}
END_TEST

START_TEST(an_interferer_at_the_last_ns_breaks_the_frame)
{
    play_interferer(100 * SYMBOL_NS - 1, 200 * SYMBOL_NS);
    scene_expect(&scene, 0, 0, COLLISION, 2);
    play_interferer(100 * SYMBOL_NS, 200 * SYMBOL_NS);
    scene_expect_received(&scene, 0, 0);
}
END_TEST

START_TEST(a_radio_stays_locked_on_a_broken_frame_to_its_end)
{
    /* Broken at 20 symbols; the critical part of the third begins at 43, before 50. */
    init_wanted();
    uint32_t loud = scene_add_sender(&scene, add_same_settings(), -60.0);
    uint32_t third = scene_add_sender(&scene, 0, -70.0);
    scene_send(&scene, loud, LATE_NS, LATE_NS + 15 * SYMBOL_NS);
    scene_send(&scene, third, 40 * SYMBOL_NS, 90 * SYMBOL_NS);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, COLLISION, loud);
    scene_expect(&scene, 2, 0, BUSY, 1);
}
END_TEST

/* LoRa of SF12 in 203 kHz at -100 dBm (a symbol of 20.165 ms, required SNR -20 dB, noise share
 * 0.0003) against a dsss frame on the same centre: 203.125 kHz of its 22 MHz fall into the
 * receiver, as noise, a factor of 0.009233 / 100. */
static void
play_burst(double burst_dbm, int64_t burst_ns, SpateOutcome outcome)
{
    SpateBearer slow = star_lora(12, PREAMBLE_SYMBOLS, 5), fast = star_dsss(250000);
    slow.modulation.centre_hz = fast.modulation.centre_hz;
    slow.modulation.bandwidth_hz = (SpateRational){1625000, 8};
    scene_init(&scene, &slow);
    uint32_t wanted = scene_add_sender(&scene, 0, -100.0);
    uint32_t burst = scene_add_sender(&scene, scene_add_bearer(&scene, &fast), burst_dbm);
    const int64_t s = SPATE_NS_PER_S;
    scene_send(&scene, wanted, 0, 2 * s);
    scene_send(&scene, burst, s, s + burst_ns);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, outcome, outcome == COLLISION ? burst : SPATE_NO_DISTURBER);
}

START_TEST(an_interferer_counts_with_the_share_of_a_symbol_that_it_lasts)
{
    /* 224 us are 0.011109 of a symbol: with it the factor is 1.0257e-6, or 59.9 dB. */
    play_burst(-100.0 + 59.9 - 0.2, 224000, SPATE_OUTCOME_RECEIVED);
    play_burst(-100.0 + 59.9 + 0.2, 224000, COLLISION);
}
END_TEST

START_TEST(an_interferer_of_a_symbol_or_more_counts_in_full)
{
    /* The factor alone: 40.35 dB. */
    for (int64_t ms = 21; ms <= 300; ms += 279) {
        play_burst(-100.0 + 40.35 - 0.2, ms * SPATE_NS_PER_MS, SPATE_OUTCOME_RECEIVED);
        play_burst(-100.0 + 40.35 + 0.2, ms * SPATE_NS_PER_MS, COLLISION);
    }
}
END_TEST

/* The receiver's node has a second radio, which sends over an isolation and disturbs frame 0 of
 * -80 dBm: 81.1 dB of isolation leave it 1.1 dB weaker. */
static uint32_t
init_with_mate(double isolation_db)
{
    scene_init_usual(&scene);
    uint32_t mate = scene_add_mate(&scene, add_same_settings());
    scene.script.isolation_db[0] = isolation_db;
    scene_send(&scene, scene_add_sender(&scene, 0, -80.0), 0, AIRTIME_NS);
    return mate;
}

START_TEST(the_other_radio_of_the_node_disturbs_over_the_isolation)
{
    for (int close = 0; close <= 1; close++) {
        uint32_t mate = init_with_mate(close ? 80.9 : 81.1);
        scene_send(&scene, mate, LATE_NS, 2 * AIRTIME_NS);
        scene_play(&scene);
        if (close)
            scene_expect(&scene, 0, 0, BLOCKED, mate);
        else
            scene_expect_received(&scene, 0, 0);
    }
}
END_TEST

START_TEST(a_frame_that_the_own_mast_keeps_from_being_locked_is_blocked)
{
    uint32_t mate = init_with_mate(60.0);
    scene_send(&scene, mate, 0, AIRTIME_NS);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, BLOCKED, mate);
}
END_TEST

/* Frame 0 is tested with the own mast and an outsider on the air at the times given. */
static void
play_mate_and_outsider(double isolation_db, double outsider_dbm, int64_t mate_ns,
                       int64_t outsider_ns, SpateOutcome outcome, bool mate_is_to_blame)
{
    uint32_t mate = init_with_mate(isolation_db);
    uint32_t outsider = scene_add_sender(&scene, 1, outsider_dbm);
    scene_send(&scene, mate, mate_ns, mate_ns + 15 * SYMBOL_NS);
    scene_send(&scene, outsider, outsider_ns, outsider_ns + 15 * SYMBOL_NS);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, outcome, mate_is_to_blame ? mate : outsider);
}

START_TEST(a_frame_is_blocked_only_if_it_would_have_passed_every_test_without_the_own_mast)
{
    const int64_t early_ns = 14 * SYMBOL_NS, late_ns = 16 * SYMBOL_NS, after_ns = 30 * SYMBOL_NS;
    /* Each alone breaks it: whoever comes first, whether they meet or not. */
    play_mate_and_outsider(60.0, -60.5, early_ns, late_ns, COLLISION, true);
    play_mate_and_outsider(60.0, -60.5, late_ns, early_ns, COLLISION, false);
    play_mate_and_outsider(60.0, -60.5, early_ns, after_ns, COLLISION, true);
    /* 3 dB below, a share of 0.631 each: only together; the outsider alone would not. */
    play_mate_and_outsider(83.0, -83.5, early_ns, late_ns, BLOCKED, true);
    play_mate_and_outsider(83.5, -83.0, early_ns, late_ns, BLOCKED, false);
    /* A weak outsider does not matter. */
    play_mate_and_outsider(60.0, -100.0, late_ns, early_ns, BLOCKED, true);
}
END_TEST

START_TEST(a_frame_whose_lock_was_taken_is_not_blocked)
{
    /* The mate breaks the frame within its critical part, then a stronger one takes the lock.
     */
    uint32_t mate = init_with_mate(75.0);
    uint32_t stronger = scene_add_sender(&scene, 0, -60.0);
    scene_send(&scene, mate, 5 * SYMBOL_NS, AIRTIME_NS);
    uint32_t frame = scene_send(&scene, stronger, 8 * SYMBOL_NS, 2 * AIRTIME_NS);
    scene_play(&scene);
    ck_assert(scene.by_channel.fates[0][0].outcome == COLLISION);
    scene_expect_received(&scene, frame, 0);
}
END_TEST

START_TEST(a_frame_that_is_lost_as_busy_is_not_blocked)
{
    uint32_t mate = init_with_mate(60.0);
    uint32_t other = scene_add_sender(&scene, 0, -70.0);
    scene_send(&scene, mate, LATE_NS, AIRTIME_NS);
    uint32_t frame = scene_send(&scene, other, LATE_NS, AIRTIME_NS);
    scene_play(&scene);
    scene_expect(&scene, frame, 0, BUSY, scene.script.frames[0].radio);
}
END_TEST

START_TEST(the_disturber_has_the_largest_share_not_the_largest_power)
{
    /* SF9 at 125 kHz: -9 dB against SF7.  20 dB stronger, a share of 11 dB; of the same
     * settings and 11 dB stronger, 12 dB. */
    init_wanted();
    SpateBearer other_sf = star_lora(9, PREAMBLE_SYMBOLS, 5);
    uint32_t loud = scene_add_sender(&scene, scene_add_bearer(&scene, &other_sf), -60.0);
    uint32_t alike = scene_add_sender(&scene, add_same_settings(), -69.0);
    scene_send(&scene, loud, LATE_NS, 5 * AIRTIME_NS);
    scene_send(&scene, alike, LATE_NS, 2 * AIRTIME_NS);
    scene_play(&scene);
    scene_expect(&scene, 0, 0, COLLISION, alike);
}
END_TEST

START_TEST(the_disturber_is_found_when_the_test_first_fails)
{
    /* The first leaves the frame alone (a share of 0.5), the second breaks it, the third is
     * louder, but late. */
    init_wanted();
    uint32_t other = add_same_settings();
    const double levels_dbm[] = {-84.0, -75.0, -60.0};
    uint32_t second = 0;
    for (int i = 0; i < 3; i++) {
        uint32_t radio = scene_add_sender(&scene, other, levels_dbm[i]);
        scene_send(&scene, radio, LATE_NS + i * SYMBOL_NS, 2 * AIRTIME_NS);
        second = i == 1 ? radio : second;
    }
    scene_play(&scene);
    scene_expect(&scene, 0, 0, COLLISION, second);
}
END_TEST

START_TEST(of_equal_shares_the_first_by_name_is_to_blame)
{
    /* Each leaves the frame alone (a share of 0.6), the two together break it. */
    for (int first_is_late = 0; first_is_late < 2; first_is_late++) {
        init_wanted();
        uint32_t other = add_same_settings();
        uint32_t first = scene_add_sender(&scene, other, -83.2);
        uint32_t second = scene_add_sender(&scene, other, -83.2);
        scene_send(&scene, first, LATE_NS + first_is_late * SYMBOL_NS, 2 * AIRTIME_NS);
        scene_send(&scene, second, LATE_NS + !first_is_late * SYMBOL_NS, 2 * AIRTIME_NS);
        scene_play(&scene);
        scene_expect(&scene, 0, 0, COLLISION, first);
    }
}
END_TEST

START_TEST(the_disturber_of_a_frame_never_locked_is_the_loudest_when_its_critical_part_begins)
{
    init_wanted();
    uint32_t other = add_same_settings();
    uint32_t until_start = scene_add_sender(&scene, other, -50.0);
    uint32_t throughout = scene_add_sender(&scene, other, -60.0);
    uint32_t wanted = scene.script.frames[0].radio;
    scene_send(&scene, until_start, AIRTIME_NS, 3 * AIRTIME_NS);
    scene_send(&scene, throughout, AIRTIME_NS, 4 * AIRTIME_NS);
    int64_t start_ns = 3 * AIRTIME_NS - SYMBOL_NS;
    uint32_t frame = scene_send(&scene, wanted, start_ns, start_ns + AIRTIME_NS);
    scene_play(&scene);
    scene_expect_received(&scene, 0, 0);
    scene_expect(&scene, frame, 0, COLLISION, throughout);
}
END_TEST

CHECK_MAIN("survival", one_interferer_is_survived_from_the_protection_ratio_on,
           shares_of_several_interferers_add_up, noise_has_its_share,
           an_interferer_that_is_over_before_the_critical_part_does_no_harm,
           an_interferer_that_reaches_into_the_critical_part_breaks_the_frame,
           an_interferer_at_the_last_ns_breaks_the_frame,
           a_radio_stays_locked_on_a_broken_frame_to_its_end,
           an_interferer_counts_with_the_share_of_a_symbol_that_it_lasts,
           an_interferer_of_a_symbol_or_more_counts_in_full,
           the_other_radio_of_the_node_disturbs_over_the_isolation,
           a_frame_that_the_own_mast_keeps_from_being_locked_is_blocked,
           a_frame_is_blocked_only_if_it_would_have_passed_every_test_without_the_own_mast,
           a_frame_whose_lock_was_taken_is_not_blocked, a_frame_that_is_lost_as_busy_is_not_blocked,
           the_disturber_has_the_largest_share_not_the_largest_power,
           the_disturber_is_found_when_the_test_first_fails,
           of_equal_shares_the_first_by_name_is_to_blame,
           the_disturber_of_a_frame_never_locked_is_the_loudest_when_its_critical_part_begins)
