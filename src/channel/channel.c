/* channel.c - the channel's state: made, asked, freed
 *
 * What happens to it is in air.c (frames enter and leave the air) and receiver.c (what a radio
 * makes of them).
 */
#include "channel/channel-private.h"

#include "channel/access.h"
#include "core/random.h"
#include <stdlib.h>

bool
spate_channel_is_sending(const SpateChannel *channel, uint32_t radio)
{
    return channel->receivers[radio].state == SENDING;
}

bool
spate_channel_is_locked(const SpateChannel *channel, uint32_t radio)
{
    return channel->receivers[radio].state == LOCKED;
}

/* One search in a row for each frame on the air: it is asked far more seldom than it changes. */
bool
spate_channel_energy_is_high(const SpateChannel *channel, uint32_t radio)
{
    uint64_t threshold = channel->medium->csma_threshold[radio], energy = 0;
    for (uint32_t i = 0; i < channel->on_air.n && energy < threshold; i++)
        energy += spate_flight_power_at(channel, flight_at(channel, channel->on_air.at[i]), radio);
    return energy >= threshold;
}

int64_t
spate_channel_lock_ended_ns(const SpateChannel *channel, uint32_t radio)
{
    return channel->receivers[radio].lock_ended_ns;
}

void
spate_channel_audible_now(const SpateChannel *channel, uint32_t radio,
                          void (*found)(gpointer user, const SpateAirFrame *frame,
                                        bool in_preamble),
                          gpointer user)
{
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    for (uint32_t i = 0; i < channel->on_air.n; i++) {
        const Flight *flight = flight_at(channel, channel->on_air.at[i]);
        if (channel->medium->sender_class[flight->frame.sender] != channel->medium->bearer[radio])
            continue;
        uint32_t link = spate_flight_audible_link(channel, flight, radio);
        if (link == UINT32_MAX || flight->fates[link - flight->audible_begin] == FATE_INAUDIBLE)
            continue;
        /* Preambles end after the timers of an instant. */
        found(user, &flight->frame, now_ns <= flight->header_ns);
    }
}

void
spate_channel_watch(SpateChannel *channel, uint32_t radio, bool watched)
{
    Receiver *rx = &channel->receivers[radio];
    channel->n_watched[channel->medium->bearer[radio]] += (uint32_t)watched - (uint32_t)rx->watched;
    rx->watched = watched;
}

int64_t
spate_channel_busy_ns(const SpateChannel *channel, uint32_t radio)
{
    const Receiver *rx = &channel->receivers[radio];
    if (sleeps(rx))
        return spate_sleeper_times(channel, radio).busy_ns;
    const OffTimes *off = &channel->off_times[radio];
    int64_t busy_ns = rx->state == OFF
                          ? off->busy_since_ns
                          : busy_on_air_ns(rx, spate_event_queue_now_ns(channel->queue));
    return busy_ns - off->busy_all_ns;
}

int64_t
spate_channel_off_ns(const SpateChannel *channel, uint32_t radio)
{
    const OffTimes *off = &channel->off_times[radio];
    bool is_off = channel->receivers[radio].state == OFF;
    return off->all_ns + (is_off ? spate_event_queue_now_ns(channel->queue) - off->since_ns : 0);
}

void
spate_channel_set_hooks(SpateChannel *channel, const SpateChannelHooks *hooks, gpointer user)
{
    channel->hooks = *hooks;
    channel->user = user;
}

void
spate_channel_keep_losses(SpateChannel *channel)
{
    g_assert(channel->starting.n == 0 && channel->ending.n == 0);
    for (uint32_t i = 0; i < channel->on_air.n; i++)
        spate_flight_keep_row(channel, flight_at(channel, channel->on_air.at[i]));
}

static void
init_receivers(SpateChannel *channel)
{
    const SpateMedium *medium = channel->medium;
    uint32_t n = MAX(medium->n_radios, 1);
    /* Aligned, so that a receiver's hot part never straddles two cache lines. */
    channel->receivers = aligned_alloc(64, (n * sizeof(Receiver) + 63) / 64 * 64);
    g_assert(channel->receivers != NULL);
    channel->slack = g_new(int64_t, n);
    if (channel->name_disturbers) {
        channel->shares = g_new(Share, n);
        channel->link_of = spate_blame_index_links(medium);
    }
    channel->off_times = g_new0(OffTimes, n);
    for (uint32_t r = 0; r < medium->n_radios; r++) {
        channel->receivers[r] = (Receiver){
            .lock_limit = NO_LIMIT,
            .budget = medium->budget[r],
            .lock_ended_ns = INT64_MIN,
            .lock = NO_FLIGHT,
            .state = LISTENING,
            .at_rest = LISTENING,
        };
        channel->slack[r] = (int64_t)NO_LIMIT;
    }
}

static void
init_bearers(SpateChannel *channel)
{
    const SpateMedium *medium = channel->medium;
    uint32_t n = medium->n_bearers;
    channel->critical_offset_ns = g_new(int64_t, n);
    channel->header_offset_ns = g_new(int64_t, n);
    channel->symbol_ns = g_new(int64_t, n);
    channel->senses_power = g_new(bool, n);
    channel->n_watched = g_new0(uint32_t, n);
    channel->n_edges = g_new0(uint64_t, n);
    channel->fading_ceiling = g_new(double, n);
    for (uint32_t b = 0; b < n; b++) {
        const SpateModulation *modulation = &medium->bearers[b].modulation;
        channel->critical_offset_ns[b] = modulation->kind->critical_ns(modulation);
        channel->header_offset_ns[b] = modulation->kind->header_ns(modulation);
        channel->symbol_ns[b] = modulation->kind->symbol_ns(modulation);
        channel->senses_power[b] =
            spate_access_info(medium->bearers[b].access.method)->senses_power;
        channel->fading_ceiling[b] = spate_fading_highest_gain(&medium->fading[b]);
    }
    for (uint32_t s = 0; s < medium->n_senders; s++) {
        const SpateRowPart *parts = &medium->parts[s * n];
        channel->largest_row = MAX(channel->largest_row, spate_medium_most_links(medium, s));
        for (uint32_t b = 0; b < n; b++)
            channel->largest_audible =
                MAX(channel->largest_audible, parts[b].audible_end - parts[b].begin);
    }
    if (medium->moving != NULL)
        channel->largest_audible = channel->largest_row;
    channel->contested = g_new(uint32_t, channel->largest_audible + 1);
    channel->receptions = g_new(SpateReception, channel->largest_audible + 1);
}

SpateChannel *
spate_channel_new(SpateEventQueue *queue, const SpateMedium *medium, uint64_t seed,
                  uint32_t replication, bool name_disturbers)
{
    SpateChannel *channel = g_new0(SpateChannel, 1);
    channel->queue = queue;
    channel->medium = medium;
    channel->fading_key = spate_random_key(seed, replication, SPATE_FOR_FADING);
    channel->phase_key = spate_random_key(seed, replication, SPATE_FOR_LISTENING);
    channel->name_disturbers = name_disturbers;
    channel->first_free = channel->lone = NO_FLIGHT;
    channel->pending_until = INT64_MIN;
    init_bearers(channel);
    init_receivers(channel);
    channel->flights = g_ptr_array_new();
    spate_event_queue_on_close(queue, SPATE_RANK_END, spate_air_close_ends, channel);
    spate_event_queue_on_close(queue, SPATE_RANK_SWITCH, spate_air_close_switches, channel);
    spate_event_queue_on_close(queue, SPATE_RANK_START, spate_air_close_starts, channel);
    return channel;
}

static void
flight_free(Flight *flight)
{
    g_free(flight->weight_q32);
    g_free(flight->fates);
    g_free(flight->disturbers);
    g_free(flight->own_weight);
    g_free(flight->own_power);
    g_free(flight->own_parts);
    g_free(flight->own_receiver);
    g_free(flight);
}

void
spate_channel_free(SpateChannel *channel)
{
    if (channel == NULL)
        return;
    for (guint i = 0; i < channel->flights->len; i++)
        flight_free(flight_at(channel, i));
    g_ptr_array_free(channel->flights, TRUE);
    spate_number_list_free(&channel->on_air);
    spate_number_list_free(&channel->starting);
    spate_number_list_free(&channel->ending);
    spate_number_list_free(&channel->looking);
    spate_number_list_free(&channel->changed);
    g_free(channel->receptions);
    g_free(channel->contested);
    spate_number_list_free(&channel->received);
    free(channel->receivers);
    g_free(channel->slack);
    g_free(channel->shares);
    g_free(channel->link_of);
    g_free(channel->off_times);
    g_free(channel->sleepers);
    g_free(channel->has_sleepers);
    g_free(channel->critical_offset_ns);
    g_free(channel->header_offset_ns);
    g_free(channel->symbol_ns);
    g_free(channel->senses_power);
    g_free(channel->n_watched);
    g_free(channel->n_edges);
    g_free(channel->fading_ceiling);
    g_free(channel);
}
