/* people.h - whose delivery counts when something is held back or falls silent
 *
 * People's traffic is what expectations of delivery, of time or of arrival name.  Where there are
 * none, it is every traffic of another class than that which is held back (and, for a relay that
 * falls silent, every traffic).  Its delivery is that of all its pairs taken together: in time
 * where a traffic has a deadline, at any time where it has none.
 */
#pragma once

#include "core/statistics.h"
#include "scenario/scenario.h"
#include "study/run/result.h"
#include <math.h>

typedef struct {
    const SpateScenario *scenario; /* borrowed */
    bool *is_named;                /* by traffic */
    bool any_named;
} SpatePeople;

/* A mean over replications and how sure it is. */
typedef struct {
    double mean; /* NAN: no replication has a value */
    SpateInterval ci95;
    uint32_t n;
} SpateEstimate;

/* Of the expectations of that variant alone; NULL or "base": of the base. */
void spate_people_init(SpatePeople *people, const SpateScenario *scenario, const char *variant);
void spate_people_clear(SpatePeople *people);

/* Whether an expectation of that variant names the traffic for something other than its delivery:
 * where it may not be, what load it makes. */
bool spate_people_restrict(const SpateScenario *scenario, const char *variant, uint32_t traffic);

/* By how much the delivery of people's traffic is higher in `variant` than in `versus`, replication
 * by replication.  `held` is the traffic that is held back; UINT32_MAX: none is. */
SpateRunning spate_people_gain(const SpatePeople *people, const SpateResultVariant *variant,
                               const SpateResultVariant *versus, uint32_t n_replications,
                               uint32_t held);
/* The same of nothing that is held back, one for each replication; NAN where one has no delivery.
 * Free with g_free(). */
double *spate_people_gains(const SpatePeople *people, const SpateResultVariant *variant,
                           const SpateResultVariant *versus, uint32_t n_replications);
/* Pairs (message, recipient) of people's traffic in all replications together. */
double spate_people_offered(const SpatePeople *people, const SpateResultVariant *variant,
                            uint32_t n_replications, uint32_t held);
/* In itself. */
SpateRunning spate_people_delivery(const SpatePeople *people, const SpateResultVariant *variant,
                                   uint32_t n_replications, uint32_t held);

/* By how much the delivery of one traffic is lower in `without` than in `with`; in time where it
 * has a deadline. */
SpateEstimate spate_traffic_loss(const SpateScenarioTraffic *traffic,
                                 const SpateResultVariant *with, const SpateResultVariant *without,
                                 uint32_t n_replications);

static const SpateEstimate SPATE_NO_ESTIMATE = {NAN, {NAN, NAN}, 0};

/* For an order: without a mean it is less than any. */
static inline double
spate_estimate_or_least(const SpateEstimate *estimate)
{
    return isnan(estimate->mean) ? -INFINITY : estimate->mean;
}

/* Clipped to what it can be. */
SpateEstimate spate_estimate_of(const SpateRunning *running, double least, double most);
