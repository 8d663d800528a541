/* bench-channel.c - the price of a frame on the channel, without a mesh on top
 *
 * Nodes on a ring, each heard by the same number of neighbours, send Poisson traffic without
 * listening first.  Prints ns for each transmission and for each (frame, receiver).
 *
 *     bench-channel [NODES NEIGHBOURS LOAD]      load in erlang over the whole mesh
 */
#include "channel/channel.h"
#include "core/random.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define N_FRAMES    2000000
#define FRAME_BYTES 40

typedef struct {
    SpateEventQueue *queue;
    SpateChannel *channel;
    SpateRandom random;
    int64_t airtime_ns;
    double mean_gap_ns;
    uint64_t n_begun, n_skipped, n_received, n_lost;
} Bench;

static double
seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void
begin(gpointer subject, uint32_t radio)
{
    Bench *bench = subject;
    int64_t now_ns = spate_event_queue_now_ns(bench->queue);
    if (spate_channel_is_locked(bench->channel, radio) ||
        spate_channel_is_sending(bench->channel, radio)) {
        bench->n_skipped++;
    } else {
        spate_channel_begin(bench->channel, radio, bench->airtime_ns, 0, bench->n_begun++);
    }
    int64_t gap_ns = 1 + (int64_t)(bench->mean_gap_ns * spate_random_exponential(&bench->random));
    spate_event_queue_schedule(bench->queue, now_ns + gap_ns, SPATE_RANK_START, begin, bench,
                               radio);
}

static void
count(gpointer user, const SpateAirFrame *frame, const SpateReception *receptions, size_t n)
{
    Bench *bench = user;
    for (size_t i = 0; i < n; i++) {
        if (receptions[i].outcome == SPATE_OUTCOME_RECEIVED)
            bench->n_received++;
        else
            bench->n_lost++;
    }
}

/* Each node is given losses such that it is heard by the nearest on the ring, at levels spread over
 * 40 dB. */
static SpateGivenLoss *
ring_losses(uint32_t n_nodes, uint32_t n_neighbours, double weakest_db, size_t *n_given)
{
    SpateGivenLoss *given = g_new(SpateGivenLoss, (size_t)n_nodes * n_nodes);
    *n_given = 0;
    for (uint32_t a = 0; a < n_nodes; a++) {
        for (uint32_t b = 0; b < n_nodes; b++) {
            uint32_t apart = (a + n_nodes - b) % n_nodes;
            uint32_t steps = MIN(apart, n_nodes - apart);
            double within = 2.0 * steps / n_neighbours;
            double loss_db = within <= 1.0 ? weakest_db - 1.0 - 40.0 * (1.0 - within) : 300.0;
            given[(*n_given)++] =
                (SpateGivenLoss){.from_node = a, .to_node = b, .bearer = -1, .loss_db = loss_db};
        }
    }
    return given;
}

int
main(int argc, char **argv)
{
    uint32_t n_nodes = argc > 1 ? (uint32_t)atoi(argv[1]) : 100;
    uint32_t n_neighbours = argc > 2 ? (uint32_t)atoi(argv[2]) : 40;
    double load = argc > 3 ? atof(argv[3]) : 1.0;

    SpateBearer bearer = {
        .modulation = {.kind = &spate_radio_lora,
                       .centre_hz = 869500000,
                       .bandwidth_hz = {125000, 1},
                       .spreading_factor = 10,
                       .coding_rate_denominator = 5,
                       .preamble_symbols = 12,
                       .explicit_header = true,
                       .crc = true,
                       .lock_symbols = 5},
        .noise_figure_db = 6.0,
        .sensitivity_dbm = NAN,
        .protection_same_db = NAN,
        .protection_other_db = NAN,
    };
    SpatePropagation propagation = {.model = {.kind = SPATE_PATH_FREE_SPACE}};
    SpateFading fading = {.kind = SPATE_FADING_NONE};
    SpateNodeSite *nodes = g_new0(SpateNodeSite, n_nodes);
    SpateRadioSite *radios = g_new0(SpateRadioSite, n_nodes);
    double *zero = g_new0(double, n_nodes);
    for (uint32_t i = 0; i < n_nodes; i++) {
        nodes[i] = (SpateNodeSite){.position = {.x_m = i}, .name_hash = i + 1};
        radios[i] = (SpateRadioSite){.node = i};
    }
    size_t n_given;
    g_autofree SpateGivenLoss *given =
        ring_losses(n_nodes, n_neighbours, -spate_bearer_sensitivity_dbm(&bearer), &n_given);
    g_autoptr(SpateLinks) links = spate_links_new(nodes, n_nodes, zero, radios, n_nodes, &bearer,
                                                  &propagation, 1, given, n_given);
    uint64_t bearer_hash = 1;
    SpateMediumPlan plan = {.links = links,
                            .nodes = nodes,
                            .radios = radios,
                            .noise_rise_db = zero,
                            .bearers = &bearer,
                            .propagation = &propagation,
                            .fading = &fading,
                            .bearer_hash = &bearer_hash,
                            .n_nodes = n_nodes,
                            .n_radios = n_nodes,
                            .n_bearers = 1,
                            .seed = 1};
    g_autoptr(SpateMedium) medium = spate_medium_new(&plan, NULL);
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    g_autoptr(SpateChannel) channel = spate_channel_new(queue, medium, 1, 0, false);

    Bench bench = {.queue = queue,
                   .channel = channel,
                   .random = spate_random_stream(1, 1),
                   .airtime_ns =
                       bearer.modulation.kind->airtime_ns(&bearer.modulation, FRAME_BYTES)};
    bench.mean_gap_ns = (double)bench.airtime_ns * n_nodes / load;
    SpateChannelHooks hooks = {.outcomes = count};
    spate_channel_set_hooks(channel, &hooks, &bench);
    for (uint32_t i = 0; i < n_nodes; i++)
        spate_event_queue_schedule(
            queue, (int64_t)(bench.mean_gap_ns * spate_random_exponential(&bench.random)),
            SPATE_RANK_START, begin, &bench, i);

    while (bench.n_begun < N_FRAMES / 20)
        spate_event_queue_run_next(queue);
    uint64_t warm = bench.n_begun, pairs = bench.n_received + bench.n_lost;
    double began = seconds_now();
    while (bench.n_begun < N_FRAMES)
        spate_event_queue_run_next(queue);
    double spent = seconds_now() - began;
    double frames = (double)(bench.n_begun - warm);
    pairs = bench.n_received + bench.n_lost - pairs;

    printf("%u nodes, %u neighbours each, %.2f erlang: %.0f ns a transmission, %.1f ns a frame and "
           "receiver (%.1f %% received, %" G_GUINT64_FORMAT " links)\n",
           n_nodes, n_neighbours, load, spent / frames * 1e9, spent / (double)pairs * 1e9,
           100.0 * (double)bench.n_received / (double)(bench.n_received + bench.n_lost),
           (guint64)medium->n_links);
    g_free(nodes);
    g_free(radios);
    g_free(zero);
    return 0;
}
