/* test-expectations.c - `expect:` and the bounds of `replications:` as data */
#include "core/time.h"
#include "measure/measures.h"
#include "scenario/scenario.h"
#include "support/check-main.h"

#include <string.h>

static SpateScenario *
load(const char *variant)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_read(SCENARIO_DIR "/good/every-key.yaml", NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return spate_scenario_new(file, variant, NULL);
}

START_TEST(bounds_are_in_the_unit_of_results)
{
    g_autoptr(SpateScenario) scenario = load(NULL);
    const SpateExpectation *load_of_talk = &scenario->expectations[0];
    const SpateExpectation *change = &scenario->expectations[3];

    ck_assert_uint_eq(scenario->n_expectations, 7);
    ck_assert_int_eq(load_of_talk->kind, SPATE_EXPECT_VALUE);
    ck_assert_str_eq(load_of_talk->measure->name, "load");
    ck_assert_str_eq(load_of_talk->bearer, "slow");
    ck_assert_str_eq(load_of_talk->traffic, "talk");
    ck_assert_ptr_null(load_of_talk->variant);
    ck_assert(load_of_talk->at_most.is_given && !load_of_talk->at_least.is_given);
    ck_assert_double_eq(load_of_talk->at_most.value, 0.1);
    ck_assert_int_eq(change->kind, SPATE_EXPECT_CHANGE);
    ck_assert_str_eq(change->variant, "quiet");
    ck_assert_str_eq(change->versus, "slower");
    ck_assert_double_eq(change->at_most.value, -0.5);
    ck_assert(!change->at_most.is_relative);
    ck_assert_double_eq(scenario->expectations[1].at_most.value, 1200);
    ck_assert_str_eq(scenario->expectations[1].node, "mast-north");
    ck_assert_str_eq(scenario->expectations[2].bridge, "masts");
}
END_TEST

START_TEST(ways_of_messages_arrive)
{
    g_autoptr(SpateScenario) scenario = load("quiet");
    const SpateExpectation *reaches = &scenario->expectations[5];
    const SpateExpectation *never = &scenario->expectations[6];

    ck_assert_int_eq(reaches->kind, SPATE_EXPECT_REACHES);
    ck_assert_str_eq(reaches->traffic, "talk");
    ck_assert_str_eq(reaches->from, "desk");
    ck_assert_str_eq(reaches->node, "mast-north");
    ck_assert_int_eq(reaches->within_ns, 5 * SPATE_NS_PER_S);
    ck_assert_double_eq(reaches->in_at_least, 0.95);
    ck_assert_int_eq(never->kind, SPATE_EXPECT_NEVER_REACHES);
    ck_assert_str_eq(never->node, "shed-1");
    ck_assert_double_eq(never->in_at_least, 1);
    ck_assert_int_gt(never->place.line, reaches->place.line);
}
END_TEST

/* A scenario of one traffic with that `expect` and `replications`. */
static SpateScenario *
parse(const char *expect, const char *replications, GError **error)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 1 h, replications: %s}\n"
        "bearers: {air: {kind: dsss, frequency: 2437 MHz}}\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 9 dBm}}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 9 dBm}}}\n"
        "traffic: {t: {from: a, to: b, payload: 9 bytes, every: 1 min, deadline: 1 s}}\n"
        "variants: {v: {set: {traffic.t.every: 2 min}}}\n"
        "expect: [%s]\n",
        replications, expect);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f", text, strlen(text), NULL, 0, error);
    return file == NULL ? NULL : spate_scenario_new(file, NULL, error);
}

START_TEST(a_change_in_percent_is_relative)
{
    g_autoptr(SpateScenario) scenario =
        parse("{variant: v, measure: delivery, traffic: t, change-at-least: -40 %, "
              "change-at-most: 0.1}",
              "5", NULL);
    ck_assert_ptr_nonnull(scenario);
    const SpateExpectation *change = &scenario->expectations[0];
    ck_assert(change->at_least.is_relative && !change->at_most.is_relative);
    ck_assert_double_eq(change->at_least.value, -0.4);
    ck_assert_double_eq(change->at_most.value, 0.1);
    ck_assert_ptr_null(change->versus);
}
END_TEST

START_TEST(a_change_needs_two_variants)
{
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(parse("{measure: delivery, traffic: t, change-at-least: 1 %}", "5", &error));
    ck_assert_ptr_nonnull(strstr(error->message, "f:9:10: this compares 'base' with itself"));
    g_clear_error(&error);
    ck_assert_ptr_null(parse("{measure: delivery, traffic: t, variant: v, versus: v, "
                             "change-at-least: 1 %}",
                             "5", &error));
    ck_assert_ptr_nonnull(strstr(error->message, "this compares 'v' with itself"));
}
END_TEST

START_TEST(a_share_is_of_messages_or_of_replications)
{
    g_autoptr(SpateScenario) scenario =
        parse("{traffic: t, reaches: b, within: 5 s, at-least: 95 %}", "5", NULL);
    ck_assert_ptr_nonnull(scenario);
    ck_assert(scenario->expectations[0].at_least.is_given);
    ck_assert_double_eq(scenario->expectations[0].at_least.value, 0.95);
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(parse(
        "{traffic: t, reaches: b, within: 5 s, at-least: 9 %, in-at-least: 9 %}", "5", &error));
    ck_assert_ptr_nonnull(strstr(
        error->message, "f:9:76: an expectation takes 'at-least' or 'in-at-least', not both"));
    g_clear_error(&error);
    ck_assert_ptr_null(parse("{traffic: t, never-on: air, at-least: 9 %}", "5", &error));
    ck_assert_ptr_nonnull(strstr(error->message, "'at-least' does not apply here"));
}
END_TEST

START_TEST(load_may_bear_its_unit)
{
    g_autoptr(SpateScenario) scenario =
        parse("{measure: load, bearer: air, at-least: 0.1 erlang, at-most: 0.25}", "5", NULL);
    ck_assert_ptr_nonnull(scenario);
    ck_assert_double_eq(scenario->expectations[0].at_least.value, 0.1);
    ck_assert_double_eq(scenario->expectations[0].at_most.value, 0.25);
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(
        parse("{measure: occupancy, bearer: air, at-most: 0.1 erlang}", "5", &error));
}
END_TEST

START_TEST(replications_may_be_bounds)
{
    g_autoptr(SpateScenario) bounds = parse("", "{at-most: 50, at-least: 4}", NULL);
    g_autoptr(SpateScenario) count = parse("", "7", NULL);
    ck_assert_uint_eq(bounds->replications, 4);
    ck_assert_uint_eq(bounds->replications_at_most, 50);
    ck_assert_uint_eq(count->replications, 7);
    ck_assert_uint_eq(count->replications_at_most, 7);
}
END_TEST

/* The loader's table knows at least what is computed. */
START_TEST(every_measure_can_be_expected)
{
    for (int i = 0; i < SPATE_N_MEASURES; i++) {
        g_autoptr(GError) error = NULL;
        const char *name = spate_measure_info((SpateMeasure)i)->name;
        g_autofree char *expect = g_strdup_printf("{measure: %s}", name);
        ck_assert_ptr_null(parse(expect, "2", &error));
        g_autofree char *of_what = g_strdup_printf("'%s' of what?", name);
        ck_assert_ptr_nonnull(strstr(error->message, of_what));
    }
}
END_TEST

CHECK_MAIN("expectations", bounds_are_in_the_unit_of_results, ways_of_messages_arrive,
           a_change_in_percent_is_relative, a_change_needs_two_variants, replications_may_be_bounds,
           every_measure_can_be_expected, a_share_is_of_messages_or_of_replications,
           load_may_bear_its_unit)
