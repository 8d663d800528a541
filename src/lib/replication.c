/* replication.c - one run, its events as plain values */
#include "private.h"

#include "study/run/run.h"
#include <string.h>

struct SpateReplication {
    double *values;
    size_t n_values;
};

/* Turns what the mesh tells into events. */
typedef struct {
    SpateWatchFunc watch;
    gpointer user;
    const SpatePlan *plan;
    const SpateMedium *medium;
    GArray *hearings; /* SpateHearing, of one frame */
    GArray *carried;  /* uint32_t, of one digest */
    volatile int stop;
} Watcher;

static void
clear_watcher(Watcher *watcher)
{
    g_clear_pointer(&watcher->hearings, g_array_unref);
    g_clear_pointer(&watcher->carried, g_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Watcher, clear_watcher)

/* The run looks at `stop` only now and then; what still comes is not told. */
static void
tell(Watcher *watcher, const SpateEvent *event)
{
    if (!watcher->stop && !watcher->watch(event, watcher->user))
        watcher->stop = 1;
}

static SpateEvent
event_of_message(SpateEventKind kind, int64_t now_ns, const SpateMessageFacts *message)
{
    return (SpateEvent){
        .kind = kind,
        .at_ns = now_ns,
        .message = message->number,
        .traffic = message->traffic,
        .origin = message->origin,
        .offered_ns = message->offered_ns,
    };
}

static SpateEvent
event_of_frame(const Watcher *watcher, SpateEventKind kind, int64_t now_ns,
               const SpateFrameFacts *frame)
{
    SpateEvent event = event_of_message(kind, now_ns, &frame->message);
    event.sender = watcher->plan->radios[frame->radio].node;
    event.bearer = watcher->plan->radios[frame->radio].bearer;
    event.hops = frame->hops;
    event.bytes = frame->frame_bytes;
    event.airtime_ns = frame->airtime_ns;
    event.queued_ns = frame->queued_ns;
    return event;
}

static void
tell_offered(gpointer self, int64_t now_ns, const SpateMessageFacts *message)
{
    SpateEvent event = event_of_message(SPATE_EVENT_OFFERED, now_ns, message);
    event.bytes = message->payload_bytes;
    tell(self, &event);
}

static void
tell_digested(gpointer self, int64_t now_ns, const SpateMessageFacts *digest,
              const SpateMessageFacts *const *carried, size_t n_carried)
{
    const Watcher *watcher = self;
    g_array_set_size(watcher->carried, 0);
    for (size_t i = 0; i < n_carried; i++)
        g_array_append_val(watcher->carried, carried[i]->number);
    SpateEvent event = event_of_message(SPATE_EVENT_DIGESTED, now_ns, digest);
    event.bytes = digest->payload_bytes;
    event.carried = (const uint32_t *)(const void *)watcher->carried->data;
    event.n_carried = n_carried;
    tell(self, &event);
}

static void
tell_queued(gpointer self, int64_t now_ns, const SpateFrameFacts *frame)
{
    SpateEvent event = event_of_frame(self, SPATE_EVENT_QUEUED, now_ns, frame);
    tell(self, &event);
}

static void
tell_dropped(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateDropCause cause)
{
    SpateEvent event = event_of_frame(self, SPATE_EVENT_DROPPED, now_ns, frame);
    event.cause = cause;
    tell(self, &event);
}

static void
tell_cancelled(gpointer self, int64_t now_ns, const SpateFrameFacts *frame)
{
    tell_dropped(self, now_ns, frame, SPATE_DROP_CANCELLED);
}

static void
tell_started(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateAccessWaits waits)
{
    SpateEvent event = event_of_frame(self, SPATE_EVENT_STARTED, now_ns, frame);
    event.started_ns = now_ns;
    event.waited_duty_ns = waits.duty_ns;
    event.waited_access_ns = waits.access_ns;
    tell(self, &event);
}

static SpateHearing
hearing_of(const Watcher *watcher, const SpateReception *reception)
{
    SpateHearing hearing = {
        .node = watcher->plan->radios[reception->receiver].node,
        .outcome = reception->outcome,
        .level_dbm = spate_medium_level_dbm(watcher->medium, reception->receiver, reception->power),
        .disturber_node = SPATE_NOBODY,
        .disturber_bearer = SPATE_NOBODY,
    };
    /* Senders beyond the radios are other people's. */
    if (reception->disturber < watcher->plan->n_radios) {
        hearing.disturber_node = watcher->plan->radios[reception->disturber].node;
        hearing.disturber_bearer = watcher->plan->radios[reception->disturber].bearer;
    }
    return hearing;
}

static void
tell_ended(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
           const SpateReception *receptions, size_t n_receptions)
{
    Watcher *watcher = self;
    g_array_set_size(watcher->hearings, 0);
    for (size_t i = 0; i < n_receptions; i++) {
        SpateHearing hearing = hearing_of(watcher, &receptions[i]);
        g_array_append_val(watcher->hearings, hearing);
    }
    SpateEvent event = event_of_frame(self, SPATE_EVENT_ENDED, now_ns, frame);
    event.started_ns = started_ns;
    event.hearings = (const SpateHearing *)(const void *)watcher->hearings->data;
    event.n_hearings = n_receptions;
    tell(self, &event);
}

static void
tell_redundant(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
               uint32_t receiver)
{
    const Watcher *watcher = self;
    SpateEvent event = event_of_frame(self, SPATE_EVENT_REDUNDANT, now_ns, frame);
    event.started_ns = started_ns;
    event.node = watcher->plan->radios[receiver].node;
    tell(self, &event);
}

static void
tell_arrived(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
             uint32_t receiver)
{
    const Watcher *watcher = self;
    SpateEvent event = event_of_frame(self, SPATE_EVENT_ARRIVED, now_ns, frame);
    event.started_ns = started_ns;
    event.node = watcher->plan->radios[receiver].node;
    tell(self, &event);
}

static void
tell_decided(gpointer self, int64_t now_ns, const SpateDecided *decision)
{
    const Watcher *watcher = self;
    const SpateCrossing *crossing = decision->crossing;
    SpateEvent event = event_of_message(SPATE_EVENT_DECIDED, now_ns, decision->message);
    event.node = watcher->plan->radios[decision->radio].node;
    event.bearer = watcher->plan->radios[decision->radio].bearer;
    event.hops = decision->hops;
    event.decision = decision->kind;
    event.rule = decision->rule;
    if (crossing != NULL) {
        event.crossing = crossing->name;
        event.bridge = crossing->bridge;
    }
    if (decision->rule != SPATE_NO_RULE)
        event.rule_line =
            (crossing != NULL ? crossing->rules
                              : watcher->plan->nodes[event.node].relay_rules)[decision->rule]
                .line;
    tell(self, &event);
}

static void
tell_delivered(gpointer self, int64_t now_ns, const SpateMessageFacts *message, uint32_t node,
               uint32_t hops)
{
    SpateEvent event = event_of_message(SPATE_EVENT_DELIVERED, now_ns, message);
    event.node = node;
    event.hops = hops;
    tell(self, &event);
}

static void
tell_held_back(gpointer self, int64_t now_ns, const SpateMessageFacts *message,
               const SpateCrossing *crossing, uint32_t rule)
{
    SpateEvent event = event_of_message(SPATE_EVENT_HELD_BACK, now_ns, message);
    event.node = crossing->node;
    event.bridge = crossing->bridge;
    event.crossing = crossing->name;
    tell(self, &event);
}

static void
attach(Watcher *watcher, SpateRun *run)
{
    SpateObserver observer = {
        .offered = tell_offered,
        .digested = tell_digested,
        .queued = tell_queued,
        .dropped = tell_dropped,
        .cancelled = tell_cancelled,
        .started = tell_started,
        .ended = tell_ended,
        .arrived = tell_arrived,
        .decided = tell_decided,
        .redundant = tell_redundant,
        .delivered = tell_delivered,
        .held_back = tell_held_back,
        .self = watcher,
    };
    watcher->medium = spate_run_medium(run);
    watcher->hearings = g_array_new(FALSE, FALSE, sizeof(SpateHearing));
    watcher->carried = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    spate_run_add_observer(run, &observer);
}

static SpateReplication *
keep_values(const SpateRun *run, size_t n_values)
{
    const SpateMeasureValue *values = spate_run_values(run);
    SpateReplication *replication = g_new0(SpateReplication, 1);
    replication->n_values = n_values;
    replication->values = g_new(double, n_values);
    for (size_t i = 0; i < n_values; i++)
        replication->values[i] = values[i].value;
    return replication;
}

/* Events tell nodes by their numbers. */
static bool
is_same(const SpatePlan *drawn, const SpatePlan *as_written)
{
    bool is_same = drawn->n_nodes == as_written->n_nodes;
    for (uint32_t i = 0; is_same && i < drawn->n_nodes; i++)
        is_same = strcmp(drawn->nodes[i].name, as_written->nodes[i].name) == 0;
    return is_same;
}

SpateReplication *
spate_replicate(const SpateModel *model, uint32_t number, SpateWatchFunc watch, gpointer user,
                GError **error)
{
    GError *problem = NULL;
    g_auto(Watcher) watcher = {
        .watch = watch,
        .user = user,
    };
    g_autoptr(SpateRun) run = watch != NULL
                                  ? spate_run_new_with_disturbers(model->world, number, &problem)
                                  : spate_run_new(model->world, number, &problem);
    if (run == NULL) {
        spate_error_propagate(error, problem);
        return NULL;
    }
    watcher.plan = spate_world_plan(spate_run_world(run));
    if (watch != NULL && !is_same(watcher.plan, spate_world_plan(model->world))) {
        g_set_error_literal(error, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO,
                            "'doubt' changes which nodes there are: they cannot be watched");
        return NULL;
    }
    spate_run_never_wait(run);
    if (watch != NULL)
        attach(&watcher, run);
    if (!spate_run_go(run, &watcher.stop, &problem) && problem != NULL) {
        spate_error_propagate(error, problem);
        return NULL;
    }
    if (watcher.stop) {
        g_set_error_literal(error, SPATE_ERROR, SPATE_ERROR_STOPPED, "stopped by its watcher");
        return NULL;
    }
    return keep_values(run, model->n_rows);
}

void
spate_replication_free(SpateReplication *replication)
{
    if (replication == NULL)
        return;
    g_free(replication->values);
    g_free(replication);
}

double
spate_replication_value(const SpateReplication *replication, size_t row)
{
    g_assert(row < replication->n_values);
    return replication->values[row];
}
