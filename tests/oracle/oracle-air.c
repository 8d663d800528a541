/* oracle-air.c - what radios make of the frames on the air (docs/model.md, A frame at a receiver,
 * rules 1, 2, 5 and 7)
 */
#include "oracle/oracle-private.h"

static uint32_t
number_of(const Oracle *oracle, const OracleRadio *radio)
{
    return (uint32_t)(radio - oracle->radios);
}

static OracleHearing *
hearing_of(const Oracle *oracle, OracleFrame *frame, const OracleRadio *at)
{
    return &frame->hearings[number_of(oracle, at)];
}

static bool
is_off(const Oracle *oracle, const OracleRadio *radio)
{
    return radio->sending == NULL && oracle_is_down(oracle, radio->node);
}

static bool
is_listening(const Oracle *oracle, const OracleRadio *radio)
{
    return radio->sending == NULL && radio->locked == NULL && !is_off(oracle, radio) &&
           !oracle_is_asleep(oracle, radio);
}

static OracleFrame *
frame_at(const Oracle *oracle, guint index)
{
    return g_ptr_array_index(oracle->frames, index);
}

/* ---- locking: rule 1 ------------------------------------------------------------------------- */

static void
lock(Oracle *oracle, OracleRadio *radio, OracleFrame *frame)
{
    if (radio->locked == NULL)
        radio->locked_ns = oracle->now_ns;
    radio->locked = frame;
    hearing_of(oracle, frame, radio)->was_locked = true;
    hearing_of(oracle, frame, radio)->passes_alone = true;
}

/* The stronger, of equal ones the earlier; frames come in the order of their beginnings. */
static OracleFrame *
stronger(Oracle *oracle, const OracleRadio *radio, OracleFrame *best, OracleFrame *frame)
{
    if (best == NULL)
        return frame;
    double power = oracle_power_mw(oracle, frame, radio);
    double best_power = oracle_power_mw(oracle, best, radio);
    oracle_note_closeness(oracle, power, best_power);
    return power > best_power && !oracle_are_equal(power, best_power) ? frame : best;
}

static bool
can_be_locked(Oracle *oracle, OracleRadio *radio, OracleFrame *frame)
{
    const OracleHearing *hearing = hearing_of(oracle, frame, radio);
    return hearing->is_audible && !hearing->was_captured && !hearing->is_gone &&
           frame->critical_ns >= oracle->now_ns && oracle_survives(oracle, frame, radio, false);
}

void
oracle_look_for_frames(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        OracleFrame *best = NULL;
        if (!is_listening(oracle, radio))
            continue;
        for (guint i = 0; i < oracle->frames->len; i++)
            if (can_be_locked(oracle, radio, frame_at(oracle, i)))
                best = stronger(oracle, radio, best, frame_at(oracle, i));
        if (best != NULL)
            lock(oracle, radio, best);
    }
}

/* ---- capture: rule 2 ------------------------------------------------------------------------- */

/* Of those that begin now. */
static OracleFrame *
find_captor(Oracle *oracle, OracleRadio *radio)
{
    OracleFrame *best = NULL;
    for (guint i = 0; i < oracle->frames->len; i++) {
        OracleFrame *frame = frame_at(oracle, i);
        if (frame->start_ns == oracle->now_ns && hearing_of(oracle, frame, radio)->is_audible &&
            oracle_survives(oracle, frame, radio, false))
            best = stronger(oracle, radio, best, frame);
    }
    return best;
}

static void
capture(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        OracleFrame *first = radio->locked;
        if (first == NULL || first->start_ns == oracle->now_ns ||
            first->header_ns <= oracle->now_ns)
            continue;
        OracleFrame *captor = find_captor(oracle, radio);
        if (captor == NULL)
            continue;
        OracleHearing *hearing = hearing_of(oracle, first, radio);
        hearing->was_captured = true;
        hearing->disturber = captor; /* whatever had disturbed it before */
        lock(oracle, radio, captor);
    }
}

/* ---- critical parts: rules 3 and 7 ----------------------------------------------------------- */

static void
test_frame(Oracle *oracle, OracleRadio *radio, OracleFrame *frame)
{
    OracleHearing *hearing = hearing_of(oracle, frame, radio);
    if (oracle_survives(oracle, frame, radio, false))
        return;
    if (!hearing->has_failed)
        hearing->disturber = oracle_find_disturber(oracle, frame, radio);
    hearing->has_failed = true;
    if (!oracle_survives(oracle, frame, radio, true))
        hearing->passes_alone = false;
}

/* Locked frames in their critical part. */
static void
test_locked(Oracle *oracle)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleFrame *frame = oracle->radios[r].locked;
        if (frame != NULL && frame->critical_ns <= oracle->now_ns)
            test_frame(oracle, &oracle->radios[r], frame);
    }
}

/* What the radio does when the critical part begins is what becomes of a frame it never locks. */
static void
note_state(Oracle *oracle, OracleRadio *radio, OracleFrame *frame)
{
    OracleHearing *hearing = hearing_of(oracle, frame, radio);
    if (is_off(oracle, radio))
        hearing->is_gone = true;
    if (!hearing->is_audible || hearing->was_locked || hearing->is_gone)
        return;
    if (radio->sending != NULL) {
        hearing->at_critical = HISTORY_LOST_SENDING;
    } else if (radio->locked != NULL) {
        hearing->at_critical = HISTORY_LOST_BUSY;
        hearing->disturber = radio->locked;
    } else if (oracle_is_asleep(oracle, radio)) {
        hearing->at_critical = HISTORY_LOST_ASLEEP;
    } else {
        hearing->at_critical = HISTORY_LOST_COLLISION;
        hearing->passes_alone = true;
        test_frame(oracle, radio, frame);
    }
}

static void
note_states(Oracle *oracle, bool of_starting)
{
    for (guint i = 0; i < oracle->frames->len; i++) {
        OracleFrame *frame = frame_at(oracle, i);
        if (frame->critical_ns != oracle->now_ns || frame->sending == NULL ||
            (frame->start_ns == oracle->now_ns) != of_starting)
            continue;
        for (uint32_t r = 0; r < oracle->n_radios; r++)
            note_state(oracle, &oracle->radios[r], frame);
    }
}

void
oracle_begin_critical_parts(Oracle *oracle)
{
    oracle_look_for_frames(oracle);
    note_states(oracle, false);
    test_locked(oracle);
}

void
oracle_heed_starts(Oracle *oracle)
{
    capture(oracle);
    oracle_look_for_frames(oracle);
    note_states(oracle, true);
    test_locked(oracle);
}

/* ---- ends ------------------------------------------------------------------------------------ */

static HistoryFate
fate_at(const OracleHearing *hearing, bool is_locked)
{
    HistoryFate fate = {HISTORY_INAUDIBLE, HISTORY_NOBODY, HISTORY_NOBODY};
    if (!hearing->is_audible || hearing->is_gone)
        return fate;
    if (is_locked && !hearing->has_failed) {
        fate.outcome = HISTORY_RECEIVED;
        return fate;
    }
    fate.outcome = hearing->was_locked ? HISTORY_LOST_COLLISION : hearing->at_critical;
    if (fate.outcome == HISTORY_LOST_COLLISION && hearing->has_failed && hearing->passes_alone &&
        !hearing->was_captured)
        fate.outcome = HISTORY_LOST_BLOCKED;
    if (hearing->disturber != NULL) {
        fate.disturber_node = hearing->disturber->node;
        fate.disturber_bearer = hearing->disturber->bearer;
    }
    return fate;
}

static void
tell(Oracle *oracle, const OracleFrame *frame)
{
    HistoryFrame *told = history_add_frame(oracle->history);
    told->message = frame->sending->message->name;
    told->node = frame->node;
    told->bearer = frame->bearer;
    told->hops = frame->sending->hops;
    told->start_ns = frame->start_ns;
    told->end_ns = frame->end_ns;
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        const OracleRadio *radio = &oracle->radios[r];
        if (radio->bearer == frame->bearer && radio->node != frame->node)
            told->fates[radio->node] = fate_at(&frame->hearings[r], radio->locked == frame);
    }
}

/* Off the air, all of the instant, before any radio looks. */
static GPtrArray *
take_ended(Oracle *oracle)
{
    GPtrArray *ended = g_ptr_array_new();
    for (guint i = 0; i < oracle->frames->len;) {
        OracleFrame *frame = frame_at(oracle, i);
        if (frame->end_ns > oracle->now_ns) {
            i++;
            continue;
        }
        g_ptr_array_remove_index(oracle->frames, i);
        g_ptr_array_add(oracle->gone, frame);
        g_ptr_array_add(ended, frame);
    }
    return ended;
}

static void
release_sender(Oracle *oracle, const OracleFrame *frame)
{
    OracleRadio *sender = &oracle->radios[frame->radio];
    OracleSpan span = {frame->start_ns, frame->end_ns};
    sender->sending = NULL;
    frame->sending->stage = ORACLE_OVER;
    frame->sending->over_ns = oracle->now_ns;
    g_array_append_val(sender->sent, span);
}

/* Who received the frame, in the order of the radios. */
static void
release_receivers(Oracle *oracle, const OracleFrame *frame, const OracleFrame **received)
{
    for (uint32_t r = 0; r < oracle->n_radios; r++) {
        OracleRadio *radio = &oracle->radios[r];
        if (radio->locked != frame)
            continue;
        OracleSpan span = {radio->locked_ns, oracle->now_ns};
        g_array_append_val(radio->locks, span);
        radio->locked = NULL;
        radio->unlocked_ns = oracle->now_ns;
        if (!frame->hearings[r].has_failed)
            received[r] = frame;
    }
}

/* By nodes; at one node in the order of the offers, then of the bearers. */
static void
hand_over(Oracle *oracle, const OracleFrame **received)
{
    for (;;) {
        uint32_t next = oracle->n_radios;
        for (uint32_t r = 0; r < oracle->n_radios; r++)
            if (received[r] != NULL &&
                (next == oracle->n_radios || (oracle->radios[r].node == oracle->radios[next].node &&
                                              received[r]->sending->message->number <
                                                  received[next]->sending->message->number)))
                next = r;
        if (next == oracle->n_radios)
            return;
        const OracleFrame *frame = received[next];
        received[next] = NULL;
        oracle_arrive(oracle, &oracle->radios[next], frame);
    }
}

void
oracle_end_frames(Oracle *oracle)
{
    g_autoptr(GPtrArray) ended = take_ended(oracle);
    g_autofree const OracleFrame **received = g_new0(const OracleFrame *, oracle->n_radios);
    for (guint i = 0; i < ended->len; i++) {
        const OracleFrame *frame = g_ptr_array_index(ended, i);
        if (frame->sending == NULL)
            continue;
        tell(oracle, frame);
        release_sender(oracle, frame);
        release_receivers(oracle, frame, received);
    }
    oracle_look_for_frames(oracle);
    hand_over(oracle, received);
}

/* Ends, and beginnings of critical parts. */
int64_t
oracle_next_on_air_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (guint i = 0; i < oracle->frames->len; i++) {
        const OracleFrame *frame = frame_at(oracle, i);
        next_ns = MIN(next_ns, frame->end_ns);
        if (frame->critical_ns > oracle->now_ns)
            next_ns = MIN(next_ns, frame->critical_ns);
    }
    return next_ns;
}
