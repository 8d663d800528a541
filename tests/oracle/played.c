/* played.c - one replication as the program plays it, told as a history */
#include "oracle/played.h"

#include "scenario/world/world.h"
#include "study/run/run.h"

/* IEEE Std 802.11-2020, clause 15: DIFS 50 us, slots of 20 us, a backoff of 31 slots at most. */
#define LONGEST_QUIET_CSMA_NS INT64_C(670000)

typedef struct {
    const SpatePlan *plan;
    const SpateMedium *medium;
    History *history;
    PlayedCounts *counts;
    int64_t last_start_ns;
} Player;

static HistoryMessage
message_of(const SpateMessageFacts *facts)
{
    return (HistoryMessage){facts->traffic, facts->origin, facts->offered_ns, facts->attempt};
}

static HistoryOutcome
outcome_of(SpateOutcome outcome)
{
    switch (outcome) {
    case SPATE_OUTCOME_RECEIVED:
        return HISTORY_RECEIVED;
    case SPATE_OUTCOME_LOST_COLLISION:
        return HISTORY_LOST_COLLISION;
    case SPATE_OUTCOME_LOST_BUSY:
        return HISTORY_LOST_BUSY;
    case SPATE_OUTCOME_LOST_SENDING:
        return HISTORY_LOST_SENDING;
    case SPATE_OUTCOME_LOST_BLOCKED:
        return HISTORY_LOST_BLOCKED;
    case SPATE_OUTCOME_LOST_ASLEEP:
        return HISTORY_LOST_ASLEEP;
    }
    g_assert_not_reached();
}

static HistoryFate
fate_of(Player *player, const SpateReception *reception)
{
    HistoryFate fate = {outcome_of(reception->outcome), HISTORY_NOBODY, HISTORY_NOBODY};
    uint32_t sender = reception->disturber;
    player->counts->outcomes[reception->outcome]++;
    if (sender == SPATE_NO_DISTURBER)
        return fate;
    bool is_ambient = sender >= player->plan->n_radios;
    player->counts->named_ambient += is_ambient ? 1 : 0;
    fate.disturber_node = is_ambient ? player->plan->n_nodes + sender - player->plan->n_radios
                                     : player->plan->radios[sender].node;
    fate.disturber_bearer = player->medium->bearer[sender];
    return fate;
}

static void
note_ended(Player *player, const SpateEvent *event)
{
    HistoryFrame *frame = history_add_frame(player->history);
    frame->message = message_of(event->message);
    frame->node = event->node;
    frame->bearer = player->plan->radios[event->radio].bearer;
    frame->hops = event->frame->hops;
    frame->start_ns = event->frame->started_ns;
    frame->end_ns = event->at_ns;
    for (size_t i = 0; i < event->n_receptions; i++)
        frame->fates[player->plan->radios[event->receptions[i].receiver].node] =
            fate_of(player, &event->receptions[i]);
    player->counts->frames++;
}

static void
note_delivered(const Player *player, const SpateEvent *event)
{
    HistoryDelivery delivery = {message_of(event->message), event->node, event->hops, event->at_ns};
    g_array_append_val(player->history->deliveries, delivery);
    player->counts->deliveries++;
}

/* Told as the delivery of an acknowledgement at the source, which need not be of the last try. */
static void
note_acknowledged(const Player *player, const SpateEvent *event)
{
    HistoryDelivery delivery = {message_of(event->message), event->node, 0, event->at_ns};
    delivery.message.attempt = 0;
    g_array_append_val(player->history->deliveries, delivery);
    player->counts->acknowledged++;
}

/* A relay that is cancelled is nobody's loss. */
static bool
cause_of(SpateDropCause cause, HistoryDropCause *into)
{
    switch (cause) {
    case SPATE_DROP_QUEUE:
        *into = HISTORY_DROPPED_QUEUE;
        return true;
    case SPATE_DROP_EXPIRED:
        *into = HISTORY_DROPPED_EXPIRED;
        return true;
    case SPATE_DROP_SIZE:
        *into = HISTORY_DROPPED_SIZE;
        return true;
    case SPATE_DROP_OUTAGE:
        *into = HISTORY_DROPPED_OUTAGE;
        return true;
    case SPATE_DROP_CANCELLED:
        return false;
    }
    g_assert_not_reached();
}

static void
note_dropped(const Player *player, const SpateEvent *event)
{
    HistoryDrop drop = {message_of(event->message), event->node,
                        player->plan->radios[event->radio].bearer, 0, event->at_ns};
    if (event->frame->queued_ns >= 0 || event->cause == SPATE_DROP_OUTAGE)
        player->counts->drops[event->cause]++;
    if (cause_of(event->cause, &drop.cause))
        g_array_append_val(player->history->drops, drop);
}

static void
note_started(Player *player, const SpateFrameFacts *frame)
{
    const SpateBearer *bearer = &player->plan->bearers[player->plan->radios[frame->radio].bearer];
    PlayedCounts *counts = player->counts;
    counts->along_routes += frame->message.route_length > 0 ? 1 : 0;
    counts->duty_waits += frame->waited_duty_ns > 0 ? 1 : 0;
    counts->together += frame->started_ns == player->last_start_ns ? 1 : 0;
    player->last_start_ns = frame->started_ns;
    switch (bearer->access.method) {
    case SPATE_ACCESS_NONE:
        break;
    case SPATE_ACCESS_CAD:
        counts->cad_waits += frame->waited_access_ns >= frame->airtime_ns ? 1 : 0;
        break;
    case SPATE_ACCESS_CSMA:
        counts->csma_freezes += frame->waited_access_ns > LONGEST_QUIET_CSMA_NS ? 1 : 0;
        break;
    case SPATE_N_ACCESS_METHODS:
        g_assert_not_reached();
    }
}

static void
note_decided(const Player *player, const SpateEvent *event)
{
    player->counts->decisions[event->decision]++;
    if (event->decision != SPATE_DECISION_HELD_BACK)
        return;
    if (event->crossing == SPATE_NO_CROSSING) {
        player->counts->refused_relays++;
        return;
    }
    HistoryRefusal refusal = {message_of(event->message), event->crossing, event->at_ns};
    g_array_append_val(player->history->refusals, refusal);
    player->counts->refusals++;
}

static void
note_moved(const Player *player, const SpateEvent *event)
{
    const SpateEventPlace *to = &event->place;
    bool in_degrees = to->is_geographic;
    HistoryMove move = {event->node, event->at_ns, in_degrees ? to->longitude_deg : to->x_m,
                        in_degrees ? to->latitude_deg : to->y_m, in_degrees};
    g_array_append_val(player->history->moves, move);
    player->counts->moves++;
}

static void
note(gpointer self, const SpateEvent *event)
{
    Player *player = self;
    switch (event->kind) {
    case SPATE_EVENT_DIGESTED:
        player->counts->digests++;
        break;
    case SPATE_EVENT_DROPPED:
        note_dropped(player, event);
        break;
    case SPATE_EVENT_STARTED:
        note_started(player, event->frame);
        break;
    case SPATE_EVENT_ENDED:
        note_ended(player, event);
        break;
    case SPATE_EVENT_REDUNDANT:
        player->counts->redundant++;
        break;
    case SPATE_EVENT_DECIDED:
        note_decided(player, event);
        break;
    case SPATE_EVENT_TRIED:
        player->counts->further_tries++;
        break;
    case SPATE_EVENT_ANSWERED:
        player->counts->answers++;
        break;
    case SPATE_EVENT_ACKNOWLEDGED:
        note_acknowledged(player, event);
        break;
    case SPATE_EVENT_ROUTE_LEARNED:
        player->counts->learned++;
        break;
    case SPATE_EVENT_ROUTE_DROPPED:
        player->counts->unlearned++;
        break;
    case SPATE_EVENT_DELIVERED:
        note_delivered(player, event);
        break;
    case SPATE_EVENT_OFFERED:
    case SPATE_EVENT_QUEUED:
    case SPATE_EVENT_ARRIVED:
    case SPATE_EVENT_CAME_BACK:
        break;
    case SPATE_EVENT_WENT_DOWN:
        player->counts->outages++;
        break;
    case SPATE_EVENT_MOVED:
        note_moved(player, event);
        break;
    }
}

History *
played_run(const SpateScenario *scenario, uint32_t replication, PlayedCounts *counts,
           GError **error)
{
    g_autoptr(SpateWorld) world = spate_world_new(scenario, error);
    if (world == NULL)
        return NULL;
    g_autoptr(SpateRun) run = spate_run_new_made(
        world, replication, (SpateRunMaking){.names_disturbers = true, .n_builders = 1}, error);
    if (run == NULL)
        return NULL;
    g_autoptr(History) history = history_new(scenario->n_nodes, scenario->n_bearers);
    Player player = {
        .plan = spate_world_plan(world),
        .medium = spate_run_medium(run),
        .history = history,
        .counts = counts,
        .last_start_ns = -1,
    };
    const SpateObserver observer = {SPATE_ALL_EVENTS, note, &player};
    spate_run_add_observer(run, &observer);
    spate_run_go(run, NULL, NULL);
    history_sort(history);
    return g_steal_pointer(&history);
}
