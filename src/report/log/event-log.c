/* event-log.c - all that happens in a run, as JSON Lines */
#include "report/log/event-log.h"

#include "document/json-text.h"
#include "document/numbers.h"
#include "report/words/event-words.h"

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

static bool
is_told(const SpateEventLog *log, const SpateMessageFacts *message)
{
    return log->settings.traffics == NULL || log->settings.traffics[message->traffic];
}

static void
begin(SpateEventLog *log, const char *event, int64_t now_ns, const SpateMessageFacts *message)
{
    g_string_append(log->text, "{\"variant\": ");
    spate_append_json_string(log->text, log->settings.variant);
    add_whole(log, "replication", log->settings.replication + 1);
    add_time(log, "at_s", now_ns);
    add_text(log, "event", event);
    add_whole(log, "message", message->number);
    add_text(log, "traffic", log->settings.plan->traffics[message->traffic].name);
    add_node(log, "origin", message->origin);
}

static void
end(SpateEventLog *log)
{
    g_string_append(log->text, "}\n");
    if (log->text->len >= PORTION_BYTES)
        hand_on(log);
}

static void
begin_frame(SpateEventLog *log, const char *event, int64_t now_ns, const SpateFrameFacts *frame)
{
    begin(log, event, now_ns, &frame->message);
    add_node(log, "node", node_of(log, frame->radio));
    add_bearer(log, frame->radio);
    add_whole(log, "hops", frame->hops);
}

/* ---- messages -------------------------------------------------------------------------------- */

static void
log_offered(gpointer self, int64_t now_ns, const SpateMessageFacts *message)
{
    if (!is_told(self, message))
        return;
    begin(self, "offered", now_ns, message);
    add_whole(self, "payload_bytes", message->payload_bytes);
    end(self);
}

static void
log_digested(gpointer self, int64_t now_ns, const SpateMessageFacts *digest,
             const SpateMessageFacts *const *carried, size_t n_carried)
{
    SpateEventLog *log = self;
    if (!is_told(log, digest))
        return;
    begin(log, "digested", now_ns, digest);
    add_whole(log, "payload_bytes", digest->payload_bytes);
    g_string_append(log->text, ", \"carries\": [");
    for (size_t i = 0; i < n_carried; i++)
        g_string_append_printf(log->text, i > 0 ? ", %u" : "%u", carried[i]->number);
    g_string_append_c(log->text, ']');
    end(log);
}

static void
log_delivered(gpointer self, int64_t now_ns, const SpateMessageFacts *message, uint32_t node,
              uint32_t hops)
{
    if (!is_told(self, message))
        return;
    begin(self, "delivered", now_ns, message);
    add_node(self, "node", node);
    add_whole(self, "hops", hops);
    add_time(self, "latency_s", now_ns - message->offered_ns);
    end(self);
}

static void
log_arrived(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
            uint32_t receiver)
{
    if (!is_told(self, &frame->message))
        return;
    begin(self, "arrived", now_ns, &frame->message);
    add_node(self, "node", node_of(self, receiver));
    add_bearer(self, receiver);
    add_node(self, "from", node_of(self, frame->radio));
    add_whole(self, "hops", frame->hops);
    end(self);
}

static void
log_redundant(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
              uint32_t receiver)
{
    if (!is_told(self, &frame->message))
        return;
    begin(self, "redundant", now_ns, &frame->message);
    add_node(self, "node", node_of(self, receiver));
    add_bearer(self, receiver);
    add_node(self, "from", node_of(self, frame->radio));
    end(self);
}

/* ---- decisions ------------------------------------------------------------------------------- */

static void
add_rule(SpateEventLog *log, const SpateDecided *decision, uint32_t node)
{
    if (decision->rule == SPATE_NO_RULE)
        return;
    const SpateRule *rules = decision->crossing != NULL
                                 ? decision->crossing->rules
                                 : log->settings.plan->nodes[node].relay_rules;
    add_whole(log, "rule", decision->rule);
    if (rules[decision->rule].line > 0)
        add_whole(log, "rule_line", rules[decision->rule].line);
}

static void
log_decided(gpointer self, int64_t now_ns, const SpateDecided *decision)
{
    if (!is_told(self, decision->message))
        return;
    uint32_t node = node_of(self, decision->radio);
    begin(self, "decided", now_ns, decision->message);
    add_node(self, "node", node);
    if (decision->crossing != NULL)
        add_text(self, "crossing", decision->crossing->name);
    add_bearer(self, decision->radio);
    add_whole(self, "hops", decision->hops);
    add_text(self, "decision", spate_decision_word(decision->kind));
    add_rule(self, decision, node);
    end(self);
}

/* ---- frames ---------------------------------------------------------------------------------- */

static void
log_queued(gpointer self, int64_t now_ns, const SpateFrameFacts *frame)
{
    if (!is_told(self, &frame->message))
        return;
    begin_frame(self, "queued", now_ns, frame);
    add_whole(self, "bytes", frame->frame_bytes);
    end(self);
}

static void
log_dropped(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateDropCause cause)
{
    if (!is_told(self, &frame->message))
        return;
    begin_frame(self, "dropped", now_ns, frame);
    add_text(self, "cause", spate_drop_word(cause));
    end(self);
}

static void
log_cancelled(gpointer self, int64_t now_ns, const SpateFrameFacts *frame)
{
    log_dropped(self, now_ns, frame, SPATE_DROP_CANCELLED);
}

static void
log_started(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, SpateAccessWaits waits)
{
    if (!is_told(self, &frame->message))
        return;
    begin_frame(self, "started", now_ns, frame);
    add_whole(self, "bytes", frame->frame_bytes);
    add_time(self, "airtime_s", frame->airtime_ns);
    add_time(self, "waited_s", now_ns - frame->queued_ns);
    add_time(self, "waited_duty_s", waits.duty_ns);
    add_time(self, "waited_access_s", waits.access_ns);
    end(self);
}

static const char *
outcome_word(SpateOutcome outcome)
{
    static const char *const WORDS[SPATE_N_OUTCOMES] = {
        [SPATE_OUTCOME_RECEIVED] = "received",
        [SPATE_OUTCOME_LOST_COLLISION] = "lost-collision",
        [SPATE_OUTCOME_LOST_BUSY] = "lost-busy",
        [SPATE_OUTCOME_LOST_SENDING] = "lost-sending",
        [SPATE_OUTCOME_LOST_BLOCKED] = "lost-blocked",
    };
    return WORDS[outcome];
}

/* A sender beyond the radios is other people's traffic. */
static void
add_disturber(SpateEventLog *log, uint32_t sender)
{
    const SpatePlan *plan = log->settings.plan;
    if (sender == SPATE_NO_DISTURBER)
        return;
    if (sender >= plan->n_radios) {
        g_string_append(log->text, ", \"disturber\": {\"ambient\": true}");
        return;
    }
    g_string_append(log->text, ", \"disturber\": {\"node\": ");
    spate_append_json_string(log->text, plan->nodes[plan->radios[sender].node].name);
    add_bearer(log, sender);
    g_string_append_c(log->text, '}');
}

static void
log_outcome(SpateEventLog *log, int64_t now_ns, const SpateFrameFacts *frame,
            const SpateReception *reception)
{
    begin(log, "outcome", now_ns, &frame->message);
    add_node(log, "node", node_of(log, reception->receiver));
    add_bearer(log, reception->receiver);
    add_node(log, "from", node_of(log, frame->radio));
    add_text(log, "outcome", outcome_word(reception->outcome));
    g_string_append(log->text, ", \"level_dbm\": ");
    spate_append_fixed(
        log->text,
        spate_medium_level_dbm(log->settings.medium, reception->receiver, reception->power), 2,
        FALSE);
    add_disturber(log, reception->disturber);
    end(log);
}

static void
log_ended(gpointer self, int64_t now_ns, const SpateFrameFacts *frame, int64_t started_ns,
          const SpateReception *receptions, size_t n_receptions)
{
    if (!is_told(self, &frame->message))
        return;
    begin_frame(self, "ended", now_ns, frame);
    add_time(self, "started_s", started_ns);
    add_whole(self, "audible", n_receptions);
    end(self);
    for (size_t i = 0; i < n_receptions; i++)
        log_outcome(self, now_ns, frame, &receptions[i]);
}

SpateObserver
spate_event_log_observer(SpateEventLog *log)
{
    return (SpateObserver){
        .offered = log_offered,
        .digested = log_digested,
        .queued = log_queued,
        .dropped = log_dropped,
        .cancelled = log_cancelled,
        .started = log_started,
        .ended = log_ended,
        .redundant = log_redundant,
        .arrived = log_arrived,
        .decided = log_decided,
        .delivered = log_delivered,
        .self = log,
    };
}
