/* oracle-queues.c - what waits at a radio (docs/model.md, Access to the channel: queues) */
#include "oracle/oracle-private.h"

static void
drop(Oracle *oracle, OracleSending *sending, HistoryDropCause cause)
{
    const OracleRadio *radio = &oracle->radios[sending->radio];
    HistoryDrop drop = {sending->message->name, radio->node, radio->bearer, cause, oracle->now_ns};
    sending->stage = ORACLE_OVER;
    sending->over_ns = oracle->now_ns - (cause == HISTORY_DROPPED_EXPIRED ? 1 : 0);
    g_array_append_val(oracle->history->drops, drop);
}

static uint32_t
rank_of(const Oracle *oracle, const OracleSending *sending)
{
    return oracle->scenario->traffics[sending->message->name.traffic].class_rank;
}

static OracleSending *
queued_at(const OracleRadio *radio, guint index)
{
    return g_ptr_array_index(radio->queue, index);
}

/* Behind all that are not worse. */
static guint
place_by_class(const Oracle *oracle, const OracleRadio *radio, const OracleSending *sending)
{
    guint place = radio->queue->len;
    while (place > 0 && rank_of(oracle, queued_at(radio, place - 1)) > rank_of(oracle, sending))
        place--;
    return place;
}

void
oracle_enqueue(Oracle *oracle, OracleSending *sending)
{
    OracleRadio *radio = &oracle->radios[sending->radio];
    const SpateQueueSettings *settings = &oracle_node(oracle, radio->node)->queue;
    if (sending->frame_bytes >
        (uint32_t)oracle_bearer(oracle, radio->bearer)->largest_frame_bytes) {
        drop(oracle, sending, HISTORY_DROPPED_SIZE);
        return;
    }
    if (radio->queue->len >= settings->frames) {
        drop(oracle, sending, HISTORY_DROPPED_QUEUE);
        return;
    }
    sending->stage = ORACLE_QUEUED;
    sending->at_ns = oracle->now_ns;
    guint place = settings->by_class ? place_by_class(oracle, radio, sending) : radio->queue->len;
    g_ptr_array_insert(radio->queue, (gint)place, sending);
}

/* Counter-based relaying: enough copies were heard. */
void
oracle_cancel(Oracle *oracle, OracleSending *sending)
{
    if (sending->stage == ORACLE_QUEUED)
        g_ptr_array_remove(oracle->radios[sending->radio].queue, sending);
    else
        g_ptr_array_remove(oracle->under_way, sending);
    sending->stage = ORACLE_OVER;
}

/* What only waited for a quieter channel is nobody's loss. */
void
oracle_lose_frames(Oracle *oracle, uint32_t node)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        if (radio->node != node)
            continue;
        for (guint i = 0; i < radio->queue->len; i++)
            drop(oracle, queued_at(radio, i), HISTORY_DROPPED_OUTAGE);
        g_ptr_array_set_size(radio->queue, 0);
        radio->head = (OracleHead){.sending = NULL};
    }
    for (guint i = 0; i < oracle->under_way->len;) {
        OracleSending *sending = g_ptr_array_index(oracle->under_way, i);
        if (oracle->radios[sending->radio].node != node) {
            i++;
            continue;
        }
        if (sending->stage == ORACLE_JITTER)
            drop(oracle, sending, HISTORY_DROPPED_OUTAGE);
        sending->stage = ORACLE_OVER;
        g_ptr_array_remove_index(oracle->under_way, i);
    }
}

/* ---- expiry ---------------------------------------------------------------------------------- */

static int64_t
expires_ns(const Oracle *oracle, const OracleSending *sending)
{
    const OracleRadio *radio = &oracle->radios[sending->radio];
    int64_t expire_ns = oracle_node(oracle, radio->node)->queue.expire_ns;
    return expire_ns > 0 ? sending->at_ns + expire_ns : SPATE_NEVER_NS;
}

void
oracle_drop_expired(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        for (guint i = 0; i < radio->queue->len;) {
            OracleSending *sending = queued_at(radio, i);
            if (expires_ns(oracle, sending) >= oracle->now_ns) {
                i++;
                continue;
            }
            g_ptr_array_remove_index(radio->queue, i);
            drop(oracle, sending, HISTORY_DROPPED_EXPIRED);
        }
    }
}

/* The first nanosecond that is longer than allowed. */
int64_t
oracle_next_expiry_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        const OracleRadio *radio = &oracle->radios[r];
        for (guint i = 0; i < radio->queue->len; i++) {
            int64_t expiry_ns = expires_ns(oracle, queued_at(radio, i));
            if (expiry_ns < SPATE_NEVER_NS)
                next_ns = MIN(next_ns, expiry_ns + 1);
        }
    }
    return next_ns;
}
