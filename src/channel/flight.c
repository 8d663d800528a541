/* flight.c - the pool of frames on the air, and what each weighs where */
#include "channel/channel-private.h"

#include "core/random.h"
#include <math.h>
#include <string.h>

static Flight *
flight_new(const SpateChannel *channel)
{
    Flight *flight = g_new0(Flight, 1);
    flight->weight_q32 = g_new(uint64_t, MAX(channel->medium->n_bearers, 1));
    flight->own_weight = g_new(uint64_t, channel->largest_row + 1);
    flight->fates = g_new(uint8_t, channel->largest_audible + 1);
    if (channel->name_disturbers)
        flight->disturbers = g_new0(uint32_t, channel->largest_audible + 1);
    if (channel->medium->moving != NULL) {
        flight->own_power = g_new(uint64_t, channel->largest_row + 1);
        flight->own_parts = g_new(SpateRowPart, MAX(channel->medium->n_bearers, 1));
        flight->own_receiver = g_new(uint32_t, channel->largest_row + 1);
    }
    return flight;
}

uint32_t
spate_flight_take(SpateChannel *channel)
{
    if (channel->first_free == NO_FLIGHT) {
        Flight *flight = flight_new(channel);
        flight->index = channel->flights->len;
        g_ptr_array_add(channel->flights, flight);
        return flight->index;
    }
    uint32_t index = channel->first_free;
    channel->first_free = flight_at(channel, index)->next_free;
    return index;
}

void
spate_flight_give_back(SpateChannel *channel, uint32_t index)
{
    flight_at(channel, index)->next_free = channel->first_free;
    channel->first_free = index;
}

/* An interferer that lasts less than a symbol of the wanted frame counts with the share of the
 * symbol that it lasts. */
static void
weigh(const SpateChannel *channel, Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    int64_t airtime_ns = flight->frame.end_ns - flight->frame.start_ns;
    uint32_t sender_class = medium->sender_class[flight->frame.sender];
    for (uint32_t b = 0; b < medium->n_bearers; b++) {
        uint64_t full = medium->weights[b * medium->n_classes + sender_class].weight_q32;
        int64_t symbol_ns = channel->symbol_ns[b];
        flight->weight_q32[b] =
            airtime_ns >= symbol_ns
                ? full
                : (uint64_t)((spate_uint128)full * (uint64_t)airtime_ns / (uint64_t)symbol_ns);
    }
}

/* Names the draw: the frame at the receiver, or the pair in its block of time. */
static uint64_t
fading_entity(const SpateMedium *medium, const Flight *flight, const SpateFading *fading,
              uint32_t receiver)
{
    uint64_t there = medium->name_hash[receiver];
    uint64_t on = spate_hash_combine(medium->bearer_hash[medium->bearer[flight->frame.sender]],
                                     medium->bearer_hash[medium->bearer[receiver]]);
    if (fading->coherence_ns == 0)
        return spate_hash_combine(spate_hash_combine(flight->frame.identity, there), on);
    /* The same both ways, so also for pairs of bearers. */
    uint64_t here = medium->name_hash[flight->frame.sender];
    uint64_t back = spate_hash_combine(medium->bearer_hash[medium->bearer[receiver]],
                                       medium->bearer_hash[medium->bearer[flight->frame.sender]]);
    uint64_t pair = spate_hash_combine(MIN(here, there), MAX(here, there));
    uint64_t block = (uint64_t)(flight->frame.start_ns / fading->coherence_ns);
    return spate_hash_combine(spate_hash_combine(pair, MIN(on, back)), block);
}

/* In units of the receiver, as exactly as it is known. */
static inline double
mean_power(const SpateMedium *medium, uint32_t link)
{
    return medium->level != NULL
               ? medium->level[link] * (double)medium->budget[medium->receiver[link]]
               : (double)medium->power[link];
}

static void
fade(const SpateChannel *channel, Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    const SpateFading *fading = &medium->fading[medium->bearer[flight->frame.sender]];
    uint32_t row_end = flight->parts[medium->n_bearers - 1].end;
    double ceiling = channel->fading_ceiling[medium->bearer[flight->frame.sender]];
    if (flight->own_power == NULL)
        flight->own_power = g_new(uint64_t, channel->largest_row + 1);
    for (uint32_t i = flight->row_begin; i < row_end; i++) {
        double gain = spate_fading_gain(fading, channel->fading_key,
                                        fading_entity(medium, flight, fading, medium->receiver[i]));
        flight->own_power[i - flight->row_begin] =
            (uint64_t)llround(mean_power(medium, i) * MIN(gain, ceiling));
    }
    flight->power = flight->own_power - flight->row_begin;
}

void
spate_flight_launch(SpateChannel *channel, Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    uint32_t bearer = medium->bearer[sender];
    flight->parts = &medium->parts[sender * medium->n_bearers];
    flight->receiver = medium->receiver;
    flight->power = medium->power;
    flight->row_begin = flight->parts[0].begin;
    flight->weight = flight->own_weight - flight->row_begin;
    flight->audible_begin = flight->parts[bearer].begin;
    flight->audible_end = flight->parts[bearer].audible_end;
    flight->critical_ns = flight->frame.start_ns + channel->critical_offset_ns[bearer];
    flight->header_ns = flight->frame.start_ns + channel->header_offset_ns[bearer];
    weigh(channel, flight);
    flight->fades = medium->fading[bearer].kind != SPATE_FADING_NONE;
    if (flight->fades)
        fade(channel, flight);
}

void
spate_flight_keep_row(const SpateChannel *channel, Flight *flight)
{
    if (flight->parts == flight->own_parts)
        return;
    uint32_t n_bearers = channel->medium->n_bearers, begin = flight->row_begin;
    uint32_t n = flight->parts[n_bearers - 1].end - begin;
    memcpy(flight->own_receiver, &flight->receiver[begin], n * sizeof flight->receiver[0]);
    if (!flight->fades)
        memcpy(flight->own_power, &flight->power[begin], n * sizeof flight->power[0]);
    for (uint32_t b = 0; b < n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        flight->own_parts[b] =
            (SpateRowPart){part->begin - begin, part->audible_end - begin, part->end - begin};
    }
    flight->parts = flight->own_parts;
    flight->receiver = flight->own_receiver;
    flight->power = flight->own_power;
    flight->weight = flight->own_weight;
    flight->row_begin = 0;
    flight->audible_begin -= begin;
    flight->audible_end -= begin;
}

static uint32_t
find_link(const Flight *flight, uint32_t begin, uint32_t end, uint32_t radio)
{
    while (begin < end) {
        uint32_t middle = begin + (end - begin) / 2;
        if (flight->receiver[middle] < radio)
            begin = middle + 1;
        else if (flight->receiver[middle] > radio)
            end = middle;
        else
            return middle;
    }
    return UINT32_MAX;
}

uint32_t
spate_flight_audible_link(const SpateChannel *channel, const Flight *flight, uint32_t radio)
{
    return find_link(flight, flight->audible_begin, flight->audible_end, radio);
}

uint64_t
spate_flight_power_at(const SpateChannel *channel, const Flight *flight, uint32_t radio)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++)
        if (medium->mates[m].receiver == radio)
            return medium->mates[m].power;

    const SpateRowPart *part = &flight->parts[medium->bearer[radio]];
    uint32_t link = find_link(flight, part->begin, part->audible_end, radio);
    if (link == UINT32_MAX)
        link = find_link(flight, part->audible_end, part->end, radio);
    return link == UINT32_MAX ? 0 : flight->power[link];
}

uint64_t
spate_flight_weight_at(const SpateChannel *channel, const Flight *flight, uint32_t radio)
{
    return weighted(spate_flight_power_at(channel, flight, radio),
                    flight->weight_q32[channel->medium->bearer[radio]]);
}
