/* sleep.c - radios that listen in windows, and are asleep between them
 *
 * No event marks a window.  Whether a radio is awake is asked of the clock when a frame begins,
 * reaches its critical part or ends; an event wakes it only if a frame is on the air that it could
 * still lock on when its next window begins.  How long it was awake is added up whenever its state
 * or what it hears changes: in between both are constant.
 */
#include "channel/channel-private.h"

#include "core/random.h"

bool
spate_sleeper_is_awake(const SpateChannel *channel, uint32_t radio)
{
    const Sleeper *sleeper = &channel->sleepers[radio];
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    if (now_ns < sleeper->stays_until_ns)
        return true;
    int64_t since_ns = spate_listening_since_ns(&sleeper->listening, sleeper->phase_ns, now_ns);
    return since_ns >= 0 && since_ns < sleeper->listening.for_ns;
}

/* Of the time since it was last counted, how long the radio has been awake. */
static int64_t
awake_since_counted_ns(const SpateChannel *channel, uint32_t radio, int64_t now_ns)
{
    const Sleeper *sleeper = &channel->sleepers[radio];
    if (channel->receivers[radio].state == OFF)
        return 0;
    if (channel->receivers[radio].state != ASLEEP)
        return now_ns - sleeper->counted_ns;
    int64_t stays_until_ns = CLAMP(sleeper->stays_until_ns, sleeper->counted_ns, now_ns);
    return stays_until_ns - sleeper->counted_ns +
           spate_listening_open_ns(&sleeper->listening, sleeper->phase_ns, now_ns) -
           spate_listening_open_ns(&sleeper->listening, sleeper->phase_ns, stays_until_ns);
}

SleeperTimes
spate_sleeper_times(const SpateChannel *channel, uint32_t radio)
{
    const Sleeper *sleeper = &channel->sleepers[radio];
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    int64_t awake_ns = awake_since_counted_ns(channel, radio, now_ns);
    bool is_busy = channel->receivers[radio].busy_until_ns >= now_ns;
    return (SleeperTimes){
        .awake_ns = sleeper->times.awake_ns + awake_ns,
        .busy_ns = sleeper->times.busy_ns + (is_busy ? awake_ns : 0),
    };
}

void
spate_sleeper_count(SpateChannel *channel, uint32_t radio)
{
    Sleeper *sleeper = &channel->sleepers[radio];
    sleeper->times = spate_sleeper_times(channel, radio);
    sleeper->counted_ns = spate_event_queue_now_ns(channel->queue);
}

void
spate_sleeper_stay_awake(SpateChannel *channel, uint32_t radio)
{
    Sleeper *sleeper = &channel->sleepers[radio];
    sleeper->stays_until_ns =
        spate_event_queue_now_ns(channel->queue) + sleeper->listening.after_sending_ns;
}

static void plan_waking(SpateChannel *channel, uint32_t radio);

/* It looks when all that is switched at this instant is. */
static void
window_begins(gpointer subject, uint32_t radio)
{
    SpateChannel *channel = subject;
    channel->sleepers[radio].will_wake = false;
    spate_number_list_append(&channel->looking, radio);
    plan_waking(channel, radio);
}

/* Wakes the radio at its next window if some frame on the air can still be locked on then. */
static void
plan_waking(SpateChannel *channel, uint32_t radio)
{
    Sleeper *sleeper = &channel->sleepers[radio];
    int64_t now_ns = spate_event_queue_now_ns(channel->queue);
    if (sleeper->will_wake || sleeper->pending_until <= now_ns)
        return;
    int64_t next_ns = spate_listening_next_ns(&sleeper->listening, sleeper->phase_ns, now_ns);
    if (sleeper->pending_until < next_ns)
        return;
    sleeper->will_wake = true;
    spate_event_queue_schedule(channel->queue, next_ns, SPATE_RANK_SWITCH, window_begins, channel,
                               radio);
}

/* Does that for all links of the flights at radios that sleep and may decode them. */
static void
for_each_sleeper(SpateChannel *channel, const SpateNumberList *flights,
                 void (*act)(SpateChannel *channel, const Flight *flight, uint32_t link))
{
    for (uint32_t f = 0; f < flights->n; f++) {
        const Flight *flight = flight_at(channel, flights->at[f]);
        if (!may_be_asleep(channel, flight))
            continue;
        for (uint32_t i = flight->audible_begin; i < flight->audible_end; i++)
            if (sleeps(&channel->receivers[flight->receiver[i]]))
                act(channel, flight, i);
    }
}

static void
count_at(SpateChannel *channel, const Flight *flight, uint32_t link)
{
    spate_sleeper_count(channel, flight->receiver[link]);
}

static void
plan_waking_for(SpateChannel *channel, const Flight *flight, uint32_t link)
{
    uint32_t radio = flight->receiver[link];
    Sleeper *sleeper = &channel->sleepers[radio];
    uint8_t fate = flight->fates[link - flight->audible_begin];
    if (fate == FATE_LOCKED || fate == FATE_INAUDIBLE)
        return;
    sleeper->pending_until = MAX(sleeper->pending_until, flight->critical_ns);
    plan_waking(channel, radio);
}

void
spate_sleepers_before_change(SpateChannel *channel, const SpateNumberList *flights)
{
    for_each_sleeper(channel, flights, count_at);
    for (uint32_t f = 0; f < flights->n; f++) {
        uint32_t sender = flight_at(channel, flights->at[f])->frame.sender;
        if (sender < channel->medium->n_radios && sleeps(&channel->receivers[sender]))
            spate_sleeper_count(channel, sender);
    }
}

void
spate_sleepers_after_starts(SpateChannel *channel, const SpateNumberList *flights)
{
    for_each_sleeper(channel, flights, plan_waking_for);
}

void
spate_channel_set_listening(SpateChannel *channel, uint32_t radio, const SpateListening *listening)
{
    const SpateMedium *medium = channel->medium;
    g_assert(radio < medium->n_radios);
    if (!spate_listening_sleeps(listening))
        return;
    g_assert(listening->for_ns > 0 && listening->for_ns < listening->every_ns &&
             listening->after_sending_ns >= 0);
    if (channel->sleepers == NULL) {
        channel->sleepers = g_new0(Sleeper, medium->n_radios);
        channel->has_sleepers = g_new0(bool, medium->n_bearers);
    }
    uint32_t bearer = medium->bearer[radio];
    SpateRandom random =
        spate_random_stream(channel->phase_key, spate_hash_combine(medium->name_hash[radio],
                                                                   medium->bearer_hash[bearer]));
    channel->has_sleepers[bearer] = true;
    channel->receivers[radio].state = channel->receivers[radio].at_rest = ASLEEP;
    channel->sleepers[radio] = (Sleeper){
        .listening = *listening,
        .phase_ns = listening->phase == SPATE_PHASE_TOGETHER
                        ? 0
                        : (int64_t)spate_random_below(&random, (uint64_t)listening->every_ns),
        .stays_until_ns = INT64_MIN,
        .pending_until = INT64_MIN,
    };
}

int64_t
spate_channel_awake_ns(const SpateChannel *channel, uint32_t radio)
{
    return sleeps(&channel->receivers[radio]) ? spate_sleeper_times(channel, radio).awake_ns
                                              : spate_event_queue_now_ns(channel->queue);
}
