/* test-sweep.c - what a scenario says is to be varied, and settings on top of it */
#include "scenario/file/scenario-file.h"
#include "scenario/text/yaml-flow.h"
#include "support/check-main.h"

#include <string.h>

#define HEAD                                                                                       \
    "spate: 1\nrun: {duration: 10 min}\n"                                                          \
    "bearers: {air: {kind: lora, frequency: 868 MHz, bandwidth: 125 kHz, spreading-factor: 7}}\n"  \
    "nodes:\n  a: {at: {x: 0 m, y: 0 m, height: 2 m}, radios: {air: {power: 14 dBm}}}\n"           \
    "  b: {count: 2, at: {x: 9 m, y: 0 m, height: 2 m}, radios: {air: {power: 14 dBm}}}\n"         \
    "traffic: {t: {class: c, from: a, to: b, payload: 9 bytes, every: 1 min}}\n"                   \
    "variants: {long: {set: {run.duration: 20 min}}}\n"

static SpateScenarioFile *
parse(const char *sweep)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *text = g_strconcat(HEAD, sweep, NULL);
    SpateScenarioFile *file =
        spate_scenario_file_parse("plan", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return file;
}

/* The values of all axes, axes behind semicolons. */
static char *
values_of(const char *sweep)
{
    g_autoptr(SpateScenarioFile) file = parse(sweep);
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, NULL);
    GString *text = g_string_new(NULL);
    for (uint32_t i = 0; i < scenario->n_sweep; i++) {
        const SpateSweepAxis *axis = &scenario->sweep[i];
        g_string_append_printf(text, "%s:", axis->path);
        for (uint32_t k = 0; k < axis->n_values; k++) {
            g_autofree char *value = spate_sweep_axis_value(axis, k);
            g_string_append_printf(text, " %s", value);
        }
        g_string_append_c(text, ';');
    }
    return g_string_free(text, FALSE);
}

START_TEST(values_are_kept_as_settings_take_them)
{
    g_autofree char *got = values_of("sweep:\n"
                                     "  - {vary: traffic.t.every, values: [1 min, \"90 s\"]}\n"
                                     "  - {vary: nodes.b.relay, values: [[], [air]]}\n");
    ck_assert_str_eq(got, "traffic.t.every: 1 min \"90 s\";nodes.b.relay: [] [air];");
}
END_TEST

static uint64_t
work_of_listing(uint32_t n_values)
{
    g_autoptr(GString) sweep = g_string_new("sweep: [{vary: nodes.b.at.x, values: [");
    for (uint32_t i = 0; i < n_values; i++)
        g_string_append_printf(sweep, "%s%u m", i > 0 ? ", " : "", i);
    g_string_append(sweep, "]}]\n");
    g_autoptr(SpateScenarioFile) file = parse(sweep->str);
    return file->check_work;
}

/* Ten times as many values take ten times the work: none is read again for each other. */
START_TEST(a_value_costs_the_same_among_many)
{
    uint64_t few = work_of_listing(100), many = work_of_listing(1000);
    ck_assert_msg(many <= 10 * few,
                  "100 values took %" G_GUINT64_FORMAT ", 1000 %" G_GUINT64_FORMAT, few, many);
}
END_TEST

START_TEST(a_value_that_does_not_fit_is_found_among_many)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(GString) text = g_string_new(HEAD "sweep: [{vary: nodes.b.count, values: [");
    for (uint32_t i = 1; i < 2000; i++)
        g_string_append_printf(text, "%u, ", i);
    g_string_append(text, "some]}]\n");
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan", text->str, text->len, NULL, 0, &error);
    ck_assert_ptr_null(file);
    ck_assert_msg(strstr(error->message, "'some' is not a whole number") != NULL, "%s",
                  error->message);
}
END_TEST

/* 0.1 is no binary fraction: counted in doubles, the last steps would be 0.7999... or missing. */
START_TEST(steps_are_counted_in_decimals)
{
    g_autofree char *got =
        values_of("sweep:\n"
                  "  - {vary: nodes.b.count, from: 2, to: 9, step: 3}\n"
                  "  - {vary: flooding.p, from: 0.5, to: 0.8, step: 0.1}\n"
                  "  - {vary: nodes.a.radios.air.power, from: -1 dBm, to: 1 dBm, step: 0.50 dBm}\n"
                  "flooding: {policy: probability, p: 0.5}\n");
    ck_assert_str_eq(got, "nodes.b.count: 2 5 8;flooding.p: 0.5 0.6 0.7 0.8;"
                          "nodes.a.radios.air.power: -1.00 dBm -0.50 dBm 0.00 dBm 0.50 dBm "
                          "1.00 dBm;");
}
END_TEST

/* A bare 1 could be 1 % or 100 %, but not among 0.1, 0.2 ... */
START_TEST(steps_show_what_a_whole_end_means)
{
    g_autofree char *got = values_of("sweep: [{vary: flooding.p, from: 0, to: 1, step: 0.5}]\n"
                                     "size: {vary: flooding.p, from: 0.5, to: 1}\n"
                                     "flooding: {policy: probability, p: 0.5}\n");
    ck_assert_str_eq(got, "flooding.p: 0.0 0.5 1.0;");

    static const char text[] = HEAD "flooding: {policy: probability, p: 0.5}\n"
                                    "sweep: [{vary: flooding.p, from: 0, to: 1, step: 1}]\n";
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan", text, strlen(text), NULL, 0, &error);
    ck_assert_ptr_null(file);
    ck_assert_ptr_nonnull(strstr(error->message, "'1' has no unit"));
}
END_TEST

START_TEST(one_path_is_varied_once)
{
    static const char text[] = HEAD "sweep: [{vary: nodes.b.count, values: [1]},"
                                    " {vary: nodes.b.count, values: [2]}]\n";
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan", text, strlen(text), NULL, 0, &error);
    ck_assert_ptr_null(file);
    ck_assert_ptr_nonnull(strstr(error->message, "'nodes.b.count' is varied twice"));
}
END_TEST

START_TEST(a_value_as_one_line_reads_back)
{
    static const char *const LINES[] = {"22 dBm", "\"no\"", "[a, [b, \"c,d\"], {}]",
                                        "{a: -1 dBm, \"b c: d\": [x, \"\"]}",
                                        "\"tab\\x09 and \\\\ and \\\"\""};
    for (size_t i = 0; i < G_N_ELEMENTS(LINES); i++) {
        g_autoptr(SpateFaults) faults = spate_faults_new();
        spate_faults_add_text(faults, "line", LINES[i]);
        g_autoptr(SpateYaml) tree = spate_yaml_parse(LINES[i], strlen(LINES[i]), 0, faults);
        ck_assert_ptr_nonnull(tree);
        g_autofree char *line = spate_yaml_text(tree);
        ck_assert_str_eq(line, LINES[i]);
    }
}
END_TEST

START_TEST(settings_of_a_point_come_last)
{
    g_autoptr(SpateScenarioFile) file = parse("");
    const SpateSetting settings[] = {{"nodes.b.count", "5"}, {"run.duration", "30 min"}};
    g_autoptr(SpateScenario) scenario = spate_scenario_try(
        file,
        &(SpateTrial){.variant = "long", .name = "point 3", .settings = settings, .n_settings = 2},
        NULL);
    ck_assert_ptr_nonnull(scenario);
    ck_assert_uint_eq(scenario->n_nodes, 6);
    ck_assert_int_eq(scenario->duration_ns, INT64_C(1800000000000));
    g_autoptr(SpateScenario) as_written = spate_scenario_new(file, "long", NULL);
    ck_assert_uint_eq(as_written->n_nodes, 3);
}
END_TEST

START_TEST(a_setting_of_a_point_is_blamed_at_its_place)
{
    g_autoptr(SpateScenarioFile) file = parse("");
    g_autoptr(GError) error = NULL;
    const SpateSetting settings[] = {{"nodes.b.count", "5"}, {"run.duration", "30 dBm"}};
    g_autoptr(SpateScenario) scenario = spate_scenario_try(
        file, &(SpateTrial){.name = "point 3", .settings = settings, .n_settings = 2}, &error);
    ck_assert_ptr_null(scenario);
    ck_assert_msg(g_str_has_prefix(error->message, "point 3:2:14: "), "%s", error->message);
    ck_assert_ptr_nonnull(strstr(error->message, "    run.duration=30 dBm\n"));
}
END_TEST

CHECK_MAIN("sweep", values_are_kept_as_settings_take_them, a_value_costs_the_same_among_many,
           a_value_that_does_not_fit_is_found_among_many, steps_are_counted_in_decimals,
           steps_show_what_a_whole_end_means, one_path_is_varied_once,
           a_value_as_one_line_reads_back, settings_of_a_point_come_last,
           a_setting_of_a_point_is_blamed_at_its_place)
