/* test-access.c - when a radio may send: duty cycle, cad, csma */
#include "channel/access.h"
#include "channel/duty.h"
#include "channel/star.h"
#include "core/random.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

#define MOST_STATIONS 20
#define MOST_STARTS   400000

typedef struct {
    SpateEventQueue *queue;
    SpateChannel *channel;
    SpateAccessControl *access;
    int64_t airtime_ns;
    bool saturated;
    uint64_t n_requests;
    int64_t *starts_ns; /* of all radios, in order */
    uint32_t *starters;
    SpateAccessWaits waits;
    guint n_starts;
} Stations;

static double
all_hear_all(uint32_t sender, uint32_t receiver, void *user)
{
    (void)sender;
    (void)receiver;
    (void)user;
    return -50.0;
}

static void
may_send(gpointer user, uint32_t radio, SpateAccessWaits waits)
{
    Stations *stations = user;
    g_assert(stations->n_starts < MOST_STARTS);
    stations->starts_ns[stations->n_starts] = spate_event_queue_now_ns(stations->queue);
    stations->starters[stations->n_starts++] = radio;
    stations->waits = waits;
    spate_channel_begin(stations->channel, radio, stations->airtime_ns, 0, ++stations->n_requests);
}

static void
request(Stations *stations, uint32_t radio)
{
    spate_access_request(stations->access, radio, stations->airtime_ns, ++stations->n_requests);
}

static void
request_later(gpointer subject, uint32_t radio)
{
    request(subject, radio);
}

static void
frame_sent(gpointer user, const SpateAirFrame *frame)
{
    Stations *stations = user;
    if (stations->saturated)
        request(stations, frame->sender);
}

static void
changed(gpointer user, uint32_t radio)
{
    spate_access_channel_changed(((Stations *)user)->access, radio);
}

static void
stations_init(Stations *stations, SpateMedium *medium, int64_t airtime_ns, bool saturated)
{
    *stations = (Stations){.airtime_ns = airtime_ns, .saturated = saturated};
    stations->queue = spate_event_queue_new();
    stations->channel = spate_channel_new(stations->queue, medium, 3, 0, false);
    stations->access =
        spate_access_new(stations->queue, stations->channel, medium, 3, 0, may_send, stations);
    stations->starts_ns = g_new(int64_t, MOST_STARTS);
    stations->starters = g_new(uint32_t, MOST_STARTS);
    SpateChannelHooks hooks = {.sent = frame_sent, .changed = changed};
    spate_channel_set_hooks(stations->channel, &hooks, stations);
}

static void
stations_clear(Stations *stations)
{
    spate_access_free(stations->access);
    spate_channel_free(stations->channel);
    spate_event_queue_free(stations->queue);
    g_free(stations->starts_ns);
    g_free(stations->starters);
}

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
                request(&stations, s);
            spate_event_queue_run_until(stations.queue, span_ns, NULL);
            double collided = collision_share(&stations);
            double mbps = (1.0 - collided) * stations.n_starts *
                          reference_input(rows, i, "payload_bits") / ((double)span_ns / 1e3);
            double value = reference_number(rows, i, "value");
            if (is_collision)
                ck_assert_msg(fabs(collided - value) <= 0.006,
                              "%u stations: %.4f collide, not %.4f", n, collided, value);
            else
                ck_assert_msg(fabs(mbps - value) <= 0.015 * value,
                              "%u stations: %.4f Mbit/s, not %.4f", n, mbps, value);
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
        request(&stations, 0);
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

START_TEST(no_hour_holds_more_than_the_duty_cycle_allows)
    {
        /* Brute force: the time on air in every window that begins or ends with a frame. */
        Star star = {.bearer = star_lora(7, 8, 5)};
        star.bearer.duty_limit_ns = 36 * SPATE_NS_PER_S;
        g_autoptr(SpateMedium) medium = star_medium(&star, 1, 14.0, all_hear_all, NULL);
        Stations stations;
        stations_init(&stations, medium, 1700 * SPATE_NS_PER_MS, true);
        request(&stations, 0);
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
        stations_clear(&stations);
    }
END_TEST

START_TEST(a_frame_partly_within_the_hour_counts_by_that_part)
    {
        /* 10 s allowed.  Sent: 6 s from 0.  A frame of 7 s needs all but 3 s of them outside: its
         * window begins at 3 s, so that it ends at 3603 s and begins at 3596 s. */
        SpateDutyLog log;
        spate_duty_log_init(&log);
        const int64_t s = SPATE_NS_PER_S;
        spate_duty_log_note(&log, 0, 6 * s);
        ck_assert_int_eq(spate_duty_log_earliest_ns(&log, 6 * s, 4 * s, 10 * s), 6 * s);
        ck_assert_int_eq(spate_duty_log_earliest_ns(&log, 6 * s, 7 * s, 10 * s), 3596 * s);
        ck_assert_int_eq(spate_duty_log_earliest_ns(&log, 6 * s, 11 * s, 10 * s), SPATE_NEVER_NS);
        spate_duty_log_clear(&log);
    }
END_TEST

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
        request(&stations, 1);
        spate_event_queue_schedule(stations.queue, SPATE_NS_PER_S, SPATE_RANK_TIMER, request_later,
                                   &stations, 0);
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

START_TEST(without_an_access_method_a_radio_waits_for_its_lock_and_the_turnaround)
    {
        Star star = {.bearer = star_lora(10, 8, 5)};
        star.bearer.turnaround_ns = 3 * SPATE_NS_PER_MS;
        g_autoptr(SpateMedium) medium = star_medium(&star, 2, 14.0, all_hear_all, NULL);
        Stations stations;
        stations_init(&stations, medium, SPATE_NS_PER_S, false);
        request(&stations, 1);
        spate_event_queue_schedule(stations.queue, 400 * SPATE_NS_PER_MS, SPATE_RANK_TIMER,
                                   request_later, &stations, 0);
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
        request(&stations, 0);
        spate_access_withdraw(stations.access, 0);
        spate_access_withdraw(stations.access, 0);
        spate_event_queue_run_until(stations.queue, SPATE_NS_PER_S, NULL);
        ck_assert_uint_eq(stations.n_starts, 0);
        stations_clear(&stations);
    }
END_TEST

CHECK_MAIN("access", saturated_stations_share_the_channel_as_dcf_does,
           a_lone_csma_frame_waits_difs_and_its_backoff,
           no_hour_holds_more_than_the_duty_cycle_allows,
           a_frame_partly_within_the_hour_counts_by_that_part,
           cad_waits_while_it_hears_a_frame_and_then_sends_all_the_same,
           without_an_access_method_a_radio_waits_for_its_lock_and_the_turnaround,
           a_request_that_is_taken_back_is_not_answered)
