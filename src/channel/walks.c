/* walks.c - the walks over a sender's row: the inner loop of the whole program
 *
 * What most links need is done for all of them: their power comes and goes.  What only those need
 * that may decode the frame, or that sense power, or that somebody watches, has walks of its own.
 */
#include "channel/channel-private.h"

#include <string.h>

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

/* At those links of a part of a row that may decode the frame: what their locks bear is found out
 * when the frame is judged. */
static inline void
add_audible_power(const SpateChannel *channel, Flight *flight)
{
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin];
    uint64_t *weight = &flight->own_weight[begin - flight->row_begin];
    uint64_t weight_q32 = flight->weight_q32[channel->medium->bearer[flight->frame.sender]];
    int64_t *slack = channel->slack;
    for (uint32_t k = 0; k < n_audible; k++) {
        weight[k] = weighted(power[k], weight_q32);
        slack[receiver[k]] -= (int64_t)weight[k];
    }
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

/* Power has changed at all links of a part of a row. */
static void
note_changes(SpateChannel *channel, const Flight *flight, uint32_t bearer)
{
    if (channel->n_watched[bearer] == 0)
        return;
    const SpateRowPart *part = &flight->parts[bearer];
    const uint32_t *receiver = &flight->receiver[part->begin];
    Receiver *receivers = channel->receivers;
    uint32_t n = part->end - part->begin;
    for (uint32_t i = 0; i < n; i++)
        note_change(channel, &receivers[receiver[i]], receiver[i]);
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
        if (channel->senses_power[bearer])
            note_change(channel, &channel->receivers[mate->receiver], mate->receiver);
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
        channel->receivers[mate->receiver].sum_own -= weight;
        channel->slack[mate->receiver] += (int64_t)weight;
        note_change(channel, &channel->receivers[mate->receiver], mate->receiver);
    }
}

static void
add_power_beside(SpateChannel *channel, Flight *flight)
{
    add_to_mates(channel, flight);
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        add_power(channel, flight, part->audible_end, part->end, flight->weight_q32[b]);
        if (channel->senses_power[b])
            note_changes(channel, flight, b);
    }
}

void
spate_walk_add_power(SpateChannel *channel, Flight *flight)
{
    add_power_beside(channel, flight);
    add_audible_power(channel, flight);
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
        if (channel->senses_power[b] || has_a_turn)
            note_changes(channel, flight, b);
    }
}

/* ---- audible links ---------------------------------------------------------------------------
 *
 * What becomes of a frame at each of many radios cannot be foreseen, and a processor that guesses
 * wrong loses more time than all the arithmetic of a link takes.  So these walks work out every
 * answer and choose, and put aside what is rare or takes long.
 */

/* How a radio in that state stands to a frame on the air: the state, and a row further for each
 * test that fails.  `rest`: the slack that it would have, were it locked on the frame; `own`: of
 * what it hears, by its node's other radios, without which it bears no less. */
#define STATES 8
static inline uint32_t
situation_of(RadioState state, int64_t rest, uint64_t own)
{
    return state + STATES * (uint32_t)((rest < 0) + (rest + (int64_t)own < 0));
}

/* What it makes of it now, if that is not settled. */
static const uint8_t FATES[3 * STATES] = {
    [LISTENING] = FATE_LOCKED,
    [ASLEEP] = FATE_ASLEEP,
    [LOCKED] = FATE_BUSY,
    [SENDING] = FATE_SENDING,
    [OFF] = FATE_OFF,
    [STATES + LISTENING] = FATE_BLOCKED,
    [STATES + ASLEEP] = FATE_ASLEEP,
    [STATES + LOCKED] = FATE_BUSY,
    [STATES + SENDING] = FATE_SENDING,
    [STATES + OFF] = FATE_OFF,
    [2 * STATES + LISTENING] = FATE_COLLISION,
    [2 * STATES + ASLEEP] = FATE_ASLEEP,
    [2 * STATES + LOCKED] = FATE_BUSY,
    [2 * STATES + SENDING] = FATE_SENDING,
    [2 * STATES + OFF] = FATE_OFF,
};

/* Of links that a walk has put aside: the radio is locked on something else, and may give that up
 * for the flight, or may not bear it. */
static void
contest_locks(SpateChannel *channel, Flight *flight, uint32_t n_contested)
{
    for (uint32_t i = 0; i < n_contested; i++) {
        uint32_t k = channel->contested[i], link = flight->audible_begin + k;
        uint32_t radio = flight->receiver[link];
        uint64_t power = flight->power[link], weight = flight->weight[link];
        Receiver *rx = &channel->receivers[radio];
        if (survives(rx, sum_at(channel, radio), power, weight) &&
            spate_receiver_gives_up_lock(channel, flight, radio, power)) {
            flight->fates[k] = FATE_LOCKED;
            take_lock(rx, &channel->slack[radio], flight->index, limit_of_lock(rx, power, weight));
        } else if (channel->slack[radio] < 0) {
            spate_receiver_note_failure(channel, radio);
        }
    }
}

/* `may_sleep`: some radio does; `fades`: some of these links may be too weak now.  Without fading
 * none is, or it would not be among those that may decode. */
static G_ALWAYS_INLINE inline void
judge_links(SpateChannel *channel, Flight *flight, bool may_sleep, bool fades)
{
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin], *weight = &flight->weight[begin];
    Receiver *receivers = channel->receivers;
    int64_t *slacks = channel->slack;
    uint8_t *fates = flight->fates;
    uint32_t *contested = channel->contested, n_contested = 0;
    const SpateAirFrame frame = flight->frame;
    uint32_t index = flight->index;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        Receiver *rx = &receivers[radio];
        int64_t slack = slacks[radio];
        uint64_t limit = limit_of_lock(rx, power[k], weight[k]);
        int64_t rest = slack_with(rx, slack, limit);
        RadioState state = may_sleep ? state_of(channel, rx, radio) : (RadioState)rx->state;
        /* What is too weak does not survive either. */
        uint32_t situation = situation_of(state, rest, rx->sum_own);
        uint8_t fate = FATES[situation];
        bool is_audible = !fades || power[k] >= rx->budget;
        fates[k] = is_audible ? fate : FATE_INAUDIBLE;
        contested[n_contested] = k;
        n_contested += (slack < 0) | (situation == LOCKED);
        note_busy_if(is_audible, rx, &frame);
        if (fate == FATE_LOCKED) {
            slacks[radio] = rest;
            take_lock_with(rx, index, limit);
        }
    }
    contest_locks(channel, flight, n_contested);
}

void
spate_walk_judge(SpateChannel *channel, Flight *flight)
{
    if (may_be_asleep(channel, flight))
        judge_links(channel, flight, true, true);
    else if (flight->fades)
        judge_links(channel, flight, false, true);
    else
        judge_links(channel, flight, false, false);
}

static G_ALWAYS_INLINE inline void
settle_links(SpateChannel *channel, Flight *flight, bool may_sleep)
{
    /* All bits of a fate that is final, none of another. */
    static const uint8_t FINALS[FATE_INAUDIBLE + 1][STATES] = {
        [FATE_LOCKED] = {0xff, 0xff, 0xff, 0xff, 0xff},
        [FATE_CAPTURED] = {0xff, 0xff, 0xff, 0xff, [OFF] = 0},
        [FATE_CUT_OFF] = {0xff, 0xff, 0xff, 0xff, 0xff},
        [FATE_INAUDIBLE] = {0xff, 0xff, 0xff, 0xff, 0xff},
    };
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin], *weight = &flight->weight[begin];
    const Receiver *receivers = channel->receivers;
    const int64_t *slacks = channel->slack;
    uint8_t *fates = flight->fates;
    uint32_t *contested = channel->contested, n_contested = 0;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        const Receiver *rx = &receivers[radio];
        int64_t slack = slacks[radio];
        int64_t rest = slack_with(rx, slack, limit_of_lock(rx, power[k], weight[k]));
        RadioState state = may_sleep ? state_of(channel, rx, radio) : (RadioState)rx->state;
        uint8_t fate = fates[k], now = FATES[situation_of(state, rest, rx->sum_own)];
        uint8_t kept = FINALS[fate][state];
        /* What could be locked on was, when the last frame ended or the radio woke. */
        g_assert((now | kept) != FATE_LOCKED);
        fates[k] = now ^ ((now ^ fate) & kept);
        contested[n_contested] = k;
        n_contested += (fate == FATE_LOCKED) & (slack < 0);
    }
    for (uint32_t i = 0; i < n_contested; i++)
        spate_receiver_note_failure(channel, receiver[contested[i]]);
}

void
spate_walk_settle(SpateChannel *channel, Flight *flight)
{
    if (may_be_asleep(channel, flight))
        settle_links(channel, flight, true);
    else
        settle_links(channel, flight, false);
}

/* ---- a quiet air -----------------------------------------------------------------------------
 *
 * Many frames of a mesh with little traffic meet no other.  Then nothing need be asked: before,
 * each radio listens and hears nothing, and after it does so again.
 */

void
spate_walk_add_lone(SpateChannel *channel, Flight *flight)
{
    add_power_beside(channel, flight);
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin];
    uint64_t *weight = &flight->own_weight[begin - flight->row_begin];
    uint64_t weight_q32 = flight->weight_q32[channel->medium->bearer[flight->frame.sender]];
    Receiver *receivers = channel->receivers;
    int64_t *slack = channel->slack;
    int64_t start_ns = flight->frame.start_ns, end_ns = flight->frame.end_ns;
    uint32_t index = flight->index;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        Receiver *rx = &receivers[radio];
        weight[k] = weighted(power[k], weight_q32);
        slack[radio] = (int64_t)(power[k] - rx->budget);
        take_lock_with(rx, index, limit_of_lock(rx, power[k], weight[k]));
        rx->idle_ns += start_ns - rx->busy_until_ns;
        rx->busy_until_ns = end_ns;
    }
    memset(flight->fates, FATE_LOCKED, n_audible);
}

void
spate_walk_end_lone(SpateChannel *channel, Flight *flight)
{
    remove_power_beside(channel, flight);
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    int64_t now_ns = flight->frame.end_ns;
    /* Never none: where nobody hears anything there is a place to point to all the same. */
    spate_number_list_reserve(&channel->received, n_audible + 1);
    uint32_t *received = channel->received.at;
    Receiver *receivers = channel->receivers;
    int64_t *slack = channel->slack;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        slack[radio] = (int64_t)NO_LIMIT;
        free_receiver(channel, &receivers[radio], radio, now_ns);
        received[k] = k;
    }
    channel->received.n = n_audible;
    flight->received_begin = 0;
    flight->received_end = n_audible;
    memset(flight->n_by_outcome, 0, sizeof flight->n_by_outcome);
    flight->n_by_outcome[SPATE_OUTCOME_RECEIVED] = n_audible;
}

/* ---- outcomes -------------------------------------------------------------------------------- */

/* Losses are added up in one number, some bits for each, so that memory is touched once in many
 * links and not at each, one waiting for the other. */
#define LOSS_BITS         8
#define LINKS_AT_ONCE     ((UINT32_C(1) << LOSS_BITS) - 1)
#define ONE_LOST(outcome) (UINT64_C(1) << (LOSS_BITS * ((outcome)-SPATE_OUTCOME_LOST_COLLISION)))
G_STATIC_ASSERT(SPATE_OUTCOME_RECEIVED == 0 && (SPATE_N_OUTCOMES - 1) * LOSS_BITS <= 64);

static void
add_losses(uint32_t *n_by_outcome, uint64_t losses)
{
    for (uint32_t k = SPATE_OUTCOME_LOST_COLLISION; k < SPATE_N_OUTCOMES; k++) {
        n_by_outcome[k] += losses & LINKS_AT_ONCE;
        losses >>= LOSS_BITS;
    }
}

/* Its power is gone from where it might be decoded.  Counts what those have lost that were not
 * locked on it, and lists the others, by audible link. */
static uint32_t
leave_links(const SpateChannel *channel, Flight *flight, uint32_t *locked)
{
    static const uint64_t LOSSES[] = {
        [FATE_SENDING] = ONE_LOST(SPATE_OUTCOME_LOST_SENDING),
        [FATE_BUSY] = ONE_LOST(SPATE_OUTCOME_LOST_BUSY),
        [FATE_COLLISION] = ONE_LOST(SPATE_OUTCOME_LOST_COLLISION),
        [FATE_BLOCKED] = ONE_LOST(SPATE_OUTCOME_LOST_BLOCKED),
        [FATE_CAPTURED] = ONE_LOST(SPATE_OUTCOME_LOST_COLLISION),
        [FATE_ASLEEP] = ONE_LOST(SPATE_OUTCOME_LOST_ASLEEP),
        [FATE_INAUDIBLE] = 0, /* as of all that are no outcomes, and of those that are locked */
    };
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *weight = &flight->weight[begin];
    const uint8_t *fates = flight->fates;
    int64_t *slack = channel->slack;
    uint32_t n_locked = 0;
    for (uint32_t k = 0; k < n_audible;) {
        uint32_t end = k + MIN(n_audible - k, LINKS_AT_ONCE);
        uint64_t losses = 0;
        for (; k < end; k++) {
            uint8_t fate = fates[k];
            slack[receiver[k]] += (int64_t)weight[k];
            losses += LOSSES[fate];
            locked[n_locked] = k;
            n_locked += fate == FATE_LOCKED;
        }
        add_losses(flight->n_by_outcome, losses);
    }
    return n_locked;
}

/* The radios that were locked on the frame are free; only those stay listed that received it. */
static uint32_t
end_locks(SpateChannel *channel, Flight *flight, uint32_t *locked, uint32_t n_locked)
{
    const uint32_t *receiver = &flight->receiver[flight->audible_begin];
    uint8_t *fates = flight->fates;
    int64_t now_ns = flight->frame.end_ns;
    uint32_t n_received = 0, n_collided = 0;
    for (uint32_t i = 0; i < n_locked; i++) {
        uint32_t k = locked[i], radio = receiver[k];
        Receiver *rx = &channel->receivers[radio];
        uint8_t fate = rx->lock_fate;
        locked[n_received] = k;
        n_received += fate == FATE_LOCKED;
        n_collided += fate == FATE_COLLISION;
        release_lock(channel, rx, radio, now_ns);
        fates[k] = fate;
    }
    flight->n_by_outcome[SPATE_OUTCOME_RECEIVED] = n_received;
    flight->n_by_outcome[SPATE_OUTCOME_LOST_COLLISION] += n_collided;
    flight->n_by_outcome[SPATE_OUTCOME_LOST_BLOCKED] += n_locked - n_received - n_collided;
    return n_received;
}

void
spate_walk_end(SpateChannel *channel, Flight *flight)
{
    remove_power_beside(channel, flight);
    memset(flight->n_by_outcome, 0, sizeof flight->n_by_outcome);
    /* One more than there are: what is not listed is written too, and the next one over it. */
    spate_number_list_reserve(&channel->received, flight->audible_end - flight->audible_begin + 1);
    uint32_t *locked = channel->received.at + channel->received.n;
    uint32_t n_locked = leave_links(channel, flight, locked);
    flight->received_begin = channel->received.n;
    channel->received.n += end_locks(channel, flight, locked, n_locked);
    flight->received_end = channel->received.n;
}

size_t
spate_walk_list_outcomes(const SpateChannel *channel, const Flight *flight,
                         SpateReception *receptions)
{
    static const SpateOutcome OUTCOMES[] = {
        [FATE_LOCKED] = SPATE_OUTCOME_RECEIVED,
        [FATE_SENDING] = SPATE_OUTCOME_LOST_SENDING,
        [FATE_BUSY] = SPATE_OUTCOME_LOST_BUSY,
        [FATE_COLLISION] = SPATE_OUTCOME_LOST_COLLISION,
        [FATE_BLOCKED] = SPATE_OUTCOME_LOST_BLOCKED,
        [FATE_CAPTURED] = SPATE_OUTCOME_LOST_COLLISION,
        [FATE_ASLEEP] = SPATE_OUTCOME_LOST_ASLEEP,
        [FATE_INAUDIBLE] = 0, /* as of all that are no outcomes */
    };
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    size_t n = 0;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint8_t fate = flight->fates[k];
        bool names = flight->disturbers != NULL && fate != FATE_LOCKED;
        /* What is none is written too, and the next one over it. */
        receptions[n] = (SpateReception){
            .receiver = flight->receiver[begin + k],
            .outcome = OUTCOMES[fate],
            .disturber = names ? flight->disturbers[k] : SPATE_NO_DISTURBER,
            .power = flight->power[begin + k],
        };
        n += is_outcome(fate);
    }
    return n;
}
