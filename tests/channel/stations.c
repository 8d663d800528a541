/* stations.c - radios that ask for the channel */
#include "channel/stations.h"

#include <check.h>

double
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

void
stations_request(Stations *stations, uint32_t radio)
{
    spate_access_request(stations->access, radio, stations->airtime_ns, ++stations->n_requests);
}

void
stations_request_later(gpointer subject, uint32_t radio)
{
    stations_request(subject, radio);
}

static void
frame_sent(gpointer user, const SpateAirFrame *frame)
{
    Stations *stations = user;
    if (stations->saturated)
        stations_request(stations, frame->sender);
}

static void
changed(gpointer user, uint32_t radio)
{
    spate_access_channel_changed(((Stations *)user)->access, radio);
}

void
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

void
stations_clear(Stations *stations)
{
    spate_access_free(stations->access);
    spate_channel_free(stations->channel);
    spate_event_queue_free(stations->queue);
    g_free(stations->starts_ns);
    g_free(stations->starters);
}

static void
begin_other(gpointer subject, uint32_t radio)
{
    Unlocked *unlocked = subject;
    int64_t now_ns = spate_event_queue_now_ns(unlocked->stations.queue);
    int64_t end_ns = radio == 0 ? unlocked->own_ns : unlocked->other_end_ns;
    spate_channel_begin(unlocked->stations.channel, radio, end_ns - now_ns, 0, 1000000 + radio);
}

double
only_the_first_hears(uint32_t sender, uint32_t receiver, void *user)
{
    return sender == 1 && receiver == 0 ? *(const double *)user : -300.0;
}

void
unlocked_begin(Unlocked *unlocked, SpateMedium *medium, int64_t airtime_ns, bool saturated)
{
    stations_init(&unlocked->stations, medium, airtime_ns, saturated);
    unlocked->stations.saturated = false;
    SpateEventQueue *queue = unlocked->stations.queue;
    spate_event_queue_schedule(queue, 0, SPATE_RANK_START, begin_other, unlocked, 0);
    spate_event_queue_schedule(queue, unlocked->other_ns, SPATE_RANK_START, begin_other, unlocked,
                               1);
    spate_event_queue_run_until(queue, unlocked->own_ns, NULL);
    ck_assert(!spate_channel_is_locked(unlocked->stations.channel, 0));
    unlocked->stations.saturated = saturated;
    stations_request(&unlocked->stations, 0);
}
