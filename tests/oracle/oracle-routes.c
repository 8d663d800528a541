/* oracle-routes.c - ways that frames list (docs/model.md, Messages that want an answer) */
#include "oracle/oracle-private.h"

static OracleHop
hop_at(const GArray *route, guint index)
{
    return g_array_index(route, OracleHop, index);
}

static GArray *
new_route(void)
{
    return g_array_new(FALSE, FALSE, sizeof(OracleHop));
}

static void
append_reversed(GArray *into, const GArray *route)
{
    for (guint i = route->len; i > 0; i--) {
        OracleHop back = {hop_at(route, i - 1).to, hop_at(route, i - 1).from};
        g_array_append_val(into, back);
    }
}

void
oracle_free_learned(gpointer item)
{
    OracleLearned *learned = item;
    g_array_unref(learned->route);
    g_free(learned);
}

/* ---- taking one ------------------------------------------------------------------------------ */

/* Bearers are numbered by name. */
static OracleHop
hop_between(const Oracle *oracle, uint32_t from, const SpateRouteEntry *to)
{
    for (uint32_t b = 0; b < oracle->scenario->n_bearers; b++) {
        const OracleRadio *here = oracle_radio(oracle, from, b);
        const OracleRadio *there = oracle_radio(oracle, to->node, b);
        if (here != NULL && there != NULL && (to->bearer == -1 || to->bearer == (int32_t)b))
            return (OracleHop){(uint32_t)(here - oracle->radios),
                               (uint32_t)(there - oracle->radios)};
    }
    g_assert_not_reached();
}

void
oracle_take_given_route(Oracle *oracle, OracleMessage *message)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[message->name.traffic];
    uint32_t at = message->name.source;
    g_autoptr(GArray) there = new_route();
    for (uint32_t i = 0; i < traffic->n_along; i++) {
        OracleHop hop = hop_between(oracle, at, &traffic->along[i]);
        g_array_append_val(there, hop);
        at = traffic->along[i].node;
    }
    message->route = new_route();
    message->n_listed = traffic->n_along;
    g_array_append_vals(message->route, there->data, there->len);
    if (traffic->is_back)
        append_reversed(message->route, there);
}

static OracleLearned *
find_learned(const Oracle *oracle, uint32_t source, uint32_t recipient)
{
    for (guint i = 0; i < oracle->learned->len; i++) {
        OracleLearned *learned = g_ptr_array_index(oracle->learned, i);
        if (learned->source == source && learned->recipient == recipient)
            return learned;
    }
    return NULL;
}

uint32_t
oracle_take_learned_route(Oracle *oracle, OracleMessage *message, uint32_t recipient)
{
    const OracleLearned *learned = find_learned(oracle, message->name.source, recipient);
    if (learned == NULL)
        return 0;
    message->route = g_array_ref(learned->route);
    message->n_listed = learned->route->len;
    return learned->version;
}

/* A digest does not say how what it carries came. */
void
oracle_take_way_back(Oracle *oracle, const OracleArrival *arrival, const OracleMessage *its_try,
                     OracleMessage *answer)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[its_try->name.traffic];
    if (traffic->route != SPATE_ROUTE_SOURCE || arrival->message != its_try)
        return;
    answer->route = new_route();
    if (its_try->route != NULL) {
        append_reversed(answer->route, its_try->route);
    } else {
        OracleHop last = {(uint32_t)(arrival->at - oracle->radios), arrival->by->radio};
        g_array_append_val(answer->route, last);
        if (arrival->by->path != NULL)
            append_reversed(answer->route, arrival->by->path);
    }
    answer->n_listed = answer->route->len;
}

void
oracle_record_path(const OracleArrival *arrival, OracleSending *sending)
{
    const OracleArrival *came = arrival;
    OracleHop last = {came->by->radio, came->at_number};
    sending->path = new_route();
    if (came->by->path != NULL)
        g_array_append_vals(sending->path, came->by->path->data, came->by->path->len);
    g_array_append_val(sending->path, last);
}

/* ---- learning -------------------------------------------------------------------------------- */

void
oracle_learn(Oracle *oracle, const OracleMessage *answer)
{
    uint32_t source = answer->exchange->asked->name.source, recipient = answer->name.source;
    OracleLearned *learned = find_learned(oracle, source, recipient);
    if (learned != NULL)
        g_ptr_array_remove(oracle->learned, learned);
    learned = g_new0(OracleLearned, 1);
    *learned = (OracleLearned){source, recipient, ++oracle->n_versions, new_route()};
    append_reversed(learned->route, answer->route);
    g_ptr_array_add(oracle->learned, learned);
}

void
oracle_unlearn(Oracle *oracle, uint32_t source, uint32_t recipient, uint32_t version)
{
    OracleLearned *learned = find_learned(oracle, source, recipient);
    if (learned != NULL && learned->version == version)
        g_ptr_array_remove(oracle->learned, learned);
}

void
oracle_forget_routes(Oracle *oracle, uint32_t source)
{
    for (guint i = 0; i < oracle->learned->len;)
        if (((const OracleLearned *)g_ptr_array_index(oracle->learned, i))->source == source)
            g_ptr_array_remove_index(oracle->learned, i);
        else
            i++;
}

/* ---- on the way ------------------------------------------------------------------------------ */

static bool
is_probe(const Oracle *oracle, const OracleMessage *message)
{
    return oracle->scenario->traffics[message->name.traffic].route == SPATE_ROUTE_ALONG;
}

static void
send_at_once(Oracle *oracle, const OracleArrival *arrival, const OracleRadio *out,
             const SpateRule *rule)
{
    OracleSending *sending = oracle_new_sending(oracle, arrival->message, out, arrival->hops + 1);
    sending->wait = 0.0;
    if (rule != NULL && rule->action == SPATE_RULE_DELAY) {
        sending->delay = rule;
        sending->came_ns = oracle->now_ns;
        oracle_start_delay(oracle, sending);
    } else {
        oracle_start_jitter(oracle, sending);
    }
}

/* On the bearer on which it came, by the node's flooding rules, but where it turns round. */
static void
go_on_there(Oracle *oracle, const OracleArrival *arrival)
{
    const SpateScenarioNode *node = oracle_node(oracle, arrival->at->node);
    const SpateScenarioTraffic *traffic =
        &oracle->scenario->traffics[arrival->message->name.traffic];
    bool turns = is_probe(oracle, arrival->message) && arrival->hops == traffic->n_along;
    bool passes = true;
    const SpateRule *rule =
        turns ? NULL : oracle_ask_rules(oracle, node, node->relay_rules, arrival, &passes);
    if (passes)
        send_at_once(oracle, arrival, arrival->at, rule);
}

static void
cross(Oracle *oracle, const OracleArrival *arrival, const OracleRadio *out)
{
    for (uint32_t i = 0; i < oracle->scenario->n_crossings; i++) {
        const SpateScenarioCrossing *crossing = &oracle->scenario->crossings[i];
        bool passes = crossing->otherwise_passes;
        if (crossing->node != arrival->at->node || crossing->from_bearer != arrival->at->bearer ||
            crossing->to_bearer != out->bearer ||
            oracle_is_waiting(oracle, arrival->message, (uint32_t)(out - oracle->radios)))
            continue;
        const SpateRule *rule =
            oracle_ask_rules(oracle, crossing, crossing->rules, arrival, &passes);
        if (passes)
            send_at_once(oracle, arrival, out, rule);
        else
            oracle_note_refusal(oracle, arrival->message, i);
    }
}

static void
come_to_the_end(Oracle *oracle, const OracleArrival *arrival)
{
    OracleMessage *message = arrival->message;
    if (is_probe(oracle, message)) {
        const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[message->name.traffic];
        oracle_note_delivery(oracle, message, traffic->along[traffic->n_along - 1].node,
                             arrival->hops);
        return;
    }
    if (message->name.attempt == 0)
        oracle_learn(oracle, message);
    oracle_deliver_in_exchange(oracle, message, arrival->at->node, arrival->hops);
    oracle_answer(oracle, arrival, message);
}

void
oracle_arrive_along_route(Oracle *oracle, const OracleArrival *arrival)
{
    const GArray *route = arrival->message->route;
    if (hop_at(route, arrival->hops - 1).to != arrival->at_number)
        return;
    if (arrival->hops == route->len) {
        come_to_the_end(oracle, arrival);
        return;
    }
    const OracleRadio *out = &oracle->radios[hop_at(route, arrival->hops).from];
    if (out == arrival->at)
        go_on_there(oracle, arrival);
    else
        cross(oracle, arrival, out);
}
