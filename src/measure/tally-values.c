/* tally-values.c - from counts to measures */
#include "measure/tally-private.h"

#include "core/time.h"
#include <math.h>

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

static double
occupancy(const SpateTally *tally, uint32_t radio)
{
    const SpateRadioTally *counts = &tally->radios[radio];
    return (double)(counts->busy_at_end_ns - counts->busy_at_warm_up_ns) / counted_ns(tally);
}

/* Of an hour, or of the time that counts if that is shorter. */
static double
duty(const SpateTally *tally, uint32_t radio)
{
    return (double)spate_sliding_hour_most_ns(tally->hour, radio) /
           fmin((double)SPATE_NS_PER_HOUR, counted_ns(tally));
}

typedef double (*RadioValueFunc)(const SpateTally *tally, uint32_t radio);

static double
largest_of_bearer(const SpateTally *tally, uint32_t bearer, RadioValueFunc value)
{
    double largest = NAN;
    for (uint32_t i = 0; i < tally->plan->n_radios; i++)
        if (tally->plan->radios[i].bearer == bearer)
            largest = fmax(largest, value(tally, i));
    return largest;
}

static double
mean_of_bearer(const SpateTally *tally, uint32_t bearer, RadioValueFunc value)
{
    double sum = 0.0;
    uint64_t n = 0;
    for (uint32_t i = 0; i < tally->plan->n_radios; i++) {
        if (tally->plan->radios[i].bearer == bearer) {
            sum += value(tally, i);
            n++;
        }
    }
    return mean(sum, n);
}

/* Of those radios of the node that tell their supply. */
static double
energy_mwh_per_day(const SpateTally *tally, uint32_t node)
{
    const SpateNode *of = &tally->plan->nodes[node];
    double mean_w = 0.0;
    for (uint32_t i = of->first_radio; i < of->first_radio + of->n_radios; i++) {
        const SpateRadio *radio = &tally->plan->radios[i];
        if (!spate_radio_has_supply(radio))
            continue;
        double sending = (double)tally->radios[i].sending_ns / counted_ns(tally);
        mean_w += radio->supply_sending_w * sending + radio->supply_receiving_w * (1.0 - sending);
    }
    return mean_w * 24.0 * 1000.0;
}

static SpateMeasureValue
traffic_value(SpateTrafficTally *traffic, SpateMeasure measure)
{
    static const double PERCENTILES[SPATE_N_MEASURES] = {
        [SPATE_MEASURE_LATENCY_P50] = 0.50,
        [SPATE_MEASURE_LATENCY_P95] = 0.95,
        [SPATE_MEASURE_LATENCY_P99] = 0.99,
        [SPATE_MEASURE_LATENCY_MAX] = 1.0,
    };
    if (measure == SPATE_MEASURE_MESSAGES)
        return plain((double)traffic->messages);
    if (measure == SPATE_MEASURE_DELIVERY)
        return share(traffic->delivered, traffic->pairs);
    if (measure == SPATE_MEASURE_DELIVERY_IN_TIME)
        return share(traffic->in_time, traffic->pairs);
    if (measure == SPATE_MEASURE_DELIVERY_WORST) {
        uint64_t delivered, pairs;
        spate_traffic_tally_worst(traffic, &delivered, &pairs);
        return share(delivered, pairs);
    }
    if (measure == SPATE_MEASURE_LATENCY_MEAN)
        return plain(spate_traffic_tally_latency_mean_s(traffic));
    if (measure == SPATE_MEASURE_HOPS_MEAN)
        return plain(mean((double)traffic->hops, traffic->delivered));
    g_assert(PERCENTILES[measure] > 0.0);
    return plain(spate_traffic_tally_latency_s(traffic, PERCENTILES[measure]));
}

static SpateMeasureValue
value_of_recipient(const SpateTrafficTally *traffic, const SpateMeasureRow *row)
{
    uint64_t delivered, pairs;
    spate_traffic_tally_to(traffic, (uint32_t)row->to,
                           row->measure == SPATE_MEASURE_DELIVERY_IN_TIME, &delivered, &pairs);
    return share(delivered, pairs);
}

static SpateMeasureValue
held_back_value(const SpateTally *tally, const SpateMeasureRow *row)
{
    return plain(row->bridge >= 0 ? (double)tally->held_back_by_bridge[row->bridge]
                                  : (double)tally->held_back_by_traffic[row->traffic]);
}

static SpateMeasureValue
waited(int64_t waited_ns, uint64_t frames)
{
    return plain(mean((double)waited_ns / (double)SPATE_NS_PER_S, frames));
}

/* One line or two for each measure; longer than other functions because there are so many. */
SpateMeasureValue
spate_tally_value(SpateTally *tally, const SpateMeasureRow *row)
{
    /* Not looked at where the row is not one of a bearer. */
    const SpateBearerTally *bearer = &tally->bearers[MAX(row->bearer, 0)];
    switch (row->measure) {
    case SPATE_MEASURE_MESSAGES:
    case SPATE_MEASURE_DELIVERY:
    case SPATE_MEASURE_DELIVERY_IN_TIME:
    case SPATE_MEASURE_DELIVERY_WORST:
    case SPATE_MEASURE_LATENCY_MEAN:
    case SPATE_MEASURE_LATENCY_P50:
    case SPATE_MEASURE_LATENCY_P95:
    case SPATE_MEASURE_LATENCY_P99:
    case SPATE_MEASURE_LATENCY_MAX:
    case SPATE_MEASURE_HOPS_MEAN:
        return row->to >= 0 ? value_of_recipient(&tally->traffics[row->traffic], row)
                            : traffic_value(&tally->traffics[row->traffic], row->measure);
    case SPATE_MEASURE_TRANSMISSIONS:
        return plain((double)sent_by_row(tally, row).frames);
    case SPATE_MEASURE_LOAD:
        return plain((double)sent_by_row(tally, row).airtime_ns / counted_ns(tally));
    case SPATE_MEASURE_OCCUPANCY:
        return plain(mean_of_bearer(tally, (uint32_t)row->bearer, occupancy));
    case SPATE_MEASURE_OCCUPANCY_MAX:
        return plain(largest_of_bearer(tally, (uint32_t)row->bearer, occupancy));
    case SPATE_MEASURE_DUTY_MAX:
        return plain(largest_of_bearer(tally, (uint32_t)row->bearer, duty));
    case SPATE_MEASURE_AUDIBLE:
        return plain((double)bearer->audible);
    case SPATE_MEASURE_RECEIVED:
        return share(bearer->outcomes[SPATE_RECEPTION_RECEIVED], bearer->audible);
    case SPATE_MEASURE_LOST_COLLISION:
        return share(bearer->outcomes[SPATE_RECEPTION_LOST_COLLISION], bearer->audible);
    case SPATE_MEASURE_LOST_BUSY:
        return share(bearer->outcomes[SPATE_RECEPTION_LOST_BUSY], bearer->audible);
    case SPATE_MEASURE_LOST_SENDING:
        return share(bearer->outcomes[SPATE_RECEPTION_LOST_SENDING], bearer->audible);
    case SPATE_MEASURE_LOST_BLOCKED:
        return share(bearer->outcomes[SPATE_RECEPTION_LOST_BLOCKED], bearer->audible);
    case SPATE_MEASURE_REDUNDANT:
        return share(bearer->redundant, bearer->outcomes[SPATE_RECEPTION_RECEIVED]);
    case SPATE_MEASURE_DROPPED_QUEUE:
        return plain((double)bearer->dropped[SPATE_DROP_QUEUE]);
    case SPATE_MEASURE_DROPPED_EXPIRED:
        return plain((double)bearer->dropped[SPATE_DROP_EXPIRED]);
    case SPATE_MEASURE_DROPPED_SIZE:
        return plain((double)bearer->dropped[SPATE_DROP_SIZE]);
    case SPATE_MEASURE_WAITED_DUTY:
        return waited(bearer->waited_duty_ns, bearer->frames);
    case SPATE_MEASURE_WAITED_ACCESS:
        return waited(bearer->waited_access_ns, bearer->frames);
    case SPATE_MEASURE_HELD_BACK:
        return held_back_value(tally, row);
    case SPATE_MEASURE_RADIO_ENERGY:
        return plain(energy_mwh_per_day(tally, (uint32_t)row->node));
    case SPATE_N_MEASURES:
        break;
    }
    g_assert_not_reached();
}
