/* oracle-sleep.c - radios that sleep: when they are awake (docs/model.md, Radios that sleep)
 */
#include "oracle/oracle-private.h"

static const SpateListening *
listening_of(const OracleRadio *radio)
{
    return &radio->settings->listening;
}

static bool
sleeps(const OracleRadio *radio)
{
    return listening_of(radio)->every_ns != 0;
}

int64_t
oracle_phase_ns(const Oracle *oracle, const OracleRadio *radio)
{
    SpateRandom draws =
        spate_random_stream(oracle_key(oracle, SPATE_FOR_LISTENING, true),
                            spate_hash_combine(radio->node_hash, radio->bearer_hash));
    bool is_drawn = sleeps(radio) && listening_of(radio)->phase == SPATE_PHASE_RANDOM;
    return is_drawn ? (int64_t)spate_random_below(&draws, (uint64_t)listening_of(radio)->every_ns)
                    : 0;
}

/* When the last window that has begun by then began; -1: none has. */
static int64_t
window_before_ns(const OracleRadio *radio, int64_t at_ns)
{
    if (at_ns < radio->phase_ns)
        return -1;
    int64_t n = (at_ns - radio->phase_ns) / listening_of(radio)->every_ns;
    return radio->phase_ns + n * listening_of(radio)->every_ns;
}

static int64_t
window_after_ns(const OracleRadio *radio, int64_t at_ns)
{
    int64_t before_ns = window_before_ns(radio, at_ns);
    return before_ns < 0 ? radio->phase_ns : before_ns + listening_of(radio)->every_ns;
}

static bool
is_in_window(const OracleRadio *radio, int64_t at_ns)
{
    int64_t begin_ns = window_before_ns(radio, at_ns);
    return begin_ns >= 0 && at_ns < begin_ns + listening_of(radio)->for_ns;
}

static bool
is_within(const GArray *spans, int64_t at_ns, int64_t longer_ns)
{
    for (guint i = 0; i < spans->len; i++) {
        OracleSpan span = g_array_index(spans, OracleSpan, i);
        if (at_ns >= span.from_ns && at_ns < span.to_ns + longer_ns)
            return true;
    }
    return false;
}

bool
oracle_is_asleep(const Oracle *oracle, const OracleRadio *radio)
{
    return sleeps(radio) && radio->sending == NULL && radio->locked == NULL &&
           !is_in_window(radio, oracle->now_ns) &&
           !is_within(radio->sent, oracle->now_ns, listening_of(radio)->after_sending_ns);
}

/* The same of the past. */
static bool
was_awake(const OracleRadio *radio, int64_t at_ns)
{
    return is_in_window(radio, at_ns) || is_within(radio->locks, at_ns, 0) ||
           is_within(radio->sent, at_ns, listening_of(radio)->after_sending_ns) ||
           (radio->sending != NULL && at_ns >= radio->sending->start_ns) ||
           (radio->locked != NULL && at_ns >= radio->locked_ns);
}

static int64_t
first_edge_after_ns(const GArray *spans, int64_t at_ns, int64_t longer_ns, int64_t first_ns)
{
    for (guint i = 0; i < spans->len; i++) {
        OracleSpan span = g_array_index(spans, OracleSpan, i);
        if (span.from_ns > at_ns)
            first_ns = MIN(first_ns, span.from_ns);
        if (span.to_ns + longer_ns > at_ns)
            first_ns = MIN(first_ns, span.to_ns + longer_ns);
    }
    return first_ns;
}

/* Up to when it stays as it was then. */
static int64_t
edge_after_ns(const OracleRadio *radio, int64_t at_ns)
{
    int64_t edge_ns = window_after_ns(radio, at_ns), begin_ns = window_before_ns(radio, at_ns);
    if (is_in_window(radio, at_ns))
        edge_ns = MIN(edge_ns, begin_ns + listening_of(radio)->for_ns);
    edge_ns = first_edge_after_ns(radio->locks, at_ns, 0, edge_ns);
    edge_ns =
        first_edge_after_ns(radio->sent, at_ns, listening_of(radio)->after_sending_ns, edge_ns);
    if (radio->sending != NULL && radio->sending->start_ns > at_ns)
        edge_ns = MIN(edge_ns, radio->sending->start_ns);
    if (radio->locked != NULL && radio->locked_ns > at_ns)
        edge_ns = MIN(edge_ns, radio->locked_ns);
    return edge_ns;
}

int64_t
oracle_awake_ns(const OracleRadio *radio, int64_t from_ns, int64_t to_ns)
{
    if (!sleeps(radio))
        return MAX(to_ns - from_ns, 0);
    int64_t awake_ns = 0;
    while (from_ns < to_ns) {
        int64_t edge_ns = MIN(edge_after_ns(radio, from_ns), to_ns);
        awake_ns += was_awake(radio, from_ns) ? edge_ns - from_ns : 0;
        from_ns = edge_ns;
    }
    return awake_ns;
}

void
oracle_begin_windows(Oracle *oracle)
{
    oracle_look_for_frames(oracle);
}

/* Of no interest while the air is empty. */
int64_t
oracle_next_window_ns(const Oracle *oracle)
{
    int64_t next_ns = SPATE_NEVER_NS;
    for (uint32_t r = 0; r < oracle->n_radios && oracle->frames->len > 0; r++)
        if (sleeps(&oracle->radios[r]))
            next_ns = MIN(next_ns, window_after_ns(&oracle->radios[r], oracle->now_ns));
    return next_ns;
}
