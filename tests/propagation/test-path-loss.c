/* test-path-loss.c - path loss against worked values (tests/reference/propagation.csv) */
#include "core/random.h"
#include "propagation/path-loss.h"
#include "support/check-main.h"
#include "support/reference.h"

#include <math.h>
#include <string.h>

static double
loss_of_row(const Reference *rows, guint i, GError **error)
{
    const char *name = reference_text(rows, i, "model");
    double frequency_hz = reference_input(rows, i, "f_mhz") * 1e6;
    double d_km = reference_input(rows, i, "d_km");
    double distance_m = isnan(d_km) ? reference_input(rows, i, "d_m") : d_km * 1e3;
    SpatePathModel model = {.intercept_at_m = 1.0, .intercept_loss_db = NAN};
    SpatePosition a = {0}, b = {0};
    if (g_str_has_prefix(name, "free-space")) {
        model.kind = SPATE_PATH_FREE_SPACE;
    } else if (strcmp(name, "log-distance") == 0) {
        model.kind = SPATE_PATH_LOG_DISTANCE;
        model.exponent = reference_input(rows, i, "exponent");
        model.intercept_at_m = reference_input(rows, i, "d0_m");
        double given = reference_input(rows, i, "pl0_db");
        if (!isnan(given))
            model.intercept_loss_db = given;
    } else if (g_str_has_prefix(name, "two-ray")) {
        model.kind = SPATE_PATH_TWO_RAY;
        a.height_m = reference_input(rows, i, "h_tx_m");
        b.height_m = reference_input(rows, i, "h_rx_m");
    } else if (strcmp(name, "p1411-street-level") == 0) {
        g_autofree char *environment = reference_input_text(rows, i, "environment");
        model.kind = SPATE_PATH_STREET_LEVEL;
        model.environment =
            strcmp(environment, "urban") == 0 ? SPATE_STREET_URBAN : SPATE_STREET_SUBURBAN;
        model.location_share = reference_input(rows, i, "location_percent") / 100.0;
    } else {
        static const char *const AREAS[] = {"urban-medium", "urban-large", "suburban", "open"};
        g_autofree char *area = reference_input_text(rows, i, "environment");
        model.kind = SPATE_PATH_HATA;
        for (size_t k = 0; k < G_N_ELEMENTS(AREAS); k++)
            if (strcmp(AREAS[k], area) == 0)
                model.area = (SpateHataArea)k;
        a.height_m = reference_input(rows, i, "h_mobile_m");
        b.height_m = reference_input(rows, i, "h_base_m");
    }
    /* The rows' distances are straight lines. */
    double up_m = a.height_m - b.height_m;
    b.x_m = sqrt(distance_m * distance_m - up_m * up_m);
    return spate_path_loss_db(&model, frequency_hz, a, b, error);
}

/* Rows of what a model stands for, or rounds: judged by the distance from it. */
static bool
is_other_form(const Reference *rows, guint i)
{
    static const char *const FORMS[] = {"free-space-rounded", "two-ray-exact",
                                        "two-ray-plane-earth"};
    for (size_t k = 0; k < G_N_ELEMENTS(FORMS); k++)
        if (strcmp(reference_text(rows, i, "model"), FORMS[k]) == 0)
            return true;
    return false;
}

START_TEST(other_forms_of_a_model_are_near_it)
{
    /* Of free space: the handbook's 32.4 for 32.4478 dB.  Of two rays: beyond the crossover (a
     * loss above free space) the plane earth is what is used, and the exact sum lies at most 0.25
     * dB above it; before it free space is used, which two rays in phase beat by 6.02 dB at most,
     * and the plane earth would undercut. */
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    SpatePathModel free_space = {.kind = SPATE_PATH_FREE_SPACE};
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *model = reference_text(rows, i, "model");
        if (!is_other_form(rows, i))
            continue;
        double more_db = reference_number(rows, i, "value") - loss_of_row(rows, i, NULL);
        SpatePosition far = {.x_m = reference_input(rows, i, "d_m")};
        bool is_beyond = loss_of_row(rows, i, NULL) >
                         spate_path_loss_db(&free_space, reference_input(rows, i, "f_mhz") * 1e6,
                                            (SpatePosition){0}, far, NULL) +
                             1e-9;
        double least_db = -6.03, most_db = 6.03;
        if (strcmp(model, "free-space-rounded") == 0) {
            least_db = -0.0479;
            most_db = -0.0477;
        } else if (strcmp(model, "two-ray-plane-earth") == 0) {
            least_db = is_beyond ? -1e-6 : -INFINITY;
            most_db = is_beyond ? 1e-6 : 0.0;
        } else if (is_beyond) {
            least_db = 0.0;
            most_db = 0.25;
        }
        ck_assert_msg(more_db >= least_db && more_db <= most_db, "row %u, %s: %.6f dB", i + 2,
                      model, more_db);
        n++;
    }
    ck_assert_int_eq(n, 6 + 9 + 9);
}
END_TEST

START_TEST(four_decibels_are_a_known_ratio_of_distances)
{
    g_autoptr(Reference) rows = reference_read("ieee80211-dsss.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        SpatePathModel model = {
            .kind = SPATE_PATH_LOG_DISTANCE, .intercept_at_m = 1.0, .intercept_loss_db = NAN};
        if (strcmp(reference_text(rows, i, "quantity"), "distance_factor_of_4_db") != 0)
            continue;
        ck_assert_int_eq(
            sscanf(reference_text(rows, i, "condition"), "exponent %lf", &model.exponent), 1);
        SpatePosition near = {.x_m = 100.0},
                      far = {.x_m = 100.0 * reference_number(rows, i, "value")};
        ck_assert_double_eq_tol(
            spate_path_loss_db(&model, 2437e6, (SpatePosition){0}, far, NULL) -
                spate_path_loss_db(&model, 2437e6, (SpatePosition){0}, near, NULL),
            4.0, 2e-3);
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

START_TEST(every_model_gives_the_worked_values)
{
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        const char *model = reference_text(rows, i, "model");
        if (strcmp(reference_text(rows, i, "quantity"), "path_loss") != 0 || is_other_form(rows, i))
            continue;
        g_autoptr(GError) error = NULL;
        double loss_db = loss_of_row(rows, i, &error);
        ck_assert_msg(error == NULL, "row %u: %s", i + 2, error != NULL ? error->message : "");
        double tolerance = reference_tolerance(rows, i);
        ck_assert_msg(fabs(loss_db - reference_number(rows, i, "value")) <= tolerance,
                      "row %u, %s: %.9f dB, not %s", i + 2, model, loss_db,
                      reference_text(rows, i, "value"));
        n++;
    }
    /* free space 13, log-distance 11, two-ray 9, Hata 32, street level 7 */
    ck_assert_int_eq(n, 72);
}
END_TEST

START_TEST(a_street_is_in_sight_up_to_its_corner)
{
    /* P.1411-12, 4.3.1, as docs/model.md has it: the corner of half of all places is 79.2 - 70 *
     * 0.5 = 44.2 m away, the loss on its near side the median in sight, 20 m on that of the far
     * side. */
    SpatePathModel model = {
        .kind = SPATE_PATH_STREET_LEVEL, .environment = SPATE_STREET_URBAN, .location_share = 0.5};
    SpatePosition here = {0}, near = {.x_m = 44.2}, far = {.x_m = 64.2}, middle = {.x_m = 54.2};
    double near_db = 32.45 + 20.0 * log10(900.0 * 0.0442);
    double far_db = 9.5 + 45.0 * log10(900.0) + 40.0 * log10(0.0642) + 6.8;
    ck_assert_double_eq_tol(spate_path_loss_db(&model, 900e6, here, near, NULL), near_db, 1e-3);
    ck_assert_double_eq_tol(spate_path_loss_db(&model, 900e6, here, far, NULL), far_db, 1e-9);
    ck_assert_double_eq_tol(spate_path_loss_db(&model, 900e6, here, middle, NULL),
                            (near_db + far_db) / 2.0, 1e-3);
    /* Height counts: it is the distance between antennas. */
    SpatePosition up = {.x_m = 60.0, .height_m = 80.0}, level = {.x_m = 100.0};
    ck_assert_double_eq(spate_path_loss_db(&model, 900e6, here, up, NULL),
                        spate_path_loss_db(&model, 900e6, here, level, NULL));
}
END_TEST

START_TEST(hata_says_where_it_does_not_hold)
{
    static const struct {
        double f_hz, base_m, mobile_m, d_m;
        const char *says;
    } cases[] = {{2437e6, 30, 2, 2000, "150 to 1500 MHz"},
                 {868e6, 12, 2, 2000, "30 to 200 m"},
                 {868e6, 30, 0.5, 2000, "1 to 10 m"},
                 {868e6, 30, 2, 500, "1 to 20 km"}};
    SpatePathModel model = {.kind = SPATE_PATH_HATA};
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autoptr(GError) error = NULL;
        SpatePosition a = {.height_m = cases[i].base_m},
                      b = {.x_m = cases[i].d_m, .height_m = cases[i].mobile_m};
        ck_assert(isnan(spate_path_loss_db(&model, cases[i].f_hz, a, b, &error)));
        ck_assert_ptr_nonnull(error);
        ck_assert_msg(strstr(error->message, cases[i].says) != NULL, "%s", error->message);
    }
}
END_TEST

START_TEST(two_ray_leaves_free_space_at_the_crossover)
{
    g_autoptr(Reference) rows = reference_read("propagation.csv");
    SpatePathModel two_ray = {.kind = SPATE_PATH_TWO_RAY}, free_space = {SPATE_PATH_FREE_SPACE};
    int n = 0;
    for (guint i = 0; i < rows->rows->len; i++) {
        if (strcmp(reference_text(rows, i, "model"), "two-ray-crossover") != 0)
            continue;
        double f_hz = reference_input(rows, i, "f_mhz") * 1e6;
        SpatePosition a = {.height_m = reference_input(rows, i, "h_tx_m")};
        SpatePosition b = {.height_m = reference_input(rows, i, "h_rx_m")};
        double crossover_m = reference_number(rows, i, "value");
        double up_m = a.height_m - b.height_m;
        /* Before it no difference; 1 % behind it 20 dB a decade more, 0.0864 dB. */
        for (int behind = 0; behind <= 1; behind++) {
            double distance_m = crossover_m * (behind ? 1.01 : 1.0 - 1e-6);
            b.x_m = sqrt(distance_m * distance_m - up_m * up_m);
            double more_db = spate_path_loss_db(&two_ray, f_hz, a, b, NULL) -
                             spate_path_loss_db(&free_space, f_hz, a, b, NULL);
            ck_assert_double_eq_tol(more_db, behind ? 20.0 * log10(1.01) : 0.0, 1e-5);
        }
        n++;
    }
    ck_assert_int_eq(n, 9);
}
END_TEST

START_TEST(two_ray_refuses_an_end_on_the_ground)
{
    SpatePathModel model = {.kind = SPATE_PATH_TWO_RAY};
    SpatePosition high = {.height_m = 10}, low = {.x_m = 500};
    g_autoptr(GError) error = NULL;
    ck_assert(isnan(spate_path_loss_db(&model, 868e6, high, low, &error)));
    ck_assert_ptr_nonnull(error);
    ck_assert_ptr_nonnull(strstr(error->message, "a height of 0 m"));
    g_clear_error(&error);
    ck_assert(isnan(spate_path_loss_db(&model, 868e6, low, high, &error)));
    ck_assert(
        g_error_matches(error, SPATE_PROPAGATION_ERROR, SPATE_PROPAGATION_ERROR_OUT_OF_RANGE));
}
END_TEST

/* Rappaport, 2nd ed., example 4.9 (from memory): with 0 dBm at 100 m and an exponent of 4.4,
 * -57.24 dBm are left at 2 km. */
START_TEST(an_intercept_may_lie_at_any_distance)
{
    SpatePathModel model = {.kind = SPATE_PATH_LOG_DISTANCE, .exponent = 4.4};
    SpatePosition origin = {0}, far = {.y_m = 2000};
    model.intercept_at_m = 100.0;
    model.intercept_loss_db = 80.0;
    ck_assert_double_eq_tol(spate_path_loss_db(&model, 868e6, origin, far, NULL), 137.24, 0.01);

    /* Unless given, its loss is that of free space there; with an exponent of 2 all is free space.
     */
    SpatePathModel free_space = {.kind = SPATE_PATH_FREE_SPACE};
    model.exponent = 2.0;
    model.intercept_loss_db = NAN;
    ck_assert_double_eq_tol(spate_path_loss_db(&model, 868e6, origin, far, NULL),
                            spate_path_loss_db(&free_space, 868e6, origin, far, NULL), 1e-9);
}
END_TEST

START_TEST(extra_loss_adds_to_every_model)
{
    for (int kind = SPATE_PATH_FREE_SPACE; kind <= SPATE_PATH_HATA; kind++) {
        SpatePathModel model = {
            .kind = (SpatePathModelKind)kind, .exponent = 3.0, .intercept_loss_db = NAN};
        SpatePosition a = {.height_m = 30}, b = {.x_m = 2000, .height_m = 2};
        double bare_db = spate_path_loss_db(&model, 868e6, a, b, NULL);
        model.extra_loss_db = 4.5;
        ck_assert_double_eq_tol(spate_path_loss_db(&model, 868e6, a, b, NULL), bare_db + 4.5, 1e-9);
    }
}
END_TEST

START_TEST(the_higher_end_is_the_base_of_hata)
{
    SpatePathModel model = {.kind = SPATE_PATH_HATA};
    SpatePosition a = {.height_m = 30}, b = {.x_m = 2000, .height_m = 2};
    ck_assert_double_eq(spate_path_loss_db(&model, 868e6, a, b, NULL),
                        spate_path_loss_db(&model, 868e6, b, a, NULL));
}
END_TEST

START_TEST(two_nodes_at_one_place_are_a_metre_apart)
{
    SpatePosition here = {.x_m = 5, .y_m = 6, .height_m = 7};
    ck_assert_double_eq(spate_distance_m(here, here), 1.0);
}
END_TEST

START_TEST(distance_counts_height_and_bearings_turn_from_north_to_east)
{
    SpatePosition origin = {0}, up = {.x_m = 3, .y_m = 4, .height_m = 12};
    ck_assert_double_eq_tol(spate_distance_m(origin, up), 13.0, 1e-12);
    SpatePosition east = {.x_m = 10}, south = {.y_m = -10};
    ck_assert_double_eq_tol(spate_bearing_deg(origin, east), 90.0, 1e-12);
    ck_assert_double_eq_tol(spate_bearing_deg(origin, south), 180.0, 1e-12);
    ck_assert_double_eq_tol(spate_bearing_deg(east, origin), 270.0, 1e-12);
    /* a hair west of north is not a full turn */
    SpatePosition north = {.x_m = -1e-15, .y_m = 10};
    ck_assert_double_lt(spate_bearing_deg(origin, north), 360.0);
}
END_TEST

/* Heights and distances at random, also just beside corners and crossovers. */
START_TEST(no_pair_loses_less_than_the_bound_of_its_distance)
{
    SpateRandom random = spate_random_stream(1, 1);
    for (int i = 0; i < 20000; i++) {
        SpatePathModel model = {
            .kind = (SpatePathModelKind)(i % SPATE_PATH_TERRAIN),
            .exponent = 1.0 + 4.0 * spate_random_unit(&random),
            .intercept_at_m = 10.0 * spate_random_unit(&random),
            .intercept_loss_db = NAN,
            .environment = (SpateStreetEnvironment)(i / 2 % 2),
            .location_share = 0.01 + 0.98 * spate_random_unit(&random),
            .extra_loss_db = 10.0 * spate_random_unit(&random) - 5.0,
        };
        double away_m = pow(10.0, 5.0 * spate_random_unit(&random));
        double nearer_m = away_m * spate_random_unit(&random);
        SpatePosition a = {.height_m = 1.0 + 30.0 * spate_random_unit(&random)};
        SpatePosition b = {.x_m = away_m, .height_m = 1.0 + 30.0 * spate_random_unit(&random)};
        double least_db = spate_path_least_loss_db(&model, 868e6, away_m, 1.0, 31.0);
        ck_assert_double_ge(least_db, spate_path_least_loss_db(&model, 868e6, nearer_m, 1.0, 31.0));
        if (model.kind == SPATE_PATH_HATA)
            ck_assert_double_eq(least_db, -INFINITY);
        else
            ck_assert_double_ge(spate_path_loss_db(&model, 868e6, a, b, NULL), least_db - 1e-9);
    }
    /* Free space is what no hill makes less, and a mesh on the ground is an error to be told. */
    SpatePathModel over_hills = {.kind = SPATE_PATH_TERRAIN, .extra_loss_db = 3.0};
    SpatePathModel in_sight = {.kind = SPATE_PATH_FREE_SPACE, .extra_loss_db = 3.0};
    SpatePathModel two_ray = {.kind = SPATE_PATH_TWO_RAY};
    ck_assert_double_eq(spate_path_least_loss_db(&over_hills, 868e6, 5e3, 1.0, 2.0),
                        spate_path_least_loss_db(&in_sight, 868e6, 5e3, 1.0, 2.0));
    ck_assert_double_eq(spate_path_least_loss_db(&two_ray, 868e6, 5e3, 0.0, 2.0), -INFINITY);
    /* Two antennas nearer than the 1 m that stands for one place. */
    SpatePosition foot = {.height_m = 2.0}, beside = {.x_m = 0.1, .height_m = 2.0};
    ck_assert_double_le(spate_path_least_loss_db(&two_ray, 868e6, 0.0, 1.0, 2.0),
                        spate_path_loss_db(&two_ray, 868e6, foot, beside, NULL));
}
END_TEST

CHECK_MAIN("path-loss", other_forms_of_a_model_are_near_it,
           four_decibels_are_a_known_ratio_of_distances, every_model_gives_the_worked_values,
           a_street_is_in_sight_up_to_its_corner, hata_says_where_it_does_not_hold,
           two_ray_leaves_free_space_at_the_crossover, two_ray_refuses_an_end_on_the_ground,
           an_intercept_may_lie_at_any_distance, extra_loss_adds_to_every_model,
           the_higher_end_is_the_base_of_hata, two_nodes_at_one_place_are_a_metre_apart,
           distance_counts_height_and_bearings_turn_from_north_to_east,
           no_pair_loses_less_than_the_bound_of_its_distance)
