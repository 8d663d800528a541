/* ambient.h - other people's traffic, as noise
 *
 * Each source alternates between bursts of a fixed length and exponential gaps, so that
 * it is on the air for the given share of the time.
 */
#pragma once

#include "channel/channel.h"

typedef struct {
    uint32_t sender; /* in the medium's numbering */
    double busy;     /* share of time, 0 < busy < 1 */
    int64_t burst_ns;
} SpateAmbientSource;

typedef struct SpateAmbient SpateAmbient;

/* Borrows all. */
SpateAmbient *spate_ambient_new(SpateEventQueue *queue, SpateChannel *channel,
                                const SpateMedium *medium, const SpateAmbientSource *sources,
                                uint32_t n_sources, uint64_t seed, uint32_t replication);
void spate_ambient_free(SpateAmbient *ambient);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateAmbient, spate_ambient_free)
