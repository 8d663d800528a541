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
    bool is_first = (weight == share->weight) & (weight > 0) & (sender < share->sender);
    bool is_largest = (weight > share->weight) | is_first;
    share->weight = choose(is_largest, weight, share->weight);
    share->sender = (uint32_t)choose(is_largest, sender, share->sender);
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

/* Pairs of which the links are looked up: 4 MB. */
#define MOST_PAIRS ((size_t)1 << 20)

static void
index_part(const SpateMedium *medium, const SpateRowPart *part, uint32_t *link_of)
{
    for (uint32_t link = part->begin; link < part->end; link++)
        link_of[medium->receiver[link]] = link;
}

uint32_t *
spate_blame_index_links(const SpateMedium *medium)
{
    size_t n_pairs = (size_t)medium->n_senders * medium->n_radios;
    if (medium->moving != NULL || n_pairs > MOST_PAIRS)
        return NULL;
    uint32_t *link_of = g_new(uint32_t, n_pairs + 1);
    for (size_t i = 0; i < n_pairs; i++)
        link_of[i] = NO_LINK;
    for (size_t s = 0; s < medium->n_senders; s++)
        for (size_t b = 0; b < medium->n_bearers; b++)
            index_part(medium, &medium->parts[s * medium->n_bearers + b],
                       &link_of[s * medium->n_radios]);
    return link_of;
}

/* Some of the radios that may decode a flight: of its audible links, the n at these places. */
typedef struct {
    const uint32_t *receiver; /* of the audible links */
    const uint32_t *at;
    uint32_t n;
} Some;

/* At these radios alone, whose links need not be searched for. */
static void
add_shares_of(const SpateChannel *channel, const Flight *flight, const Some *some)
{
    uint32_t sender = flight->frame.sender;
    const uint32_t *link_of = &channel->link_of[(size_t)sender * channel->medium->n_radios];
    const uint64_t *weights = flight->weight;
    Share *shares = channel->shares;
    for (uint32_t i = 0; i < some->n; i++) {
        uint32_t radio = some->receiver[some->at[i]], link = link_of[radio];
        if (link != NO_LINK)
            add_share(&shares[radio], weights[link], sender);
    }
}

static void
add_shares_of_row(const SpateChannel *channel, const Flight *flight, uint32_t bearer)
{
    const SpateRowPart *part = &flight->parts[bearer];
    for (uint32_t i = part->begin; i < part->end; i++)
        add_share(&channel->shares[flight->receiver[i]], flight->weight[i], flight->frame.sender);
}

static void
add_shares_of_mates(const SpateChannel *channel, const Flight *flight, uint32_t bearer)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
        const SpateMate *mate = &medium->mates[m];
        if (medium->bearer[mate->receiver] == bearer)
            add_share(&channel->shares[mate->receiver],
                      weighted(mate->power, flight->weight_q32[bearer]), sender);
    }
}

/* At some radios; what others have by then is of no account. */
static void
find_shares(const SpateChannel *channel, const Flight *wanted, const Some *some)
{
    uint32_t bearer = channel->medium->bearer[wanted->frame.sender];
    for (uint32_t i = 0; i < some->n; i++)
        channel->shares[some->receiver[some->at[i]]] = (Share){0, SPATE_NO_DISTURBER};
    for (uint32_t i = 0; i < channel->on_air.n; i++) {
        const Flight *other = flight_at(channel, channel->on_air.at[i]);
        if (other == wanted)
            continue;
        if (channel->link_of != NULL)
            add_shares_of(channel, other, some);
        else
            add_shares_of_row(channel, other, bearer);
        add_shares_of_mates(channel, other, bearer);
    }
}

/* Fates in which nobody else is to blame. */
static inline bool
is_nobodys(uint8_t fate)
{
    return (fate == FATE_SENDING) | (fate == FATE_ASLEEP) | (fate >= FATE_OFF);
}

void
spate_blame_all(const SpateChannel *channel, Flight *flight)
{
    const uint32_t *receiver = &flight->receiver[flight->audible_begin];
    uint32_t n_audible = flight->audible_end - flight->audible_begin;
    const uint8_t *fates = flight->fates;
    uint32_t *disturbers = flight->disturbers;
    uint32_t *drowned = channel->contested, n_drowned = 0;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint8_t fate = fates[k];
        /* Of a captured frame it was named when that was, of a locked one it will be when that
         * fails. */
        disturbers[k] = (uint32_t)choose(is_nobodys(fate), SPATE_NO_DISTURBER, disturbers[k]);
        if (fate == FATE_BUSY)
            disturbers[k] = flight_at(channel, channel->receivers[receiver[k]].lock)->frame.sender;
        drowned[n_drowned] = k;
        n_drowned += (fate == FATE_COLLISION) | (fate == FATE_BLOCKED);
    }
    if (n_drowned > 0)
        find_shares(channel, flight, &(Some){receiver, drowned, n_drowned});
    for (uint32_t i = 0; i < n_drowned; i++)
        disturbers[drowned[i]] = channel->shares[receiver[drowned[i]]].sender;
}
