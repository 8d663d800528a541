/* blame.c - who is to blame for what a radio does not receive, where that is wanted
 *
 * What a frame is worth when its critical part begins decides; so nobody is named before, but of a
 * frame that has none.
 */
#include "channel/channel-private.h"

/* Of a radio: the largest weight among the frames on the air, but one, and whose it is; of equal
 * weights, the first sender by name. */
static inline void
add_share(Share *share, uint64_t weight, uint32_t sender)
{
    if (weight > share->weight || (weight == share->weight && weight > 0 && sender < share->sender))
        *share = (Share){weight, sender};
}

uint32_t
spate_blame_largest(const SpateChannel *channel, const Flight *wanted, uint32_t radio)
{
    Share largest = {0, SPATE_NO_DISTURBER};
    for (uint32_t i = 0; i < channel->on_air.n; i++) {
        const Flight *other = flight_at(channel, channel->on_air.at[i]);
        if (other != wanted)
            add_share(&largest, spate_flight_weight_at(channel, other, radio), other->frame.sender);
    }
    return largest.sender;
}

/* What one frame adds on a bearer. */
static void
add_shares(const SpateChannel *channel, const Flight *flight, uint32_t bearer)
{
    const SpateMedium *medium = channel->medium;
    const SpateRowPart *part = &flight->parts[bearer];
    uint32_t sender = flight->frame.sender;
    for (uint32_t i = part->begin; i < part->end; i++)
        add_share(&channel->shares[flight->receiver[i]], flight->weight[i], sender);
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
        const SpateMate *mate = &medium->mates[m];
        if (medium->bearer[mate->receiver] == bearer)
            add_share(&channel->shares[mate->receiver],
                      weighted(mate->power, flight->weight_q32[bearer]), sender);
    }
}

/* At all radios that may decode the frame; what others have by then is of no account. */
static void
find_shares(const SpateChannel *channel, const Flight *wanted)
{
    for (uint32_t i = wanted->audible_begin; i < wanted->audible_end; i++)
        channel->shares[wanted->receiver[i]] = (Share){0, SPATE_NO_DISTURBER};
    for (uint32_t i = 0; i < channel->on_air.n; i++) {
        const Flight *other = flight_at(channel, channel->on_air.at[i]);
        if (other != wanted)
            add_shares(channel, other, channel->medium->bearer[wanted->frame.sender]);
    }
}

static bool
is_drowned(const Flight *flight)
{
    for (uint32_t k = 0; k < flight->audible_end - flight->audible_begin; k++)
        if (flight->fates[k] == FATE_COLLISION || flight->fates[k] == FATE_BLOCKED)
            return true;
    return false;
}

void
spate_blame_all(const SpateChannel *channel, Flight *flight)
{
    if (is_drowned(flight))
        find_shares(channel, flight);
    for (uint32_t k = 0; k < flight->audible_end - flight->audible_begin; k++) {
        uint32_t radio = flight->receiver[flight->audible_begin + k];
        switch ((Fate)flight->fates[k]) {
        case FATE_BUSY:
            flight->disturbers[k] =
                flight_at(channel, channel->receivers[radio].lock)->frame.sender;
            break;
        case FATE_COLLISION:
        case FATE_BLOCKED:
            flight->disturbers[k] = channel->shares[radio].sender;
            break;
        case FATE_CAPTURED: /* named when it was */
        case FATE_LOCKED:   /* when it fails */
            break;
        case FATE_SENDING:
        case FATE_ASLEEP:
        case FATE_OFF:
        case FATE_CUT_OFF:
        case FATE_INAUDIBLE:
            flight->disturbers[k] = SPATE_NO_DISTURBER;
            break;
        }
    }
}
