/* test-moving.c - a medium in which nodes move: its links, and frames on the air meanwhile */
#include "channel/channel.h"
#include "channel/star.h"
#include "core/random.h"
#include "core/units.h"
#include "support/check-main.h"

#include <math.h>

#define N_NODES   14
#define N_BEARERS 3
#define N_AMBIENT 2
#define SIDE_M    40000.0

/* Nodes on a square, some with two radios: on SF9, on SF12 beside it that fades, on 2.4 GHz. */
typedef struct {
    SpateNodeSite nodes[N_NODES];
    double isolation_db[N_NODES];
    bool moves[N_NODES];
    uint32_t n_radios;
    SpateRadioSite radios[2 * N_NODES];
    double noise_rise_db[2 * N_NODES];
    SpateBearer bearers[N_BEARERS];
    SpatePropagation propagation[N_BEARERS];
    SpateFading fading[N_BEARERS];
    uint64_t bearer_hash[N_BEARERS];
    SpateAmbientSite ambient[N_AMBIENT];
    SpateGivenLoss given[1];
    SpateRandom random;
} Field;

static double
drawn(Field *field, double from, double to)
{
    return from + (to - from) * spate_random_unit(&field->random);
}

static SpatePosition
drawn_place(Field *field)
{
    return (SpatePosition){.x_m = drawn(field, 0.0, SIDE_M),
                           .y_m = drawn(field, 0.0, SIDE_M),
                           .height_m = drawn(field, 1.0, 20.0)};
}

static void
add_radio(Field *field, uint32_t node, uint32_t bearer)
{
    uint32_t r = field->n_radios++;
    field->radios[r] = (SpateRadioSite){
        .node = node,
        .bearer = bearer,
        .power_dbm = drawn(field, 0.0, 20.0),
        .antenna = {.gain_dbi = 5.0, .front_to_back_db = 25.0, .azimuth_deg = 30.0 * node},
        .feeder_loss_db = 1.0,
    };
    field->radios[r].antenna.beamwidth_deg = node % 3 == 0 ? 60.0 : 0.0;
    field->noise_rise_db[r] = node % 2;
}

static void
field_init(Field *field, uint64_t seed)
{
    *field = (Field){
        .bearers = {star_lora(9, 8, 5), star_lora(12, 12, 5), star_dsss(250000)},
        .fading = {[1] = {.kind = SPATE_FADING_RAYLEIGH}},
        .bearer_hash = {1, 2, 3},
        .ambient = {{.bearer = 0, .name_hash = 4, .power_dbm = 10.0},
                    {.bearer = 2, .name_hash = 5, .everywhere = true, .power_dbm = -95.0}},
        .given = {{0, 3, -1, 120.0}},
        .random = spate_random_stream(seed, 1),
    };
    /* On the channel of the first: its frames disturb, as do those of the first here. */
    field->bearers[1].modulation.centre_hz = 869500000;
    for (uint32_t b = 0; b < N_BEARERS; b++)
        field->propagation[b] = (SpatePropagation){
            .model = {.kind = b == 1 ? SPATE_PATH_TWO_RAY : SPATE_PATH_LOG_DISTANCE,
                      .exponent = 3.0,
                      .intercept_loss_db = NAN}};
    field->ambient[0].position = drawn_place(field);
    for (uint32_t i = 0; i < N_NODES; i++) {
        field->nodes[i] = (SpateNodeSite){
            .position = drawn_place(field), .site_loss_db = i % 4, .name_hash = 100 + i};
        field->isolation_db[i] = 40.0;
        field->moves[i] = i % 4 == 0;
        add_radio(field, i, i % N_BEARERS);
        if (i % 2 == 0 && i % N_BEARERS < 2)
            add_radio(field, i, i % N_BEARERS + 1);
    }
}

static SpateMedium *
field_medium(const Field *field, bool with_moves)
{
    g_autoptr(SpateLinks) links =
        spate_links_new(field->nodes, N_NODES, field->isolation_db, field->radios, field->n_radios,
                        field->bearers, field->propagation, N_BEARERS, field->given, 1);
    SpateMediumPlan plan = {.links = links,
                            .nodes = field->nodes,
                            .radios = field->radios,
                            .noise_rise_db = field->noise_rise_db,
                            .bearers = field->bearers,
                            .propagation = field->propagation,
                            .fading = field->fading,
                            .bearer_hash = field->bearer_hash,
                            .ambient = field->ambient,
                            .moves = with_moves ? field->moves : NULL,
                            .n_nodes = N_NODES,
                            .n_radios = field->n_radios,
                            .n_bearers = N_BEARERS,
                            .n_ambient = N_AMBIENT,
                            .seed = 7};
    SpateMedium *medium = spate_medium_new(&plan, NULL);
    ck_assert_ptr_nonnull(medium);
    return medium;
}

static double
level_dbm(const SpateMedium *medium, uint32_t sender, uint32_t receiver)
{
    const SpateRowPart *part =
        &medium->parts[sender * medium->n_bearers + medium->bearer[receiver]];
    for (uint32_t i = part->begin; i < part->end; i++)
        if (medium->receiver[i] == receiver)
            return spate_medium_level_dbm(medium, receiver, medium->power[i]);
    return -INFINITY;
}

/* One of those that move, to a place anywhere, or beside another. */
static void
move_one(Field *field, SpateMedium *medium, uint64_t number)
{
    uint32_t node = 4 * (uint32_t)spate_random_below(&field->random, (N_NODES + 3) / 4);
    SpatePosition to = drawn_place(field);
    if (number % 5 == 0) {
        to = field->nodes[spate_random_below(&field->random, N_NODES)].position;
        to.x_m += 3.0;
    }
    to.height_m = field->nodes[node].position.height_m;
    field->nodes[node].position = to;
    const SpateMove move = {.node = node, .number = number, .gone_m = 10.0, .to = to};
    ck_assert(spate_medium_move(medium, &move, NULL));
}

static void
assert_same_rows(const SpateMedium *a, const SpateMedium *b)
{
    ck_assert_uint_eq(a->n_links, b->n_links);
    for (uint32_t i = 0; i < a->n_senders * a->n_bearers; i++) {
        const SpateRowPart *of_a = &a->parts[i], *of_b = &b->parts[i];
        ck_assert_uint_eq(of_a->audible_end - of_a->begin, of_b->audible_end - of_b->begin);
        ck_assert_uint_eq(of_a->end - of_a->begin, of_b->end - of_b->begin);
        for (uint32_t k = 0; k < of_a->end - of_a->begin; k++) {
            ck_assert_uint_eq(a->receiver[of_a->begin + k], b->receiver[of_b->begin + k]);
            ck_assert_uint_eq(a->power[of_a->begin + k], b->power[of_b->begin + k]);
        }
    }
    for (uint32_t r = 0; r < a->n_radios; r++) {
        ck_assert_uint_eq(a->budget[r], b->budget[r]);
        ck_assert_double_eq(a->unit_mw[r], b->unit_mw[r]);
    }
}

START_TEST(after_a_move_all_links_are_those_of_a_medium_built_there)
{
    size_t fewest = SIZE_MAX, most = 0;
    for (uint64_t seed = 0; seed < 20; seed++) {
        Field field;
        field_init(&field, seed);
        g_autoptr(SpateMedium) medium = field_medium(&field, true);
        for (uint64_t n = 1; n <= 30; n++) {
            move_one(&field, medium, n);
            g_autoptr(SpateMedium) anew = field_medium(&field, true);
            assert_same_rows(medium, anew);
            fewest = MIN(fewest, medium->n_links);
            most = MAX(most, medium->n_links);
        }
    }
    /* Links came and went. */
    ck_assert_uint_gt(most, fewest + 30);
}
END_TEST

START_TEST(levels_are_those_of_a_medium_in_which_nothing_moves)
{
    Field field;
    field_init(&field, 3);
    g_autoptr(SpateMedium) medium = field_medium(&field, true);
    for (uint64_t n = 1; n <= 10; n++)
        move_one(&field, medium, n);
    g_autoptr(SpateMedium) still = field_medium(&field, false);

    ck_assert_uint_eq(medium->n_links, still->n_links);
    for (uint32_t s = 0; s < still->n_senders; s++)
        for (uint32_t r = 0; r < still->n_radios; r++) {
            double there_dbm = level_dbm(still, s, r);
            double floor_dbm = spate_medium_level_dbm(still, r, still->budget[r]);
            if (there_dbm > floor_dbm - 20.0)
                ck_assert_double_eq_tol(level_dbm(medium, s, r), there_dbm, 5e-3);
        }
}
END_TEST

START_TEST(sums_keep_within_their_bits_wherever_all_have_been)
{
    Field field;
    field_init(&field, 4);
    for (uint32_t r = 0; r < field.n_radios; r++)
        field.radios[r].power_dbm = 90.0;
    for (uint32_t b = 0; b < N_BEARERS; b++)
        field.propagation[b].model.kind = SPATE_PATH_FREE_SPACE;
    g_autoptr(SpateMedium) medium = field_medium(&field, true);
    g_autofree double *highest = g_new0(double, field.n_radios * medium->n_senders);
    for (uint64_t n = 1; n <= 400; n++) {
        move_one(&field, medium, 5 * n);
        for (uint32_t s = 0; s < medium->n_senders; s++)
            for (uint32_t b = 0; b < N_BEARERS; b++) {
                const SpateRowPart *part = &medium->parts[s * N_BEARERS + b];
                for (uint32_t i = part->begin; i < part->end; i++) {
                    double *at = &highest[medium->receiver[i] * medium->n_senders + s];
                    *at = fmax(*at, (double)medium->power[i]);
                }
            }
    }
    /* Frames on the air may each be as loud as their sender ever was. */
    double worst = 0.0;
    for (uint32_t r = 0; r < field.n_radios; r++) {
        double sum = 0.0;
        for (uint32_t s = 0; s < medium->n_senders; s++) {
            const SpateWeight *weight =
                &medium->weights[medium->bearer[r] * medium->n_classes + medium->sender_class[s]];
            double gain = spate_fading_highest_gain(&field.fading[medium->bearer[s]]);
            sum += highest[r * medium->n_senders + s] * gain *
                   (1.0 + ldexp((double)weight->weight_q32, -32));
        }
        worst = fmax(worst, sum);
    }
    ck_assert_double_lt(worst, 0x1.001p62);
    ck_assert_double_gt(worst, 0x1p61);
    /* Nor does any crowd the others out: each has at least 80 dB above what can be decoded. */
    g_autoptr(SpateMedium) still = field_medium(&field, false);
    for (uint32_t s = 0; s < still->n_senders; s++)
        for (uint32_t r = 0; r < field.n_radios; r++) {
            double most_dbm = spate_medium_level_dbm(still, r, still->budget[r]) + 80.0;
            ck_assert_double_ge(level_dbm(medium, s, r),
                                fmin(level_dbm(still, s, r), most_dbm) - 0.01);
        }
}
END_TEST

/* A fade multiplies what a level was rounded by, too: weak links must not be rounded to the coarse
 * units of a medium in which nodes move before they fade. */
START_TEST(levels_that_fade_are_known_as_well_as_where_nothing_moves)
{
    Field field;
    field_init(&field, 6);
    g_autoptr(SpateMedium) medium = field_medium(&field, true);
    for (uint64_t n = 1; n <= 40; n++)
        move_one(&field, medium, n);
    g_autoptr(SpateMedium) still = field_medium(&field, false);
    uint32_t n_weak = 0;
    for (uint32_t s = 0; s < medium->n_radios; s++) {
        const SpateRowPart *part = &medium->parts[s * N_BEARERS + 1];
        const SpateRowPart *still_part = &still->parts[s * N_BEARERS + 1];
        for (uint32_t i = part->begin; i < part->end; i++)
            for (uint32_t k = still_part->begin; k < still_part->end; k++) {
                double budget = (double)still->budget[medium->receiver[i]];
                double level = (double)still->power[k] / budget;
                if (still->receiver[k] != medium->receiver[i] || level > 1.0)
                    continue;
                ck_assert_double_eq_tol(medium->level[i], level, 1.0 / budget);
                n_weak++;
            }
    }
    ck_assert_uint_ge(n_weak, 10);
}
END_TEST

/* ---- frames on the air ----------------------------------------------------------------------- */

/* Node 1 moves: beside node 0, which it hears, or to where it hears nobody.  Node 2 stays as far
 * from node 0 as the test says. */
#define FAR_M      5000e3
#define AIRTIME_NS (200 * SPATE_NS_PER_MS)

typedef struct {
    SpateNodeSite nodes[3];
    bool moves[3];
    SpateBearer bearer;
    SpatePropagation propagation;
    SpateFading fading;
    SpateEventQueue *queue;
    SpateMedium *medium;
    SpateChannel *channel;
    GArray *outcomes; /* SpateReception, of all frames */
    GArray *senders;  /* uint32_t, of them */
    SpatePosition to;
    uint64_t n_steps;
} Stroll;

static void
note(gpointer user, const SpateAirFrame *frame, const SpateReception *receptions, size_t n)
{
    Stroll *stroll = user;
    g_array_append_vals(stroll->outcomes, receptions, (guint)n);
    for (size_t i = 0; i < n; i++)
        g_array_append_val(stroll->senders, frame->sender);
}

static void
stroll_init(Stroll *stroll, SpateFadingKind fading, double third_m)
{
    *stroll = (Stroll){
        .nodes = {{.name_hash = 1},
                  {.name_hash = 2, .position = {.x_m = 100.0}},
                  {.name_hash = 3, .position = {.x_m = third_m}}},
        .moves = {false, true, false},
        .bearer = star_lora(9, 8, 5),
        .propagation = {.model = {.kind = SPATE_PATH_FREE_SPACE}},
        .fading = {.kind = fading},
    };
    const double zero[3] = {0};
    const SpateRadioSite radios[] = {{.node = 0, .power_dbm = 14.0},
                                     {.node = 1, .power_dbm = 14.0},
                                     {.node = 2, .power_dbm = 14.0}};
    const uint64_t hash = 1;
    g_autoptr(SpateLinks) links = spate_links_new(
        stroll->nodes, 3, zero, radios, 3, &stroll->bearer, &stroll->propagation, 1, NULL, 0);
    SpateMediumPlan plan = {.links = links,
                            .nodes = stroll->nodes,
                            .radios = radios,
                            .noise_rise_db = zero,
                            .bearers = &stroll->bearer,
                            .propagation = &stroll->propagation,
                            .fading = &stroll->fading,
                            .bearer_hash = &hash,
                            .moves = stroll->moves,
                            .n_nodes = 3,
                            .n_radios = 3,
                            .n_bearers = 1};
    stroll->medium = spate_medium_new(&plan, NULL);
    stroll->queue = spate_event_queue_new();
    stroll->channel = spate_channel_new(stroll->queue, stroll->medium, 1, 0, true);
    stroll->outcomes = g_array_new(FALSE, FALSE, sizeof(SpateReception));
    stroll->senders = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    const SpateChannelHooks hooks = {.outcomes = note};
    spate_channel_set_hooks(stroll->channel, &hooks, stroll);
}

static void
stroll_clear(Stroll *stroll)
{
    spate_channel_check(stroll->channel);
    spate_channel_free(stroll->channel);
    spate_event_queue_free(stroll->queue);
    spate_medium_unref(stroll->medium);
    g_array_free(stroll->outcomes, TRUE);
    g_array_free(stroll->senders, TRUE);
}

static void
begin(gpointer subject, uint32_t radio)
{
    spate_channel_begin(((Stroll *)subject)->channel, radio, AIRTIME_NS, 0, radio);
}

static void
step(gpointer subject, uint32_t x_km)
{
    Stroll *stroll = subject;
    const SpateMove move = {.node = 1,
                            .number = ++stroll->n_steps,
                            .gone_m = 10.0,
                            .to = {.x_m = 100.0 + 1000.0 * x_km}};
    spate_channel_keep_losses(stroll->channel);
    ck_assert(spate_medium_move(stroll->medium, &move, NULL));
    spate_channel_check(stroll->channel);
}

static void
send_at(Stroll *stroll, int64_t at_ns, uint32_t radio)
{
    spate_event_queue_schedule(stroll->queue, at_ns, SPATE_RANK_START, begin, stroll, radio);
}

/* Node 1 is at 100 m + that many km from then on. */
static void
step_at(Stroll *stroll, int64_t at_ns, uint32_t x_km)
{
    spate_event_queue_schedule(stroll->queue, at_ns, SPATE_RANK_SWITCH, step, stroll, x_km);
}

static void
play(Stroll *stroll)
{
    spate_event_queue_run_until(stroll->queue, 100 * AIRTIME_NS, NULL);
}

static void
assert_outcome(const Stroll *stroll, guint i, uint32_t sender, uint32_t receiver,
               SpateOutcome outcome)
{
    ck_assert_uint_lt(i, stroll->outcomes->len);
    const SpateReception *reception = &g_array_index(stroll->outcomes, SpateReception, i);
    ck_assert_uint_eq(g_array_index(stroll->senders, uint32_t, i), sender);
    ck_assert_uint_eq(reception->receiver, receiver);
    ck_assert_int_eq(reception->outcome, outcome);
}

START_TEST(a_frame_keeps_to_its_end_the_losses_with_which_it_began)
{
    Stroll stroll;
    stroll_init(&stroll, SPATE_FADING_NONE, FAR_M);
    /* It walks away under a frame to it, and under one of its own; comes back under others. */
    send_at(&stroll, 0, 0);
    step_at(&stroll, AIRTIME_NS / 2, 4000);
    send_at(&stroll, 2 * AIRTIME_NS, 0);
    step_at(&stroll, 2 * AIRTIME_NS + AIRTIME_NS / 2, 0);
    send_at(&stroll, 4 * AIRTIME_NS, 1);
    step_at(&stroll, 4 * AIRTIME_NS + AIRTIME_NS / 2, 4000);
    send_at(&stroll, 6 * AIRTIME_NS, 1);
    step_at(&stroll, 6 * AIRTIME_NS + AIRTIME_NS / 2, 0);
    play(&stroll);

    ck_assert_uint_eq(stroll.outcomes->len, 2);
    assert_outcome(&stroll, 0, 0, 1, SPATE_OUTCOME_RECEIVED);
    assert_outcome(&stroll, 1, 1, 0, SPATE_OUTCOME_RECEIVED);
    stroll_clear(&stroll);
}
END_TEST

START_TEST(a_step_comes_before_a_frame_that_begins_at_its_instant)
{
    Stroll stroll;
    stroll_init(&stroll, SPATE_FADING_NONE, FAR_M);
    send_at(&stroll, AIRTIME_NS, 0);
    step_at(&stroll, AIRTIME_NS, 4000);
    send_at(&stroll, 3 * AIRTIME_NS, 0);
    step_at(&stroll, 3 * AIRTIME_NS, 0);
    play(&stroll);

    ck_assert_uint_eq(stroll.outcomes->len, 1);
    assert_outcome(&stroll, 0, 0, 1, SPATE_OUTCOME_RECEIVED);
    stroll_clear(&stroll);
}
END_TEST

/* The power of a frame, which faded or not is that at its start; the channel's check in step()
 * adds all up anew. */
START_TEST(a_frame_that_fades_keeps_its_powers_too)
{
    Stroll stroll;
    stroll_init(&stroll, SPATE_FADING_RAYLEIGH, FAR_M);
    for (int64_t i = 0; i < 10; i++) {
        send_at(&stroll, 3 * i * AIRTIME_NS, 0);
        step_at(&stroll, 3 * i * AIRTIME_NS + AIRTIME_NS / 3, 4000);
        step_at(&stroll, 3 * i * AIRTIME_NS + AIRTIME_NS / 2, 1);
        step_at(&stroll, 3 * i * AIRTIME_NS + 2 * AIRTIME_NS, 0);
    }
    play(&stroll);
    for (guint i = 0; i < stroll.outcomes->len; i++)
        assert_outcome(&stroll, i, 0, 1, SPATE_OUTCOME_RECEIVED);
    ck_assert_uint_eq(stroll.outcomes->len, 10);
    stroll_clear(&stroll);
}
END_TEST

/* Node 1 begins far from all and comes close; node 2, which does not hear it, sends to node 0. */
START_TEST(what_disturbs_is_as_weak_as_it_was_at_its_start)
{
    Stroll stroll;
    stroll_init(&stroll, SPATE_FADING_NONE, 3000.0);
    step_at(&stroll, 0, 4000);
    send_at(&stroll, 1, 1);
    step_at(&stroll, AIRTIME_NS / 4, 0);
    send_at(&stroll, AIRTIME_NS / 2, 2);
    play(&stroll);

    ck_assert_uint_eq(stroll.outcomes->len, 2);
    assert_outcome(&stroll, 0, 2, 0, SPATE_OUTCOME_RECEIVED);
    assert_outcome(&stroll, 1, 2, 1, SPATE_OUTCOME_LOST_SENDING);
    stroll_clear(&stroll);
}
END_TEST

CHECK_MAIN("moving", after_a_move_all_links_are_those_of_a_medium_built_there,
           levels_are_those_of_a_medium_in_which_nothing_moves,
           sums_keep_within_their_bits_wherever_all_have_been,
           levels_that_fade_are_known_as_well_as_where_nothing_moves,
           a_frame_keeps_to_its_end_the_losses_with_which_it_began,
           a_step_comes_before_a_frame_that_begins_at_its_instant,
           a_frame_that_fades_keeps_its_powers_too, what_disturbs_is_as_weak_as_it_was_at_its_start)
