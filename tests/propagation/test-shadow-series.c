/* test-shadow-series.c - shadowing of pairs of which a node moves */
#include "core/random.h"
#include "propagation/shadow-series.h"
#include "radio/bearer.h"
#include "support/check-main.h"

#include <math.h>

#define N_NODES         5
#define DECORRELATION_M 40.0

/* Two bearers, of 8 dB and of 4 dB; nodes 1 and 3 move.  Losses from 0 to 4 on the first are
 * given. */
typedef struct {
    SpateNodeSite nodes[N_NODES];
    double isolation_db[N_NODES];
    SpateRadioSite radios[2 * N_NODES]; /* node, then bearer */
    SpateBearer bearers[2];
    SpatePropagation propagation[2];
    bool moves[N_NODES];
    SpateLinks *links;
    SpateShadowDraws *draws;
    SpateShadowSeries *series;
} Walk;

static void
walk_init(Walk *walk, uint32_t replication, double shared, bool redraw)
{
    *walk = (Walk){.moves = {[1] = true, [3] = true}};
    for (uint32_t b = 0; b < 2; b++)
        walk->propagation[b].shadowing = (SpateShadowing){.sigma_db = b == 0 ? 8.0 : 4.0,
                                                          .shared = shared,
                                                          .redraw = redraw,
                                                          .decorrelation_m = DECORRELATION_M};
    for (uint32_t i = 0; i < N_NODES; i++) {
        walk->nodes[i] = (SpateNodeSite){.position = {.x_m = 100.0 * i}, .name_hash = 70 - 9 * i};
        walk->radios[2 * i] = (SpateRadioSite){.node = i, .bearer = 0};
        walk->radios[2 * i + 1] = (SpateRadioSite){.node = i, .bearer = 1};
    }
    const SpateGivenLoss given = {1, 4, 0, 100.0};
    walk->links = spate_links_new(walk->nodes, N_NODES, walk->isolation_db, walk->radios,
                                  2 * N_NODES, walk->bearers, walk->propagation, 2, &given, 1);
    walk->draws = spate_links_draw_shadowing(walk->links, 1, replication);
    walk->series = spate_shadow_series_new(walk->links, walk->draws, walk->moves, 1, replication);
}

static void
walk_clear(Walk *walk)
{
    spate_shadow_series_free(walk->series);
    spate_shadow_draws_free(walk->draws);
    spate_links_free(walk->links);
}

/* On the first bearer. */
static double
between_db(const Walk *walk, uint32_t a, uint32_t b)
{
    return spate_shadow_series_db(walk->series, 2 * a, 2 * b);
}

START_TEST(a_series_begins_as_the_shadowing_of_any_pair)
{
    Walk walk;
    walk_init(&walk, 4, 0.5, true);
    for (uint32_t s = 0; s < 2 * N_NODES; s++)
        for (uint32_t r = 0; r < 2 * N_NODES; r++)
            if (s / 2 != r / 2 && (walk.moves[s / 2] || walk.moves[r / 2]))
                ck_assert_double_eq(spate_shadow_series_db(walk.series, s, r),
                                    spate_links_shadowing_db(walk.links, s, r, 1, 4));
    walk_clear(&walk);
}
END_TEST

START_TEST(it_is_the_same_both_ways_and_scales_on_all_bearers)
{
    Walk walk;
    walk_init(&walk, 4, 0.5, true);
    for (uint64_t n = 1; n <= 5; n++) {
        spate_shadow_series_step(walk.series, 1, 10.0, n);
        spate_shadow_series_step(walk.series, 3, 3.0, n);
    }
    ck_assert_double_ne(between_db(&walk, 1, 2), spate_links_shadowing_db(walk.links, 2, 4, 1, 4));
    ck_assert_double_eq(between_db(&walk, 1, 2), between_db(&walk, 2, 1));
    ck_assert_double_eq(between_db(&walk, 1, 3), between_db(&walk, 3, 1));
    ck_assert_double_eq_tol(between_db(&walk, 1, 3),
                            2.0 * spate_shadow_series_db(walk.series, 3, 7), 1e-12);
    walk_clear(&walk);
}
END_TEST

START_TEST(a_loss_that_is_given_is_not_shadowed)
{
    Walk walk;
    walk_init(&walk, 4, 0.5, true);
    spate_shadow_series_step(walk.series, 1, 10.0, 1);
    ck_assert_double_eq(between_db(&walk, 1, 4), 0.0);
    ck_assert_double_ne(between_db(&walk, 4, 1), 0.0);
    ck_assert_double_ne(spate_shadow_series_db(walk.series, 3, 9), 0.0);
    walk_clear(&walk);
}
END_TEST

/* By hand: what was, times exp(-d / decorrelation), and the rest new (docs/model.md). */
START_TEST(a_step_keeps_what_it_should_and_draws_the_rest)
{
    Walk walk;
    walk_init(&walk, 4, 0.5, true);
    double before_db = between_db(&walk, 3, 2), kept = exp(-15.0 / DECORRELATION_M);
    uint64_t key = spate_random_key(1, 4, SPATE_FOR_MOVE_SHADOWING);
    uint64_t pair = spate_hash_combine(70 - 9 * 3, 70 - 9 * 2);
    SpateRandom news =
        spate_random_stream(key, spate_hash_combine(pair, spate_hash_combine(70 - 9 * 3, 6)));
    spate_shadow_series_step(walk.series, 3, 15.0, 6);

    double expected_db =
        kept * before_db + 8.0 * sqrt(1.0 - kept * kept) * spate_random_normal(&news);
    ck_assert_double_eq_tol(between_db(&walk, 3, 2), expected_db, 1e-9);
    walk_clear(&walk);
}
END_TEST

START_TEST(what_is_drawn_once_is_so_on_the_way_too)
{
    Walk first, second;
    walk_init(&first, 4, 0.5, false);
    walk_init(&second, 9, 0.5, false);
    for (uint64_t n = 1; n <= 3; n++) {
        spate_shadow_series_step(first.series, 1, 10.0, n);
        spate_shadow_series_step(second.series, 1, 10.0, n);
    }
    ck_assert_double_eq(between_db(&first, 0, 1), between_db(&second, 0, 1));
    walk_clear(&first);
    walk_clear(&second);

    walk_init(&first, 4, 0.5, true);
    walk_init(&second, 9, 0.5, true);
    ck_assert_double_ne(between_db(&first, 0, 1), between_db(&second, 0, 1));
    walk_clear(&first);
    walk_clear(&second);
}
END_TEST

START_TEST(other_pairs_know_nothing_of_a_step)
{
    Walk walk;
    walk_init(&walk, 4, 0.5, true);
    double of_other_db = between_db(&walk, 3, 2);
    spate_shadow_series_step(walk.series, 1, 10.0, 1);
    ck_assert_double_eq(between_db(&walk, 3, 2), of_other_db);
    walk_clear(&walk);
}
END_TEST

CHECK_MAIN("shadow series", a_series_begins_as_the_shadowing_of_any_pair,
           it_is_the_same_both_ways_and_scales_on_all_bearers, a_loss_that_is_given_is_not_shadowed,
           a_step_keeps_what_it_should_and_draws_the_rest, what_is_drawn_once_is_so_on_the_way_too,
           other_pairs_know_nothing_of_a_step)
