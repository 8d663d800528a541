/* test-expect-check.c - expectations that no run could judge are refused at their place */
#include "scenario/read/expect-check.h"
#include "support/check-main.h"

#include <string.h>

/* `expect` is line 17. */
static const char SCENARIO[] = "spate: 1\n"
                               "run: {duration: 1 h, warm-up: 10 min}\n"
                               "bearers:\n"
                               "  air: {kind: dsss, frequency: 2437 MHz}\n"
                               "  spare: {kind: dsss, frequency: 2437 MHz}\n"
                               "nodes:\n"
                               "  a: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 9 dBm}}}\n"
                               "  b: {at: {x: 9 m, y: 0 m}, radios: {air: {power: 9 dBm}}}\n"
                               "  c: {at: {x: 9 m, y: 9 m}, radios: {air: {power: 9 dBm}}}\n"
                               "traffic:\n"
                               "  t: {from: a, to: b, payload: 9 bytes, every: 1 min}\n"
                               "  beacon: {from: a, to: nobody, payload: 9 bytes, every: 1 min}\n"
                               "  early: {from: a, to: b, payload: 9 bytes, at: [1 min, 3570 s]}\n"
                               "  own: {from: [a, b], to: b, payload: 9 bytes, every: 1 min}\n"
                               "groups: {far: [b, c]}\n"
                               "variants: {prompt: {set: {traffic.t.deadline: 1 s}}}\n"
                               "expect:\n"
                               "  - %s\n";

/* NULL: it can be judged. */
static char *
refusal(const char *expectation, const char *variant)
{
    g_autofree char *text = g_strdup_printf(SCENARIO, expectation);
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, variant, NULL);
    return spate_scenario_check_expectations(scenario, variant, &error) ? NULL
                                                                        : g_strdup(error->message);
}

/* At the value that begins with `at`; the expectation begins in column 5. */
static void
assert_refused(const char *expectation, const char *at, const char *fault, const char *hint)
{
    g_autofree char *message = refusal(expectation, "base");
    int column = (int)(strstr(expectation, at) - expectation) + 5;
    g_autofree char *head = g_strdup_printf("f:18:%d: %s\n", column, fault);
    ck_assert_msg(message != NULL, "%s", expectation);
    ck_assert_msg(g_str_has_prefix(message, head), "%s", message);
    ck_assert_msg(strstr(message, hint) != NULL, "%s", message);
}

static void
assert_judged(const char *expectation)
{
    g_autofree char *message = refusal(expectation, "base");
    ck_assert_msg(message == NULL, "%s", message);
}

START_TEST(somebody_has_to_send)
{
    assert_refused("{traffic: t, from: far, reaches: b, within: 5 s}", "far", "'far' sends no 't'",
                   "a does");
    assert_refused("{traffic: t, from: c, never-on: air}", "c, ", "'c' sends no 't'", "a does");
    assert_refused("{traffic: t, reaches: a, within: 5 s}", "a, within",
                   "only 'a' itself sends this 't': its own messages do not count", "only source");
    assert_refused("{traffic: own, from: b, never-reaches: b}", "b}",
                   "only 'b' itself sends this 'own': its own messages do not count", "");
    assert_judged("{traffic: own, from: far, reaches: a, within: 5 s}");
    assert_judged("{traffic: own, reaches: b, within: 5 s}");
}
END_TEST

/* 3600 s less 600 s of warm-up: one that waits 3000 s fits, to the nanosecond. */
START_TEST(time_has_to_be_left_for_a_message)
{
    assert_judged("{traffic: t, reaches: b, within: 50 min}");
    assert_refused("{traffic: t, reaches: b, within: 3000.000001 s}", "3000",
                   "'within' is longer than the run after its warm-up: no message could be judged",
                   "at most 3000 s, or a longer 'duration'");
    assert_refused("{traffic: early, reaches: b, within: 5 s}", "early",
                   "'early' offers no message that can be judged",
                   "only offers from 600 s (end of the warm-up) to 3539.999999999 s count");
    assert_refused("{measure: delivery, traffic: early, at-least: 5 %}", "early",
                   "'early' offers no message that can be judged", "from 600 s");
    assert_judged("{measure: messages, traffic: early, at-most: 0}");
}
END_TEST

START_TEST(a_measure_has_to_exist_here)
{
    assert_refused("{measure: delivery-in-time, traffic: t, at-least: 5 %}", "delivery",
                   "traffic 't' has no deadline", "'deadline'");
    assert_refused("{measure: latency-p95, traffic: beacon, at-most: 5 s}", "latency",
                   "traffic 'beacon' is sent to nobody", "recipients");
    assert_refused("{measure: tries-mean, traffic: t, at-most: 2}", "tries-mean",
                   "messages of traffic 't' are not acknowledged", "'acknowledge'");
    assert_refused("{measure: held-back, traffic: t, at-most: 5}", "held",
                   "there is no bridge to hold anything back", "'bridges'");
    assert_refused("{measure: radio-energy, node: a, at-most: 5 mWh per day}", "radio-energy",
                   "no radio of 'a' has a 'supply'", "supply");
    assert_refused("{measure: lost-asleep, bearer: air, at-most: 5 %}", "lost-asleep",
                   "no radio on 'air' sleeps", "listens");
    assert_refused("{measure: occupancy, bearer: spare, at-most: 5 %}", "spare",
                   "no node has a radio on 'spare'", "give a node a radio");
    assert_refused("{traffic: t, never-on: spare}", "spare", "no node has a radio on 'spare'", "");
    assert_judged("{measure: transmissions, traffic: beacon, at-most: 500}");
}
END_TEST

START_TEST(a_single_recipient_has_to_be_one)
{
    assert_refused("{measure: delivery, traffic: t, to: c, at-least: 5 %}", "c, at-least",
                   "'c' is not a recipient of 't'", "such as b");
    assert_judged("{measure: delivery, traffic: t, to: b, at-least: 5 %}");
    assert_judged("{measure: delivery, traffic: own, to: b, at-least: 5 %}");
}
END_TEST

/* The base has no deadline, but it is not what the expectation is about. */
START_TEST(only_what_it_is_about_counts)
{
    static const char CLAIM[] =
        "{variant: prompt, measure: delivery-in-time, traffic: t, at-least: 5 %}";
    assert_judged(CLAIM);
    ck_assert_ptr_null(refusal(CLAIM, "prompt"));
    assert_refused("{variant: prompt, measure: delivery-in-time, traffic: t, change-at-least: 5 %}",
                   "delivery", "traffic 't' has no deadline", "");
}
END_TEST

CHECK_MAIN("expectations that can be judged", somebody_has_to_send,
           time_has_to_be_left_for_a_message, a_measure_has_to_exist_here,
           a_single_recipient_has_to_be_one, only_what_it_is_about_counts)
