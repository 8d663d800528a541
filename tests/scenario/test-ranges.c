/* test-ranges.c - path loss models asked for more than they hold for
 *
 * Ranges of Hata's model: M. Hata, IEEE Trans. Vehicular Technology VT-29(3), 1980: base 30 to
 * 200 m, mobile 1 to 10 m, 1 to 20 km.
 */
#include "scenario/world/world.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

#define TOP                                                                                        \
    "spate: 1\n"                                                                                   \
    "run: {duration: 1 h}\n"                                                                       \
    "bearers:\n"                                                                                   \
    "  v:\n"                                                                                       \
    "    kind: lora\n"                                                                             \
    "    frequency: 869.5 MHz\n"                                                                   \
    "    bandwidth: 125 kHz\n"                                                                     \
    "    spreading-factor: 7\n"

#define RADIOS "radios: {v: {power: 14 dBm}}"
#define MAST   "  mast: {at: {x: 0 m, y: 0 m, height: 40 m}, " RADIOS "}\n"

/* What the world says of a scenario and a replication; NULL if all is well. */
static char *
complaint(const char *text, const char *variant, uint32_t replication)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, variant, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    SpateMedium *medium = world != NULL ? spate_world_medium(world, replication, 1, &error) : NULL;
    if (medium != NULL) {
        spate_medium_unref(medium);
        return NULL;
    }
    ck_assert(g_error_matches(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD));
    return g_strdup(error->message);
}

static void
assert_holds(const char *text, const char *part)
{
    ck_assert_msg(text != NULL && strstr(text, part) != NULL, "no '%s' in:\n%s", part, text);
}

START_TEST(pairs_out_of_range_are_named_at_the_propagation)
{
    g_autofree char *message =
        complaint(TOP "    propagation: {model: hata}\nnodes:\n"
                      "  a: {at: {x: 0 m, y: 0 m, height: 1 m}, " RADIOS "}\n"
                      "  b: {at: {x: 2 km, y: 0 m, height: 1 m}, " RADIOS "}\n",
                  NULL, 0);

    assert_holds(message, "f.yaml:9:5: bearer 'v', from 'a' to 'b': the Hata model does not hold "
                          "for a base height of 1 m: its range is 30 to 200 m\n"
                          "        propagation: {model: hata}\n"
                          "        ^\n");
    ck_assert_msg(strstr(message, "more pairs") == NULL, "%s", message);
}
END_TEST

/* Five nodes at 0 m make ten pairs. */
START_TEST(a_few_pairs_stand_for_many)
{
    g_autofree char *message =
        complaint(TOP "    propagation: {model: two-ray}\nnodes:\n"
                      "  s: {count: 5, at: {x: 0 m, y: 0 m, height: 0 m}, " RADIOS "}\n",
                  NULL, 0);

    assert_holds(message, "from 's-1' to 's-2': the two-ray model");
    assert_holds(message, "from 's-1' to 's-4': the two-ray model");
    ck_assert_msg(strstr(message, "'s-5'") == NULL, "%s", message);
    assert_holds(message, "f.yaml:9:5: bearer 'v': 7 more pairs are out of range\n");
}
END_TEST

START_TEST(a_variant_that_leaves_the_range_is_named)
{
    static const char text[] = TOP "    propagation: {model: hata}\nnodes:\n" MAST
                                   "  b: {at: {x: 2 km, y: 0 m, height: 2 m}, " RADIOS "}\n"
                                   "variants: {far: {set: {nodes.b.at.x: 21 km}}}\n";
    g_autofree char *base = complaint(text, NULL, 0), *far = complaint(text, "far", 0);

    ck_assert_msg(base == NULL, "%s", base);
    assert_holds(far, "from 'b' to 'mast': the Hata model does not hold for a distance of 21");
    assert_holds(far, "(in variant 'far')");
}
END_TEST

/* No model is asked where the loss is given, nor where a pair has a model that always holds. */
START_TEST(pairs_of_which_the_model_is_not_asked_are_fine)
{
    g_autofree char *given = complaint(TOP "    propagation: {model: hata}\nnodes:\n" MAST
                                           "  b: {at: {x: 9 m, y: 0 m, height: 2 m}, " RADIOS "}\n"
                                           "links: [{between: [mast, b], loss: 90 dB}]\n",
                                       NULL, 0);
    g_autofree char *between = complaint(
        TOP "    propagation: {model: hata, between: [{groups: [mast, b], model: free-space}]}\n"
            "nodes:\n" MAST "  b: {at: {x: 9 m, y: 0 m, height: 2 m}, " RADIOS "}\n",
        NULL, 0);

    ck_assert_msg(given == NULL, "%s", given);
    ck_assert_msg(between == NULL, "%s", between);
}
END_TEST

START_TEST(a_model_between_groups_is_asked_too)
{
    g_autofree char *message = complaint(
        TOP "    propagation: {model: free-space, between: [{groups: [mast, b], model: hata}]}\n"
            "nodes:\n" MAST "  b: {at: {x: 9 m, y: 0 m, height: 2 m}, " RADIOS "}\n",
        NULL, 0);

    assert_holds(message, "f.yaml:9:5: bearer 'v', from 'b' to 'mast': the Hata model");
}
END_TEST

/* Nodes in a circle of 2 km about the mast, anew each time: one within 1 km comes up soon. */
START_TEST(places_drawn_anew_are_named_when_they_leave_the_range)
{
    static const char text[] = TOP
        "    propagation: {model: hata}\nnodes:\n" MAST
        "  w: {count: 1, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 2 km}, height: 2 m, "
        "redraw: each-replication}, " RADIOS "}\n";
    uint32_t n_fine = 0, n_bad = 0;
    for (uint32_t replication = 1; replication < 20; replication++) {
        g_autofree char *message = complaint(text, NULL, replication);
        n_fine += message == NULL;
        n_bad += message != NULL;
        if (message != NULL)
            assert_holds(message, "f.yaml:9:5: bearer 'v', from 'mast' to 'w-1': the Hata model "
                                  "does not hold for a distance of 0.");
    }

    ck_assert_uint_gt(n_bad, 0);
    ck_assert_uint_gt(n_fine, 0);
}
END_TEST

START_TEST(ambient_traffic_out_of_range_is_named)
{
    g_autofree char *message =
        complaint(TOP "    propagation: {model: hata}\nnodes:\n" MAST
                      "ambient:\n  - {bearer: v, at: {x: 9 m, y: 0 m, height: 2 m}, power: 14 dBm, "
                      "busy: 5 %, burst: 50 ms}\n",
                  NULL, 0);

    assert_holds(message, "f.yaml:13:5: bearer 'v', from here to 'mast': the Hata model does not "
                          "hold for a distance of 0.");
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("ranges");
    TCase *ranges = tcase_create("ranges");
    tcase_add_test(ranges, pairs_out_of_range_are_named_at_the_propagation);
    tcase_add_test(ranges, a_few_pairs_stand_for_many);
    tcase_add_test(ranges, a_variant_that_leaves_the_range_is_named);
    tcase_add_test(ranges, pairs_of_which_the_model_is_not_asked_are_fine);
    tcase_add_test(ranges, a_model_between_groups_is_asked_too);
    tcase_add_test(ranges, places_drawn_anew_are_named_when_they_leave_the_range);
    tcase_add_test(ranges, ambient_traffic_out_of_range_is_named);
    suite_add_tcase(suite, ranges);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
