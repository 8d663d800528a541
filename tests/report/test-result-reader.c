/* test-result-reader.c - results that were written are read back, whole or not at all */
#include "report/report.h"
#include "report/result/result-reader.h"

#include "result-by-hand.h"
#include "study/run/run.h"
#include "study/study.h"
#include "support/check-main.h"

#include <string.h>

static char *
written(const SpateResult *result)
{
    SpateTableStyle style = {0};
    GString *text = g_string_new(NULL);
    spate_report_append(text, result, SPATE_FORMAT_JSON, &style);
    return g_string_free(text, FALSE);
}

static SpateResult *
read_well(const char *text)
{
    g_autoptr(GError) error = NULL;
    SpateResult *result = spate_result_parse("old.json", text, strlen(text), &error);
    ck_assert_msg(result != NULL, "%s", error != NULL ? error->message : "");
    return result;
}

/* The same bytes come of what was read. */
static void
check_round(const SpateResult *result)
{
    g_autofree char *text = written(result);
    g_autoptr(SpateResult) again = read_well(text);
    g_autofree char *twin = written(again);
    ck_assert_str_eq(twin, text);
}

START_TEST(what_is_written_is_read_back)
{
    g_autoptr(SpateResult) result = hand_result();
    check_round(result);
    result->interrupted = true;
    result->seed = UINT64_C(1) << 53;
    /* 1e8 s and a few ns: more than a double holds; 0.1 s: less than it can say */
    result->duration_ns = INT64_C(100000000000000007);
    result->warm_up_ns = 100000000;
    check_round(result);
    result->duration_ns = INT64_C(1000000000000000000);
    result->warm_up_ns = 1;
    check_round(result);
}
END_TEST

START_TEST(any_time_is_read_back)
{
    g_autoptr(SpateResult) result = hand_result();
    for (int64_t ns = 1; ns < INT64_C(1000000000000000000) / 7; ns = ns * 7 + 3) {
        result->duration_ns = ns;
        result->warm_up_ns = ns / 3;
        check_round(result);
    }
}
END_TEST

/* Every measure, with and without values. */
START_TEST(the_result_of_runs_is_read_back)
{
    static const char text[] =
        "spate: 1\nrun: {duration: 20 min, replications: 3}\n"
        "bearers:\n"
        "  a: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9}\n"
        "  b: {kind: dsss, frequency: 2437 MHz}\n"
        "nodes:\n"
        "  g: {at: {x: 0 m, y: 0 m}, relay: [a, b], radios: {a: {power: 14 dBm,\n"
        "    supply: {sending: 1 W, receiving: 60 mW}}, b: {power: 9 dBm}}}\n"
        "  s: {count: 4, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 90 m}},\n"
        "    radios: {b: {power: 9 dBm}}}\n"
        "  far: {at: {x: 900 km, y: 0 m}, radios: {a: {power: 9 dBm}}}\n"
        "bridges: {g: {up: {from: b, to: a}}}\n"
        "traffic:\n"
        "  t: {from: s, to: g, payload: 20 bytes, mean-interval: 1 min, deadline: 20 ms}\n"
        "  u: {from: s, to: far, payload: 20 bytes, every: 2 min}\n"
        "variants: {held: {set: {bridges.g.up.otherwise: hold-back}}}\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, NULL);
    g_autoptr(SpateScenario) base = spate_scenario_new(file, NULL, NULL);
    g_autoptr(SpateScenario) held = spate_scenario_new(file, "held", NULL);
    const SpateScenario *scenarios[] = {base, held};
    const char *names[] = {"base", "held"};
    const SpateStudyOptions options = {.replications = 3, .jobs = 1};
    g_autoptr(SpateResult) result = spate_study_run("compare", scenarios, names, 2, &options, NULL);
    ck_assert_ptr_nonnull(result);
    ck_assert_uint_gt(result->n_differences, 0);
    check_round(result);
}
END_TEST

START_TEST(null_is_not_a_number)
{
    g_autoptr(SpateResult) result = hand_result();
    g_autofree char *text = written(result);
    g_autoptr(SpateResult) again = read_well(text);

    const SpateResultRow *latency = &again->variants[0].rows[1];
    ck_assert(isnan(latency->values[1]));
    ck_assert(isnan(latency->ci95.low));
    ck_assert(isnan(again->variants[1].rows[1].mean));
    ck_assert_ptr_null(latency->bearer);
    ck_assert_ptr_eq(again->differences[0].row, &again->variants[1].rows[0]);
    ck_assert_ptr_eq(again->differences[0].versus, again->variants[0].name);
}
END_TEST

START_TEST(unknown_members_are_passed_over)
{
    g_autoptr(SpateResult) result = hand_result();
    g_autofree char *text = written(result);
    g_auto(GStrv) parts = g_strsplit(text, "\"measure\": ", -1);
    g_autofree char *more = g_strjoinv("\"later\": [{}, null], \"measure\": ", parts);
    g_autoptr(SpateResult) again = read_well(more);
    g_autofree char *twin = written(again);

    ck_assert_str_eq(twin, text);
}
END_TEST

/* A text of the result by hand, a text instead of its first occurrence, and what is said of that.
 */
static const struct {
    const char *was, *is, *fault;
} BAD[] = {
    {"spate-result/1", "spate-result/2",
     "its format is 'spate-result/2'; this program reads 'spate-result/1'"},
    {"spate-result/1", "spate-check/1", "this program reads 'spate-result/1'"},
    {"\"format\"", "\"form\"", "'format' is missing"},
    {"\"spate-result/1\"", "1", "'format' must be a string"},
    {"\"seed\": 7", "\"seed\": 7.5", "'seed' must be a whole number"},
    {"\"seed\": 7", "\"seed\": -7", "'seed' is out of range"},
    {"\"seed\": 7", "\"seed\": null", "'seed' is out of range"},
    {"\"seed\": 7", "\"seed\": \"7\"", "'seed' must be a number"},
    {"\"seed\": 7", "\"seed\": 1e300", "'seed' is out of range"},
    {"\"replications\": 3", "\"replications\": 4",
     "variant 0, measure 0: there are 3 'values' instead of 4"},
    {"\"duration_s\": 7200", "\"duration_s\": 1e10", "'duration_s' is out of range"},
    {"\"measure\": \"delivery\"", "\"measure\": \"delight\"",
     "variant 0, measure 0: unknown measure 'delight'"},
    {"\"unit\": \"ratio\"", "\"unit\": \"s\"", "'unit' must be 'ratio', not 's'"},
    {"\"traffic\": \"talk\"", "\"trafic\": \"talk\"", "'delivery' does not have these dimensions"},
    {"\"traffic\": \"talk\", \"bearer\"", "\"node\": \"talk\", \"bearer\"",
     "variant 0, measure 2: 'load' does not have these dimensions"},
    {"\"n\": 3", "\"n\": 2", "'n' is 2 of 3 values"},
    {"\"mean\": 0.9", "\"mean\": null", "'mean' and 'n' do not agree"},
    {"\"mean\": 0.9", "\"mean\": 1e999", "'mean' is too large"},
    {"[0.8, 1]", "[0.8]", "'ci95' must be a pair of numbers"},
    {"[0.8, 1]", "[1, 0.8]", "'ci95' must be a pair of numbers, lower one first"},
    {"[0.8, 1]", "[0.8, null]", "'ci95' must be a pair of numbers, lower one first"},
    {"\"values\": [0.8, 0.9, 1]", "\"values\": [0.8, 0.9, [1]]", "'values' must be a number"},
    {"\"values\": [0.8, 0.9, 1]", "\"values\": 1", "'values' must be a list"},
    {"\"latency-p95\", \"traffic\": \"talk\", \"unit\": \"s\"",
     "\"delivery\", \"traffic\": \"talk\", \"unit\": \"ratio\"",
     "variant 0, measure 1: this row is a duplicate"},
    {"\"name\": \"open\"", "\"name\": \"base\"", "there are two variants 'base'"},
    {"\"versus\": \"base\"", "\"versus\": \"bass\"", "difference 0: there is no variant 'bass'"},
    {"\"versus\": \"base\", \"measure\": \"delivery\"",
     "\"versus\": \"base\", \"measure\": \"load\"",
     "difference 0: the variants have no matching row"},
    {"\"title\": \"", "\"title\": \"\\ud800", "'title' contains an unpaired surrogate"},
    {"\"title\": \"", "\"title\": \"\\333", "what JSON does not allow"},
    {"\"title\": \"", "\"title\": \"\\u12g4", "what JSON does not allow"},
    {"{\"format\"", "/* */ {\"format\"", "byte 1"},
    {"{\"format\"", "[{\"format\"", "it ends too early"},
    {"\"seed\": 7", "\"seed\": 7 7", "this is not JSON"},
    {"\"seed\": 7", "'seed': 7", "this character is only allowed inside a string"},
    {"\"differences\"", "\"differences", "this is not JSON"},
    {"\"seed\": 7",
     "\"seed\": 7, \"x\": [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]",
     "it is nested too deeply"},
};

START_TEST(what_is_wrong_is_told)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateResult) result = hand_result();
    g_autofree char *text = written(result);
    char *at = strstr(text, BAD[_i].was);
    ck_assert_msg(at != NULL, "no %s", BAD[_i].was);
    *at = '\0';
    g_autofree char *bad = g_strconcat(text, BAD[_i].is, at + strlen(BAD[_i].was), NULL);
    g_autoptr(SpateResult) read = spate_result_parse("old.json", bad, strlen(bad), &error);

    ck_assert_msg(read == NULL, "%s is taken", BAD[_i].is);
    ck_assert(g_error_matches(error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_BAD));
    ck_assert_msg(strstr(error->message, BAD[_i].fault) != NULL, "no '%s' in: %s", BAD[_i].fault,
                  error->message);
    ck_assert(g_str_has_prefix(error->message, "old.json: "));
}
END_TEST

/* Cut anywhere it is refused: a file that a full disk left behind is no result. */
START_TEST(no_beginning_is_a_result)
{
    g_autoptr(SpateResult) result = hand_result();
    g_autofree char *text = written(result);
    size_t length = strlen(text);
    for (size_t i = 0; i + 1 < length; i++) {
        g_autoptr(GError) error = NULL;
        g_autoptr(SpateResult) read = spate_result_parse("old.json", text, i, &error);
        ck_assert_msg(read == NULL && error != NULL, "%zu bytes are taken", i);
    }
}
END_TEST

START_TEST(size_is_bounded)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateResult) endless = spate_result_read("/dev/zero", &error);
    ck_assert_ptr_null(endless);
    ck_assert_ptr_nonnull(strstr(error->message, "/dev/zero: it is larger than 64 MiB"));
    g_clear_error(&error);
    g_autoptr(SpateResult) absent = spate_result_read("no/such/file.json", &error);
    ck_assert_ptr_null(absent);
    ck_assert(g_error_matches(error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_UNREADABLE));
}
END_TEST

int
main(void)
{
    const TTest *const sentences[] = {
        what_is_written_is_read_back,
        any_time_is_read_back,
        the_result_of_runs_is_read_back,
        null_is_not_a_number,
        unknown_members_are_passed_over,
        no_beginning_is_a_result,
        size_is_bounded,
    };
    Suite *suite = suite_create("result reader");
    TCase *reading = tcase_create("reading");
    tcase_set_timeout(reading, 120);
    tcase_add_loop_test(reading, what_is_wrong_is_told, 0, (int)G_N_ELEMENTS(BAD));
    for (size_t i = 0; i < G_N_ELEMENTS(sentences); i++)
        tcase_add_test(reading, sentences[i]);
    suite_add_tcase(suite, reading);
    return run_suite(suite);
}
