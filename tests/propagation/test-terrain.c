/* test-terrain.c - the ground under antennas and between them */
#include "propagation/links.h"
#include "propagation/path-loss.h"
#include "propagation/terrain-paths.h"
#include "support/check-main.h"
#include "support/grid-file.h"

#include <math.h>

#ifdef SPATE_HAS_GDAL

static char *folder;

static void
make_folder(void)
{
    folder = g_dir_make_tmp("spate-terrain-XXXXXX", NULL);
}

static void
remove_folder(void)
{
    grid_folder_remove(folder);
    g_clear_pointer(&folder, g_free);
}

static SpateTerrain *
terrain_of(const GridFile *grid, double factor)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *path = grid_file_write(grid, folder, "grid");
    g_autoptr(SpateRaster) raster = spate_raster_open(path, &error);
    ck_assert_msg(raster != NULL, "%s", error != NULL ? error->message : "");
    return spate_terrain_new(raster, factor);
}

static SpatePosition
settled(const SpateTerrain *terrain, SpatePosition position)
{
    ck_assert(spate_terrain_settle(terrain, &position, NULL));
    return position;
}

static double
ridge(double x, double y)
{
    return fabs(x - 5000.0) < 25.0 ? 60.0 : 0.0;
}

START_TEST(a_ridge_is_a_knife_edge)
{
    /* 10 km, antennas at 10 m, a wall 50 m above the line between them half way, on an earth that
     * is all but flat: nu is 50 m sqrt(2 * 10000 / (lambda * 5000^2)) (P.526-16, equation 26), the
     * loss Bullington's for it (4.5.1). */
    const GridFile grid = {203, 3, -75.0, -75.0, 50.0, ridge, NULL};
    g_autoptr(SpateTerrain) terrain = terrain_of(&grid, 1e6);
    SpatePathModel model = {.kind = SPATE_PATH_TERRAIN, .terrain = terrain};
    SpatePathModel free_space = {.kind = SPATE_PATH_FREE_SPACE};
    SpatePosition a = settled(terrain, (SpatePosition){.height_m = 10.0});
    SpatePosition b = settled(terrain, (SpatePosition){.x_m = 10e3, .height_m = 10.0});
    double wavelength_m = 299792458.0 / 900e6;
    double nu = 50.0 * sqrt(2.0 * 10e3 / (wavelength_m * 5e3 * 5e3));
    double edge_db = 6.9 + 20.0 * log10(sqrt(pow(nu - 0.1, 2.0) + 1.0) + nu - 0.1);
    double more_db = spate_path_loss_db(&model, 900e6, a, b, NULL) -
                     spate_path_loss_db(&free_space, 900e6, a, b, NULL);
    ck_assert_double_eq_tol(more_db, edge_db + (1.0 - exp(-edge_db / 6.0)) * 10.2, 1e-3);
    ck_assert_double_eq(spate_path_loss_db(&model, 900e6, a, b, NULL),
                        spate_path_loss_db(&model, 900e6, b, a, NULL));
}
END_TEST

static double
flat(double x, double y)
{
    return 250.0;
}

START_TEST(a_plane_leaves_the_spherical_earth)
{
    const GridFile grid = {610, 3, -500.0, -150.0, 100.0, flat, NULL};
    g_autoptr(SpateTerrain) terrain = terrain_of(&grid, 4.0 / 3.0);
    SpatePosition a = {.height_m = 10.0}, b = {.x_m = 60e3, .height_m = 10.0};
    SpateObstacle obstacle;
    ck_assert(spate_terrain_obstacle(terrain, a, b, &obstacle, NULL));
    SpateObstacle smooth = {
        .distance_m = 60e3, .earth_radius_m = 4.0 / 3.0 * 6371e3, .first_m = 10.0, .last_m = 10.0};
    ck_assert_double_eq_tol(spate_terrain_loss_db(&obstacle, 900e6),
                            spate_spherical_earth_db(&smooth, 900e6), 1e-6);
}
END_TEST

static double
slope_east(double x, double y)
{
    return 0.1 * x;
}

START_TEST(distances_count_the_ground_below)
{
    const GridFile grid = {40, 3, -75.0, -75.0, 50.0, slope_east, NULL};
    g_autoptr(SpateTerrain) terrain = terrain_of(&grid, 4.0 / 3.0);
    SpatePosition a = settled(terrain, (SpatePosition){.height_m = 2.0});
    SpatePosition b = settled(terrain, (SpatePosition){.x_m = 1000.0, .height_m = 7.0});
    ck_assert_double_eq_tol(spate_distance_m(a, b), sqrt(1000.0 * 1000.0 + 105.0 * 105.0), 1e-3);
    /* One above the other: free space alone. */
    SpatePosition above = settled(terrain, (SpatePosition){.height_m = 30.0});
    SpateObstacle obstacle;
    ck_assert(spate_terrain_obstacle(terrain, a, above, &obstacle, NULL));
    ck_assert_double_eq(obstacle.distance_m, 0.0);
    ck_assert_double_eq(spate_terrain_loss_db(&obstacle, 900e6), 0.0);
}
END_TEST

START_TEST(a_path_outside_is_an_error_that_names_the_place)
{
    const GridFile grid = {21, 21, 0.0, 0.0, 50.0, flat, NULL};
    g_autoptr(SpateTerrain) terrain = terrain_of(&grid, 4.0 / 3.0);
    SpatePosition inside = {.x_m = 100.0, .y_m = 100.0}, outside = {.x_m = 100.0, .y_m = 1500.0};
    SpateObstacle obstacle;
    g_autoptr(GError) error = NULL;
    ck_assert(!spate_terrain_obstacle(terrain, inside, outside, &obstacle, &error));
    ck_assert_str_eq(error->message, "the path lies outside the height model at x 100 m, y 1050 m");
    g_clear_error(&error);
    ck_assert(!spate_terrain_settle(terrain, &outside, &error));
    ck_assert_str_eq(error->message,
                     "the place lies outside the height model at x 100 m, y 1500 m");
}
END_TEST

/* Waves of 3 to 5 km. */
static double
hills(double x, double y)
{
    return 300.0 + 80.0 * sin(x / 500.0) * cos(y / 700.0) + 40.0 * sin((x + 2.0 * y) / 800.0);
}

/* The same without stations: every point is brought onto the map by itself. */
static double
loss_point_by_point_db(const SpateTerrain *terrain, SpatePosition a, SpatePosition b)
{
    double length_m = spate_ground_distance_m(a, b), bearing_deg = spate_bearing_deg(a, b);
    const SpateRaster *raster = spate_terrain_raster(terrain);
    size_t n = (size_t)ceil(length_m / spate_raster_cell_m(raster)) + 1;
    g_autofree double *distance_m = g_new(double, n), *ground_m = g_new(double, n);
    SpateGap gap;
    for (size_t i = 0; i < n; i++) {
        distance_m[i] = length_m * (double)i / (double)(n - 1);
        SpatePosition at = spate_position_towards(a, bearing_deg, distance_m[i]);
        double place[1][2] = {{at.longitude_deg, at.latitude_deg}};
        SpateGridPoint point;
        spate_raster_cells_of_globe(raster, place, 1, &point);
        ck_assert_uint_eq(spate_raster_heights_m(raster, &point, 1, &ground_m[i], &gap), 1);
    }
    SpateProfile profile = {distance_m, ground_m, n, ground_m[0] + a.height_m,
                            ground_m[n - 1] + b.height_m};
    SpateObstacle obstacle =
        spate_profile_obstacle(&profile, spate_terrain_earth_radius_m(terrain));
    return spate_terrain_loss_db(&obstacle, 868e6);
}

START_TEST(geodesics_are_followed_point_by_point)
{
    /* Around 15.3 degrees east, 52 degrees north. */
    const GridFile grid = {1200, 600, 500000.0, 5760000.0, 50.0, hills, PRJ_METRES};
    g_autoptr(SpateTerrain) terrain = terrain_of(&grid, 4.0 / 3.0);
    double most_db = 0.0;
    for (int i = 0; i < 12; i++) {
        SpatePosition a = {.longitude_deg = 15.1 + 0.01 * i,
                           .latitude_deg = 52.03,
                           .height_m = 3.0,
                           .is_geographic = true};
        SpatePosition b = {.longitude_deg = 15.7,
                           .latitude_deg = 52.2 - 0.005 * i,
                           .height_m = 10.0,
                           .is_geographic = true};
        SpateObstacle obstacle;
        ck_assert(spate_terrain_obstacle(terrain, a, b, &obstacle, NULL));
        double loss_db = spate_terrain_loss_db(&obstacle, 868e6);
        ck_assert_double_eq_tol(loss_db, loss_point_by_point_db(terrain, a, b), 1e-4);
        most_db = fmax(most_db, loss_db);
    }
    ck_assert_double_gt(most_db, 20.0);
}
END_TEST

/* How many of n glances find more than half of a high loss. */
static int
count_glances(const GridFile *grid, SpatePosition a, SpatePosition b, double step, int n)
{
    g_autoptr(SpateTerrain) terrain = terrain_of(grid, 4.0 / 3.0);
    int n_high = 0;
    for (int i = 0; i < n; i++) {
        a.east += step;
        b.east -= 1.3 * step;
        b.north -= 0.2 * step;
        b.height_m += 1.0;
        SpateObstacle obstacle;
        ck_assert(spate_terrain_obstacle(terrain, a, b, &obstacle, NULL));
        double loss_db = spate_terrain_loss_db(&obstacle, 868e6);
        double least_db = spate_terrain_least_loss_db(terrain, a, b, 868e6);
        ck_assert_double_le(least_db, loss_db + 1e-9);
        ck_assert_double_eq(least_db, spate_terrain_least_loss_db(terrain, b, a, 868e6));
        n_high += loss_db > 20.0 && least_db > 0.5 * loss_db;
    }
    return n_high;
}

START_TEST(a_glance_at_a_path_takes_no_more_than_the_path)
{
    const GridFile plane = {600, 300, 0.0, 0.0, 100.0, hills, NULL};
    ck_assert_int_gt(count_glances(&plane, (SpatePosition){.x_m = 300.0, .y_m = 500.0},
                                   (SpatePosition){.x_m = 59e3, .y_m = 20e3}, 97.0, 200),
                     50);
    const GridFile map = {600, 300, 500000.0, 5760000.0, 100.0, hills, PRJ_METRES};
    const SpatePosition a = {.longitude_deg = 15.1, .latitude_deg = 52.03, .is_geographic = true};
    const SpatePosition b = {.longitude_deg = 15.7, .latitude_deg = 52.2, .is_geographic = true};
    ck_assert_int_gt(count_glances(&map, a, b, 1e-3, 40), 10);
}
END_TEST

/* To the last bit. */
static void
assert_same(const SpateObstacle *a, const SpateObstacle *b)
{
    ck_assert_double_eq(a->distance_m, b->distance_m);
    ck_assert_double_eq(a->earth_radius_m, b->earth_radius_m);
    ck_assert_double_eq(a->edge, b->edge);
    ck_assert_double_eq(a->smooth_edge, b->smooth_edge);
    ck_assert_double_eq(a->first_m, b->first_m);
    ck_assert_double_eq(a->last_m, b->last_m);
}

/* Over the seam of two tiles, and with a hole that some paths cross. */
static double
hills_with_a_hole(double x, double y)
{
    return x > 20e3 && x < 21e3 && y > 3e3 && y < 4e3 ? NO_DATA : hills(x, y);
}

START_TEST(all_paths_at_once_are_those_of_pairs_whatever_the_threads)
{
    enum { N = 24 };
    const GridFile grid = {600, 200, 0.0, 0.0, 50.0, hills_with_a_hole, NULL};
    g_autoptr(SpateTerrain) terrain = terrain_of(&grid, 4.0 / 3.0);
    SpatePosition places[N];
    bool wanted[N];
    for (int i = 0; i < N; i++) {
        places[i] = settled(terrain, (SpatePosition){.x_m = 100.0 + fmod(i * 7919.0, 29e3),
                                                     .y_m = 100.0 + fmod(i * 1237.0, 2800.0),
                                                     .height_m = 3.0 + i});
        wanted[i] = i != 5;
        if (i % 2 == 1)
            places[i] = settled(terrain,
                                (SpatePosition){.x_m = places[i].x_m, .y_m = 9e3, .height_m = 5.0});
    }
    g_autoptr(SpateTerrainPaths) alone = spate_terrain_paths_new(terrain, places, wanted, N, 1);
    g_autoptr(SpateTerrainPaths) together = spate_terrain_paths_new(terrain, places, wanted, N, 3);
    int n_known = 0, n_holes = 0;
    for (uint32_t a = 0; a < N; a++)
        for (uint32_t b = 0; b < N; b++) {
            SpateObstacle one, other, pair;
            bool is_known = spate_terrain_paths_find(alone, a, places[a], b, places[b], &one);
            ck_assert(is_known ==
                      spate_terrain_paths_find(together, a, places[a], b, places[b], &other));
            bool has_ground =
                a != b && spate_terrain_obstacle(terrain, places[a], places[b], &pair, NULL);
            ck_assert(is_known == (has_ground && wanted[a] && wanted[b]));
            n_known += is_known;
            n_holes += a != b && !has_ground;
            if (!is_known)
                continue;
            assert_same(&one, &other);
            assert_same(&one, &pair);
        }
    ck_assert_int_gt(n_known, 100);
    ck_assert_int_gt(n_holes, 10);
    SpatePosition moved = places[0];
    moved.x_m += 1.0;
    SpateObstacle found;
    ck_assert(!spate_terrain_paths_find(alone, 0, moved, 1, places[1], &found));
}
END_TEST

#define N_WALKERS 2

static SpateLinks *
links_of(const SpateTerrain *terrain, const SpatePosition *places)
{
    SpateNodeSite nodes[N_WALKERS];
    SpateRadioSite radios[N_WALKERS];
    const double isolation_db[N_WALKERS] = {0};
    for (uint32_t i = 0; i < N_WALKERS; i++) {
        nodes[i] = (SpateNodeSite){.position = places[i], .name_hash = i};
        radios[i] = (SpateRadioSite){.node = i, .power_dbm = 14.0};
    }
    const SpateBearer bearer = {.modulation.centre_hz = 868000000};
    static SpatePropagation propagation;
    propagation = (SpatePropagation){.model = {.kind = SPATE_PATH_TERRAIN, .terrain = terrain}};
    SpateLinks *links = spate_links_new(nodes, N_WALKERS, isolation_db, radios, N_WALKERS, &bearer,
                                        &propagation, 1, NULL, 0);
    spate_links_set_terrain(links, terrain);
    return links;
}

START_TEST(links_of_walkers_are_those_of_the_places_where_they_are)
{
    const GridFile grid = {300, 300, 0.0, 0.0, 50.0, hills, NULL};
    g_autoptr(SpateTerrain) terrain = terrain_of(&grid, 4.0 / 3.0);
    SpatePosition places[N_WALKERS];
    for (int i = 0; i < N_WALKERS; i++)
        places[i] = settled(terrain, (SpatePosition){.x_m = 5000.0 + 4000.0 * i,
                                                     .y_m = 9000.0 - 1000.0 * i,
                                                     .height_m = 2.0 + i});
    g_autoptr(SpateLinks) start = links_of(terrain, places);
    g_autoptr(SpateLinks) moved = spate_links_copy(start);
    for (uint32_t step = 0; step < 30; step++) {
        SpatePosition *place = &places[step % 2];
        place->x_m += step % 3 == 0 ? 130.0 : 0.0;
        place->y_m += step % 3 == 1 ? 170.0 : 0.0;
        place->height_m += step % 3 == 2 ? 1.0 : 0.0;
        ck_assert(spate_links_move(moved, step % 2, *place, NULL));
        *place = settled(terrain, *place);
        g_autoptr(SpateLinks) fresh = links_of(terrain, places);
        for (uint32_t pair = 0; pair < N_WALKERS * N_WALKERS; pair++) {
            SpateLink is, wanted;
            uint32_t a = pair / N_WALKERS, b = pair % N_WALKERS;
            ck_assert(spate_links_budget(moved, a, b, &is, NULL));
            ck_assert(spate_links_budget(fresh, a, b, &wanted, NULL));
            ck_assert_double_eq(is.received_dbm, wanted.received_dbm);
            ck_assert(spate_links_budget(moved, b, a, &is, NULL));
            ck_assert_double_eq(is.received_dbm, wanted.received_dbm);
        }
    }
}
END_TEST

CHECK_MAIN_WITHIN("terrain", make_folder, remove_folder, a_ridge_is_a_knife_edge,
                  a_plane_leaves_the_spherical_earth, distances_count_the_ground_below,
                  a_path_outside_is_an_error_that_names_the_place,
                  geodesics_are_followed_point_by_point,
                  a_glance_at_a_path_takes_no_more_than_the_path,
                  all_paths_at_once_are_those_of_pairs_whatever_the_threads,
                  links_of_walkers_are_those_of_the_places_where_they_are)

#else

int
main(void)
{
    return 77; /* skipped: there are no height models without GDAL */
}

#endif
