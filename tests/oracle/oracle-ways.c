/* oracle-ways.c - what a node does with the first copy of a message (docs/model.md, Flooding and
 * bridges): relay, crossings, jitter, delays
 */
#include "oracle/oracle-private.h"

#include <math.h>

/* `weakest-first`: the longest wait is that of a level so far above the sensitivity. */
#define WEAKEST_FIRST_DB 40.0

/* Of what a receiver can just decode, where nodes move (Nodes that move, "Powers"). */
#define UNITS 65536.0

bool
oracle_is_waiting(const Oracle *oracle, const OracleMessage *message, uint32_t radio)
{
    for (guint i = 0; i < oracle->sendings->len; i++) {
        const OracleSending *sending = g_ptr_array_index(oracle->sendings, i);
        if (sending->message == message && sending->radio == radio &&
            sending->stage < ORACLE_ON_AIR)
            return true;
    }
    return oracle_is_collected(oracle, message, radio);
}

/* ---- jitter and delay ------------------------------------------------------------------------ */

void
oracle_start_jitter(Oracle *oracle, OracleSending *sending)
{
    const OracleRadio *radio = &oracle->radios[sending->radio];
    double airtimes = oracle_node(oracle, radio->node)->flooding.jitter_airtimes;
    double longest_ns = round(airtimes * (double)sending->airtime_ns);
    SpateRandom draws =
        spate_random_stream(oracle_key(oracle, SPATE_FOR_RELAY_JITTER, true), sending->identity);
    int64_t wait_ns = isnan(sending->wait) ? spate_random_wait_ns(&draws, (int64_t)longest_ns)
                                           : (int64_t)round(longest_ns * sending->wait);
    oracle->history->longest_airtime_ns =
        MAX(oracle->history->longest_airtime_ns, sending->airtime_ns);
    sending->stage = ORACLE_JITTER;
    sending->at_ns = oracle->now_ns + wait_ns;
    g_ptr_array_add(oracle->under_way, sending);
}

double
oracle_weakest_first_wait(const Oracle *oracle, const OracleArrival *arrival)
{
    double above_db = arrival->power_dbm - 10.0 * log10(arrival->at->sensitivity_mw);
    if (oracle->movers->len > 0)
        above_db = 10.0 * log10(round(UNITS * pow(10.0, above_db / 10.0)) / UNITS);
    return CLAMP(above_db / WEAKEST_FIRST_DB, 0.0, 1.0);
}

/* Looked at when the message comes, then at each whole second of the run. */
static bool
is_quiet(Oracle *oracle, const OracleSending *sending)
{
    const OracleRadio *radio = &oracle->radios[sending->radio];
    return oracle->now_ns >= sending->came_ns + sending->delay->delay_at_most_ns ||
           oracle_occupancy(oracle, radio) < sending->delay->delay_until_below;
}

void
oracle_start_delay(Oracle *oracle, OracleSending *sending)
{
    if (is_quiet(oracle, sending)) {
        oracle_start_jitter(oracle, sending);
        return;
    }
    sending->stage = ORACLE_DELAYED;
    int64_t next_second_ns = (oracle->now_ns / SPATE_NS_PER_S + 1) * SPATE_NS_PER_S;
    sending->at_ns = MIN(next_second_ns, sending->came_ns + sending->delay->delay_at_most_ns);
    g_ptr_array_add(oracle->under_way, sending);
}

/* ---- ways ------------------------------------------------------------------------------------ */

typedef struct {
    const OracleRadio *out;
    const SpateScenarioCrossing *crossing; /* NULL: the relay */
    const GArray *rules;                   /* NULL: none */
    const void *owner;                     /* of what they remember */
} Way;

static void
take(Oracle *oracle, const OracleArrival *arrival, const Way *way, const SpateRule *rule)
{
    arrival->known->is_sent[way->out->bearer] = true;
    if (rule != NULL && rule->action == SPATE_RULE_DIGEST) {
        oracle_collect(oracle, arrival, way->out, way->owner, rule);
        return;
    }
    OracleSending *sending =
        oracle_new_sending(oracle, arrival->message, way->out, arrival->hops + 1);
    sending->is_relay = way->crossing == NULL;
    const OracleMessage *message = arrival->message;
    if (message->exchange != NULL && message->name.attempt > 0 &&
        oracle->scenario->traffics[message->name.traffic].route == SPATE_ROUTE_SOURCE)
        oracle_record_path(arrival, sending);
    if (oracle_node(oracle, way->out->node)->flooding.weakest_first)
        sending->wait = oracle_weakest_first_wait(oracle, arrival);
    if (rule != NULL && rule->action == SPATE_RULE_DELAY) {
        sending->delay = rule;
        sending->came_ns = oracle->now_ns;
        oracle_start_delay(oracle, sending);
    } else {
        oracle_start_jitter(oracle, sending);
    }
}

static bool
policy_allows(const Oracle *oracle, const OracleArrival *arrival)
{
    const OracleRadio *at = arrival->at;
    const SpateFlooding *flooding = &oracle_node(oracle, at->node)->flooding;
    SpateRandom draws =
        spate_random_stream(oracle_key(oracle, SPATE_FOR_RELAY_CHOICE, true),
                            spate_hash_combine(arrival->message->identity, at->node_hash));
    switch (flooding->policy) {
    case SPATE_FLOOD_CLASSIC:
    case SPATE_FLOOD_COUNTER:
        return true;
    case SPATE_FLOOD_PROBABILITY:
        return spate_random_unit(&draws) < flooding->p;
    case SPATE_FLOOD_NONE:
        return false;
    }
    g_assert_not_reached();
}

/* Not come as far as it may, and not sent there yet. */
static bool
is_open(const Oracle *oracle, const OracleArrival *arrival, const OracleRadio *out)
{
    uint32_t of_traffic = oracle->scenario->traffics[arrival->message->name.traffic].hop_limit;
    uint32_t limit =
        of_traffic > 0 ? of_traffic : oracle_node(oracle, out->node)->flooding.hop_limit;
    return arrival->hops < limit && !arrival->known->is_sent[out->bearer] &&
           !oracle_is_waiting(oracle, arrival->message, (uint32_t)(out - oracle->radios));
}

static void
decide_relay(Oracle *oracle, const OracleArrival *arrival)
{
    const SpateScenarioNode *node = oracle_node(oracle, arrival->at->node);
    Way way = {arrival->at, NULL, node->relay_rules, node};
    bool passes = true;
    if (!arrival->at->settings->relays || !is_open(oracle, arrival, way.out))
        return;
    const SpateRule *rule = oracle_ask_rules(oracle, way.owner, way.rules, arrival, &passes);
    if (passes && policy_allows(oracle, arrival))
        take(oracle, arrival, &way, rule);
}

void
oracle_note_refusal(Oracle *oracle, const OracleMessage *message, uint32_t crossing)
{
    HistoryRefusal refusal = {message->name, crossing, oracle->now_ns};
    g_array_append_val(oracle->history->refusals, refusal);
}

static void
decide_crossing(Oracle *oracle, const OracleArrival *arrival, uint32_t number)
{
    const SpateScenarioCrossing *crossing = &oracle->scenario->crossings[number];
    Way way = {oracle_radio(oracle, crossing->node, crossing->to_bearer), crossing, crossing->rules,
               crossing};
    bool passes = crossing->otherwise_passes;
    if (!is_open(oracle, arrival, way.out))
        return;
    const SpateRule *rule = oracle_ask_rules(oracle, way.owner, way.rules, arrival, &passes);
    if (passes) {
        take(oracle, arrival, &way, rule);
        return;
    }
    oracle_note_refusal(oracle, arrival->message, number);
}

void
oracle_decide_ways(Oracle *oracle, const OracleArrival *arrival)
{
    decide_relay(oracle, arrival);
    for (uint32_t i = 0; i < oracle->scenario->n_crossings; i++) {
        const SpateScenarioCrossing *crossing = &oracle->scenario->crossings[i];
        if (crossing->node == arrival->at->node && crossing->from_bearer == arrival->at->bearer)
            decide_crossing(oracle, arrival, i);
    }
}

/* ---- timers ---------------------------------------------------------------------------------- */

/* In the order in which they began to wait; NULL: no more are due. */
static OracleSending *
find_due(const Oracle *oracle, uint32_t node, OracleStage stage)
{
    for (guint i = 0; i < oracle->under_way->len; i++) {
        OracleSending *sending = g_ptr_array_index(oracle->under_way, i);
        if (oracle->radios[sending->radio].node == node && sending->stage == stage &&
            sending->at_ns <= oracle->now_ns)
            return sending;
    }
    return NULL;
}

void
oracle_node_timers(Oracle *oracle, uint32_t node)
{
    OracleSending *sending;
    while ((sending = find_due(oracle, node, ORACLE_DELAYED)) != NULL) {
        g_ptr_array_remove(oracle->under_way, sending);
        oracle_start_delay(oracle, sending);
    }
    oracle_close_due_digests(oracle, node);
    while ((sending = find_due(oracle, node, ORACLE_JITTER)) != NULL) {
        g_ptr_array_remove(oracle->under_way, sending);
        oracle_enqueue(oracle, sending);
    }
}

int64_t
oracle_next_mesh_ns(const Oracle *oracle)
{
    int64_t next_ns = oracle_next_digest_ns(oracle);
    for (guint i = 0; i < oracle->under_way->len; i++)
        next_ns = MIN(next_ns, ((OracleSending *)oracle->under_way->pdata[i])->at_ns);
    return next_ns;
}
