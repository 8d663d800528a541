/* advise-price.h - what every traffic loses or gains by a change
 *
 * One line for each traffic and each of its measures that says how it fares: what arrives, what
 * arrives in time, how long it takes.  Differences are paired, replication by replication.
 */
#pragma once

#include "study/run/people.h"

typedef struct {
    uint32_t traffic;
    SpateMeasure measure;
    SpateEstimate before, after, change;
} SpateAdvisePrice;

/* Of all traffics, the treated ones (by traffic) first; measures that have no value on either side
 * are left out.  Free with g_array_unref(). */
GArray *spate_advise_prices(const SpateScenario *scenario, const bool *is_treated,
                            const SpateResultVariant *before, const SpateResultVariant *after,
                            uint32_t n_replications);
