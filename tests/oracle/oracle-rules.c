/* oracle-rules.c - what rules say about a message (docs/model.md, Flooding and bridges) */
#include "oracle/oracle-private.h"

#include <math.h>

#define OCCUPANCY_NS (300 * SPATE_NS_PER_S)

/* ---- occupancy ------------------------------------------------------------------------------- */

/* The frame, as far as this radio has sent or heard it. */
static bool
concerns(const Oracle *oracle, const OracleFrame *frame, const OracleRadio *radio)
{
    uint32_t number = (uint32_t)(radio - oracle->radios);
    return frame->radio == number || frame->hearings[number].is_audible;
}

static int
compare_starts(gconstpointer first, gconstpointer second)
{
    const OracleSpan *a = first, *b = second;
    return a->from_ns < b->from_ns ? -1 : a->from_ns > b->from_ns ? 1 : 0;
}

/* What outages leave of a span. */
static void
add_up_time(const GArray *outages, OracleSpan span, GArray *spans)
{
    for (guint i = 0; i < outages->len; i++) {
        OracleSpan outage = g_array_index(outages, OracleSpan, i);
        OracleSpan before = {span.from_ns, MIN(span.to_ns, outage.from_ns)};
        if (before.from_ns < before.to_ns)
            g_array_append_val(spans, before);
        span.from_ns = MAX(span.from_ns, outage.to_ns);
    }
    if (span.from_ns < span.to_ns)
        g_array_append_val(spans, span);
}

/* A radio that is off hears nothing. */
static GArray *
busy_spans(const Oracle *oracle, const OracleRadio *radio)
{
    GArray *spans = g_array_new(FALSE, FALSE, sizeof(OracleSpan));
    const GPtrArray *lists[] = {oracle->gone, oracle->frames};
    for (int l = 0; l < 2; l++)
        for (guint i = 0; i < lists[l]->len; i++) {
            const OracleFrame *frame = g_ptr_array_index(lists[l], i);
            OracleSpan span = {frame->start_ns, frame->end_ns};
            if (frame->radio == (uint32_t)(radio - oracle->radios))
                g_array_append_val(spans, span);
            else if (concerns(oracle, frame, radio))
                add_up_time(oracle->outages[radio->node], span, spans);
        }
    g_array_sort(spans, compare_starts);
    return spans;
}

double
oracle_occupancy(const Oracle *oracle, const OracleRadio *radio)
{
    if (radio == NULL)
        return 0.0;
    int64_t until_ns = oracle->now_ns / SPATE_NS_PER_S * SPATE_NS_PER_S;
    int64_t counted_ns = until_ns - OCCUPANCY_NS, busy_ns = 0;
    g_autoptr(GArray) spans = busy_spans(oracle, radio);
    for (guint i = 0; i < spans->len; i++) {
        OracleSpan span = g_array_index(spans, OracleSpan, i);
        int64_t from_ns = MAX(span.from_ns, counted_ns), to_ns = MIN(span.to_ns, until_ns);
        busy_ns += oracle_awake_ns(radio, from_ns, to_ns);
        counted_ns = MAX(counted_ns, to_ns);
    }
    return (double)busy_ns / (double)OCCUPANCY_NS;
}

/* ---- conditions ------------------------------------------------------------------------------ */

/* Both strict; NAN: no bound. */
static bool
lies_within(const SpateBounds *bounds, double value)
{
    return (isnan(bounds->above) || value > bounds->above) &&
           (isnan(bounds->below) || value < bounds->below);
}

/* The source is none of its own recipients. */
static bool
goes_to_any(const Oracle *oracle, const OracleMessage *message, const bool *nodes)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[message->name.traffic];
    if (message->name.attempt == 0)
        return nodes[message->exchange->asked->name.source];
    for (uint32_t i = 0; i < traffic->n_recipients; i++)
        if (traffic->recipients[i] != message->name.source && nodes[traffic->recipients[i]])
            return true;
    return false;
}

static bool
level_fits(Oracle *oracle, const SpateBounds *bounds, double power_dbm)
{
    double power = pow(10.0, power_dbm / 10.0);
    if (!isnan(bounds->above))
        oracle_note_threshold(oracle, power, pow(10.0, bounds->above / 10.0));
    if (!isnan(bounds->below))
        oracle_note_threshold(oracle, power, pow(10.0, bounds->below / 10.0));
    return lies_within(bounds, power_dbm);
}

static bool
channel_fits(Oracle *oracle, const SpateRule *rule, uint32_t node)
{
    if (rule->occupancy_bearer < 0)
        return true;
    const OracleRadio *radio = oracle_radio(oracle, node, (uint32_t)rule->occupancy_bearer);
    double share = oracle_occupancy(oracle, radio);
    oracle_note_threshold(oracle, share, rule->occupancy_above);
    return share > rule->occupancy_above;
}

static bool
matches(Oracle *oracle, const SpateRule *rule, const OracleArrival *arrival)
{
    const OracleMessage *message = arrival->message;
    if (rule->traffics != NULL && !rule->traffics[message->name.traffic])
        return false;
    if (rule->origins != NULL && !rule->origins[message->name.source])
        return false;
    if (rule->recipients != NULL && !goes_to_any(oracle, message, rule->recipients))
        return false;
    return lies_within(&rule->size_bytes, message->payload_bytes) &&
           lies_within(&rule->hops, arrival->hops) &&
           level_fits(oracle, &rule->received_dbm, arrival->power_dbm) &&
           channel_fits(oracle, rule, arrival->at->node);
}

/* ---- what rules remember --------------------------------------------------------------------- */

/* One bucket or row, of a rule or of one of its origins. */
typedef struct {
    const void *owner;
    const SpateRule *rule;
    uint32_t origin;
    double tokens;
    int64_t filled_ns;
    uint64_t matched;
} Memory;

static Memory *
memory_of(Oracle *oracle, const void *owner, const SpateRule *rule, uint32_t origin)
{
    uint32_t of = rule->per_origin ? origin : 0;
    for (guint i = 0; i < oracle->memories->len; i++) {
        Memory *memory = g_ptr_array_index(oracle->memories, i);
        if (memory->owner == owner && memory->rule == rule && memory->origin == of)
            return memory;
    }
    Memory *memory = g_new0(Memory, 1);
    *memory = (Memory){owner, rule, of, rule->limit_burst, oracle->now_ns, 0};
    g_ptr_array_add(oracle->memories, memory);
    return memory;
}

static bool
belongs_to(const Oracle *oracle, const Memory *memory, uint32_t node)
{
    for (uint32_t i = 0; i < oracle->scenario->n_crossings; i++)
        if (memory->owner == &oracle->scenario->crossings[i])
            return oracle->scenario->crossings[i].node == node;
    return memory->owner == oracle_node(oracle, node);
}

void
oracle_forget_rules(const Oracle *oracle, uint32_t node)
{
    for (guint i = 0; i < oracle->memories->len;)
        if (belongs_to(oracle, g_ptr_array_index(oracle->memories, i), node))
            g_ptr_array_remove_index(oracle->memories, i);
        else
            i++;
}

static bool
takes_token(Oracle *oracle, Memory *memory)
{
    double passed_s = (double)(oracle->now_ns - memory->filled_ns) * 1e-9;
    memory->tokens =
        fmin(memory->tokens + passed_s * memory->rule->limit_per_s, memory->rule->limit_burst);
    memory->filled_ns = oracle->now_ns;
    oracle_note_closeness(oracle, memory->tokens, 1.0);
    /* A bucket that has filled exactly is full. */
    if (memory->tokens < 1.0 - 1e-9)
        return false;
    memory->tokens -= 1.0;
    return true;
}

static bool
lets_pass(Oracle *oracle, const void *owner, const SpateRule *rule, uint32_t origin)
{
    switch (rule->action) {
    case SPATE_RULE_HOLD_BACK:
        return false;
    case SPATE_RULE_LIMIT:
        return takes_token(oracle, memory_of(oracle, owner, rule, origin));
    case SPATE_RULE_THIN:
        return memory_of(oracle, owner, rule, origin)->matched++ % rule->thin_of < rule->thin_keep;
    case SPATE_RULE_PASS:
    case SPATE_RULE_DIGEST:
    case SPATE_RULE_DELAY:
    case SPATE_N_RULE_ACTIONS:
        return true;
    }
    g_assert_not_reached();
}

const SpateRule *
oracle_ask_rules(Oracle *oracle, const void *owner, const GArray *rules,
                 const OracleArrival *arrival, bool *passes)
{
    for (guint i = 0; rules != NULL && i < rules->len; i++) {
        const SpateRule *rule = &g_array_index(rules, SpateRule, i);
        if (!matches(oracle, rule, arrival))
            continue;
        *passes = lets_pass(oracle, owner, rule, arrival->message->name.source);
        return rule;
    }
    return NULL;
}
