/* measures.c - by what measures are counted, and the rows of a plan */
#include "measure/measures.h"

#include <math.h>

static const char *const UNITS[] = {
    [SPATE_UNIT_ONE] = "1",
    [SPATE_UNIT_RATIO] = "ratio",
    [SPATE_UNIT_SECONDS] = "s",
    [SPATE_UNIT_ERLANG] = "erlang",
    [SPATE_UNIT_MWH_PER_DAY] = "mWh per day",
};

const char *
spate_unit_name(SpateUnit unit)
{
    return UNITS[unit];
}

bool
spate_measure_is_by(const SpateMeasureInfo *info, unsigned dimensions)
{
    for (size_t i = 0; i < G_N_ELEMENTS(info->by); i++)
        if (dimensions != 0 && info->by[i] == dimensions)
            return true;
    return false;
}

char *
spate_measure_dimensions(const SpateMeasureInfo *info)
{
    /* By what a measure can be counted, in this order. */
    static const struct {
        unsigned dimensions;
        const char *name;
    } KINDS[] = {
        {SPATE_OF_BEARER, "bearer"},
        {SPATE_OF_BRIDGE, "bridge"},
        {SPATE_OF_NODE, "node"},
        {SPATE_OF_TRAFFIC, "traffic"},
        {SPATE_OF_TRAFFIC | SPATE_OF_BEARER, "traffic on bearer"},
        {SPATE_OF_TRAFFIC | SPATE_OF_RECIPIENT, "traffic to recipient"},
    };
    GString *text = g_string_new(NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(KINDS); i++)
        if (spate_measure_is_by(info, KINDS[i].dimensions))
            g_string_append_printf(text, "%s%s", text->len > 0 ? "; " : "", KINDS[i].name);
    return g_string_free(text, FALSE);
}

bool
spate_plan_has_sleepers(const SpatePlan *plan, uint32_t bearer)
{
    for (uint32_t i = 0; i < plan->n_radios; i++)
        if (plan->radios[i].bearer == bearer && spate_listening_sleeps(&plan->radios[i].listening))
            return true;
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

/* A row for each number below n, which `number` points to within the row. */
static void
add_rows(GArray *rows, SpateMeasureRow *row, int32_t *number, uint32_t n)
{
    for (uint32_t i = 0; i < n; i++) {
        *number = (int32_t)i;
        g_array_append_val(rows, *row);
    }
}

static void
add_rows_by_place(GArray *rows, const SpatePlan *plan, const SpateMeasureRow *bare)
{
    const SpateMeasureInfo *info = spate_measure_info(bare->measure);
    SpateMeasureRow row = *bare;
    if (info->needs == SPATE_NEEDS_OUTAGES && plan->n_outages == 0)
        return;
    for (uint32_t i = 0; spate_measure_is_by(info, SPATE_OF_BEARER) && i < plan->n_bearers; i++) {
        row.bearer = (int32_t)i;
        if (info->needs != SPATE_NEEDS_SLEEPERS || spate_plan_has_sleepers(plan, i))
            g_array_append_val(rows, row);
    }
    row = *bare;
    if (spate_measure_is_by(info, SPATE_OF_BRIDGE))
        add_rows(rows, &row, &row.bridge, plan->n_bridges);
    row = *bare;
    for (uint32_t i = 0; spate_measure_is_by(info, SPATE_OF_NODE) && i < plan->n_nodes; i++) {
        row.node = (int32_t)i;
        if (info->needs != SPATE_NEEDS_SUPPLY || node_has_supply(plan, &plan->nodes[i]))
            g_array_append_val(rows, row);
    }
}

static bool
has_what_it_needs(const SpateTrafficKind *traffic, const SpateMeasureInfo *info)
{
    return (info->needs != SPATE_NEEDS_DEADLINE || traffic->deadline_ns > 0) &&
           (info->needs != SPATE_NEEDS_ANSWERS || traffic->acknowledgement.tries > 0);
}

static void
add_rows_by_traffic(GArray *rows, const SpatePlan *plan, const SpateMeasureRow *bare)
{
    const SpateMeasureInfo *info = spate_measure_info(bare->measure);
    SpateMeasureRow row = *bare;
    for (uint32_t i = 0; spate_measure_is_by(info, SPATE_OF_TRAFFIC) && i < plan->n_traffics; i++) {
        row.traffic = (int32_t)i;
        if (has_what_it_needs(&plan->traffics[i], info))
            g_array_append_val(rows, row);
    }
    bool is_by_recipient = spate_measure_is_by(info, SPATE_OF_TRAFFIC | SPATE_OF_RECIPIENT);
    for (uint32_t i = 0; is_by_recipient && i < plan->n_traffics; i++) {
        const SpateTrafficKind *traffic = &plan->traffics[i];
        row.traffic = (int32_t)i;
        for (uint32_t k = 0; k < traffic->n_measured; k++) {
            row.to = (int32_t)traffic->measured_recipients[k];
            if (has_what_it_needs(traffic, info))
                g_array_append_val(rows, row);
        }
    }
    row = *bare;
    bool is_by_bearer = spate_measure_is_by(info, SPATE_OF_TRAFFIC | SPATE_OF_BEARER);
    for (uint32_t i = 0; is_by_bearer && i < plan->n_traffics; i++) {
        row.traffic = (int32_t)i;
        add_rows(rows, &row, &row.bearer, plan->n_bearers);
    }
}

SpateMeasureRow *
spate_measure_rows(const SpatePlan *plan, size_t *n_rows)
{
    GArray *rows = g_array_new(FALSE, FALSE, sizeof(SpateMeasureRow));
    for (int i = 0; i < SPATE_N_MEASURES; i++) {
        /* Counted by nothing yet. */
        const SpateMeasureRow bare = {(SpateMeasure)i, -1, -1, -1, -1, -1};
        add_rows_by_place(rows, plan, &bare);
        add_rows_by_traffic(rows, plan, &bare);
    }
    *n_rows = rows->len;
    return (SpateMeasureRow *)(void *)g_array_free(rows, FALSE);
}
