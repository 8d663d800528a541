/* test-position.c - ways between places in a plane and on the ellipsoid */
#include "core/random.h"
#include "ground/position.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>

#define RAD (G_PI / 180.0)

static SpatePosition
on_earth(double latitude_deg, double longitude_deg)
{
    SpatePosition at = {.is_geographic = true};
    at.latitude_deg = latitude_deg;
    at.longitude_deg = longitude_deg;
    return at;
}

static SpatePosition
end_of(const Reference *rows, guint row, int number)
{
    return on_earth(reference_number(rows, row, number == 1 ? "lat1_deg" : "lat2_deg"),
                    reference_number(rows, row, number == 1 ? "lon1_deg" : "lon2_deg"));
}

START_TEST(ways_are_those_of_the_published_geodesics)
{
    g_autoptr(Reference) rows = reference_read("geodesics.csv");
    ck_assert_uint_eq(rows->rows->len, 5);
    for (guint i = 0; i < rows->rows->len; i++) {
        SpatePosition from = end_of(rows, i, 1), to = end_of(rows, i, 2);
        double distance_m = reference_number(rows, i, "distance_m");
        double tolerance_m = reference_number(rows, i, "tolerance_m");
        double azimuth_deg = reference_number(rows, i, "azimuth_deg");
        ck_assert_double_eq_tol(spate_ground_distance_m(from, to), distance_m, tolerance_m);
        ck_assert_double_eq_tol(spate_ground_distance_m(to, from), distance_m, tolerance_m);
        /* The direction of a short way moves with the last digit of its ends. */
        ck_assert_double_eq_tol(spate_bearing_deg(from, to), azimuth_deg, 1e-8);

        SpatePosition there = spate_position_towards(from, azimuth_deg, distance_m);
        ck_assert_double_lt(spate_ground_distance_m(there, to), 2.0 * tolerance_m);
        ck_assert(there.is_geographic);
    }
}
END_TEST

/* A geodesic leaves the parallel: on the northern half it sets out to the north of east. */
START_TEST(bearings_turn_from_north_to_east_on_the_ellipsoid_too)
{
    SpatePosition here = on_earth(60, 10);
    ck_assert_double_eq_tol(spate_bearing_deg(here, on_earth(61, 10)), 0.0, 1e-12);
    /* A node at the same place lies to the north. */
    ck_assert_double_eq_tol(spate_bearing_deg(here, here), 0.0, 1e-12);
    ck_assert_double_eq_tol(spate_bearing_deg(here, on_earth(59, 10)), 180.0, 1e-12);
    double east_deg = spate_bearing_deg(here, on_earth(60, 11));
    double west_deg = spate_bearing_deg(here, on_earth(60, 9));
    ck_assert_double_eq_tol(east_deg + west_deg, 360.0, 1e-9);
    /* On a sphere half of the longitude times the sine of the latitude: 0.43 deg. */
    ck_assert_double_eq_tol(90.0 - east_deg, 0.5 * sin(60 * RAD), 0.005);
}
END_TEST

START_TEST(neither_a_meridian_nor_a_pole_is_an_edge)
{
    double across_m = spate_ground_distance_m(on_earth(10, 179.99), on_earth(10, -179.99));
    double within_m = spate_ground_distance_m(on_earth(10, 20.01), on_earth(10, 20.03));
    ck_assert_double_eq_tol(across_m, within_m, 1e-6);
    ck_assert_double_eq_tol(spate_bearing_deg(on_earth(0, 179.99), on_earth(0, -179.99)), 90, 1e-9);

    SpatePosition pole = on_earth(90, 77);
    ck_assert_double_eq(spate_ground_distance_m(pole, on_earth(90, -20)), 0.0);
    ck_assert_double_eq(spate_distance_m(pole, on_earth(90, -20)), 1.0);
    double to_one_side_m = spate_ground_distance_m(pole, on_earth(89.99, 0));
    double over_m = spate_ground_distance_m(on_earth(89.99, 0), on_earth(89.99, 180));
    ck_assert_double_eq_tol(over_m, 2.0 * to_one_side_m, 1e-6);

    SpatePosition beyond = spate_position_towards(on_earth(0, 179.999), 90, 1000);
    ck_assert_double_lt(beyond.longitude_deg, -179.99);
}
END_TEST

START_TEST(heights_count_on_the_ellipsoid_as_in_the_plane)
{
    SpatePosition low = on_earth(46, 7), high = on_earth(46, 7.01);
    low.height_m = 2, high.height_m = 12, high.ground_m = 300, low.ground_m = 10;
    double ground_m = spate_ground_distance_m(low, high);
    ck_assert_double_eq_tol(spate_distance_m(low, high), hypot(ground_m, 300), 1e-9);
    ck_assert_double_eq_tol(spate_distance_m(high, low), hypot(ground_m, 300), 1e-9);
    high = low, high.height_m = 12;
    ck_assert_double_eq_tol(spate_distance_m(low, high), 10, 1e-9);
}
END_TEST

static void
check_share(SpatePosition from, SpatePosition to, double share)
{
    SpatePosition at = spate_position_between(from, to, share);
    double way_m = spate_ground_distance_m(from, to);
    ck_assert_double_eq_tol(spate_ground_distance_m(from, at), share * way_m, 1e-6);
    ck_assert_double_eq_tol(spate_ground_distance_m(at, to), (1.0 - share) * way_m, 1e-6);
    ck_assert_double_eq_tol(at.height_m, from.height_m + share * (to.height_m - from.height_m),
                            1e-12);
    ck_assert_double_eq(at.ground_m, 0);
}

START_TEST(a_share_of_a_way_is_one_of_its_length_and_height)
{
    SpatePosition a = on_earth(10, 179.9), b = on_earth(10.2, -179.9);
    SpatePosition c = {.x_m = -100, .y_m = 50}, d = {.x_m = 300, .y_m = 20};
    a.height_m = 3, b.height_m = 9, a.ground_m = 70, c.height_m = 1, c.ground_m = 5;
    for (int i = 0; i <= 4; i++) {
        check_share(a, b, i / 4.0);
        check_share(c, d, i / 4.0);
    }
    SpatePosition there = spate_position_towards(c, 120, 10);
    ck_assert_double_eq_tol(spate_ground_distance_m(c, there), 10, 1e-12);
    ck_assert_double_eq_tol(spate_bearing_deg(c, there), 120, 1e-9);
    ck_assert_double_eq(there.height_m, 1);
}
END_TEST

/* The strip of the ellipsoid between two parallels, by the midpoint rule over the product of the
 * radii of curvature and the cosine; a^2 and the longitude left out. */
static double
strip(double from_deg, double to_deg)
{
    enum { N = 20000 };
    const double f = 1.0 / 298.257223563, e2 = f * (2.0 - f);
    double sum = 0, step = (to_deg - from_deg) * RAD / N;
    for (int i = 0; i < N; i++) {
        double angle = from_deg * RAD + (i + 0.5) * step;
        sum += cos(angle) * step * (1.0 - e2) / pow(1.0 - e2 * sin(angle) * sin(angle), 2.0);
    }
    return sum;
}

START_TEST(a_parallel_leaves_the_wanted_share_of_the_area)
{
    const double cases[][2] = {{-90, 90}, {0, 90}, {59, 61}, {61, 59}, {-10, 3}, {89.9, 90}};
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++)
        for (int k = 1; k < 4; k++) {
            double from_deg = cases[i][0], to_deg = cases[i][1];
            double at_deg = spate_parallel_between_deg(from_deg, to_deg, k / 4.0);
            ck_assert_double_eq_tol(strip(from_deg, at_deg) / strip(from_deg, to_deg), k / 4.0,
                                    1e-7);
        }
    ck_assert_double_eq(spate_parallel_between_deg(45, 45, 0.3), 45);
    ck_assert_double_eq_tol(spate_parallel_between_deg(-20, 50, 0), -20, 1e-12);
    ck_assert_double_eq_tol(spate_parallel_between_deg(-20, 50, 1), 50, 1e-12);
}
END_TEST

/* The whole earth: 510 065 622 km^2 (published with GeographicLib, from memory), by the formula
 * itself: the share of a known cap. */
START_TEST(a_tenth_of_the_earth_lies_where_it_should)
{
    double at_deg = spate_parallel_between_deg(90, -90, 0.1);
    ck_assert_double_eq_tol(2 * G_PI * 6378.137 * 6378.137 * strip(at_deg, 90), 51006562.2, 1.0);
}
END_TEST

static double
chord_m(SpatePosition a, SpatePosition b)
{
    double from_m[3], to_m[3];
    spate_position_in_space(a, from_m);
    spate_position_in_space(b, to_m);
    return sqrt(pow(from_m[0] - to_m[0], 2.0) + pow(from_m[1] - to_m[1], 2.0) +
                pow(from_m[2] - to_m[2], 2.0));
}

START_TEST(a_chord_is_no_longer_than_the_way)
{
    /* NIMA TR8350.2, table 3.3: semi-minor axis of WGS 84 (from memory). */
    double pole_m[3];
    spate_position_in_space(on_earth(90, 0), pole_m);
    ck_assert_double_eq_tol(pole_m[2], 6356752.3142, 1e-4);
    ck_assert_double_eq_tol(chord_m(on_earth(0, 0), on_earth(0, 180)), 2 * 6378137.0, 1e-6);

    SpateRandom random = spate_random_stream(1, 1);
    for (int i = 0; i < 2000; i++) {
        SpatePosition from =
            on_earth(180 * spate_random_unit(&random) - 90, 360 * spate_random_unit(&random) - 180);
        double away_m = pow(10.0, 1.0 + 6.0 * spate_random_unit(&random));
        SpatePosition to = spate_position_towards(from, 360 * spate_random_unit(&random), away_m);
        double straight_m = chord_m(from, to);
        ck_assert_double_le(straight_m, away_m + 1e-6);
        /* An arc a is longer than its chord by a share of a^2 / 24. */
        double arc = away_m / 6335439.0; /* the sharpest bend: a (1 - e^2) */
        ck_assert_double_ge(straight_m, away_m * (1.0 - arc * arc / 24.0) - 1e-6);
    }
    SpatePosition here = {.x_m = 3, .height_m = 50}, there = {.y_m = 4, .ground_m = 7};
    ck_assert_double_eq(chord_m(here, there), 5.0);
}
END_TEST

CHECK_MAIN("position", ways_are_those_of_the_published_geodesics,
           bearings_turn_from_north_to_east_on_the_ellipsoid_too,
           neither_a_meridian_nor_a_pole_is_an_edge, heights_count_on_the_ellipsoid_as_in_the_plane,
           a_share_of_a_way_is_one_of_its_length_and_height,
           a_parallel_leaves_the_wanted_share_of_the_area,
           a_tenth_of_the_earth_lies_where_it_should, a_chord_is_no_longer_than_the_way)
