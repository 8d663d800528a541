/* test-draws.c - shadowing, fading and other people's traffic, as the channel takes them
 *
 * Whose draw is whose, and what it adds to: their laws are checked in tests/propagation.
 */
#include "channel/channel.h"
#include "channel/star.h"
#include "core/units.h"
#include "support/check-main.h"

#include <math.h>

#define AIRTIME_NS SPATE_NS_PER_S

/* ---- levels of a medium -------------------------------------------------------------------- */

/* Two nodes 2 km apart, and what may be about them. */
typedef struct {
    SpateNodeSite nodes[2];
    SpateRadioSite radios[2];
    SpateBearer bearer;
    SpatePropagation propagation;
    SpateFading fading;
    double zero[2], noise_rise_db[2];
    uint64_t bearer_hash;
    SpateAmbientSite ambient;
} Pair;

static Pair
usual_pair(void)
{
    return (Pair){
        .nodes = {{.name_hash = 1}, {.position = {.x_m = 2000.0}, .name_hash = 2}},
        .radios = {{.node = 0, .power_dbm = 14.0}, {.node = 1, .power_dbm = 14.0}},
        .bearer = star_lora(9, 8, 5),
        .propagation = {.model = {.kind = SPATE_PATH_FREE_SPACE, .intercept_loss_db = NAN}},
        .bearer_hash = 3,
        .ambient = {.position = {.y_m = 500.0}, .name_hash = 4, .power_dbm = 10.0},
    };
}

static SpateLinks *
links_of(const Pair *pair)
{
    return spate_links_new(pair->nodes, 2, pair->zero, pair->radios, 2, &pair->bearer,
                           &pair->propagation, 1, NULL, 0);
}

static SpateMedium *
medium_of(const Pair *pair, const SpateLinks *links, uint64_t seed, uint32_t replication)
{
    SpateMediumPlan plan = {.links = links,
                            .nodes = pair->nodes,
                            .radios = pair->radios,
                            .noise_rise_db = pair->noise_rise_db,
                            .bearers = &pair->bearer,
                            .propagation = &pair->propagation,
                            .fading = &pair->fading,
                            .bearer_hash = &pair->bearer_hash,
                            .ambient = &pair->ambient,
                            .n_nodes = 2,
                            .n_radios = 2,
                            .n_bearers = 1,
                            .n_ambient = 1,
                            .seed = seed,
                            .replication = replication};
    return spate_medium_new(&plan, NULL);
}

static double
level_dbm(const SpateMedium *medium, uint32_t sender, uint32_t receiver)
{
    const SpateRowPart *part = &medium->parts[sender];
    for (uint32_t i = part->begin; i < part->end; i++)
        if (medium->receiver[i] == receiver)
            return spate_medium_level_dbm(medium, receiver, medium->power[i]);
    return -INFINITY;
}

START_TEST(shadowing_weakens_a_link_by_what_is_told_of_it)
{
    Pair pair = usual_pair();
    pair.propagation.shadowing = (SpateShadowing){.sigma_db = 6.0, .shared = 0.5, .redraw = true};
    g_autoptr(SpateLinks) links = links_of(&pair);
    for (uint32_t replication = 0; replication < 10; replication++) {
        g_autoptr(SpateMedium) medium = medium_of(&pair, links, 5, replication);
        SpateLink link;
        ck_assert(spate_links_budget(links, 0, 1, &link, NULL));
        double loss_db = spate_links_shadowing_db(links, 0, 1, 5, replication);
        ck_assert_double_ne(loss_db, 0.0);
        ck_assert_double_eq_tol(level_dbm(medium, 0, 1), link.received_dbm - loss_db, 1e-4);
    }
}
END_TEST

static double
margin_db(const SpateMedium *medium, uint32_t sender, uint32_t receiver)
{
    const SpateRowPart *part = &medium->parts[sender];
    for (uint32_t i = part->begin; i < part->end; i++)
        if (medium->receiver[i] == receiver)
            return spate_medium_margin_db(medium, receiver, medium->power[i]);
    return -INFINITY;
}

/* Man-made noise, Rec. ITU-R P.372: it adds to the noise, and so to what has to arrive. */
START_TEST(noise_rise_costs_its_receiver_that_much_of_every_margin)
{
    Pair pair = usual_pair();
    g_autoptr(SpateLinks) links = links_of(&pair);
    g_autoptr(SpateMedium) quiet = medium_of(&pair, links, 5, 0);
    pair.noise_rise_db[1] = 10.0;
    g_autoptr(SpateMedium) noisy = medium_of(&pair, links, 5, 0);
    ck_assert_double_eq_tol(margin_db(noisy, 0, 1), margin_db(quiet, 0, 1) - 10.0, 1e-4);
    ck_assert_double_eq_tol(margin_db(noisy, 1, 0), margin_db(quiet, 1, 0), 1e-4);
    ck_assert_double_eq_tol(level_dbm(noisy, 0, 1), level_dbm(quiet, 0, 1), 1e-4);
}
END_TEST

START_TEST(other_peoples_traffic_has_the_budget_of_a_link)
{
    /* 869.5 MHz, 500 m, free space: 85.2126 dB (Rec. ITU-R P.525).  10 dBm - 85.2126 + 3 dBi
     * - 0.5 dB feeder - 4 dB site = -76.7126 dBm. */
    Pair pair = usual_pair();
    pair.radios[0].antenna.gain_dbi = 3.0;
    pair.radios[0].feeder_loss_db = 0.5;
    pair.nodes[0].site_loss_db = 4.0;
    g_autoptr(SpateLinks) links = links_of(&pair);
    g_autoptr(SpateMedium) medium = medium_of(&pair, links, 5, 0);
    ck_assert_double_eq_tol(level_dbm(medium, 2, 0), -76.7126, 1e-4);
}
END_TEST

START_TEST(other_peoples_traffic_counts_as_noise)
{
    /* Its share is multiplied with the required SNR: -12.5 dB at SF9 (SX1276 data sheet). */
    Pair pair = usual_pair();
    g_autoptr(SpateLinks) links = links_of(&pair);
    g_autoptr(SpateMedium) medium = medium_of(&pair, links, 5, 0);
    ck_assert_uint_eq(medium->n_classes, 2);
    ck_assert_double_eq_tol(ldexp((double)medium->weights[1].weight_q32, -32),
                            spate_db_to_linear(-12.5), 1e-6);
}
END_TEST

/* ---- fading of frames ---------------------------------------------------------------------- */

/* Frames sent one after another, and the level of each at each radio. */
typedef struct {
    SpateChannel *channel;
    const SpateMedium *medium;
    uint64_t n_sent;
    uint32_t n_heard;
    double level_dbm[3]; /* of the last frame; NAN where it was not audible */
} Listener;

static void
send_frame(gpointer subject, uint32_t radio)
{
    Listener *listener = subject;
    spate_channel_begin(listener->channel, radio, AIRTIME_NS, 0, listener->n_sent++);
}

static void
note_levels(gpointer user, const SpateAirFrame *frame, const SpateReception *receptions, size_t n)
{
    Listener *listener = user;
    (void)frame;
    for (int i = 0; i < 3; i++)
        listener->level_dbm[i] = NAN;
    for (size_t i = 0; i < n; i++)
        listener->level_dbm[receptions[i].receiver] =
            spate_medium_level_dbm(listener->medium, receptions[i].receiver, receptions[i].power);
    listener->n_heard += (uint32_t)n;
}

static double
alike(uint32_t sender, uint32_t receiver, void *user)
{
    (void)sender;
    (void)receiver;
    return *(const double *)user;
}

typedef struct {
    SpateEventQueue *queue;
    SpateMedium *medium;
    Listener listener;
} Field;

static void
field_init(Field *field, Star *star, uint32_t n_nodes, double mean_dbm)
{
    field->queue = spate_event_queue_new();
    field->medium = star_medium(star, n_nodes, 14.0, alike, &mean_dbm);
    field->listener = (Listener){
        .channel = spate_channel_new(field->queue, field->medium, 5, 0, false),
        .medium = field->medium,
    };
    SpateChannelHooks hooks = {.outcomes = note_levels};
    spate_channel_set_hooks(field->listener.channel, &hooks, &field->listener);
}

static void
field_clear(Field *field)
{
    spate_channel_free(field->listener.channel);
    spate_event_queue_free(field->queue);
    spate_medium_unref(field->medium);
}

/* The levels of a frame that begins at that instant. */
static const double *
levels_at(Field *field, uint32_t sender, int64_t start_ns)
{
    spate_event_queue_schedule(field->queue, start_ns, SPATE_RANK_START, send_frame,
                               &field->listener, sender);
    while (spate_event_queue_run_next(field->queue))
        continue;
    return field->listener.level_dbm;
}

START_TEST(a_frame_fades_at_each_receiver_for_itself)
{
    Star star = {.bearer = star_lora(9, 8, 5), .fading = {.kind = SPATE_FADING_RAYLEIGH}};
    Field field;
    field_init(&field, &star, 3, -80.0);
    double before_dbm = 0.0;
    for (int64_t k = 0; k < 20; k++) {
        const double *level = levels_at(&field, 0, k * 2 * AIRTIME_NS);
        ck_assert_double_gt(fabs(level[1] - level[2]), 1e-3);
        ck_assert_double_gt(fabs(level[1] - before_dbm), 1e-3);
        before_dbm = level[1];
    }
    field_clear(&field);
}
END_TEST

START_TEST(within_a_block_fading_is_the_same_both_ways)
{
    const int64_t block_ns = 60 * SPATE_NS_PER_S;
    Star star = {.bearer = star_lora(9, 8, 5),
                 .fading = {.kind = SPATE_FADING_RAYLEIGH, .coherence_ns = block_ns}};
    Field field;
    field_init(&field, &star, 2, -80.0);
    double before_dbm = 0.0;
    for (int64_t k = 0; k < 10; k++) {
        double there_dbm = levels_at(&field, 0, k * block_ns)[1];
        double back_dbm = levels_at(&field, 1, k * block_ns + 2 * AIRTIME_NS)[0];
        ck_assert_double_eq_tol(there_dbm, back_dbm, 1e-6);
        ck_assert_double_gt(fabs(there_dbm - before_dbm), 1e-3);
        before_dbm = there_dbm;
    }
    field_clear(&field);
}
END_TEST

START_TEST(a_frame_takes_the_block_in_which_it_starts)
{
    const int64_t block_ns = 60 * SPATE_NS_PER_S;
    Star star = {.bearer = star_lora(9, 8, 5),
                 .fading = {.kind = SPATE_FADING_RAYLEIGH, .coherence_ns = block_ns}};
    Field field;
    field_init(&field, &star, 2, -80.0);
    double early_dbm = levels_at(&field, 0, 0)[1];
    double last_dbm = levels_at(&field, 0, block_ns - 1)[1];
    double next_dbm = levels_at(&field, 0, 2 * block_ns)[1];
    ck_assert_double_eq_tol(last_dbm, early_dbm, 1e-6);
    ck_assert_double_gt(fabs(next_dbm - early_dbm), 1e-3);
    field_clear(&field);
}
END_TEST

/* Rayleigh: the power exceeds x times its mean with a probability of exp(-x) (Rappaport, 2nd ed.,
 * 5.6.1).  3 dB below the sensitivity on average: exp(-2) of the frames are heard. */
START_TEST(fading_lifts_some_frames_over_the_sensitivity)
{
    Star star = {.bearer = star_lora(9, 8, 5), .fading = {.kind = SPATE_FADING_RAYLEIGH}};
    Field field;
    field_init(&field, &star, 2,
               spate_bearer_sensitivity_dbm(&star.bearer) - spate_linear_to_db(2.0));
    const uint32_t n = 4000;
    for (uint32_t k = 0; k < n; k++)
        levels_at(&field, 0, k * 2 * AIRTIME_NS);
    double p = exp(-2.0);
    ck_assert_double_eq_tol(field.listener.n_heard, n * p, 4.0 * sqrt(n * p * (1.0 - p)));
    field_clear(&field);
}
END_TEST

CHECK_MAIN("draws", shadowing_weakens_a_link_by_what_is_told_of_it,
           noise_rise_costs_its_receiver_that_much_of_every_margin,
           other_peoples_traffic_has_the_budget_of_a_link, other_peoples_traffic_counts_as_noise,
           a_frame_fades_at_each_receiver_for_itself, within_a_block_fading_is_the_same_both_ways,
           a_frame_takes_the_block_in_which_it_starts,
           fading_lifts_some_frames_over_the_sensitivity)
