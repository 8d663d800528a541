/* test-csma.c - IEEE 802.11 DCF for group-addressed frames */
#include "channel/stations.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

/* Share of frames that began at the same instant as another. */
static double
collision_share(const Stations *stations)
{
    guint n_collided = 0;
    for (guint i = 0; i < stations->n_starts; i++) {
        bool with_before = i > 0 && stations->starts_ns[i - 1] == stations->starts_ns[i];
        bool with_after =
            i + 1 < stations->n_starts && stations->starts_ns[i + 1] == stations->starts_ns[i];
        n_collided += with_before || with_after;
    }
    return (double)n_collided / stations->n_starts;
}

START_TEST(saturated_stations_share_the_channel_as_dcf_does)
{
    /* Rows `dcf-broadcast-saturated`: slot-exact simulation of IEEE 802.11 DCF, all stations
     * hear all, uniform 0 .. 31, 1336 us frames of 800 bits.  The rows' own uncertainty is
     * 0.004 and 1 %. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *quantity = reference_text(rows, i, "quantity");
        bool is_collision = strcmp(quantity, "collision_probability_simulated") == 0;
        if (strcmp(reference_text(rows, i, "model"), "dcf-broadcast-saturated") != 0 ||
            (!is_collision && strcmp(quantity, "throughput_simulated") != 0))
            continue;
        uint32_t n = (uint32_t)reference_input(rows, i, "stations");
        int64_t frame_ns = (int64_t)reference_input(rows, i, "frame_us") * SPATE_NS_PER_US;
        int64_t span_ns = 200 * SPATE_NS_PER_S;
        Star star = {.bearer = star_dsss(1000000)};
        g_autoptr(SpateMedium) medium = star_medium(&star, n, 20.0, all_hear_all, NULL);
        Stations stations;
        stations_init(&stations, medium, frame_ns, true);
        for (uint32_t s = 0; s < n; s++)
            stations_request(&stations, s);
        spate_event_queue_run_until(stations.queue, span_ns, NULL);
        double collided = collision_share(&stations);
        double mbps = (1.0 - collided) * stations.n_starts *
                      reference_input(rows, i, "payload_bits") / ((double)span_ns / 1e3);
        double value = reference_number(rows, i, "value");
        if (is_collision)
            ck_assert_msg(fabs(collided - value) <= 0.006, "%u stations: %.4f collide, not %.4f", n,
                          collided, value);
        else
            ck_assert_msg(fabs(mbps - value) <= 0.015 * value, "%u stations: %.4f Mbit/s, not %.4f",
                          n, mbps, value);
        stations_clear(&stations);
    }
}
END_TEST

START_TEST(a_lone_csma_frame_waits_difs_and_its_backoff)
{
    Star star = {.bearer = star_dsss(1000000)};
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 20.0, all_hear_all, NULL);
    Stations stations;
    stations_init(&stations, medium, SPATE_NS_PER_MS, true);
    stations_request(&stations, 0);
    spate_event_queue_run_until(stations.queue, 10 * SPATE_NS_PER_S, NULL);
    int seen[32] = {0};
    for (guint i = 1; i < stations.n_starts; i++) {
        int64_t gap_ns =
            stations.starts_ns[i] - stations.starts_ns[i - 1] - SPATE_NS_PER_MS - 50000;
        ck_assert_int_eq(gap_ns % 20000, 0);
        ck_assert_int_ge(gap_ns, 0);
        ck_assert_int_le(gap_ns / 20000, 31);
        seen[gap_ns / 20000]++;
    }
    for (int slots = 0; slots < 32; slots++)
        ck_assert_int_gt(seen[slots], 0);
    stations_clear(&stations);
}
END_TEST

static void
begin_disturber(gpointer subject, uint32_t radio)
{
    Stations *stations = subject;
    spate_channel_begin(stations->channel, radio, SPATE_NS_PER_MS, 0, 1000000);
}

/* When radio 0 begins a frame requested at 0, with radio 1 sending for 1 ms from `busy_ns` on;
 * never if that is negative.  The same identity draws the same backoff. */
static int64_t
csma_start_ns(uint64_t identity, int64_t busy_ns)
{
    Star star = {.bearer = star_dsss(1000000)};
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 20.0, all_hear_all, NULL);
    Stations stations;
    stations_init(&stations, medium, SPATE_NS_PER_MS, false);
    stations.n_requests = identity;
    stations_request(&stations, 0);
    if (busy_ns >= 0)
        spate_event_queue_schedule(stations.queue, busy_ns, SPATE_RANK_START, begin_disturber,
                                   &stations, 1);
    spate_event_queue_run_until(stations.queue, SPATE_NS_PER_S, NULL);
    ck_assert_uint_eq(stations.n_starts, 1);
    int64_t start_ns = stations.starts_ns[0];
    stations_clear(&stations);
    return start_ns;
}

START_TEST(a_busy_channel_freezes_the_backoff_and_difs_passes_anew)
{
    const int64_t us = SPATE_NS_PER_US, difs_ns = 50 * us, slot_ns = 20 * us;
    int n_long = 0;
    for (uint64_t identity = 0; identity < 40; identity++) {
        int64_t slots = (csma_start_ns(identity, -1) - difs_ns) / slot_ns;
        ck_assert_int_eq(csma_start_ns(identity, -1), difs_ns + slots * slot_ns);
        if (slots < 4)
            continue;
        n_long++;
        /* Busy from, and the slots that had passed in whole. */
        const struct {
            int64_t busy_ns, passed;
        } cases[] = {{0, 0},
                     {30 * us, 0},
                     {difs_ns, 0},
                     {difs_ns + 1, 0},
                     {difs_ns + 2 * slot_ns - 1, 1},
                     {difs_ns + 2 * slot_ns, 2},
                     {difs_ns + 3 * slot_ns + 7 * us, 3}};
        for (size_t i = 0; i < G_N_ELEMENTS(cases); i++)
            ck_assert_int_eq(csma_start_ns(identity, cases[i].busy_ns),
                             cases[i].busy_ns + SPATE_NS_PER_MS + difs_ns +
                                 (slots - cases[i].passed) * slot_ns);
        /* Both begin when the last slot is over. */
        int64_t own_ns = difs_ns + slots * slot_ns;
        ck_assert_int_eq(csma_start_ns(identity, own_ns), own_ns);
    }
    ck_assert_int_gt(n_long, 20);
}
END_TEST

START_TEST(power_at_the_threshold_makes_the_channel_busy_without_a_lock)
{
    /* A radio of 20 dBm: -76 dBm (IEEE Std 802.11, clause 15).  It sends to 1 ms, when the
     * critical part of a frame from 0.5 ms to 5 ms is long since on. */
    for (int loud = 0; loud <= 1; loud++) {
        Star star = {.bearer = star_dsss(1000000)};
        double level_dbm = loud ? -75.9 : -76.1;
        g_autoptr(SpateMedium) medium =
            star_medium(&star, 2, 20.0, only_the_first_hears, &level_dbm);
        Unlocked unlocked = {.own_ns = SPATE_NS_PER_MS,
                             .other_ns = SPATE_NS_PER_MS / 2,
                             .other_end_ns = 5 * SPATE_NS_PER_MS};
        unlocked_begin(&unlocked, medium, SPATE_NS_PER_MS, false);
        spate_event_queue_run_until(unlocked.stations.queue, SPATE_NS_PER_S, NULL);
        int64_t idle_ns = loud ? unlocked.other_end_ns : unlocked.own_ns;
        int64_t waited_ns = unlocked.stations.starts_ns[0] - idle_ns - 50 * SPATE_NS_PER_US;
        ck_assert_int_ge(waited_ns, 0);
        ck_assert_int_le(waited_ns, 31 * 20 * SPATE_NS_PER_US);
        stations_clear(&unlocked.stations);
    }
}
END_TEST

START_TEST(power_just_at_a_threshold_as_given_makes_the_channel_busy)
{
    /* "At or above": at the sensitivity all figures are whole, so that equal is equal. */
    Star star = {.bearer = star_dsss(1000000)};
    double level_dbm = spate_bearer_sensitivity_dbm(&star.bearer);
    star.bearer.access.csma_threshold_dbm = level_dbm;
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 20.0, only_the_first_hears, &level_dbm);
    Unlocked unlocked = {.own_ns = SPATE_NS_PER_MS,
                         .other_ns = SPATE_NS_PER_MS / 2,
                         .other_end_ns = 5 * SPATE_NS_PER_MS};
    unlocked_begin(&unlocked, medium, SPATE_NS_PER_MS, false);
    spate_event_queue_run_until(unlocked.stations.queue, SPATE_NS_PER_S, NULL);
    ck_assert_int_ge(unlocked.stations.starts_ns[0], unlocked.other_end_ns);
    stations_clear(&unlocked.stations);
}
END_TEST

CHECK_MAIN("csma", saturated_stations_share_the_channel_as_dcf_does,
           a_lone_csma_frame_waits_difs_and_its_backoff,
           a_busy_channel_freezes_the_backoff_and_difs_passes_anew,
           power_at_the_threshold_makes_the_channel_busy_without_a_lock,
           power_just_at_a_threshold_as_given_makes_the_channel_busy)
