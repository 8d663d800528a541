/* air.c - frames enter and leave the air
 *
 * Events of one instant and kind happen together: the events only collect flights, the
 * closing functions of their group carry the work out, by the walks of walks.c.
 */
#include "channel/channel-private.h"

static uint64_t *
edges_of(const SpateChannel *channel, const Flight *flight)
{
    return &channel->n_edges[channel->medium->bearer[flight->frame.sender]];
}

/* The flight begins or ends: what was found for others at the radios that it reaches may not hold
 * any more.  Its own radio is one of them, though no link leads there.  On which bearers those of
 * its node are that it disturbs is not asked. */
static void
count_edge(SpateChannel *channel, const Flight *flight)
{
    const SpateMedium *medium = channel->medium;
    uint32_t sender = flight->frame.sender;
    bool has_mates = medium->mates_begin[sender + 1] > medium->mates_begin[sender];
    for (uint32_t b = 0; b < medium->n_bearers; b++) {
        const SpateRowPart *part = &flight->parts[b];
        bool is_reached = has_mates || part->end > part->begin || b == medium->bearer[sender];
        channel->n_edges[b] += is_reached;
    }
}

static void
critical_part_begins(gpointer subject, uint32_t index)
{
    SpateChannel *channel = subject;
    Flight *flight = flight_at(channel, index);
    /* Nothing has begun or ended on its bearer since the frame did: what was found then still
     * holds, but where a radio may have fallen asleep since. */
    if (flight->edges != *edges_of(channel, flight) || may_be_asleep(channel, flight))
        spate_walk_settle(channel, flight);
    if (flight->disturbers != NULL)
        spate_blame_all(channel, flight);
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

/* One that outlived its frame would find another in its place. */
static bool
has_critical_event(const Flight *flight)
{
    return flight->critical_ns > flight->frame.start_ns &&
           flight->critical_ns < flight->frame.end_ns;
}

static void
schedule_critical(SpateChannel *channel, const Flight *flight)
{
    if (flight->frame.sender < channel->medium->n_radios && has_critical_event(flight))
        spate_event_queue_schedule(channel->queue, flight->critical_ns, SPATE_RANK_CRITICAL,
                                   critical_part_begins, channel, flight->index);
}

void
spate_air_end_quiet(SpateChannel *channel, int64_t from_ns)
{
    if (channel->lone == NO_FLIGHT)
        return;
    const Flight *flight = flight_at(channel, channel->lone);
    channel->lone = NO_FLIGHT;
    if (flight->critical_ns >= from_ns)
        schedule_critical(channel, flight);
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
        Receiver *rx = &channel->receivers[flight->frame.sender];
        note_busy_if(true, rx, &flight->frame);
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

/* Whether all radios that may decode the flight, which is on the air, hear nothing else. */
static bool
is_lone(const SpateChannel *channel, const Flight *flight)
{
    return channel->on_air.n == 1 && channel->n_off == 0 && !flight->fades &&
           !may_be_asleep(channel, flight);
}

/* Of several, all are on the air before any is judged. */
static void
walk_starts(SpateChannel *channel)
{
    const SpateNumberList *starting = &channel->starting;
    Flight *first = flight_at(channel, starting->at[0]);
    if (is_lone(channel, first)) {
        channel->lone = first->index;
        spate_walk_add_lone(channel, first);
        return;
    }
    /* What was critical by now has begun to be. */
    spate_air_end_quiet(channel, first->frame.start_ns + 1);
    for (uint32_t i = 0; i < starting->n; i++)
        schedule_critical(channel, flight_at(channel, starting->at[i]));
    for (uint32_t i = 0; i < starting->n; i++)
        spate_walk_add_power(channel, flight_at(channel, starting->at[i]));
    for (uint32_t i = 0; i < starting->n; i++)
        spate_walk_judge(channel, flight_at(channel, starting->at[i]));
}

/* Of several at once, one that was judged later may have changed what was found for an earlier one
 * on its bearer. */
static bool
is_last_of_bearer(const SpateChannel *channel, uint32_t i)
{
    const SpateNumberList *starting = &channel->starting;
    return i + 1 == starting->n || edges_of(channel, flight_at(channel, starting->at[i])) !=
                                       edges_of(channel, flight_at(channel, starting->at[i + 1]));
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
    walk_starts(channel);
    for (uint32_t i = 0; i < starting->n; i++)
        count_edge(channel, flight_at(channel, starting->at[i]));
    for (uint32_t i = 0; i < starting->n; i++) {
        Flight *flight = flight_at(channel, starting->at[i]);
        flight->edges = is_last_of_bearer(channel, i) ? *edges_of(channel, flight) : 0;
        if (starting->n > 1 && flight->critical_ns == flight->frame.start_ns)
            spate_walk_settle(channel, flight);
        if (flight->disturbers != NULL && !has_critical_event(flight))
            spate_blame_all(channel, flight);
    }
    if (channel->sleepers != NULL)
        spate_sleepers_after_starts(channel, starting);
    starting->n = 0;
    report_changed(channel);
}

static void
free_sender(SpateChannel *channel, const Flight *flight)
{
    uint32_t sender = flight->frame.sender;
    if (sender >= channel->medium->n_radios)
        return;
    Receiver *rx = &channel->receivers[sender];
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
    const SpateReceivers receivers = {
        .receiver = &flight->receiver[flight->audible_begin],
        .power = &flight->power[flight->audible_begin],
        .at = &channel->received.at[flight->received_begin],
        .n = flight->received_end - flight->received_begin,
    };
    if (hooks->counted != NULL)
        hooks->counted(channel->user, &flight->frame, flight->n_by_outcome);
    if (hooks->outcomes != NULL)
        hooks->outcomes(channel->user, &flight->frame, channel->receptions,
                        spate_walk_list_outcomes(channel, flight, channel->receptions));
    if (hooks->received != NULL && receivers.n > 0)
        hooks->received(channel->user, &flight->frame, &receivers);
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
    channel->received.n = 0;
    for (uint32_t i = 0; i < ending->n; i++) {
        Flight *flight = flight_at(channel, ending->at[i]);
        take_off_air(channel, flight);
        if (flight->index == channel->lone)
            spate_walk_end_lone(channel, flight);
        else
            spate_walk_end(channel, flight);
        free_sender(channel, flight);
        count_edge(channel, flight);
    }
    channel->lone = NO_FLIGHT;
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
