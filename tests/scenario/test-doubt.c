/* test-doubt.c - numbers that nobody knows are drawn anew in each replication */
#include "scenario/world/world.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

#define HEAD                                                                                       \
    "spate: 1\nseed: 5\nrun: {duration: 10 min}\n"                                                 \
    "bearers:\n  air:\n    kind: lora\n    frequency: 868 MHz\n    bandwidth: 125 kHz\n"           \
    "    spreading-factor: 7\n"                                                                    \
    "    propagation: {model: log-distance, exponent: 3}\n"                                        \
    "nodes:\n  a: {at: {x: 0 m, y: 0 m, height: 2 m}, radios: {air: {power: 14 dBm}}}\n"           \
    "  b: {count: 2, at: {x: 9 m, y: 0 m, height: 2 m}, radios: {air: {power: 14 dBm}}}\n"         \
    "traffic: {t: {class: c, from: a, to: b, payload: 9 bytes, every: 1 min}}\n"                   \
    "variants:\n"                                                                                  \
    "  plain: {set: {traffic.t.every: 2 min}}\n"                                                   \
    "  sure: {set: {bearers.air.propagation: {model: log-distance, exponent: 2.9}}}\n"

static SpateScenarioFile *
parse(const char *doubt, const char *path, const char *value)
{
    const SpateSetting setting = {path, value};
    g_autoptr(GError) error = NULL;
    g_autofree char *text = g_strconcat(HEAD, doubt, NULL);
    SpateScenarioFile *file =
        spate_scenario_file_parse("plan", text, strlen(text), &setting, path != NULL, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return file;
}

static SpateScenario *
read_variant(const SpateScenarioFile *file, const char *variant)
{
    g_autoptr(GError) error = NULL;
    SpateScenario *scenario = spate_scenario_new(file, variant, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    return scenario;
}

static double
exponent_of(const SpateScenario *scenario, uint32_t replication)
{
    g_autoptr(SpateScenario) drawn = spate_scenario_redraw(scenario, replication, NULL);
    ck_assert(!spate_scenario_is_in_doubt(drawn));
    return drawn->bearers[0].propagation.model.exponent;
}

#define EXPONENT "doubt: {bearers.air.propagation.exponent: [2.5, 3.5]}\n"

/* Mean and standard deviation of an even distribution over [2.5, 3.5]: 3 and 1 / sqrt(12); theory.
 */
START_TEST(draws_lie_evenly_between_the_bounds)
{
    g_autoptr(SpateScenarioFile) file = parse(EXPONENT, NULL, NULL);
    g_autoptr(SpateScenario) scenario = read_variant(file, NULL);
    const SpateDoubt *doubt = &scenario->doubts[0];
    double sum = 0, squares = 0;
    const uint32_t n = 20000;
    for (uint32_t i = 0; i < n; i++) {
        double value = spate_doubt_value(doubt, 5, i);
        ck_assert(value >= 2.5 && value <= 3.5);
        sum += value;
        squares += (value - 3) * (value - 3);
    }
    ck_assert_double_eq_tol(sum / n, 3.0, 4 / sqrt(12.0 * n));
    ck_assert_double_eq_tol(sqrt(squares / n), 1 / sqrt(12.0), 0.005);
    ck_assert_double_eq(exponent_of(scenario, 3), spate_doubt_value(doubt, 5, 3));
    ck_assert_double_ne(exponent_of(scenario, 3), exponent_of(scenario, 4));
}
END_TEST

START_TEST(all_variants_draw_the_same)
{
    g_autoptr(SpateScenarioFile) file = parse(EXPONENT, NULL, NULL);
    g_autoptr(SpateScenario) base = read_variant(file, NULL);
    g_autoptr(SpateScenario) plain = read_variant(file, "plain");
    for (uint32_t i = 0; i < 20; i++)
        ck_assert_double_eq(exponent_of(base, i), exponent_of(plain, i));
}
END_TEST

START_TEST(the_seed_decides_what_is_drawn)
{
    g_autoptr(SpateScenarioFile) file = parse(EXPONENT, NULL, NULL);
    g_autoptr(SpateScenario) one = read_variant(file, NULL), other = read_variant(file, NULL);
    other->seed = 6;
    ck_assert_double_ne(exponent_of(one, 0), exponent_of(other, 0));
}
END_TEST

/* Who says what it is has no doubt: a variant, above it in the tree too, and a setting. */
START_TEST(what_is_said_is_not_drawn)
{
    g_autoptr(SpateScenarioFile) file = parse(EXPONENT, NULL, NULL);
    g_autoptr(SpateScenario) sure = read_variant(file, "sure");
    ck_assert(!spate_scenario_is_in_doubt(sure));
    ck_assert_uint_eq(sure->n_doubts, 1);

    g_autoptr(SpateScenarioFile) set = parse(EXPONENT, "bearers.air.propagation.exponent", "3");
    g_autoptr(SpateScenario) base = read_variant(set, NULL);
    ck_assert(!spate_scenario_is_in_doubt(base));
}
END_TEST

/* [3, 4] of an exponent is drawn between, of a count is not. */
START_TEST(counts_are_drawn_whole)
{
    g_autoptr(SpateScenarioFile) file =
        parse("doubt: {nodes.b.count: [1, 4], bearers.air.propagation.exponent: [3, 4],\n"
              "  traffic.t.payload: [9 bytes, 12 bytes]}\n",
              NULL, NULL);
    g_autoptr(SpateScenario) scenario = read_variant(file, NULL);
    ck_assert(scenario->doubts[0].is_whole);
    ck_assert(!scenario->doubts[1].is_whole);
    ck_assert(scenario->doubts[2].is_whole);
    uint32_t n_seen[5] = {0};
    for (uint32_t i = 0; i < 400; i++) {
        double count = spate_doubt_value(&scenario->doubts[0], 5, i);
        ck_assert(count == 1 || count == 2 || count == 3 || count == 4);
        n_seen[(int)count]++;
    }
    /* 100 each are expected, with a standard deviation of 8.7 */
    for (int count = 1; count <= 4; count++)
        ck_assert(n_seen[count] > 65 && n_seen[count] < 135);
    g_autoptr(SpateScenario) drawn = spate_scenario_redraw(scenario, 0, NULL);
    ck_assert_uint_eq(drawn->n_nodes, 1 + (uint32_t)spate_doubt_value(&scenario->doubts[0], 5, 0));
}
END_TEST

START_TEST(a_share_that_is_drawn_is_written_as_one)
{
    g_autoptr(SpateScenarioFile) file =
        parse("doubt: {bearers.air.duty-cycle: [0.2, 1.0]}\n", NULL, NULL);
    g_autoptr(SpateScenario) scenario = read_variant(file, NULL);
    g_autofree char *all = spate_doubt_text(&scenario->doubts[0], 1.0);
    ck_assert_str_eq(all, "1.0");
}
END_TEST

START_TEST(each_replication_has_a_world_of_its_own)
{
    g_autoptr(SpateScenarioFile) file = parse(EXPONENT, NULL, NULL);
    g_autoptr(SpateScenario) scenario = read_variant(file, NULL);
    g_autoptr(SpateWorld) world = spate_world_new(scenario, NULL);
    g_clear_pointer(&file, spate_scenario_file_free); /* it keeps what it needs */
    g_autoptr(SpateWorld) first = spate_world_of_replication(world, 0, NULL);
    g_autoptr(SpateWorld) again = spate_world_of_replication(world, 0, NULL);
    ck_assert_ptr_ne(first, world);
    ck_assert_double_eq(spate_world_scenario(first)->bearers[0].propagation.model.exponent,
                        spate_world_scenario(again)->bearers[0].propagation.model.exponent);
    g_autoptr(SpateWorld) same = spate_world_of_replication(first, 7, NULL);
    ck_assert_ptr_eq(same, first);
}
END_TEST

START_TEST(silence_lasts_through_draws)
{
    g_autoptr(SpateScenarioFile) file =
        parse(EXPONENT "flooding: {policy: classic}\n", "nodes.b.relay", "[air]");
    g_autoptr(SpateScenario) loud = read_variant(file, NULL);
    uint32_t node = loud->n_nodes - 1;
    ck_assert(loud->nodes[node].radios[0].relays);
    const SpateTrial trial = {.mute.silent = loud->nodes[node].name};
    g_autoptr(SpateScenario) scenario = spate_scenario_try(file, &trial, NULL);
    g_autoptr(SpateScenario) drawn = spate_scenario_redraw(scenario, 2, NULL);
    ck_assert(!drawn->nodes[node].radios[0].relays);
    ck_assert(drawn->nodes[node - 1].radios[0].relays);
}
END_TEST

START_TEST(a_draw_that_does_not_fit_is_told_with_what_was_drawn)
{
    g_autoptr(SpateScenarioFile) file = parse(EXPONENT, NULL, NULL);
    g_autoptr(SpateScenario) base = read_variant(file, NULL);
    base->doubts[0].high = 1e6;
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(spate_scenario_redraw(base, 0, &error));
    ck_assert_msg(strstr(error->message, "what replication 1 draws:1:") != NULL, "%s",
                  error->message);
    ck_assert_msg(strstr(error->message, "bearers.air.propagation.exponent=") != NULL, "%s",
                  error->message);
}
END_TEST

CHECK_MAIN("doubt", draws_lie_evenly_between_the_bounds, all_variants_draw_the_same,
           the_seed_decides_what_is_drawn, what_is_said_is_not_drawn, counts_are_drawn_whole,
           a_share_that_is_drawn_is_written_as_one, each_replication_has_a_world_of_its_own,
           silence_lasts_through_draws, a_draw_that_does_not_fit_is_told_with_what_was_drawn)
