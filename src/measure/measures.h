/* measures.h - what is measured, and by what
 *
 * One table names every measure with its unit and dimensions; a run gives one value for each
 * row (a measure and what it is counted by).  The rows depend on the plan alone, so that
 * replications line up.
 */
#pragma once

#include "mesh/plan.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

typedef enum {
    SPATE_MEASURE_MESSAGES,
    SPATE_MEASURE_DELIVERY,
    SPATE_MEASURE_DELIVERY_IN_TIME,
    SPATE_MEASURE_DELIVERY_WORST,
    SPATE_MEASURE_LATENCY_MEAN,
    SPATE_MEASURE_LATENCY_P50,
    SPATE_MEASURE_LATENCY_P95,
    SPATE_MEASURE_LATENCY_P99,
    SPATE_MEASURE_LATENCY_MAX,
    SPATE_MEASURE_HOPS_MEAN,
    SPATE_MEASURE_ACKNOWLEDGED,
    SPATE_MEASURE_TRIES_MEAN,
    SPATE_MEASURE_TRANSMISSIONS,
    SPATE_MEASURE_LOAD,
    SPATE_MEASURE_OCCUPANCY,
    SPATE_MEASURE_OCCUPANCY_MAX,
    SPATE_MEASURE_DUTY_MAX,
    SPATE_MEASURE_AUDIBLE,
    SPATE_MEASURE_RECEIVED,
    SPATE_MEASURE_LOST_COLLISION,
    SPATE_MEASURE_LOST_BUSY,
    SPATE_MEASURE_LOST_SENDING,
    SPATE_MEASURE_LOST_BLOCKED,
    SPATE_MEASURE_LOST_ASLEEP,
    SPATE_MEASURE_REDUNDANT,
    SPATE_MEASURE_DROPPED_QUEUE,
    SPATE_MEASURE_DROPPED_EXPIRED,
    SPATE_MEASURE_DROPPED_SIZE,
    SPATE_MEASURE_DROPPED_OUTAGE,
    SPATE_MEASURE_WAITED_DUTY,
    SPATE_MEASURE_WAITED_ACCESS,
    SPATE_MEASURE_HELD_BACK,
    SPATE_MEASURE_RADIO_ENERGY,
    SPATE_N_MEASURES
} SpateMeasure;

typedef enum {
    SPATE_UNIT_ONE,
    SPATE_UNIT_RATIO,
    SPATE_UNIT_SECONDS,
    SPATE_UNIT_ERLANG,
    SPATE_UNIT_MWH_PER_DAY
} SpateUnit;

/* "1", "ratio", "s", "erlang", "mWh per day" */
const char *spate_unit_name(SpateUnit unit);

/* What a row can be counted by. */
enum {
    SPATE_OF_TRAFFIC = 1 << 0,
    SPATE_OF_BEARER = 1 << 1,
    SPATE_OF_NODE = 1 << 2,
    SPATE_OF_BRIDGE = 1 << 3,
    SPATE_OF_RECIPIENT = 1 << 4
};

/* What a scenario must have for the measure to have a value in some run. */
typedef enum {
    SPATE_NEEDS_NOTHING,
    SPATE_NEEDS_PAIRS,    /* of a message and a recipient */
    SPATE_NEEDS_DEADLINE, /* such pairs, and a deadline */
    SPATE_NEEDS_ANSWERS,  /* messages that want an acknowledgement */
    SPATE_NEEDS_BRIDGES,
    SPATE_NEEDS_OUTAGES,
    SPATE_NEEDS_SUPPLY,
    SPATE_NEEDS_SLEEPERS /* radios on the bearer that listen in windows */
} SpateMeasureNeeds;

typedef struct {
    const char *name; /* as in a scenario's `expect`: "delivery-in-time" */
    SpateUnit unit;
    double least, most; /* what the measure can be (INFINITY: no bound) */
    bool is_share;      /* of counted things: a Wilson interval applies, and 0 .. 1 clips */
    unsigned by[4];     /* combinations of dimensions; ends with 0 */
    SpateMeasureNeeds needs;
    const char *meaning; /* for people, on one line */
} SpateMeasureInfo;

/* Static; lives for ever. */
const SpateMeasureInfo *spate_measure_info(SpateMeasure measure);
/* NULL if there is none of that name. */
const SpateMeasureInfo *spate_measure_find(const char *name);

/* Whether it has rows that are counted by just these. */
bool spate_measure_is_by(const SpateMeasureInfo *info, unsigned dimensions);

/* What it is counted by, for people: "bearer; traffic".  Free with g_free(). */
char *spate_measure_dimensions(const SpateMeasureInfo *info);

/* Whether a radio on the bearer sleeps. */
bool spate_plan_has_sleepers(const SpatePlan *plan, uint32_t bearer);

/* Whether `radio-energy` can be computed: the powers of sending and receiving are given. */
bool spate_radio_has_supply(const SpateRadio *radio);

/* A measure and what it is counted by; -1 where a dimension does not apply. */
typedef struct {
    SpateMeasure measure;
    int32_t traffic, bearer, node, bridge; /* numbers in the plan */
    int32_t to;                            /* a node: only pairs with this recipient */
} SpateMeasureRow;

/* All rows of a plan: by measure in the order above, then by name (a measure that is counted by
 * several things: by bearer, bridge, node, traffic, traffic and recipient, traffic and bearer).
 * Rows are left out only
 * where they cannot have a value in any run: `delivery-in-time` of a traffic without a deadline,
 * `acknowledged` and `tries-mean` of one whose messages want no acknowledgement,
 * `dropped-outage` where no node ever fails, `radio-energy` of a node none of whose radios has a
 * supply, `lost-asleep` of a bearer on which no radio sleeps.  Free with g_free(). */
SpateMeasureRow *spate_measure_rows(const SpatePlan *plan, size_t *n_rows);

/* The value of one row in one replication.  NAN: none (a latency with nothing delivered).  Shares
 * carry their counts: value = count / of. */
typedef struct {
    double value;
    double count, of; /* NAN unless the measure is a share of counted things */
} SpateMeasureValue;
