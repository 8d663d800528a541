/* test-track.c - ways of nodes that move, by hand */
#include "core/time.h"
#include "propagation/track.h"
#include "support/check-main.h"

static const SpatePosition HOME = {.x_m = 0.0, .y_m = 0.0, .height_m = 1.5};

/* 30 m east, then 40 m north; heights of points do not count. */
static const SpatePosition CORNER[] = {{.x_m = 30.0, .height_m = 99.0}, {.x_m = 30.0, .y_m = 40.0}};

static const SpateTrackPlan ROUND_THE_CORNER = {
    .points = CORNER, .n_points = 2, .speed_m_per_s = 1.5, .from_ns = 10 * SPATE_NS_PER_S};

static void
assert_step(const SpateTrack *track, uint64_t number, int64_t at_ns, double gone_m, double x_m,
            double y_m)
{
    SpateTrackStep step;
    ck_assert(spate_track_step(track, number, &step));
    ck_assert_int_eq(step.at_ns, at_ns);
    ck_assert_double_eq_tol(step.gone_m, gone_m, 1e-9);
    ck_assert_double_eq_tol(step.position.x_m, x_m, 1e-9);
    ck_assert_double_eq_tol(step.position.y_m, y_m, 1e-9);
    ck_assert_double_eq(step.position.height_m, HOME.height_m);
}

START_TEST(a_node_is_at_the_next_place_when_it_has_gone_a_step)
{
    g_autoptr(SpateTrack) track = spate_track_new(HOME, &ROUND_THE_CORNER, 20.0);
    assert_step(track, 1, 23333333333, 20.0, 20.0, 0.0);
    assert_step(track, 2, 36666666667, 20.0, 30.0, 10.0);
    assert_step(track, 3, 50 * SPATE_NS_PER_S, 20.0, 30.0, 30.0);
}
END_TEST

START_TEST(the_last_step_ends_at_the_last_point)
{
    g_autoptr(SpateTrack) track = spate_track_new(HOME, &ROUND_THE_CORNER, 20.0);
    assert_step(track, 4, 56666666667, 10.0, 30.0, 40.0);
    SpateTrackStep step;
    ck_assert(!spate_track_step(track, 5, &step));
    ck_assert(!spate_track_step(track, 1000, &step));
}
END_TEST

START_TEST(a_way_of_whole_steps_has_no_further_one)
{
    g_autoptr(SpateTrack) track = spate_track_new(HOME, &ROUND_THE_CORNER, 35.0);
    assert_step(track, 2, 10 * SPATE_NS_PER_S + 46666666667, 35.0, 30.0, 40.0);
    SpateTrackStep step;
    ck_assert(!spate_track_step(track, 3, &step));
}
END_TEST

START_TEST(a_step_longer_than_the_way_is_all_of_it)
{
    g_autoptr(SpateTrack) track = spate_track_new(HOME, &ROUND_THE_CORNER, 1000.0);
    assert_step(track, 1, 56666666667, 70.0, 30.0, 40.0);
}
END_TEST

START_TEST(there_and_back_steps_go_on_over_the_turns)
{
    SpateTrackPlan plan = ROUND_THE_CORNER;
    plan.back = true;
    g_autoptr(SpateTrack) track = spate_track_new(HOME, &plan, 20.0);
    assert_step(track, 4, 10 * SPATE_NS_PER_S + 53333333333, 20.0, 30.0, 30.0); /* 80 of 70 m */
    assert_step(track, 6, 90 * SPATE_NS_PER_S, 20.0, 20.0, 0.0);
    assert_step(track, 7, 10 * SPATE_NS_PER_S + 93333333333, 20.0, 0.0, 0.0);
    assert_step(track, 8, 10 * SPATE_NS_PER_S + 106666666667, 20.0, 20.0, 0.0);
    assert_step(track, 7 * 1000 + 8, 10 * SPATE_NS_PER_S + 93440000000000, 20.0, 20.0, 0.0);
}
END_TEST

START_TEST(points_may_repeat)
{
    const SpatePosition points[] = {HOME, {.x_m = 10.0}, {.x_m = 10.0}, {.x_m = 10.0, .y_m = 10.0}};
    const SpateTrackPlan plan = {.points = points, .n_points = 4, .speed_m_per_s = 1.0};
    g_autoptr(SpateTrack) track = spate_track_new(HOME, &plan, 5.0);
    assert_step(track, 2, 10 * SPATE_NS_PER_S, 5.0, 10.0, 0.0);
    assert_step(track, 3, 15 * SPATE_NS_PER_S, 5.0, 10.0, 5.0);
}
END_TEST

START_TEST(who_has_nowhere_to_go_has_no_way)
{
    const SpatePosition same[] = {HOME, HOME};
    const SpateTrackPlan nowhere = {.points = same, .n_points = 2, .speed_m_per_s = 1.0};
    const SpateTrackPlan none = {0};
    ck_assert_ptr_null(spate_track_new(HOME, &nowhere, 10.0));
    ck_assert_ptr_null(spate_track_new(HOME, &none, 10.0));
}
END_TEST

START_TEST(a_way_that_takes_longer_than_any_clock_counts_ends_unfinished)
{
    SpateTrackPlan plan = ROUND_THE_CORNER;
    plan.speed_m_per_s = 1e-9;
    g_autoptr(SpateTrack) slow = spate_track_new(HOME, &plan, 1.0);
    SpateTrackStep step;
    assert_step(slow, 3, 10 * SPATE_NS_PER_S + 3000000000000000000, 1.0, 3.0, 0.0);
    ck_assert(!spate_track_step(slow, 5, &step));
    plan.from_ns = INT64_MAX - 1;
    g_autoptr(SpateTrack) late = spate_track_new(HOME, &plan, 1.0);
    ck_assert(!spate_track_step(late, 1, &step));
}
END_TEST

/* A degree of latitude from the equator on is 110,574 m, of longitude 111,319 m (WGS 84, the
 * meridian arc and the equator's circle; from memory). */
START_TEST(on_the_ellipsoid_ways_are_geodesics)
{
    const SpatePosition start = {.is_geographic = true, .height_m = 2.0};
    const SpatePosition north = {.latitude_deg = 1.0, .is_geographic = true};
    const SpateTrackPlan plan = {.points = &north, .n_points = 1, .speed_m_per_s = 1000.0};
    g_autoptr(SpateTrack) track = spate_track_new(start, &plan, 55287.0);
    SpateTrackStep step;
    ck_assert(spate_track_step(track, 1, &step));
    ck_assert_double_eq_tol(step.position.latitude_deg, 0.5, 1e-4);
    ck_assert_double_eq_tol(step.position.longitude_deg, 0.0, 1e-9);
    ck_assert_double_eq(step.position.height_m, 2.0);
    ck_assert_int_eq(step.at_ns, 55287 * SPATE_NS_PER_MS);
}
END_TEST

CHECK_MAIN("track", a_node_is_at_the_next_place_when_it_has_gone_a_step,
           the_last_step_ends_at_the_last_point, a_way_of_whole_steps_has_no_further_one,
           a_step_longer_than_the_way_is_all_of_it, there_and_back_steps_go_on_over_the_turns,
           points_may_repeat, who_has_nowhere_to_go_has_no_way,
           a_way_that_takes_longer_than_any_clock_counts_ends_unfinished,
           on_the_ellipsoid_ways_are_geodesics)
