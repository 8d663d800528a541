/* oracle-access.c - when the head of a queue may go on the air (docs/model.md, Access to the
 * channel)
 */
#include "oracle/oracle-private.h"

#include <math.h>

/* IEEE Std 802.11-2020, clauses 10 and 15. */
#define SLOT_NS  (20 * SPATE_NS_PER_US)
#define DIFS_NS  (50 * SPATE_NS_PER_US)
#define BACKOFFS 32

static const SpateBearer *
bearer_of(const Oracle *oracle, const OracleRadio *radio)
{
    return oracle_bearer(oracle, radio->bearer);
}

/* ---- duty cycle ------------------------------------------------------------------------------ */

/* Time on the air within the hour that ends then. */
static int64_t
sent_in_hour_before_ns(const OracleRadio *radio, int64_t end_ns)
{
    int64_t sum_ns = 0;
    for (guint i = 0; i < radio->sent->len; i++) {
        OracleSpan span = g_array_index(radio->sent, OracleSpan, i);
        int64_t from_ns = MAX(span.from_ns, end_ns - SPATE_NS_PER_HOUR);
        sum_ns += MAX(MIN(span.to_ns, end_ns) - from_ns, 0);
    }
    return sum_ns;
}

/* How long after an instant the next of the old frames began, or was under way; 0: it was then. */
static int64_t
quiet_after_ns(const OracleRadio *radio, int64_t at_ns)
{
    for (guint i = 0; i < radio->sent->len; i++) {
        OracleSpan span = g_array_index(radio->sent, OracleSpan, i);
        if (span.to_ns > at_ns)
            return MAX(span.from_ns - at_ns, 0);
    }
    return 0;
}

/* No window holds more of the new frame and of the old ones than the one that ends with it.  With
 * every nanosecond of waiting, a window loses one of an old frame at most, and none while it begins
 * between two of them. */
static int64_t
fits_from_ns(const Oracle *oracle, const OracleRadio *radio, int64_t airtime_ns)
{
    int64_t limit_ns = bearer_of(oracle, radio)->duty_limit_ns, from_ns = oracle->now_ns;
    if (limit_ns == 0)
        return from_ns;
    if (airtime_ns > limit_ns)
        return SPATE_NEVER_NS;
    for (;;) {
        int64_t too_much_ns =
            sent_in_hour_before_ns(radio, from_ns + airtime_ns) + airtime_ns - limit_ns;
        if (too_much_ns <= 0)
            return from_ns;
        from_ns += too_much_ns + quiet_after_ns(radio, from_ns + airtime_ns - SPATE_NS_PER_HOUR);
    }
}

/* ---- the radio itself ------------------------------------------------------------------------ */

/* After a lock the turnaround passes. */
static int64_t
turned_around_ns(const Oracle *oracle, const OracleRadio *radio)
{
    return radio->unlocked_ns == SPATE_NEVER_NS
               ? 0
               : radio->unlocked_ns + bearer_of(oracle, radio)->turnaround_ns;
}

static bool
may_begin(const Oracle *oracle, const OracleRadio *radio)
{
    return radio->locked == NULL && turned_around_ns(oracle, radio) <= oracle->now_ns;
}

static void
get_ready(const Oracle *oracle, OracleRadio *radio)
{
    radio->head.stage = ORACLE_HEAD_READY;
    radio->head.at_ns = MAX(oracle->now_ns, turned_around_ns(oracle, radio));
}

/* ---- cad ------------------------------------------------------------------------------------- */

static bool
is_found(const Oracle *oracle, const OracleRadio *radio, const OracleFrame *frame)
{
    const SpateAccess *access = &bearer_of(oracle, radio)->access;
    const OracleHead *head = &radio->head;
    uint64_t look = spate_hash_combine(head->sending->identity, head->looks);
    SpateRandom draws = spate_random_stream(oracle_key(oracle, SPATE_FOR_DETECTION, true),
                                            spate_hash_combine(look, frame->identity));
    if (!frame->hearings[radio - oracle->radios].is_audible)
        return false;
    if (!access->cad_payload && frame->header_ns < oracle->now_ns)
        return false;
    return access->cad_detection >= 1.0 || spate_random_unit(&draws) < access->cad_detection;
}

static bool
finds_any(const Oracle *oracle, const OracleRadio *radio)
{
    for (guint i = 0; i < oracle->frames->len; i++)
        if (is_found(oracle, radio, g_ptr_array_index(oracle->frames, i)))
            return true;
    return false;
}

static void
end_look(const Oracle *oracle, OracleRadio *radio)
{
    OracleHead *head = &radio->head;
    const SpateAccess *access = &bearer_of(oracle, radio)->access;
    head->looks++;
    if (!finds_any(oracle, radio)) {
        /* Locked nevertheless: it waits for the end and looks again, which costs no try. */
        if (radio->locked == NULL)
            get_ready(oracle, radio);
        else
            head->stage = ORACLE_HEAD_CHANNEL;
        return;
    }
    head->busy_looks++;
    if (head->busy_looks >= access->cad_tries) {
        head->sends_anyway = true;
        head->stage = ORACLE_HEAD_CHANNEL;
        return;
    }
    int64_t airtimes = 1 + (int64_t)spate_random_below(&head->draws, (uint64_t)access->cad_slots);
    head->stage = ORACLE_HEAD_WAITING;
    head->at_ns = oracle->now_ns + airtimes * head->sending->airtime_ns;
}

/* ---- csma ------------------------------------------------------------------------------------ */

static bool
hears_channel_busy(Oracle *oracle, const OracleRadio *radio)
{
    double threshold_dbm =
        oracle_csma_threshold_dbm(bearer_of(oracle, radio), radio->settings->power_dbm);
    double threshold_mw = pow(10.0, threshold_dbm / 10.0), sum_mw = 0.0;
    for (guint i = 0; i < oracle->frames->len; i++) {
        const OracleFrame *frame = g_ptr_array_index(oracle->frames, i);
        if (frame != radio->sending)
            sum_mw += oracle_power_in_channel_mw(oracle, frame, radio);
    }
    oracle_note_threshold(oracle, sum_mw, threshold_mw);
    return radio->locked != NULL || sum_mw >= threshold_mw;
}

/* Slots that have passed stay counted; DIFS passes anew. */
static void
freeze(const Oracle *oracle, OracleHead *head)
{
    int64_t passed = (oracle->now_ns - head->at_ns) / SLOT_NS;
    head->slots_left -= CLAMP(passed, 0, head->slots_left);
    head->stage = ORACLE_HEAD_CHANNEL;
}

void
oracle_watch_channels(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        if (bearer_of(oracle, radio)->access.method != SPATE_ACCESS_CSMA)
            continue;
        radio->channel_is_busy = hears_channel_busy(oracle, radio);
        if (radio->channel_is_busy && radio->head.stage == ORACLE_HEAD_COUNTING)
            freeze(oracle, &radio->head);
    }
}

static void
count_slots(const Oracle *oracle, OracleRadio *radio)
{
    radio->head.stage = ORACLE_HEAD_COUNTING;
    radio->head.at_ns = oracle->now_ns + DIFS_NS;
}

/* ---- the way of a head ----------------------------------------------------------------------- */

static void
begin_head(const Oracle *oracle, OracleRadio *radio)
{
    OracleSending *first = g_ptr_array_index(radio->queue, 0);
    radio->head = (OracleHead){
        .sending = first,
        .stage = ORACLE_HEAD_DUTY,
        .at_ns = fits_from_ns(oracle, radio, first->airtime_ns),
        .draws = spate_random_stream(oracle_key(oracle, SPATE_FOR_BACKOFF, true), first->identity),
    };
    radio->head.slots_left = (int64_t)spate_random_below(&radio->head.draws, BACKOFFS);
}

static void
turn_to_channel(const Oracle *oracle, OracleRadio *radio)
{
    OracleHead *head = &radio->head;
    const SpateAccess *access = &bearer_of(oracle, radio)->access;
    switch (access->method) {
    case SPATE_ACCESS_CSMA:
        count_slots(oracle, radio);
        return;
    case SPATE_ACCESS_CAD:
        if (!head->sends_anyway) {
            head->stage = ORACLE_HEAD_LOOKING;
            head->at_ns = oracle->now_ns + oracle_look_ns(bearer_of(oracle, radio));
            return;
        }
        get_ready(oracle, radio);
        return;
    case SPATE_ACCESS_NONE:
        get_ready(oracle, radio);
        return;
    case SPATE_N_ACCESS_METHODS:
        g_assert_not_reached();
    }
}

/* For csma: by what is on the air; else the radio is locked or not. */
static bool
channel_is_free(const Oracle *oracle, const OracleRadio *radio)
{
    bool is_csma = bearer_of(oracle, radio)->access.method == SPATE_ACCESS_CSMA;
    return is_csma ? !radio->channel_is_busy : radio->locked == NULL;
}

/* When the stage of the head is over by itself. */
static int64_t
stage_ends_ns(const Oracle *oracle, const OracleRadio *radio)
{
    const OracleHead *head = &radio->head;
    switch (head->stage) {
    case ORACLE_HEAD_NEW:
        return oracle->now_ns;
    case ORACLE_HEAD_DUTY:
    case ORACLE_HEAD_LOOKING:
    case ORACLE_HEAD_WAITING:
        return head->at_ns;
    case ORACLE_HEAD_COUNTING:
        return MAX(head->at_ns + head->slots_left * SLOT_NS, turned_around_ns(oracle, radio));
    case ORACLE_HEAD_CHANNEL:
        return channel_is_free(oracle, radio) ? oracle->now_ns : SPATE_NEVER_NS;
    case ORACLE_HEAD_READY:
        return head->at_ns;
    }
    g_assert_not_reached();
}

/* True if it went on. */
static bool
advance(const Oracle *oracle, OracleRadio *radio)
{
    OracleHead *head = &radio->head;
    OracleHeadStage before = head->stage;
    if (stage_ends_ns(oracle, radio) > oracle->now_ns)
        return false;
    switch (head->stage) {
    case ORACLE_HEAD_NEW:
        begin_head(oracle, radio);
        break;
    case ORACLE_HEAD_DUTY:
    case ORACLE_HEAD_WAITING:
        head->stage = ORACLE_HEAD_CHANNEL;
        break;
    case ORACLE_HEAD_CHANNEL:
        turn_to_channel(oracle, radio);
        break;
    case ORACLE_HEAD_LOOKING:
        end_look(oracle, radio);
        break;
    case ORACLE_HEAD_COUNTING:
        get_ready(oracle, radio);
        break;
    case ORACLE_HEAD_READY:
        /* A lock has come between: from the beginning. */
        if (!may_begin(oracle, radio))
            head->stage = ORACLE_HEAD_CHANNEL;
        break;
    }
    return head->stage != before;
}

void
oracle_advance_heads(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        OracleSending *first = radio->queue->len > 0 ? g_ptr_array_index(radio->queue, 0) : NULL;
        if (radio->sending != NULL)
            continue;
        /* A better frame has overtaken it, or it is gone. */
        if (radio->head.sending != first)
            radio->head = (OracleHead){.sending = first};
        while (first != NULL && advance(oracle, radio))
            ;
    }
}

void
oracle_send_heads(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        OracleSending *first = radio->head.sending;
        if (first == NULL || radio->head.stage != ORACLE_HEAD_READY ||
            radio->head.at_ns > oracle->now_ns)
            continue;
        g_assert(radio->locked == NULL && radio->sending == NULL);
        g_ptr_array_remove_index(radio->queue, 0);
        radio->head.sending = NULL;
        first->stage = ORACLE_ON_AIR;
        oracle_begin_frame(oracle, first);
    }
}

int64_t
oracle_next_access_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        const OracleRadio *radio = &oracle->radios[r];
        int64_t ends_ns =
            radio->head.sending != NULL ? stage_ends_ns(oracle, radio) : SPATE_NEVER_NS;
        if (ends_ns > oracle->now_ns)
            next_ns = MIN(next_ns, ends_ns);
    }
    return next_ns;
}
