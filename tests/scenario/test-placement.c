/* test-placement.c - places are uniform, inside, and independent of each other */
#include "core/random.h"
#include "scenario/placement.h"
#include "support/check-main.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#define N_CELLS  20
#define N_DRAWS  20000
#define SEED     7
#define HEIGHT_M 1.5

static SpatePlacement *
new_placement(SpatePlacementKind kind, const SpatePosition *points, uint32_t n_points)
{
    SpatePlacement *placement = g_new0(SpatePlacement, 1);
    placement->kind = kind;
    placement->name_hash = spate_hash_name("soil");
    placement->height_m = HEIGHT_M;
    placement->n_points = n_points;
    placement->points = g_memdup2(points, n_points * sizeof *points);
    return placement;
}

static SpatePlacement *
circle(void)
{
    const SpatePosition centre = {.x_m = 950, .y_m = -200};
    SpatePlacement *placement = new_placement(SPATE_PLACE_CIRCLE, &centre, 1);
    placement->radius_m = 250;
    return placement;
}

static SpatePlacement *
rectangle(void)
{
    /* The corners in either order. */
    const SpatePosition corners[] = {{.x_m = 100, .y_m = 900}, {.x_m = 300, .y_m = 400}};
    return new_placement(SPATE_PLACE_RECTANGLE, corners, 2);
}

/* An L of three unit squares of 100 m; without the one at the north-east. */
static SpatePlacement *
letter_l(void)
{
    const SpatePosition corners[] = {{.x_m = 0, .y_m = 0},     {.x_m = 200, .y_m = 0},
                                     {.x_m = 200, .y_m = 100}, {.x_m = 100, .y_m = 100},
                                     {.x_m = 100, .y_m = 200}, {.x_m = 0, .y_m = 200}};
    return new_placement(SPATE_PLACE_POLYGON, corners, G_N_ELEMENTS(corners));
}

static double
p_of_chi_square(const int *counts, int n_cells, double expected)
{
    double sum = 0;
    for (int i = 0; i < n_cells; i++)
        sum += (counts[i] - expected) * (counts[i] - expected) / expected;
    return gsl_cdf_chisq_Q(sum, n_cells - 1);
}

/* Whether a share of 0 to 1 that each place is given is uniform.  The seed is fixed, so the test is
 * too; a right generator would fail it for one seed in 1000. */
static void
check_uniform(const SpatePlacement *placement, double (*share)(SpatePosition at))
{
    int counts[N_CELLS] = {0};
    for (uint32_t i = 0; i < N_DRAWS; i++) {
        double at = share(spate_placement_at(placement, i, SEED, 0));
        ck_assert_double_ge(at, 0.0);
        ck_assert_double_lt(at, 1.0);
        counts[(int)(at * N_CELLS)]++;
    }
    ck_assert_double_gt(p_of_chi_square(counts, N_CELLS, (double)N_DRAWS / N_CELLS), 0.001);
}

/* The share of a circle's area that lies nearer to the centre grows with the square. */
static double
circle_area_share(SpatePosition at)
{
    double distance_m = hypot(at.x_m - 950, at.y_m + 200);
    return distance_m * distance_m / (250.0 * 250.0);
}

static double
circle_angle_share(SpatePosition at)
{
    return (atan2(at.y_m + 200, at.x_m - 950) + G_PI) / (2.0 * G_PI);
}

START_TEST(a_circle_is_filled_evenly)
{
    g_autoptr(SpatePlacement) placement = circle();
    check_uniform(placement, circle_area_share);
    check_uniform(placement, circle_angle_share);
}
END_TEST

static double
rectangle_x_share(SpatePosition at)
{
    return (at.x_m - 100) / 200;
}

static double
rectangle_y_share(SpatePosition at)
{
    return (900 - at.y_m) / 500;
}

START_TEST(a_rectangle_is_filled_evenly)
{
    g_autoptr(SpatePlacement) placement = rectangle();
    check_uniform(placement, rectangle_x_share);
    check_uniform(placement, rectangle_y_share);
}
END_TEST

/* x and y are drawn apart: all cells of a chessboard are met as often. */
START_TEST(the_two_coordinates_are_independent)
{
    g_autoptr(SpatePlacement) placement = rectangle();
    int counts[100] = {0};
    for (uint32_t i = 0; i < N_DRAWS; i++) {
        SpatePosition at = spate_placement_at(placement, i, SEED, 0);
        counts[10 * (int)(rectangle_x_share(at) * 10) + (int)(rectangle_y_share(at) * 10)]++;
    }
    ck_assert_double_gt(p_of_chi_square(counts, 100, N_DRAWS / 100.0), 0.001);
}
END_TEST

/* The twelve half-size squares of the L. */
START_TEST(a_concave_polygon_is_filled_evenly_and_never_left)
{
    g_autoptr(SpatePlacement) placement = letter_l();
    int counts[12] = {0};
    for (uint32_t i = 0; i < N_DRAWS; i++) {
        SpatePosition at = spate_placement_at(placement, i, SEED, 0);
        int column = (int)floor(at.x_m / 50), row = (int)floor(at.y_m / 50);
        ck_assert(column >= 0 && column < 4 && row >= 0 && row < 4);
        ck_assert_msg(column < 2 || row < 2, "%g, %g is outside", at.x_m, at.y_m);
        counts[row < 2 ? 4 * row + column : 8 + 2 * (row - 2) + column]++;
    }
    ck_assert_double_gt(p_of_chi_square(counts, 12, N_DRAWS / 12.0), 0.001);
}
END_TEST

/* A road of 1 m, slantwise over 10 km: it fills a 5000th of the box around it. */
START_TEST(a_narrow_polygon_is_met)
{
    const SpatePosition corners[] = {{.x_m = 0, .y_m = 0},
                                     {.x_m = 2, .y_m = 0},
                                     {.x_m = 10000, .y_m = 9998},
                                     {.x_m = 10000, .y_m = 10000}};
    g_autoptr(SpatePlacement) placement = new_placement(SPATE_PLACE_POLYGON, corners, 4);
    int n_far = 0;
    for (uint32_t i = 0; i < 400; i++) {
        SpatePosition at = spate_placement_at(placement, i, SEED, 0);
        double right_m = at.x_m - at.y_m;
        ck_assert(at.x_m != 0.0 && right_m >= 0.0 && right_m <= 2.0);
        n_far += at.x_m > 5000;
    }
    /* Binomial(400, 1/2) lies within 200 +- 40 but for one seed in 10^4. */
    ck_assert_int_ge(n_far, 160);
    ck_assert_int_le(n_far, 240);
}
END_TEST

START_TEST(what_lies_inside_is_told)
{
    const SpatePosition twice[] = {{.x_m = 0}, {.x_m = 9}, {.x_m = 9, .y_m = 9}, {.y_m = 9},
                                   {.x_m = 0}, {.x_m = 9}, {.x_m = 9, .y_m = 9}, {.y_m = 9}};
    g_autoptr(SpatePlacement) l = letter_l();
    g_autoptr(SpatePlacement) square = new_placement(SPATE_PLACE_POLYGON, twice, 4);
    g_autoptr(SpatePlacement) around_twice = new_placement(SPATE_PLACE_POLYGON, twice, 8);

    /* Three of four quarters; five standard deviations of 32768 draws. */
    ck_assert_double_eq_tol(spate_placement_share_inside(l), 0.75, 0.012);
    ck_assert_double_eq(spate_placement_share_inside(square), 1);
    ck_assert_double_eq(spate_placement_share_inside(around_twice), 0);
}
END_TEST

static SpatePosition
on_earth(double latitude_deg, double longitude_deg)
{
    SpatePosition at = {.is_geographic = true};
    at.latitude_deg = latitude_deg;
    at.longitude_deg = longitude_deg;
    return at;
}

/* From 50 to 70 degrees; the area up to a parallel goes with the sine of its latitude but for the
 * flattening, which moves it by less than a hundredth of what 20000 draws would show. */
static double
band_north_share(SpatePosition at)
{
    double from = sin(50 * G_PI / 180), to = sin(70 * G_PI / 180);
    return (sin(at.latitude_deg * G_PI / 180) - from) / (to - from);
}

static double
band_east_share(SpatePosition at)
{
    return remainder(at.longitude_deg - 170, 360) / 20;
}

/* Even over the area, not over the degrees: the half towards the equator has 60 % more room. */
START_TEST(a_rectangle_in_degrees_is_filled_evenly)
{
    const SpatePosition corners[] = {on_earth(50, 170), on_earth(70, 190)};
    g_autoptr(SpatePlacement) placement = new_placement(SPATE_PLACE_RECTANGLE, corners, 2);
    check_uniform(placement, band_north_share);
    check_uniform(placement, band_east_share);
    SpatePosition at = spate_placement_at(placement, 0, SEED, 0);
    ck_assert(at.is_geographic && at.height_m == HEIGHT_M);
}
END_TEST

/* The half of the rectangle that lies below its diagonal, in degrees. */
START_TEST(a_polygon_in_degrees_is_filled_evenly)
{
    const SpatePosition corners[] = {on_earth(50, 170), on_earth(50, 190), on_earth(70, 190)};
    g_autoptr(SpatePlacement) placement = new_placement(SPATE_PLACE_POLYGON, corners, 3);
    int n_south = 0;
    for (uint32_t i = 0; i < N_DRAWS; i++) {
        SpatePosition at = spate_placement_at(placement, i, SEED, 0);
        double east_deg = remainder(at.longitude_deg - 170, 360);
        ck_assert_double_ge(east_deg, at.latitude_deg - 50 - 1e-9);
        n_south += at.latitude_deg < 60;
    }
    /* The area from p to q goes with the sum of (70 - p) cos p: by parts
     * (70 - p) sin p - cos p, with angles in radians: 0.0948 of 0.1196 lie south of 60 degrees.
     * Four standard deviations are 1.2 %. */
    double r = G_PI / 180, all = 0, south = 0;
    for (double p = 50.005; p < 70; p += 0.01) {
        double strip = (70 - p) * cos(p * r);
        all += strip;
        south += p < 60 ? strip : 0;
    }
    ck_assert_double_eq_tol((double)n_south / N_DRAWS, south / all, 0.012);
}
END_TEST

static const double DISC_RADIUS_M = 5000;

static double
disc_area_share(SpatePosition at)
{
    double distance_m = spate_ground_distance_m(on_earth(89.99, 0), at);
    return distance_m * distance_m / (DISC_RADIUS_M * DISC_RADIUS_M);
}

static double
disc_bearing_share(SpatePosition at)
{
    return spate_bearing_deg(on_earth(89.99, 0), at) / 360;
}

/* Over the pole too: 1.1 km from its centre. */
START_TEST(a_circle_in_degrees_is_filled_evenly)
{
    const SpatePosition centre = on_earth(89.99, 0);
    g_autoptr(SpatePlacement) placement = new_placement(SPATE_PLACE_CIRCLE, &centre, 1);
    placement->radius_m = DISC_RADIUS_M;
    check_uniform(placement, disc_area_share);
    check_uniform(placement, disc_bearing_share);
}
END_TEST

START_TEST(heights_are_those_of_the_entry)
{
    g_autoptr(SpatePlacement) placement = letter_l();
    for (uint32_t i = 0; i < 100; i++)
        ck_assert_double_eq(spate_placement_at(placement, i, SEED, 0).height_m, HEIGHT_M);
}
END_TEST

START_TEST(given_places_are_kept)
{
    const SpatePosition points[] = {{.x_m = 1, .y_m = 2, .height_m = 3},
                                    {.x_m = 4, .y_m = 5, .height_m = 6}};
    g_autoptr(SpatePlacement) placement = new_placement(SPATE_PLACE_POINTS, points, 2);
    SpatePosition at = spate_placement_at(placement, 1, SEED, 3);

    ck_assert_double_eq(at.x_m, 4);
    ck_assert_double_eq(at.y_m, 5);
    ck_assert_double_eq(at.height_m, 6);
}
END_TEST

static bool
is_same_place(SpatePosition a, SpatePosition b)
{
    return a.x_m == b.x_m && a.y_m == b.y_m;
}

START_TEST(places_stay_over_replications_unless_redrawn)
{
    g_autoptr(SpatePlacement) placement = circle();
    SpatePosition first = spate_placement_at(placement, 5, SEED, 0);
    ck_assert(is_same_place(first, spate_placement_at(placement, 5, SEED, 19)));

    placement->redraw = true;
    SpatePosition redrawn = spate_placement_at(placement, 5, SEED, 0);
    ck_assert(!is_same_place(first, redrawn));
    ck_assert(!is_same_place(redrawn, spate_placement_at(placement, 5, SEED, 19)));
    ck_assert(is_same_place(redrawn, spate_placement_at(placement, 5, SEED, 0)));
}
END_TEST

START_TEST(places_depend_on_seed_entry_and_number)
{
    g_autoptr(SpatePlacement) soil = circle(), water = circle();
    water->name_hash = spate_hash_name("water");
    SpatePosition at = spate_placement_at(soil, 5, SEED, 0);

    ck_assert(!is_same_place(at, spate_placement_at(soil, 6, SEED, 0)));
    ck_assert(!is_same_place(at, spate_placement_at(soil, 5, SEED + 1, 0)));
    ck_assert(!is_same_place(at, spate_placement_at(water, 5, SEED, 0)));
}
END_TEST

/* Pearson's r of two groups' places: normal with 1 / sqrt(n) for independent ones. */
START_TEST(entries_are_independent_of_each_other)
{
    g_autoptr(SpatePlacement) soil = rectangle(), water = rectangle();
    water->name_hash = spate_hash_name("water");
    double sum = 0;
    for (uint32_t i = 0; i < N_DRAWS; i++) {
        double a = rectangle_x_share(spate_placement_at(soil, i, SEED, 0)) - 0.5;
        double b = rectangle_x_share(spate_placement_at(water, i, SEED, 0)) - 0.5;
        sum += a * b * 12.0; /* the variance of a uniform share is 1 / 12 */
    }
    ck_assert_double_lt(fabs(sum / sqrt(N_DRAWS)), 3.3);
}
END_TEST

CHECK_MAIN("placement", a_circle_is_filled_evenly, a_rectangle_is_filled_evenly,
           the_two_coordinates_are_independent, a_concave_polygon_is_filled_evenly_and_never_left,
           a_rectangle_in_degrees_is_filled_evenly, a_polygon_in_degrees_is_filled_evenly,
           a_circle_in_degrees_is_filled_evenly, a_narrow_polygon_is_met, what_lies_inside_is_told,
           heights_are_those_of_the_entry, given_places_are_kept,
           places_stay_over_replications_unless_redrawn, places_depend_on_seed_entry_and_number,
           entries_are_independent_of_each_other)
