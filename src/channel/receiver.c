/* receiver.c - what one radio makes of one frame: rules 1 to 7 of docs/model.md
 *
 * These are the slow paths: called where a frame may be decoded, or where the sum at a
 * receiver has passed the limit of the frame that it is locked on.
 */
#include "channel/channel-private.h"

static int64_t
now_ns(const SpateChannel *channel)
{
    return spate_event_queue_now_ns(channel->queue);
}

static void
blame(Flight *flight, uint32_t index, uint32_t sender)
{
    if (flight->disturbers != NULL)
        flight->disturbers[index] = sender;
}

/* Position of a radio among the audible links of a flight. */
static uint32_t
audible_index(const SpateChannel *channel, const Flight *flight, uint32_t radio)
{
    uint32_t link = spate_flight_audible_link(channel, flight, radio);
    g_assert(link != UINT32_MAX);
    return link - flight->audible_begin;
}

/* The sender of the largest share among the other frames on the air; of equal shares, the first by
 * name. */
static uint32_t
largest_share(const SpateChannel *channel, const Flight *wanted, uint32_t radio)
{
    uint64_t largest = 0;
    uint32_t sender = SPATE_NO_DISTURBER;
    for (guint i = 0; i < channel->on_air->len; i++) {
        const Flight *other = flight_at(channel, g_array_index(channel->on_air, uint32_t, i));
        if (other == wanted)
            continue;
        uint64_t share = spate_flight_weight_at(channel, other, radio);
        if (share > largest || (share == largest && share > 0 && other->frame.sender < sender)) {
            largest = share;
            sender = other->frame.sender;
        }
    }
    return sender;
}

/* The frame that the radio was locked on loses it: to one that began later, by
 * capture; to a stronger one that began at the same instant, by having been checked first. */
static void
lose_lock(SpateChannel *channel, const Flight *winner, uint32_t radio)
{
    Receiver *rx = &channel->receivers[radio];
    Flight *loser = flight_at(channel, rx->lock);
    uint32_t index = audible_index(channel, loser, radio);
    if (loser->frame.start_ns == winner->frame.start_ns) {
        loser->fates[index] = FATE_BUSY;
        rx->pending_until = MAX(rx->pending_until, loser->critical_ns);
    } else {
        loser->fates[index] = FATE_CAPTURED;
    }
    blame(loser, index, winner->frame.sender);
}

/* Whether a stronger frame of this instant, or an equal one that is first by name, could take the
 * lock from an earlier frame too: then that one does, and is to blame. */
static bool
is_outdone(const SpateChannel *channel, const Receiver *rx, const Flight *flight, uint32_t radio,
           uint64_t power)
{
    uint32_t bearer = channel->medium->bearer[radio];
    for (guint i = 0; i < channel->starting->len; i++) {
        const Flight *rival = flight_at(channel, g_array_index(channel->starting, uint32_t, i));
        if (rival == flight || channel->medium->sender_class[rival->frame.sender] != bearer)
            continue;
        uint32_t link = spate_flight_audible_link(channel, rival, radio);
        if (link == UINT32_MAX || rival->fates[link - rival->audible_begin] == FATE_INAUDIBLE)
            continue;
        uint64_t its_power = rival->power[link];
        bool is_ahead =
            its_power > power || (its_power == power && rival->frame.sender < flight->frame.sender);
        if (is_ahead && survives(rx, its_power, weighted(its_power, rival->weight_q32[bearer])))
            return true;
    }
    return false;
}

/* Whether a frame that begins now takes the lock from the one that holds it. */
static bool
takes_over(const SpateChannel *channel, const Receiver *rx, const Flight *flight, uint32_t radio,
           uint64_t power)
{
    const Flight *held = flight_at(channel, rx->lock);
    if (held->frame.start_ns != flight->frame.start_ns)
        return flight->frame.start_ns < held->header_ns &&
               !is_outdone(channel, rx, flight, radio, power);
    /* Both began at this instant: the stronger; of equals the first by name, which was judged
     * first. */
    uint32_t link = spate_flight_audible_link(channel, held, radio);
    return power > held->power[link];
}

/* A frame that a listening radio cannot decode now. */
static Fate
fate_while_listening(const Receiver *rx, uint64_t power, uint64_t own)
{
    return survives_without_mates(rx, power, own) ? FATE_BLOCKED : FATE_COLLISION;
}

void
spate_receiver_judge_arrival(SpateChannel *channel, Flight *flight, uint32_t index, uint32_t link)
{
    uint32_t radio = flight->receiver[link];
    Receiver *rx = &channel->receivers[radio];
    uint64_t power = flight->power[link];
    uint64_t own = weighted(power, flight->weight_q32[channel->medium->bearer[radio]]);

    switch (state_of(channel, radio)) {
    case SENDING:
        flight->fates[index] = FATE_SENDING;
        blame(flight, index, SPATE_NO_DISTURBER);
        break;
    case ASLEEP:
        flight->fates[index] = FATE_ASLEEP;
        blame(flight, index, SPATE_NO_DISTURBER);
        break;
    case LOCKED:
        if (survives(rx, power, own) && takes_over(channel, rx, flight, radio, power)) {
            lose_lock(channel, flight, radio);
            take_lock(channel, flight, index, radio, power, own);
            return;
        }
        flight->fates[index] = FATE_BUSY;
        blame(flight, index, flight_at(channel, rx->lock)->frame.sender);
        break;
    case LISTENING:
        if (survives(rx, power, own)) {
            take_lock(channel, flight, index, radio, power, own);
            return;
        }
        flight->fates[index] = (uint8_t)fate_while_listening(rx, power, own);
        if (flight->disturbers != NULL)
            blame(flight, index, largest_share(channel, flight, radio));
        break;
    case OFF:
        flight->fates[index] = FATE_OFF;
        break;
    }
    rx->pending_until = MAX(rx->pending_until, flight->critical_ns);
}

void
spate_receiver_note_failure(SpateChannel *channel, uint32_t radio)
{
    Receiver *rx = &channel->receivers[radio];
    Flight *held = flight_at(channel, rx->lock);
    if (now_ns(channel) < held->critical_ns)
        return;
    if (!rx->lock_failed && held->disturbers != NULL)
        blame(held, audible_index(channel, held, radio), largest_share(channel, held, radio));
    rx->lock_failed = true;
    if (rx->sum - rx->sum_own > rx->lock_limit) {
        rx->failed_despite = true;
        /* Nothing that comes later can make it worse. */
        rx->lock_limit = UINT64_MAX;
    }
}

void
spate_receiver_settle(SpateChannel *channel, Flight *flight, uint32_t index)
{
    Fate fate = (Fate)flight->fates[index];
    uint32_t link = flight->audible_begin + index;
    uint32_t radio = flight->receiver[link];
    Receiver *rx = &channel->receivers[radio];
    if (fate == FATE_INAUDIBLE || fate == FATE_CUT_OFF ||
        (fate == FATE_CAPTURED && rx->state != OFF))
        return;

    switch (state_of(channel, radio)) {
    case SENDING:
        flight->fates[index] = FATE_SENDING;
        blame(flight, index, SPATE_NO_DISTURBER);
        break;
    case ASLEEP:
        flight->fates[index] = FATE_ASLEEP;
        blame(flight, index, SPATE_NO_DISTURBER);
        break;
    case LOCKED:
        if (fate == FATE_LOCKED) {
            if (rx->sum > rx->lock_limit)
                spate_receiver_note_failure(channel, radio);
            break;
        }
        flight->fates[index] = FATE_BUSY;
        blame(flight, index, flight_at(channel, rx->lock)->frame.sender);
        break;
    case LISTENING: {
        uint64_t power = flight->power[link];
        uint64_t own = weighted(power, flight->weight_q32[channel->medium->bearer[radio]]);
        /* What could be locked on was, when the last frame ended or the radio woke. */
        g_assert(!survives(rx, power, own));
        flight->fates[index] = (uint8_t)fate_while_listening(rx, power, own);
        if (flight->disturbers != NULL)
            blame(flight, index, largest_share(channel, flight, radio));
        break;
    }
    case OFF:
        flight->fates[index] = FATE_OFF;
        break;
    }
}

/* Whether `a` of power `a_power` is to be taken rather than `b`. */
static bool
is_preferred(const Flight *a, uint64_t a_power, const Flight *b, uint64_t b_power)
{
    if (b == NULL || a_power != b_power)
        return b == NULL || a_power > b_power;
    if (a->frame.start_ns != b->frame.start_ns)
        return a->frame.start_ns < b->frame.start_ns;
    return a->frame.sender < b->frame.sender;
}

void
spate_receiver_look(SpateChannel *channel, uint32_t radio)
{
    Receiver *rx = &channel->receivers[radio];
    if (state_of(channel, radio) != LISTENING)
        return;
    uint32_t bearer = channel->medium->bearer[radio];
    Flight *best = NULL;
    uint64_t best_power = 0, best_own = 0;
    uint32_t best_index = 0;
    for (guint i = 0; i < channel->on_air->len; i++) {
        Flight *flight = flight_at(channel, g_array_index(channel->on_air, uint32_t, i));
        if (flight->critical_ns < now_ns(channel) ||
            channel->medium->sender_class[flight->frame.sender] != bearer)
            continue;
        uint32_t link = spate_flight_audible_link(channel, flight, radio);
        if (link == UINT32_MAX)
            continue;
        uint32_t index = link - flight->audible_begin;
        if (flight->fates[index] == FATE_INAUDIBLE || flight->fates[index] == FATE_CAPTURED ||
            flight->fates[index] == FATE_CUT_OFF)
            continue;
        uint64_t power = flight->power[link];
        uint64_t own = weighted(power, flight->weight_q32[bearer]);
        if (survives(rx, power, own) && is_preferred(flight, power, best, best_power)) {
            best = flight;
            best_power = power;
            best_own = own;
            best_index = index;
        }
    }
    if (best == NULL)
        return;
    if (sleeps(rx))
        spate_sleeper_count(channel, radio);
    take_lock(channel, best, best_index, radio, best_power, best_own);
}
