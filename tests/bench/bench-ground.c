/* bench-ground.c - all paths between many nodes on a large height model
 *
 *     bench-ground [NODES [THREADS [CELL_M]]]        1,000, all cores, 30 m
 *
 * 3,000 x 3,000 cells; nodes everywhere on them.  First all paths as one table, then the world, on
 * all cores.
 */
#include "core/random.h"
#include "propagation/terrain-paths.h"
#include "scenario/scenario.h"
#include "scenario/world/world.h"
#include "support/grid-file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define CELLS 3000

static double
hills(double x, double y)
{
    return 300.0 + 80.0 * sin(x / 1500.0) * cos(y / 2100.0) + 40.0 * sin((x + 2.0 * y) / 700.0);
}

/* Plain numbers with a header beside them: text takes ten times as long to write and to read. */
static char *
write_grid(const char *folder, double cell_m)
{
    g_autofree float *heights_m = g_new(float, CELLS *CELLS);
    for (int r = 0; r < CELLS; r++)
        for (int c = 0; c < CELLS; c++)
            heights_m[r * CELLS + c] = (float)hills((c + 0.5) * cell_m, (CELLS - r - 0.5) * cell_m);
    g_autofree char *header =
        g_strdup_printf("ncols %d\nnrows %d\nulxmap %g\nulymap %g\nxdim %g\nydim %g\n"
                        "nbits 32\npixeltype float\nbyteorder %c\nlayout bil\nnbands 1\n",
                        CELLS, CELLS, 0.5 * cell_m, (CELLS - 0.5) * cell_m, cell_m, cell_m,
                        G_BYTE_ORDER == G_LITTLE_ENDIAN ? 'I' : 'M');
    g_autofree char *header_path = g_build_filename(folder, "grid.hdr", NULL);
    char *path = g_build_filename(folder, "grid.bil", NULL);
    g_file_set_contents(header_path, header, -1, NULL);
    g_file_set_contents(path, (const char *)heights_m, (gssize)sizeof(float) * CELLS * CELLS, NULL);
    return path;
}

static double
seconds_since(gint64 start_us)
{
    return (double)(g_get_monotonic_time() - start_us) / 1e6;
}

/* 14 dBm at SF 9; places are drawn once, so that one medium serves all. */
static bool
build_world(const char *path, uint32_t n, double cell_m)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 5 min}\n"
        "terrain: {elevation: %s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 868 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"
        "        propagation: {model: terrain}}\n"
        "nodes:\n"
        "  n: {count: %u, place: {rectangle: {from: {x: %.0f m, y: %.0f m}, to: {x: %.0f m, y: "
        "%.0f m}},\n"
        "      redraw: once, height: 3 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic: {talk: {from: n-1, to: n-2, payload: 20 bytes, at: [10 s]}}\n",
        path, n, cell_m, cell_m, cell_m * (CELLS - 1), cell_m * (CELLS - 1));
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("bench", text, strlen(text), NULL, 0, &error);
    g_autoptr(SpateScenario) scenario =
        file != NULL ? spate_scenario_new(file, NULL, &error) : NULL;
    gint64 start_us = g_get_monotonic_time();
    clock_t start = clock();
    g_autoptr(SpateWorld) world = scenario != NULL ? spate_world_new(scenario, &error) : NULL;
    double took_s = seconds_since(start_us);
    double used_s = (double)(clock() - start) / CLOCKS_PER_SEC;
    g_autoptr(SpateMedium) medium = world != NULL ? spate_world_medium(world, 0, 0, &error) : NULL;
    if (medium == NULL) {
        fprintf(stderr, "%s\n", error->message);
        return false;
    }
    printf("its world: %.2f s, of processors %.2f s; %zu links, %.0f a node\n", took_s, used_s,
           medium->n_links, (double)medium->n_links / n);
    return true;
}

int
main(int argc, char **argv)
{
    uint32_t n = argc > 1 ? (uint32_t)atoi(argv[1]) : 1000;
    unsigned n_threads = argc > 2 ? (unsigned)atoi(argv[2]) : g_get_num_processors();
    double cell_m = argc > 3 ? atof(argv[3]) : 30.0;
    g_autofree char *folder = g_dir_make_tmp("spate-bench-XXXXXX", NULL);
    g_autofree char *path = write_grid(folder, cell_m);
    g_autoptr(GError) error = NULL;
    gint64 start_us = g_get_monotonic_time();
    g_autoptr(SpateRaster) raster = spate_raster_open(path, &error);
    if (raster == NULL) {
        fprintf(stderr, "%s\n", error->message);
        grid_folder_remove(folder);
        return EXIT_FAILURE;
    }
    g_autoptr(SpateTerrain) terrain = spate_terrain_new(raster, 4.0 / 3.0);
    g_autofree SpatePosition *places = g_new0(SpatePosition, n);
    g_autofree bool *wanted = g_new0(bool, n);
    SpateRandom random = spate_random_stream(1, 1);
    double span_m = cell_m * (CELLS - 2);
    for (uint32_t i = 0; i < n; i++) {
        places[i].x_m = cell_m + span_m * spate_random_unit(&random);
        places[i].y_m = cell_m + span_m * spate_random_unit(&random);
        places[i].height_m = 3.0;
        wanted[i] = spate_terrain_settle(terrain, &places[i], NULL);
    }
    printf("opened and settled in %.2f s\n", seconds_since(start_us));
    start_us = g_get_monotonic_time();
    clock_t start = clock();
    g_autoptr(SpateTerrainPaths) paths =
        spate_terrain_paths_new(terrain, places, wanted, n, n_threads);
    double took_s = seconds_since(start_us), n_pairs = n * (n - 1.0) / 2.0;
    double used_s = (double)(clock() - start) / CLOCKS_PER_SEC;
    printf("%u nodes, %u threads: %.2f s%s, %.2f us a path, of a processor %.2f us\n", n, n_threads,
           took_s, paths == NULL ? " (refused)" : "", took_s / n_pairs * 1e6,
           used_s / n_pairs * 1e6);
    bool is_built = build_world(path, n, cell_m);
    grid_folder_remove(folder);
    return is_built ? EXIT_SUCCESS : EXIT_FAILURE;
}
