/* test-raster.c - heights out of files: where cells lie, what lies between them, what is missing */
#include "ground/raster.h"
#include "support/check-main.h"
#include "support/grid-file.h"

#include <math.h>

#ifdef SPATE_HAS_GDAL

static char *folder;

static void
make_folder(void)
{
    folder = g_dir_make_tmp("spate-raster-XXXXXX", NULL);
}

static void
remove_folder(void)
{
    grid_folder_remove(folder);
    g_clear_pointer(&folder, g_free);
}

static SpateRaster *
open_grid(const GridFile *grid)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *path = grid_file_write(grid, folder, "grid");
    SpateRaster *raster = spate_raster_open(path, &error);
    ck_assert_msg(raster != NULL, "%s", error != NULL ? error->message : "");
    return raster;
}

static double
height_at(const SpateRaster *raster, double x_m, double y_m, SpateGap *gap)
{
    SpateGridPoint point = spate_raster_cell_of_plane(raster, x_m, y_m);
    double height_m;
    spate_raster_heights_m(raster, &point, 1, &height_m, gap);
    return height_m;
}

/* Bilinear by nature: what is read between cells is exact. */
static double
saddle(double x, double y)
{
    return 100.0 + 0.5 * x - 0.25 * y + 0.001 * x * y;
}

START_TEST(between_centres_heights_are_bilinear)
{
    /* More columns than a tile is wide, so that places on both sides of a seam are read. */
    const GridFile grid = {1100, 4, 1000.0, -80.0, 20.0, saddle, NULL};
    g_autoptr(SpateRaster) raster = open_grid(&grid);
    SpateGap gap;
    ck_assert_int_eq(spate_raster_system(raster), SPATE_RASTER_LOCAL);
    ck_assert_double_eq(spate_raster_cell_m(raster), 20.0);
    for (double x_m = 1010.0; x_m <= 22990.0; x_m += 7.3)
        for (double y_m = -70.0; y_m <= -10.0; y_m += 9.7)
            ck_assert_double_eq_tol(height_at(raster, x_m, y_m, &gap), saddle(x_m, y_m), 2e-3);
}
END_TEST

START_TEST(the_outer_half_cell_is_outside)
{
    const GridFile grid = {5, 4, 0.0, 0.0, 10.0, saddle, NULL};
    g_autoptr(SpateRaster) raster = open_grid(&grid);
    SpateGap gap;
    ck_assert_double_eq_tol(height_at(raster, 5.0, 5.0, &gap), saddle(5, 5), 1e-4);
    ck_assert_double_eq_tol(height_at(raster, 45.0, 35.0, &gap), saddle(45, 35), 1e-4);
    const double outside_m[][2] = {{4.99, 20.0}, {45.01, 20.0}, {20.0, 4.99},    {20.0, 35.01},
                                   {-1e9, 20.0}, {NAN, 20.0},   {20.0, INFINITY}};
    for (size_t i = 0; i < G_N_ELEMENTS(outside_m); i++) {
        ck_assert(isnan(height_at(raster, outside_m[i][0], outside_m[i][1], &gap)));
        ck_assert_int_eq(gap, SPATE_GAP_OUTSIDE);
    }
}
END_TEST

static double
with_a_hole(double x, double y)
{
    return x > 20.0 && x < 30.0 && y > 20.0 && y < 30.0 ? NO_DATA : 7.0;
}

START_TEST(a_cell_without_data_matters_where_it_has_a_share)
{
    const GridFile grid = {5, 5, 0.0, 0.0, 10.0, with_a_hole, NULL};
    g_autoptr(SpateRaster) raster = open_grid(&grid);
    SpateGap gap;
    /* The cell's centre is at 25, 25: its neighbours' centres, and lines between them, are free of
     * it. */
    ck_assert_double_eq(height_at(raster, 15.0, 25.0, &gap), 7.0);
    ck_assert_double_eq(height_at(raster, 15.0, 18.0, &gap), 7.0);
    ck_assert_int_eq(gap, SPATE_GAP_NONE);
    ck_assert(isnan(height_at(raster, 15.01, 25.0, &gap)));
    ck_assert_int_eq(gap, SPATE_GAP_NO_DATA);
    ck_assert(isnan(height_at(raster, 34.9, 34.9, &gap)));
    ck_assert_int_eq(gap, SPATE_GAP_NO_DATA);
}
END_TEST

/* Degrees: a plane again. */
static double
tilted(double lon, double lat)
{
    return 1000.0 + 10.0 * lon + 20.0 * lat;
}

static double
height_on_globe(const SpateRaster *raster, double lon_deg, double lat_deg, SpateGap *gap)
{
    double place[1][2] = {{lon_deg, lat_deg}}, height_m;
    SpateGridPoint point;
    spate_raster_cells_of_globe(raster, place, 1, &point);
    spate_raster_heights_m(raster, &point, 1, &height_m, gap);
    return height_m;
}

START_TEST(longitudes_beyond_180_degrees_are_found)
{
    const GridFile grid = {200, 100, 170.0, -5.0, 0.1, tilted, PRJ_DEGREES};
    g_autoptr(SpateRaster) raster = open_grid(&grid);
    SpateGap gap;
    ck_assert_int_eq(spate_raster_system(raster), SPATE_RASTER_GEOGRAPHIC);
    ck_assert_double_eq_tol(height_on_globe(raster, 175.0, 1.0, &gap), tilted(175.0, 1.0), 1e-3);
    ck_assert_double_eq_tol(height_on_globe(raster, -175.0, 1.0, &gap), tilted(185.0, 1.0), 1e-3);
    ck_assert(isnan(height_on_globe(raster, -165.0, 1.0, &gap)));
    ck_assert_int_eq(gap, SPATE_GAP_OUTSIDE);
    /* A tenth of a degree of a meridian at the equator: 11,057.4 m (WGS 84, a (1 - e^2) times the
     * angle); of the equator 11,131.9 m. */
    ck_assert_double_eq_tol(spate_raster_cell_m(raster), 11057.4, 0.1);
}
END_TEST

START_TEST(a_path_over_the_seam_does_not_come_back_on_the_other_side)
{
    const GridFile grid = {360, 20, -180.0, -10.0, 1.0, tilted, PRJ_DEGREES};
    g_autoptr(SpateRaster) raster = open_grid(&grid);
    double places[3][2] = {{178.0, 0.0}, {-179.0, 0.0}, {-177.0, 0.0}}, heights_m[3];
    SpateGridPoint points[3];
    SpateGap gap;
    spate_raster_cells_of_globe(raster, places, 3, points);
    ck_assert_uint_eq(spate_raster_heights_m(raster, points, 3, heights_m, &gap), 1);
    ck_assert_int_eq(gap, SPATE_GAP_OUTSIDE);
}
END_TEST

/* Of kilometres in a projection. */
static double
kilometres_east(double x, double y)
{
    return (x - 500000.0) / 1e3 + y / 1e6;
}

static gpointer
look_up_many(gpointer user)
{
    const SpateRaster *raster = user;
    SpateGap gap;
    for (int i = 0; i < 2000; i++) {
        double lon_deg = 15.0 + 0.4 * i / 2000.0;
        if (isnan(height_on_globe(raster, lon_deg, 0.5, &gap)))
            return NULL;
    }
    return user;
}

START_TEST(places_on_the_globe_are_brought_into_a_projection_by_all_threads)
{
    const GridFile grid = {60, 60, 499000.0, 50000.0, 1000.0, kilometres_east, PRJ_METRES};
    g_autoptr(SpateRaster) raster = open_grid(&grid);
    SpateGap gap;
    ck_assert_int_eq(spate_raster_system(raster), SPATE_RASTER_PROJECTED);
    /* At the meridian in the middle x is 500 km; 0.2 degrees east of it, at the equator, 0.9996 of
     * 22,263.9 m more (WGS 84). */
    double x_m, y_m = 55e3, lon_deg, lat_deg;
    ck_assert_double_eq_tol(height_on_globe(raster, 15.0, 0.5, &gap), 0.055, 2e-3);
    ck_assert_double_eq_tol(height_on_globe(raster, 15.2, 0.5, &gap), 22.2540 + 0.055, 5e-3);
    x_m = 522254.0;
    ck_assert(spate_raster_plane_to_globe(raster, x_m, y_m, &lon_deg, &lat_deg));
    ck_assert_double_eq_tol(lon_deg, 15.2, 1e-4);
    ck_assert_double_eq_tol(lat_deg, 0.4976, 1e-3);
    GThread *threads[4];
    for (size_t i = 0; i < G_N_ELEMENTS(threads); i++)
        threads[i] = g_thread_new("looks up", look_up_many, raster);
    for (size_t i = 0; i < G_N_ELEMENTS(threads); i++)
        ck_assert_ptr_nonnull(g_thread_join(threads[i]));
}
END_TEST

START_TEST(a_file_that_is_no_raster_is_refused)
{
    g_autofree char *path = g_build_filename(folder, "notes.txt", NULL);
    g_autoptr(GError) error = NULL;
    g_file_set_contents(path, "not a raster\n", -1, NULL);
    ck_assert_ptr_null(spate_raster_open(path, &error));
    ck_assert_ptr_nonnull(error);
}
END_TEST

START_TEST(the_sum_follows_what_is_in_the_files)
{
    const GridFile grid = {5, 5, 0.0, 0.0, 10.0, saddle, NULL};
    const GridFile other = {5, 5, 0.0, 0.0, 10.0, with_a_hole, NULL};
    const GridFile elsewhere = {5, 5, 0.0, 0.0, 10.0, with_a_hole, PRJ_METRES};
    g_autoptr(SpateRaster) first = open_grid(&grid), second = open_grid(&other);
    g_autoptr(SpateRaster) again = open_grid(&grid), third = open_grid(&elsewhere);
    ck_assert_str_eq(spate_raster_sha256(first), spate_raster_sha256(again));
    ck_assert_str_ne(spate_raster_sha256(first), spate_raster_sha256(second));
    ck_assert_str_ne(spate_raster_sha256(second), spate_raster_sha256(third));
}
END_TEST

CHECK_MAIN_WITHIN("raster", make_folder, remove_folder, between_centres_heights_are_bilinear,
                  the_outer_half_cell_is_outside, a_cell_without_data_matters_where_it_has_a_share,
                  longitudes_beyond_180_degrees_are_found,
                  a_path_over_the_seam_does_not_come_back_on_the_other_side,
                  places_on_the_globe_are_brought_into_a_projection_by_all_threads,
                  a_file_that_is_no_raster_is_refused, the_sum_follows_what_is_in_the_files)

#else

START_TEST(a_program_without_gdal_says_so)
{
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(spate_raster_open("/proc/self/exe", &error));
    ck_assert_ptr_nonnull(strstr(error->message, "built without GDAL"));
}
END_TEST

CHECK_MAIN("raster", a_program_without_gdal_says_so)

#endif
