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
    return (HistoryMessage){facts->traffic, facts->origin, facts->offered_ns};
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
note_ended(gpointer self, int64_t now_ns, const SpateFrameFacts *facts, int64_t started_ns,
           const SpateReception *receptions, size_t n_receptions)
{
    Player *player = self;
    HistoryFrame *frame = history_add_frame(player->history);
    frame->message = message_of(&facts->message);
    frame->node = player->plan->radios[facts->radio].node;
    frame->bearer = player->plan->radios[facts->radio].bearer;
    frame->hops = facts->hops;
    frame->start_ns = started_ns;
    frame->end_ns = now_ns;
    for (size_t i = 0; i < n_receptions; i++)
        frame->fates[player->plan->radios[receptions[i].receiver].node] =
            fate_of(player, &receptions[i]);
    player->counts->frames++;
}

static void
note_delivered(gpointer self, int64_t now_ns, const SpateMessageFacts *message, uint32_t node,
               uint32_t hops)
{
    Player *player = self;
    HistoryDelivery delivery = {message_of(message), node, hops, now_ns};
    g_array_append_val(player->history->deliveries, delivery);
    player->counts->deliveries++;
}

static void
note_held_back(gpointer self, int64_t now_ns, const SpateMessageFacts *message,
               const SpateCrossing *crossing, uint32_t rule)
{
    Player *player = self;
    uint32_t number = (uint32_t)(crossing - player->plan->crossings);
    HistoryRefusal refusal = {message_of(message), number, now_ns};
    g_array_append_val(player->history->refusals, refusal);
    player->counts->refusals++;
}

/* A relay that is cancelled is nobody's loss, and in its jitter nobody is told. */
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
    case SPATE_DROP_CANCELLED:
        return false;
    }
    g_assert_not_reached();
}

static void
note_dropped(gpointer self, int64_t now_ns, const SpateFrameFacts *facts, SpateDropCause cause)
{
    Player *player = self;
    const SpateRadio *radio = &player->plan->radios[facts->radio];
    HistoryDrop drop = {message_of(&facts->message), radio->node, radio->bearer, 0, now_ns};
    player->counts->drops[cause]++;
    if (cause_of(cause, &drop.cause))
        g_array_append_val(player->history->drops, drop);
}

static void
note_started(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateAccessWaits waits)
{
    Player *player = self;
    const SpateBearer *bearer = &player->plan->bearers[player->plan->radios[frame->radio].bearer];
    PlayedCounts *counts = player->counts;
    counts->duty_waits += waits.duty_ns > 0 ? 1 : 0;
    counts->together += now_ns == player->last_start_ns ? 1 : 0;
    player->last_start_ns = now_ns;
    switch (bearer->access.method) {
    case SPATE_ACCESS_NONE:
        break;
    case SPATE_ACCESS_CAD:
        counts->cad_waits += waits.access_ns >= frame->airtime_ns ? 1 : 0;
        break;
    case SPATE_ACCESS_CSMA:
        counts->csma_freezes += waits.access_ns > LONGEST_QUIET_CSMA_NS ? 1 : 0;
        break;
    case SPATE_N_ACCESS_METHODS:
        g_assert_not_reached();
    }
}

static void
note_decided(gpointer self, int64_t now_ns, const SpateDecided *decision)
{
    Player *player = self;
    player->counts->decisions[decision->kind]++;
    if (decision->kind == SPATE_DECISION_HELD_BACK && decision->crossing == NULL)
        player->counts->refused_relays++;
}

static void
note_digested(gpointer self, int64_t now_ns, const SpateMessageFacts *digest,
              const SpateMessageFacts *const *carried, size_t n_carried)
{
    ((Player *)self)->counts->digests++;
}

static void
note_redundant(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
               uint32_t receiver)
{
    ((Player *)self)->counts->redundant++;
}

static SpateObserver
observer_of(Player *player)
{
    return (SpateObserver){
        .digested = note_digested,
        .dropped = note_dropped,
        .started = note_started,
        .ended = note_ended,
        .redundant = note_redundant,
        .decided = note_decided,
        .delivered = note_delivered,
        .held_back = note_held_back,
        .self = player,
    };
}

History *
played_run(const SpateScenario *scenario, uint32_t replication, PlayedCounts *counts,
           GError **error)
{
    g_autoptr(SpateWorld) world = spate_world_new(scenario, error);
    if (world == NULL)
        return NULL;
    g_autoptr(SpateRun) run = spate_run_new_with_disturbers(world, replication, error);
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
    SpateObserver observer = observer_of(&player);
    spate_run_add_observer(run, &observer);
    spate_run_go(run, NULL, NULL);
    history_sort(history);
    return g_steal_pointer(&history);
}
