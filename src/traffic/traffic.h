/* traffic.h - when messages are offered */
#pragma once

#include "mesh/mesh.h"

typedef enum {
    SPATE_OFFERS_EVERY,
    SPATE_OFFERS_POISSON,
    SPATE_OFFERS_AT,
    SPATE_OFFERS_FOLLOWING /* when a message of another traffic is delivered at the source */
} SpateOfferTimes;

typedef struct {
    uint32_t traffic;        /* number in the plan */
    const uint32_t *sources; /* nodes, ascending */
    uint32_t n_sources;
    SpateOfferTimes times;
    int64_t every_ns;
    bool together; /* all sources at 0, every, 2 every ...; else each from a random time of its own
                    */
    int64_t spread_ns; /* each offer moved uniformly by -+ this, without drift */
    int64_t mean_interval_ns;
    const int64_t *at_ns; /* ascending */
    uint32_t n_at;
    /* FOLLOWING: with that probability, after a uniform wait. */
    uint32_t follows; /* a traffic */
    double share;
    int64_t within_ns;
    double expected; /* offers of all its sources in a replication, about */
} SpateOffers;

typedef struct SpateTraffic SpateTraffic;

/* Schedules the first offer of each source; none is made at or after `until_ns`.  An offer that its
 * spread would move before the start is made as long after it.  Everything is borrowed. */
SpateTraffic *spate_traffic_new(SpateEventQueue *queue, SpateMesh *mesh, const SpatePlan *plan,
                                const SpateOffers *offers, uint32_t n_offers, int64_t until_ns,
                                uint64_t seed, uint32_t replication);
void spate_traffic_free(SpateTraffic *traffic);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateTraffic, spate_traffic_free)

/* How many offers one replication is expected to make at most (Poisson: mean + 6 standard
 * deviations), so that observers can reserve. */
double spate_traffic_expected_offers(const SpateOffers *offers, int64_t until_ns);
