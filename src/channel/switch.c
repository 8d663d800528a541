/* switch.c - radios that are switched off and on again */
#include "channel/channel-private.h"

void
spate_channel_switch_off(SpateChannel *channel, uint32_t radio)
{
    Receiver *rx = &channel->receivers[radio];
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    g_assert(!rx->is_off);
    if (sleeps(rx))
        spate_sleeper_count(channel, radio);
    rx->is_off = true;
    channel->n_off++;
    spate_air_end_quiet(channel, now_ns);
    channel->n_edges[channel->medium->bearer[radio]]++;
    switch ((RadioState)rx->state) {
    case SENDING:
    case OFF:
        break;
    case LOCKED: {
        Flight *held = flight_at(channel, rx->lock);
        uint32_t link = spate_flight_audible_link(channel, held, radio);
        held->fates[link - held->audible_begin] = FATE_CUT_OFF;
        release_lock(channel, rx, radio, now_ns);
        rest(channel, rx, radio, now_ns);
        break;
    }
    case LISTENING:
    case ASLEEP:
        rest(channel, rx, radio, now_ns);
        break;
    }
}

void
spate_channel_switch_on(SpateChannel *channel, uint32_t radio)
{
    Receiver *rx = &channel->receivers[radio];
    g_assert(rx->is_off);
    rx->is_off = false;
    channel->n_off--;
    channel->n_edges[channel->medium->bearer[radio]]++;
    /* Back before the end of what it was sending. */
    if (rx->state != OFF)
        return;
    if (sleeps(rx))
        spate_sleeper_count(channel, radio);
    rx->state = rx->at_rest;
    OffTimes *off = &channel->off_times[radio];
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    off->all_ns += now_ns - off->since_ns;
    off->busy_all_ns += busy_on_air_ns(rx, now_ns) - off->busy_since_ns;
    spate_number_list_append(&channel->looking, radio);
    note_change(channel, rx, radio);
}
