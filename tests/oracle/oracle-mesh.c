/* oracle-mesh.c - messages, copies, and what nodes remember of them (docs/model.md, Flooding and
 * bridges)
 */
#include "oracle/oracle-private.h"

#include <math.h>

/* ---- messages -------------------------------------------------------------------------------- */

OracleMessage *
oracle_new_message(Oracle *oracle, HistoryMessage name, uint64_t identity, uint32_t payload_bytes)
{
    OracleMessage *message = g_new0(OracleMessage, 1);
    message->name = name;
    message->identity = identity;
    message->number = oracle->messages->len;
    message->payload_bytes = payload_bytes;
    message->is_delivered = g_new0(bool, oracle->scenario->n_nodes);
    g_ptr_array_add(oracle->messages, message);
    return message;
}

void
oracle_send_out(Oracle *oracle, OracleMessage *message)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[message->name.traffic];
    if (message->route != NULL) {
        const OracleRadio *first =
            &oracle->radios[g_array_index(message->route, OracleHop, 0).from];
        oracle_enqueue(oracle, oracle_new_sending(oracle, message, first, 1));
        return;
    }
    for (uint32_t bearer = 0; bearer < oracle->scenario->n_bearers; bearer++) {
        OracleRadio *radio = oracle_radio(oracle, message->name.source, bearer);
        if (radio != NULL && (traffic->on_bearers == NULL || traffic->on_bearers[bearer]))
            oracle_enqueue(oracle, oracle_new_sending(oracle, message, radio, 1));
    }
}

uint32_t
oracle_frame_bytes(const Oracle *oracle, const OracleRadio *radio, uint32_t payload_bytes,
                   uint32_t hops)
{
    return payload_bytes + (uint32_t)oracle_bearer(oracle, radio->bearer)->overhead_bytes +
           (hops - 1) * oracle_node(oracle, radio->node)->flooding.route_record_bytes;
}

OracleSending *
oracle_new_sending(Oracle *oracle, OracleMessage *message, const OracleRadio *radio, uint32_t hops)
{
    OracleSending *sending = g_new0(OracleSending, 1);
    sending->message = message;
    sending->radio = (uint32_t)(radio - oracle->radios);
    sending->hops = hops;
    sending->frame_bytes =
        oracle_frame_bytes(oracle, radio, message->payload_bytes,
                           message->route != NULL ? message->n_listed + 1 : hops);
    sending->airtime_ns =
        oracle_airtime_ns(oracle_bearer(oracle, radio->bearer), sending->frame_bytes);
    sending->identity = spate_hash_combine(
        message->identity, spate_hash_combine(radio->node_hash, radio->bearer_hash));
    sending->wait = NAN;
    g_ptr_array_add(oracle->sendings, sending);
    return sending;
}

void
oracle_offer(Oracle *oracle, HistoryMessage name, uint64_t identity)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[name.traffic];
    OracleMessage *message = oracle_new_message(oracle, name, identity, traffic->payload_bytes);
    if (oracle_is_down(oracle, name.source))
        return;
    if (traffic->route == SPATE_ROUTE_ALONG)
        oracle_take_given_route(oracle, message);
    if (traffic->acknowledgement.tries > 0)
        oracle_open_exchange(oracle, message);
    oracle_send_out(oracle, message);
}

/* ---- what nodes remember --------------------------------------------------------------------- */

/* A try that is forgotten is new when it comes again. */
static void
forget(const Oracle *oracle, uint32_t node, guint index)
{
    OracleKnown *known = g_ptr_array_index(oracle->known[node], index);
    if (oracle_is_recipient(oracle, known->message, node))
        known->message->is_answered = false;
    g_ptr_array_remove_index(oracle->known[node], index);
}

static void
forget_old(const Oracle *oracle, uint32_t node)
{
    GPtrArray *known = oracle->known[node];
    const SpateFlooding *flooding = &oracle_node(oracle, node)->flooding;
    if (flooding->duplicates_for_ns == 0)
        return;
    while (known->len > 0 && ((OracleKnown *)known->pdata[0])->since_ns <
                                 oracle->now_ns - flooding->duplicates_for_ns)
        forget(oracle, node, 0);
}

void
oracle_forget_messages(const Oracle *oracle, uint32_t node)
{
    g_ptr_array_set_size(oracle->known[node], 0);
    for (guint i = 0; i < oracle->messages->len; i++) {
        OracleMessage *message = g_ptr_array_index(oracle->messages, i);
        if (oracle_is_recipient(oracle, message, node))
            message->is_answered = false;
    }
}

static OracleKnown *
find_known(const Oracle *oracle, uint32_t node, const OracleMessage *message)
{
    for (guint i = 0; i < oracle->known[node]->len; i++) {
        OracleKnown *known = g_ptr_array_index(oracle->known[node], i);
        if (known->message == message)
            return known;
    }
    return NULL;
}

static OracleKnown *
remember(const Oracle *oracle, uint32_t node, OracleMessage *message)
{
    GPtrArray *known = oracle->known[node];
    uint32_t most = oracle_node(oracle, node)->flooding.duplicates_entries;
    OracleKnown *entry = g_new0(OracleKnown, 1);
    entry->message = message;
    entry->since_ns = oracle->now_ns;
    entry->is_sent = g_new0(bool, oracle->scenario->n_bearers);
    if (most > 0 && known->len == most)
        forget(oracle, node, 0);
    g_ptr_array_add(known, entry);
    return entry;
}

/* ---- arrivals -------------------------------------------------------------------------------- */

bool
oracle_is_recipient(const Oracle *oracle, const OracleMessage *message, uint32_t node)
{
    const SpateScenarioTraffic *traffic = &oracle->scenario->traffics[message->name.traffic];
    if (node == message->name.source)
        return false;
    for (uint32_t i = 0; i < traffic->n_recipients; i++)
        if (traffic->recipients[i] == node)
            return true;
    return false;
}

/* What a digest carries comes with the hops that it had done before. */
static void
deliver(Oracle *oracle, OracleMessage *message, uint32_t node, uint32_t hops)
{
    for (guint i = 0; message->carried != NULL && i < message->carried->len; i++) {
        OracleCarried *carried = &g_array_index(message->carried, OracleCarried, i);
        deliver(oracle, carried->message, node, hops + carried->hops);
    }
    if (message->carried == NULL && message->exchange != NULL)
        oracle_deliver_in_exchange(oracle, message, node, hops);
    if (message->carried != NULL || message->exchange != NULL || message->is_delivered[node] ||
        !oracle_is_recipient(oracle, message, node))
        return;
    message->is_delivered[node] = true;
    oracle_note_delivery(oracle, message, node, hops);
}

/* Enough further copies: relays of the node by `counter` are cancelled. */
static void
count_copy(Oracle *oracle, uint32_t node, OracleKnown *known)
{
    const SpateFlooding *flooding = &oracle_node(oracle, node)->flooding;
    known->copies++;
    if (flooding->policy != SPATE_FLOOD_COUNTER || known->copies < flooding->copies)
        return;
    for (guint i = 0; i < oracle->sendings->len; i++) {
        OracleSending *sending = g_ptr_array_index(oracle->sendings, i);
        if (sending->message == known->message && sending->is_relay &&
            oracle->radios[sending->radio].node == node && sending->stage < ORACLE_ON_AIR)
            oracle_cancel(oracle, sending);
    }
}

void
oracle_arrive(Oracle *oracle, OracleRadio *at, const OracleFrame *frame)
{
    OracleMessage *message = frame->sending->message;
    OracleArrival arrival = {
        .message = message,
        .at = at,
        .at_number = (uint32_t)(at - oracle->radios),
        .by = frame->sending,
        .hops = frame->sending->hops,
        .power_dbm = 10.0 * log10(oracle_power_mw(oracle, frame, at)),
    };
    if (message->route != NULL) {
        oracle_arrive_along_route(oracle, &arrival);
        return;
    }
    if (message->name.source == at->node)
        return; /* a node never forgets its own */
    forget_old(oracle, at->node);
    OracleKnown *known = find_known(oracle, at->node, message);
    if (known != NULL) {
        count_copy(oracle, at->node, known);
        return;
    }
    arrival.known = remember(oracle, at->node, message);
    deliver(oracle, message, at->node, arrival.hops);
    oracle_decide_ways(oracle, &arrival);
    oracle_answer(oracle, &arrival, message);
}
