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
#define COUNT(name, by, meaning)                                                                   \
    {                                                                                              \
        {name, "1", false, 0.0, INFINITY, meaning}, by                                             \
    }
#define SECONDS(name, by, meaning)                                                                 \
    {                                                                                              \
        {name, "s", false, 0.0, INFINITY, meaning}, by                                             \
    }
#define RATIO(name, by, meaning)                                                                   \
    {                                                                                              \
        {name, "ratio", false, 0.0, 1.0, meaning}, by                                              \
    }
#define SHARE(name, by, meaning)                                                                   \
    {                                                                                              \
        {name, "ratio", true, 0.0, 1.0, meaning}, by                                               \
    }

static const Measure MEASURES[SPATE_N_MEASURES] = {
    [SPATE_MEASURE_MESSAGES] = COUNT("messages", BY_TRAFFIC, "messages offered"),
    [SPATE_MEASURE_DELIVERY] = SHARE("delivery", BY_TRAFFIC | BY_TRAFFIC_AND_RECIPIENT,
                                     "of the pairs (message, recipient): delivered"),
    [SPATE_MEASURE_DELIVERY_IN_TIME] =
        SHARE("delivery-in-time", BY_TRAFFIC_WITH_DEADLINE | BY_TRAFFIC_AND_RECIPIENT,
              "of the pairs: delivered within the traffic's deadline"),
    [SPATE_MEASURE_DELIVERY_WORST] = SHARE("delivery-worst", BY_TRAFFIC,
                                           "the same share at the recipient with the smallest one"),
    [SPATE_MEASURE_LATENCY_MEAN] =
        SECONDS("latency-mean", BY_TRAFFIC, "from the offer to the first delivery: mean"),
    [SPATE_MEASURE_LATENCY_P50] =
        SECONDS("latency-p50", BY_TRAFFIC, "from the offer to the first delivery: median"),
    [SPATE_MEASURE_LATENCY_P95] = SECONDS(
        "latency-p95", BY_TRAFFIC, "from the offer to the first delivery: 95 % take at most this"),
    [SPATE_MEASURE_LATENCY_P99] = SECONDS(
        "latency-p99", BY_TRAFFIC, "from the offer to the first delivery: 99 % take at most this"),
    [SPATE_MEASURE_LATENCY_MAX] =
        SECONDS("latency-max", BY_TRAFFIC, "from the offer to the first delivery: longest"),
    [SPATE_MEASURE_HOPS_MEAN] = {{"hops-mean", "1", false, 1.0, INFINITY,
                                  "transmissions on the way of the first delivery (direct is 1)"},
                                 BY_TRAFFIC},
    [SPATE_MEASURE_TRANSMISSIONS] = COUNT("transmissions", BY_BEARER | BY_TRAFFIC, "frames sent"),
    [SPATE_MEASURE_LOAD] = {{"load", "erlang", false, 0.0, INFINITY,
                             "time on air of all frames / simulated time, over the whole mesh"},
                            BY_BEARER | BY_TRAFFIC | BY_TRAFFIC_AND_BEARER},
    [SPATE_MEASURE_OCCUPANCY] =
        RATIO("occupancy", BY_BEARER,
              "share of time in which a radio hears or sends a frame: mean over radios"),
    [SPATE_MEASURE_OCCUPANCY_MAX] =
        RATIO("occupancy-max", BY_BEARER,
              "share of time in which the busiest radio hears or sends a frame"),
    [SPATE_MEASURE_DUTY_MAX] =
        RATIO("duty-max", BY_BEARER,
              "largest share of any hour (of the run, if shorter) that one radio sends"),
    [SPATE_MEASURE_AUDIBLE] =
        COUNT("audible", BY_BEARER, "audible frames, counted at each receiver"),
    [SPATE_MEASURE_RECEIVED] = SHARE("received", BY_BEARER, "of the audible: decoded"),
    [SPATE_MEASURE_LOST_COLLISION] =
        SHARE("lost-collision", BY_BEARER,
              "of the audible: broken by interference, or never locked on because of it"),
    [SPATE_MEASURE_LOST_BUSY] =
        SHARE("lost-busy", BY_BEARER, "of the audible: the radio was locked on another frame"),
    [SPATE_MEASURE_LOST_SENDING] =
        SHARE("lost-sending", BY_BEARER, "of the audible: the radio was sending (half duplex)"),
    [SPATE_MEASURE_LOST_BLOCKED] =
        SHARE("lost-blocked", BY_BEARER,
              "of the audible: another radio of the node was sending, too little isolated"),
    [SPATE_MEASURE_REDUNDANT] =
        SHARE("redundant", BY_BEARER, "of the received: the message was known already"),
    [SPATE_MEASURE_DROPPED_QUEUE] =
        COUNT("dropped-queue", BY_BEARER, "frames not sent: the queue was full"),
    [SPATE_MEASURE_DROPPED_EXPIRED] =
        COUNT("dropped-expired", BY_BEARER, "frames not sent: waited longer than expire"),
    [SPATE_MEASURE_DROPPED_SIZE] =
        COUNT("dropped-size", BY_BEARER, "frames not sent: longer than largest-frame"),
    [SPATE_MEASURE_WAITED_DUTY] =
        SECONDS("waited-duty", BY_BEARER,
                "mean wait of a sent frame, at the head of its queue, for the duty cycle"),
    [SPATE_MEASURE_WAITED_ACCESS] =
        SECONDS("waited-access", BY_BEARER,
                "mean wait of a sent frame, at the head of its queue, for a free channel"),
    [SPATE_MEASURE_HELD_BACK] =
        COUNT("held-back", BY_BRIDGE | BY_TRAFFIC, "messages that a crossing did not let across"),
    [SPATE_MEASURE_RADIO_ENERGY] = {{"radio-energy", "mWh per day", false, 0.0, INFINITY,
                                     "energy that a node's radios use (nodes with a supply)"},
                                    BY_NODE_WITH_SUPPLY},
};

const SpateMeasureInfo *
spate_measure_info(SpateMeasure measure)
{
    g_assert(measure >= 0 && measure < SPATE_N_MEASURES);
    return &MEASURES[measure].info;
}

/* By what a measure can be counted. */
static const struct {
    unsigned dimensions;
    Dimensions by;
    const char *name;
} KINDS[] = {
    {SPATE_OF_BEARER, BY_BEARER, "bearer"},
    {SPATE_OF_BRIDGE, BY_BRIDGE, "bridge"},
    {SPATE_OF_NODE, BY_NODE_WITH_SUPPLY, "node"},
    {SPATE_OF_TRAFFIC, BY_TRAFFIC | BY_TRAFFIC_WITH_DEADLINE, "traffic"},
    {SPATE_OF_TRAFFIC | SPATE_OF_BEARER, BY_TRAFFIC_AND_BEARER, "traffic on bearer"},
    {SPATE_OF_TRAFFIC | SPATE_OF_RECIPIENT, BY_TRAFFIC_AND_RECIPIENT, "traffic to recipient"},
};

bool
spate_measure_is_by(SpateMeasure measure, unsigned dimensions)
{
    g_assert(measure >= 0 && measure < SPATE_N_MEASURES);
    for (size_t i = 0; i < G_N_ELEMENTS(KINDS); i++)
        if (KINDS[i].dimensions == dimensions)
            return (MEASURES[measure].by & KINDS[i].by) != 0;
    return false;
}

char *
spate_measure_dimensions(SpateMeasure measure)
{
    g_assert(measure >= 0 && measure < SPATE_N_MEASURES);
    GString *text = g_string_new(NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(KINDS); i++)
        if ((MEASURES[measure].by & KINDS[i].by) != 0)
            g_string_append_printf(text, "%s%s", text->len > 0 ? "; " : "", KINDS[i].name);
    return g_string_free(text, FALSE);
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
