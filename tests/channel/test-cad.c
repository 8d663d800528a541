/* test-cad.c - channel activity detection before sending */
#include "channel/stations.h"
#include "support/check-main.h"

#include <math.h>

START_TEST(cad_waits_while_it_hears_a_frame_and_then_sends_all_the_same)
{
    /* Radio 1 sends for 100 s; radio 0 looks for 2 symbols of 8.192 ms, at most 4 times, waits
     * whole airtimes in between, and at last for the end of the frame that it is locked on. */
    Star star = {.bearer = star_lora(10, 8, 5)};
    star.bearer.access.method = SPATE_ACCESS_CAD;
    star.bearer.turnaround_ns = 7 * SPATE_NS_PER_MS;
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 14.0, all_hear_all, NULL);
    Stations stations;
    stations_init(&stations, medium, 100 * SPATE_NS_PER_S, false);
    stations_request(&stations, 1);
    spate_event_queue_schedule(stations.queue, SPATE_NS_PER_S, SPATE_RANK_TIMER,
                               stations_request_later, &stations, 0);
    spate_event_queue_run_until(stations.queue, 50 * SPATE_NS_PER_S, NULL);
    ck_assert_uint_eq(stations.n_starts, 1);
    ck_assert_int_eq(stations.starts_ns[0], 2 * 8192 * SPATE_NS_PER_US);
    spate_event_queue_run_until(stations.queue, 3 * SPATE_NS_PER_HOUR, NULL);
    ck_assert_uint_eq(stations.n_starts, 2);
    ck_assert_uint_eq(stations.starters[1], 0);
    ck_assert_int_ge(stations.starts_ns[1],
                     stations.starts_ns[0] + stations.airtime_ns + star.bearer.turnaround_ns);
    stations_clear(&stations);
}
END_TEST

/* Whole airtimes that frame i, and the two symbols of each of its looks, waited after the frame
 * before it. */
static int64_t
airtimes_waited(const Stations *stations, guint i, int64_t looks_ns)
{
    int64_t before_ns = stations->starts_ns[i - 1] + stations->airtime_ns;
    int64_t waited_ns = stations->starts_ns[i] - before_ns - looks_ns;
    ck_assert_int_eq(waited_ns % stations->airtime_ns, 0);
    return waited_ns / stations->airtime_ns;
}

/* SF10 at 125 kHz: a symbol of 8.192 ms, the preamble of 8 + 4.25 symbols lasts 100 ms. */
#define CAD_NS (2 * 8192 * SPATE_NS_PER_US)

START_TEST(cad_waits_one_to_so_many_airtimes_between_looks_all_alike)
{
    /* A frame that lasts as long as the test is in the air: of two tries both find it. */
    Star star = {.bearer = star_lora(10, 8, 5)};
    star.bearer.access.method = SPATE_ACCESS_CAD;
    star.bearer.access.cad_tries = 2;
    double level_dbm = -60.0;
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 14.0, only_the_first_hears, &level_dbm);
    Unlocked unlocked = {.own_ns = SPATE_NS_PER_S,
                         .other_ns = SPATE_NS_PER_S / 2,
                         .other_end_ns = 100 * SPATE_NS_PER_HOUR};
    unlocked_begin(&unlocked, medium, SPATE_NS_PER_S, true);
    spate_event_queue_run_until(unlocked.stations.queue, 8 * SPATE_NS_PER_HOUR, NULL);
    int seen[7] = {0}, n = 0;
    for (guint i = 1; i < unlocked.stations.n_starts; i++, n++) {
        int64_t airtimes = airtimes_waited(&unlocked.stations, i, 2 * CAD_NS);
        ck_assert_int_ge(airtimes, 1);
        ck_assert_int_le(airtimes, 6);
        seen[airtimes]++;
    }
    ck_assert_int_gt(n, 6000);
    for (int airtimes = 1; airtimes <= 6; airtimes++)
        ck_assert_double_eq_tol(seen[airtimes], n / 6.0, 4.0 * sqrt(n * 5.0 / 36.0));
    stations_clear(&unlocked.stations);
}
END_TEST

START_TEST(cad_looks_so_many_times_before_it_sends_all_the_same)
{
    for (int tries = 1; tries <= 5; tries++) {
        Star star = {.bearer = star_lora(10, 8, 5)};
        star.bearer.access.method = SPATE_ACCESS_CAD;
        star.bearer.access.cad_tries = tries;
        star.bearer.access.cad_slots = 1;
        double level_dbm = -60.0;
        g_autoptr(SpateMedium) medium =
            star_medium(&star, 2, 14.0, only_the_first_hears, &level_dbm);
        Unlocked unlocked = {.own_ns = SPATE_NS_PER_S,
                             .other_ns = SPATE_NS_PER_S / 2,
                             .other_end_ns = 100 * SPATE_NS_PER_HOUR};
        unlocked_begin(&unlocked, medium, SPATE_NS_PER_S, false);
        spate_event_queue_run_until(unlocked.stations.queue, SPATE_NS_PER_HOUR, NULL);
        ck_assert_uint_eq(unlocked.stations.n_starts, 1);
        ck_assert_int_eq(unlocked.stations.starts_ns[0],
                         unlocked.own_ns + tries * CAD_NS + (tries - 1) * SPATE_NS_PER_S);
        stations_clear(&unlocked.stations);
    }
}
END_TEST

START_TEST(cad_finds_a_frame_with_the_probability_of_detection)
{
    /* One slot, two tries: a frame that is not found costs one look, else one airtime too. */
    Star star = {.bearer = star_lora(10, 8, 5)};
    star.bearer.access.method = SPATE_ACCESS_CAD;
    star.bearer.access.cad_tries = 2;
    star.bearer.access.cad_slots = 1;
    star.bearer.access.cad_detection = 0.3;
    double level_dbm = -60.0;
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 14.0, only_the_first_hears, &level_dbm);
    Unlocked unlocked = {.own_ns = SPATE_NS_PER_S,
                         .other_ns = SPATE_NS_PER_S / 2,
                         .other_end_ns = 100 * SPATE_NS_PER_HOUR};
    unlocked_begin(&unlocked, medium, SPATE_NS_PER_S, true);
    spate_event_queue_run_until(unlocked.stations.queue, 4 * SPATE_NS_PER_HOUR, NULL);
    int n_found = 0, n = 0;
    for (guint i = 1; i < unlocked.stations.n_starts; i++, n++) {
        int64_t gap_ns = unlocked.stations.starts_ns[i] - unlocked.stations.starts_ns[i - 1] -
                         unlocked.stations.airtime_ns;
        n_found += gap_ns > CAD_NS;
    }
    ck_assert_double_eq_tol(n_found, 0.3 * n, 4.0 * sqrt(0.21 * n));
    stations_clear(&unlocked.stations);
}
END_TEST

static double
the_first_hears_all(uint32_t sender, uint32_t receiver, void *user)
{
    (void)user;
    return receiver == 0 && sender != 0 ? -60.0 : -300.0;
}

static void
begin_third(gpointer subject, uint32_t radio)
{
    Unlocked *unlocked = subject;
    spate_channel_begin(unlocked->stations.channel, radio, unlocked->other_end_ns, 0, 2000000);
}

START_TEST(cad_finds_each_of_two_frames_for_itself)
{
    /* Both are equally loud, so the radio can lock on neither.  Either is found: 1 - 0.7 * 0.7. */
    Star star = {.bearer = star_lora(10, 8, 5)};
    star.bearer.access.method = SPATE_ACCESS_CAD;
    star.bearer.access.cad_tries = 2;
    star.bearer.access.cad_slots = 1;
    star.bearer.access.cad_detection = 0.3;
    g_autoptr(SpateMedium) medium = star_medium(&star, 3, 14.0, the_first_hears_all, NULL);
    Unlocked unlocked = {.own_ns = SPATE_NS_PER_S,
                         .other_ns = SPATE_NS_PER_S / 2,
                         .other_end_ns = 100 * SPATE_NS_PER_HOUR};
    unlocked_begin(&unlocked, medium, SPATE_NS_PER_S, true);
    spate_event_queue_schedule(unlocked.stations.queue, unlocked.own_ns + 1, SPATE_RANK_START,
                               begin_third, &unlocked, 2);
    spate_event_queue_run_until(unlocked.stations.queue, 4 * SPATE_NS_PER_HOUR, NULL);
    int n_found = 0, n = 0;
    for (guint i = 1; i < unlocked.stations.n_starts; i++, n++) {
        int64_t gap_ns = unlocked.stations.starts_ns[i] - unlocked.stations.starts_ns[i - 1] -
                         unlocked.stations.airtime_ns;
        n_found += gap_ns > CAD_NS;
    }
    ck_assert_double_eq_tol(n_found, 0.51 * n, 4.0 * sqrt(0.25 * n));
    stations_clear(&unlocked.stations);
}
END_TEST

START_TEST(cad_does_not_find_a_frame_that_has_faded_away)
{
    /* 10 dB below the sensitivity on average: Rayleigh lifts one in 22000 over it (exp(-10)). */
    Star star = {.bearer = star_lora(10, 8, 5), .fading = {.kind = SPATE_FADING_RAYLEIGH}};
    star.bearer.access.method = SPATE_ACCESS_CAD;
    double level_dbm = spate_bearer_sensitivity_dbm(&star.bearer) - 10.0;
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 14.0, only_the_first_hears, &level_dbm);
    Unlocked unlocked = {.own_ns = SPATE_NS_PER_S,
                         .other_ns = SPATE_NS_PER_S / 2,
                         .other_end_ns = SPATE_NS_PER_HOUR};
    unlocked_begin(&unlocked, medium, SPATE_NS_PER_S, false);
    spate_event_queue_run_until(unlocked.stations.queue, SPATE_NS_PER_HOUR, NULL);
    ck_assert_int_eq(unlocked.stations.starts_ns[0], unlocked.own_ns + CAD_NS);
    stations_clear(&unlocked.stations);
}
END_TEST

START_TEST(cad_without_payload_finds_a_frame_only_in_its_preamble)
{
    /* In quarters of a symbol after the frame began (critical from 3 symbols, the preamble lasts
     * 12.25): free after 5, the radio looks to the 7th and finds it; after 11, it looks to the 13th
     * and does not.  A look that ends with the preamble has seen nothing else. */
    const struct {
        int64_t free_after_quarters;
        bool is_found;
    } cases[] = {{4 * 5, true}, {4 * 10 + 1, true}, {4 * 10 + 2, false}, {4 * 11, false}};
    const int64_t symbol_ns = CAD_NS / 2;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        Star star = {.bearer = star_lora(10, 8, 5)};
        star.bearer.access.method = SPATE_ACCESS_CAD;
        star.bearer.access.cad_payload = false;
        double level_dbm = -60.0;
        g_autoptr(SpateMedium) medium =
            star_medium(&star, 2, 14.0, only_the_first_hears, &level_dbm);
        Unlocked unlocked = {.own_ns = symbol_ns + cases[i].free_after_quarters * symbol_ns / 4,
                             .other_ns = symbol_ns,
                             .other_end_ns = SPATE_NS_PER_HOUR};
        unlocked_begin(&unlocked, medium, SPATE_NS_PER_S, false);
        spate_event_queue_run_until(unlocked.stations.queue, SPATE_NS_PER_HOUR, NULL);
        int64_t waited_ns = unlocked.stations.starts_ns[0] - unlocked.own_ns;
        if (cases[i].is_found)
            ck_assert_int_ge(waited_ns, 2 * CAD_NS + SPATE_NS_PER_S);
        else
            ck_assert_int_eq(waited_ns, CAD_NS);
        stations_clear(&unlocked.stations);
    }
}
END_TEST

CHECK_MAIN("cad", cad_waits_while_it_hears_a_frame_and_then_sends_all_the_same,
           cad_waits_one_to_so_many_airtimes_between_looks_all_alike,
           cad_looks_so_many_times_before_it_sends_all_the_same,
           cad_finds_a_frame_with_the_probability_of_detection,
           cad_finds_each_of_two_frames_for_itself, cad_does_not_find_a_frame_that_has_faded_away,
           cad_without_payload_finds_a_frame_only_in_its_preamble)
