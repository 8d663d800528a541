/* receiver.c - what one radio makes of one frame: rules 1 to 7 of docs/model.md
 *
 * What is rare of them: where a lock may be lost, or a radio may lock on a frame that began before.
 * What is usual is in walks.c.
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
    } else {
        loser->fates[index] = FATE_CAPTURED;
    }
    blame(loser, index, winner->frame.sender);
    rx->lock_fate = FATE_LOCKED;
}

/* Whether a stronger frame of this instant, or an equal one that is first by name, could take the
 * lock from an earlier frame too: then that one does, and is to blame. */
static bool
is_outdone(const SpateChannel *channel, const Flight *flight, uint32_t radio, uint64_t power)
{
    const Receiver *rx = &channel->receivers[radio];
    uint32_t bearer = channel->medium->bearer[radio];
    for (uint32_t i = 0; i < channel->starting.n; i++) {
        const Flight *rival = flight_at(channel, channel->starting.at[i]);
        if (rival == flight || channel->medium->sender_class[rival->frame.sender] != bearer)
            continue;
        uint32_t link = spate_flight_audible_link(channel, rival, radio);
        /* It may not have its fate yet. */
        if (link == UINT32_MAX || rival->power[link] < rx->budget)
            continue;
        uint64_t its_power = rival->power[link];
        bool is_ahead =
            its_power > power || (its_power == power && rival->frame.sender < flight->frame.sender);
        if (is_ahead && survives(rx, sum_at(channel, radio), its_power, rival->weight[link]))
            return true;
    }
    return false;
}

/* Whether a frame that begins now takes the lock from the one that holds it. */
static bool
takes_over(const SpateChannel *channel, const Flight *flight, uint32_t radio, uint64_t power)
{
    const Flight *held = flight_at(channel, channel->receivers[radio].lock);
    if (held->frame.start_ns != flight->frame.start_ns)
        return flight->frame.start_ns < held->header_ns &&
               !is_outdone(channel, flight, radio, power);
    /* Both began at this instant: the stronger; of equals the first by name, which was judged
     * first. */
    uint32_t link = spate_flight_audible_link(channel, held, radio);
    return power > held->power[link];
}

bool
spate_receiver_gives_up_lock(SpateChannel *channel, const Flight *flight, uint32_t radio,
                             uint64_t power)
{
    if (!takes_over(channel, flight, radio, power))
        return false;
    lose_lock(channel, flight, radio);
    return true;
}

void
spate_receiver_note_failure(SpateChannel *channel, uint32_t radio)
{
    Receiver *rx = &channel->receivers[radio];
    Flight *held = flight_at(channel, rx->lock);
    if (now_ns(channel) < held->critical_ns)
        return;
    if (rx->lock_fate == FATE_LOCKED && held->disturbers != NULL)
        blame(held, audible_index(channel, held, radio), spate_blame_largest(channel, held, radio));
    /* A frame that collided has no limit any more. */
    g_assert(rx->lock_fate != FATE_COLLISION);
    rx->lock_fate = FATE_BLOCKED;
    if (sum_at(channel, radio) - rx->sum_own > rx->lock_limit) {
        /* It would have failed without the node's other radios too.  Nothing that comes later can
         * make it worse. */
        rx->lock_fate = FATE_COLLISION;
        set_lock_limit(rx, &channel->slack[radio], NO_LIMIT);
    }
}

/* Whether `a` is to be taken rather than `b`, of which the radio has those links. */
static bool
is_preferred(const Flight *a, uint32_t a_link, const Flight *b, uint32_t b_link)
{
    if (a->power[a_link] != b->power[b_link])
        return a->power[a_link] > b->power[b_link];
    if (a->frame.start_ns != b->frame.start_ns)
        return a->frame.start_ns < b->frame.start_ns;
    return a->frame.sender < b->frame.sender;
}

void
spate_receiver_look(SpateChannel *channel, uint32_t radio)
{
    Receiver *rx = &channel->receivers[radio];
    if (state_of(channel, rx, radio) != LISTENING)
        return;
    uint32_t bearer = channel->medium->bearer[radio];
    uint64_t sum = sum_at(channel, radio);
    Flight *best = NULL;
    uint32_t best_link = 0;
    for (uint32_t i = 0; i < channel->on_air.n; i++) {
        Flight *flight = flight_at(channel, channel->on_air.at[i]);
        if (flight->critical_ns < now_ns(channel) ||
            channel->medium->sender_class[flight->frame.sender] != bearer)
            continue;
        uint32_t link = spate_flight_audible_link(channel, flight, radio);
        if (link == UINT32_MAX)
            continue;
        uint8_t fate = flight->fates[link - flight->audible_begin];
        if (fate == FATE_INAUDIBLE || fate == FATE_CAPTURED || fate == FATE_CUT_OFF)
            continue;
        if (survives(rx, sum, flight->power[link], flight->weight[link]) &&
            (best == NULL || is_preferred(flight, link, best, best_link))) {
            best = flight;
            best_link = link;
        }
    }
    if (best == NULL)
        return;
    if (sleeps(rx))
        spate_sleeper_count(channel, radio);
    best->fates[best_link - best->audible_begin] = FATE_LOCKED;
    take_lock(rx, &channel->slack[radio], best->index,
              limit_of_lock(rx, best->power[best_link], best->weight[best_link]));
    note_change(channel, rx, radio);
}
