/* air.c - frames enter and leave the air
 *
 * Events of one instant and kind happen together: the events only collect flights, the
 * closing functions of their group carry the work out.  The walks over a sender's row
 * are the inner loop of the whole program.
 */
#include "channel/channel-private.h"

/* The radio begins to hear or send one more frame.  Whether it heard others is anyone's guess, so
 * that a branch would cost more than it saves. */
static inline void
hear_more(Receiver *rx, int64_t now_ns)
{
    rx->busy_ns -= rx->n_heard == 0 ? now_ns : 0;
    rx->n_heard++;
}

static inline void
hear_less(Receiver *rx, int64_t now_ns)
{
    rx->n_heard--;
    rx->busy_ns += rx->n_heard == 0 ? now_ns : 0;
}

/* ---- power ----------------------------------------------------------------------------------- */

/* Power arrives at the links of a part of a row.  Most are only disturbed, and nearly always bear
 * it. */
static void
add_power(SpateChannel *channel, const Flight *flight, uint32_t bearer)
{
    const SpateRowPart *part = &flight->parts[bearer];
    const uint32_t *receiver = &flight->receiver[part->begin];
    const uint64_t *power = &flight->power[part->begin];
    uint64_t *weight = &flight->own_weight[part->begin - flight->row_begin];
    uint64_t weight_q32 = flight->weight_q32[bearer];
    int64_t *slack = channel->slack;
    uint32_t n = part->end - part->begin;
    for (uint32_t i = 0; i < n; i++) {
        weight[i] = weighted(power[i], weight_q32);
        slack[receiver[i]] -= (int64_t)weight[i];
        if (G_UNLIKELY(slack[receiver[i]] < 0))
            spate_receiver_note_failure(channel, receiver[i]);
    }
}

static void
remove_power(const SpateChannel *channel, const Flight *flight, const SpateRowPart *part)
{
    const uint32_t *receiver = &flight->receiver[part->begin];
    const uint64_t *weight = &flight->weight[part->begin];
    int64_t *slack = channel->slack;
    uint32_t n = part->end - part->begin;
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
        channel->slack[mate->receiver] -= (int64_t)weight;
        if (channel->slack[mate->receiver] < 0)
            spate_receiver_note_failure(channel, mate->receiver);
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

/* First pass over a frame that begins: its power is on the air, who cannot bear it loses what he is
 * locked on. */
static void
add_everywhere(SpateChannel *channel, const Flight *flight)
{
    add_to_mates(channel, flight);
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        add_power(channel, flight, b);
        if (channel->keeps_energy[b]) {
            change_energy(channel, flight, &flight->parts[b], true);
            note_changes(channel, flight, b);
        }
    }
}

static void
remove_everywhere(SpateChannel *channel, const Flight *flight)
{
    remove_from_mates(channel, flight);
    /* Of frames that end together, each radio is told of in the turn of the first that it takes
     * power from, be it locked on that or not.  The last has no others after it, and frees those
     * that are locked on it in the same order. */
    bool has_a_turn = flight->index != channel->ending.at[channel->ending.n - 1];
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        remove_power(channel, flight, part);
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

/* Second pass, with all frames of the instant on the air: who locks on it. */
static void
judge_everywhere(SpateChannel *channel, Flight *flight)
{
    int64_t start_ns = flight->frame.start_ns;
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *powers = &flight->power[begin], *weights = &flight->weight[begin];
    Receiver *receivers = channel->receivers;
    const int64_t *slack = channel->slack;
    uint8_t *fates = flight->fates;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        uint64_t power = powers[k], weight = weights[k];
        Receiver *rx = &receivers[radio];
        if (power < rx->budget) {
            fates[k] = FATE_INAUDIBLE;
            continue;
        }
        uint64_t sum = rx->lock_limit - (uint64_t)slack[radio];
        bool could_lock = survives(rx, sum, power, weight);
        RadioState state = state_of(channel, rx, radio);
        hear_more(rx, start_ns);
        if (could_lock &&
            (state == LISTENING ||
             (state == LOCKED && spate_receiver_gives_up_lock(channel, flight, radio, power))))
            take_lock(channel, flight, k, radio, limit_of_lock(rx, power, weight));
        else
            fates[k] = (uint8_t)fate_in_passing(rx, state, sum, power, weight);
    }
    if (flight->disturbers != NULL)
        for (uint32_t k = 0; k < n_audible; k++)
            spate_receiver_blame(channel, flight, k);
}

/* The critical part of the flight begins: what the radios do now decides. */
static void
settle_everywhere(SpateChannel *channel, Flight *flight)
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
        if (flight->disturbers != NULL)
            spate_receiver_blame(channel, flight, k);
    }
}

static void
critical_part_begins(gpointer subject, uint32_t index)
{
    SpateChannel *channel = subject;
    Flight *flight = flight_at(channel, index);
    /* Nothing began or ended since the frame did: what was found then still holds, but where a
     * radio may have fallen asleep since. */
    if (flight->edges != channel->n_edges || may_be_asleep(channel, flight))
        settle_everywhere(channel, flight);
}

static void
frame_ends(gpointer subject, uint32_t index)
{
    SpateChannel *channel = subject;
    spate_number_list_append(&channel->ending, index);
}

/* By bearers, then senders. */
static bool
precedes(const SpateChannel *channel, uint32_t a, uint32_t b)
{
    uint32_t first = flight_at(channel, a)->frame.sender;
    uint32_t second = flight_at(channel, b)->frame.sender;
    const uint32_t *bearer = channel->medium->bearer;
    return bearer[first] != bearer[second] ? bearer[first] < bearer[second] : first < second;
}

/* When the user wants to hear of a frame that ends, among others; ambient ones are nobody's. */
static uint32_t
turn_of(const SpateChannel *channel, uint32_t index)
{
    const SpateAirFrame *frame = &flight_at(channel, index)->frame;
    if (channel->hooks.turn == NULL || frame->sender >= channel->medium->n_radios)
        return UINT32_MAX;
    return channel->hooks.turn(channel->user, frame);
}

static bool
ends_before(const SpateChannel *channel, uint32_t a, uint32_t b)
{
    uint32_t turn_of_a = turn_of(channel, a), turn_of_b = turn_of(channel, b);
    return turn_of_a != turn_of_b ? turn_of_a < turn_of_b : precedes(channel, a, b);
}

/* Whatever the order of the events was.  By insertion: they come nearly sorted, and a library's
 * sort would allocate. */
static void
sort_flights(const SpateChannel *channel, SpateNumberList *flights,
             bool (*comes_before)(const SpateChannel *channel, uint32_t a, uint32_t b))
{
    uint32_t *at = flights->at;
    for (uint32_t i = 1; i < flights->n; i++) {
        uint32_t flight = at[i];
        uint32_t place = i;
        for (; place > 0 && comes_before(channel, flight, at[place - 1]); place--)
            at[place] = at[place - 1];
        at[place] = flight;
    }
}

static void
put_on_air(SpateChannel *channel, uint32_t index)
{
    Flight *flight = flight_at(channel, index);
    flight->on_air = channel->on_air.n;
    spate_number_list_append(&channel->on_air, index);
    spate_event_queue_schedule(channel->queue, flight->frame.end_ns, SPATE_RANK_END, frame_ends,
                               channel, index);
    if (flight->frame.sender < channel->medium->n_radios) {
        /* An event that outlived its frame would find another in its place. */
        if (flight->critical_ns > flight->frame.start_ns &&
            flight->critical_ns < flight->frame.end_ns)
            spate_event_queue_schedule(channel->queue, flight->critical_ns, SPATE_RANK_CRITICAL,
                                       critical_part_begins, channel, index);
        Receiver *rx = &channel->receivers[flight->frame.sender];
        hear_more(rx, flight->frame.start_ns);
        note_change(channel, rx, flight->frame.sender);
        channel->pending_until = MAX(channel->pending_until, flight->critical_ns);
    }
}

static void
take_off_air(SpateChannel *channel, Flight *flight)
{
    uint32_t last = channel->on_air.at[channel->on_air.n - 1];
    channel->on_air.at[flight->on_air] = last;
    flight_at(channel, last)->on_air = flight->on_air;
    channel->on_air.n--;
}

static void
report_changed(SpateChannel *channel)
{
    for (uint32_t i = 0; i < channel->changed.n; i++) {
        uint32_t radio = channel->changed.at[i];
        channel->receivers[radio].reported = false;
        if (channel->receivers[radio].watched && channel->hooks.changed != NULL)
            channel->hooks.changed(channel->user, radio);
    }
    channel->changed.n = 0;
}

void
spate_air_close_starts(gpointer subject)
{
    SpateChannel *channel = subject;
    SpateNumberList *starting = &channel->starting;
    if (starting->n == 0)
        return;
    sort_flights(channel, starting, precedes);
    if (channel->sleepers != NULL)
        spate_sleepers_before_change(channel, starting);
    for (uint32_t i = 0; i < starting->n; i++)
        put_on_air(channel, starting->at[i]);
    for (uint32_t i = 0; i < starting->n; i++)
        add_everywhere(channel, flight_at(channel, starting->at[i]));
    for (uint32_t i = 0; i < starting->n; i++)
        judge_everywhere(channel, flight_at(channel, starting->at[i]));
    channel->n_edges += starting->n;
    for (uint32_t i = 0; i < starting->n; i++) {
        Flight *flight = flight_at(channel, starting->at[i]);
        /* With several at once, a later one may have changed what was found for an earlier. */
        flight->edges = starting->n == 1 ? channel->n_edges : 0;
        if (starting->n > 1 && flight->critical_ns == flight->frame.start_ns)
            settle_everywhere(channel, flight);
    }
    if (channel->sleepers != NULL)
        spate_sleepers_after_starts(channel, starting);
    starting->n = 0;
    report_changed(channel);
}

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
end_lock(SpateChannel *channel, Receiver *rx, uint32_t radio, int64_t now_ns)
{
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

/* The outcomes of a frame that ends; frees the radios that were locked on it. */
static void
end_receptions(SpateChannel *channel, Flight *flight)
{
    int64_t now_ns = flight->frame.end_ns;
    uint32_t begin = flight->audible_begin, n_audible = flight->audible_end - begin;
    const uint32_t *receiver = &flight->receiver[begin];
    const uint64_t *power = &flight->power[begin];
    const uint8_t *fates = flight->fates;
    reserve_receptions(channel, flight);
    uint32_t n = channel->n_receptions;
    SpateReception *reception = &channel->receptions[n];
    flight->received_begin = channel->received.n;
    flight->receptions_begin = n;
    for (uint32_t k = 0; k < n_audible; k++) {
        uint32_t radio = receiver[k];
        uint8_t fate = fates[k];
        Receiver *rx = &channel->receivers[radio];
        if (fate != FATE_INAUDIBLE)
            hear_less(rx, now_ns);
        if (!is_outcome(fate))
            continue;
        SpateOutcome outcome =
            fate == FATE_LOCKED ? end_lock(channel, rx, radio, now_ns) : OUTCOMES[fate];
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

static void
free_sender(SpateChannel *channel, const Flight *flight)
{
    uint32_t sender = flight->frame.sender;
    if (sender >= channel->medium->n_radios)
        return;
    Receiver *rx = &channel->receivers[sender];
    hear_less(rx, flight->frame.end_ns);
    rest(channel, rx, sender, flight->frame.end_ns);
    if (sleeps(rx))
        spate_sleeper_stay_awake(channel, sender);
    note_change(channel, rx, sender);
}

static void
report_ended(SpateChannel *channel, const Flight *flight)
{
    if (flight->frame.sender >= channel->medium->n_radios)
        return;
    const SpateChannelHooks *hooks = &channel->hooks;
    const SpateReception *receptions = channel->receptions;
    if (hooks->outcomes != NULL)
        hooks->outcomes(channel->user, &flight->frame, &receptions[flight->receptions_begin],
                        flight->receptions_end - flight->receptions_begin);
    if (hooks->received != NULL) {
        for (uint32_t i = flight->received_begin; i < flight->received_end; i++) {
            const SpateReception *reception = &receptions[channel->received.at[i]];
            hooks->received(channel->user, &flight->frame, reception->receiver, reception->power);
        }
    }
    if (hooks->sent != NULL)
        hooks->sent(channel->user, &flight->frame);
}

/* Radios that woke, or can hear again, take what they can still lock on. */
static void
look(SpateChannel *channel)
{
    for (uint32_t i = 0; i < channel->looking.n; i++)
        spate_receiver_look(channel, channel->looking.at[i]);
    channel->looking.n = 0;
}

/* So do those that became free, or at which less power is on the air. */
static void
look_everywhere(SpateChannel *channel)
{
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    if (channel->pending_until < now_ns)
        return;
    for (uint32_t i = 0; i < channel->on_air.n; i++) {
        const Flight *flight = flight_at(channel, channel->on_air.at[i]);
        if (flight->critical_ns < now_ns)
            continue;
        for (uint32_t link = flight->audible_begin; link < flight->audible_end; link++) {
            uint32_t radio = flight->receiver[link];
            const Receiver *rx = &channel->receivers[radio];
            if (state_of(channel, rx, radio) == LISTENING &&
                survives(rx, sum_at(channel, radio), flight->power[link], flight->weight[link]))
                spate_receiver_look(channel, radio);
        }
    }
}

void
spate_air_close_switches(gpointer subject)
{
    SpateChannel *channel = subject;
    if (channel->hooks.switched != NULL)
        channel->hooks.switched(channel->user);
    look(channel);
    report_changed(channel);
}

void
spate_air_close_ends(gpointer subject)
{
    SpateChannel *channel = subject;
    SpateNumberList *ending = &channel->ending;
    if (ending->n == 0)
        return;
    sort_flights(channel, ending, ends_before);
    if (channel->sleepers != NULL)
        spate_sleepers_before_change(channel, ending);
    channel->n_receptions = 0;
    channel->received.n = 0;
    for (uint32_t i = 0; i < ending->n; i++) {
        Flight *flight = flight_at(channel, ending->at[i]);
        take_off_air(channel, flight);
        remove_everywhere(channel, flight);
        end_receptions(channel, flight);
        free_sender(channel, flight);
    }
    channel->n_edges += ending->n;
    look_everywhere(channel);

    for (uint32_t i = 0; i < ending->n; i++) {
        report_ended(channel, flight_at(channel, ending->at[i]));
        spate_flight_give_back(channel, ending->at[i]);
    }
    ending->n = 0;
    report_changed(channel);
}

void
spate_channel_begin(SpateChannel *channel, uint32_t sender, int64_t airtime_ns, uint32_t cargo,
                    uint64_t identity)
{
    g_assert(sender < channel->medium->n_senders && airtime_ns > 0);
    if (sender < channel->medium->n_radios) {
        Receiver *rx = &channel->receivers[sender];
        g_assert(rx->state <= ASLEEP);
        if (sleeps(rx))
            spate_sleeper_count(channel, sender);
        rx->state = SENDING;
    }
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    uint32_t index = spate_flight_take(channel);
    Flight *flight = flight_at(channel, index);
    flight->frame = (SpateAirFrame){
        .sender = sender,
        .cargo = cargo,
        .identity = identity,
        .start_ns = now_ns,
        .end_ns = now_ns + airtime_ns,
    };
    spate_flight_launch(channel, flight);
    spate_number_list_append(&channel->starting, index);
}
