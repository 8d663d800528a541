/* ambient.c - other people's traffic, as noise */
#include "channel/ambient.h"

#include "core/random.h"
#include <math.h>

/* Gaps are capped at a year so that no sum of times overflows. */
#define LONGEST_GAP_NS (365 * 24 * SPATE_NS_PER_HOUR)

typedef struct {
    SpateAmbientSource settings;
    double mean_gap_ns;
    SpateRandom random;
    uint64_t n_bursts;
} Source;

struct SpateAmbient {
    SpateEventQueue *queue;
    SpateChannel *channel;
    const SpateMedium *medium;
    Source *sources;
};

static int64_t
draw_gap_ns(Source *source)
{
    double gap_ns = source->mean_gap_ns * spate_random_exponential(&source->random);
    /* At least 1 ns, so that a burst is over before the next begins. */
    return 1 + (int64_t)fmin(gap_ns, (double)LONGEST_GAP_NS);
}

static void
begin_burst(gpointer subject, uint32_t index)
{
    SpateAmbient *ambient = subject;
    Source *source = &ambient->sources[index];
    uint32_t sender = source->settings.sender;
    uint64_t identity = spate_hash_combine(ambient->medium->name_hash[sender], source->n_bursts++);
    spate_channel_begin(ambient->channel, sender, source->settings.burst_ns, 0, identity);
    int64_t next_ns =
        spate_event_queue_now_ns(ambient->queue) + source->settings.burst_ns + draw_gap_ns(source);
    spate_event_queue_schedule(ambient->queue, next_ns, SPATE_RANK_START, begin_burst, ambient,
                               index);
}

SpateAmbient *
spate_ambient_new(SpateEventQueue *queue, SpateChannel *channel, const SpateMedium *medium,
                  const SpateAmbientSource *sources, uint32_t n_sources, uint64_t seed,
                  uint32_t replication)
{
    SpateAmbient *ambient = g_new0(SpateAmbient, 1);
    ambient->queue = queue;
    ambient->channel = channel;
    ambient->medium = medium;
    ambient->sources = g_new0(Source, MAX(n_sources, 1));
    uint64_t key = spate_random_key(seed, replication, SPATE_FOR_AMBIENT);
    for (uint32_t i = 0; i < n_sources; i++) {
        Source *source = &ambient->sources[i];
        source->settings = sources[i];
        g_assert(sources[i].busy > 0.0 && sources[i].busy < 1.0 && sources[i].burst_ns > 0);
        source->mean_gap_ns =
            (double)sources[i].burst_ns * (1.0 - sources[i].busy) / sources[i].busy;
        source->random = spate_random_stream(key, medium->name_hash[sources[i].sender]);
        spate_event_queue_schedule(queue, draw_gap_ns(source), SPATE_RANK_START, begin_burst,
                                   ambient, i);
    }
    return ambient;
}

void
spate_ambient_free(SpateAmbient *ambient)
{
    if (ambient == NULL)
        return;
    g_free(ambient->sources);
    g_free(ambient);
}
