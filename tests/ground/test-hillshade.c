/* test-hillshade.c - planes whose shade is known, and what is not there
 *
 * On a plane z = a x + b y the normal is (-a, -b, 1) / sqrt(1 + a^2 + b^2), and the light comes
 * from
 * (-1/2, 1/2, sqrt(1/2)): the shades below are worked out by hand.
 */
#include "ground/hillshade.h"
#include "support/check-main.h"

#include <math.h>

#define EAST_M  30.0
#define NORTH_M 20.0

/* Of the plane that rises so much eastwards and northwards. */
static double
shade_of_plane(double rise_east, double rise_north)
{
    double heights_m[9];
    for (int i = 0; i < 9; i++)
        heights_m[i] = 500.0 + rise_east * EAST_M * (i % 3) - rise_north * NORTH_M * (i / 3);
    return spate_hillshade(heights_m, EAST_M, NORTH_M);
}

START_TEST(level_ground_has_the_sine_of_the_height_of_the_light)
{
    ck_assert_double_eq_tol(shade_of_plane(0.0, 0.0), sqrt(0.5), 1e-12);
}
END_TEST

START_TEST(a_slope_of_45_degrees_that_faces_the_light_is_full)
{
    /* It falls to the north-west, so it rises to the south-east. */
    ck_assert_double_eq_tol(shade_of_plane(sqrt(0.5), -sqrt(0.5)), 1.0, 1e-12);
}
END_TEST

START_TEST(slopes_that_face_other_ways_are_as_the_cosine_says)
{
    /* To the north: (0 + 1/2 + sqrt(1/2)) / sqrt(2); to the east: (-1/2 + sqrt(1/2)) / sqrt(2). */
    ck_assert_double_eq_tol(shade_of_plane(0.0, -1.0), 0.5 + sqrt(0.125), 1e-12);
    ck_assert_double_eq_tol(shade_of_plane(-1.0, 0.0), 0.5 - sqrt(0.125), 1e-12);
    /* To the south-west by 1 in 1: the light comes from the side. */
    ck_assert_double_eq_tol(shade_of_plane(sqrt(0.5), sqrt(0.5)), 0.5, 1e-12);
}
END_TEST

START_TEST(what_turns_away_from_the_light_is_dark)
{
    ck_assert_double_eq(shade_of_plane(-5.0, 5.0), 0.0);
    ck_assert_double_eq_tol(shade_of_plane(-sqrt(0.5), sqrt(0.5)), 0.0, 1e-12);
}
END_TEST

START_TEST(neighbours_beside_a_point_count_twice)
{
    /* Only the eastern one is higher, by 8 steps' rise: 2 * 8 / 8. */
    const double beside_m[9] = {0, 0, 0, 0, 0, 8, 0, 0, 0};
    ck_assert_double_eq_tol(spate_hillshade(beside_m, 1.0, 1.0),
                            (sqrt(0.5) + 0.5 * 2.0) / sqrt(5.0), 1e-12);
    /* Only the north-eastern one: 8 / 8 both ways. */
    const double corner_m[9] = {0, 0, 8, 0, 0, 0, 0, 0, 0};
    ck_assert_double_eq_tol(spate_hillshade(corner_m, 1.0, 1.0), sqrt(0.5) / sqrt(3.0), 1e-12);
}
END_TEST

START_TEST(where_a_height_is_missing_there_is_no_shade)
{
    for (int i = 0; i < 9; i++) {
        double heights_m[9] = {0};
        heights_m[i] = NAN;
        ck_assert(isnan(spate_hillshade(heights_m, 1.0, 1.0)));
    }
}
END_TEST

CHECK_MAIN("hillshade", level_ground_has_the_sine_of_the_height_of_the_light,
           a_slope_of_45_degrees_that_faces_the_light_is_full,
           slopes_that_face_other_ways_are_as_the_cosine_says,
           what_turns_away_from_the_light_is_dark, neighbours_beside_a_point_count_twice,
           where_a_height_is_missing_there_is_no_shade)
