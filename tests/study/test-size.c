/* test-size.c - which values of one number meet all expectations */
#include "report/check/size-report.h"
#include "study/judge/size.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

static SpateSize *
size_of_text(const char *text, GError **error)
{
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan.yaml", text, strlen(text), NULL, 0, error);
    const SpateSizeWanted wanted = {.file = file};
    const SpateStudyOptions options = {0};
    return file != NULL ? spate_size_run(&wanted, &options, error) : NULL;
}

static SpateSize *
sized(const char *text)
{
    g_autoptr(GError) error = NULL;
    SpateSize *size = size_of_text(text, &error);
    ck_assert_msg(size != NULL, "%s", error != NULL ? error->message : "");
    return size;
}

/* The largest value that meets all; NAN if none does. */
static double
largest(const SpateSize *size)
{
    double value = NAN;
    for (size_t i = 0; i < size->n_points; i++)
        if (size->points[i].answer == SPATE_SIZE_MEETS)
            value = size->points[i].value;
    return value;
}

static double
smallest(const SpateSize *size)
{
    for (size_t i = 0; i < size->n_points; i++)
        if (size->points[i].answer == SPATE_SIZE_MEETS)
            return size->points[i].value;
    return NAN;
}

/* N sensors, equally loud at the mast, frames of T = 41.216 ms, one each 10 s on average: a frame
 * is received with probability exp(-2 (N - 1) T / 10 s) (N. Abramson, AFIPS FJCC 37, 1970; a sensor
 * does not disturb itself).  That is 80 % at N = 28.07 and 60 % at 62.97. */
#define ALOHA                                                                                      \
    "spate: 1\n"                                                                                   \
    "run: {duration: 30 min, cool-down: 1 s, replications: 4}\n"                                   \
    "bearers:\n"                                                                                   \
    "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"         \
    "    preamble: 8 symbols, lock: 8 symbols, propagation: {model: free-space, extra-loss: 200 "  \
    "dB}}\n"                                                                                       \
    "links: [{from: sensors, to: mast, loss: 80 dB}]\n"                                            \
    "nodes:\n"                                                                                     \
    "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"                             \
    "  sensors: {count: 10, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 90 m}, height: 1 "  \
    "m}, radios: {air: {power: 14 dBm}}}\n"                                                        \
    "traffic: {readings: {from: sensors, to: mast, payload: 10 bytes, mean-interval: 10 s}}\n"

START_TEST(the_load_that_aloha_carries_is_found)
{
    g_autoptr(SpateSize) size =
        sized(ALOHA "size: {vary: nodes.sensors.count, from: 2, to: 200}\n"
                    "expect: [{measure: delivery, traffic: readings, at-least: 80 %}]\n");
    ck_assert_double_eq(smallest(size), 2.0);
    ck_assert_double_ge(largest(size), 27.0);
    ck_assert_double_le(largest(size), 28.0);
    /* Nothing is left between what meets and what does not, but what is not sure. */
    for (size_t i = 0; i + 1 < size->n_points; i++)
        if (size->points[i].answer != size->points[i + 1].answer)
            ck_assert_double_eq(size->points[i + 1].value - size->points[i].value, 1.0);
}
END_TEST

START_TEST(a_band_with_an_end_on_each_side_is_found)
{
    g_autoptr(SpateSize) size =
        sized(ALOHA "size: {vary: nodes.sensors.count, from: 1, to: 200}\n"
                    "expect:\n"
                    "  - {measure: messages, traffic: readings, at-least: 5000}\n"
                    "  - {measure: delivery, traffic: readings, at-least: 60 %}\n");
    /* 180 messages of each: 5000 are 27.8 sensors. */
    ck_assert_double_ge(smallest(size), 27.0);
    ck_assert_double_le(smallest(size), 31.0);
    ck_assert_double_ge(largest(size), 60.0);
    ck_assert_double_le(largest(size), 64.0);
    const SpateSizePoint *first = &size->points[0], *last = &size->points[size->n_points - 1];
    ck_assert_uint_eq(spate_size_binding(size, first), 0);
    ck_assert_uint_eq(spate_size_binding(size, last), 1);
}
END_TEST

/* A narrow band between points of the coarse row, on which both sides fail for different reasons.
 */
START_TEST(what_fails_for_two_reasons_is_looked_at_between)
{
    g_autoptr(SpateSize) size =
        sized(ALOHA "size: {vary: nodes.sensors.count, from: 1, to: 181}\n"
                    "expect:\n"
                    "  - {measure: messages, traffic: readings, at-least: 9000}\n"
                    "  - {measure: delivery, traffic: readings, at-least: 60 %}\n");
    /* 50 sensors and more offer enough, 62 and fewer are heard; the row has 46 and 61. */
    ck_assert(!isnan(largest(size)));
    ck_assert_double_ge(smallest(size), 49.0);
}
END_TEST

START_TEST(doubt_gets_more_replications)
{
    g_autoptr(SpateSize) size =
        sized(ALOHA "size: {vary: nodes.sensors.count, from: 2, to: 200}\n"
                    "expect: [{measure: delivery, traffic: readings, at-least: 80 %}]\n");
    uint32_t most = 0;
    for (size_t i = 0; i < size->n_points; i++) {
        most = MAX(most, size->points[i].n_replications);
        if (size->points[i].answer == SPATE_SIZE_UNSURE)
            ck_assert_uint_eq(size->points[i].n_replications, 32);
    }
    ck_assert_uint_gt(most, 4);
    ck_assert_uint_eq(size->points[size->n_points - 1].n_replications, 4);
}
END_TEST

/* Far from the bound a quarter of them is enough to fail, and none to meet. */
START_TEST(what_fails_clearly_gets_few_replications)
{
    static const char text[] = ALOHA "size: {vary: nodes.sensors.count, from: 2, to: 200}\n"
                                     "expect: [{measure: delivery, traffic: readings, at-least: "
                                     "80 %}]\n";
    static const SpateSetting TWENTY[] = {{"run.replications", "20"}};
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan.yaml", text, strlen(text), TWENTY, 1, NULL);
    const SpateSizeWanted wanted = {.file = file};
    const SpateStudyOptions options = {0};
    g_autoptr(SpateSize) size = spate_size_run(&wanted, &options, NULL);
    ck_assert_double_ge(largest(size), 27.0);
    ck_assert_double_le(largest(size), 28.0);
    ck_assert_uint_eq(size->points[0].n_replications, 20);
    ck_assert_uint_eq(size->points[size->n_points - 1].n_replications, 5);
    for (size_t i = 0; i < size->n_points; i++)
        ck_assert(size->points[i].answer != SPATE_SIZE_MEETS ||
                  size->points[i].n_replications >= 20);
}
END_TEST

/* A duty cycle of d leaves a sender of one frame of 41.216 ms a second that share of them. */
START_TEST(a_number_with_a_unit_can_be_varied)
{
    g_autoptr(SpateSize) size = sized(
        "spate: 1\n"
        "run: {duration: 3 h, cool-down: 0 s, replications: 2}\n"
        "bearers: {air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: "
        "7, duty-cycle: 1 %}}\n"
        "links: [{between: [a, b], loss: 80 dB}]\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic: {talk: {from: a, to: b, payload: 10 bytes, every: 1 s}}\n"
        "size: {vary: bearers.air.duty-cycle, from: 0.1 %, to: 10 %, step: 0.1 %}\n"
        "expect: [{measure: delivery, traffic: talk, at-least: 99 %}]\n");
    ck_assert_double_ge(smallest(size), 4.0);
    ck_assert_double_le(smallest(size), 4.3);
    ck_assert_str_eq(size->points[0].text, "0.1 %");
}
END_TEST

/* All of it is 1.0: a bare 1 is no share. */
START_TEST(a_share_without_percent_can_be_varied)
{
    g_autoptr(SpateSize) size = sized(
        "spate: 1\n"
        "run: {duration: 1 h, cool-down: 0 s, replications: 2}\n"
        "bearers: {air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: "
        "7, duty-cycle: 1 %}}\n"
        "links: [{between: [a, b], loss: 80 dB}]\n"
        "nodes:\n"
        "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
        "traffic: {talk: {from: a, to: b, payload: 10 bytes, every: 1 s}}\n"
        "size: {vary: bearers.air.duty-cycle, from: 0.01, to: 1.0, step: 0.33}\n"
        "expect: [{measure: delivery, traffic: talk, at-least: 99 %}]\n");
    ck_assert_uint_eq(size->n_points, 4);
    ck_assert_str_eq(size->points[0].text, "0.01");
    ck_assert_str_eq(size->points[3].text, "1.0");
}
END_TEST

START_TEST(the_answer_does_not_depend_on_threads)
{
    static const char text[] = ALOHA "size: {vary: nodes.sensors.count, from: 20, to: 40}\n"
                                     "expect: [{measure: delivery, traffic: readings, at-least: "
                                     "80 %}]\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("plan.yaml", text, strlen(text), NULL, 0, NULL);
    const SpateSizeWanted wanted = {.file = file};
    const SpateStudyOptions one = {.jobs = 1}, three = {.jobs = 3};
    g_autoptr(SpateSize) a = spate_size_run(&wanted, &one, NULL);
    g_autoptr(SpateSize) b = spate_size_run(&wanted, &three, NULL);
    ck_assert_uint_eq(a->n_points, b->n_points);
    for (size_t i = 0; i < a->n_points; i++) {
        ck_assert_str_eq(a->points[i].text, b->points[i].text);
        ck_assert_uint_eq(a->points[i].n_replications, b->points[i].n_replications);
        ck_assert_double_eq(a->points[i].verdicts[0].judgement.mean,
                            b->points[i].verdicts[0].judgement.mean);
    }
}
END_TEST

START_TEST(an_interrupted_answer_is_that_of_so_far)
{
    g_autoptr(SpateSize) size =
        sized(ALOHA "size: {vary: nodes.sensors.count, from: 2, to: 3}\n"
                    "expect: [{measure: delivery, traffic: readings, at-least: 10 %}]\n");
    g_autoptr(GString) whole = g_string_new(NULL), part = g_string_new(NULL);

    spate_size_report_append(whole, size, SPATE_FORMAT_TABLE);
    size->interrupted = true;
    spate_size_report_append(part, size, SPATE_FORMAT_TABLE);

    ck_assert_ptr_nonnull(strstr(whole->str, "the smallest that meets all: 2; the largest: 3\n"));
    ck_assert_ptr_nonnull(
        strstr(part->str, "the smallest that meets all so far: 2; the largest so far: 3\n"));
}
END_TEST

static void
assert_refused(const char *text, const char *words)
{
    g_autoptr(GError) error = NULL;
    ck_assert_ptr_null(size_of_text(text, &error));
    ck_assert_msg(strstr(error->message, words) != NULL, "%s", error->message);
}

START_TEST(what_cannot_be_sized_is_told)
{
    assert_refused(ALOHA "expect: [{measure: delivery, traffic: readings, at-least: 80 %}]\n",
                   "there is no 'size'");
    assert_refused(ALOHA "size: {vary: nodes.sensors.count, from: 2, to: 200}\n",
                   "there are no expectations to meet");
    assert_refused(ALOHA "size: {vary: nodes.sensors.count, from: 2 m, to: 200 m}\n"
                         "expect: [{measure: delivery, traffic: readings, at-least: 80 %}]\n",
                   "plan.yaml:");
    assert_refused(ALOHA "size: {vary: nodes.sensors.count, from: 2 m, to: 200 km}\n",
                   "the units differ");
    assert_refused(ALOHA "size: {vary: bearers.air.duty-cycle, from: 1 %, to: 2 %, step: 0 %}\n",
                   "these steps never reach 'to'");
}
END_TEST

CHECK_MAIN("size", the_load_that_aloha_carries_is_found, a_band_with_an_end_on_each_side_is_found,
           what_fails_for_two_reasons_is_looked_at_between, doubt_gets_more_replications,
           what_fails_clearly_gets_few_replications, a_number_with_a_unit_can_be_varied,
           a_share_without_percent_can_be_varied, the_answer_does_not_depend_on_threads,
           an_interrupted_answer_is_that_of_so_far, what_cannot_be_sized_is_told)
