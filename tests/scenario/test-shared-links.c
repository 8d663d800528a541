/* test-shared-links.c - worlds that share what their links have in common, and no more */
#include "scenario/world/world-private.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

/* Places and shadowing are the same in all replications; with `redraw`, drawn anew in each. */
static char *
text_with(const char *place, const char *shadowing, const char *radios)
{
    return g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 1 h}\n"
        "bearers:\n"
        "  v:\n"
        "    kind: lora\n"
        "    frequency: 869.5 MHz\n"
        "    bandwidth: 125 kHz\n"
        "    spreading-factor: 7\n"
        "    propagation: {model: log-distance, exponent: 3, shadowing: %s}\n"
        "flooding: {hop-limit: 5}\n"
        "nodes:\n"
        "  n: {count: 20, place: %s, radios: {v: {power: 14 dBm}}, relay: [v]%s}\n"
        "traffic: {talk: {from: n, to: everyone, payload: 20 bytes, mean-interval: 1 min}}\n"
        "variants:\n"
        "  far: {set: {flooding.hop-limit: 9}}\n"
        "  chatty: {set: {traffic.talk.mean-interval: 10 s}}\n"
        "  loud: {set: {nodes.n.radios.v.power: 20 dBm}}\n"
        "  quiet: {set: {nodes.n.relay: []}}\n",
        shadowing, place, radios);
}

#define HELD  "{circle: {centre: {x: 0 m, y: 0 m}, radius: 2 km}, redraw: once}"
#define DRAWN "{circle: {centre: {x: 0 m, y: 0 m}, radius: 2 km}}"
#define PATH  ", moves: {along: [{x: 0 m, y: 0 m}], speed: 1 m/s}"

/* The worlds of the base and of a variant that was made like it. */
typedef struct {
    SpateScenarioFile *file;
    SpateScenario *scenarios[2];
    SpateWorld *worlds[2];
} Two;

static void
two_clear(Two *two)
{
    for (size_t i = 0; i < 2; i++) {
        spate_world_free(two->worlds[i]);
        spate_scenario_free(two->scenarios[i]);
    }
    spate_scenario_file_free(two->file);
}

static Two
two_of(const char *text, const char *variant, uint64_t seed)
{
    g_autoptr(GError) error = NULL;
    Two two = {.file = spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error)};
    ck_assert_msg(two.file != NULL, "%s", error != NULL ? error->message : "");
    two.scenarios[0] = spate_scenario_new(two.file, NULL, &error);
    two.scenarios[1] = spate_scenario_new(two.file, variant, &error);
    ck_assert_msg(two.scenarios[1] != NULL, "%s", error != NULL ? error->message : "");
    two.scenarios[1]->seed += seed;
    two.worlds[0] = spate_world_new(two.scenarios[0], &error);
    two.worlds[1] = spate_world_new_like(two.scenarios[1], two.worlds[0], &error);
    ck_assert_msg(two.worlds[1] != NULL, "%s", error != NULL ? error->message : "");
    return two;
}

/* Whether both run on the same medium, in a replication that the base runs first. */
static bool
is_shared(const Two *two, uint32_t replication)
{
    g_autoptr(SpateMedium) first = spate_world_medium(two->worlds[0], replication, 1, NULL);
    g_autoptr(SpateMedium) second = spate_world_medium(two->worlds[1], replication, 1, NULL);
    return first == second;
}

static bool
variant_shares(const char *place, const char *shadowing, const char *variant)
{
    g_autofree char *text = text_with(place, shadowing, "");
    Two two = two_of(text, variant, 0);
    bool shares = is_shared(&two, 0);
    ck_assert_int_eq(is_shared(&two, 3), shares);
    two_clear(&two);
    return shares;
}

START_TEST(what_no_link_depends_on_is_no_reason_for_other_links)
{
    ck_assert(variant_shares(HELD, "0 dB", "far"));
    ck_assert(variant_shares(HELD, "0 dB", "chatty"));
    ck_assert(variant_shares(HELD, "6 dB", "far"));
    ck_assert(variant_shares(DRAWN, "0 dB", "far"));
    ck_assert(variant_shares(DRAWN, "{sigma: 6 dB, redraw: each-replication}", "chatty"));
}
END_TEST

START_TEST(what_differs_in_a_link_has_links_of_its_own)
{
    ck_assert(!variant_shares(HELD, "0 dB", "loud"));
    ck_assert(!variant_shares(DRAWN, "0 dB", "loud"));
    /* Nothing of a link changes, but the section says so much that nobody looks. */
    ck_assert(!variant_shares(HELD, "0 dB", "quiet"));
}
END_TEST

START_TEST(another_seed_draws_other_links)
{
    g_autofree char *text = text_with(HELD, "0 dB", "");
    Two two = two_of(text, "far", 1);
    ck_assert(!is_shared(&two, 0));
    two_clear(&two);
}
END_TEST

/* A run moves its medium. */
START_TEST(where_nodes_move_nothing_is_shared)
{
    g_autofree char *text = text_with(HELD, "0 dB", PATH);
    Two two = two_of(text, "far", 0);
    ck_assert(!is_shared(&two, 0));
    two_clear(&two);
}
END_TEST

static void
assert_same_links(const SpateMedium *a, const SpateMedium *b)
{
    ck_assert_uint_eq(a->n_links, b->n_links);
    ck_assert_uint_gt(a->n_links, 0);
    ck_assert_mem_eq(a->receiver, b->receiver, a->n_links * sizeof a->receiver[0]);
    ck_assert_mem_eq(a->power, b->power, a->n_links * sizeof a->power[0]);
}

START_TEST(shared_links_are_those_that_each_would_have)
{
    g_autofree char *text = text_with(DRAWN, "{sigma: 6 dB, redraw: each-replication}", "");
    Two two = two_of(text, "far", 0);
    g_autoptr(SpateWorld) alone = spate_world_new(two.scenarios[1], NULL);
    for (uint32_t replication = 0; replication < 4; replication++) {
        g_autoptr(SpateMedium) first = spate_world_medium(two.worlds[0], replication, 1, NULL);
        g_autoptr(SpateMedium) second = spate_world_medium(two.worlds[1], replication, 1, NULL);
        g_autoptr(SpateMedium) own = spate_world_medium(alone, replication, 1, NULL);
        ck_assert_ptr_eq(first, second);
        ck_assert_ptr_ne(own, second);
        assert_same_links(own, second);
    }
    two_clear(&two);
}
END_TEST

/* The base is asked for replications that the variant never wants: but for the last, it might. */
START_TEST(what_nobody_asks_for_is_not_kept)
{
    g_autofree char *text = text_with(DRAWN, "0 dB", "");
    Two two = two_of(text, "far", 0);
    for (uint32_t replication = 0; replication < 10; replication++)
        spate_medium_unref(spate_world_medium(two.worlds[0], replication, 1, NULL));
    ck_assert_uint_eq(g_queue_get_length(two.worlds[0]->shelf), 1);
    two_clear(&two);
}
END_TEST

START_TEST(what_a_run_uses_is_kept_for_the_others)
{
    g_autofree char *text = text_with(DRAWN, "0 dB", "");
    Two two = two_of(text, "far", 0);
    g_autoptr(SpateMedium) first = spate_world_medium(two.worlds[0], 0, 1, NULL);
    g_autoptr(SpateMedium) next = spate_world_medium(two.worlds[0], 1, 1, NULL);
    g_autoptr(SpateMedium) late = spate_world_medium(two.worlds[1], 0, 1, NULL);
    ck_assert_ptr_eq(first, late);
    ck_assert_ptr_ne(next, late);
    two_clear(&two);
}
END_TEST

/* Tables have names relative to the folder of the file: one text may be two meshes. */
START_TEST(two_files_of_one_text_share_nothing)
{
    g_autofree char *text = text_with(HELD, "0 dB", "");
    Two two = two_of(text, "far", 0), other = two_of(text, "far", 0);
    g_autoptr(SpateWorld) world = spate_world_new_like(other.scenarios[0], two.worlds[0], NULL);
    g_autoptr(SpateMedium) first = spate_world_medium(two.worlds[0], 0, 1, NULL);
    g_autoptr(SpateMedium) second = spate_world_medium(world, 0, 1, NULL);
    ck_assert_ptr_ne(first, second);
    two_clear(&other);
    two_clear(&two);
}
END_TEST

/* The world from which links are borrowed goes first. */
START_TEST(links_outlive_the_world_that_lends_them)
{
    g_autofree char *text = text_with(HELD, "0 dB", "");
    Two two = two_of(text, "far", 0);
    spate_world_free(g_steal_pointer(&two.worlds[0]));
    g_autoptr(SpateMedium) medium = spate_world_medium(two.worlds[1], 0, 1, NULL);
    ck_assert_uint_eq(medium->bearers[0].modulation.kind != NULL, true);
    two_clear(&two);
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("shared links");
    TCase *links = tcase_create("links");
    tcase_add_test(links, what_no_link_depends_on_is_no_reason_for_other_links);
    tcase_add_test(links, what_differs_in_a_link_has_links_of_its_own);
    tcase_add_test(links, another_seed_draws_other_links);
    tcase_add_test(links, where_nodes_move_nothing_is_shared);
    tcase_add_test(links, shared_links_are_those_that_each_would_have);
    tcase_add_test(links, what_nobody_asks_for_is_not_kept);
    tcase_add_test(links, what_a_run_uses_is_kept_for_the_others);
    tcase_add_test(links, two_files_of_one_text_share_nothing);
    tcase_add_test(links, links_outlive_the_world_that_lends_them);
    suite_add_tcase(suite, links);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
