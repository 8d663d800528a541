/* undelivered.c - replications in which nothing arrived */
#include "study/watch/undelivered.h"

#include <math.h>
#include <string.h>

static bool
is_of_delivered(SpateMeasure measure)
{
    const char *name = spate_measure_info(measure)->name;
    return g_str_has_prefix(name, "latency-") || g_str_has_prefix(name, "hops-");
}

/* Of all recipients of the traffic; NULL if there is none. */
static const SpateResultRow *
find_delivery(const SpateResultVariant *variant, const char *traffic)
{
    for (size_t i = 0; i < variant->n_rows; i++) {
        const SpateResultRow *row = &variant->rows[i];
        if (row->measure == SPATE_MEASURE_DELIVERY && row->to == NULL &&
            g_strcmp0(row->traffic, traffic) == 0)
            return row;
    }
    return NULL;
}

bool
spate_undelivered(const SpateResultVariant *variant, const SpateResultRow *row,
                  uint32_t replication)
{
    if (!is_of_delivered(row->measure) || !isnan(row->values[replication]))
        return false;
    const SpateResultRow *delivery = find_delivery(variant, row->traffic);
    return delivery != NULL && delivery->values[replication] <= 0.0;
}
