/* tally-private.h - what the files of the tally share
 *
 * One struct of counts for each traffic, bearer and radio; tally.c hears the run and feeds
 * them, catalogue.c reads them when it is over.
 */
#pragma once

#include "core/units.h"
#include "measure/sliding-hour.h"
#include "measure/tally.h"

/* Messages offered after the warm-up, and where they arrived. */
typedef struct {
    const SpateTrafficKind *kind;
    uint64_t messages;
    uint64_t pairs, delivered, in_time; /* in_time: all that are delivered, without a deadline */
    uint64_t tries, acknowledged;
    uint64_t hops;
    spate_int128 latency_sum_ns;
    int64_t *latencies_ns; /* of all delivered pairs */
    size_t latencies_room; /* for so many */
    /* by recipient, in the order of the kind */
    uint64_t *offered_by, *delivered_to, *in_time_to;
} SpateTrafficTally;

/* Frames that started after the warm-up. */
typedef struct {
    uint64_t frames;
    int64_t airtime_ns;
    int64_t waited_duty_ns, waited_access_ns;
    uint64_t audible, outcomes[SPATE_N_OUTCOMES];
    uint64_t first_copies; /* of the received: brought a message to a node that did not know it */
    uint64_t dropped[SPATE_N_DROPS];
} SpateBearerTally;

/* Frames of one traffic on one bearer that started after the warm-up. */
typedef struct {
    uint64_t frames;
    int64_t airtime_ns;
} SpateCrossTally;

#define SPATE_NOT_SENDING INT64_MIN

typedef struct {
    int64_t sending_since_ns; /* or SPATE_NOT_SENDING */
    int64_t sending_ns;       /* between the warm-up and the end of the run */
    SpateRadioTimes at_warm_up, at_end;
} SpateRadioTally;

struct SpateTally {
    const SpatePlan *plan;
    int64_t warm_up_ns, end_ns;
    SpateTrafficTally *traffics;
    SpateBearerTally *bearers;
    SpateCrossTally *cross; /* [traffic * n_bearers + bearer] */
    SpateRadioTally *radios;
    SpateSlidingHour *hour;
    uint64_t *held_back_by_bridge, *held_back_by_traffic;

    SpateMeasureRow *rows;
    SpateMeasureValue *values;
    size_t n_rows;
};

/* tally-traffic.c */
void spate_traffic_tally_init(SpateTrafficTally *traffic, const SpateTrafficKind *kind,
                              double expected_offers);
void spate_traffic_tally_clear(SpateTrafficTally *traffic);
void spate_traffic_tally_offered(SpateTrafficTally *traffic, uint32_t origin);
void spate_traffic_tally_delivered(SpateTrafficTally *traffic, uint32_t node, int64_t latency_ns,
                                   uint32_t hops);
/* Of the recipient with the least share of its pairs delivered; 0 of 0 if there is none. */
void spate_traffic_tally_worst(const SpateTrafficTally *traffic, uint64_t *delivered,
                               uint64_t *pairs);
/* Pairs with that recipient, and those of them that were delivered (in time); 0 of 0 if it is none.
 */
void spate_traffic_tally_to(const SpateTrafficTally *traffic, uint32_t node, bool in_time,
                            uint64_t *delivered, uint64_t *pairs);
/* NAN if there is none.  Reorders the latencies. */
double spate_traffic_tally_latency_s(SpateTrafficTally *traffic, double percentile);

/* catalogue.c */
SpateMeasureValue spate_tally_value(const SpateTally *tally, const SpateMeasureRow *row);
