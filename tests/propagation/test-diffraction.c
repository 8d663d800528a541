/* test-diffraction.c - diffraction against the ITU's examples and worked values */
#include "propagation/diffraction.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

#define FOUR_THIRDS_M (4.0 / 3.0 * 6371e3)

typedef struct {
    GArray *distance_m, *ground_m;
    SpateProfile profile;
} Ground;

static Ground
ground_of(const char *file, double first_m, double last_m)
{
    g_autofree char *path = g_strconcat("terrain/", file, NULL);
    g_autoptr(Reference) rows = reference_read(path);
    Ground ground = {
        g_array_new(FALSE, FALSE, sizeof(double)), g_array_new(FALSE, FALSE, sizeof(double)), {0}};
    for (guint i = 0; i < rows->rows->len; i++) {
        double distance_m = reference_number(rows, i, "distance_km") * 1e3;
        double ground_m = reference_number(rows, i, "height_m");
        g_array_append_val(ground.distance_m, distance_m);
        g_array_append_val(ground.ground_m, ground_m);
    }
    guint n = ground.ground_m->len;
    ground.profile = (SpateProfile){
        .distance_m = (const double *)(const void *)ground.distance_m->data,
        .ground_m = (const double *)(const void *)ground.ground_m->data,
        .n_points = n,
        .first_m = g_array_index(ground.ground_m, double, 0) + first_m,
        .last_m = g_array_index(ground.ground_m, double, n - 1) + last_m,
    };
    return ground;
}

static void
ground_clear(Ground *ground)
{
    g_array_unref(ground->distance_m);
    g_array_unref(ground->ground_m);
}

/* All figures of one example; the earth's radius of the examples is 8500 km. */
static void
check_example(const Reference *rows, guint i, double earth_radius_m, double tolerance)
{
    Ground ground =
        ground_of(reference_text(rows, i, "profile"), reference_number(rows, i, "sender_height_m"),
                  reference_number(rows, i, "receiver_height_m"));
    double frequency_hz = reference_number(rows, i, "frequency_mhz") * 1e6;
    SpateObstacle obstacle = spate_profile_obstacle(&ground.profile, earth_radius_m);
    const struct {
        const char *column;
        double value;
    } figures[] = {
        {"smooth_sender_height_m", obstacle.first_m},
        {"smooth_receiver_height_m", obstacle.last_m},
        {"bullington_actual_db",
         spate_bullington_db(obstacle.edge, obstacle.distance_m, frequency_hz)},
        {"bullington_smooth_db",
         spate_bullington_db(obstacle.smooth_edge, obstacle.distance_m, frequency_hz)},
        {"spherical_earth_db", spate_spherical_earth_db(&obstacle, frequency_hz)},
        {"diffraction_db", spate_diffraction_db(&obstacle, frequency_hz)},
    };
    for (size_t k = 0; k < G_N_ELEMENTS(figures); k++) {
        double wanted = reference_number(rows, i, figures[k].column);
        ck_assert_msg(fabs(figures[k].value - wanted) <= tolerance, "%s, %s: %.6f, not %.6f",
                      reference_text(rows, i, "id"), figures[k].column, figures[k].value, wanted);
    }
    ground_clear(&ground);
}

START_TEST(all_parts_agree_with_the_examples_of_the_itu)
{
    /* Heights are exact; losses to 0.006 dB, as the examples take the speed of light as 3e8 m/s.
     * Over 4/3 of 6371 km (docs/model.md) they differ by 0.03 dB at most. */
    g_autoptr(Reference) rows = reference_read("terrain/delta-bullington.csv");
    for (guint i = 0; i < rows->rows->len; i++) {
        check_example(rows, i, 8500e3, 0.006);
        check_example(rows, i, FOUR_THIRDS_M, 0.1);
    }
    ck_assert_uint_eq(rows->rows->len, 10);
}
END_TEST

START_TEST(a_knife_edge_costs_what_is_tabled)
{
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *model = reference_text(rows, i, "model");
        double value = reference_number(rows, i, "value"), nu = reference_input(rows, i, "nu");
        if (!g_str_has_prefix(model, "knife-edge"))
            continue;
        n++;
        if (isnan(nu)) {
            double near_m = reference_input(rows, i, "d1_m"),
                   far_m = reference_input(rows, i, "d2_m");
            double f_hz = reference_input(rows, i, "f_mhz") * 1e6;
            nu = G_SQRT2 * reference_input(rows, i, "h_m") /
                 spate_fresnel_radius_m(near_m, far_m, f_hz);
        }
        if (strcmp(reference_text(rows, i, "quantity"), "nu") == 0)
            ck_assert_double_eq_tol(nu, value, reference_tolerance(rows, i) + 1e-12);
        else if (strcmp(model, "knife-edge-approx") == 0)
            ck_assert_double_eq_tol(spate_knife_edge_db(nu), value, reference_tolerance(rows, i));
        else if (nu > -0.78) /* the exact curve: P.526 gives an approximation of it */
            ck_assert_double_eq_tol(spate_knife_edge_db(nu), value, 0.13);
    }
    ck_assert_int_eq(n, 46);
}
END_TEST

START_TEST(fresnel_zones_are_as_wide_as_tabled)
{
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "fresnel-radius") != 0)
            continue;
        double radius_m = spate_fresnel_radius_m(reference_input(rows, i, "d1_m"),
                                                 reference_input(rows, i, "d2_m"),
                                                 reference_input(rows, i, "f_mhz") * 1e6);
        ck_assert_double_eq_tol(radius_m, reference_number(rows, i, "value"),
                                reference_tolerance(rows, i));
        n++;
    }
    ck_assert_int_eq(n, 6);
    ck_assert_double_eq(spate_fresnel_radius_m(0, 0, 868e6), 0.0);
}
END_TEST

/* Ground of 101 points over so many kilometres, flat but for one point in the middle. */
static SpateObstacle
wedge_obstacle(double length_m, double top_m, double antenna_m, double earth_radius_m)
{
    double distance_m[101], ground_m[101] = {0};
    for (int i = 0; i <= 100; i++)
        distance_m[i] = length_m * i / 100.0;
    ground_m[50] = top_m;
    SpateProfile profile = {distance_m, ground_m, 101, antenna_m, antenna_m};
    return spate_profile_obstacle(&profile, earth_radius_m);
}

START_TEST(a_wedge_is_a_knife_edge)
{
    /* 10 km, antennas at 10 m, a wall of 60 m half way: on an earth that is all but flat, nu is
     * 50 m sqrt(2 * 10000 / (lambda * 5000^2)) (P.526-16, equation 26). */
    SpateObstacle obstacle = wedge_obstacle(10e3, 60.0, 10.0, 1e12);
    double wavelength_m = 299792458.0 / 900e6;
    double nu = 50.0 * sqrt(2.0 * 10e3 / (wavelength_m * 5e3 * 5e3));
    ck_assert_double_eq_tol(obstacle.edge * sqrt(1.0 / wavelength_m), nu, 1e-5);
    double edge_db = spate_knife_edge_db(nu);
    ck_assert_double_eq_tol(spate_bullington_db(obstacle.edge, 10e3, 900e6),
                            edge_db + (1.0 - exp(-edge_db / 6.0)) * 10.2, 1e-5);
    /* Below the line the same point counts, with the other sign. */
    obstacle = wedge_obstacle(10e3, 8.0, 10.0, 1e12);
    ck_assert_double_eq_tol(obstacle.edge * sqrt(1.0 / wavelength_m), nu * -2.0 / 50.0, 1e-5);
}
END_TEST

START_TEST(a_plane_costs_what_the_spherical_earth_does)
{
    /* The smooth surface of a plane is that plane: both of Bullington's parts are the same, and
     * what is more than they is left of the spherical earth.  Over the horizon it is more. */
    SpateObstacle obstacle = wedge_obstacle(60e3, 0.0, 10.0, FOUR_THIRDS_M);
    ck_assert_double_eq_tol(obstacle.first_m, 10.0, 1e-9);
    ck_assert_double_eq_tol(obstacle.last_m, 10.0, 1e-9);
    ck_assert_double_eq(obstacle.edge, obstacle.smooth_edge);
    double sphere_db = spate_spherical_earth_db(&obstacle, 900e6);
    ck_assert_double_gt(sphere_db, spate_bullington_db(obstacle.edge, 60e3, 900e6));
    ck_assert_double_eq_tol(spate_diffraction_db(&obstacle, 900e6), sphere_db, 1e-9);
    /* In sight with room to spare, nothing. */
    obstacle = wedge_obstacle(1e3, 0.0, 30.0, FOUR_THIRDS_M);
    ck_assert_double_eq(spate_diffraction_db(&obstacle, 900e6), 0.0);
}
END_TEST

START_TEST(antennas_on_the_ground_lose_a_finite_amount)
{
    const double heights_m[] = {0.0, 1e-9, 1.0};
    for (size_t i = 0; i < G_N_ELEMENTS(heights_m); i++)
        for (double length_m = 1.0; length_m < 2e6; length_m *= 3.0) {
            SpateObstacle obstacle = wedge_obstacle(length_m, 0.0, heights_m[i], FOUR_THIRDS_M);
            double loss_db = spate_diffraction_db(&obstacle, 900e6);
            ck_assert_msg(isfinite(loss_db) && loss_db >= 0.0, "%g m, %g m: %g dB", heights_m[i],
                          length_m, loss_db);
        }
}
END_TEST

START_TEST(the_way_back_loses_the_same)
{
    double distance_m[40], there_m[40], back_m[40];
    for (int i = 0; i < 40; i++) {
        distance_m[i] = 100.0 * i;
        there_m[i] = 40.0 * sin(0.3 * i) + i;
    }
    for (int i = 0; i < 40; i++)
        back_m[i] = there_m[39 - i];
    SpateProfile there = {distance_m, there_m, 40, there_m[0] + 2.0, there_m[39] + 15.0};
    SpateProfile back = {distance_m, back_m, 40, there.last_m, there.first_m};
    SpateObstacle one = spate_profile_obstacle(&there, FOUR_THIRDS_M);
    SpateObstacle other = spate_profile_obstacle(&back, FOUR_THIRDS_M);
    ck_assert_double_gt(spate_diffraction_db(&one, 868e6), 1.0);
    ck_assert_double_eq_tol(spate_diffraction_db(&one, 868e6), spate_diffraction_db(&other, 868e6),
                            1e-9);
}
END_TEST

CHECK_MAIN("diffraction", all_parts_agree_with_the_examples_of_the_itu,
           a_knife_edge_costs_what_is_tabled, fresnel_zones_are_as_wide_as_tabled,
           a_wedge_is_a_knife_edge, a_plane_costs_what_the_spherical_earth_does,
           antennas_on_the_ground_lose_a_finite_amount, the_way_back_loses_the_same)
