/* event-log.c - all that happens in a run, as JSON Lines */
#include "report/log/event-log.h"

#include "channel/medium.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "mesh/event-words.h"

/* Lines are handed on in portions of about this size. */
#define PORTION_BYTES 65536

struct SpateEventLog {
    SpateEventLogSettings settings;
    GString *text;
};

SpateEventLog *
spate_event_log_new(const SpateEventLogSettings *settings)
{
    SpateEventLog *log = g_new0(SpateEventLog, 1);
    log->settings = *settings;
    log->text = g_string_sized_new(2 * PORTION_BYTES);
    return log;
}

static void
hand_on(SpateEventLog *log)
{
    if (log->text->len > 0)
        log->settings.sink(log->settings.user, log->text->str, log->text->len);
    g_string_truncate(log->text, 0);
}

void
spate_event_log_free(SpateEventLog *log)
{
    if (log == NULL)
        return;
    hand_on(log);
    g_string_free(log->text, TRUE);
    g_free(log);
}

/* ---- members --------------------------------------------------------------------------------- */

static void
add_text(SpateEventLog *log, const char *key, const char *value)
{
    g_string_append_printf(log->text, ", \"%s\": ", key);
    spate_append_json_string(log->text, value);
}

static void
add_whole(SpateEventLog *log, const char *key, guint64 value)
{
    g_string_append_printf(log->text, ", \"%s\": %" G_GUINT64_FORMAT, key, value);
}

static void
add_time(SpateEventLog *log, const char *key, int64_t time_ns)
{
    g_string_append_printf(log->text, ", \"%s\": ", key);
    spate_append_json_time(log->text, time_ns);
}

static void
add_node(SpateEventLog *log, const char *key, uint32_t node)
{
    add_text(log, key, log->settings.plan->nodes[node].name);
}

static void
add_bearer(SpateEventLog *log, uint32_t radio)
{
    const SpatePlan *plan = log->settings.plan;
    add_text(log, "bearer", plan->bearer_names[plan->radios[radio].bearer]);
}

static uint32_t
node_of(const SpateEventLog *log, uint32_t radio)
{
    return log->settings.plan->radios[radio].node;
}

static void
begin(SpateEventLog *log, const char *word, const SpateEvent *event)
{
    const SpateMessageFacts *message = event->message;
    g_string_append(log->text, "{\"variant\": ");
    spate_append_json_string(log->text, log->settings.variant);
    add_whole(log, "replication", log->settings.replication + 1);
    add_time(log, "at_s", event->at_ns);
    add_text(log, "event", word);
    if (message == NULL)
        return;
    add_whole(log, "message", message->number);
    add_text(log, "traffic", log->settings.plan->traffics[message->traffic].name);
    add_node(log, "origin", message->origin);
    if (message->about != message->number)
        add_whole(log, "about", message->about);
}

static void
end(SpateEventLog *log)
{
    g_string_append(log->text, "}\n");
    if (log->text->len >= PORTION_BYTES)
        hand_on(log);
}

/* ---- what each kind says --------------------------------------------------------------------- */

/* The receiver of a frame, and its sender. */
static void
add_ends(SpateEventLog *log, uint32_t receiver, const SpateFrameFacts *frame)
{
    add_node(log, "node", node_of(log, receiver));
    add_bearer(log, receiver);
    add_node(log, "from", node_of(log, frame->radio));
}

static void
add_sender(SpateEventLog *log, const SpateFrameFacts *frame)
{
    add_node(log, "node", node_of(log, frame->radio));
    add_bearer(log, frame->radio);
    add_whole(log, "hops", frame->hops);
}

static void
add_decision(SpateEventLog *log, const SpateEvent *event)
{
    add_node(log, "node", event->node);
    if (event->crossing != SPATE_NO_CROSSING)
        add_text(log, "crossing", log->settings.plan->crossings[event->crossing].name);
    add_bearer(log, event->radio);
    add_whole(log, "hops", event->hops);
    add_text(log, "decision", spate_decision_word(event->decision));
    if (event->rule != SPATE_NO_RULE)
        add_whole(log, "rule", event->rule);
    if (event->rule_line > 0)
        add_whole(log, "rule_line", event->rule_line);
}

/* To the centimetre, as far as degrees tell. */
static void
add_place(SpateEventLog *log, const SpateEventPlace *place)
{
    int decimals = place->is_geographic ? 7 : 2;
    g_string_append(log->text, place->is_geographic ? ", \"lat\": " : ", \"x_m\": ");
    spate_append_fixed(log->text, place->is_geographic ? place->latitude_deg : place->x_m, decimals,
                       FALSE);
    g_string_append(log->text, place->is_geographic ? ", \"lon\": " : ", \"y_m\": ");
    spate_append_fixed(log->text, place->is_geographic ? place->longitude_deg : place->y_m,
                       decimals, FALSE);
}

static void
add_members(SpateEventLog *log, const SpateEvent *event)
{
    const SpateMessageFacts *message = event->message;
    g_assert(message != NULL || event->kind == SPATE_EVENT_WENT_DOWN ||
             event->kind == SPATE_EVENT_CAME_BACK || event->kind == SPATE_EVENT_MOVED);
    switch (event->kind) {
    case SPATE_EVENT_OFFERED:
    case SPATE_EVENT_ANSWERED:
        add_whole(log, "payload_bytes", message->payload_bytes);
        if (event->is_lost)
            g_string_append(log->text, ", \"lost\": true");
        break;
    case SPATE_EVENT_ROUTE_LEARNED:
    case SPATE_EVENT_ROUTE_DROPPED:
        add_whole(log, "hops", event->hops);
        break;
    case SPATE_EVENT_DIGESTED:
        add_whole(log, "payload_bytes", message->payload_bytes);
        g_string_append(log->text, ", \"carries\": [");
        for (size_t i = 0; i < event->n_carried; i++)
            g_string_append_printf(log->text, i > 0 ? ", %u" : "%u", event->carried[i]);
        g_string_append_c(log->text, ']');
        break;
    case SPATE_EVENT_QUEUED:
        add_sender(log, event->frame);
        add_whole(log, "bytes", event->frame->frame_bytes);
        break;
    case SPATE_EVENT_DROPPED:
        add_sender(log, event->frame);
        add_text(log, "cause", spate_drop_word(event->cause));
        break;
    case SPATE_EVENT_STARTED:
        add_sender(log, event->frame);
        add_whole(log, "bytes", event->frame->frame_bytes);
        add_time(log, "airtime_s", event->frame->airtime_ns);
        add_time(log, "waited_s", event->frame->started_ns - event->frame->queued_ns);
        add_time(log, "waited_duty_s", event->frame->waited_duty_ns);
        add_time(log, "waited_access_s", event->frame->waited_access_ns);
        break;
    case SPATE_EVENT_ENDED:
        add_sender(log, event->frame);
        add_time(log, "started_s", event->frame->started_ns);
        add_whole(log, "audible", event->n_receptions);
        break;
    case SPATE_EVENT_ARRIVED:
        add_ends(log, event->radio, event->frame);
        add_whole(log, "hops", event->frame->hops);
        break;
    case SPATE_EVENT_REDUNDANT:
        add_ends(log, event->radio, event->frame);
        break;
    case SPATE_EVENT_DECIDED:
        add_decision(log, event);
        break;
    case SPATE_EVENT_TRIED:
        add_whole(log, "try", message->attempt);
        break;
    case SPATE_EVENT_ACKNOWLEDGED:
        add_time(log, "latency_s", event->at_ns - message->offered_ns);
        break;
    case SPATE_EVENT_DELIVERED:
        add_node(log, "node", event->node);
        add_whole(log, "hops", event->hops);
        add_time(log, "latency_s", event->at_ns - message->offered_ns);
        break;
    case SPATE_EVENT_WENT_DOWN:
    case SPATE_EVENT_CAME_BACK:
        add_node(log, "node", event->node);
        break;
    case SPATE_EVENT_MOVED:
        add_node(log, "node", event->node);
        add_place(log, &event->place);
        break;
    }
}

/* A line of its own for each radio that could hear the frame. */
static void
log_outcome(SpateEventLog *log, const SpateEvent *ended, const SpateReception *reception)
{
    const SpatePlan *plan = log->settings.plan;
    uint32_t sender = reception->disturber;
    begin(log, "outcome", ended);
    add_ends(log, reception->receiver, ended->frame);
    add_text(log, "outcome", spate_outcome_word(reception->outcome));
    g_string_append(log->text, ", \"level_dbm\": ");
    spate_append_fixed(log->text,
                       spate_medium_level_dbm(ended->medium, reception->receiver, reception->power),
                       2, FALSE);
    if (sender < plan->n_radios) {
        g_string_append(log->text, ", \"disturber\": {\"node\": ");
        spate_append_json_string(log->text, plan->nodes[node_of(log, sender)].name);
        add_bearer(log, sender);
        g_string_append_c(log->text, '}');
    } else if (sender != SPATE_NO_DISTURBER) { /* other people's traffic */
        g_string_append(log->text, ", \"disturber\": {\"ambient\": true}");
    }
    end(log);
}

static void
see(gpointer self, const SpateEvent *event)
{
    SpateEventLog *log = self;
    /* An outage or a move concerns all of them. */
    if (log->settings.traffics != NULL && event->message != NULL &&
        !log->settings.traffics[event->message->traffic])
        return;
    begin(log, spate_event_word(event->kind), event);
    add_members(log, event);
    end(log);
    for (size_t i = 0; i < event->n_receptions; i++)
        log_outcome(log, event, &event->receptions[i]);
}

SpateObserver
spate_event_log_observer(SpateEventLog *log)
{
    return (SpateObserver){SPATE_ALL_EVENTS, see, log};
}
