/* detail-replay-json.c - the way of one message as JSON
 *
 * Times are whole microseconds since the offer; radios and nodes are numbers of the variant.
 */
#include "report/result/detail-form.h"

#include "core/random.h"
#include "measure/measures.h"
#include "mesh/event-words.h"

#define NODE  .of = SPATE_THING_NODE
#define RADIO .of = SPATE_THING_RADIO

/* ---- the form -------------------------------------------------------------------------------- */

typedef struct {
    uint32_t radio, disturber; /* disturber: SPATE_NO_THING if unknown */
} Pair;

/* Radios by outcome; those that received a copy that was not their first are AGAIN. */
enum { AGAIN = SPATE_N_OUTCOMES, N_HEARD };

typedef struct {
    uint32_t *radios;
    Pair *pairs; /* the same with the disturber, where there may be one */
    uint32_t n;
} Heard;

typedef struct {
    uint32_t radio, hops, carrier;
    int64_t start_us, queued_us;
    uint64_t airtime_us, waited_duty_us, waited_access_us;
    Heard heard[N_HEARD];
    bool ended;
} Frame;

/* Any other step. */
typedef struct {
    uint32_t radio, node, from, hops, rule, line; /* rule and line: 0 without */
    int64_t at_us;
    const char *decision, *bridge, *crossing, *cause;
} Step;

typedef struct {
    Step *steps;
    uint32_t n;
} Steps;

/* A radio that slept through a frame. */
typedef struct {
    uint32_t frame, radio;
} Missed;

/* A node that was out of order. */
typedef struct {
    uint32_t node;
    int64_t from_us;
    uint64_t until_us; /* 0: not over yet */
} Down;

typedef struct {
    uint32_t origin, n_digests, n_attempts, n_recipients, n_frames;
    uint32_t *attempts; /* by carrier, as in spate/event.h; NULL: no answer is wanted */
    uint32_t *recipients;
    uint64_t until_us;
    Frame *frames;
    Missed *missed; /* NULL: no radio sleeps */
    uint32_t n_missed;
    Down *down; /* NULL: no node was */
    uint32_t n_down;
    Steps arrivals, decisions, drops, deliveries;
    bool is_cut;
} Way;

static const SpateMember PAIR[] = {
    {"radio", SPATE_CELL_WHOLE, offsetof(Pair, radio), RADIO},
    {"disturber", SPATE_CELL_WHOLE, offsetof(Pair, disturber), SPATE_OR_NULL, RADIO},
};
#define RADIOS(outcome)                                                                            \
    SPATE_CELL_WHOLES, SPATE_LIST(Frame, heard[outcome].radios, heard[outcome].n), RADIO
#define PAIRS(outcome)                                                                             \
    SPATE_CELL_LINES, SPATE_LIST(Frame, heard[outcome].pairs, heard[outcome].n),                   \
        SPATE_OF(Pair, PAIR)

static const SpateMember FRAMES[] = {
    {"radio", SPATE_CELL_WHOLE, offsetof(Frame, radio), RADIO},
    {"start_us", SPATE_CELL_SINCE, offsetof(Frame, start_us)},
    {"airtime_us", SPATE_CELL_LARGE, offsetof(Frame, airtime_us)},
    {"hops", SPATE_CELL_WHOLE, offsetof(Frame, hops)},
    {"queued_us", SPATE_CELL_SINCE, offsetof(Frame, queued_us)},
    {"waited_duty_us", SPATE_CELL_LARGE, offsetof(Frame, waited_duty_us)},
    {"waited_access_us", SPATE_CELL_LARGE, offsetof(Frame, waited_access_us)},
    {"carrier", SPATE_CELL_WHOLE, offsetof(Frame, carrier)},
    {"received_first", RADIOS(SPATE_OUTCOME_RECEIVED)},
    {"received_again", RADIOS(AGAIN)},
    {"lost_collision", PAIRS(SPATE_OUTCOME_LOST_COLLISION)},
    {"lost_busy", PAIRS(SPATE_OUTCOME_LOST_BUSY)},
    {"lost_sending", RADIOS(SPATE_OUTCOME_LOST_SENDING)},
    {"lost_blocked", PAIRS(SPATE_OUTCOME_LOST_BLOCKED)},
    {"ended", SPATE_CELL_FLAG, offsetof(Frame, ended)},
};
static const SpateMember MISSED[] = {
    {"frame", SPATE_CELL_WHOLE, offsetof(Missed, frame)},
    {"radio", SPATE_CELL_WHOLE, offsetof(Missed, radio), RADIO},
};
static const SpateMember DOWN[] = {
    {"node", SPATE_CELL_WHOLE, offsetof(Down, node), NODE},
    {"from_us", SPATE_CELL_SINCE, offsetof(Down, from_us)},
    {"until_us", SPATE_CELL_LARGE, offsetof(Down, until_us), SPATE_OR_NULL},
};
static const SpateMember ARRIVALS[] = {
    {"radio", SPATE_CELL_WHOLE, offsetof(Step, radio), RADIO},
    {"at_us", SPATE_CELL_SINCE, offsetof(Step, at_us)},
    {"from_radio", SPATE_CELL_WHOLE, offsetof(Step, from), RADIO},
    {"hops", SPATE_CELL_WHOLE, offsetof(Step, hops)},
};
static const SpateMember DECISIONS[] = {
    {"radio", SPATE_CELL_WHOLE, offsetof(Step, radio), RADIO},
    {"at_us", SPATE_CELL_SINCE, offsetof(Step, at_us)},
    {"decision", SPATE_CELL_TEXT, offsetof(Step, decision)},
    {"bridge", SPATE_CELL_TEXT, offsetof(Step, bridge), SPATE_OR_NULL, .of = SPATE_THING_BRIDGE},
    {"crossing", SPATE_CELL_TEXT, offsetof(Step, crossing), SPATE_OR_NULL},
    {"rule", SPATE_CELL_WHOLE, offsetof(Step, rule)},
    {"rule_line", SPATE_CELL_WHOLE, offsetof(Step, line), SPATE_OR_NULL},
};
static const SpateMember DROPPED[] = {
    {"radio", SPATE_CELL_WHOLE, offsetof(Step, radio), RADIO},
    {"at_us", SPATE_CELL_SINCE, offsetof(Step, at_us)},
    {"cause", SPATE_CELL_TEXT, offsetof(Step, cause)},
};
static const SpateMember DELIVERED[] = {
    {"node", SPATE_CELL_WHOLE, offsetof(Step, node), NODE},
    {"at_us", SPATE_CELL_SINCE, offsetof(Step, at_us)},
    {"hops", SPATE_CELL_WHOLE, offsetof(Step, hops)},
};

#define ROWS "\n      "
#define STEPS(list, columns)                                                                       \
    SPATE_CELL_ROWS, SPATE_LIST(Way, list.steps, list.n), SPATE_OF(Step, columns), .line = ROWS

static const SpateMember WAY[] = {
    {"origin", SPATE_CELL_WHOLE, offsetof(Way, origin), NODE},
    {"digests", SPATE_CELL_WHOLE, offsetof(Way, n_digests)},
    {"attempts", SPATE_CELL_WHOLES, SPATE_LIST(Way, attempts, n_attempts),
     .absence = SPATE_OR_ABSENT},
    {"recipients", SPATE_CELL_WHOLES, SPATE_LIST(Way, recipients, n_recipients), NODE},
    {"until_us", SPATE_CELL_LARGE, offsetof(Way, until_us)},
    {"frames", SPATE_CELL_ROWS, SPATE_LIST(Way, frames, n_frames), SPATE_OF(Frame, FRAMES),
     .line = ROWS, .item = "frame"},
    {"lost_asleep", SPATE_CELL_ROWS, SPATE_LIST(Way, missed, n_missed), .absence = SPATE_OR_ABSENT,
     SPATE_OF(Missed, MISSED), .line = ROWS, .item = "frame that was slept through"},
    {"down", SPATE_CELL_ROWS, SPATE_LIST(Way, down, n_down), .absence = SPATE_OR_ABSENT,
     SPATE_OF(Down, DOWN), .line = ROWS, .item = "outage"},
    {"arrivals", STEPS(arrivals, ARRIVALS), .item = "arrival"},
    {"decisions", STEPS(decisions, DECISIONS), .item = "decision"},
    {"dropped", STEPS(drops, DROPPED), .item = "drop"},
    {"delivered", STEPS(deliveries, DELIVERED), .item = "delivery"},
    {"cut", SPATE_CELL_FLAG, offsetof(Way, is_cut)},
};
const SpateForm SPATE_REPLAY_FORM = SPATE_FORM(Way, WAY);

/* ---- what fills it --------------------------------------------------------------------------- */

typedef struct {
    const SpateMessageTrace *trace;
    GHashTable *first; /* radio and instant -> there, where a first copy arrived */
    guint64 n_receptions;
    GPtrArray *scratch;
} Replay;

static gint64
since_us(const Replay *replay, int64_t at_ns)
{
    return (at_ns - replay->trace->offered_ns) / 1000;
}

/* 0: the message itself, 1 and up: its further tries, its acknowledgements, and digests that carry
 * any of them. */
static guint
carrier_of(const Replay *replay, uint32_t message)
{
    guint i = 0;
    while (g_array_index(replay->trace->messages, uint32_t, i) != message)
        i++;
    return i;
}

/* ---- receptions ------------------------------------------------------------------------------ */

static gint64
key_of(uint32_t radio, int64_t at_ns)
{
    return (gint64)spate_hash_combine((uint64_t)at_ns, radio);
}

static void
fill_heard(Replay *replay, Frame *frame, const SpateEvent *ended)
{
    for (size_t i = 0; i < N_HEARD; i++) {
        frame->heard[i].radios = spate_room(replay->scratch, ended->n_receptions, sizeof(uint32_t));
        frame->heard[i].pairs = spate_room(replay->scratch, ended->n_receptions, sizeof(Pair));
    }
    for (size_t i = 0; i < ended->n_receptions; i++) {
        const SpateReception *reception = &ended->receptions[i];
        gint64 key = key_of(reception->receiver, ended->at_ns);
        bool is_again = reception->outcome == SPATE_OUTCOME_RECEIVED &&
                        !g_hash_table_contains(replay->first, &key);
        Heard *heard = &frame->heard[is_again ? AGAIN : (size_t)reception->outcome];
        bool is_known = reception->disturber < replay->trace->plan->n_radios;
        heard->radios[heard->n] = reception->receiver;
        heard->pairs[heard->n++] =
            (Pair){reception->receiver, is_known ? reception->disturber : SPATE_NO_THING};
    }
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

static Frame
frame_of(Replay *replay, guint started)
{
    const SpateEvent *start = spate_message_trace_step(replay->trace, started);
    const SpateEvent *ended = end_of(replay->trace, started);
    const SpateFrameFacts *its = start->frame;
    Frame frame = {
        .radio = start->radio,
        .start_us = since_us(replay, start->at_ns),
        .airtime_us = (uint64_t)its->airtime_ns / 1000,
        .hops = its->hops,
        .queued_us = since_us(replay, its->queued_ns),
        .waited_duty_us = (uint64_t)its->waited_duty_ns / 1000,
        .waited_access_us = (uint64_t)its->waited_access_ns / 1000,
        .carrier = carrier_of(replay, its->message.number),
        .ended = ended != NULL,
    };
    if (ended != NULL)
        fill_heard(replay, &frame, ended);
    return frame;
}

/* ---- other steps ----------------------------------------------------------------------------- */

static Step
step_of(const Replay *replay, const SpateEvent *step)
{
    Step of = {.radio = step->radio,
               .node = step->node,
               .hops = step->hops,
               .at_us = since_us(replay, step->at_ns)};
    if (step->kind == SPATE_EVENT_ARRIVED) {
        of.from = step->frame->radio;
        of.hops = step->frame->hops;
    }
    if (step->kind == SPATE_EVENT_DECIDED) {
        of.decision = spate_decision_word(step->decision);
        of.rule = step->rule != SPATE_NO_RULE ? step->rule + 1 : 0;
        of.line = step->rule_line;
    }
    if (step->kind == SPATE_EVENT_DECIDED && step->crossing != SPATE_NO_CROSSING) {
        const SpateCrossing *crossing = &replay->trace->plan->crossings[step->crossing];
        of.bridge = replay->trace->plan->bridge_names[crossing->bridge];
        of.crossing = crossing->name;
    }
    if (step->kind == SPATE_EVENT_DROPPED)
        of.cause = spate_drop_word(step->cause);
    return of;
}

/* What is no try and no acknowledgement, but the message, is a digest. */
static void
fill_attempts(const Replay *replay, Way *way)
{
    const SpateMessageTrace *trace = replay->trace;
    uint32_t *attempts = spate_room(replay->scratch, trace->messages->len, sizeof(uint32_t));
    for (guint i = 0; i < trace->steps->len; i++) {
        const SpateMessageFacts *message = spate_message_trace_step(trace, i)->message;
        attempts[carrier_of(replay, message->number)] = message->attempt;
    }
    for (guint i = 1; i < trace->messages->len; i++)
        way->n_digests += attempts[i] == 1;
    if (trace->plan->traffics[trace->wanted.traffic].acknowledgement.tries == 0)
        return;
    way->attempts = attempts;
    way->n_attempts = trace->messages->len;
}

/* Frames whose receptions would be too many are left out. */
static void
fill_frames(Replay *replay, Way *way)
{
    way->frames = spate_room(replay->scratch, replay->trace->steps->len, sizeof(Frame));
    for (guint i = 0; i < replay->trace->steps->len && !way->is_cut; i++) {
        if (spate_message_trace_step(replay->trace, i)->kind != SPATE_EVENT_STARTED)
            continue;
        way->is_cut = replay->n_receptions > SPATE_DETAIL_RECEPTIONS;
        if (!way->is_cut)
            way->frames[way->n_frames++] = frame_of(replay, i);
    }
}

/* None of where no radio sleeps. */
static void
fill_missed(const Replay *replay, Way *way)
{
    const SpatePlan *plan = replay->trace->plan;
    bool has_sleepers = false;
    for (uint32_t b = 0; b < plan->n_bearers && !has_sleepers; b++)
        has_sleepers = spate_plan_has_sleepers(plan, b);
    if (!has_sleepers)
        return;
    size_t n = 0;
    for (uint32_t f = 0; f < way->n_frames; f++)
        n += way->frames[f].heard[SPATE_OUTCOME_LOST_ASLEEP].n;
    way->missed = spate_room(replay->scratch, n, sizeof(Missed));
    for (uint32_t f = 0; f < way->n_frames; f++) {
        const Heard *asleep = &way->frames[f].heard[SPATE_OUTCOME_LOST_ASLEEP];
        for (uint32_t i = 0; i < asleep->n; i++)
            way->missed[way->n_missed++] = (Missed){f, asleep->radios[i]};
    }
}

/* None of where no node was. */
static void
fill_down(const Replay *replay, Way *way)
{
    g_autoptr(GArray) outages = spate_message_trace_outages(replay->trace);
    if (outages->len == 0)
        return;
    way->down = spate_room(replay->scratch, outages->len, sizeof(Down));
    for (guint i = 0; i < outages->len; i++) {
        const SpateTraceOutage *outage = &g_array_index(outages, SpateTraceOutage, i);
        bool is_over = outage->until_ns < INT64_MAX;
        way->down[way->n_down++] = (Down){
            .node = outage->node,
            .from_us = since_us(replay, outage->from_ns),
            .until_us = is_over ? (uint64_t)MAX(since_us(replay, outage->until_ns), 1) : 0,
        };
    }
}

static Steps
steps_of(const Replay *replay, SpateEventKind kind)
{
    Steps list = {spate_room(replay->scratch, replay->trace->steps->len, sizeof(Step)), 0};
    for (guint i = 0; i < replay->trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(replay->trace, i);
        if (step->kind == kind)
            list.steps[list.n++] = step_of(replay, step);
    }
    return list;
}

void
spate_detail_append_replay(GString *text, const SpateMessageTrace *trace)
{
    if (trace == NULL) {
        g_string_append(text, "null");
        return;
    }
    g_autoptr(GHashTable) first = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
    g_autoptr(GPtrArray) scratch = g_ptr_array_new_with_free_func(g_free);
    Replay replay = {.trace = trace, .first = first, .scratch = scratch};
    const SpateEvent *last = spate_message_trace_step(trace, trace->steps->len - 1);
    Way way = {
        .origin = trace->wanted.origin,
        .until_us = (uint64_t)since_us(&replay, last->at_ns),
        .arrivals = steps_of(&replay, SPATE_EVENT_ARRIVED),
        .decisions = steps_of(&replay, SPATE_EVENT_DECIDED),
        .drops = steps_of(&replay, SPATE_EVENT_DROPPED),
        .deliveries = steps_of(&replay, SPATE_EVENT_DELIVERED),
    };
    for (guint i = 0; i < trace->steps->len; i++) {
        const SpateEvent *step = spate_message_trace_step(trace, i);
        gint64 key = key_of(step->radio, step->at_ns);
        if (step->kind == SPATE_EVENT_ARRIVED)
            g_hash_table_add(first, g_memdup2(&key, sizeof key));
    }
    const SpateTrafficKind *kind = &trace->plan->traffics[trace->wanted.traffic];
    way.recipients = spate_room(scratch, kind->n_recipients, sizeof(uint32_t));
    for (uint32_t i = 0; i < kind->n_recipients; i++)
        if (kind->recipients[i] != trace->wanted.origin)
            way.recipients[way.n_recipients++] = kind->recipients[i];
    fill_attempts(&replay, &way);
    fill_frames(&replay, &way);
    fill_missed(&replay, &way);
    fill_down(&replay, &way);
    spate_form_append(text, &SPATE_REPLAY_FORM, &way);
}
