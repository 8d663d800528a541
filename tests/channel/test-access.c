/* test-access.c - when a radio may send: the duty cycle, locks, turnaround */
#include "channel/duty.h"
#include "channel/stations.h"
#include "support/check-main.h"

START_TEST(no_hour_holds_more_than_the_duty_cycle_allows)
{
    /* Brute force: the time on air in every window that begins or ends with a frame. */
    Star star = {.bearer = star_lora(7, 8, 5)};
    star.bearer.duty_limit_ns = 36 * SPATE_NS_PER_S;
    g_autoptr(SpateMedium) medium = star_medium(&star, 1, 14.0, all_hear_all, NULL);
    Stations stations;
    stations_init(&stations, medium, 1700 * SPATE_NS_PER_MS, true);
    stations_request(&stations, 0);
    spate_event_queue_run_until(stations.queue, 5 * SPATE_NS_PER_HOUR, NULL);
    for (guint i = 0; i < stations.n_starts; i++) {
        int64_t end_ns = stations.starts_ns[i] + stations.airtime_ns;
        int64_t sum_ns = 0;
        for (guint k = 0; k <= i; k++)
            sum_ns += MAX(0, stations.starts_ns[k] + stations.airtime_ns -
                                 MAX(stations.starts_ns[k], end_ns - SPATE_NS_PER_HOUR));
        ck_assert_int_le(sum_ns, star.bearer.duty_limit_ns);
    }
    /* ... and the limit is used: 36 s each hour are 21 whole frames and a part. */
    ck_assert_int_ge(stations.n_starts, 5 * 21);
    ck_assert_int_gt(stations.waits.duty_ns, 0);
    /* Nobody else is there: the channel itself lets it wait no longer. */
    ck_assert_int_eq(stations.waits.access_ns, 0);
    stations_clear(&stations);
}
END_TEST

START_TEST(a_frame_partly_within_the_hour_counts_by_that_part)
{
    /* 10 s allowed.  Sent: 6 s from 0.  A frame of 7 s needs all but 3 s of them outside: its
     * window begins at 3 s, so that it ends at 3603 s and begins at 3596 s.  One of 10 s needs an
     * hour for itself, from 6 s on. */
    SpateDutyLog log = {0};
    const int64_t s = SPATE_NS_PER_S;
    spate_duty_log_note(&log, 0, 6 * s);
    ck_assert_int_eq(spate_duty_log_earliest_ns(&log, 6 * s, 4 * s, 10 * s), 6 * s);
    ck_assert_int_eq(spate_duty_log_earliest_ns(&log, 6 * s, 7 * s, 10 * s), 3596 * s);
    ck_assert_int_eq(spate_duty_log_earliest_ns(&log, 6 * s, 10 * s, 10 * s), 3596 * s);
    ck_assert_int_eq(spate_duty_log_earliest_ns(&log, 6 * s, 11 * s, 10 * s), SPATE_NEVER_NS);
    spate_duty_log_clear(&log);
}
END_TEST

START_TEST(without_an_access_method_a_radio_waits_for_its_lock_and_the_turnaround)
{
    Star star = {.bearer = star_lora(10, 8, 5)};
    star.bearer.turnaround_ns = 3 * SPATE_NS_PER_MS;
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 14.0, all_hear_all, NULL);
    Stations stations;
    stations_init(&stations, medium, SPATE_NS_PER_S, false);
    stations_request(&stations, 1);
    spate_event_queue_schedule(stations.queue, 400 * SPATE_NS_PER_MS, SPATE_RANK_TIMER,
                               stations_request_later, &stations, 0);
    spate_event_queue_run_until(stations.queue, SPATE_NS_PER_HOUR, NULL);
    ck_assert_int_eq(stations.starts_ns[0], 0);
    ck_assert_int_eq(stations.starts_ns[1], 1003 * SPATE_NS_PER_MS);
    ck_assert_int_eq(stations.waits.access_ns, 603 * SPATE_NS_PER_MS);
    stations_clear(&stations);
}
END_TEST

START_TEST(a_request_that_is_taken_back_is_not_answered)
{
    Star star = {.bearer = star_dsss(250000)};
    g_autoptr(SpateMedium) medium = star_medium(&star, 2, 20.0, all_hear_all, NULL);
    Stations stations;
    stations_init(&stations, medium, SPATE_NS_PER_MS, false);
    stations_request(&stations, 0);
    spate_access_withdraw(stations.access, 0);
    spate_access_withdraw(stations.access, 0);
    spate_event_queue_run_until(stations.queue, SPATE_NS_PER_S, NULL);
    ck_assert_uint_eq(stations.n_starts, 0);
    stations_clear(&stations);
}
END_TEST

CHECK_MAIN("access", no_hour_holds_more_than_the_duty_cycle_allows,
           a_frame_partly_within_the_hour_counts_by_that_part,
           without_an_access_method_a_radio_waits_for_its_lock_and_the_turnaround,
           a_request_that_is_taken_back_is_not_answered)
