/* test-aloha.c - unslotted ALOHA, and capture under fading, against closed forms
 *
 * tests/reference/queueing-and-access.csv, rows `aloha-preamble-tolerant` (derived from the timing
 * of Bor, Roedig, Voigt and Alonso, MSWiM 2016, after N. Abramson, AFIPS FJCC 1970): frames of
 * equal power; the first n - 5 symbols of a preamble may be lost.
 */
#include "channel/channel.h"
#include "channel/star.h"
#include "core/random.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

/* Frames come from one sender after the other, as from an endless population. */
#define N_SENDERS 500
#define N_FRAMES  150000

typedef struct {
    SpateEventQueue *queue;
    SpateChannel *channel;
    SpateRandom random;
    int64_t airtime_ns;
    double mean_gap_ns;
    uint32_t n_sent, n_received;
} Aloha;

/* Node 0 hears everybody equally well; nobody else hears anything. */
static double
one_hears_all(uint32_t sender, uint32_t receiver, void *user)
{
    (void)user;
    return sender != 0 && receiver == 0 ? -60.0 : -300.0;
}

static void
send_next(gpointer subject, uint32_t sender)
{
    Aloha *aloha = subject;
    spate_channel_begin(aloha->channel, sender, aloha->airtime_ns, 0, aloha->n_sent++);
    int64_t gap_ns = (int64_t)(aloha->mean_gap_ns * spate_random_exponential(&aloha->random));
    if (aloha->n_sent < N_FRAMES)
        spate_event_queue_schedule(aloha->queue,
                                   spate_event_queue_now_ns(aloha->queue) + 1 + gap_ns,
                                   SPATE_RANK_START, send_next, aloha, 1 + sender % N_SENDERS);
}

static void
count_received(gpointer user, const SpateAirFrame *frame, const SpateReceivers *receivers)
{
    (void)frame;
    ((Aloha *)user)->n_received += receivers->n;
}

/* Received frames over all frames at an offered load of g erlang. */
static double
success_at(Star *star, double g, int64_t airtime_ns)
{
    g_autoptr(SpateMedium) medium = star_medium(star, 1 + N_SENDERS, 14.0, one_hears_all, NULL);
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    g_autoptr(SpateChannel) channel = spate_channel_new(queue, medium, 1, 0, false);
    Aloha aloha = {.queue = queue,
                   .channel = channel,
                   .random = spate_random_stream(1, (uint64_t)(g * 1000.0)),
                   .airtime_ns = airtime_ns,
                   .mean_gap_ns = (double)airtime_ns / g};
    SpateChannelHooks hooks = {.received = count_received};
    spate_channel_set_hooks(channel, &hooks, &aloha);
    spate_event_queue_schedule(queue, 0, SPATE_RANK_START, send_next, &aloha, 1);
    while (spate_event_queue_run_next(queue))
        continue;
    return (double)aloha.n_received / N_FRAMES;
}

START_TEST(throughput_is_that_of_aloha_with_tolerant_preambles)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "aloha-preamble-tolerant") != 0)
            continue;
        double g = reference_input(rows, i, "G");
        int preamble = (int)reference_input(rows, i, "preamble_symbols");
        Star star = {.bearer =
                         star_lora(7, preamble, (int)reference_input(rows, i, "lock_symbols"))};
        const SpateModulation *m = &star.bearer.modulation;
        /* The row says how many symbols the payload has: quarters are whole at SF 7. */
        int64_t symbols_x4 =
            4 * preamble + 17 + 4 * (int64_t)reference_input(rows, i, "payload_symbols");
        double success = success_at(&star, g, symbols_x4 * m->kind->symbol_ns(m) / 4);
        double expected = reference_number(rows, i, "value") / g;
        /* Losses come in pairs: twice the binomial variance, and 3 standard errors. */
        double error = sqrt(2.0 * expected * (1.0 - expected) / N_FRAMES);
        ck_assert_msg(fabs(success - expected) < 3.0 * error, "G %.2f: %.5f, not %.5f -+ %.5f", g,
                      success, expected, 3.0 * error);
        n++;
    }
    ck_assert_int_eq(n, 5);
}
END_TEST

/* Two frames at once; whether the first survives. */
typedef struct {
    Aloha aloha;
    uint32_t n_first;
} Pair;

static void
count_first(gpointer user, const SpateAirFrame *frame, const SpateReceivers *receivers)
{
    ((Pair *)user)->n_first += frame->sender == 1 ? receivers->n : 0;
}

static void
send_pair(gpointer subject, uint32_t n)
{
    Pair *pair = subject;
    /* A new identity for each frame: new fades. */
    spate_channel_begin(pair->aloha.channel, 1, pair->aloha.airtime_ns, 0, 2 * n);
    spate_channel_begin(pair->aloha.channel, 2, pair->aloha.airtime_ns, 0, 2 * n + 1);
    if (n < 40000)
        spate_event_queue_schedule(pair->aloha.queue,
                                   spate_event_queue_now_ns(pair->aloha.queue) +
                                       2 * pair->aloha.airtime_ns,
                                   SPATE_RANK_START, send_pair, pair, n + 1);
}

static double
advantage(uint32_t sender, uint32_t receiver, void *user)
{
    if (receiver != 0 || sender == 0)
        return -300.0;
    return sender == 1 ? -50.0 + *(const double *)user : -50.0;
}

START_TEST(of_two_rayleigh_faded_frames_the_first_survives_as_often_as_the_closed_form_says)
{
    /* P(S / I > z) = 1 / (1 + z / Lambda), Lambda the ratio of the means (rows
     * `capture-rayleigh-two`). Noise is 60 dB and more below. */
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "capture-rayleigh-two") != 0)
            continue;
        double mean_advantage_db = reference_input(rows, i, "mean_power_advantage_db");
        double p = reference_number(rows, i, "value");
        Star star = {.bearer = star_lora(7, 8, 5), .fading = {.kind = SPATE_FADING_RAYLEIGH}};
        star.bearer.protection_same_db = reference_input(rows, i, "threshold_db");
        /* Below 0 dB both may survive, and the radio takes the stronger. */
        if (star.bearer.protection_same_db < 0.0)
            continue;
        g_autoptr(SpateMedium) medium = star_medium(&star, 3, 14.0, advantage, &mean_advantage_db);
        g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
        g_autoptr(SpateChannel) channel = spate_channel_new(queue, medium, 7, 0, false);
        Pair pair = {.aloha = {.queue = queue, .channel = channel, .airtime_ns = 50000000}};
        SpateChannelHooks hooks = {.received = count_first};
        spate_channel_set_hooks(channel, &hooks, &pair);
        spate_event_queue_schedule(queue, 0, SPATE_RANK_START, send_pair, &pair, 0);
        while (spate_event_queue_run_next(queue))
            continue;
        double share = pair.n_first / 40001.0;
        ck_assert_msg(fabs(share - p) < 4.0 * sqrt(p * (1.0 - p) / 40001.0),
                      "row %u: %.4f, not %.4f", i + 2, share, p);
        n++;
    }
    ck_assert_int_ge(n, 7);
}
END_TEST

CHECK_MAIN("aloha", throughput_is_that_of_aloha_with_tolerant_preambles,
           of_two_rayleigh_faded_frames_the_first_survives_as_often_as_the_closed_form_says)
