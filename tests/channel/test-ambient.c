/* test-ambient.c - other people's traffic as an alternating renewal process
 *
 * Bursts of length b, exponential gaps of mean g: the share of time on the air is b / (b + g).  A
 * frame whose level is far below the bursts' survives if no burst touches its critical part of
 * length L:
 *
 *     P = g / (b + g) * exp(-L / g)
 *
 * (idle when the part begins, and no burst begins within it; D. R. Cox, Renewal Theory, 1962, from
 * memory).
 */
#include "channel/ambient.h"
#include "channel/channel.h"
#include "channel/star.h"
#include "core/random.h"
#include "support/check-main.h"

#include <math.h>

#define N_FRAMES 20000

typedef struct {
    SpateEventQueue *queue;
    SpateChannel *channel;
    int64_t airtime_ns;
    SpateRandom random;
    uint32_t n_sent, n_received, n_ended;
} Sender;

static void
send_again(gpointer subject, uint32_t radio)
{
    Sender *sender = subject;
    spate_channel_begin(sender->channel, radio, sender->airtime_ns, 0, sender->n_sent++);
    int64_t pause_ns = spate_random_wait_ns(&sender->random, SPATE_NS_PER_S);
    if (sender->n_sent < N_FRAMES)
        spate_event_queue_schedule(sender->queue,
                                   spate_event_queue_now_ns(sender->queue) + sender->airtime_ns +
                                       1 + pause_ns,
                                   SPATE_RANK_START, send_again, sender, radio);
}

static void
count(gpointer user, const SpateAirFrame *frame, const SpateReception *receptions, size_t n)
{
    Sender *sender = user;
    (void)frame;
    ck_assert_uint_eq(n, 1);
    sender->n_ended++;
    sender->n_received += receptions[0].outcome == SPATE_OUTCOME_RECEIVED;
}

/* Share of frames at -110 dBm that one radio receives under bursts at -70 dBm. */
static double
share_received(double busy, int64_t burst_ns, double *critical_s)
{
    SpateBearer bearer = star_lora(7, 40, 5);
    SpateNodeSite nodes[2] = {{.name_hash = 1}, {.name_hash = 2}};
    SpateRadioSite radios[2] = {{.node = 0}, {.node = 1}};
    double zero[2] = {0};
    SpatePropagation propagation = {0};
    SpateFading fading = {0};
    uint64_t bearer_hash = 3;
    SpateGivenLoss given[] = {{0, 1, -1, 110.0}, {1, 0, -1, 300.0}};
    SpateAmbientSite site = {.name_hash = 4, .everywhere = true, .power_dbm = -70.0};
    g_autoptr(SpateLinks) links =
        spate_links_new(nodes, 2, zero, radios, 2, &bearer, &propagation, 1, given, 2);
    SpateMediumPlan plan = {.links = links,
                            .nodes = nodes,
                            .radios = radios,
                            .noise_rise_db = zero,
                            .bearers = &bearer,
                            .propagation = &propagation,
                            .fading = &fading,
                            .bearer_hash = &bearer_hash,
                            .ambient = &site,
                            .n_nodes = 2,
                            .n_radios = 2,
                            .n_bearers = 1,
                            .n_ambient = 1};
    g_autoptr(SpateMedium) medium = spate_medium_new(&plan, NULL);
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    g_autoptr(SpateChannel) channel = spate_channel_new(queue, medium, 5, 0, false);
    SpateAmbientSource source = {.sender = 2, .busy = busy, .burst_ns = burst_ns};
    SpateAmbient *ambient = spate_ambient_new(queue, channel, medium, &source, 1, 5, 0);
    const SpateModulation *m = &bearer.modulation;
    Sender sender = {.queue = queue,
                     .channel = channel,
                     .airtime_ns = m->kind->airtime_ns(m, 40),
                     .random = spate_random_stream(1, 1)};
    SpateChannelHooks hooks = {.outcomes = count};
    spate_channel_set_hooks(channel, &hooks, &sender);
    spate_event_queue_schedule(queue, SPATE_NS_PER_S, SPATE_RANK_START, send_again, &sender, 0);
    while (sender.n_ended < N_FRAMES)
        spate_event_queue_run_next(queue);
    spate_channel_check(channel);
    spate_ambient_free(ambient);
    *critical_s = (double)(sender.airtime_ns - m->kind->critical_ns(m)) / 1e9;
    return (double)sender.n_received / N_FRAMES;
}

static void
check_share(double busy, int64_t burst_ns)
{
    double critical_s;
    double share = share_received(busy, burst_ns, &critical_s);
    double gap_s = (double)burst_ns / 1e9 * (1.0 - busy) / busy;
    double p = (1.0 - busy) * exp(-critical_s / gap_s);
    ck_assert_msg(fabs(share - p) < 4.0 * sqrt(p * (1.0 - p) / N_FRAMES), "%.4f, not %.4f", share,
                  p);
}

START_TEST(frames_survive_between_long_bursts_as_often_as_renewal_theory_says)
{
    check_share(0.2, 50 * SPATE_NS_PER_MS);
    check_share(0.6, 400 * SPATE_NS_PER_MS);
}
END_TEST

START_TEST(bursts_shorter_than_a_preamble_count_too)
{
    /* 5 ms: shorter than the 35 symbols of 1.024 ms before the critical part. */
    check_share(0.05, 5 * SPATE_NS_PER_MS);
}
END_TEST

CHECK_MAIN("ambient", frames_survive_between_long_bursts_as_often_as_renewal_theory_says,
           bursts_shorter_than_a_preamble_count_too)
