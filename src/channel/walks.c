/* walks.c - the walks over a sender's row: the inner loop of the whole program
 *
 * What most links need is done for all of them: their power comes and goes.  What only those need
 * that may decode the frame, or that sense power, or that somebody watches, has walks of its own.
 */
#include "channel/channel-private.h"

/* ---- power ----------------------------------------------------------------------------------- */

/* Power arrives at a radio, which nearly always bears it.  `slack` is the channel's; given by the
 * walk, it need not be read anew after each store. */
static inline void
disturb(SpateChannel *channel, int64_t *slack, uint32_t radio, uint64_t weight)
{
    slack[radio] -= (int64_t)weight;
    if (G_UNLIKELY(slack[radio] < 0))
        spate_receiver_note_failure(channel, radio);
}

/* At links `begin` to `end` - 1 of a part of a row. */
static inline void
add_power(SpateChannel *channel, Flight *flight, uint32_t begin, uint32_t end, uint64_t weight_q32)
{
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin];
    uint64_t *weight = &flight->own_weight[begin - flight->row_begin];
    int64_t *slack = channel->slack;
    uint32_t n = end - begin;
    for (uint32_t i = 0; i < n; i++) {
        weight[i] = weighted(power[i], weight_q32);
        disturb(channel, slack, receiver[i], weight[i]);
    }
}

static inline void
remove_power(const SpateChannel *channel, const Flight *flight, uint32_t begin, uint32_t end)
{
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *weight = &flight->weight[begin];
    int64_t *slack = channel->slack;
    uint32_t n = end - begin;
    for (uint32_t i = 0; i < n; i++)
        slack[receiver[i]] += (int64_t)weight[i];
}

/* What csma senses. */
static inline void
change_energy(const SpateChannel *channel, const Flight *flight, const SpateRowPart *part,
              bool arrives)
{
    const uint32_t *receiver = flight->receiver;
    const uint64_t *power = flight->power;
    uint64_t *energy = channel->energy;
    uint32_t end = part->end;
    for (uint32_t i = part->begin; i < end; i++)
        energy[receiver[i]] += arrives ? power[i] : 0 - power[i];
}

/* Power has changed at all links of a part of a row. */
static void
note_changes(SpateChannel *channel, const Flight *flight, uint32_t bearer)
{
    if (channel->n_watched[bearer] == 0)
        return;
    const SpateRowPart *part = &flight->parts[bearer];
    for (uint32_t i = part->begin; i < part->end; i++)
        note_change(channel, &channel->receivers[flight->receiver[i]], flight->receiver[i]);
}

static void
add_to_mates(SpateChannel *channel, const Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
        const SpateMate *mate = &medium->mates[m];
        uint32_t bearer = medium->bearer[mate->receiver];
        uint64_t weight = weighted(mate->power, flight->weight_q32[bearer]);
        if (channel->keeps_energy[bearer]) {
            channel->energy[mate->receiver] += mate->power;
            note_change(channel, &channel->receivers[mate->receiver], mate->receiver);
        }
        channel->receivers[mate->receiver].sum_own += weight;
        disturb(channel, channel->slack, mate->receiver, weight);
    }
}

static void
remove_from_mates(SpateChannel *channel, const Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
        const SpateMate *mate = &medium->mates[m];
        uint32_t bearer = medium->bearer[mate->receiver];
        uint64_t weight = weighted(mate->power, flight->weight_q32[bearer]);
        if (channel->keeps_energy[bearer])
            channel->energy[mate->receiver] -= mate->power;
        channel->receivers[mate->receiver].sum_own -= weight;
        channel->slack[mate->receiver] += (int64_t)weight;
        note_change(channel, &channel->receivers[mate->receiver], mate->receiver);
    }
}

/* At all links but those that may decode the frame. */
static void
add_power_beside(SpateChannel *channel, Flight *flight)
{
    add_to_mates(channel, flight);
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        add_power(channel, flight, part->audible_end, part->end, flight->weight_q32[b]);
        if (channel->keeps_energy[b]) {
            change_energy(channel, flight, part, true);
            note_changes(channel, flight, b);
        }
    }
}

void
spate_walk_add_power(SpateChannel *channel, Flight *flight)
{
    add_power_beside(channel, flight);
    add_power(channel, flight, flight->audible_begin, flight->audible_end,
              flight->weight_q32[channel->medium->bearer[flight->frame.sender]]);
}

static void
remove_power_beside(SpateChannel *channel, const Flight *flight)
{
    remove_from_mates(channel, flight);
    /* Of frames that end together, each radio is told of in the turn of the first that it takes
     * power from, be it locked on that or not.  The last has no others after it, and frees those
     * that are locked on it in the same order. */
    bool has_a_turn = flight->index != channel->ending.at[channel->ending.n - 1];
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        remove_power(channel, flight, part->audible_end, part->end);
        if (channel->keeps_energy[b])
            change_energy(channel, flight, part, false);
        if (channel->keeps_energy[b] || has_a_turn)
            note_changes(channel, flight, b);
    }
}

/* ---- audible links --------------------------------------------------------------------------- */

/* Of a frame that a radio in that state is not locked on, and cannot lock on. */
static inline Fate
fate_in_passing(const Receiver *rx, RadioState state, uint64_t sum, uint64_t power, uint64_t own)
{
    static const uint8_t fates[] = {[LISTENING] = FATE_COLLISION,
                                    [ASLEEP] = FATE_ASLEEP,
                                    [LOCKED] = FATE_BUSY,
                                    [SENDING] = FATE_SENDING,
                                    [OFF] = FATE_OFF};
    bool is_blocked = state == LISTENING && survives(rx, sum - rx->sum_own, power, own);
    return is_blocked ? FATE_BLOCKED : (Fate)fates[state];
}

/* Of link `k` of those that may decode the frame, when its power is on the air. */
static inline void
judge(SpateChannel *channel, Flight *flight, uint32_t k, uint32_t radio, uint64_t power,
      uint64_t weight)
{
    Receiver *rx = &channel->receivers[radio];
    if (power < rx->budget) {
        flight->fates[k] = FATE_INAUDIBLE;
        return;
    }
    uint64_t sum = rx->lock_limit - (uint64_t)channel->slack[radio];
    bool could_lock = survives(rx, sum, power, weight);
    RadioState state = state_of(channel, rx, radio);
    note_busy(rx, &flight->frame);
    if (could_lock &&
        (state == LISTENING ||
         (state == LOCKED && spate_receiver_gives_up_lock(channel, flight, radio, power))))
        take_lock(channel, flight, k, radio, limit_of_lock(rx, power, weight));
    else
        flight->fates[k] = (uint8_t)fate_in_passing(rx, state, sum, power, weight);
}

void
spate_walk_judge(SpateChannel *channel, Flight *flight)
{
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    for (uint32_t k = 0; k < n_audible; k++)
        judge(channel, flight, k, flight->receiver[begin + k], flight->power[begin + k],
              flight->weight[begin + k]);
}

/* What happens at one radio is of no account at another, so that one walk does. */
void
spate_walk_begin(SpateChannel *channel, Flight *flight)
{
    add_power_beside(channel, flight);
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin];
    uint64_t *weight = &flight->own_weight[begin - flight->row_begin];
    uint64_t weight_q32 = flight->weight_q32[channel->medium->bearer[flight->frame.sender]];
    int64_t *slack = channel->slack;
    for (uint32_t k = 0; k < n_audible; k++) {
        weight[k] = weighted(power[k], weight_q32);
        disturb(channel, slack, receiver[k], weight[k]);
        judge(channel, flight, k, receiver[k], power[k], weight[k]);
    }
}

void
spate_walk_settle(SpateChannel *channel, Flight *flight)
{
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin], *weight = &flight->weight[begin];
    uint8_t *fates = flight->fates;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        const Receiver *rx = &channel->receivers[radio];
        uint8_t fate = fates[k];
        if (fate == FATE_LOCKED) {
            if (channel->slack[radio] < 0)
                spate_receiver_note_failure(channel, radio);
            continue;
        }
        if (fate == FATE_INAUDIBLE || fate == FATE_CUT_OFF ||
            (fate == FATE_CAPTURED && rx->state != OFF))
            continue;
        RadioState state = state_of(channel, rx, radio);
        uint64_t sum = sum_at(channel, radio);
        /* What could be locked on was, when the last frame ended or the radio woke. */
        g_assert(state != LISTENING || !survives(rx, sum, power[k], weight[k]));
        fates[k] = (uint8_t)fate_in_passing(rx, state, sum, power[k], weight[k]);
    }
}

/* ---- outcomes -------------------------------------------------------------------------------- */

/* Room for the receptions of one more flight, and never none: where nobody hears anything there is
 * a place to point to all the same. */
static void
reserve_receptions(SpateChannel *channel, const Flight *flight)
{
    uint32_t needed = channel->n_receptions + (flight->audible_end - flight->audible_begin);
    if (needed >= channel->receptions_capacity) {
        channel->receptions_capacity = MAX(needed + 1, 2 * channel->receptions_capacity);
        channel->receptions =
            g_renew(SpateReception, channel->receptions, channel->receptions_capacity);
    }
}

/* Of frames that the radio was not locked on. */
static const SpateOutcome OUTCOMES[] = {
    [FATE_SENDING] = SPATE_OUTCOME_LOST_SENDING,     [FATE_BUSY] = SPATE_OUTCOME_LOST_BUSY,
    [FATE_COLLISION] = SPATE_OUTCOME_LOST_COLLISION, [FATE_BLOCKED] = SPATE_OUTCOME_LOST_BLOCKED,
    [FATE_CAPTURED] = SPATE_OUTCOME_LOST_COLLISION,  [FATE_ASLEEP] = SPATE_OUTCOME_LOST_ASLEEP,
};

/* The frame that the radio is locked on ends. */
static inline SpateOutcome
end_lock(SpateChannel *channel, uint32_t radio, int64_t now_ns)
{
    Receiver *rx = &channel->receivers[radio];
    release_lock(channel, rx, radio, now_ns);
    if (!rx->lock_failed)
        return SPATE_OUTCOME_RECEIVED;
    return rx->failed_despite ? SPATE_OUTCOME_LOST_COLLISION : SPATE_OUTCOME_LOST_BLOCKED;
}

static void
name_disturbers(SpateChannel *channel, const Flight *flight)
{
    SpateReception *reception = &channel->receptions[flight->receptions_begin];
    uint32_t n_audible = flight->audible_end - flight->audible_begin;
    for (uint32_t k = 0; k < n_audible; k++) {
        if (!is_outcome(flight->fates[k]))
            continue;
        if (reception->outcome != SPATE_OUTCOME_RECEIVED)
            reception->disturber = flight->disturbers[k];
        reception++;
    }
}

void
spate_walk_end(SpateChannel *channel, Flight *flight)
{
    remove_power_beside(channel, flight);
    int64_t now_ns = flight->frame.end_ns;
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin], *weight = &flight->weight[begin];
    const uint8_t *fates = flight->fates;
    int64_t *slack = channel->slack;
    reserve_receptions(channel, flight);
    uint32_t n = channel->n_receptions;
    SpateReception *reception = &channel->receptions[n];
    flight->received_begin = channel->received.n;
    flight->receptions_begin = n;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        uint8_t fate = fates[k];
        slack[radio] += (int64_t)weight[k];
        if (!is_outcome(fate))
            continue;
        SpateOutcome outcome =
            fate == FATE_LOCKED ? end_lock(channel, radio, now_ns) : OUTCOMES[fate];
        if (outcome == SPATE_OUTCOME_RECEIVED)
            spate_number_list_append(&channel->received, n);
        *reception++ = (SpateReception){radio, outcome, SPATE_NO_DISTURBER, power[k]};
        n++;
    }
    channel->n_receptions = flight->receptions_end = n;
    flight->received_end = channel->received.n;
    if (flight->disturbers != NULL)
        name_disturbers(channel, flight);
}
