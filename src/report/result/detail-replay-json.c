/* detail-replay-json.c - the way of one message as JSON
 *
 * Times are whole microseconds since the offer; radios and nodes are numbers of the variant.
 */
#include "report/detail-report.h"

#include "core/random.h"
#include "document/json-text.h"
#include "mesh/event-words.h"
#include <string.h>

typedef struct {
    GString *text;
    const SpateMessageTrace *trace;
    GHashTable *first; /* radio and instant -> there, where a first copy arrived */
    guint64 n_receptions;
    bool is_cut;
} Replay;

static gint64
since_us(const Replay *replay, int64_t at_ns)
{
    return (at_ns - replay->trace->offered_ns) / 1000;
}

/* 0: the message itself, 1 and up: digests that carry it. */
static guint
carrier_of(const Replay *replay, uint32_t message)
{
    guint i = 0;
    while (g_array_index(replay->trace->messages, uint32_t, i) != message)
        i++;
    return i;
}

/* ---- receptions ------------------------------------------------------------------------------ */

static gint64 *
key_of(uint32_t radio, int64_t at_ns)
{
    gint64 key = (gint64)spate_hash_combine((uint64_t)at_ns, radio);
    return g_memdup2(&key, sizeof key);
}

static void
note_first_copies(Replay *replay)
{
    for (guint i = 0; i < replay->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(replay->trace, i);
        if (step->kind == SPATE_EVENT_ARRIVED)
            g_hash_table_add(replay->first, key_of(step->radio, step->at_ns));
    }
}

static bool
is_first(const Replay *replay, const SpateReception *reception, int64_t at_ns)
{
    g_autofree gint64 *key = key_of(reception->receiver, at_ns);
    return g_hash_table_contains(replay->first, key);
}

static void
append_received(const Replay *replay, const SpateEvent *ended, bool first)
{
    const char *between = "";
    g_string_append(replay->text, ", [");
    for (size_t i = 0; i < ended->n_receptions; i++) {
        const SpateReception *reception = &ended->receptions[i];
        if (reception->outcome != SPATE_OUTCOME_RECEIVED ||
            is_first(replay, reception, ended->at_ns) != first)
            continue;
        g_string_append_printf(replay->text, "%s%u", between, reception->receiver);
        between = ", ";
    }
    g_string_append_c(replay->text, ']');
}

static void
append_lost(const Replay *replay, const SpateEvent *ended, SpateOutcome outcome)
{
    const char *between = "";
    g_string_append(replay->text, ", [");
    for (size_t i = 0; i < ended->n_receptions; i++) {
        const SpateReception *reception = &ended->receptions[i];
        if (reception->outcome != outcome)
            continue;
        g_string_append(replay->text, between);
        between = ", ";
        if (outcome == SPATE_OUTCOME_LOST_SENDING)
            g_string_append_printf(replay->text, "%u", reception->receiver);
        else if (reception->disturber < replay->trace->plan->n_radios)
            g_string_append_printf(replay->text, "[%u, %u]", reception->receiver,
                                   reception->disturber);
        else
            g_string_append_printf(replay->text, "[%u, null]", reception->receiver);
    }
    g_string_append_c(replay->text, ']');
}

static void
append_outcomes(Replay *replay, const SpateEvent *ended)
{
    append_received(replay, ended, true);
    append_received(replay, ended, false);
    append_lost(replay, ended, SPATE_OUTCOME_LOST_COLLISION);
    append_lost(replay, ended, SPATE_OUTCOME_LOST_BUSY);
    append_lost(replay, ended, SPATE_OUTCOME_LOST_SENDING);
    append_lost(replay, ended, SPATE_OUTCOME_LOST_BLOCKED);
    replay->n_receptions += ended->n_receptions;
}

/* ---- frames ---------------------------------------------------------------------------------- */

/* A radio sends one frame at a time; NULL: it is still on the air at the end. */
static const SpateEvent *
end_of(const SpateMessageTrace *trace, guint started)
{
    const SpateEvent *start = spate_message_trace_step(trace, started);
    for (guint i = started + 1; i < trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(trace, i);
        if (step->kind == SPATE_EVENT_ENDED && step->radio == start->radio)
            return step;
    }
    return NULL;
}

static void
append_frame(Replay *replay, guint started)
{
    const SpateEvent *start = spate_message_trace_step(replay->trace, started);
    const SpateFrameFacts *frame = start->frame;
    const SpateEvent *ended = end_of(replay->trace, started);
    g_string_append_printf(
        replay->text,
        "[%u, %" G_GINT64_FORMAT ", %" G_GINT64_FORMAT ", %u, %" G_GINT64_FORMAT
        ", %" G_GINT64_FORMAT ", %" G_GINT64_FORMAT ", %u",
        start->radio, since_us(replay, start->at_ns), (gint64)(frame->airtime_ns / 1000),
        frame->hops, since_us(replay, frame->queued_ns), (gint64)(frame->waited_duty_ns / 1000),
        (gint64)(frame->waited_access_ns / 1000), carrier_of(replay, frame->message.number));
    if (ended != NULL)
        append_outcomes(replay, ended);
    else
        g_string_append(replay->text, ", [], [], [], [], [], []");
    g_string_append_printf(replay->text, ", %s]", ended != NULL ? "true" : "false");
}

static void
begin(const Replay *replay, const char *key, const char *columns)
{
    g_string_append_printf(replay->text, "\"%s\": {\"columns\": [%s], \"rows\": [", key, columns);
}

/* Whether a further frame has a place. */
static bool
has_room(Replay *replay, SpateEventKind kind)
{
    if (kind == SPATE_EVENT_STARTED && replay->n_receptions > SPATE_DETAIL_RECEPTIONS)
        replay->is_cut = true;
    return kind != SPATE_EVENT_STARTED || !replay->is_cut;
}

/* Calls `append` for each step of a kind, with commas between. */
static void
append_each(Replay *replay, SpateEventKind kind, void (*append)(Replay *replay, guint step))
{
    const char *between = "";
    for (guint i = 0; i < replay->trace->steps->len; i++) {
        if (spate_message_trace_step(replay->trace, i)->kind != kind)
            continue;
        if (!has_room(replay, kind))
            break;
        g_string_append(replay->text, between);
        append(replay, i);
        between = ", ";
    }
    g_string_append(replay->text, "]}");
}

/* ---- other steps ----------------------------------------------------------------------------- */

static void
append_arrival(Replay *replay, guint number)
{
    const SpateEvent *step = spate_message_trace_step(replay->trace, number);
    g_string_append_printf(replay->text, "[%u, %" G_GINT64_FORMAT ", %u, %u]", step->radio,
                           since_us(replay, step->at_ns), step->frame->radio, step->frame->hops);
}

static void
append_decision(Replay *replay, guint number)
{
    const SpateEvent *step = spate_message_trace_step(replay->trace, number);
    const SpatePlan *plan = replay->trace->plan;
    g_string_append_printf(replay->text, "[%u, %" G_GINT64_FORMAT ", \"%s\", ", step->radio,
                           since_us(replay, step->at_ns), spate_decision_word(step->decision));
    if (step->crossing != SPATE_NO_CROSSING) {
        const SpateCrossing *crossing = &plan->crossings[step->crossing];
        spate_append_json_string(replay->text, plan->bridge_names[crossing->bridge]);
        g_string_append(replay->text, ", ");
        spate_append_json_string(replay->text, crossing->name);
    } else {
        g_string_append(replay->text, "null, null");
    }
    g_string_append_printf(replay->text, ", %u", step->rule != SPATE_NO_RULE ? step->rule + 1 : 0);
    if (step->rule_line > 0)
        g_string_append_printf(replay->text, ", %u]", step->rule_line);
    else
        g_string_append(replay->text, ", null]");
}

static void
append_drop(Replay *replay, guint number)
{
    const SpateEvent *step = spate_message_trace_step(replay->trace, number);
    g_string_append_printf(replay->text, "[%u, %" G_GINT64_FORMAT ", \"%s\"]", step->radio,
                           since_us(replay, step->at_ns), spate_drop_word(step->cause));
}

static void
append_delivery(Replay *replay, guint number)
{
    const SpateEvent *step = spate_message_trace_step(replay->trace, number);
    g_string_append_printf(replay->text, "[%u, %" G_GINT64_FORMAT ", %u]", step->node,
                           since_us(replay, step->at_ns), step->hops);
}

static void
append_recipients(const Replay *replay)
{
    const SpateMessageTrace *trace = replay->trace;
    const SpateTrafficKind *kind = &trace->plan->traffics[trace->wanted.traffic];
    const char *between = "";
    g_string_append(replay->text, "\"recipients\": [");
    for (uint32_t i = 0; i < kind->n_recipients; i++) {
        if (kind->recipients[i] == trace->wanted.origin)
            continue;
        g_string_append_printf(replay->text, "%s%u", between, kind->recipients[i]);
        between = ", ";
    }
    g_string_append_c(replay->text, ']');
}

static gint64
last_us(const Replay *replay)
{
    const SpateEvent *last = spate_message_trace_step(replay->trace, replay->trace->steps->len - 1);
    return since_us(replay, last->at_ns);
}

void
spate_detail_append_replay(GString *text, const SpateMessageTrace *trace)
{
    if (trace == NULL) {
        g_string_append(text, "null");
        return;
    }
    g_autoptr(GHashTable) first = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
    Replay replay = {.text = text, .trace = trace, .first = first};
    note_first_copies(&replay);
    g_string_append_printf(text, "{\"origin\": %u, \"digests\": %u, ", trace->wanted.origin,
                           trace->messages->len - 1);
    append_recipients(&replay);
    g_string_append_printf(text, ", \"until_us\": %" G_GINT64_FORMAT ",\n      ", last_us(&replay));
    begin(&replay, "frames",
          "\"radio\", \"start_us\", \"airtime_us\", \"hops\", \"queued_us\", \"waited_duty_us\", "
          "\"waited_access_us\", \"carrier\", \"received_first\", \"received_again\", "
          "\"lost_collision\", \"lost_busy\", \"lost_sending\", \"lost_blocked\", \"ended\"");
    append_each(&replay, SPATE_EVENT_STARTED, append_frame);
    g_string_append(text, ",\n      ");
    begin(&replay, "arrivals", "\"radio\", \"at_us\", \"from_radio\", \"hops\"");
    append_each(&replay, SPATE_EVENT_ARRIVED, append_arrival);
    g_string_append(text, ",\n      ");
    begin(&replay, "decisions",
          "\"radio\", \"at_us\", \"decision\", \"bridge\", \"crossing\", \"rule\", \"rule_line\"");
    append_each(&replay, SPATE_EVENT_DECIDED, append_decision);
    g_string_append(text, ",\n      ");
    begin(&replay, "dropped", "\"radio\", \"at_us\", \"cause\"");
    append_each(&replay, SPATE_EVENT_DROPPED, append_drop);
    g_string_append(text, ",\n      ");
    begin(&replay, "delivered", "\"node\", \"at_us\", \"hops\"");
    append_each(&replay, SPATE_EVENT_DELIVERED, append_delivery);
    g_string_append_printf(text, ", \"cut\": %s}", replay.is_cut ? "true" : "false");
}
