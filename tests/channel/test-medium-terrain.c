/* test-medium-terrain.c - which paths over a height model a medium walks, and that it shows nowhere
 */
#include "channel/channel.h"
#include "channel/star.h"
#include "core/random.h"
#include "support/check-main.h"
#include "support/grid-file.h"

#include <math.h>

#ifdef SPATE_HAS_GDAL

/* Enough for threads. */
#define N_NODES 170
#define N_CELLS 160
#define CELL_M  200.0

static char *folder;

static void
make_folder(void)
{
    folder = g_dir_make_tmp("spate-medium-XXXXXX", NULL);
}

static void
remove_folder(void)
{
    grid_folder_remove(folder);
    g_clear_pointer(&folder, g_free);
}

/* Steep and narrow, so that some paths are clear and some lose 80 dB. */
static double
hills(double x, double y)
{
    return 300.0 + 250.0 * sin(x / 900.0) * cos(y / 1100.0);
}

static double
hills_with_a_hole(double x, double y)
{
    return hypot(x - 16e3, y - 16e3) < 500.0 ? NO_DATA : hills(x, y);
}

typedef struct {
    SpateTerrain *terrain;
    SpateNodeSite nodes[N_NODES];
    SpateRadioSite radios[N_NODES];
    SpatePosition places[N_NODES];
    double zero[N_NODES];
    bool wanted[N_NODES];
    SpateBearer bearer;
    SpatePropagation propagation;
    SpateFading fading;
    uint64_t bearer_hash;
    SpateMediumPair failed;
} Valley;

static void
valley_init(Valley *valley, HeightFunc heights, double power_dbm)
{
    const GridFile grid = {N_CELLS, N_CELLS, 0.0, 0.0, CELL_M, heights, NULL};
    g_autofree char *path = grid_file_write(&grid, folder, "grid");
    g_autoptr(SpateRaster) raster = spate_raster_open(path, NULL);
    ck_assert(raster != NULL);
    *valley =
        (Valley){.terrain = spate_terrain_new(raster, 4.0 / 3.0), .bearer = star_lora(9, 8, 5)};
    valley->bearer_hash = 1;
    valley->fading = (SpateFading){.kind = SPATE_FADING_RAYLEIGH};
    valley->propagation = (SpatePropagation){
        .model = {.kind = SPATE_PATH_TERRAIN, .terrain = valley->terrain},
        .shadowing = {.sigma_db = 6.0, .shared = 0.3},
    };
    SpateRandom random = spate_random_stream(1, 1);
    double span_m = (N_CELLS - 2) * CELL_M;
    for (uint32_t i = 0; i < N_NODES; i++) {
        SpatePosition at = {.height_m = 3.0};
        do {
            at.x_m = CELL_M + span_m * spate_random_unit(&random);
            at.y_m = CELL_M + span_m * spate_random_unit(&random);
        } while (!spate_terrain_settle(valley->terrain, &at, NULL));
        valley->places[i] = at;
        valley->nodes[i] = (SpateNodeSite){.position = at, .name_hash = i + 1};
        valley->radios[i] = (SpateRadioSite){.node = i, .power_dbm = power_dbm};
        valley->wanted[i] = true;
    }
}

/* With paths, those that are known are not walked again. */
static SpateMedium *
medium_of(Valley *valley, const SpateTerrainPaths *paths, unsigned n_threads, GError **error)
{
    g_autoptr(SpateLinks) links =
        spate_links_new(valley->nodes, N_NODES, valley->zero, valley->radios, N_NODES,
                        &valley->bearer, &valley->propagation, 1, NULL, 0);
    spate_links_set_paths(links, paths);
    valley->failed = (SpateMediumPair){UINT32_MAX, UINT32_MAX};
    const SpateMediumPlan plan = {.links = links,
                                  .nodes = valley->nodes,
                                  .radios = valley->radios,
                                  .noise_rise_db = valley->zero,
                                  .bearers = &valley->bearer,
                                  .propagation = &valley->propagation,
                                  .fading = &valley->fading,
                                  .bearer_hash = &valley->bearer_hash,
                                  .n_nodes = N_NODES,
                                  .n_radios = N_NODES,
                                  .n_bearers = 1,
                                  .seed = 7,
                                  .n_threads = n_threads,
                                  .failed = &valley->failed};
    return spate_medium_new(&plan, error);
}

static void
assert_same_rows(const SpateMedium *a, const SpateMedium *b)
{
    ck_assert_uint_eq(a->n_links, b->n_links);
    ck_assert_mem_eq(a->parts, b->parts, N_NODES * sizeof a->parts[0]);
    ck_assert_mem_eq(a->receiver, b->receiver, a->n_links * sizeof a->receiver[0]);
    ck_assert_mem_eq(a->power, b->power, a->n_links * sizeof a->power[0]);
    ck_assert_mem_eq(a->budget, b->budget, N_NODES * sizeof a->budget[0]);
}

START_TEST(links_are_those_of_a_world_in_which_every_path_is_walked)
{
    /* So little that most pairs stay 60 dB below what can be decoded. */
    Valley valley;
    valley_init(&valley, hills, -80.0);
    g_autoptr(SpateTerrainPaths) paths =
        spate_terrain_paths_new(valley.terrain, valley.places, valley.wanted, N_NODES, 1);
    g_autoptr(SpateMedium) walked = medium_of(&valley, paths, 1, NULL);
    g_autoptr(SpateMedium) spared = medium_of(&valley, NULL, 1, NULL);
    assert_same_rows(walked, spared);
    ck_assert_uint_gt(walked->n_links, N_NODES);
    ck_assert_uint_lt(walked->n_links, N_NODES * (N_NODES - 1) / 2);
    /* Of paths that were not walked it is not known how weak they are. */
    ck_assert_double_gt(spared->omitted_worst, walked->omitted_worst);
    ck_assert_double_lt(spared->omitted_worst, 1e-3);
    spate_terrain_free(valley.terrain);
}
END_TEST

START_TEST(threads_change_nothing)
{
    Valley valley;
    valley_init(&valley, hills, -60.0);
    g_autoptr(SpateMedium) alone = medium_of(&valley, NULL, 1, NULL);
    g_autoptr(SpateMedium) together = medium_of(&valley, NULL, 3, NULL);
    assert_same_rows(alone, together);
    ck_assert_double_eq(alone->omitted_worst, together->omitted_worst);
    spate_terrain_free(valley.terrain);
}
END_TEST

START_TEST(a_hole_is_an_error_of_the_first_pair_that_matters)
{
    Valley valley;
    valley_init(&valley, hills_with_a_hole, 14.0);
    SpateMediumPair first = {UINT32_MAX, UINT32_MAX};
    for (unsigned n_threads = 1; n_threads <= 3; n_threads++) {
        g_autoptr(GError) error = NULL;
        g_autoptr(SpateMedium) medium = medium_of(&valley, NULL, n_threads, &error);
        ck_assert(medium == NULL);
        ck_assert_msg(
            g_str_has_prefix(error->message, "the height model has no data for the path at x 1"),
            "%s", error->message);
        SpateObstacle obstacle;
        ck_assert(!spate_terrain_obstacle(valley.terrain, valley.places[valley.failed.sender],
                                          valley.places[valley.failed.receiver], &obstacle, NULL));
        if (n_threads == 1)
            first = valley.failed;
        ck_assert_uint_eq(valley.failed.sender, first.sender);
        ck_assert_uint_eq(valley.failed.receiver, first.receiver);
    }
    spate_terrain_free(valley.terrain);
}
END_TEST

START_TEST(a_hole_between_those_that_free_space_keeps_apart_is_none)
{
    Valley valley;
    valley_init(&valley, hills_with_a_hole, -300.0);
    g_autoptr(SpateMedium) medium = medium_of(&valley, NULL, 1, NULL);
    ck_assert(medium != NULL);
    ck_assert_uint_eq(medium->n_links, 0);
    spate_terrain_free(valley.terrain);
}
END_TEST

CHECK_MAIN_WITHIN("medium-terrain", make_folder, remove_folder,
                  links_are_those_of_a_world_in_which_every_path_is_walked, threads_change_nothing,
                  a_hole_is_an_error_of_the_first_pair_that_matters,
                  a_hole_between_those_that_free_space_keeps_apart_is_none)

#else

int
main(void)
{
    return 77; /* skipped: there are no height models without GDAL */
}

#endif
