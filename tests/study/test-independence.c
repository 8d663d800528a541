/* test-independence.c - changing one thing in a scenario does not shift the draws of another */
#include "scenario/scenario.h"
#include "study/study.h"
#include "support/check-main.h"

#include <string.h>

/* The last bearer and what is on it do not meet the others. */
static const char SCENARIO[] =
    "spate: 1\n"
    "run: {duration: 20 min}\n"
    "bearers:\n"
    "  a: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"
    "      access: {method: cad}, fading: rayleigh,\n"
    "      propagation: {model: log-distance, exponent: 3, shadowing: 6 dB}}\n"
    "  b: {kind: lora, frequency: 433 MHz, bandwidth: 125 kHz, spreading-factor: 9}\n"
    "flooding: {jitter: {at-most: 4 airtimes}}\n"
    "nodes:\n"
    "  n: {count: 12, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 6 km}, height: 5 m},\n"
    "      radios: {a: {power: 14 dBm}}, relay: [a]}\n"
    "ambient:\n%s"
    "  - {bearer: a, everywhere: yes, power: -105 dBm, busy: 50 %%, burst: 80 ms}\n"
    "traffic:\n%s"
    "  talk: {from: n, to: everyone, payload: 20 bytes, mean-interval: 4 min}\n";

static SpateResult *
result_of(const char *more_ambient, const char *more_traffic)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *text = g_strdup_printf(SCENARIO, more_ambient, more_traffic);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("independence", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
    const SpateScenario *scenarios[] = {scenario};
    const char *names[] = {"base"};
    SpateStudyOptions options = {.replications = 3, .jobs = 1};
    return spate_study_run("run", scenarios, names, 1, &options, &error);
}

static const SpateResultRow *
delivery_of_talk(const SpateResult *result)
{
    for (size_t i = 0; i < result->variants[0].n_rows; i++) {
        const SpateResultRow *row = &result->variants[0].rows[i];
        if (row->measure == SPATE_MEASURE_DELIVERY && g_strcmp0(row->traffic, "talk") == 0)
            return row;
    }
    ck_abort_msg("no delivery of talk");
}

START_TEST(what_happens_on_a_bearer_apart_changes_nothing_here)
{
    g_autoptr(SpateResult) alone = result_of("", "");
    g_autoptr(SpateResult) more =
        result_of("  - {bearer: b, everywhere: yes, power: -60 dBm, busy: 50 %, burst: 30 ms}\n",
                  "  asides: {from: n, to: nobody, payload: 9 bytes, at: [3000 s]}\n");
    const SpateResultRow *first = delivery_of_talk(alone), *second = delivery_of_talk(more);
    for (uint32_t i = 0; i < 3; i++) {
        ck_assert_double_lt(first->values[i], 1.0);
        ck_assert_double_eq(first->values[i], second->values[i]);
    }
}
END_TEST

CHECK_MAIN("independence", what_happens_on_a_bearer_apart_changes_nothing_here)
