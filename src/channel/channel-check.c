/* channel-check.c - what must hold whenever no event is being run */
#include "channel/channel-private.h"

/* Sums of all radios, from the frames on the air. */
static void
add_up(const SpateChannel *channel, uint64_t *sum, uint64_t *own, int64_t *busy_until_ns)
{
    const SpateMedium *medium = channel->medium;
    for (uint32_t f = 0; f < channel->on_air.n; f++) {
        const Flight *flight = flight_at(channel, channel->on_air.at[f]);
        uint32_t sender = flight->frame.sender;
        if (sender < medium->n_radios)
            busy_until_ns[sender] = MAX(busy_until_ns[sender], flight->frame.end_ns);
        for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
            const SpateMate *mate = &medium->mates[m];
            uint32_t bearer = medium->bearer[mate->receiver];
            own[mate->receiver] += weighted(mate->power, flight->weight_q32[bearer]);
            sum[mate->receiver] += weighted(mate->power, flight->weight_q32[bearer]);
        }
        for (uint32_t b = 0; b < medium->n_bearers; b++) {
            const SpateRowPart *part = &flight->parts[b];
            for (uint32_t i = part->begin; i < part->end; i++) {
                /* Links are searched for. */
                g_assert(i == part->begin || i == part->audible_end ||
                         flight->receiver[i - 1] < flight->receiver[i]);
                uint64_t power = flight->power[i];
                g_assert(flight->weight[i] == weighted(power, flight->weight_q32[b]));
                sum[flight->receiver[i]] += flight->weight[i];
                int64_t *until_ns = &busy_until_ns[flight->receiver[i]];
                if (i < part->audible_end && power >= medium->budget[flight->receiver[i]])
                    *until_ns = MAX(*until_ns, flight->frame.end_ns);
            }
        }
    }
}

static bool
is_among(const SpateChannel *channel, const SpateNumberList *flights, uint32_t sender)
{
    for (uint32_t f = 0; f < flights->n; f++)
        if (flight_at(channel, flights->at[f])->frame.sender == sender)
            return true;
    return false;
}

static void
check_state(const SpateChannel *channel, uint32_t radio)
{
    const Receiver *rx = &channel->receivers[radio];
    bool is_on_air =
        is_among(channel, &channel->on_air, radio) || is_among(channel, &channel->starting, radio);
    g_assert((rx->state == SENDING) == is_on_air);
    g_assert((rx->state == LOCKED) == (rx->lock != NO_FLIGHT));
    g_assert(rx->is_off ? rx->state == OFF || rx->state == SENDING : rx->state != OFF);
    g_assert(rx->state >= LOCKED || rx->state == rx->at_rest);
    g_assert(rx->lock_limit == NO_LIMIT || rx->state == LOCKED);
    g_assert(rx->state != LOCKED || rx->lock_fate == FATE_COLLISION || rx->lock_limit != NO_LIMIT);
    g_assert(rx->state == LOCKED || rx->lock_fate == FATE_LOCKED);
    if (rx->state != LOCKED)
        return;
    const Flight *held = flight_at(channel, rx->lock);
    uint32_t link = spate_flight_audible_link(channel, held, radio);
    g_assert(link != UINT32_MAX);
    g_assert(held->fates[link - held->audible_begin] == FATE_LOCKED);
    g_assert(channel->on_air.at[held->on_air] == rx->lock);
}

/* What was taken for granted of a flight that has the air for itself. */
static void
check_quiet(const SpateChannel *channel)
{
    if (channel->lone == NO_FLIGHT)
        return;
    const Flight *flight = flight_at(channel, channel->lone);
    g_assert(channel->on_air.n == 1 && channel->on_air.at[0] == channel->lone);
    g_assert(channel->n_off == 0 && !flight->fades);
    for (uint32_t k = 0; k < flight->audible_end - flight->audible_begin; k++)
        g_assert(flight->fates[k] == FATE_LOCKED);
}

void
spate_channel_check(const SpateChannel *channel)
{
    uint32_t n = channel->medium->n_radios;
    g_autofree uint64_t *sum = g_new0(uint64_t, n + 1);
    g_autofree uint64_t *own = g_new0(uint64_t, n + 1);
    g_autofree int64_t *busy_until_ns = g_new0(int64_t, n + 1);
    uint32_t n_off = 0;
    add_up(channel, sum, own, busy_until_ns);
    check_quiet(channel);
    for (uint32_t r = 0; r < n; r++) {
        const Receiver *rx = &channel->receivers[r];
        g_assert(sum_at(channel, r) == sum[r] && rx->sum_own == own[r]);
        g_assert(busy_until_ns[r] > 0
                     ? rx->busy_until_ns == busy_until_ns[r]
                     : rx->busy_until_ns <= spate_event_queue_now_ns(channel->queue));
        check_state(channel, r);
        n_off += rx->is_off;
    }
    g_assert(channel->n_off == n_off);
}
