/* oracle-answers.c - tries and acknowledgements (docs/model.md, Messages that want an answer) */
#include "oracle/oracle-private.h"

static const SpateAcknowledgement *
terms_of(const Oracle *oracle, const OracleExchange *exchange)
{
    return &oracle->scenario->traffics[exchange->asked->name.traffic].acknowledgement;
}

static OracleMessage *
new_message_in(Oracle *oracle, OracleExchange *exchange, HistoryMessage name, uint64_t identity,
               uint32_t payload_bytes)
{
    OracleMessage *message = oracle_new_message(oracle, name, identity, payload_bytes);
    message->exchange = exchange;
    return message;
}

/* ---- the source ------------------------------------------------------------------------------ */

static uint32_t
recipient_of(const Oracle *oracle, const OracleExchange *exchange)
{
    const HistoryMessage *name = &exchange->asked->name;
    const uint32_t *recipients = oracle->scenario->traffics[name->traffic].recipients;
    return recipients[0] == name->source ? recipients[1] : recipients[0];
}

/* A try takes the route that its source knows, unless the last one along a route failed. */
static void
choose_way(Oracle *oracle, OracleExchange *exchange)
{
    exchange->version = 0;
    if (oracle->scenario->traffics[exchange->asked->name.traffic].route == SPATE_ROUTE_SOURCE &&
        !exchange->must_flood)
        exchange->version =
            oracle_take_learned_route(oracle, exchange->last_try, recipient_of(oracle, exchange));
    exchange->must_flood = false;
}

void
oracle_open_exchange(Oracle *oracle, OracleMessage *message)
{
    OracleExchange *exchange = g_new0(OracleExchange, 1);
    *exchange = (OracleExchange){
        .asked = message,
        .last_try = message,
        .last_try_ns = oracle->now_ns,
        .n_tries = 1,
        .is_open = true,
    };
    message->exchange = exchange;
    g_ptr_array_add(oracle->exchanges, exchange);
    choose_way(oracle, exchange);
}

/* When the last frame of the source's last try was over; SPATE_NEVER_NS: not yet. */
static int64_t
try_over_ns(const Oracle *oracle, const OracleExchange *exchange)
{
    int64_t over_ns = exchange->last_try_ns;
    for (guint i = 0; i < oracle->sendings->len; i++) {
        const OracleSending *sending = g_ptr_array_index(oracle->sendings, i);
        if (sending->message != exchange->last_try ||
            oracle->radios[sending->radio].node != exchange->asked->name.source)
            continue;
        if (sending->stage != ORACLE_OVER)
            return SPATE_NEVER_NS;
        over_ns = MAX(over_ns, sending->over_ns);
    }
    return over_ns;
}

static int64_t
due_ns(const Oracle *oracle, const OracleExchange *exchange)
{
    if (!exchange->is_open)
        return SPATE_NEVER_NS;
    int64_t over_ns = try_over_ns(oracle, exchange);
    return over_ns == SPATE_NEVER_NS ? SPATE_NEVER_NS
                                     : over_ns + terms_of(oracle, exchange)->within_ns;
}

static void
try_once_more(Oracle *oracle, OracleExchange *exchange)
{
    if (exchange->version != 0) {
        oracle_unlearn(oracle, exchange->asked->name.source, recipient_of(oracle, exchange),
                       exchange->version);
        exchange->must_flood = true;
    }
    if (exchange->n_tries == terms_of(oracle, exchange)->tries ||
        oracle_is_down(oracle, exchange->asked->name.source)) {
        exchange->is_open = false;
        return;
    }
    const OracleMessage *asked = exchange->asked;
    HistoryMessage name = asked->name;
    name.attempt = ++exchange->n_tries;
    uint64_t identity =
        spate_hash_combine(asked->identity, spate_hash_combine(SPATE_OF_TRY, name.attempt));
    exchange->last_try = new_message_in(oracle, exchange, name, identity, asked->payload_bytes);
    exchange->last_try_ns = oracle->now_ns;
    choose_way(oracle, exchange);
    oracle_send_out(oracle, exchange->last_try);
}

/* By sources, then in the order of the offers. */
void
oracle_try_again(Oracle *oracle)
{
    for (uint32_t node = 0; node < oracle->scenario->n_nodes; node++)
        for (guint i = 0; i < oracle->exchanges->len; i++) {
            OracleExchange *exchange = g_ptr_array_index(oracle->exchanges, i);
            if (exchange->asked->name.source == node && due_ns(oracle, exchange) <= oracle->now_ns)
                try_once_more(oracle, exchange);
        }
}

int64_t
oracle_next_try_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (guint i = 0; i < oracle->exchanges->len; i++)
        next_ns = MIN(next_ns, due_ns(oracle, g_ptr_array_index(oracle->exchanges, i)));
    return next_ns;
}

/* ---- arrivals -------------------------------------------------------------------------------- */

void
oracle_deliver_in_exchange(Oracle *oracle, OracleMessage *message, uint32_t node, uint32_t hops)
{
    OracleExchange *exchange = message->exchange;
    if (message->name.attempt > 0) {
        if (exchange->is_delivered || !oracle_is_recipient(oracle, message, node))
            return;
        exchange->is_delivered = true;
        oracle_note_delivery(oracle, exchange->asked, node, hops);
        return;
    }
    if (exchange->is_acknowledged || node != exchange->asked->name.source)
        return;
    HistoryDelivery home = {exchange->asked->name, node, 0, oracle->now_ns};
    home.message.attempt = 0;
    exchange->is_acknowledged = true;
    exchange->is_open = false;
    g_array_append_val(oracle->history->deliveries, home);
}

static void
send_answer(Oracle *oracle, const OracleArrival *arrival, OracleMessage *its_try)
{
    OracleExchange *exchange = its_try->exchange;
    uint32_t node = arrival->at->node;
    HistoryMessage name = exchange->asked->name;
    name.source = node;
    name.attempt = 0;
    uint64_t which = spate_hash_combine(SPATE_OF_ACKNOWLEDGEMENT, its_try->n_answers++);
    OracleMessage *answer =
        new_message_in(oracle, exchange, name, spate_hash_combine(its_try->identity, which),
                       terms_of(oracle, exchange)->payload_bytes);
    oracle_take_way_back(oracle, arrival, its_try, answer);
    if (answer->route != NULL) {
        const OracleRadio *first = &oracle->radios[g_array_index(answer->route, OracleHop, 0).from];
        OracleSending *sending = oracle_new_sending(oracle, answer, first, 1);
        sending->wait = 0.0;
        oracle_start_jitter(oracle, sending);
        return;
    }
    for (uint32_t bearer = 0; bearer < oracle->scenario->n_bearers; bearer++) {
        const OracleRadio *radio = oracle_radio(oracle, node, bearer);
        if (radio == NULL)
            continue;
        OracleSending *sending = oracle_new_sending(oracle, answer, radio, 1);
        if (oracle_node(oracle, node)->flooding.weakest_first)
            sending->wait = oracle_weakest_first_wait(oracle, arrival);
        oracle_start_jitter(oracle, sending);
    }
}

void
oracle_answer(Oracle *oracle, const OracleArrival *arrival, OracleMessage *message)
{
    if (message->carried != NULL) {
        for (guint i = 0; i < message->carried->len; i++)
            oracle_answer(oracle, arrival,
                          g_array_index(message->carried, OracleCarried, i).message);
        return;
    }
    if (message->exchange == NULL || message->name.attempt == 0 || message->is_answered ||
        !oracle_is_recipient(oracle, message, arrival->at->node))
        return;
    message->is_answered = true;
    send_answer(oracle, arrival, message);
}
