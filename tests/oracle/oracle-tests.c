/* oracle-tests.c - whether a frame survives what else is on the air (docs/model.md, A frame at a
 * receiver, rules 3, 4 and 6)
 */
#include "oracle/oracle-private.h"

#include <math.h>

/* What a receiver takes in counts for so much above its sensitivity at most, fading apart. */
#define LOUDEST 0x1p44

static double
taken_in_mw(const OracleFrame *frame, double share, const Oracle *oracle, const OracleRadio *at)
{
    uint32_t to = (uint32_t)(at - oracle->radios);
    double most_mw = at->sensitivity_mw * LOUDEST;
    return fmin(frame->median_mw[to] * share, most_mw) * frame->fading[to];
}

static OracleInterference
interference_of(const Oracle *oracle, const OracleFrame *frame, const OracleRadio *at)
{
    const SpateBearer *wanted = oracle_bearer(oracle, at->bearer);
    const SpateBearer *other = oracle_bearer(oracle, frame->bearer);
    return frame->sending == NULL ? oracle_ambient_interference(wanted, other)
                                  : oracle_interference(wanted, other);
}

/* An interferer that is shorter than a symbol of the wanted frame counts by that share. */
static double
share_of_symbol(const OracleFrame *frame, const SpateBearer *wanted)
{
    return fmin((double)(frame->end_ns - frame->start_ns) / oracle_symbol_ns(wanted), 1.0);
}

/* (I / S) theta. */
static double
share_of(const Oracle *oracle, const OracleFrame *other, const OracleFrame *frame,
         const OracleRadio *at)
{
    OracleInterference interference = interference_of(oracle, other, at);
    return taken_in_mw(other, interference.share, oracle, at) / oracle_power_mw(oracle, frame, at) *
           interference.protection * share_of_symbol(other, oracle_bearer(oracle, at->bearer));
}

bool
oracle_survives(Oracle *oracle, const OracleFrame *frame, const OracleRadio *at, bool without_own)
{
    double sum = at->noise_mw / oracle_power_mw(oracle, frame, at) * at->required_snr;
    for (guint i = 0; i < oracle->frames->len; i++) {
        const OracleFrame *other = g_ptr_array_index(oracle->frames, i);
        if (other != frame && !(without_own && other->node == at->node))
            sum += share_of(oracle, other, frame, at);
    }
    oracle_note_threshold(oracle, sum, 1.0);
    return sum <= 1.0;
}

/* In the order of the alphabet: nodes, their bearers, at last the ambient sources. */
static bool
comes_before(const OracleFrame *a, const OracleFrame *b)
{
    return a->node != b->node ? a->node < b->node : a->bearer < b->bearer;
}

/* Equal by their figures, not by chance: of one level and one protection ratio.  What came through
 * the isolation of a mast and what came over a path are worked out in ways of their own, so they
 * differ in their last digits even where the figures say the same. */
static bool
are_alike(const Oracle *oracle, const OracleFrame *a, const OracleFrame *b, const OracleRadio *at)
{
    OracleInterference of_a = interference_of(oracle, a, at), of_b = interference_of(oracle, b, at);
    return (a->node == at->node) == (b->node == at->node) &&
           oracle_are_equal(oracle_power_mw(oracle, a, at), oracle_power_mw(oracle, b, at)) &&
           oracle_are_equal(of_a.share, of_b.share) &&
           oracle_are_equal(of_a.protection, of_b.protection);
}

const OracleFrame *
oracle_find_disturber(Oracle *oracle, const OracleFrame *frame, const OracleRadio *at)
{
    const OracleFrame *best = NULL;
    double largest = 0.0;
    for (guint i = 0; i < oracle->frames->len; i++) {
        const OracleFrame *other = g_ptr_array_index(oracle->frames, i);
        double share = other != frame ? share_of(oracle, other, frame, at) : 0.0;
        if (!(share > 0.0))
            continue;
        if (best != NULL && !are_alike(oracle, best, other, at))
            oracle_note_threshold(oracle, share, largest);
        bool is_equal = oracle_are_equal(share, largest);
        if (is_equal ? comes_before(other, best) : share > largest)
            best = other;
        largest = fmax(share, largest);
    }
    return best;
}

double
oracle_power_mw(const Oracle *oracle, const OracleFrame *frame, const OracleRadio *at)
{
    return taken_in_mw(frame, 1.0, oracle, at);
}

double
oracle_power_in_channel_mw(const Oracle *oracle, const OracleFrame *frame, const OracleRadio *at)
{
    return taken_in_mw(frame, interference_of(oracle, frame, at).share, oracle, at);
}

/* ---- what a frame brings along --------------------------------------------------------------- */

/* Between radios of one node there is nothing but the isolation. */
static void
reach(const Oracle *oracle, OracleFrame *frame, uint64_t sender_hash, const double *levels_dbm)
{
    for (uint32_t to = 0; to < oracle->n_radios; to++) {
        const OracleRadio *at = &oracle->radios[to];
        frame->median_mw[to] = pow(10.0, levels_dbm[to] / 10.0);
        frame->fading[to] = frame->node == at->node ? 1.0
                                                    : oracle_fading(oracle, frame->identity,
                                                                    sender_hash, frame->bearer, at);
    }
}

static OracleFrame *
put_on_air(Oracle *oracle, uint32_t bearer, int64_t airtime_ns, uint64_t identity)
{
    OracleFrame *frame = g_new0(OracleFrame, 1);
    const SpateBearer *settings = oracle_bearer(oracle, bearer);
    frame->bearer = bearer;
    frame->identity = identity;
    frame->start_ns = oracle->now_ns;
    frame->critical_ns = oracle->now_ns + oracle_critical_ns(settings);
    frame->header_ns = oracle->now_ns + oracle_header_ns(settings);
    frame->end_ns = oracle->now_ns + airtime_ns;
    frame->median_mw = g_new0(double, oracle->n_radios);
    frame->fading = g_new0(double, oracle->n_radios);
    frame->hearings = g_new0(OracleHearing, oracle->n_radios);
    g_ptr_array_add(oracle->frames, frame);
    return frame;
}

void
oracle_begin_frame(Oracle *oracle, OracleSending *sending)
{
    uint32_t n = oracle->n_radios, from = sending->radio;
    OracleRadio *sender = &oracle->radios[from];
    OracleFrame *frame = put_on_air(oracle, sender->bearer, sending->airtime_ns, sending->identity);
    frame->sending = sending;
    frame->radio = from;
    frame->node = sender->node;
    sender->sending = frame;
    reach(oracle, frame, sender->node_hash, &oracle->link_dbm[from * n]);
    for (uint32_t to = 0; to < n; to++) {
        const OracleRadio *at = &oracle->radios[to];
        if (at->bearer != sender->bearer || to == from)
            continue;
        double power_mw = oracle_power_mw(oracle, frame, at);
        frame->hearings[to].is_audible = power_mw >= at->sensitivity_mw;
        oracle_note_threshold(oracle, power_mw, at->sensitivity_mw);
    }
}

void
oracle_begin_burst(Oracle *oracle, uint32_t source, int64_t airtime_ns, uint64_t identity)
{
    uint32_t n = oracle->n_radios;
    OracleFrame *burst =
        put_on_air(oracle, oracle->scenario->ambient[source].bearer, airtime_ns, identity);
    burst->radio = HISTORY_NOBODY;
    burst->node = oracle->scenario->n_nodes + source;
    reach(oracle, burst, oracle_ambient_hash(oracle, source), &oracle->ambient_dbm[source * n]);
}

void
oracle_frame_free(gpointer item)
{
    OracleFrame *frame = item;
    g_free(frame->median_mw);
    g_free(frame->fading);
    g_free(frame->hearings);
    g_free(frame);
}
