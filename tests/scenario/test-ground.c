/* test-ground.c - scenarios on a height model: what is placed, what is refused, and where */
#include "scenario/world/world.h"
#include "support/check-main.h"
#include "support/grid-file.h"

#include <math.h>
#include <string.h>

#ifdef SPATE_HAS_GDAL

static char *folder;

static void
make_folder(void)
{
    folder = g_dir_make_tmp("spate-ground-XXXXXX", NULL);
}

static void
remove_folder(void)
{
    grid_folder_remove(folder);
    g_clear_pointer(&folder, g_free);
}

/* A ridge of 90 m across the way from west to east, and a hole in the far east. */
static double
ridge(double x, double y)
{
    if (x > 3900.0)
        return NO_DATA;
    return 100.0 + 90.0 * exp(-(x - 1500.0) * (x - 1500.0) / 2e4);
}

static const GridFile PLANE = {100, 50, -500.0, -1000.0, 50.0, ridge, NULL};

/* A scenario over that grid, with nodes as given: "west" and "east" talk. */
static SpateWorld *
world_of(const GridFile *grid, const char *model, const char *nodes, SpateScenario **scenario,
         GError **error)
{
    g_autofree char *path = grid_file_write(grid, folder, "grid");
    g_autofree char *text = g_strdup_printf("spate: 1\n"
                                            "run: {duration: 1 h}\n"
                                            "terrain: {elevation: %s}\n"
                                            "bearers: {v: {kind: dsss, frequency: 900 MHz, "
                                            "propagation: {model: %s}}}\n"
                                            "%s",
                                            path, model, nodes);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, error);
    *scenario = file != NULL ? spate_scenario_new(file, "base", error) : NULL;
    return *scenario != NULL ? spate_world_new(*scenario, error) : NULL;
}

#define NODE(name, at) "  " name ": {at: {" at "}, radios: {v: {power: 20 dBm}}}\n"

/* The error's message for such nodes holds all of that text. */
static void
check_refused(const GridFile *grid, const char *nodes, const char *wanted)
{
    SpateScenario *scenario;
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateWorld) world = world_of(grid, "terrain", nodes, &scenario, &error);
    ck_assert_ptr_null(world);
    ck_assert_msg(strstr(error->message, wanted) != NULL, "%s", error->message);
    spate_scenario_free(scenario);
}

START_TEST(nodes_stand_on_the_ground_and_hills_cost)
{
    SpateScenario *scenario;
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateWorld) world = world_of(&PLANE, "terrain",
                                           "nodes:\n" NODE("east", "x: 3000 m, y: 0 m, height: 5 m")
                                               NODE("top", "x: 1475 m, y: 0 m, height: 5 m")
                                                   NODE("west", "x: 0 m, y: 0 m, height: 5 m"),
                                           &scenario, &error);
    ck_assert_msg(world != NULL, "%s", error != NULL ? error->message : "");
    ck_assert_double_eq_tol(spate_world_position(world, 1, 0).ground_m, 190.0, 3.0);
    g_autoptr(SpateLinks) links = spate_world_links(world, 0);
    SpateLink over, back, up;
    ck_assert(spate_links_budget(links, 2, 0, &over, NULL));
    ck_assert(spate_links_budget(links, 0, 2, &back, NULL));
    ck_assert(spate_links_budget(links, 2, 1, &up, NULL));
    ck_assert_double_eq(over.loss_db, back.loss_db);
    ck_assert_double_eq_tol(up.distance_m, hypot(1475.0, 90.0), 1.0);
    /* 20 log10(4 pi 3000 / 0.3331 m) = 101.1 dB in free space; the ridge costs some 30 dB more. */
    ck_assert_double_gt(over.loss_db, 120.0);
    ck_assert_double_lt(over.loss_db, 150.0);
    /* What is known of all paths is what is worked out for one. */
    double alone_db = spate_path_loss_db(&scenario->bearers[0].propagation.model, 900e6,
                                         spate_world_position(world, 2, 0),
                                         spate_world_position(world, 0, 0), NULL);
    ck_assert_double_eq(over.loss_db, alone_db);
    spate_scenario_free(scenario);
}
END_TEST

START_TEST(what_has_no_ground_is_named)
{
    check_refused(&PLANE,
                  "nodes:\n" NODE("east", "x: 9000 m, y: 0 m") NODE("west", "x: 0 m, y: 0 m"),
                  "f.yaml:6:3: node 'east': the place lies outside the height model at x 9000 m, "
                  "y 0 m");
    check_refused(&PLANE,
                  "nodes:\n" NODE("east", "x: 4200 m, y: 0 m") NODE("west", "x: 0 m, y: 0 m"),
                  "f.yaml:6:3: node 'east': the height model has no data for the place");
    check_refused(&PLANE,
                  "nodes:\n" NODE("west", "x: 0 m, y: 0 m") "  walker:\n"
                                                            "    at: {x: 10 m, y: 0 m}\n"
                                                            "    radios: {v: {power: 20 dBm}}\n"
                                                            "    moves: {along: [{x: 5000 m, y: 0 "
                                                            "m}], speed: 1 m/s}\n",
                  "node 'walker': on its way, the height model has no data");
    check_refused(&PLANE,
                  "nodes:\n" NODE("east", "x: 3000 m, y: 0 m")
                      NODE("west", "x: 0 m, y: 0 m") "ambient: [{bearer: v, at: {x: -900 m, y: 0 "
                                                     "m}, power: 1 dBm, busy: 1 %, burst: "
                                                     "1 ms}]\n",
                  "the place lies outside the height model at x -900 m");
}
END_TEST

/* A wall without data: neither end needs it, their path does. */
static double
gap(double x, double y)
{
    return fabs(x - 1000.0) < 60.0 ? NO_DATA : 10.0;
}

START_TEST(a_path_without_data_is_not_asked_for_where_its_loss_is_given)
{
    const GridFile grid = {60, 20, -500.0, -500.0, 50.0, gap, NULL};
    const char *nodes = "nodes:\n" NODE("east", "x: 2000 m, y: 0 m") NODE("west", "x: 0 m, y: 0 m");
    check_refused(&grid, nodes, "from 'east' to 'west': the height model has no data for the path");
    g_autofree char *given =
        g_strconcat(nodes, "links: [{between: [east, west], loss: 100 dB}]\n", NULL);
    SpateScenario *scenario;
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateWorld) world = world_of(&grid, "terrain", given, &scenario, &error);
    ck_assert_msg(world != NULL, "%s", error != NULL ? error->message : "");
    spate_scenario_free(scenario);
}
END_TEST

START_TEST(nodes_and_height_model_must_speak_of_the_same_places)
{
    const GridFile degrees = {20, 20, 10.0, 50.0, 0.1, ridge, PRJ_DEGREES};
    check_refused(&degrees, "nodes:\n" NODE("a", "x: 11 m, y: 51 m"),
                  "grid.asc' is in degrees, and the nodes are in x and y, in metres");
    check_refused(&PLANE, "nodes:\n" NODE("a", "lat: 50 deg, lon: 10 deg"),
                  "grid.asc' does not say where on earth it lies");
}
END_TEST

static double
low(double x, double y)
{
    return 10.0;
}

START_TEST(the_sum_of_a_scenario_covers_the_heights)
{
    char *sums[2];
    const GridFile grids[2] = {PLANE, {100, 50, -500.0, -1000.0, 50.0, low, NULL}};
    for (size_t i = 0; i < 2; i++) {
        SpateScenario *scenario;
        g_autoptr(SpateWorld) world = world_of(
            &grids[i], "free-space", "nodes:\n" NODE("a", "x: 0 m, y: 0 m"), &scenario, NULL);
        ck_assert_ptr_nonnull(world);
        sums[i] = g_strdup(scenario->sha256);
        spate_scenario_free(scenario);
    }
    ck_assert_str_ne(sums[0], sums[1]);
    g_free(sums[0]);
    g_free(sums[1]);
}
END_TEST

START_TEST(places_that_are_redrawn_stand_on_their_own_ground)
{
    SpateScenario *scenario;
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateWorld) world =
        world_of(&PLANE, "terrain",
                 "nodes:\n  leaf: {count: 5, radios: {v: {power: 20 dBm}}, place: {rectangle: "
                 "{from: {x: 0 m, y: -500 m}, to: {x: 3000 m, y: 500 m}}}}\n",
                 &scenario, &error);
    ck_assert_msg(world != NULL, "%s", error != NULL ? error->message : "");
    for (uint32_t r = 0; r < 3; r++) {
        g_autoptr(SpateLinks) links = spate_world_links(world, r);
        for (uint32_t i = 0; i < 5; i++) {
            SpatePosition here = spate_world_position(world, i, r);
            ck_assert_double_eq_tol(here.ground_m, ridge(here.x_m, 0.0), 3.0);
            ck_assert(r == 0 || here.x_m != spate_world_position(world, i, 0).x_m);
            SpateLink link;
            if (i == 0)
                continue;
            ck_assert(spate_links_budget(links, i, 0, &link, NULL));
            double alone_db = spate_path_loss_db(&scenario->bearers[0].propagation.model, 900e6,
                                                 here, spate_world_position(world, 0, r), NULL);
            ck_assert_double_eq(link.loss_db, alone_db);
        }
    }
    spate_scenario_free(scenario);
}
END_TEST

CHECK_MAIN_WITHIN("ground", make_folder, remove_folder,
                  places_that_are_redrawn_stand_on_their_own_ground,
                  nodes_stand_on_the_ground_and_hills_cost, what_has_no_ground_is_named,
                  a_path_without_data_is_not_asked_for_where_its_loss_is_given,
                  nodes_and_height_model_must_speak_of_the_same_places,
                  the_sum_of_a_scenario_covers_the_heights)

#else

int
main(void)
{
    return 77; /* skipped: there are no height models without GDAL */
}

#endif
