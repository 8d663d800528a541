/* test-reach.c - which radios of a large mesh are looked at, and that it shows nowhere
 *
 * A bearer with an exception whose model holds only between bounds, and which no pair falls under,
 * has every pair looked at; without it the same links have to come out.
 */
#include "channel/medium.h"
#include "channel/place-tree.h"
#include "channel/star.h"
#include "core/random.h"
#include "support/sanitized.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define N_BEARERS 2
/* Beyond 1,000 senders not every pair is looked at. */
#define N_NODES   1100
#define N_AMBIENT 2
#define N_GIVEN   60

typedef struct {
    SpateNodeSite nodes[N_NODES];
    SpateRadioSite radios[N_NODES];
    double zero[N_NODES];
    bool members[N_NODES], nobody[N_NODES];
    SpateBearer bearers[N_BEARERS];
    SpatePropagation propagation[N_BEARERS];
    SpateBetween between[N_BEARERS][2];
    SpateFading fading[N_BEARERS];
    uint64_t bearer_hash[N_BEARERS];
    SpateAmbientSite ambient[N_AMBIENT];
    SpateGivenLoss given[N_GIVEN];
} Region;

static double
draw_between(SpateRandom *random, double low, double high)
{
    return low + (high - low) * spate_random_unit(random);
}

static bool
chance(SpateRandom *random, double share)
{
    return spate_random_unit(random) < share;
}

static SpatePathModel
draw_model(SpateRandom *random)
{
    static const SpatePathModelKind KINDS[] = {SPATE_PATH_FREE_SPACE, SPATE_PATH_LOG_DISTANCE,
                                               SPATE_PATH_TWO_RAY, SPATE_PATH_STREET_LEVEL};
    return (SpatePathModel){
        .kind = KINDS[spate_random_below(random, G_N_ELEMENTS(KINDS))],
        .exponent = draw_between(random, 2.0, 4.5),
        .intercept_at_m = draw_between(random, 0.5, 20.0),
        .intercept_loss_db = chance(random, 0.5) ? NAN : draw_between(random, 20.0, 60.0),
        .location_share = draw_between(random, 0.05, 0.95),
        .extra_loss_db = draw_between(random, -10.0, 30.0),
    };
}

static SpateShadowing
draw_shadowing(SpateRandom *random)
{
    return (SpateShadowing){
        .sigma_db = chance(random, 0.4) ? 0.0 : draw_between(random, 1.0, 10.0),
        .shared = chance(random, 0.3) ? 0.0 : spate_random_unit(random),
        .redraw = chance(random, 0.5),
    };
}

/* About the antimeridian, far in the north. */
static SpatePosition
draw_place_on_earth(SpateRandom *random, double span_m)
{
    double degrees = span_m / 111e3;
    SpatePosition at = {.is_geographic = true};
    at.latitude_deg = 75.0 + draw_between(random, -0.5, 0.5) * degrees;
    at.longitude_deg = 180.0 + draw_between(random, -2.0, 2.0) * degrees;
    if (at.longitude_deg > 180.0)
        at.longitude_deg -= 360.0;
    return at;
}

static SpatePosition
draw_place(SpateRandom *random, bool is_geographic, double span_m)
{
    SpatePosition at = {0};
    if (is_geographic) {
        at = draw_place_on_earth(random, fmin(span_m, 2e6));
    } else {
        at.x_m = draw_between(random, 0.0, span_m);
        at.y_m = draw_between(random, 0.0, 0.3 * span_m);
    }
    at.height_m = draw_between(random, 0.5, 25.0);
    at.ground_m = draw_between(random, 0.0, 300.0);
    return at;
}

static void
draw_nodes(Region *region, SpateRandom *random, bool is_geographic)
{
    double span_m = pow(10.0, draw_between(random, 4.0, 6.0));
    for (uint32_t i = 0; i < N_NODES; i++) {
        /* Some stand in one place. */
        SpatePosition at = i > 0 && chance(random, 0.02)
                               ? region->nodes[i - 1].position
                               : draw_place(random, is_geographic, span_m);
        region->nodes[i] = (SpateNodeSite){
            .position = at, .site_loss_db = draw_between(random, 0.0, 8.0), .name_hash = i + 1};
        region->radios[i] = (SpateRadioSite){
            .node = i,
            .bearer = (uint32_t)spate_random_below(random, N_BEARERS),
            .power_dbm = draw_between(random, 0.0, 20.0),
            .antenna = {.gain_dbi = draw_between(random, -2.0, 12.0),
                        .azimuth_deg = draw_between(random, 0.0, 360.0),
                        .beamwidth_deg = chance(random, 0.3) ? 40.0 : 0.0,
                        .front_to_back_db = 20.0},
            .feeder_loss_db = draw_between(random, 0.0, 3.0),
        };
        region->members[i] = chance(random, 0.2);
    }
}

static void
draw_bearers(Region *region, SpateRandom *random)
{
    for (uint32_t b = 0; b < N_BEARERS; b++) {
        region->bearers[b] = star_lora((int)spate_random_below(random, 5) + 7, 9, 5);
        region->fading[b] =
            (SpateFading){.kind = b == 0 ? SPATE_FADING_NONE : SPATE_FADING_RAYLEIGH};
        region->bearer_hash[b] = b + 1;
        region->propagation[b] =
            (SpatePropagation){.model = draw_model(random), .shadowing = draw_shadowing(random)};
        region->between[b][0] = (SpateBetween){.members_a = region->members,
                                               .members_b = region->members,
                                               .model = draw_model(random),
                                               .shadowing = draw_shadowing(random)};
        region->between[b][1] = (SpateBetween){.members_a = region->nobody,
                                               .members_b = region->nobody,
                                               .model = {.kind = SPATE_PATH_HATA}};
        region->propagation[b].between = region->between[b];
        region->propagation[b].n_between = chance(random, 0.3) ? 1 : 0;
    }
}

static void
region_init(Region *region, uint64_t number)
{
    SpateRandom random = spate_random_stream(number, 1);
    bool is_geographic = number % 3 == 2;
    *region = (Region){0};
    draw_bearers(region, &random);
    draw_nodes(region, &random, is_geographic);
    for (uint32_t i = 0; i < N_GIVEN; i++)
        region->given[i] = (SpateGivenLoss){
            .from_node = (uint32_t)spate_random_below(&random, N_NODES),
            .to_node = (uint32_t)spate_random_below(&random, N_NODES),
            .bearer = chance(&random, 0.5) ? -1 : 0,
            .loss_db = draw_between(&random, 60.0, 160.0),
        };
    region->ambient[0] =
        (SpateAmbientSite){.name_hash = 1, .everywhere = true, .power_dbm = -120.0};
    region->ambient[1] = (SpateAmbientSite){
        .bearer = 1, .name_hash = 2, .position = region->nodes[7].position, .power_dbm = 10.0};
}

/* One exception more, which concerns nobody: no bound of distance is known any more. */
static SpateMedium *
medium_of(Region *region, bool is_every_pair_looked_at, uint32_t n_given, unsigned n_threads)
{
    SpatePropagation propagation[N_BEARERS];
    for (uint32_t b = 0; b < N_BEARERS; b++) {
        propagation[b] = region->propagation[b];
        if (is_every_pair_looked_at && propagation[b].n_between == 0)
            propagation[b].between = &region->between[b][1];
        propagation[b].n_between += is_every_pair_looked_at ? 1 : 0;
    }
    g_autoptr(SpateLinks) links =
        spate_links_new(region->nodes, N_NODES, region->zero, region->radios, N_NODES,
                        region->bearers, propagation, N_BEARERS, region->given, n_given);
    const SpateMediumPlan plan = {.links = links,
                                  .nodes = region->nodes,
                                  .radios = region->radios,
                                  .noise_rise_db = region->zero,
                                  .bearers = region->bearers,
                                  .propagation = propagation,
                                  .fading = region->fading,
                                  .bearer_hash = region->bearer_hash,
                                  .ambient = region->ambient,
                                  .n_nodes = N_NODES,
                                  .n_radios = N_NODES,
                                  .n_bearers = N_BEARERS,
                                  .n_ambient = N_AMBIENT,
                                  .seed = 3,
                                  .replication = 1,
                                  .n_threads = n_threads};
    return spate_medium_new(&plan, NULL);
}

static void
assert_same_rows(const SpateMedium *a, const SpateMedium *b)
{
    ck_assert_uint_eq(a->n_links, b->n_links);
    ck_assert_mem_eq(a->parts, b->parts, a->n_senders * N_BEARERS * sizeof a->parts[0]);
    ck_assert_mem_eq(a->receiver, b->receiver, a->n_links * sizeof a->receiver[0]);
    ck_assert_mem_eq(a->power, b->power, a->n_links * sizeof a->power[0]);
    ck_assert_mem_eq(a->budget, b->budget, N_NODES * sizeof a->budget[0]);
}

START_TEST(links_are_those_of_a_world_in_which_every_pair_is_looked_at)
{
    uint32_t n_given = _i % 2 == 0 ? 0 : N_GIVEN;
    g_autofree Region *region = g_new(Region, 1);
    region_init(region, (uint64_t)_i);
    g_autoptr(SpateMedium) all = medium_of(region, true, n_given, 0);
    g_autoptr(SpateMedium) near = medium_of(region, false, n_given, 0);
    g_autoptr(SpateMedium) alone = medium_of(region, false, n_given, 1);
    ck_assert(all != NULL && near != NULL && alone != NULL);
    assert_same_rows(all, near);
    assert_same_rows(near, alone);
    ck_assert_uint_gt(all->n_links, N_NODES);
}
END_TEST

/* ---- places ---------------------------------------------------------------------------------- */

#define N_PLACES 500

typedef struct {
    bool is_found[N_PLACES];
} Found;

static void
note(gpointer user, const SpatePlace *place, double away_m2)
{
    Found *found = user;
    ck_assert(!found->is_found[place->number]);
    ck_assert_double_eq(place->value, 2.0 * place->number);
    found->is_found[place->number] = true;
}

static double
apart_m(const double a[3], const double b[3])
{
    return sqrt(pow(a[0] - b[0], 2.0) + pow(a[1] - b[1], 2.0) + pow(a[2] - b[2], 2.0));
}

/* Villages of many places in one point among them. */
START_TEST(a_tree_finds_what_lies_within_the_circle)
{
    SpateRandom random = spate_random_stream((uint64_t)_i, 2);
    SpatePlace *places = g_new(SpatePlace, N_PLACES), copies[N_PLACES];
    for (uint32_t i = 0; i < N_PLACES; i++) {
        bool is_village = i > 0 && chance(&random, 0.5);
        for (int axis = 0; axis < 3; axis++)
            places[i].at_m[axis] = is_village  ? places[i / 2].at_m[axis]
                                   : axis < _i ? draw_between(&random, 0.0, 1000.0)
                                               : 5.0;
        places[i].number = N_PLACES - 1 - i;
        places[i].value = 2.0 * places[i].number;
        copies[places[i].number] = places[i];
    }
    g_autoptr(SpatePlaceTree) tree = spate_place_tree_new(places, N_PLACES);
    for (int i = 0; i < 200; i++) {
        double from_m[3] = {draw_between(&random, -100.0, 1100.0),
                            draw_between(&random, -100.0, 1100.0), 5.0};
        double within_m = i == 0 ? INFINITY : draw_between(&random, 0.0, 600.0);
        Found found = {0};
        spate_place_tree_search(tree, from_m, within_m, note, &found);
        for (uint32_t k = 0; k < N_PLACES; k++) {
            double away_m = apart_m(copies[k].at_m, from_m);
            ck_assert(found.is_found[k] || away_m > within_m);
            ck_assert(!found.is_found[k] || away_m <= within_m + 0.01);
        }
    }
}
END_TEST

/* Each third lies on the earth, each second has losses that are given: six are every combination.
 */
#define N_REGIONS (ONE_DRAW_IN > 1 ? 3 : 6)

int
main(void)
{
    Suite *suite = suite_create("reach");
    TCase *worlds = tcase_create("worlds");
    tcase_set_timeout(worlds, 300);
    tcase_add_loop_test(worlds, links_are_those_of_a_world_in_which_every_pair_is_looked_at, 0,
                        N_REGIONS);
    suite_add_tcase(suite, worlds);
    TCase *places = tcase_create("places");
    tcase_add_loop_test(places, a_tree_finds_what_lies_within_the_circle, 0, 4);
    suite_add_tcase(suite, places);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
