/* catalogue.c - the table of measures: what each is called, what it is in and counted by, how it is
 * computed from the counts of a tally */
#include "measure/tally-private.h"

#include "core/time.h"
#include <math.h>
#include <string.h>

static SpateMeasureValue
plain(double value)
{
    return (SpateMeasureValue){.value = value, .count = NAN, .of = NAN};
}

static SpateMeasureValue
share(uint64_t count, uint64_t of)
{
    double value = of > 0 ? (double)count / (double)of : NAN;
    return (SpateMeasureValue){.value = value, .count = (double)count, .of = (double)of};
}

static double
mean(double sum, uint64_t n)
{
    return n > 0 ? sum / (double)n : NAN;
}

/* From the end of the warm-up to the end of the run. */
static double
counted_ns(const SpateTally *tally)
{
    return (double)(tally->end_ns - tally->warm_up_ns);
}

/* Frames and airtime of a row: of a bearer, or of a traffic on one or on all of them. */
static SpateCrossTally
sent_by_row(const SpateTally *tally, const SpateMeasureRow *row)
{
    if (row->traffic < 0) {
        const SpateBearerTally *bearer = &tally->bearers[row->bearer];
        return (SpateCrossTally){bearer->frames, bearer->airtime_ns};
    }
    uint32_t n_bearers = tally->plan->n_bearers;
    const SpateCrossTally *of_traffic = &tally->cross[(uint32_t)row->traffic * n_bearers];
    if (row->bearer >= 0)
        return of_traffic[row->bearer];
    SpateCrossTally sum = {0};
    for (uint32_t i = 0; i < n_bearers; i++) {
        sum.frames += of_traffic[i].frames;
        sum.airtime_ns += of_traffic[i].airtime_ns;
    }
    return sum;
}

/* ---- by traffic ------------------------------------------------------------------------------ */

static SpateTrafficTally *
traffic_of(const SpateTally *tally, const SpateMeasureRow *row)
{
    return &tally->traffics[row->traffic];
}

static SpateMeasureValue
messages(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return plain((double)traffic_of(tally, row)->messages);
}

/* `which` 1: only in time. */
static SpateMeasureValue
delivery(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateTrafficTally *traffic = traffic_of(tally, row);
    uint64_t delivered = which != 0 ? traffic->in_time : traffic->delivered;
    uint64_t pairs = traffic->pairs;
    if (row->to >= 0)
        spate_traffic_tally_to(traffic, (uint32_t)row->to, which != 0, &delivered, &pairs);
    return share(delivered, pairs);
}

static SpateMeasureValue
delivery_worst(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    uint64_t delivered, pairs;
    spate_traffic_tally_worst(traffic_of(tally, row), &delivered, &pairs);
    return share(delivered, pairs);
}

static SpateMeasureValue
latency_mean(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateTrafficTally *traffic = traffic_of(tally, row);
    return plain(mean((double)traffic->latency_sum_ns, traffic->delivered) /
                 (double)SPATE_NS_PER_S);
}

/* `which`: percent that take at most this. */
static SpateMeasureValue
latency(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return plain(spate_traffic_tally_latency_s(traffic_of(tally, row), which / 100.0));
}

static SpateMeasureValue
hops_mean(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateTrafficTally *traffic = traffic_of(tally, row);
    return plain(mean((double)traffic->hops, traffic->delivered));
}

static SpateMeasureValue
acknowledged(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return share(traffic_of(tally, row)->acknowledged, traffic_of(tally, row)->messages);
}

static SpateMeasureValue
tries_mean(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateTrafficTally *traffic = traffic_of(tally, row);
    return plain(mean((double)traffic->tries, traffic->messages));
}

/* ---- by bearer ------------------------------------------------------------------------------- */

static const SpateBearerTally *
bearer_of(const SpateTally *tally, const SpateMeasureRow *row)
{
    return &tally->bearers[row->bearer];
}

static SpateMeasureValue
transmissions(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return plain((double)sent_by_row(tally, row).frames);
}

static SpateMeasureValue
load(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return plain((double)sent_by_row(tally, row).airtime_ns / counted_ns(tally));
}

/* `which` 1: of the busiest radio, not the mean of all. */
static SpateMeasureValue
occupancy(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    double sum = 0.0, largest = NAN;
    uint64_t n = 0;
    for (uint32_t i = 0; i < tally->plan->n_radios; i++) {
        const SpateRadioTally *counts = &tally->radios[i];
        if (tally->plan->radios[i].bearer != (uint32_t)row->bearer)
            continue;
        double busy = (double)(counts->at_end.busy_ns - counts->at_warm_up.busy_ns);
        sum += busy / counted_ns(tally);
        largest = fmax(largest, busy / counted_ns(tally));
        n++;
    }
    return plain(which != 0 ? largest : mean(sum, n));
}

/* Of an hour, or of the time that counts if that is shorter. */
static SpateMeasureValue
duty_max(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    double largest_ns = NAN;
    for (uint32_t i = 0; i < tally->plan->n_radios; i++)
        if (tally->plan->radios[i].bearer == (uint32_t)row->bearer)
            largest_ns = fmax(largest_ns, (double)spate_sliding_hour_most_ns(tally->hour, i));
    return plain(largest_ns / fmin((double)SPATE_NS_PER_HOUR, counted_ns(tally)));
}

static SpateMeasureValue
audible(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return plain((double)bearer_of(tally, row)->audible);
}

static SpateMeasureValue
outcome(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateBearerTally *bearer = bearer_of(tally, row);
    return share(bearer->outcomes[which], bearer->audible);
}

static SpateMeasureValue
redundant(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateBearerTally *bearer = bearer_of(tally, row);
    uint64_t received = bearer->outcomes[SPATE_OUTCOME_RECEIVED];
    return share(received - bearer->first_copies, received);
}

static SpateMeasureValue
dropped(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return plain((double)bearer_of(tally, row)->dropped[which]);
}

/* `which` 1: for a free channel, 0: for the duty cycle. */
static SpateMeasureValue
waited(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateBearerTally *bearer = bearer_of(tally, row);
    int64_t waited_ns = which != 0 ? bearer->waited_access_ns : bearer->waited_duty_ns;
    return plain(mean((double)waited_ns / (double)SPATE_NS_PER_S, bearer->frames));
}

/* ---- by bridge and by node ------------------------------------------------------------------- */

static SpateMeasureValue
held_back(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    return plain(row->bridge >= 0 ? (double)tally->held_back_by_bridge[row->bridge]
                                  : (double)tally->held_back_by_traffic[row->traffic]);
}

/* Mean over the time that counts; what is off uses nothing. */
static double
power_of_radio_w(const SpateTally *tally, uint32_t number)
{
    const SpateRadio *radio = &tally->plan->radios[number];
    const SpateRadioTally *counts = &tally->radios[number];
    double sending = (double)counts->sending_ns / counted_ns(tally);
    double off = (double)(counts->at_end.off_ns - counts->at_warm_up.off_ns) / counted_ns(tally);
    if (!spate_listening_sleeps(&radio->listening))
        return radio->supply_sending_w * sending +
               radio->supply_receiving_w * (1.0 - off - sending);
    double awake =
        (double)(counts->at_end.awake_ns - counts->at_warm_up.awake_ns) / counted_ns(tally);
    return radio->supply_sending_w * sending + radio->supply_receiving_w * (awake - sending) +
           radio->supply_asleep_w * (1.0 - off - awake);
}

/* Of those radios of the node that tell their supply. */
static SpateMeasureValue
radio_energy(const SpateTally *tally, const SpateMeasureRow *row, int which)
{
    const SpateNode *of = &tally->plan->nodes[row->node];
    double mean_w = 0.0;
    for (uint32_t i = of->first_radio; i < of->first_radio + of->n_radios; i++)
        if (spate_radio_has_supply(&tally->plan->radios[i]))
            mean_w += power_of_radio_w(tally, i);
    return plain(mean_w * 24.0 * 1000.0); /* mWh per day */
}

/* ---- the table ------------------------------------------------------------------------------- */

/* Unit, what it can be, and whether it is a share of counted things. */
#define COUNT       SPATE_UNIT_ONE, 0.0, INFINITY, false
#define HOPS        SPATE_UNIT_ONE, 1.0, INFINITY, false
#define SECONDS     SPATE_UNIT_SECONDS, 0.0, INFINITY, false
#define ERLANG      SPATE_UNIT_ERLANG, 0.0, INFINITY, false
#define MWH_PER_DAY SPATE_UNIT_MWH_PER_DAY, 0.0, INFINITY, false
#define RATIO       SPATE_UNIT_RATIO, 0.0, 1.0, false
#define SHARE       SPATE_UNIT_RATIO, 0.0, 1.0, true

/* clang-format off */
#define BY_BEARER            {SPATE_OF_BEARER}
#define BY_NODE              {SPATE_OF_NODE}
#define BY_TRAFFIC           {SPATE_OF_TRAFFIC}
#define BY_BEARER_OR_TRAFFIC {SPATE_OF_BEARER, SPATE_OF_TRAFFIC}
#define BY_BRIDGE_OR_TRAFFIC {SPATE_OF_BRIDGE, SPATE_OF_TRAFFIC}
#define BY_TRAFFIC_ON_BEARER {SPATE_OF_BEARER, SPATE_OF_TRAFFIC, SPATE_OF_TRAFFIC | SPATE_OF_BEARER}
#define BY_RECIPIENT         {SPATE_OF_TRAFFIC, SPATE_OF_TRAFFIC | SPATE_OF_RECIPIENT}

#define ROW(function, which, name, kind, by, needs, meaning) \
    {{name, kind, by, SPATE_NEEDS_##needs, meaning}, function, which}

typedef struct {
    SpateMeasureInfo info;
    SpateMeasureValue (*value)(const SpateTally *tally, const SpateMeasureRow *row, int which);
    int which; /* for values that differ in it: an outcome, a reason, a percentile, a flag */
} Measure;

static const Measure MEASURES[SPATE_N_MEASURES] = {
    [SPATE_MEASURE_MESSAGES] = ROW(messages, 0,
        "messages", COUNT, BY_TRAFFIC, NOTHING,
        "messages offered"),
    [SPATE_MEASURE_DELIVERY] = ROW(delivery, false,
        "delivery", SHARE, BY_RECIPIENT, PAIRS,
        "of the pairs (message, recipient): delivered"),
    [SPATE_MEASURE_DELIVERY_IN_TIME] = ROW(delivery, true,
        "delivery-in-time", SHARE, BY_RECIPIENT, DEADLINE,
        "of the pairs: delivered within the traffic's deadline"),
    [SPATE_MEASURE_DELIVERY_WORST] = ROW(delivery_worst, 0,
        "delivery-worst", SHARE, BY_TRAFFIC, PAIRS,
        "the same share at the recipient with the smallest one"),
    [SPATE_MEASURE_LATENCY_MEAN] = ROW(latency_mean, 0,
        "latency-mean", SECONDS, BY_TRAFFIC, PAIRS,
        "from the offer to the first delivery: mean"),
    [SPATE_MEASURE_LATENCY_P50] = ROW(latency, 50,
        "latency-p50", SECONDS, BY_TRAFFIC, PAIRS,
        "from the offer to the first delivery: median"),
    [SPATE_MEASURE_LATENCY_P95] = ROW(latency, 95,
        "latency-p95", SECONDS, BY_TRAFFIC, PAIRS,
        "from the offer to the first delivery: 95 % take at most this"),
    [SPATE_MEASURE_LATENCY_P99] = ROW(latency, 99,
        "latency-p99", SECONDS, BY_TRAFFIC, PAIRS,
        "from the offer to the first delivery: 99 % take at most this"),
    [SPATE_MEASURE_LATENCY_MAX] = ROW(latency, 100,
        "latency-max", SECONDS, BY_TRAFFIC, PAIRS,
        "from the offer to the first delivery: longest"),
    [SPATE_MEASURE_HOPS_MEAN] = ROW(hops_mean, 0,
        "hops-mean", HOPS, BY_TRAFFIC, PAIRS,
        "transmissions on the way of the first delivery (direct is 1)"),
    [SPATE_MEASURE_ACKNOWLEDGED] = ROW(acknowledged, 0,
        "acknowledged", SHARE, BY_TRAFFIC, ANSWERS,
        "of the messages: an acknowledgement came back"),
    [SPATE_MEASURE_TRIES_MEAN] = ROW(tries_mean, 0,
        "tries-mean", COUNT, BY_TRAFFIC, ANSWERS,
        "tries for each message, the first included"),
    [SPATE_MEASURE_TRANSMISSIONS] = ROW(transmissions, 0,
        "transmissions", COUNT, BY_BEARER_OR_TRAFFIC, NOTHING,
        "frames sent"),
    [SPATE_MEASURE_LOAD] = ROW(load, 0,
        "load", ERLANG, BY_TRAFFIC_ON_BEARER, NOTHING,
        "time on air of all frames / simulated time, over the whole mesh"),
    [SPATE_MEASURE_OCCUPANCY] = ROW(occupancy, false,
        "occupancy", RATIO, BY_BEARER, NOTHING,
        "share of time in which a radio hears or sends a frame: mean over radios"),
    [SPATE_MEASURE_OCCUPANCY_MAX] = ROW(occupancy, true,
        "occupancy-max", RATIO, BY_BEARER, NOTHING,
        "share of time in which the busiest radio hears or sends a frame"),
    [SPATE_MEASURE_DUTY_MAX] = ROW(duty_max, 0,
        "duty-max", RATIO, BY_BEARER, NOTHING,
        "largest share of any hour (of the run, if shorter) that one radio sends"),
    [SPATE_MEASURE_AUDIBLE] = ROW(audible, 0,
        "audible", COUNT, BY_BEARER, NOTHING,
        "audible frames, counted at each receiver"),
    [SPATE_MEASURE_RECEIVED] = ROW(outcome, SPATE_OUTCOME_RECEIVED,
        "received", SHARE, BY_BEARER, NOTHING,
        "of the audible: decoded"),
    [SPATE_MEASURE_LOST_COLLISION] = ROW(outcome, SPATE_OUTCOME_LOST_COLLISION,
        "lost-collision", SHARE, BY_BEARER, NOTHING,
        "of the audible: broken by interference, or never locked on because of it"),
    [SPATE_MEASURE_LOST_BUSY] = ROW(outcome, SPATE_OUTCOME_LOST_BUSY,
        "lost-busy", SHARE, BY_BEARER, NOTHING,
        "of the audible: the radio was locked on another frame"),
    [SPATE_MEASURE_LOST_SENDING] = ROW(outcome, SPATE_OUTCOME_LOST_SENDING,
        "lost-sending", SHARE, BY_BEARER, NOTHING,
        "of the audible: the radio was sending (half duplex)"),
    [SPATE_MEASURE_LOST_BLOCKED] = ROW(outcome, SPATE_OUTCOME_LOST_BLOCKED,
        "lost-blocked", SHARE, BY_BEARER, NOTHING,
        "of the audible: another radio of the node was sending, too little isolated"),
    [SPATE_MEASURE_LOST_ASLEEP] = ROW(outcome, SPATE_OUTCOME_LOST_ASLEEP,
        "lost-asleep", SHARE, BY_BEARER, SLEEPERS,
        "of the audible: the radio was asleep (bearers with a radio that `listens`)"),
    [SPATE_MEASURE_REDUNDANT] = ROW(redundant, 0,
        "redundant", SHARE, BY_BEARER, NOTHING,
        "of the received: the message was already known"),
    [SPATE_MEASURE_DROPPED_QUEUE] = ROW(dropped, SPATE_DROP_QUEUE,
        "dropped-queue", COUNT, BY_BEARER, NOTHING,
        "frames not sent: the queue was full"),
    [SPATE_MEASURE_DROPPED_EXPIRED] = ROW(dropped, SPATE_DROP_EXPIRED,
        "dropped-expired", COUNT, BY_BEARER, NOTHING,
        "frames not sent: waited longer than expire"),
    [SPATE_MEASURE_DROPPED_SIZE] = ROW(dropped, SPATE_DROP_SIZE,
        "dropped-size", COUNT, BY_BEARER, NOTHING,
        "frames not sent: longer than largest-frame"),
    [SPATE_MEASURE_DROPPED_OUTAGE] = ROW(dropped, SPATE_DROP_OUTAGE,
        "dropped-outage", COUNT, BY_BEARER, OUTAGES,
        "frames not sent: the node went down while they waited"),
    [SPATE_MEASURE_WAITED_DUTY] = ROW(waited, false,
        "waited-duty", SECONDS, BY_BEARER, NOTHING,
        "mean wait of a sent frame, at the head of its queue, for the duty cycle"),
    [SPATE_MEASURE_WAITED_ACCESS] = ROW(waited, true,
        "waited-access", SECONDS, BY_BEARER, NOTHING,
        "mean wait of a sent frame, at the head of its queue, for a free channel"),
    [SPATE_MEASURE_HELD_BACK] = ROW(held_back, 0,
        "held-back", COUNT, BY_BRIDGE_OR_TRAFFIC, BRIDGES,
        "messages that a crossing did not let across"),
    [SPATE_MEASURE_RADIO_ENERGY] = ROW(radio_energy, 0,
        "radio-energy", MWH_PER_DAY, BY_NODE, SUPPLY,
        "energy that a node's radios use (nodes with a supply)"),
};
/* clang-format on */

const SpateMeasureInfo *
spate_measure_info(SpateMeasure measure)
{
    g_assert(measure >= 0 && measure < SPATE_N_MEASURES);
    return &MEASURES[measure].info;
}

const SpateMeasureInfo *
spate_measure_find(const char *name)
{
    for (int i = 0; i < SPATE_N_MEASURES; i++)
        if (strcmp(MEASURES[i].info.name, name) == 0)
            return &MEASURES[i].info;
    return NULL;
}

SpateMeasureValue
spate_tally_value(const SpateTally *tally, const SpateMeasureRow *row)
{
    const Measure *measure = &MEASURES[row->measure];
    return measure->value(tally, row, measure->which);
}
