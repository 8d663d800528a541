/* measures.c - the table of measures, and the rows of a plan */
#include "measure/measures.h"

#include <math.h>

/* What a measure is counted by; it may have rows of several kinds. */
typedef enum {
    BY_BEARER = 1 << 0,
    BY_BRIDGE = 1 << 1,
    BY_NODE_WITH_SUPPLY = 1 << 2,
    BY_TRAFFIC = 1 << 3,
    BY_TRAFFIC_WITH_DEADLINE = 1 << 4,
    BY_TRAFFIC_AND_BEARER = 1 << 5,
    BY_TRAFFIC_AND_RECIPIENT = 1 << 6
} Dimensions;

typedef struct {
    SpateMeasureInfo info;
    Dimensions by;
} Measure;

/* Kinds of measures, for the table below. */
#define COUNT(name, by)                                                                            \
    {                                                                                              \
        {name, "1", false, 0.0, INFINITY}, by                                                      \
    }
#define SECONDS(name, by)                                                                          \
    {                                                                                              \
        {name, "s", false, 0.0, INFINITY}, by                                                      \
    }
#define RATIO(name, by)                                                                            \
    {                                                                                              \
        {name, "ratio", false, 0.0, 1.0}, by                                                       \
    }
#define SHARE(name, by)                                                                            \
    {                                                                                              \
        {name, "ratio", true, 0.0, 1.0}, by                                                        \
    }

static const Measure MEASURES[SPATE_N_MEASURES] = {
    [SPATE_MEASURE_MESSAGES] = COUNT("messages", BY_TRAFFIC),
    [SPATE_MEASURE_DELIVERY] = SHARE("delivery", BY_TRAFFIC | BY_TRAFFIC_AND_RECIPIENT),
    [SPATE_MEASURE_DELIVERY_IN_TIME] =
        SHARE("delivery-in-time", BY_TRAFFIC_WITH_DEADLINE | BY_TRAFFIC_AND_RECIPIENT),
    [SPATE_MEASURE_DELIVERY_WORST] = SHARE("delivery-worst", BY_TRAFFIC),
    [SPATE_MEASURE_LATENCY_MEAN] = SECONDS("latency-mean", BY_TRAFFIC),
    [SPATE_MEASURE_LATENCY_P50] = SECONDS("latency-p50", BY_TRAFFIC),
    [SPATE_MEASURE_LATENCY_P95] = SECONDS("latency-p95", BY_TRAFFIC),
    [SPATE_MEASURE_LATENCY_P99] = SECONDS("latency-p99", BY_TRAFFIC),
    [SPATE_MEASURE_LATENCY_MAX] = SECONDS("latency-max", BY_TRAFFIC),
    [SPATE_MEASURE_HOPS_MEAN] = {{"hops-mean", "1", false, 1.0, INFINITY}, BY_TRAFFIC},
    [SPATE_MEASURE_TRANSMISSIONS] = COUNT("transmissions", BY_BEARER | BY_TRAFFIC),
    [SPATE_MEASURE_LOAD] = {{"load", "erlang", false, 0.0, INFINITY},
                            BY_BEARER | BY_TRAFFIC | BY_TRAFFIC_AND_BEARER},
    [SPATE_MEASURE_OCCUPANCY] = RATIO("occupancy", BY_BEARER),
    [SPATE_MEASURE_OCCUPANCY_MAX] = RATIO("occupancy-max", BY_BEARER),
    [SPATE_MEASURE_DUTY_MAX] = RATIO("duty-max", BY_BEARER),
    [SPATE_MEASURE_AUDIBLE] = COUNT("audible", BY_BEARER),
    [SPATE_MEASURE_RECEIVED] = SHARE("received", BY_BEARER),
    [SPATE_MEASURE_LOST_COLLISION] = SHARE("lost-collision", BY_BEARER),
    [SPATE_MEASURE_LOST_BUSY] = SHARE("lost-busy", BY_BEARER),
    [SPATE_MEASURE_LOST_SENDING] = SHARE("lost-sending", BY_BEARER),
    [SPATE_MEASURE_LOST_BLOCKED] = SHARE("lost-blocked", BY_BEARER),
    [SPATE_MEASURE_REDUNDANT] = SHARE("redundant", BY_BEARER),
    [SPATE_MEASURE_DROPPED_QUEUE] = COUNT("dropped-queue", BY_BEARER),
    [SPATE_MEASURE_DROPPED_EXPIRED] = COUNT("dropped-expired", BY_BEARER),
    [SPATE_MEASURE_DROPPED_SIZE] = COUNT("dropped-size", BY_BEARER),
    [SPATE_MEASURE_WAITED_DUTY] = SECONDS("waited-duty", BY_BEARER),
    [SPATE_MEASURE_WAITED_ACCESS] = SECONDS("waited-access", BY_BEARER),
    [SPATE_MEASURE_HELD_BACK] = COUNT("held-back", BY_BRIDGE | BY_TRAFFIC),
    [SPATE_MEASURE_RADIO_ENERGY] = {{"radio-energy", "mWh per day", false, 0.0, INFINITY},
                                    BY_NODE_WITH_SUPPLY},
};

const SpateMeasureInfo *
spate_measure_info(SpateMeasure measure)
{
    g_assert(measure >= 0 && measure < SPATE_N_MEASURES);
    return &MEASURES[measure].info;
}

bool
spate_measure_is_by(SpateMeasure measure, unsigned dimensions)
{
    static const struct {
        unsigned dimensions;
        Dimensions by;
    } KINDS[] = {
        {SPATE_OF_BEARER, BY_BEARER},
        {SPATE_OF_BRIDGE, BY_BRIDGE},
        {SPATE_OF_NODE, BY_NODE_WITH_SUPPLY},
        {SPATE_OF_TRAFFIC, BY_TRAFFIC | BY_TRAFFIC_WITH_DEADLINE},
        {SPATE_OF_TRAFFIC | SPATE_OF_BEARER, BY_TRAFFIC_AND_BEARER},
        {SPATE_OF_TRAFFIC | SPATE_OF_RECIPIENT, BY_TRAFFIC_AND_RECIPIENT},
    };
    g_assert(measure >= 0 && measure < SPATE_N_MEASURES);
    for (size_t i = 0; i < G_N_ELEMENTS(KINDS); i++)
        if (KINDS[i].dimensions == dimensions)
            return (MEASURES[measure].by & KINDS[i].by) != 0;
    return false;
}

bool
spate_radio_has_supply(const SpateRadio *radio)
{
    return !isnan(radio->supply_sending_w) && !isnan(radio->supply_receiving_w);
}

static bool
node_has_supply(const SpatePlan *plan, const SpateNode *node)
{
    for (uint32_t i = 0; i < node->n_radios; i++)
        if (spate_radio_has_supply(&plan->radios[node->first_radio + i]))
            return true;
    return false;
}

/* A row of the measure that is counted by nothing yet. */
static SpateMeasureRow
bare_row(SpateMeasure measure)
{
    return (SpateMeasureRow){measure,    .traffic = -1, .bearer = -1,
                             .node = -1, .bridge = -1,  .to = -1};
}

static void
add_rows_by_place(GArray *rows, const SpatePlan *plan, SpateMeasure measure, Dimensions by)
{
    SpateMeasureRow row = bare_row(measure);
    for (uint32_t i = 0; (by & BY_BEARER) != 0 && i < plan->n_bearers; i++) {
        row.bearer = (int32_t)i;
        g_array_append_val(rows, row);
    }
    row = bare_row(measure);
    for (uint32_t i = 0; (by & BY_BRIDGE) != 0 && i < plan->n_bridges; i++) {
        row.bridge = (int32_t)i;
        g_array_append_val(rows, row);
    }
    row = bare_row(measure);
    for (uint32_t i = 0; (by & BY_NODE_WITH_SUPPLY) != 0 && i < plan->n_nodes; i++) {
        row.node = (int32_t)i;
        if (node_has_supply(plan, &plan->nodes[i]))
            g_array_append_val(rows, row);
    }
}

/* Only in time or not where there is a deadline. */
static void
add_rows_by_recipient(GArray *rows, const SpatePlan *plan, SpateMeasure measure)
{
    SpateMeasureRow row = bare_row(measure);
    for (uint32_t i = 0; i < plan->n_traffics; i++) {
        const SpateTrafficKind *traffic = &plan->traffics[i];
        row.traffic = (int32_t)i;
        for (uint32_t k = 0; k < traffic->n_measured; k++) {
            row.to = (int32_t)traffic->measured_recipients[k];
            if (measure != SPATE_MEASURE_DELIVERY_IN_TIME || traffic->deadline_ns > 0)
                g_array_append_val(rows, row);
        }
    }
}

static void
add_rows_by_traffic(GArray *rows, const SpatePlan *plan, SpateMeasure measure, Dimensions by)
{
    SpateMeasureRow row = bare_row(measure);
    for (uint32_t i = 0; i < plan->n_traffics; i++) {
        row.traffic = (int32_t)i;
        if ((by & BY_TRAFFIC) != 0 ||
            ((by & BY_TRAFFIC_WITH_DEADLINE) != 0 && plan->traffics[i].deadline_ns > 0))
            g_array_append_val(rows, row);
    }
    if ((by & BY_TRAFFIC_AND_RECIPIENT) != 0)
        add_rows_by_recipient(rows, plan, measure);
    if ((by & BY_TRAFFIC_AND_BEARER) == 0)
        return;
    for (uint32_t i = 0; i < plan->n_traffics; i++) {
        row.traffic = (int32_t)i;
        for (uint32_t k = 0; k < plan->n_bearers; k++) {
            row.bearer = (int32_t)k;
            g_array_append_val(rows, row);
        }
    }
}

SpateMeasureRow *
spate_measure_rows(const SpatePlan *plan, size_t *n_rows)
{
    GArray *rows = g_array_new(FALSE, FALSE, sizeof(SpateMeasureRow));
    for (int i = 0; i < SPATE_N_MEASURES; i++) {
        SpateMeasure measure = (SpateMeasure)i;
        add_rows_by_place(rows, plan, measure, MEASURES[i].by);
        add_rows_by_traffic(rows, plan, measure, MEASURES[i].by);
    }
    gsize length = 0;
    SpateMeasureRow *all = g_array_steal(rows, &length);
    g_array_unref(rows);
    *n_rows = length;
    return all;
}
