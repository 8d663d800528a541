/* air.c - frames enter and leave the air
 *
 * Events of one instant and kind happen together: the events only collect flights, the
 * closing functions of their group carry the work out.  The walks over a sender's row
 * are the inner loop of the whole program.
 */
#include "channel/channel-private.h"

/* The radio begins to hear or send one more frame. */
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

/* What a walk needs, at hand: the compiler cannot know that receivers never alias the rows. */
typedef struct {
    Receiver *receivers;
    uint64_t *energy; /* NULL where none is kept */
    const uint32_t *receiver;
    const uint64_t *power; /* by link */
    uint64_t weight_q32;
    int64_t now_ns;
} Walk;

static inline Walk
walk_of(const SpateChannel *channel, const Flight *flight, uint32_t bearer, int64_t now_ns)
{
    return (Walk){
        .receivers = channel->receivers,
        .energy = channel->keeps_energy[bearer] ? channel->energy : NULL,
        .receiver = flight->receiver,
        .power = flight->power,
        .weight_q32 = flight->weight_q32[bearer],
        .now_ns = now_ns,
    };
}

/* The power of a flight arrives at a receiver. */
static inline void
add_power(SpateChannel *channel, const Walk *walk, uint32_t radio, uint64_t power)
{
    Receiver *rx = &walk->receivers[radio];
    rx->sum += weighted(power, walk->weight_q32);
    if (walk->energy != NULL)
        walk->energy[radio] += power;
    note_change(channel, rx, radio);
}

static inline void
remove_power(SpateChannel *channel, const Walk *walk, uint32_t radio, uint64_t power)
{
    Receiver *rx = &walk->receivers[radio];
    rx->sum -= weighted(power, walk->weight_q32);
    if (walk->energy != NULL)
        walk->energy[radio] -= power;
    if (rx->pending_until >= walk->now_ns)
        g_array_append_val(channel->looking, radio);
    note_change(channel, rx, radio);
}

static inline void
test_lock(SpateChannel *channel, const Walk *walk, uint32_t radio)
{
    if (walk->receivers[radio].sum > walk->receivers[radio].lock_limit)
        spate_receiver_note_failure(channel, radio);
}

static void
add_to_mates(SpateChannel *channel, const Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
        const SpateMate *mate = &medium->mates[m];
        Walk walk =
            walk_of(channel, flight, medium->bearer[mate->receiver], flight->frame.start_ns);
        add_power(channel, &walk, mate->receiver, mate->power);
        channel->receivers[mate->receiver].sum_own += weighted(mate->power, walk.weight_q32);
    }
}

static void
test_mates(SpateChannel *channel, const Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
        const Receiver *rx = &channel->receivers[medium->mates[m].receiver];
        if (rx->sum > rx->lock_limit)
            spate_receiver_note_failure(channel, medium->mates[m].receiver);
    }
}

static void
remove_from_mates(SpateChannel *channel, const Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    for (uint32_t m = medium->mates_begin[sender]; m < medium->mates_begin[sender + 1]; m++) {
        const SpateMate *mate = &medium->mates[m];
        Walk walk = walk_of(channel, flight, medium->bearer[mate->receiver], flight->frame.end_ns);
        channel->receivers[mate->receiver].sum_own -= weighted(mate->power, walk.weight_q32);
        remove_power(channel, &walk, mate->receiver, mate->power);
    }
}

/* First pass over a frame that begins: all its power is on the air. */
static void
add_everywhere(SpateChannel *channel, Flight *flight)
{
    add_to_mates(channel, flight);
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        const Walk walk = walk_of(channel, flight, b, flight->frame.start_ns);
        for (uint32_t i = part->begin; i < part->end; i++)
            add_power(channel, &walk, walk.receiver[i], walk.power[i]);
        for (uint32_t i = part->begin; i < part->audible_end; i++) {
            Receiver *rx = &walk.receivers[walk.receiver[i]];
            bool is_audible = walk.power[i] >= rx->budget;
            flight->fates[i - part->begin] = is_audible ? FATE_COLLISION : FATE_INAUDIBLE;
            if (is_audible)
                hear_more(rx, walk.now_ns);
        }
    }
}

/* Second pass, with all frames of the instant on the air: who is disturbed, who locks on it. */
static void
judge_everywhere(SpateChannel *channel, Flight *flight)
{
    test_mates(channel, flight);
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        const Walk walk = walk_of(channel, flight, b, flight->frame.start_ns);
        for (uint32_t i = part->begin; i < part->audible_end; i++) {
            test_lock(channel, &walk, walk.receiver[i]);
            if (flight->fates[i - part->begin] != FATE_INAUDIBLE)
                spate_receiver_judge_arrival(channel, flight, i - part->begin, i);
        }
        for (uint32_t i = part->audible_end; i < part->end; i++)
            test_lock(channel, &walk, walk.receiver[i]);
    }
}

/* A frame that finds the radio sending, off, or locked on another that it cannot take the lock
 * from. */
static inline void
pass_by(const SpateChannel *channel, Flight *flight, uint32_t index, Receiver *rx)
{
    static const uint8_t fates[] = {
        [LOCKED] = FATE_BUSY, [SENDING] = FATE_SENDING, [OFF] = FATE_OFF};
    flight->fates[index] = fates[rx->state];
    if (flight->disturbers != NULL)
        flight->disturbers[index] =
            rx->state == LOCKED ? flight_at(channel, rx->lock)->frame.sender : SPATE_NO_DISTURBER;
    rx->pending_until = MAX(rx->pending_until, flight->critical_ns);
}

/* Both passes in one, for a frame that begins alone and does not fade: the common case. */
static void
arrive_alone(SpateChannel *channel, Flight *flight)
{
    add_to_mates(channel, flight);
    test_mates(channel, flight);
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        const Walk walk = walk_of(channel, flight, b, flight->frame.start_ns);
        for (uint32_t i = part->begin; i < part->audible_end; i++) {
            uint32_t radio = walk.receiver[i];
            uint64_t power = walk.power[i], own = weighted(power, walk.weight_q32);
            Receiver *rx = &walk.receivers[radio];
            add_power(channel, &walk, radio, power);
            hear_more(rx, walk.now_ns);
            bool could_lock = survives(rx, power, own);
            if (rx->state == LISTENING && could_lock) {
                take_lock(channel, flight, i - part->begin, radio, power, own);
                continue;
            }
            test_lock(channel, &walk, radio);
            if (rx->state <= ASLEEP || could_lock)
                spate_receiver_judge_arrival(channel, flight, i - part->begin, i);
            else
                pass_by(channel, flight, i - part->begin, rx);
        }
        for (uint32_t i = part->audible_end; i < part->end; i++) {
            add_power(channel, &walk, walk.receiver[i], walk.power[i]);
            test_lock(channel, &walk, walk.receiver[i]);
        }
    }
}

static void
settle_everywhere(SpateChannel *channel, Flight *flight)
{
    const uint32_t *receiver = &flight->receiver[flight->audible_begin];
    uint32_t n_audible = flight->audible_end - flight->audible_begin;
    for (uint32_t i = 0; i < n_audible; i++) {
        const Receiver *rx = &channel->receivers[receiver[i]];
        /* Nothing to say of a lock that holds, nor of a radio that was and is busy with another. */
        bool holds = rx->lock == flight->index && rx->sum <= rx->lock_limit;
        bool still_busy = flight->fates[i] == FATE_BUSY && rx->state == LOCKED &&
                          rx->lock != flight->index && flight->disturbers == NULL;
        if (!holds && !still_busy)
            spate_receiver_settle(channel, flight, i);
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
    g_array_append_val(channel->ending, index);
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
sort_flights(const SpateChannel *channel, GArray *flights,
             bool (*comes_before)(const SpateChannel *channel, uint32_t a, uint32_t b))
{
    uint32_t *at = (uint32_t *)(void *)flights->data;
    for (guint i = 1; i < flights->len; i++) {
        uint32_t flight = at[i];
        guint place = i;
        for (; place > 0 && comes_before(channel, flight, at[place - 1]); place--)
            at[place] = at[place - 1];
        at[place] = flight;
    }
}

static void
put_on_air(SpateChannel *channel, uint32_t index)
{
    Flight *flight = flight_at(channel, index);
    flight->on_air = channel->on_air->len;
    g_array_append_val(channel->on_air, index);
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
    }
}

static void
take_off_air(SpateChannel *channel, Flight *flight)
{
    uint32_t last = g_array_index(channel->on_air, uint32_t, channel->on_air->len - 1);
    g_array_index(channel->on_air, uint32_t, flight->on_air) = last;
    flight_at(channel, last)->on_air = flight->on_air;
    g_array_set_size(channel->on_air, channel->on_air->len - 1);
}

static void
report_changed(SpateChannel *channel)
{
    for (guint i = 0; i < channel->changed->len; i++) {
        uint32_t radio = g_array_index(channel->changed, uint32_t, i);
        channel->receivers[radio].reported = false;
        if (channel->receivers[radio].watched && channel->hooks.changed != NULL)
            channel->hooks.changed(channel->user, radio);
    }
    g_array_set_size(channel->changed, 0);
}

void
spate_air_close_starts(gpointer subject)
{
    SpateChannel *channel = subject;
    GArray *starting = channel->starting;
    if (starting->len == 0)
        return;
    sort_flights(channel, starting, precedes);
    if (channel->sleepers != NULL)
        spate_sleepers_before_change(channel, starting);
    for (guint i = 0; i < starting->len; i++)
        put_on_air(channel, g_array_index(starting, uint32_t, i));
    Flight *first = flight_at(channel, g_array_index(starting, uint32_t, 0));
    if (starting->len == 1 && !first->fades) {
        arrive_alone(channel, first);
    } else {
        for (guint i = 0; i < starting->len; i++)
            add_everywhere(channel, flight_at(channel, g_array_index(starting, uint32_t, i)));
        for (guint i = 0; i < starting->len; i++)
            judge_everywhere(channel, flight_at(channel, g_array_index(starting, uint32_t, i)));
    }
    channel->n_edges += starting->len;
    for (guint i = 0; i < starting->len; i++) {
        Flight *flight = flight_at(channel, g_array_index(starting, uint32_t, i));
        /* With several at once, a later one may have changed what was found for an earlier. */
        flight->edges = starting->len == 1 ? channel->n_edges : 0;
        if (starting->len > 1 && flight->critical_ns == flight->frame.start_ns)
            settle_everywhere(channel, flight);
    }
    if (channel->sleepers != NULL)
        spate_sleepers_after_starts(channel, starting);
    g_array_set_size(starting, 0);
    report_changed(channel);
}

/* Room for the receptions of one more flight, and never none: where nobody hears anything there is
 * a place to point to all the same. */
static SpateReception *
reserve_receptions(SpateChannel *channel, const Flight *flight)
{
    size_t needed = channel->n_receptions + (flight->audible_end - flight->audible_begin);
    if (needed >= channel->receptions_capacity) {
        channel->receptions_capacity = MAX(needed + 1, 2 * channel->receptions_capacity);
        channel->receptions =
            g_renew(SpateReception, channel->receptions, channel->receptions_capacity);
    }
    return channel->receptions + channel->n_receptions;
}

/* Of a locked frame that survived, and of all that the radio was not locked on. */
static const SpateOutcome OUTCOMES[] = {
    [FATE_LOCKED] = SPATE_OUTCOME_RECEIVED,      [FATE_SENDING] = SPATE_OUTCOME_LOST_SENDING,
    [FATE_BUSY] = SPATE_OUTCOME_LOST_BUSY,       [FATE_COLLISION] = SPATE_OUTCOME_LOST_COLLISION,
    [FATE_BLOCKED] = SPATE_OUTCOME_LOST_BLOCKED, [FATE_CAPTURED] = SPATE_OUTCOME_LOST_COLLISION,
    [FATE_ASLEEP] = SPATE_OUTCOME_LOST_ASLEEP,
};

/* An audible link of a frame that ends: its outcome; frees the radio if it was locked on it. */
static inline void
end_reception(SpateChannel *channel, Flight *flight, uint32_t index, uint32_t link, uint64_t power,
              SpateReception *reception)
{
    uint32_t radio = flight->receiver[link];
    Receiver *rx = &channel->receivers[radio];
    Fate fate = (Fate)flight->fates[index];
    SpateOutcome outcome = OUTCOMES[fate];
    if (fate == FATE_LOCKED) {
        if (rx->lock_failed)
            outcome =
                rx->failed_despite ? SPATE_OUTCOME_LOST_COLLISION : SPATE_OUTCOME_LOST_BLOCKED;
        release_lock(channel, rx, radio, flight->frame.end_ns);
    }
    *reception = (SpateReception){
        .receiver = radio,
        .outcome = outcome,
        .disturber = outcome != SPATE_OUTCOME_RECEIVED && flight->disturbers != NULL
                         ? flight->disturbers[index]
                         : SPATE_NO_DISTURBER,
        .power = power,
    };
    hear_less(rx, flight->frame.end_ns);
}

static void
remove_everywhere(SpateChannel *channel, Flight *flight)
{
    SpateReception *reception = reserve_receptions(channel, flight);
    remove_from_mates(channel, flight);
    for (uint32_t b = 0; b < channel->medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        const Walk walk = walk_of(channel, flight, b, flight->frame.end_ns);
        for (uint32_t i = part->begin; i < part->audible_end; i++) {
            uint8_t fate = flight->fates[i - part->begin];
            if (G_LIKELY(is_outcome(fate)))
                end_reception(channel, flight, i - part->begin, i, walk.power[i], reception++);
            else if (fate != FATE_INAUDIBLE)
                hear_less(&walk.receivers[walk.receiver[i]], walk.now_ns);
            remove_power(channel, &walk, walk.receiver[i], walk.power[i]);
        }
        for (uint32_t i = part->audible_end; i < part->end; i++)
            remove_power(channel, &walk, walk.receiver[i], walk.power[i]);
    }
    channel->n_receptions = (size_t)(reception - channel->receptions);
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
    if (rx->pending_until >= flight->frame.end_ns)
        g_array_append_val(channel->looking, sender);
    note_change(channel, rx, sender);
}

static void
report_ended(SpateChannel *channel, const Flight *flight, const SpateReception *receptions,
             size_t n)
{
    if (flight->frame.sender >= channel->medium->n_radios)
        return;
    if (channel->hooks.outcomes != NULL)
        channel->hooks.outcomes(channel->user, &flight->frame, receptions, n);
    if (channel->hooks.received != NULL) {
        for (size_t i = 0; i < n; i++)
            if (receptions[i].outcome == SPATE_OUTCOME_RECEIVED)
                channel->hooks.received(channel->user, &flight->frame, receptions[i].receiver,
                                        receptions[i].power);
    }
    if (channel->hooks.sent != NULL)
        channel->hooks.sent(channel->user, &flight->frame);
}

/* Radios that became free, woke, or can hear again, take what they can still lock on. */
static void
look(SpateChannel *channel)
{
    for (guint i = 0; i < channel->looking->len; i++)
        spate_receiver_look(channel, g_array_index(channel->looking, uint32_t, i));
    g_array_set_size(channel->looking, 0);
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
    GArray *ending = channel->ending;
    if (ending->len == 0)
        return;
    sort_flights(channel, ending, ends_before);
    if (channel->sleepers != NULL)
        spate_sleepers_before_change(channel, ending);
    channel->n_receptions = 0;
    g_array_set_size(channel->reception_ends, 0);
    for (guint i = 0; i < ending->len; i++) {
        Flight *flight = flight_at(channel, g_array_index(ending, uint32_t, i));
        take_off_air(channel, flight);
        remove_everywhere(channel, flight);
        free_sender(channel, flight);
        size_t end = channel->n_receptions;
        g_array_append_val(channel->reception_ends, end);
    }
    channel->n_edges += ending->len;
    look(channel);

    size_t begin = 0;
    for (guint i = 0; i < ending->len; i++) {
        uint32_t index = g_array_index(ending, uint32_t, i);
        size_t end = g_array_index(channel->reception_ends, size_t, i);
        report_ended(channel, flight_at(channel, index), channel->receptions + begin, end - begin);
        spate_flight_give_back(channel, index);
        begin = end;
    }
    g_array_set_size(ending, 0);
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
    g_array_append_val(channel->starting, index);
}
